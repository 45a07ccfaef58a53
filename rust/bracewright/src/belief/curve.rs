//! Cubic Hermite interpolation that does not overshoot, on a line and on a grid.

/// Slopes at the nodes: the derivative of the polynomial through up to five nearest nodes, held inside three times
/// the smaller neighbouring secant where `limit` is set (Fritsch and Carlson 1980), so that monotone data stay monotone.
pub(crate) fn slopes(x: &[f64], f: &[f64], limit: bool) -> Vec<f64> {
    let n = x.len();
    let width = n.min(5);
    (0..n)
        .map(|i| {
            let first = i.saturating_sub(width / 2).min(n - width);
            let s = polynomial_slope(&x[first..first + width], &f[first..first + width], i - first);
            if !limit {
                return s;
            }
            let secant = |i: usize| (f[i + 1] - f[i]) / (x[i + 1] - x[i]);
            let (left, right) = (secant(if i == 0 { 0 } else { i - 1 }), secant(if i + 1 == n { n - 2 } else { i }));
            if left * right <= 0.0 {
                return 0.0;
            }
            let most = 3.0 * left.abs().min(right.abs());
            (s * left.signum()).clamp(0.0, most) * left.signum()
        })
        .collect()
}

fn polynomial_slope(x: &[f64], f: &[f64], i: usize) -> f64 {
    let mut slope = 0.0;
    for j in 0..x.len() {
        let w = if j == i {
            (0..x.len()).filter(|&k| k != i).map(|k| 1.0 / (x[i] - x[k])).sum::<f64>()
        } else {
            let top: f64 = (0..x.len()).filter(|&k| k != i && k != j).map(|k| x[i] - x[k]).product();
            let bottom: f64 = (0..x.len()).filter(|&k| k != j).map(|k| x[j] - x[k]).product();
            top / bottom
        };
        slope += w * f[j];
    }
    slope
}

/// The cell that holds `at` and the four Hermite weights there: value and slope at the left node, then at the right.
/// Outside the nodes the weights go on as a straight line.
pub(crate) fn weights(x: &[f64], at: f64) -> (usize, [f64; 4]) {
    let n = x.len();
    let i = x.partition_point(|&v| v <= at).clamp(1, n - 1) - 1;
    (i, in_cell(at - x[i], x[i + 1] - x[i]))
}

/// The same for `n` nodes from 0 in even steps of `h`.
pub(crate) fn even_weights(h: f64, n: usize, at: f64) -> (usize, [f64; 4]) {
    let i = ((at / h).max(0.0) as usize).min(n - 2);
    (i, in_cell(at - i as f64 * h, h))
}

/// Weights so far into a cell of this width.
fn in_cell(into: f64, h: f64) -> [f64; 4] {
    let t = into / h;
    let c = t.clamp(0.0, 1.0);
    let mut w = [(1.0 + 2.0 * c) * (1.0 - c) * (1.0 - c), c * (1.0 - c) * (1.0 - c), c * c * (3.0 - 2.0 * c), c * c * (c - 1.0)];
    if t != c {
        let d = t - c;
        let rise = 6.0 * c * (1.0 - c);
        w[0] -= d * rise;
        w[1] += d * (1.0 - c) * (1.0 - 3.0 * c);
        w[2] += d * rise;
        w[3] += d * c * (3.0 * c - 2.0);
    }
    w[1] *= h;
    w[3] *= h;
    w
}

/// A function on a tensor grid: at each node the value, both slopes and the mixed one, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Surface {
    x: Vec<f64>,
    y: Vec<f64>,
    node: Vec<[f64; 4]>,
}

impl Surface {
    /// `f` holds `x.len()` rows of `y.len()` values.
    pub(crate) fn new(x: Vec<f64>, y: Vec<f64>, f: &[f64]) -> Self {
        let (n, m) = (x.len(), y.len());
        let mut node: Vec<[f64; 4]> = f.iter().map(|&v| [v, 0.0, 0.0, 0.0]).collect();
        for i in 0..n {
            for (j, s) in slopes(&y, &f[i * m..(i + 1) * m], true).into_iter().enumerate() {
                node[i * m + j][2] = s;
            }
        }
        for j in 0..m {
            for (from, to, limit) in [(0, 1, true), (2, 3, false)] {
                let column: Vec<f64> = (0..n).map(|i| node[i * m + j][from]).collect();
                for (i, s) in slopes(&x, &column, limit).into_iter().enumerate() {
                    node[i * m + j][to] = s;
                }
            }
        }
        Self { x, y, node }
    }

    pub(crate) fn at(&self, x: f64, y: f64) -> f64 {
        self.in_cells(weights(&self.x, x), weights(&self.y, y))
    }

    /// The same where the cells and weights are known.
    pub(crate) fn in_cells(&self, (i, u): (usize, [f64; 4]), (j, v): (usize, [f64; 4])) -> f64 {
        let m = self.y.len();
        let along = |row: usize| {
            let (a, b) = (&self.node[row * m + j], &self.node[row * m + j + 1]);
            // Value and x-slope of this row, each carried along y with its own y-slope.
            (v[0] * a[0] + v[1] * a[2] + v[2] * b[0] + v[3] * b[2], v[0] * a[1] + v[1] * a[3] + v[2] * b[1] + v[3] * b[3])
        };
        let ((f0, s0), (f1, s1)) = (along(i), along(i + 1));
        u[0] * f0 + u[1] * s0 + u[2] * f1 + u[3] * s1
    }
}
