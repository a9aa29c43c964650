//! Chord and twist along the blade, turned into the annuli that the solver works on.

use std::f64::consts::{FRAC_PI_2, PI};

use beamstay_numerics::{domain::in_range, interpolate::TableError, quadrature::GaussLegendre};

use crate::error::RotorError;

use super::section::{REFERENCE_REYNOLDS, Section};

/// Annuli per blade (Gauss-Legendre points between the first station and the tip).
pub(crate) const ELEMENT_COUNT: usize = 12;
/// Closest that a point may come to hub or tip, as a share of the radius; keeps the loss factors positive.
const LEAST_GAP: f64 = 1e-6;

/// One measured place on the blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BladeStation {
    /// Distance from the axis over the tip radius, above 0 to 1.
    pub radius_ratio: f64,
    /// Chord over the tip radius, 0.001 to 2.
    pub chord_ratio: f64,
    /// Angle between chord and disk plane, rad, −π/2 to π/2, positive nose to the suction side.
    pub pitch_rad: f64,
}

/// One annulus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Element {
    pub radius_m: f64,
    pub chord_m: f64,
    pub pitch_rad: f64,
    /// Length of blade that the point stands for, times the number of blades, m.
    pub span_m: f64,
    /// B c/(2π r).
    pub solidity: f64,
    /// Exponents of Prandtl's loss factors times |sin φ|.
    pub tip_exponent: f64,
    pub root_exponent: f64,
    /// Share of lost lift that rotation gives back.
    pub rotation_share: f64,
    /// (10⁵/(r c))^n, so that the Reynolds factor of a speed needs one power per rotor.
    pub drag_growth: f64,
}

/// Cuts a blade into annuli.
pub(crate) fn elements(
    stations: &[BladeStation],
    blade_count: u32,
    tip_radius_m: f64,
    section: &Section,
) -> Result<Vec<Element>, RotorError> {
    check(stations)?;
    let root = stations[0].radius_ratio;
    let rule = GaussLegendre::<ELEMENT_COUNT>::new();
    let (middle, half) = (0.5 * (1.0 + root), 0.5 * (1.0 - root));
    let blades = f64::from(blade_count);
    let element = |(x, weight): (&f64, &f64)| {
        let ratio = middle + half * x;
        let (chord_ratio, pitch_rad) = interpolate(stations, ratio);
        let (radius_m, chord_m) = (ratio * tip_radius_m, chord_ratio * tip_radius_m);
        Element {
            radius_m,
            chord_m,
            pitch_rad,
            span_m: blades * half * weight * tip_radius_m,
            solidity: blades * chord_m / (2.0 * PI * radius_m),
            tip_exponent: 0.5 * blades * (1.0 - ratio).max(LEAST_GAP) / ratio,
            root_exponent: 0.5 * blades * (ratio - root).max(LEAST_GAP) / ratio,
            rotation_share: section.rotation_share(chord_m / radius_m),
            drag_growth: (REFERENCE_REYNOLDS / (radius_m * chord_m)).powf(section.drag_exponent),
        }
    };
    Ok(rule.nodes().iter().zip(rule.weights()).map(element).collect())
}

fn check(stations: &[BladeStation]) -> Result<(), RotorError> {
    let table = "blade stations";
    if stations.len() < 2 {
        let cause = TableError::Length { x_count: stations.len(), y_count: stations.len() };
        return Err(RotorError::Table { table, cause });
    }
    for (row, station) in stations.iter().enumerate() {
        in_range("radius of a blade station", "", station.radius_ratio, 0.01, 1.0)?;
        in_range("chord of a blade station over radius", "", station.chord_ratio, 1e-3, 2.0)?;
        in_range("pitch of a blade station", "rad", station.pitch_rad, -FRAC_PI_2, FRAC_PI_2)?;
        if row > 0 && station.radius_ratio <= stations[row - 1].radius_ratio {
            return Err(RotorError::Table { table, cause: TableError::NotRising { row } });
        }
    }
    in_range("radius of the first blade station", "", stations[0].radius_ratio, 0.01, 0.8)?;
    in_range("radius of the last blade station", "", stations[stations.len() - 1].radius_ratio, 0.9, 1.0)?;
    Ok(())
}

/// Chord over radius and pitch by straight lines; the last station is held to the tip.
pub(crate) fn interpolate(stations: &[BladeStation], ratio: f64) -> (f64, f64) {
    let last = stations.len() - 1;
    let i = stations.partition_point(|s| s.radius_ratio <= ratio).clamp(1, last);
    let (a, b) = (&stations[i - 1], &stations[i]);
    let t = ((ratio - a.radius_ratio) / (b.radius_ratio - a.radius_ratio)).clamp(0.0, 1.0);
    (a.chord_ratio + t * (b.chord_ratio - a.chord_ratio), a.pitch_rad + t * (b.pitch_rad - a.pitch_rad))
}
