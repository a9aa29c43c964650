//! Drag of a round line across its axis: Reynolds number in, coefficient on the projected area out.
//!
//! A tether of 2 to 3 mm in a wind of 5 to 20 m/s sees Reynolds numbers of 700 to 4000, the low part of the curve
//! of a smooth cylinder (0.9 to 1.1), not the handbook 1.2.

use std::ops::{Add, Mul, Sub};

use beamstay_numerics::domain::{OutOfRange, in_range};
use wide::f64x4;

/// Drag coefficient of a cylinder across the flow, on the projected area d·l, against the Reynolds number of the
/// normal velocity. Outside [`Self::reynolds_range`] the value at the nearer end is held; for the three subcritical
/// curves that leaves the drag crisis out, which is the cautious side for a tether.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum DragCurve {
    /// One value at every Reynolds number. Rough or stranded lines behave so: 1.5 for armoured tow cables
    /// (*Hydrodynamic loading on armored towcables*, US Navy, abstract).
    Constant(f64),
    /// 1 + 10 Re^(−2/3), Re 1 to 2·10⁵ (F. M. White, *Viscous Fluid Flow*; form from memory).
    White,
    /// 1.18 + 6.8 Re^−0.89 + 1.96 Re^−0.5 − 0.0004 Re/(1 + 3.64·10⁻⁷ Re²), Re 10⁻⁴ to 2·10⁵ (D. Sucker and
    /// H. Brauer, *Wärme- und Stoffübertragung* 8, 1975; from memory).
    SuckerBrauer,
    /// 11 Re^−0.75 + 0.9 (1 − e^(−1000/Re)) + 1.2 (1 − e^(−(Re/4500)^0.7)), Re 0.1 to 2·10⁵ (N.-S. Cheng,
    /// *J. Hydraul. Eng.* 139, 602, 2013). The nearest to measurements between Re 500 and 5000.
    Cheng,
    /// Fit through sub- and supercritical data of R. L. Panton, *Incompressible Flow*, 4th ed., Re 0.1 to 10⁷
    /// (P. Sharpe, *CylinderDragFits*, coefficients in its README). Has the drag crisis of a smooth cylinder at
    /// Re 3.8·10⁵; a braided or iced line has it elsewhere.
    Sharpe,
}

impl DragCurve {
    /// Reynolds numbers between which the curve is meant to be used.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drag::DragCurve;
    /// assert_eq!(DragCurve::Cheng.reynolds_range(), (0.1, 2e5));
    /// ```
    pub fn reynolds_range(self) -> (f64, f64) {
        match self {
            Self::Constant(_) => (0.0, f64::MAX),
            Self::White => (1.0, 2e5),
            Self::SuckerBrauer => (1e-4, 2e5),
            Self::Cheng => (0.1, 2e5),
            Self::Sharpe => (0.1, 1e7),
        }
    }

    /// A Reynolds number, held at the ends of the range.
    #[inline]
    fn held(self, reynolds: f64) -> f64 {
        let (min, max) = self.reynolds_range();
        reynolds.max(min).min(max)
    }

    /// Drag coefficient at a Reynolds number, which is held at the ends of [`Self::reynolds_range`]; NaN is taken as
    /// the lower end. Finite and positive for every argument.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drag::DragCurve;
    /// assert!((DragCurve::White.coefficient(1000.0) - 1.1).abs() < 1e-12);
    /// assert!((DragCurve::Cheng.coefficient(1000.0) - 0.9842).abs() < 1e-4);
    /// ```
    pub fn coefficient(self, reynolds: f64) -> f64 {
        if let Self::Constant(coefficient) = self {
            return coefficient;
        }
        let re = self.held(reynolds);
        match self {
            Self::Constant(coefficient) => coefficient,
            Self::White => white(re, guessed_inverse_cube_root(re)),
            Self::SuckerBrauer => {
                1.18 + 6.8 * re.powf(-0.89) + 1.96 / re.sqrt() - 4e-4 * re / (1.0 + 3.64e-7 * re * re)
            }
            Self::Cheng => {
                let root = re.sqrt();
                let wake = 1.2 * -(-(re / 4500.0).powf(0.7)).exp_m1();
                11.0 / (root * root.sqrt()) + 0.9 * -(-1000.0 / re).exp_m1() + wake
            }
            Self::Sharpe => sharpe(re),
        }
    }
}

/// The curve of White at one Reynolds number within its range or at four.
#[inline]
fn white<T: Number>(reynolds: T, guess: T) -> T {
    let root = inverse_cube_root(reynolds, guess);
    T::from(1.0) + T::from(10.0) * (root * root)
}

/// What one number and four side by side can do alike.
trait Number: Copy + From<f64> + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> {}
impl<T: Copy + From<f64> + Add<Output = T> + Sub<Output = T> + Mul<Output = T>> Number for T {}

/// x^(−1/3) to two units of the last digit from a guess that is good to 4 %: made better twice by the series of (1 − e)^(−1/3) with
/// e = 1 − x y³. A cube root that is right to the last bit takes many times as long.
#[inline]
fn inverse_cube_root<T: Number>(x: T, guess: T) -> T {
    let mut y = guess;
    for _ in 0..2 {
        let open = T::from(1.0) - x * (y * y) * y;
        y = y + y * open * (T::from(1.0 / 3.0) + open * (T::from(2.0 / 9.0) + open * T::from(14.0 / 81.0)));
    }
    y
}

/// x^(−1/3) of a positive number that is neither tiny nor huge, to 4 %, from its bits.
#[inline]
fn guessed_inverse_cube_root(x: f64) -> f64 {
    /// Bits of the guess for 1, plus a third of those of 1.
    const GUESS: u64 = 0x553e_f0d8_44d0_13a9;
    f64::from_bits(GUESS - x.to_bits() / 3)
}

/// The fit of P. Sharpe, in its own symbols: log₁₀ Cd blends a subcritical and a supercritical branch over
/// x = log₁₀ Re.
fn sharpe(re: f64) -> f64 {
    let x = re.log10();
    let share = 1.0 / (1.0 + (-23.746_085_993_599_056 * (x - 5.576_672_211_859_725)).exp());
    let sub_linear = 0.704_422_875_589_857 + 0.084_650_111_544_393_8 * x;
    let sub = (10f64.powf(-0.698_949_236_043_504 * x + 1.046_518_938_283_007_8) + sub_linear).log10();
    let bend = (9.999_999_999_999_979 * (6.802_023_035_761_676 - x)).exp().ln_1p();
    let sup = -0.082_356_441_720_640_3 - 0.457_069_034_711_385_9 / 9.999_999_999_999_979 * bend;
    10f64.powf(sub * (1.0 - share) + sup * share)
}

/// Smallest and largest amplification that a [`NormalDrag`] takes.
const AMPLIFICATION_RANGE: (f64, f64) = (0.1, 10.0);

/// What the shape solver needs to know of the drag across the line: a curve and a factor on it for strumming, ice
///.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalDrag {
    curve: DragCurve,
    amplification_ratio: f64,
}

impl NormalDrag {
    /// A curve, and the factor on every value of it (1 for a line that does not vibrate).
    ///
    /// # Errors
    /// [`OutOfRange`] if a constant coefficient is not in 0 to 20 (0 switches the drag off) or the factor not in
    /// 0.1 to 10.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drag::{DragCurve, NormalDrag};
    /// let drag = NormalDrag::new(DragCurve::White, 1.5).unwrap();
    /// assert!((drag.coefficient(1000.0) - 1.65).abs() < 1e-12);
    /// assert!(NormalDrag::new(DragCurve::Constant(-1.0), 1.0).is_err());
    /// ```
    pub fn new(curve: DragCurve, amplification_ratio: f64) -> Result<Self, OutOfRange> {
        if let DragCurve::Constant(coefficient) = curve {
            in_range("normal drag coefficient", "", coefficient, 0.0, 20.0)?;
        }
        let (min, max) = AMPLIFICATION_RANGE;
        in_range("drag amplification", "", amplification_ratio, min, max)?;
        Ok(Self { curve, amplification_ratio })
    }

    /// One coefficient at every Reynolds number.
    ///
    /// # Errors
    /// [`OutOfRange`] if it is not in 0 to 20.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drag::NormalDrag;
    /// assert_eq!(NormalDrag::constant(1.1).unwrap().coefficient(5.0), 1.1);
    /// ```
    pub fn constant(coefficient: f64) -> Result<Self, OutOfRange> {
        Self::new(DragCurve::Constant(coefficient), 1.0)
    }

    /// The curve without the factor.
    pub fn curve(&self) -> DragCurve {
        self.curve
    }

    /// The factor on the curve.
    pub fn amplification_ratio(&self) -> f64 {
        self.amplification_ratio
    }

    /// The same curve with another factor.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn amplified(&self, amplification_ratio: f64) -> Result<Self, OutOfRange> {
        Self::new(self.curve, amplification_ratio)
    }

    /// Coefficient at a Reynolds number, factor included. Finite for every argument.
    pub fn coefficient(&self, reynolds: f64) -> f64 {
        self.amplification_ratio * self.curve.coefficient(reynolds)
    }

    /// The coefficient, factor included, if it is the same at every Reynolds number.
    pub fn constant_coefficient(&self) -> Option<f64> {
        match self.curve {
            DragCurve::Constant(coefficient) => Some(self.amplification_ratio * coefficient),
            _ => None,
        }
    }

    /// Cn·|u_n| in m/s, so that the force per metre is ½ ρ d · factor · u_n as a vector. Goes to 0 with the normal
    /// speed, without a division by it.
    ///
    /// Arguments: speed across the line ≥ 0, density > 0, diameter > 0, dynamic viscosity > 0; they are not checked.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drag::{DragCurve, NormalDrag};
    /// let drag = NormalDrag::new(DragCurve::Cheng, 1.0).unwrap();
    /// assert_eq!(drag.force_factor(0.0, 1.225, 0.003, 1.7894e-5), 0.0);
    /// ```
    #[inline]
    pub fn force_factor(
        &self,
        normal_speed_m_s: f64,
        density_kg_m3: f64,
        diameter_m: f64,
        dynamic_viscosity_pa_s: f64,
    ) -> f64 {
        if let DragCurve::Constant(coefficient) = self.curve {
            return self.amplification_ratio * coefficient * normal_speed_m_s;
        }
        let reynolds = density_kg_m3 * normal_speed_m_s * diameter_m / dynamic_viscosity_pa_s;
        self.coefficient(reynolds) * normal_speed_m_s
    }

    /// [`Self::force_factor`] at four places.
    #[inline]
    pub(crate) fn four_force_factors(
        &self,
        normal_speed_m_s: f64x4,
        density_kg_m3: f64x4,
        diameter_m: f64,
        dynamic_viscosity_pa_s: f64x4,
    ) -> f64x4 {
        let amplification = f64x4::splat(self.amplification_ratio);
        let reynolds = || {
            let reynolds =
                density_kg_m3 * normal_speed_m_s * f64x4::splat(diameter_m) / dynamic_viscosity_pa_s;
            reynolds.to_array()
        };
        let coefficient = match self.curve {
            DragCurve::Constant(coefficient) => f64x4::splat(coefficient),
            DragCurve::White => {
                let held = reynolds().map(|reynolds| DragCurve::White.held(reynolds));
                white(f64x4::new(held), f64x4::new(held.map(guessed_inverse_cube_root)))
            }
            curve => f64x4::new(reynolds().map(|reynolds| curve.coefficient(reynolds))),
        };
        amplification * coefficient * normal_speed_m_s
    }
}

/// Drag (along the flow) and lift (across it, in the plane of line and flow) of a straight line at an angle to the
/// flow, as coefficients on d·l, by the cross-flow principle (S. F. Hoerner, *Fluid-Dynamic Drag*, 1965): the normal force
/// goes by the square of the normal velocity, the friction by that of the tangential one. Drag is
/// Cn sin³a + Ct cos³a, lift Cn sin²a cos a − Ct cos²a sin a.
///
/// # Errors
/// [`OutOfRange`] if a coefficient is not in 0 to 20 or the angle not in 0 to π/2.
///
/// # Examples
/// ```
/// use beamstay_tether::drag::yawed_coefficients;
/// let (drag, lift) = yawed_coefficients(1.1, 0.02, 30_f64.to_radians()).unwrap();
/// assert!((drag - 0.15049).abs() < 1e-5 && (lift - 0.23066).abs() < 1e-5);
/// ```
pub fn yawed_coefficients(
    normal_coefficient: f64,
    tangential_coefficient: f64,
    angle_to_flow_rad: f64,
) -> Result<(f64, f64), OutOfRange> {
    in_range("normal drag coefficient", "", normal_coefficient, 0.0, 20.0)?;
    in_range("tangential drag coefficient", "", tangential_coefficient, 0.0, 20.0)?;
    in_range("angle to the flow", "rad", angle_to_flow_rad, 0.0, std::f64::consts::FRAC_PI_2)?;
    let (sin, cos) = angle_to_flow_rad.sin_cos();
    let (normal, tangential) = (normal_coefficient * sin * sin, tangential_coefficient * cos * cos);
    Ok((normal * sin + tangential * cos, normal * cos - tangential * sin))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CURVES: [DragCurve; 4] =
        [DragCurve::White, DragCurve::SuckerBrauer, DragCurve::Cheng, DragCurve::Sharpe];

    #[test]
    fn the_ends_of_the_range_are_held() {
        for curve in CURVES {
            let (min, max) = curve.reynolds_range();
            for (outside, end) in [(0.0, min), (f64::NAN, min), (-1.0, min), (f64::INFINITY, max)] {
                assert_eq!(
                    curve.coefficient(outside).to_bits(),
                    curve.coefficient(end).to_bits(),
                    "{curve:?}"
                );
            }
            assert!(curve.coefficient(min * 1.01) < curve.coefficient(min), "{curve:?}");
        }
    }

    #[test]
    fn the_inverse_cube_root_is_that_of_the_library() {
        for k in 0..=2000 {
            let x = 2e5_f64.powf(f64::from(k) / 2000.0);
            let guess = guessed_inverse_cube_root(x);
            assert!((guess * x.cbrt() - 1.0).abs() < 0.04, "{x}: {guess}");
            let off = inverse_cube_root(x, guess) * x.cbrt() - 1.0;
            assert!(off.abs() < 5e-16, "{x}: {off}");
        }
    }

    #[test]
    fn four_places_at_once_are_four_places() {
        for curve in CURVES.into_iter().chain([DragCurve::Constant(1.1)]) {
            let drag = NormalDrag::new(curve, 1.3).unwrap();
            // Below the range, in it, above it, and at rest.
            let speeds_m_s = [1e-9, 8.0, 1e6, 0.0];
            let (density, viscosity) = ([1.2, 1.1, 1.0, 0.9], [1.8e-5, 1.7e-5, 1.6e-5, 1.5e-5]);
            let four = drag
                .four_force_factors(f64x4::new(speeds_m_s), f64x4::new(density), 0.002, f64x4::new(viscosity))
                .to_array();
            for i in 0..4 {
                let one = drag.force_factor(speeds_m_s[i], density[i], 0.002, viscosity[i]);
                assert_eq!(four[i].to_bits(), one.to_bits(), "{curve:?} {}", speeds_m_s[i]);
            }
        }
    }

    #[test]
    fn formulas_agree_with_each_other_where_a_tether_works() {
        // 15 % between published fits for Re above 10, 25 % below.
        for exponent in 0..=20 {
            let re = 10f64.powf(f64::from(exponent) * 0.25);
            let values: Vec<f64> = CURVES.iter().map(|c| c.coefficient(re)).collect();
            let mean = values.iter().sum::<f64>() / 4.0;
            let allowed = if re > 10.0 { 0.15 } else { 0.25 };
            for value in values {
                assert!((value / mean - 1.0).abs() < allowed, "Re {re}: {value} against mean {mean}");
            }
        }
    }

    #[test]
    fn bad_factors_and_constants_are_refused() {
        for ratio in [0.0999, 10.001, f64::NAN, f64::INFINITY] {
            assert!(NormalDrag::new(DragCurve::Cheng, ratio).is_err(), "{ratio}");
        }
        for coefficient in [-1e-9, 20.01, f64::NAN] {
            assert!(NormalDrag::constant(coefficient).is_err(), "{coefficient}");
        }
        assert!(NormalDrag::new(DragCurve::Constant(0.0), 0.1).is_ok());
        assert!(NormalDrag::constant(20.0).unwrap().amplified(10.0).is_ok());
    }

    #[test]
    fn yaw_goes_from_friction_alone_to_normal_drag_alone() {
        let (drag, lift) = yawed_coefficients(1.1, 0.02, 0.0).unwrap();
        assert!((drag - 0.02).abs() < 1e-15 && lift.abs() < 1e-15);
        let (drag, lift) = yawed_coefficients(1.1, 0.02, std::f64::consts::FRAC_PI_2).unwrap();
        assert!((drag - 1.1).abs() < 1e-15 && lift.abs() < 1e-15);
        for (cn, ct, angle) in [(20.1, 0.02, 1.0), (1.1, -0.01, 1.0), (1.1, 0.02, 1.58), (1.1, 0.02, -0.1)] {
            assert!(yawed_coefficients(cn, ct, angle).is_err());
        }
    }

    proptest! {
        #[test]
        fn prop_coefficient_is_positive_and_finite(exponent in -300.0..300.0f64, which in 0usize..4) {
            let value = CURVES[which].coefficient(10f64.powf(exponent));
            prop_assert!(value.is_finite() && value > 0.0);
        }

        #[test]
        fn prop_drag_rises_with_speed_below_the_crisis(exponent in -5.0..5.0f64, which in 0usize..4) {
            let drag = NormalDrag::new(CURVES[which], 1.3).unwrap();
            let force = |u: f64| drag.force_factor(u, 1.0, 1.0, 1.0) * u;
            let u = 10f64.powf(exponent);
            prop_assert!(force(u * 1.01) > force(u));
        }
    }
}
