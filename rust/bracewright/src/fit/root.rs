//! A bracketed root finder that never leaves its bracket.

/// A root of `f` in [a, b], where f(a) and f(b) differ in sign, to `tolerance` in x: regula falsi with the Illinois
/// step, halving when it is slow (Dowell & Jarratt, BIT 11 (1971) 168). `Err` of `f` is passed on.
pub(crate) fn bracketed<E>(
    mut a: f64,
    mut fa: f64,
    mut b: f64,
    mut fb: f64,
    tolerance: f64,
    mut f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<f64, E> {
    for k in 0..100 {
        if (b - a).abs() <= tolerance || fa == 0.0 {
            break;
        }
        if fb == 0.0 {
            return Ok(b);
        }
        let x = if k % 8 == 7 { 0.5 * (a + b) } else { (a * fb - b * fa) / (fb - fa) };
        let fx = f(x)?;
        if (fx > 0.0) == (fb > 0.0) {
            (b, fb) = (x, fx);
            fa *= if k % 8 == 7 { 1.0 } else { 0.5 };
        } else {
            (a, fa) = (b, fb);
            (b, fb) = (x, fx);
        }
        if fx.abs() == 0.0 {
            return Ok(x);
        }
    }
    Ok(if fa.abs() < fb.abs() { a } else { b })
}
