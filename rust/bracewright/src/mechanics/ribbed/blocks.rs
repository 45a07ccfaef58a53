//! A cell's matrix, field by field.

use super::buffer::Buffer;
use super::cells::NODES;

/// One field's part of a strain, or its values, at a point: a number for each of its unknowns.
pub type Row = [f64; NODES];

/// A symmetric matrix over the fields of a cell; the blocks on and above the diagonal are kept. Fields with fewer unknowns
/// than a cell has nodes leave the rest at zero.
#[derive(Debug, Clone)]
pub struct Blocks {
    fields: usize,
    a: Buffer,
}

const BLOCK: usize = NODES * NODES;

impl Blocks {
    /// All zeros.
    pub fn new(fields: usize) -> Self {
        Self { fields, a: Buffer::zeros(fields * fields * BLOCK) }
    }

    /// How many fields there are.
    pub fn fields(&self) -> usize {
        self.fields
    }

    /// The block of two fields, the first not after the second; rows of the first.
    pub fn read(&self, f: usize, g: usize) -> &[f64] {
        &self.a[(f * self.fields + g) * BLOCK..][..BLOCK]
    }

    fn add(&mut self, f: usize, p: &Row, g: usize, q: &Row, factor: f64) {
        let (f, p, g, q) = if f <= g { (f, p, g, q) } else { (g, q, f, p) };
        let block = &mut self.a[(f * self.fields + g) * BLOCK..][..BLOCK];
        for (row, a) in block.chunks_exact_mut(NODES).zip(p) {
            let a = factor * a;
            for (v, b) in row.iter_mut().zip(q) {
                *v += a * b;
            }
        }
    }

    /// Adds `factor` times the square of a strain, given by its rows of some fields.
    pub fn square(&mut self, strain: &[(usize, Row)], factor: f64) {
        for (i, (f, p)) in strain.iter().enumerate() {
            for (g, q) in &strain[i..] {
                self.add(*f, p, *g, q, factor);
            }
        }
    }

    /// Adds `factor` times twice the product of two strains: both entries of a symmetric law.
    pub fn cross(&mut self, one: &[(usize, Row)], other: &[(usize, Row)], factor: f64) {
        if factor == 0.0 {
            return;
        }
        for (f, p) in one {
            for (g, q) in other {
                self.add(*f, p, *g, q, factor);
                if f == g {
                    self.add(*f, q, *g, p, factor);
                }
            }
        }
    }

    /// The block of two fields, the first not after the second; rows of the first.
    pub fn block(&mut self, f: usize, g: usize) -> &mut [f64] {
        &mut self.a[(f * self.fields + g) * BLOCK..][..BLOCK]
    }

    /// The column of an unknown, over all fields.
    pub fn column(&self, j: usize, out: &mut [f64]) {
        let (g, j) = (j / NODES, j % NODES);
        for (f, part) in out.chunks_exact_mut(NODES).enumerate() {
            if f <= g {
                let block = &self.a[(f * self.fields + g) * BLOCK..][..BLOCK];
                for (v, row) in part.iter_mut().zip(block.chunks_exact(NODES)) {
                    *v = row[j];
                }
            } else {
                part.copy_from_slice(&self.a[(g * self.fields + f) * BLOCK + j * NODES..][..NODES]);
            }
        }
    }
}
