//! The few loops that must be fast, compiled for what the machine has, chosen at run time.
//!
//! Each kernel is plain Rust written so that it vectorises; `dispatch` compiles it once for AVX2 and FMA
//! (through pulp, which keeps `unsafe` out of here) and once for any machine.

/// `a * b + c`, fused where the machine fuses.
#[inline(always)]
pub(crate) fn madd<const FMA: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FMA { a.mul_add(b, c) } else { a * b + c }
}

macro_rules! dispatch {
    ($kernel:ident :: < $n:tt > ( $($arg:expr),* $(,)? )) => {{
        #[cfg(target_arch = "x86_64")]
        {
            if let Some(v3) = pulp::x86::V3::try_new() {
                v3.vectorize(#[inline(always)] || $kernel::<true, $n>($($arg),*))
            } else {
                $kernel::<false, $n>($($arg),*)
            }
        }
        #[cfg(target_arch = "aarch64")]
        { $kernel::<true, $n>($($arg),*) }
        #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
        { $kernel::<false, $n>($($arg),*) }
    }};
    ($kernel:ident ( $($arg:expr),* $(,)? )) => {{
        #[cfg(target_arch = "x86_64")]
        {
            if let Some(v3) = pulp::x86::V3::try_new() {
                v3.vectorize(#[inline(always)] || $kernel::<true>($($arg),*))
            } else {
                $kernel::<false>($($arg),*)
            }
        }
        #[cfg(target_arch = "aarch64")]
        { $kernel::<true>($($arg),*) }
        #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
        { $kernel::<false>($($arg),*) }
    }};
}
pub(crate) use dispatch;

/// Polynomial `c` in t = scale x + shift at every x.
pub fn horner(c: &[f64], scale: f64, shift: f64, x: &[f64], out: &mut [f64]) {
    dispatch!(horner_kernel(c, scale, shift, x, out))
}

#[inline(always)]
fn horner_kernel<const FMA: bool>(c: &[f64], scale: f64, shift: f64, x: &[f64], out: &mut [f64]) {
    const W: usize = 16;
    let n = c.len();
    let mut xs = x.chunks_exact(W);
    let mut os = out.chunks_exact_mut(W);
    for (x, o) in (&mut xs).zip(&mut os) {
        let mut t = [0.0; W];
        let mut v = [c[n - 1]; W];
        for l in 0..W {
            t[l] = madd::<FMA>(x[l], scale, shift);
        }
        for k in (0..n - 1).rev() {
            for l in 0..W {
                v[l] = madd::<FMA>(v[l], t[l], c[k]);
            }
        }
        o.copy_from_slice(&v);
    }
    for (x, o) in xs.remainder().iter().zip(os.into_remainder()) {
        let t = madd::<FMA>(*x, scale, shift);
        let mut v = c[n - 1];
        for k in (0..n - 1).rev() {
            v = madd::<FMA>(v, t, c[k]);
        }
        *o = v;
    }
}

/// `y -= a x`, the inner step of an elimination.
#[inline(always)]
pub(crate) fn axpy_minus<const FMA: bool>(a: f64, x: &[f64], y: &mut [f64]) {
    for (y, x) in y.iter_mut().zip(x) {
        *y = madd::<FMA>(-a, *x, *y);
    }
}
