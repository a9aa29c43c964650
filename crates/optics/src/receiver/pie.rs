//! A round cell cut into sectors under a Gaussian spot that is off the middle.

use std::f64::consts::{PI, SQRT_2};

use beamstay_numerics::{domain::in_range, quadrature::GaussLegendre};

use super::string::MAX_UNEVEN_CELLS;
use crate::OpticsError;

/// Fraction of the beam that each sector of a round cell of `cell_radius_m` (1 nm to 1 km) catches from a Gaussian spot
/// of 1/e² radius `spot_radius_m` (1 nm to 1 km) whose centre is `offset_m` (0 to 100 spot radii) off the middle, towards
/// the middle of the first sector: the radial integral in closed form, Gauss-Legendre over the angle. 2 to 64 sectors;
/// entries beyond `sectors_count` are 0. What the sectors leave of 1 falls beside the cell. Absolute error below 1e-9 for
/// offsets up to three spot radii, below 1e-4 at any.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// A tenth of the spot radius off the middle costs a fifth of the weakest sector of four (SciPy's `dblquad`: 0.78169848):
/// ```
/// use beamstay_optics::receiver::pie::pie_fractions;
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
        let both = rule.integrate(along, middle - half_angle, middle)
            + rule.integrate(along, middle, middle + half_angle);
        *fraction = both.clamp(0.0, 1.0);
    }
    Ok(fractions)
}

/// Power per angle along a ray from the cell's middle out to `radius`, over the beam's power; lengths in spot radii:
/// `∫ (2/π)·exp(−2(r² + d² − 2rd·cos θ))·r dr`, completed to a square.
fn along_ray(radius: f64, offset: f64, angle: f64) -> f64 {
    let near = offset * angle.cos();
    let far = radius - near;
    let peak = (-2.0 * offset * offset).exp();
    // exp(2·near²) may be large where `peak` is small: keep the two exponents together.
    let lifted = |x: f64| (-2.0 * x * x + 2.0 * near * near - 2.0 * offset * offset).exp();
    let edge = 0.25 * (peak - lifted(far));
    let bulk =
        near * lifted(0.0) * 0.5 * (PI / 2.0).sqrt() * (libm::erf(SQRT_2 * far) + libm::erf(SQRT_2 * near));
    2.0 / PI * (edge + bulk)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Light of an offset Gaussian on a circle by direct summation of thin rings and slices.
    fn by_summation(sectors_count: usize, radius: f64, offset: f64, sector: usize) -> f64 {
        let (rings, slices) = (400, 400);
        let width = 2.0 * PI / sectors_count as f64;
        let start = (sector as f64 - 0.5) * width;
        let mut sum = 0.0;
        for i in 0..rings {
            let r = radius * (i as f64 + 0.5) / rings as f64;
            for j in 0..slices {
                let angle = start + width * (j as f64 + 0.5) / slices as f64;
                let squared = r * r + offset * offset - 2.0 * r * offset * angle.cos();
                sum += (-2.0 * squared).exp() * r;
            }
        }
        2.0 / PI * sum * radius / rings as f64 * width / slices as f64
    }

    #[test]
    fn every_sector_agrees_with_direct_summation() {
        for (sectors, radius, offset) in [(4, 1.5, 0.3), (6, 1.0, 1.2), (3, 2.0, 0.0)] {
            let fractions = pie_fractions(sectors, radius, 1.0, offset).unwrap();
            for (sector, fraction) in fractions[..sectors].iter().enumerate() {
                let summed = by_summation(sectors, radius, offset, sector);
                assert!((fraction - summed).abs() < 1e-5, "{sectors} {sector}: {fraction} {summed}");
            }
        }
    }

    #[test]
    fn far_spots_and_tiny_cells_stay_fractions() {
        for (radius, offset) in [(1e-6, 0.0), (1e3, 100.0), (10.0, 100.0), (100.0, 99.0), (1e-3, 50.0)] {
            let fractions = pie_fractions(8, radius, 1.0, offset).unwrap();
            let sum: f64 = fractions.iter().sum();
            assert!((0.0..=1.0 + 1e-4).contains(&sum), "{radius} {offset}: {sum}");
        }
        assert!(pie_fractions(1, 1.0, 1.0, 0.0).is_err());
        assert!(pie_fractions(65, 1.0, 1.0, 0.0).is_err());
        assert!(pie_fractions(4, 1.0, 1.0, 100.1).is_err());
    }

    #[test]
    fn sectors_of_a_centred_spot_are_equal_and_mirror_images_of_an_offset_one() {
        let centred = pie_fractions(6, 1.5, 1.0, 0.0).unwrap();
        for fraction in &centred[..6] {
            // 1 − exp(−2a²/w²) of the beam falls on the cell.
            assert!((6.0 * fraction - 0.988_891_003_5).abs() < 1e-10);
        }
        let offset = pie_fractions(6, 1.5, 1.0, 0.4).unwrap();
        assert!((offset[1] - offset[5]).abs() < 1e-14 && (offset[2] - offset[4]).abs() < 1e-14);
    }
}
