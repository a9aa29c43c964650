//! Equal cells in series under uneven light: the real current-voltage curve of the string, each cell at the common
//! current, not the weakest cell alone.

use std::f64::consts::PI;

use beamstay_numerics::{domain::in_range, quadrature::GaussLegendre};

use super::diode::{Junction, PowerPoint, bracketed_newton};
use crate::OpticsError;

/// Most cells of an uneven string.
pub const MAX_UNEVEN_CELLS: usize = 64;

/// How the light is shared among the cells of a string; the shares sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    share_ratio: [f64; MAX_UNEVEN_CELLS],
    cells_count: usize,
}

impl Shares {
    /// Shares in proportion to `weights` (1 to 64 of them, 0 to 1e9 each, not all 0).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for a count or a weight outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::string::Shares;
    /// let shares = Shares::in_proportion(&[1.0, 1.0, 2.0])?;
    /// assert_eq!(shares.ratios(), &[0.25, 0.25, 0.5]);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn in_proportion(weights: &[f64]) -> Result<Self, OpticsError> {
        in_range("cells of an uneven string", "", weights.len() as f64, 1.0, MAX_UNEVEN_CELLS as f64)?;
        for weight in weights {
            in_range("share of the light", "", *weight, 0.0, 1e9)?;
        }
        let sum = in_range("sum of the shares of the light", "", weights.iter().sum(), 1e-9, 1e12)?;
        let mut share_ratio = [0.0; MAX_UNEVEN_CELLS];
        for (share, weight) in share_ratio.iter_mut().zip(weights) {
            *share = weight / sum;
        }
        Ok(Self { share_ratio, cells_count: weights.len() })
    }

    /// Sectors of a round cell of `cell_radius_m` under a Gaussian spot of 1/e² radius `spot_radius_m` whose centre is
    /// `offset_m` off the middle, towards the middle of the first sector. Light outside the cell is not counted: see
    /// [`captured_ratio`].
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for 2 to 64 sectors, radii 1 nm to 1 km, offset 0 to 100 spot radii.
    pub fn pie_sectors(
        sectors_count: usize,
        cell_radius_m: f64,
        spot_radius_m: f64,
        offset_m: f64,
    ) -> Result<Self, OpticsError> {
        let fractions = pie_fractions(sectors_count, cell_radius_m, spot_radius_m, offset_m)?;
        Self::in_proportion(&fractions[..sectors_count])
    }

    /// The shares.
    pub fn ratios(&self) -> &[f64] {
        &self.share_ratio[..self.cells_count]
    }

    /// Share of the weakest cell.
    pub fn weakest_ratio(&self) -> f64 {
        self.ratios().iter().copied().fold(f64::INFINITY, f64::min)
    }
}

/// Fraction of the beam that each sector of a round cell catches: the radial integral in closed form, Gauss-Legendre over
/// the angle. Arguments as [`Shares::pie_sectors`]; entries beyond `sectors_count` are 0.
///
/// # Errors
/// As [`Shares::pie_sectors`].
///
/// # Examples
/// A tenth of the spot radius off the middle costs a fifth of the weakest sector of four (SciPy's `dblquad`: 0.78169848):
/// ```
/// use beamstay_optics::receiver::string::pie_fractions;
/// let fractions = pie_fractions(4, 1.5e-3, 1e-3, 0.1e-3)?;
/// let weakest = fractions[..4].iter().copied().fold(f64::MAX, f64::min);
/// assert!((4.0 * weakest - 0.781_698_48).abs() < 1e-8);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn pie_fractions(
    sectors_count: usize,
    cell_radius_m: f64,
    spot_radius_m: f64,
    offset_m: f64,
) -> Result<[f64; MAX_UNEVEN_CELLS], OpticsError> {
    in_range("sectors of a cell", "", sectors_count as f64, 2.0, MAX_UNEVEN_CELLS as f64)?;
    in_range("cell radius", "m", cell_radius_m, 1e-9, 1e3)?;
    in_range("spot radius", "m", spot_radius_m, 1e-9, 1e3)?;
    in_range("offset of the spot", "m", offset_m, 0.0, 100.0 * spot_radius_m)?;
    let rule = GaussLegendre::<48>::new();
    let (radius, offset) = (cell_radius_m / spot_radius_m, offset_m / spot_radius_m);
    let half_angle = PI / sectors_count as f64;
    let mut fractions = [0.0; MAX_UNEVEN_CELLS];
    for (index, fraction) in fractions[..sectors_count].iter_mut().enumerate() {
        let middle = 2.0 * half_angle * index as f64;
        let along = |angle: f64| along_ray(radius, offset, angle);
        // Halved, because the light of a narrow spot falls off fast to both sides of the middle of the first sector.
        *fraction = rule.integrate(along, middle - half_angle, middle)
            + rule.integrate(along, middle, middle + half_angle);
    }
    Ok(fractions)
}

/// Power per angle along a ray from the cell's middle out to `radius`, over the beam's power; lengths in spot radii.
/// ∫ (2/π) exp(−2(r² + d² − 2rd cos θ)) r dr, completed to a square.
fn along_ray(radius: f64, offset: f64, angle: f64) -> f64 {
    let near = offset * angle.cos();
    let far = radius - near;
    let peak = (-2.0 * offset * offset).exp();
    // exp(2·near²) may be large where `peak` is small: keep the two exponents together.
    let lifted = |x: f64| (-2.0 * x * x + 2.0 * near * near - 2.0 * offset * offset).exp();
    let edge = 0.25 * (peak - lifted(far));
    let root2 = std::f64::consts::SQRT_2;
    let bulk =
        near * lifted(0.0) * 0.5 * (PI / 2.0).sqrt() * (libm::erf(root2 * far) + libm::erf(root2 * near));
    2.0 / PI * (edge + bulk)
}

/// Cells in series, each with its own light, at one temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnevenString<'a> {
    pub(super) cell: Junction,
    pub(super) photocurrent_a: f64,
    pub(super) shares: &'a Shares,
}

impl UnevenString<'_> {
    /// Voltage of the string at a current and its derivative.
    fn voltage(&self, current_a: f64) -> (f64, f64) {
        let (mut voltage_v, mut slope_ohm) = (0.0, 0.0);
        for share in self.shares.ratios() {
            let (junction_v, dark) = self.cell.voltage_for_dark(self.photocurrent_a * share - current_a);
            voltage_v += junction_v - current_a * self.cell.series_ohm;
            slope_ohm -= 1.0 / dark.slope_s + self.cell.series_ohm;
        }
        (voltage_v, slope_ohm)
    }

    fn point(&self, current_a: f64) -> PowerPoint {
        let (voltage_v, _) = self.voltage(current_a);
        PowerPoint { voltage_v, current_a, power_w: voltage_v * current_a }
    }

    /// The point of largest power. Voltage falls and is concave in the current, so power has one maximum.
    pub(super) fn maximum_power(&self) -> PowerPoint {
        self.point(self.current_at_maximum())
    }

    fn current_at_maximum(&self) -> f64 {
        let brightest = self.shares.ratios().iter().copied().fold(0.0, f64::max);
        let largest_a = self.photocurrent_a * brightest;
        let guess_a = 0.95 * self.photocurrent_a * self.shares.weakest_ratio();
        // Slope of power, turned to rise; its own derivative by the change of the voltage's slope is not needed: a
        // secant through a close neighbour is as good for the steps.
        let falling = |current_a: f64| {
            let (voltage_v, slope_ohm) = self.voltage(current_a);
            -(voltage_v + current_a * slope_ohm)
        };
        let step_a = 1e-6 * largest_a;
        bracketed_newton(
            |current_a| {
                let here = falling(current_a);
                (here, (falling(current_a + step_a) - here) / step_a)
            },
            0.0,
            largest_a,
            guess_a,
            1e-9 * largest_a,
        )
    }

    /// The point on the high-voltage side of the maximum that gives `power_w`; the maximum itself if that is less.
    pub(super) fn point_at_power(&self, power_w: f64) -> PowerPoint {
        let best_a = self.current_at_maximum();
        let best = self.point(best_a);
        if best.power_w.is_nan() || power_w >= best.power_w {
            return best;
        }
        let wanted_w = power_w.max(0.0);
        let current_a = bracketed_newton(
            |current_a| {
                let (voltage_v, slope_ohm) = self.voltage(current_a);
                (voltage_v * current_a - wanted_w, voltage_v + current_a * slope_ohm)
            },
            0.0,
            best_a,
            best_a * wanted_w / best.power_w,
            1e-12 * best_a,
        );
        self.point(current_a)
    }
}
