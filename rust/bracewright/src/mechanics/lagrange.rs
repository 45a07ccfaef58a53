//! Lagrange polynomials on Gauss-Lobatto points.

/// Gauss-Lobatto points on [-1, 1] for elements of order 1 to 6.
pub fn lobatto(order: usize) -> Vec<f64> {
    match order {
        0 | 1 => vec![-1.0, 1.0],
        2 => vec![-1.0, 0.0, 1.0],
        3 => vec![-1.0, -(0.2_f64.sqrt()), 0.2_f64.sqrt(), 1.0],
        4 => vec![-1.0, -((3.0 / 7.0_f64).sqrt()), 0.0, (3.0 / 7.0_f64).sqrt(), 1.0],
        5 => {
            let (a, b) = ((1.0 / 3.0 + 2.0 * 7.0_f64.sqrt() / 21.0).sqrt(), (1.0 / 3.0 - 2.0 * 7.0_f64.sqrt() / 21.0).sqrt());
            vec![-1.0, -a, -b, b, a, 1.0]
        }
        _ => {
            let r = (5.0 / 3.0_f64).sqrt();
            let (a, b) = (((5.0 + 2.0 * r) / 11.0).sqrt(), ((5.0 - 2.0 * r) / 11.0).sqrt());
            vec![-1.0, -a, -b, 0.0, b, a, 1.0]
        }
    }
}

/// Lagrange shape functions and their slopes at s.
pub fn lagrange(nodes: &[f64], s: f64) -> (Vec<f64>, Vec<f64>) {
    let n = nodes.len();
    let (mut v, mut d) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let mut denominator = 1.0;
        let (mut value, mut slope) = (1.0, 0.0);
        for k in 0..n {
            if k != i {
                denominator *= nodes[i] - nodes[k];
                slope = slope * (s - nodes[k]) + value;
                value *= s - nodes[k];
            }
        }
        v[i] = value / denominator;
        d[i] = slope / denominator;
    }
    (v, d)
}
