//! The few loops that must be fast, compiled for what the machine has, chosen at run time.
//!
//! Each kernel is plain Rust written so that it vectorises; `dispatch` compiles it once for AVX2 and FMA
//! (through pulp, which keeps `unsafe` out of here) and once for any machine.

/// `a * b + c`, fused where the machine fuses.
#[inline(always)]
pub(crate) fn madd<const FMA: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FMA { a.mul_add(b, c) } else { a * b + c }
}

/// Used up by the closure of `dispatch`, which so can be called only once: then its body itself, and not a shim around it, is
/// what gets inlined into the vector code.
pub(crate) struct Once;

macro_rules! dispatch {
    ($kernel:ident :: < $n:tt > ( $($arg:expr),* $(,)? )) => {{
        #[cfg(target_arch = "x86_64")]
        {
            if let Some(v3) = pulp::x86::V3::try_new() {
                let once = $crate::mechanics::simd::Once;
                v3.vectorize(#[inline(always)] || { let $crate::mechanics::simd::Once = {once}; $kernel::<true, $n>($($arg),*) })
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
                let once = $crate::mechanics::simd::Once;
                v3.vectorize(#[inline(always)] || { let $crate::mechanics::simd::Once = {once}; $kernel::<true>($($arg),*) })
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
    // what a blend makes is odd but for its mean: half the terms
    if c.len() > 3 && c.len().is_multiple_of(2) && c[2..].iter().step_by(2).all(|v| *v == 0.0) {
        dispatch!(horner_kernel::<true>(c, scale, shift, x, out))
    } else {
        dispatch!(horner_kernel::<false>(c, scale, shift, x, out))
    }
}

#[inline(always)]
fn horner_kernel<const FMA: bool, const ODD: bool>(c: &[f64], scale: f64, shift: f64, x: &[f64], out: &mut [f64]) {
    // wide enough to hide that each step waits for the one before; then what is left, in fours and one by one
    const W: usize = 32;
    let (wide, fours) = (x.len() / W * W, x.len() / 4 * 4);
    for (x, o) in x[..wide].chunks_exact(W).zip(out[..wide].chunks_exact_mut(W)) {
        horner_chunk::<FMA, ODD, W>(c, scale, shift, x, o);
    }
    for (x, o) in x[wide..fours].chunks_exact(4).zip(out[wide..fours].chunks_exact_mut(4)) {
        horner_chunk::<FMA, ODD, 4>(c, scale, shift, x, o);
    }
    for (x, o) in x[fours..].chunks_exact(1).zip(out[fours..].chunks_exact_mut(1)) {
        horner_chunk::<FMA, ODD, 1>(c, scale, shift, x, o);
    }
}

#[inline(always)]
fn horner_chunk<const FMA: bool, const ODD: bool, const W: usize>(c: &[f64], scale: f64, shift: f64, x: &[f64], out: &mut [f64]) {
    let (mut t, mut s, mut v) = ([0.0; W], [0.0; W], [c[c.len() - 1]; W]);
    for l in 0..W {
        t[l] = madd::<FMA>(x[l], scale, shift);
        s[l] = if ODD { t[l] * t[l] } else { t[l] };
    }
    let step = if ODD { 2 } else { 1 };
    let mut k = c.len() - 1;
    while k > step || (!ODD && k == step) {
        k -= step;
        for l in 0..W {
            v[l] = madd::<FMA>(v[l], s[l], c[k]);
        }
    }
    for l in 0..W {
        out[l] = if ODD { madd::<FMA>(v[l], t[l], c[0]) } else { v[l] };
    }
}

/// `y -= a x`, the inner step of an elimination.
#[inline(always)]
pub(crate) fn axpy_minus<const FMA: bool>(a: f64, x: &[f64], y: &mut [f64]) {
    for (y, x) in y.iter_mut().zip(x) {
        *y = madd::<FMA>(-a, *x, *y);
    }
}

/// As many numbers as the machine takes at once, one of each brace of a lot.
pub(crate) struct Wide<S: pulp::Simd>(S, S::f64s);

impl<S: pulp::Simd> Clone for Wide<S> {
    #[inline(always)]
    fn clone(&self) -> Self {
        *self
    }
}
impl<S: pulp::Simd> Copy for Wide<S> {}

impl<S: pulp::Simd> Wide<S> {
    #[inline(always)]
    pub fn of(simd: S, v: f64) -> Self {
        Self(simd, simd.splat_f64s(v))
    }

    /// The same number in every lane.
    #[inline(always)]
    pub fn same(self, v: f64) -> Self {
        Self::of(self.0, v)
    }

    /// Group `g` of a row whose length is a multiple of the group's.
    #[inline(always)]
    pub fn load(simd: S, row: &[f64], g: usize) -> Self {
        Self(simd, S::as_simd_f64s(row).0[g])
    }

    /// The same, where a vector is at hand.
    #[inline(always)]
    pub fn row(self, row: &[f64], g: usize) -> Self {
        Self::load(self.0, row, g)
    }

    #[inline(always)]
    pub fn store(self, row: &mut [f64], g: usize) {
        S::as_mut_simd_f64s(row).0[g] = self.1;
    }

    /// self * b + c
    #[inline(always)]
    pub fn madd(self, b: Self, c: Self) -> Self {
        Self(self.0, self.0.mul_add_e_f64s(self.1, b.1, c.1))
    }

    #[inline(always)]
    pub fn min(self, b: Self) -> Self {
        Self(self.0, self.0.min_f64s(self.1, b.1))
    }

    #[inline(always)]
    pub fn max(self, b: Self) -> Self {
        Self(self.0, self.0.max_f64s(self.1, b.1))
    }

    /// Greatest of the lanes.
    #[inline(always)]
    pub fn greatest(self) -> f64 {
        self.0.reduce_max_f64s(self.1)
    }

    /// Least of the lanes.
    #[inline(always)]
    pub fn least(self) -> f64 {
        self.0.reduce_min_f64s(self.1)
    }

    /// `a` where self is below `b`, else `c`.
    #[inline(always)]
    pub fn if_below(self, b: Self, a: Self, c: Self) -> Self {
        Self(self.0, self.0.select_f64s(self.0.less_than_f64s(self.1, b.1), a.1, c.1))
    }
}

macro_rules! wide_ops {
    ($($op:ident $name:ident $of:ident;)*) => {$(
        impl<S: pulp::Simd> std::ops::$op for Wide<S> {
            type Output = Self;
            #[inline(always)]
            fn $name(self, b: Self) -> Self {
                Self(self.0, self.0.$of(self.1, b.1))
            }
        }
    )*};
}
wide_ops! {
    Add add add_f64s;
    Sub sub sub_f64s;
    Mul mul mul_f64s;
    Div div div_f64s;
}
