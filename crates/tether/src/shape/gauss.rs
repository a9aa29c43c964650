//! Gauss-Legendre collocation on one element: where the load is sampled and how it is integrated.
//!
//! With n nodes an element of a smooth load is integrated to its end with an error of order 2n, and to its nodes with order n + 1
//! (J. C. Butcher, *Implicit Runge-Kutta processes*, Math. Comp. 18, 1964: the same table of coefficients).

#![allow(clippy::needless_range_loop, reason = "node and axis numbers run over several arrays at once")]

use std::sync::LazyLock;

use beamstay_numerics::quadrature::GaussLegendre;

/// Most nodes of one element.
pub(super) const MAX_ORDER: usize = 16;

/// Nodes, weights and integration matrix for one number of nodes, on 0..1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rule {
    /// Nodes, rising.
    pub nodes: [f64; MAX_ORDER],
    /// Weights; they sum to 1.
    pub weights: [f64; MAX_ORDER],
    /// `integral[j][i]` is the share of the value at node j in the integral from 0 to node i.
    pub integral: [[f64; MAX_ORDER]; MAX_ORDER],
    /// `spectrum[k][j]` is the share of the value at node j in the coefficient of the Legendre polynomial of degree k.
    pub spectrum: [[f64; MAX_ORDER]; MAX_ORDER],
    /// `tail[j]` is the share of the value at node j in the coefficients of the last degree, the one before, the middle one and the
    /// one before that.
    pub tail: [[f64; 4]; MAX_ORDER],
    /// `ends[0][j]` is the share of the value at node j in the value at the start, `ends[1][j]` in that at the end.
    pub ends: [[f64; MAX_ORDER]; 2],
}

static RULES: LazyLock<[Rule; MAX_ORDER + 1]> = LazyLock::new(|| {
    let two = rule_of(&GaussLegendre::<2>::new());
    [
        two,
        two,
        two,
        rule_of(&GaussLegendre::<3>::new()),
        rule_of(&GaussLegendre::<4>::new()),
        rule_of(&GaussLegendre::<5>::new()),
        rule_of(&GaussLegendre::<6>::new()),
        rule_of(&GaussLegendre::<7>::new()),
        rule_of(&GaussLegendre::<8>::new()),
        rule_of(&GaussLegendre::<9>::new()),
        rule_of(&GaussLegendre::<10>::new()),
        rule_of(&GaussLegendre::<11>::new()),
        rule_of(&GaussLegendre::<12>::new()),
        rule_of(&GaussLegendre::<13>::new()),
        rule_of(&GaussLegendre::<14>::new()),
        rule_of(&GaussLegendre::<15>::new()),
        rule_of(&GaussLegendre::<16>::new()),
    ]
});

/// The rule with `order` nodes, from 2 to [`MAX_ORDER`].
#[inline]
pub(super) fn rule(order: usize) -> &'static Rule {
    &RULES[order.min(MAX_ORDER)]
}

fn rule_of<const N: usize>(gauss: &GaussLegendre<N>) -> Rule {
    let mut rule = Rule {
        nodes: [0.0; MAX_ORDER],
        weights: [0.0; MAX_ORDER],
        integral: [[0.0; MAX_ORDER]; MAX_ORDER],
        spectrum: [[0.0; MAX_ORDER]; MAX_ORDER],
        tail: [[0.0; 4]; MAX_ORDER],
        ends: [[0.0; MAX_ORDER]; 2],
    };
    for j in 0..N {
        let (x, weight) = (gauss.nodes()[j], gauss.weights()[j]);
        rule.nodes[j] = 0.5 * (1.0 + x);
        rule.weights[j] = 0.5 * weight;
        let p = legendre(x);
        for k in 0..N {
            let share = 0.5 * (2 * k + 1) as f64 * weight * p[k];
            rule.spectrum[k][j] = share;
            // Every Legendre polynomial is 1 at the end, and 1 or −1 at the start.
            rule.ends[0][j] += if k % 2 == 0 { share } else { -share };
            rule.ends[1][j] += share;
        }
        rule.tail[j] = [N - 1, N - 2, N / 2, N / 2 - 1].map(|degree| rule.spectrum[degree][j]);
    }
    for i in 0..N {
        let basis = legendre_integrals(rule.nodes[i]);
        for j in 0..N {
            rule.integral[j][i] = (0..N).map(|k| basis[k] * rule.spectrum[k][j]).sum();
        }
    }
    rule
}

/// Factors of the recurrence of the Legendre polynomials: the next is the first times x times the last, less the second times
/// the one before.
const RECURRENCE: [(f64, f64); MAX_ORDER + 1] = {
    let mut factors = [(0.0, 0.0); MAX_ORDER + 1];
    let mut k = 2;
    while k <= MAX_ORDER {
        factors[k] = ((2 * k - 1) as f64 / k as f64, (k - 1) as f64 / k as f64);
        k += 1;
    }
    factors
};

/// Over twice the degree and one, halved: what the integral of a Legendre polynomial is of the difference of its neighbours.
const HALVES: [f64; MAX_ORDER] = {
    let mut halves = [0.0; MAX_ORDER];
    let mut k = 0;
    while k < MAX_ORDER {
        halves[k] = 0.5 / (2 * k + 1) as f64;
        k += 1;
    }
    halves
};

/// Legendre polynomials of degree 0 to [`MAX_ORDER`] at `x` in −1..1.
pub(super) fn legendre(x: f64) -> [f64; MAX_ORDER + 1] {
    legendre_up_to(MAX_ORDER, x)
}

/// The same up to `degree`; what is above it stays 1.
pub(super) fn legendre_up_to(degree: usize, x: f64) -> [f64; MAX_ORDER + 1] {
    let mut p = [1.0; MAX_ORDER + 1];
    p[1] = x;
    for k in 2..=degree.min(MAX_ORDER) {
        let (rise, fall) = RECURRENCE[k];
        p[k] = rise * x * p[k - 1] - fall * p[k - 2];
    }
    p
}

/// Integrals of the Legendre polynomials of degree 0 to [`MAX_ORDER`] − 1 from the start of an element to `xi` in 0..1.
pub(super) fn legendre_integrals(xi: f64) -> [f64; MAX_ORDER] {
    integrals_of(MAX_ORDER, xi, &legendre(2.0 * xi - 1.0))
}

/// The first `count` integrals of Legendre polynomials, from their values up to the degree `count`.
pub(super) fn integrals_of(count: usize, xi: f64, p: &[f64; MAX_ORDER + 1]) -> [f64; MAX_ORDER] {
    let mut integral = [xi; MAX_ORDER];
    for k in 1..count.min(MAX_ORDER) {
        integral[k] = HALVES[k] * (p[k + 1] - p[k - 1]);
    }
    integral
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integration_is_exact_for_polynomials_below_the_order() {
        for order in 2..=MAX_ORDER {
            let rule = rule(order);
            for degree in 0..order {
                let value = |x: f64| x.powi(degree as i32);
                let primitive = |x: f64| x.powi(degree as i32 + 1) / (degree + 1) as f64;
                for i in 0..order {
                    let sum: f64 = (0..order).map(|j| rule.integral[j][i] * value(rule.nodes[j])).sum();
                    assert!((sum - primitive(rule.nodes[i])).abs() < 1e-14, "order {order} degree {degree}");
                }
            }
        }
    }

    #[test]
    fn a_polynomial_below_the_order_is_met_at_both_ends() {
        for order in 2..=MAX_ORDER {
            let rule = rule(order);
            let value = |x: f64| (0..order).map(|k| (k as f64 + 1.0) * x.powi(k as i32)).sum::<f64>();
            for (end, shares) in [0.0, 1.0].into_iter().zip(rule.ends) {
                let met: f64 = (0..order).map(|j| shares[j] * value(rule.nodes[j])).sum();
                assert!((met - value(end)).abs() < 1e-11, "order {order}, {met} for {}", value(end));
            }
        }
    }

    #[test]
    fn spectrum_returns_the_legendre_coefficients() {
        let rule = rule(7);
        for k in 0..7 {
            for j in 0..7 {
                let got: f64 = (0..7)
                    .map(|node| rule.spectrum[k][node] * legendre(2.0 * rule.nodes[node] - 1.0)[j])
                    .sum();
                assert!((got - if j == k { 1.0 } else { 0.0 }).abs() < 1e-14);
            }
        }
    }
}
