//! Memory kept from one front and one solve to the next: what the system gives out afresh is cleared page by page, which took a
//! fifth of a solve.

use std::ops::{Deref, DerefMut};
use std::sync::Mutex;

/// Sizes kept, by powers of two, and how many of each.
const SIZES: usize = 24;
const MOST: usize = 64;

static KEPT: [Mutex<Vec<Vec<f64>>>; SIZES] = [const { Mutex::new(Vec::new()) }; SIZES];

/// Numbers in memory that goes back to be used again.
#[derive(Debug, Default)]
pub struct Buffer(Vec<f64>);

impl Buffer {
    /// So many numbers, whatever they are.
    fn some(n: usize) -> Vec<f64> {
        let size = n.max(1).next_power_of_two().trailing_zeros() as usize;
        // a poisoned lock has nothing to lose
        let kept = KEPT.get(size).and_then(|k| k.lock().ok()?.pop());
        let mut v = kept.unwrap_or_else(|| Vec::with_capacity(1 << size));
        v.resize(n, 0.0);
        v
    }

    /// So many zeros.
    pub fn zeros(n: usize) -> Self {
        let mut v = Self::some(n);
        v.fill(0.0);
        Self(v)
    }

    /// Columns of this many rows, zero on and below the diagonal and anything above it.
    pub fn lower(rows: usize, columns: usize) -> Self {
        let mut v = Self::some(rows * columns);
        for j in 0..columns {
            v[j * rows + j..(j + 1) * rows].fill(0.0);
        }
        Self(v)
    }
}

impl Clone for Buffer {
    fn clone(&self) -> Self {
        let mut v = Self::some(self.0.len());
        v.copy_from_slice(&self.0);
        Self(v)
    }
}

impl Deref for Buffer {
    type Target = [f64];
    fn deref(&self) -> &[f64] {
        &self.0
    }
}

impl DerefMut for Buffer {
    fn deref_mut(&mut self) -> &mut [f64] {
        &mut self.0
    }
}

impl Drop for Buffer {
    fn drop(&mut self) {
        let v = std::mem::take(&mut self.0);
        let capacity = v.capacity();
        if !capacity.is_power_of_two() {
            return;
        }
        if let Some(mut kept) = KEPT.get(capacity.trailing_zeros() as usize).and_then(|k| k.lock().ok())
            && kept.len() < MOST
        {
            kept.push(v);
        }
    }
}
