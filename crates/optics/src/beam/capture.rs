//! Share of a Gaussian spot that an aperture takes: round, rectangular or ring, with offset and incidence. All are integrals of the
//! Gaussian (A. E. Siegman, *Lasers*, 1986, ch. 17, from memory) in closed form or by quadrature.

use std::f64::consts::{FRAC_PI_2, PI, SQRT_2};

use beamstay_numerics::domain::in_range;
use libm::{erf, erfc};

use crate::OpticsError;

/// Beyond this many 1/e² radii from its centre a Gaussian holds less than 10⁻¹⁶ of its power.
const REACH: f64 = 4.4;

/// Clear area of a receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aperture {
    /// A disc.
    Round {
        /// Radius, m.
        radius_m: f64,
    },
    /// A rectangle or square; its width lies along the direction of tilt.
    Rectangle {
        /// Half the width, m.
        half_width_m: f64,
        /// Half the height, m.
        half_height_m: f64,
    },
    /// A disc with a hole: what lies in the hole is lost.
    Ring {
        /// Radius of the hole, m.
        inner_radius_m: f64,
        /// Outer radius, m.
        outer_radius_m: f64,
    },
}

/// A Gaussian spot as it falls on a receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// 1/e² radius, jitter included, m.
    pub radius_m: f64,
    /// Distance of its centre from the centre of the aperture, seen along the beam, in the direction of tilt, m.
    pub offset_along_m: f64,
    /// The same at right angles to the tilt, m.
    pub offset_across_m: f64,
    /// Angle between the beam and the normal of the aperture, rad; 0 to π. From π/2 on nothing is taken.
    pub incidence_rad: f64,
}

impl Spot {
    /// A spot on the axis of an aperture that faces it.
    pub fn centred(radius_m: f64) -> Self {
        Self { radius_m, offset_along_m: 0.0, offset_across_m: 0.0, incidence_rad: 0.0 }
    }

    /// Adds a jitter of `sigma_m` (standard deviation in each axis, Gaussian): `w² + 4σ²`. Exact for the mean over
    /// time, whatever the aperture.
    pub fn with_jitter(self, sigma_m: f64) -> Self {
        let radius_m = (self.radius_m * self.radius_m + 4.0 * sigma_m * sigma_m).sqrt();
        Self { radius_m, ..self }
    }

    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("spot radius", "m", self.radius_m, 1e-6, 1e6)?;
        in_range("offset of the spot", "m", self.offset_along_m, -1e6, 1e6)?;
        in_range("offset of the spot", "m", self.offset_across_m, -1e6, 1e6)?;
        in_range("incidence", "rad", self.incidence_rad, 0.0, PI)?;
        Ok(())
    }
}

impl Aperture {
    /// Whether every figure is finite, 10 µm to 1 km and in order.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        match *self {
            Self::Round { radius_m } => {
                in_range("receiver radius", "m", radius_m, 1e-5, 1e3)?;
            }
            Self::Rectangle { half_width_m, half_height_m } => {
                in_range("half width of the receiver", "m", half_width_m, 1e-5, 1e3)?;
                in_range("half height of the receiver", "m", half_height_m, 1e-5, 1e3)?;
            }
            Self::Ring { inner_radius_m, outer_radius_m } => {
                in_range("outer radius of the receiver", "m", outer_radius_m, 1e-5, 1e3)?;
                in_range("inner radius of the receiver", "m", inner_radius_m, 0.0, outer_radius_m)?;
            }
        }
        Ok(())
    }

    /// Clear area, m².
    pub fn area_m2(&self) -> f64 {
        match *self {
            Self::Round { radius_m } => PI * radius_m * radius_m,
            Self::Rectangle { half_width_m, half_height_m } => 4.0 * half_width_m * half_height_m,
            Self::Ring { inner_radius_m, outer_radius_m } => {
                PI * (outer_radius_m * outer_radius_m - inner_radius_m * inner_radius_m)
            }
        }
    }

    /// Share of the spot's power that the aperture takes.
    ///
    /// Round and facing the beam: `1 − exp(−2a²/w²)`, off centre the non-central χ² distribution with two degrees of
    /// freedom (one less Marcum's Q). Rectangle: error functions. Tilted, each is foreshortened along the tilt; a round
    /// one becomes an ellipse and is summed in strips.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Aperture, Spot};
    /// let round = Aperture::Round { radius_m: 0.15 };
    /// assert!((round.capture_ratio(&Spot::centred(0.2))? - 0.675_347_532_6).abs() < 1e-9);
    /// let aside = Spot { offset_along_m: 0.15, ..Spot::centred(0.2) };
    /// assert!((round.capture_ratio(&aside)? - 0.356_284_030_6).abs() < 1e-9);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn capture_ratio(&self, spot: &Spot) -> Result<f64, OpticsError> {
        self.check()?;
        spot.check()?;
        if spot.incidence_rad >= FRAC_PI_2 {
            return Ok(0.0);
        }
        let share = match *self {
            Self::Round { radius_m } => disc_share(radius_m, spot),
            Self::Rectangle { half_width_m, half_height_m } => {
                let foreshortened_m = half_width_m * spot.incidence_rad.cos();
                interval_share(foreshortened_m, spot.offset_along_m, spot.radius_m)
                    * interval_share(half_height_m, spot.offset_across_m, spot.radius_m)
            }
            Self::Ring { inner_radius_m, outer_radius_m } => {
                let hole = if inner_radius_m > 0.0 { disc_share(inner_radius_m, spot) } else { 0.0 };
                disc_share(outer_radius_m, spot) - hole
            }
        };
        Ok(share.clamp(0.0, 1.0))
    }
}

/// Share of a Gaussian of 1/e² radius `spot_m` between `offset_m − half_m` and `offset_m + half_m`.
fn interval_share(half_m: f64, offset_m: f64, spot_m: f64) -> f64 {
    let scale = SQRT_2 / spot_m;
    let offset_m = offset_m.abs();
    let (near, far) = (scale * (offset_m - half_m), scale * (offset_m + half_m));
    if near > 0.0 { 0.5 * (erfc(near) - erfc(far)) } else { 0.5 * (erf(far) - erf(near)) }
}

/// Share inside a disc, tilted or not.
fn disc_share(radius_m: f64, spot: &Spot) -> f64 {
    if spot.incidence_rad > 0.0 {
        return ellipse_share(radius_m * spot.incidence_rad.cos(), radius_m, spot);
    }
    let offset_m = spot.offset_along_m.hypot(spot.offset_across_m);
    let inside = 2.0 * (radius_m / spot.radius_m).powi(2);
    let aside = 2.0 * (offset_m / spot.radius_m).powi(2);
    if aside == 0.0 {
        return -(-inside).exp_m1();
    }
    if inside < 100.0 && aside < 600.0 {
        return noncentral_share(inside, aside);
    }
    let turned = Spot { offset_along_m: 0.0, offset_across_m: offset_m, ..*spot };
    ellipse_share(radius_m, radius_m, &turned)
}

/// Distribution function of the non-central χ² with two degrees of freedom at `2x`, non-centrality `2m`: a product of
/// Poisson terms, `Σ_{i≥1} e^{−x} xⁱ/i! · Σ_{j<i} e^{−m} mʲ/j!`. All terms are positive, so that small shares keep
/// their digits. `x` below 100 and `m` below 600 keep the exponentials in range and the sum below 300 terms.
fn noncentral_share(x: f64, m: f64) -> f64 {
    let mut inner_term = (-m).exp();
    let mut inner_sum = inner_term;
    let mut outer_term = (-x).exp();
    let mut sum = 0.0;
    for i in 1..400 {
        let i = f64::from(i);
        outer_term *= x / i;
        let term = outer_term * inner_sum;
        sum += term;
        // Beyond the mode of the outer terms the rest is below twice the next term.
        if i > 2.0 * x && outer_term < 1e-17 * sum {
            break;
        }
        inner_term *= m / i;
        inner_sum += inner_term;
    }
    sum
}

/// Share inside an ellipse of half axes `along_m` and `across_m`, summed in strips along the tilt. With the strip at
/// `across_m · sin t` the integrand is even about its ends and smooth, so that the midpoint rule gains digits
/// exponentially with the number of strips: 5 + 7½ per spot radius leave about 10⁻¹². A spot below 1/2000 of the
/// ellipse is taken for one of that size, which bounds the work.
fn ellipse_share(along_m: f64, across_m: f64, spot: &Spot) -> f64 {
    let larger_m = along_m.max(across_m);
    let spot_m = spot.radius_m.max(larger_m / 2000.0);
    let strips_count = (5.0 + 7.5 * larger_m / spot_m).ceil() as u32;
    let step = PI / f64::from(strips_count);
    let mut sum = 0.0;
    for i in 0..strips_count {
        let (sine, cosine) = (step * (f64::from(i) + 0.5) - FRAC_PI_2).sin_cos();
        let distance = (across_m * sine - spot.offset_across_m) / spot_m;
        if distance.abs() < REACH {
            let density = (-2.0 * distance * distance).exp() * cosine;
            sum += density * interval_share(along_m * cosine, spot.offset_along_m, spot_m);
        }
    }
    sum * step * (2.0 / PI).sqrt() * across_m / spot_m
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::mostly;

    #[test]
    fn clear_areas_are_those_of_their_shapes() {
        let ring = Aperture::Ring { inner_radius_m: 0.3, outer_radius_m: 0.5 };
        assert!((ring.area_m2() - 0.502_654_8).abs() < 1e-6, "a ring is a disk less a disk");
        let frame = Aperture::Rectangle { half_width_m: 0.2, half_height_m: 0.1 };
        assert!((frame.area_m2() - 0.08).abs() < 1e-12);
        assert!((Aperture::Round { radius_m: 0.3 }.area_m2() - 0.282_743).abs() < 1e-6);
    }

    #[test]
    fn a_receiver_that_looks_away_takes_nothing() {
        let disc = Aperture::Round { radius_m: 0.1 };
        for (incidence_rad, taken) in [(FRAC_PI_2, false), (2.0, false), (PI, false), (1.5, true)] {
            let spot = Spot { incidence_rad, ..Spot::centred(0.1) };
            assert_eq!(disc.capture_ratio(&spot).unwrap() > 0.0, taken, "{incidence_rad}");
        }
    }

    #[test]
    fn a_ring_without_a_hole_is_a_disc() {
        let spot = Spot { offset_along_m: 0.03, ..Spot::centred(0.1) };
        let ring = Aperture::Ring { inner_radius_m: 0.0, outer_radius_m: 0.15 };
        let disc = Aperture::Round { radius_m: 0.15 };
        assert_eq!(ring.capture_ratio(&spot), disc.capture_ratio(&spot));
        let closed = Aperture::Ring { inner_radius_m: 0.15, outer_radius_m: 0.15 };
        assert_eq!(closed.capture_ratio(&spot), Ok(0.0));
    }

    #[test]
    fn series_and_strips_agree() {
        for (radius_m, offset_m, spot_m) in
            [(0.15, 0.05, 0.2), (0.15, 0.15, 0.1), (0.05, 0.3, 0.1), (0.3, 0.28, 0.06), (0.1, 0.0, 0.2)]
        {
            let spot = Spot { offset_across_m: offset_m, ..Spot::centred(spot_m) };
            let (x, m) = (2.0 * (radius_m / spot_m).powi(2), 2.0 * (offset_m / spot_m).powi(2));
            let (series, strips) = (noncentral_share(x, m), ellipse_share(radius_m, radius_m, &spot));
            assert!((series - strips).abs() < 1e-10, "{radius_m} {offset_m} {spot_m}: {series} {strips}");
        }
    }

    #[test]
    fn series_and_strips_meet_where_one_takes_over() {
        for offset_m in [0.6, 0.7, 0.8] {
            let at = |radius_m| {
                let spot = Spot { offset_across_m: offset_m, ..Spot::centred(0.1) };
                Aperture::Round { radius_m }.capture_ratio(&spot).unwrap()
            };
            // x = 100 at a radius of √50 · 0.1 m.
            let edge_m = 50.0_f64.sqrt() * 0.1;
            assert!((at(edge_m * (1.0 + 1e-12)) - at(edge_m * (1.0 - 1e-12))).abs() < 1e-10);
        }
    }

    #[test]
    fn a_spot_small_against_its_offset_is_in_or_out() {
        let disc = Aperture::Round { radius_m: 0.5 };
        let at =
            |offset_along_m| disc.capture_ratio(&Spot { offset_along_m, ..Spot::centred(1e-4) }).unwrap();
        assert!((at(0.49) - 1.0).abs() < 1e-9 && at(0.51) < 1e-9);
        assert!((at(0.5) - 0.5).abs() < 1e-4);
    }

    #[test]
    fn each_figure_out_of_range_is_refused() {
        let spot = Spot::centred(0.1);
        for bad in [
            Aperture::Round { radius_m: 0.0 },
            Aperture::Rectangle { half_width_m: f64::NAN, half_height_m: 0.1 },
            Aperture::Rectangle { half_width_m: 0.1, half_height_m: -0.1 },
            Aperture::Ring { inner_radius_m: 0.2, outer_radius_m: 0.1 },
        ] {
            assert!(bad.capture_ratio(&spot).is_err(), "{bad:?}");
        }
        let disc = Aperture::Round { radius_m: 0.1 };
        for bad in [
            Spot { radius_m: 0.0, ..spot },
            Spot { offset_along_m: f64::INFINITY, ..spot },
            Spot { offset_across_m: f64::NAN, ..spot },
            Spot { incidence_rad: -0.1, ..spot },
        ] {
            assert!(disc.capture_ratio(&bad).is_err(), "{bad:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6000))]

        #[test]
        fn prop_a_share_is_a_share(
            a_m in mostly(1e-3, 1.0),
            b_m in mostly(1e-3, 1.0),
            spot_m in mostly(1e-3, 2.0),
            along_m in mostly(-1.0, 1.0),
            across_m in mostly(-1.0, 1.0),
            incidence_rad in mostly(0.0, 1.6),
        ) {
            let spot =
                Spot { radius_m: spot_m, offset_along_m: along_m, offset_across_m: across_m, incidence_rad };
            for aperture in [
                Aperture::Round { radius_m: a_m },
                Aperture::Rectangle { half_width_m: a_m, half_height_m: b_m },
                Aperture::Ring { inner_radius_m: a_m.min(b_m), outer_radius_m: a_m.max(b_m) },
            ] {
                if let Ok(share) = aperture.capture_ratio(&spot) {
                    prop_assert!((0.0..=1.0).contains(&share), "{aperture:?} {spot:?} {share}");
                }
            }
        }

        #[test]
        fn prop_a_disc_lies_between_its_squares(
            radius_m in 0.01..1.0_f64,
            spot_m in 0.01..2.0_f64,
            along_m in -1.0..1.0_f64,
            across_m in -1.0..1.0_f64,
            incidence_rad in 0.0..1.5_f64,
        ) {
            let spot =
                Spot { radius_m: spot_m, offset_along_m: along_m, offset_across_m: across_m, incidence_rad };
            let square = |half_m| Aperture::Rectangle { half_width_m: half_m, half_height_m: half_m };
            let disc = Aperture::Round { radius_m }.capture_ratio(&spot).unwrap();
            prop_assert!(disc <= square(radius_m).capture_ratio(&spot).unwrap() + 1e-9);
            prop_assert!(disc >= square(radius_m / SQRT_2).capture_ratio(&spot).unwrap() - 1e-9);
        }

        #[test]
        fn prop_a_larger_disc_takes_more(
            radius_m in 0.01..1.0_f64,
            more_ratio in 1.0..2.0_f64,
            spot_m in 0.01..2.0_f64,
            offset_m in 0.0..1.0_f64,
            incidence_rad in 0.0..1.5_f64,
        ) {
            let spot = Spot { offset_along_m: offset_m, incidence_rad, ..Spot::centred(spot_m) };
            let at = |radius_m| Aperture::Round { radius_m }.capture_ratio(&spot).unwrap();
            prop_assert!(at(radius_m * more_ratio) >= at(radius_m) - 1e-9);
        }
    }
}
