//! Definite integrals.

/// Nodes and weights of Gauss-Legendre quadrature with `N` points on −1..1, exact for polynomials of degree
/// 2N − 1 (nodes by Newton's method on the Legendre recurrence; Abramowitz and Stegun, 25.4.29).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaussLegendre<const N: usize> {
    nodes: [f64; N],
    weights: [f64; N],
}

impl<const N: usize> GaussLegendre<N> {
    /// Computes nodes and weights.
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::quadrature::GaussLegendre;
    /// let rule = GaussLegendre::<8>::new();
    /// assert!((rule.integrate(|x| x.exp(), 0.0, 1.0) - 1.0_f64.exp() + 1.0).abs() < 1e-14);
    /// ```
    pub fn new() -> Self {
        let (mut nodes, mut weights) = ([0.0; N], [0.0; N]);
        for i in 0..N {
            let mut x = -(std::f64::consts::PI * (i as f64 + 0.75) / (N as f64 + 0.5)).cos();
            for _ in 0..50 {
                let (p, dp) = legendre(N, x);
                let dx = p / dp;
                x -= dx;
                if dx.abs() < 1e-16 {
                    break;
                }
            }
            let (_, dp) = legendre(N, x);
            nodes[i] = x;
            weights[i] = 2.0 / ((1.0 - x * x) * dp * dp);
        }
        Self { nodes, weights }
    }

    /// Integral of `f` from `a` to `b`, in the unit of `f` times that of its variable.
    pub fn integrate(&self, mut f: impl FnMut(f64) -> f64, a: f64, b: f64) -> f64 {
        let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
        half * self.nodes.iter().zip(&self.weights).map(|(x, w)| w * f(middle + half * x)).sum::<f64>()
    }

    /// Nodes on −1..1, rising.
    pub fn nodes(&self) -> &[f64; N] {
        &self.nodes
    }

    /// Weights; they sum to 2.
    pub fn weights(&self) -> &[f64; N] {
        &self.weights
    }
}

impl<const N: usize> Default for GaussLegendre<N> {
    fn default() -> Self {
        Self::new()
    }
}

/// Legendre polynomial of degree `n` and its derivative at `x`.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut p0, mut p1) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
    }
    if n == 0 {
        return (1.0, 0.0);
    }
    (p1, n as f64 * (x * p1 - p0) / (x * x - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn val_five_points_integrate_a_ninth_power_exactly() {
        // Gauss's rule of n points is exact to the power 2n - 1, on any interval.
        let found = GaussLegendre::<5>::new().integrate(|x| x.powi(9), -2.0, 5.0);
        let exact = (5.0_f64.powi(10) - 2.0_f64.powi(10)) / 10.0;
        assert!((found / exact - 1.0).abs() < 1e-13, "{found} {exact}");
    }

    #[test]
    fn five_point_rule_matches_the_handbook() {
        // Abramowitz and Stegun, Table 25.4, n = 5.
        let rule = GaussLegendre::<5>::new();
        assert!((rule.nodes()[4] - 0.906_179_845_938_664).abs() < 1e-15);
        assert!((rule.weights()[4] - 0.236_926_885_056_189).abs() < 1e-15);
        assert!((rule.weights()[2] - 0.568_888_888_888_889).abs() < 1e-15);
    }

    #[test]
    fn exact_to_degree_2n_minus_1() {
        let rule = GaussLegendre::<4>::new();
        assert!(
            (rule.integrate(|x| x.powi(7) + x.powi(6), -1.0, 2.0) - (255.0 / 8.0 + 129.0 / 7.0)).abs()
                < 1e-12
        );
    }
}
