//! A line of even weight in a still fluid, in closed form: span, rise and length go in, tensions, shape and sag come out.
//!
//! The lower-left end is the origin, x runs along the span and z up. The shape solver finds the same line; this module is for
//! wires without wind and for checking it.

use beamstay_numerics::domain::in_range;

use crate::error::TetherError;

/// Newton steps of the elastic catenary.
const STEPS: u32 = 100;

/// A hanging line (M. Irvine, *Cable Structures*, MIT Press 1981, ch. 1). The weight counts per unstretched metre; it is
/// negative for a line that floats, which then bows upwards.
///
/// # Examples
/// A line of 120 m between points 100 m apart at one height, 1 N/m:
/// ```
/// use beamstay_tether::Catenary;
/// let line = Catenary::new(100.0, 0.0, 120.0, 1.0, None).unwrap();
/// assert!((line.horizontal_tension_n() - 46.95415231).abs() < 1e-8);
/// assert!((line.sag().0 - 29.23437976).abs() < 1e-8);
/// assert!((line.end_tension_n() - 76.18853207).abs() < 1e-8);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Catenary {
    span_m: f64,
    rise_m: f64,
    length_m: f64,
    weight_n_per_m: f64,
    compliance_per_n: f64,
    horizontal_n: f64,
    start_vertical_n: f64,
}

impl Catenary {
    /// The line of unstretched length `length_m` between two points `span_m` apart horizontally and `rise_m` vertically.
    ///
    /// Arguments: span 1 mm to 100 km; rise ±100 km; length 1 mm to 100 km; weight ±1000 N/m, not 0; stiffness EA in N,
    /// 10⁻³ to 10¹², `None` for a line that does not stretch.
    ///
    /// # Errors
    /// [`TetherError::OutOfRange`]; [`TetherError::TooShort`] or, if it is exactly as long as the distance,
    /// [`TetherError::Indeterminate`] for a line that does not stretch; [`TetherError::NotConverged`].
    pub fn new(
        span_m: f64,
        rise_m: f64,
        length_m: f64,
        weight_n_per_m: f64,
        axial_stiffness_n: Option<f64>,
    ) -> Result<Self, TetherError> {
        in_range("span", "m", span_m, 1e-3, 1e5)?;
        in_range("rise", "m", rise_m, -1e5, 1e5)?;
        in_range("length", "m", length_m, 1e-3, 1e5)?;
        in_range("weight", "N/m", weight_n_per_m, -1e3, 1e3)?;
        in_range("size of the weight", "N/m", weight_n_per_m.abs(), 1e-9, 1e3)?;
        let distance_m = span_m.hypot(rise_m);
        match axial_stiffness_n {
            None if length_m < distance_m => Err(TetherError::TooShort { length_m, distance_m }),
            None if length_m <= distance_m => Err(TetherError::Indeterminate { length_m, distance_m }),
            None => Ok(Self::inextensible(span_m, rise_m, length_m, weight_n_per_m)),
            Some(stiffness_n) => {
                in_range("axial stiffness", "N", stiffness_n, 1e-3, 1e12)?;
                Self::elastic(span_m, rise_m, length_m, weight_n_per_m, stiffness_n)
            }
        }
    }

    /// The line that does not stretch between two points at one height with the sag `sag_m` in the middle.
    ///
    /// Arguments: span 1 mm to 100 km, sag up to ten spans, weight as in [`Self::new`].
    ///
    /// # Errors
    /// [`TetherError::OutOfRange`].
    ///
    /// # Examples
    /// Meriam and Kraige, *Statics*, sample problem on cables: 300 m, 60 m, 12 kg/m carries 23.2 kN at its lowest point.
    /// ```
    /// let line = beamstay_tether::Catenary::level_with_sag(300.0, 60.0, 12.0 * 9.81).unwrap();
    /// assert!((line.horizontal_tension_n() - 23.2e3).abs() < 50.0);
    /// ```
    pub fn level_with_sag(span_m: f64, sag_m: f64, weight_n_per_m: f64) -> Result<Self, TetherError> {
        in_range("span", "m", span_m, 1e-3, 1e5)?;
        in_range("sag", "m", sag_m, 1e-6 * span_m, 10.0 * span_m)?;
        in_range("weight", "N/m", weight_n_per_m, 1e-9, 1e3)?;
        // sag = a (cosh(l/2a) − 1) with u = l/2a: 2 sag/l = (cosh u − 1)/u, which rises with u.
        let target = (2.0 * sag_m / span_m).ln();
        let mut u = 2.0 * (4.0 * sag_m / span_m).asinh();
        for _ in 0..STEPS {
            let half = 0.5 * u;
            let value = (2.0 * half.sinh() * half.sinh() / u).ln() - target;
            let step = value / (half.tanh().recip() - 1.0 / u);
            u = (u - step).max(0.5 * u);
            if step.abs() <= 1e-15 * u {
                break;
            }
        }
        let parameter_m = span_m / (2.0 * u);
        let length_m = 2.0 * parameter_m * u.sinh();
        Ok(Self {
            span_m,
            rise_m: 0.0,
            length_m,
            weight_n_per_m,
            compliance_per_n: 0.0,
            horizontal_n: weight_n_per_m * parameter_m,
            start_vertical_n: -0.5 * weight_n_per_m * length_m,
        })
    }

    fn inextensible(span_m: f64, rise_m: f64, length_m: f64, weight_n_per_m: f64) -> Self {
        let reach_m = ((length_m - rise_m) * (length_m + rise_m)).sqrt();
        let parameter_m = span_m / (2.0 * sinh_ratio_inverse(reach_m / span_m));
        let low_m = 0.5 * span_m - weight_n_per_m.signum() * parameter_m * (rise_m / length_m).atanh();
        let horizontal_n = weight_n_per_m.abs() * parameter_m;
        Self {
            span_m,
            rise_m,
            length_m,
            weight_n_per_m,
            compliance_per_n: 0.0,
            horizontal_n,
            start_vertical_n: -weight_n_per_m * parameter_m * (low_m / parameter_m).sinh(),
        }
    }

    /// Newton's method on both end conditions. The end is the gradient of a convex function of the force at the start, so
    /// that a step that is shortened until it brings the end nearer always exists.
    fn elastic(
        span_m: f64,
        rise_m: f64,
        length_m: f64,
        weight_n_per_m: f64,
        stiffness_n: f64,
    ) -> Result<Self, TetherError> {
        let mut line = Self {
            span_m,
            rise_m,
            length_m,
            weight_n_per_m,
            compliance_per_n: 1.0 / stiffness_n,
            horizontal_n: 0.0,
            start_vertical_n: 0.0,
        };
        (line.horizontal_n, line.start_vertical_n) = line.guess();
        let mut missed = line.missed_m();
        for _ in 0..STEPS {
            let (by_h, cross, by_v) = line.jacobian();
            let determinant = by_h * by_v - cross * cross;
            let step_h = (by_v * missed.0 - cross * missed.1) / determinant;
            let step_v = (by_h * missed.1 - cross * missed.0) / determinant;
            let start = line;
            let mut factor = if step_h < 0.0 { (0.8 * line.horizontal_n / -step_h).min(1.0) } else { 1.0 };
            for _ in 0..40 {
                line.horizontal_n = start.horizontal_n + factor * step_h;
                line.start_vertical_n = start.start_vertical_n + factor * step_v;
                let next = line.missed_m();
                if next.0.hypot(next.1) < missed.0.hypot(missed.1) {
                    break;
                }
                factor *= 0.5;
            }
            let before = missed;
            missed = line.missed_m();
            let small = step_h.abs() <= 1e-15 * start.horizontal_n;
            if small || missed.0.hypot(missed.1) >= before.0.hypot(before.1) {
                if missed.0.hypot(missed.1) > before.0.hypot(before.1) {
                    (line, missed) = (start, before);
                }
                break;
            }
        }
        let end_error_m = missed.0.hypot(missed.1);
        if end_error_m <= 1e-9 * length_m.max(span_m.hypot(rise_m)) && line.horizontal_n.is_finite() {
            Ok(line)
        } else {
            Err(TetherError::NotConverged {
                iterations_count: STEPS,
                force_error_ratio: f64::NAN,
                end_error_m,
            })
        }
    }

    /// Forces of a line that does not stretch but has about the stretched length.
    fn guess(&self) -> (f64, f64) {
        let distance_m = self.span_m.hypot(self.rise_m);
        let across_n = self.weight_n_per_m.abs() * self.length_m * self.span_m / distance_m;
        let slack = self.length_m / distance_m - 1.0;
        // Parabola: slack + T/EA = (W/T)²/24, a cubic that rises with T.
        let k = across_n * across_n / 24.0;
        let mut tension_n = (k / self.compliance_per_n).cbrt();
        if slack > 0.0 {
            tension_n = tension_n.min((k / slack).sqrt());
        }
        for _ in 0..STEPS {
            let square = tension_n * tension_n;
            let value = slack + tension_n * self.compliance_per_n - k / square;
            let slope = self.compliance_per_n + 2.0 * k / (square * tension_n);
            tension_n = (tension_n - value / slope).max(0.5 * tension_n);
        }
        let stretched_m =
            (self.length_m * (1.0 + tension_n * self.compliance_per_n)).max((1.0 + 1e-9) * distance_m);
        let weight = self.weight_n_per_m * self.length_m / stretched_m;
        let rigid = Self::inextensible(self.span_m, self.rise_m, stretched_m, weight);
        (rigid.horizontal_n, rigid.start_vertical_n)
    }

    fn missed_m(&self) -> (f64, f64) {
        let (x_m, z_m) = self.point(self.length_m);
        (self.span_m - x_m, self.rise_m - z_m)
    }

    /// Change of the end with the horizontal force, with the other one (the same both ways), and with the vertical force.
    fn jacobian(&self) -> (f64, f64, f64) {
        let (h, w) = (self.horizontal_n, self.weight_n_per_m);
        let (va, vb) = (self.start_vertical_n, self.vertical_n(self.length_m));
        let (ta, tb) = (h.hypot(va), h.hypot(vb));
        let stretch = self.length_m * self.compliance_per_n;
        let turn = (vb / tb - va / ta) / w;
        let by_h = stretch + ((vb / h).asinh() - (va / h).asinh()) / w - turn;
        (by_h, h / w * (1.0 / tb - 1.0 / ta), stretch + turn)
    }

    /// Horizontal part of the tension, the same everywhere, N.
    pub fn horizontal_tension_n(&self) -> f64 {
        self.horizontal_n
    }

    /// Vertical part of the pull of the rest on the piece from the start to `s_m`, N; negative where the line falls.
    pub fn vertical_n(&self, s_m: f64) -> f64 {
        self.start_vertical_n + self.weight_n_per_m * s_m
    }

    /// Tension at the unstretched length `s_m`, N.
    pub fn tension_n(&self, s_m: f64) -> f64 {
        self.horizontal_n.hypot(self.vertical_n(s_m))
    }

    /// Tension where the line starts, N.
    pub fn start_tension_n(&self) -> f64 {
        self.tension_n(0.0)
    }

    /// Tension where it ends, N.
    pub fn end_tension_n(&self) -> f64 {
        self.tension_n(self.length_m)
    }

    /// Unstretched length, m.
    pub fn length_m(&self) -> f64 {
        self.length_m
    }

    /// H/w, the parameter of the catenary and, without stretch, its radius of curvature at the lowest point, m.
    pub fn parameter_m(&self) -> f64 {
        self.horizontal_n / self.weight_n_per_m.abs()
    }

    /// Place at the unstretched length `s_m`: x = H s/EA + (H/w)[asinh(V/H) − asinh(V_A/H)],
    /// z = (V_A s + w s²/2)/EA + (√(H² + V²) − √(H² + V_A²))/w, m.
    pub fn point(&self, s_m: f64) -> (f64, f64) {
        let (h, w, c) = (self.horizontal_n, self.weight_n_per_m, self.compliance_per_n);
        let (va, v) = (self.start_vertical_n, self.vertical_n(s_m));
        let gain = w * s_m;
        // Differences written so that they keep their digits where the line is taut.
        let climb = (va + v) * gain / (h.hypot(v) + h.hypot(va)) / w;
        let turn = (v / h).asinh() - (va / h).asinh();
        (h * s_m * c + h / w * turn, (va * s_m + 0.5 * w * s_m * s_m) * c + climb)
    }

    /// Stretched length, m.
    pub fn stretched_m(&self) -> f64 {
        // ∫ T ds over EA, with T² = H² + V².
        let primitive = |v: f64| {
            let t = self.horizontal_n.hypot(v);
            0.5 * (v * t + self.horizontal_n * self.horizontal_n * (v / self.horizontal_n).asinh())
        };
        let (va, vb) = (self.start_vertical_n, self.vertical_n(self.length_m));
        self.length_m + self.compliance_per_n * (primitive(vb) - primitive(va)) / self.weight_n_per_m
    }

    /// Largest vertical distance from the straight between the ends, m, and the x at which it is, m. Below it for a heavy line,
    /// above for one that floats.
    pub fn sag(&self) -> (f64, f64) {
        let slope = self.rise_m / self.span_m;
        let s_m = (self.horizontal_n * slope - self.start_vertical_n) / self.weight_n_per_m;
        let (x_m, z_m) = self.point(s_m.clamp(0.0, self.length_m));
        ((slope * x_m - z_m).abs(), x_m)
    }

    /// Largest distance from the straight between the ends, m.
    pub fn sag_perp_m(&self) -> f64 {
        self.sag().0 * self.span_m / self.span_m.hypot(self.rise_m)
    }

    /// Lowest point (highest for a line that floats) if it lies between the ends: x and z, m.
    pub fn turning_point(&self) -> Option<(f64, f64)> {
        let s_m = -self.start_vertical_n / self.weight_n_per_m;
        (s_m > 0.0 && s_m < self.length_m).then(|| self.point(s_m))
    }

    /// Smallest radius of curvature of the stretched line, m: T² (1 + T/EA)/(w H) where the tension is least.
    pub fn min_bend_radius_m(&self) -> f64 {
        let s_m = (-self.start_vertical_n / self.weight_n_per_m).clamp(0.0, self.length_m);
        let tension_n = self.tension_n(s_m);
        tension_n * tension_n * (1.0 + tension_n * self.compliance_per_n)
            / (self.weight_n_per_m.abs() * self.horizontal_n)
    }
}

/// u > 0 with sinh(u)/u = `ratio` ≥ 1, by Newton's method on the logarithm.
pub(crate) fn sinh_ratio_inverse(ratio: f64) -> f64 {
    let target = ratio.ln();
    let large = (2.0 * ratio).ln();
    let mut u = if ratio < 3.0 { (6.0 * (ratio - 1.0)).sqrt() } else { large + large.ln() };
    for _ in 0..STEPS {
        let step = if u < 1e-3 {
            // ln(sinh(u)/u) = u²/6 − u⁴/180 + …
            let value = u * u / 6.0 * (1.0 - u * u / 30.0);
            (value - target) / (u / 3.0 * (1.0 - u * u / 15.0)).max(f64::MIN_POSITIVE)
        } else if u > 20.0 {
            (u - (2.0 * u).ln() - target) / (1.0 - 1.0 / u)
        } else {
            ((u.sinh() / u).ln() - target) / (u.tanh().recip() - 1.0 / u)
        };
        u = (u - step).max(0.5 * u);
        if step.abs() <= 1e-15 * u {
            break;
        }
    }
    u
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_stiff_elastic_line_is_the_inextensible_one() {
        let rigid = Catenary::new(60.0, 80.0, 110.0, 0.0980665, None).unwrap();
        let stiff = Catenary::new(60.0, 80.0, 110.0, 0.0980665, Some(1e12)).unwrap();
        assert!((stiff.horizontal_tension_n() / rigid.horizontal_tension_n() - 1.0).abs() < 1e-9);
        assert!((stiff.vertical_n(0.0) - rigid.vertical_n(0.0)).abs() < 1e-9);
    }

    #[test]
    fn a_line_that_floats_mirrors_one_that_sinks() {
        let sinks = Catenary::new(200.0, -150.0, 252.0, 0.25, None).unwrap();
        let floats = Catenary::new(200.0, 150.0, 252.0, -0.25, None).unwrap();
        assert!((sinks.horizontal_tension_n() - floats.horizontal_tension_n()).abs() < 1e-9);
        assert!((sinks.vertical_n(10.0) + floats.vertical_n(10.0)).abs() < 1e-9);
    }

    #[test]
    fn impossible_lines_are_refused() {
        let short = Catenary::new(3.0, 4.0, 4.999, 1.0, None);
        assert_eq!(short, Err(TetherError::TooShort { length_m: 4.999, distance_m: 5.0 }));
        assert!(matches!(Catenary::new(3.0, 4.0, 5.0, 1.0, None), Err(TetherError::Indeterminate { .. })));
        assert!(Catenary::new(3.0, 4.0, 6.0, 0.0, None).is_err());
        assert!(Catenary::new(f64::NAN, 4.0, 6.0, 1.0, None).is_err());
        assert!(Catenary::new(3.0, 4.0, 4.5, 1.0, Some(100.0)).is_ok(), "one that stretches may be shorter");
        assert!(Catenary::level_with_sag(100.0, 0.0, 1.0).is_err());
    }

    #[test]
    fn sag_and_length_agree_with_each_other() {
        let by_sag = Catenary::level_with_sag(100.0, 30.0, 2.0).unwrap();
        let by_length = Catenary::new(100.0, 0.0, by_sag.length_m(), 2.0, None).unwrap();
        assert!((by_length.sag().0 - 30.0).abs() < 1e-11);
        assert!((by_length.turning_point().unwrap().1 + 30.0).abs() < 1e-11);
    }

    proptest! {
        #[test]
        fn prop_both_ends_are_met(
            span in 0.1..1e3f64,
            rise in -1e3..1e3f64,
            slack in -6.0..1.0f64,
            weight_log in -3.0..1.0f64,
            stiffness_log in 2.0..8.0f64,
            elastic in any::<bool>(),
        ) {
            let length = span.hypot(rise) * (1.0 + 10f64.powf(slack));
            let stiffness = elastic.then(|| 10f64.powf(stiffness_log));
            let line = Catenary::new(span, rise, length, 10f64.powf(weight_log), stiffness).unwrap();
            let (x, z) = line.point(line.length_m());
            prop_assert!((x - span).hypot(z - rise) < 1e-8 * length, "{line:?} {x} {z}");
            let (start, end) = (line.vertical_n(0.0), line.vertical_n(length));
            prop_assert!((end - start - 10f64.powf(weight_log) * length).abs() < 1e-9 * end.abs().max(start.abs()));
            prop_assert!(line.sag().0 >= 0.0 && line.stretched_m() >= length);
        }
    }
}
