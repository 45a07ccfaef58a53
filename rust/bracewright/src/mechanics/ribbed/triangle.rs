//! The triangle of third order: its shape functions and symmetric rules.

/// Nodes of a triangle.
pub const CORNERED: usize = 10;

/// Of a side, the node nearer to its first corner, as a part of the side: the Gauss-Lobatto points of third order.
const NEAR: f64 = 0.276_393_202_250_021;

/// Shape functions and their slopes in the two local coordinates; the corners lie at (0, 0), (1, 0) and (0, 1).
pub fn shapes(s: f64, t: f64) -> [[f64; 3]; CORNERED] {
    // value and slopes together; products by the rule
    type D = [f64; 3];
    let times = |a: D, b: D| [a[0] * b[0], a[1] * b[0] + a[0] * b[1], a[2] * b[0] + a[0] * b[2]];
    let corner: [D; 3] = [[1.0 - s - t, -1.0, -1.0], [s, 1.0, 0.0], [t, 0.0, 1.0]];
    let root = 5.0_f64.sqrt();
    let mut out = [[0.0; 3]; CORNERED];
    for k in 0..3 {
        let (a, b) = (corner[k], corner[(k + 1) % 3]);
        let product = times(a, b);
        let along = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
        for (j, sign) in [(0, -1.0), (1, 1.0)] {
            let straight = [2.5 * (1.0 + sign * root * along[0]), 2.5 * sign * root * along[1], 2.5 * sign * root * along[2]];
            out[3 + 2 * k + j] = times(product, straight);
        }
    }
    for k in 0..3 {
        // a corner's straight function less what it is at the nodes of its two sides
        let before = (k + 2) % 3;
        let sides = [(3 + 2 * k, 1.0 - NEAR), (4 + 2 * k, NEAR), (4 + 2 * before, 1.0 - NEAR), (3 + 2 * before, NEAR)];
        let mut f = corner[k];
        for (node, part) in sides {
            for i in 0..3 {
                f[i] -= part * out[node][i];
            }
        }
        out[k] = f;
    }
    let bubble = times(times(corner[0], corner[1]), corner[2]).map(|v| 27.0 * v);
    for (k, f) in out.iter_mut().take(CORNERED - 1).enumerate() {
        let middle = if k < 3 { -2.0 / 9.0 } else { 2.5 / 9.0 };
        for i in 0..3 {
            f[i] -= middle * bubble[i];
        }
    }
    out[CORNERED - 1] = bubble;
    out
}

/// Rules of D. A. Dunavant (1985), from memory: exact to degree 4 and to degree 6. Places, and weights that sum to a half; what
/// they integrate is held to the closed form in the tests.
pub fn rule(degree: usize) -> Vec<([f64; 2], f64)> {
    let mut out = Vec::with_capacity(12);
    let mut threefold = |a: f64, b: f64, w: f64| out.extend([[b, b], [a, b], [b, a]].map(|p| (p, 0.5 * w)));
    if degree <= 4 {
        threefold(0.108_103_018_168_070, 0.445_948_490_915_965, 0.223_381_589_678_011);
        threefold(0.816_847_572_980_459, 0.091_576_213_509_771, 0.109_951_743_655_322);
    } else {
        threefold(0.501_426_509_658_179, 0.249_286_745_170_910, 0.116_786_275_726_379);
        threefold(0.873_821_971_016_996, 0.063_089_014_491_502, 0.050_844_906_370_207);
        let c = [0.053_145_049_844_817, 0.310_352_451_033_784, 0.636_502_499_121_399];
        for (i, j) in [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)] {
            out.push(([c[i], c[j]], 0.5 * 0.082_851_075_618_374));
        }
    }
    out
}
