//! Share of a Gaussian spot that an aperture takes: round, rectangular or ring, with offset and incidence.

use std::{
    f64::consts::{FRAC_PI_2, PI, SQRT_2},
    sync::LazyLock,
};

use beamstay_numerics::{domain::in_range, quadrature::GaussLegendre};
use libm::{erf, erfc};

use crate::OpticsError;

/// Quadrature over one panel of strips.
static STRIPS: LazyLock<GaussLegendre<24>> = LazyLock::new(GaussLegendre::new);

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
/// `across_m · sin t` the integrand is smooth to its ends. Panels are no longer than the strip's end takes to move
/// by a few spot radii.
fn ellipse_share(along_m: f64, across_m: f64, spot: &Spot) -> f64 {
    let reach_m = REACH * spot.radius_m;
    let from = ((spot.offset_across_m - reach_m) / across_m).clamp(-1.0, 1.0).asin();
    let to = ((spot.offset_across_m + reach_m) / across_m).clamp(-1.0, 1.0).asin();
    if to <= from {
        return 0.0;
    }
    let strip = |t: f64| {
        let (sine, cosine) = t.sin_cos();
        let distance = (across_m * sine - spot.offset_across_m) / spot.radius_m;
        let density = (-2.0 * distance * distance).exp() * cosine;
        density * interval_share(along_m * cosine, spot.offset_along_m, spot.radius_m)
    };
    let longest = 3.0 * spot.radius_m / along_m.max(across_m);
    let panels_count = ((to - from) / longest).ceil().clamp(1.0, 200.0);
    let panel = (to - from) / panels_count;
    let sum: f64 = (0..panels_count as u32)
        .map(|i| {
            let start = from + f64::from(i) * panel;
            STRIPS.integrate(strip, start, start + panel)
        })
        .sum();
    sum * (2.0 / PI).sqrt() * across_m / spot.radius_m
}
