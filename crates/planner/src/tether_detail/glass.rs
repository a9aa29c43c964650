//! Stress in the glass and what it may bear.

use beamstay_tether::{
    limits::{LoadDuration, bend_stress_pa, least_glass_bend_radius_m},
    material::SILICA_MODULUS_PA,
};
use serde::Serialize;

use crate::{
    error::{At, PlanError},
    point::TetherPoint,
    system::{System, line::TetherLine},
};

/// The glass.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GlassDetail {
    /// Its diameter, µm.
    pub diameter_um: f64,
    /// Its proof stress, MPa.
    pub proof_stress_mpa: f64,
    /// Tension at which the straight glass reaches the proof stress, N.
    pub tension_at_proof_n: f64,
    /// Where it is stressed.
    pub places: Vec<GlassPlace>,
    /// What it may bear, by how long.
    pub allowed: Vec<AllowedStress>,
}

/// Stress in the glass at one place: pull and bend add at its outer side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GlassPlace {
    /// Where.
    pub place: &'static str,
    /// Bend radius there in the mean wind, mm.
    pub bend_radius_mm: f64,
    /// Stress by the pull in the mean wind, MPa.
    pub axial_mpa: f64,
    /// Stress by the bend in the mean wind, MPa.
    pub bend_mpa: f64,
    /// Both in the mean wind, MPa.
    pub total_mpa: f64,
    /// Both in the gust, MPa.
    pub in_gust_mpa: f64,
}

/// Allowed stress by how long it lasts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AllowedStress {
    /// How long: seconds, hours, years, counted over all flights.
    pub duration: &'static str,
    /// What of the plan is held against it.
    pub counts_for: &'static str,
    /// Share of the proof stress.
    pub share_of_proof_ratio: f64,
    /// Stress, MPa.
    pub stress_mpa: f64,
    /// Tension at which the straight glass reaches it, N.
    pub straight_tension_n: f64,
    /// Least bend radius without pull, mm.
    pub least_bend_radius_mm: f64,
    /// Where the share comes from, and how it is known.
    pub source: &'static str,
}

pub(super) fn glass(
    system: &System,
    line: &TetherLine,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Result<Option<GlassDetail>, PlanError> {
    if line.glass_diameter_m <= 0.0 {
        return Ok(None);
    }
    Ok(Some(GlassDetail {
        diameter_um: 1e6 * line.glass_diameter_m,
        proof_stress_mpa: 1e-6 * line.proof_stress_pa,
        tension_at_proof_n: line.proof_stress_pa * tension_per_pa(line),
        places: places(system, line, mean, gust)?,
        allowed: allowed(line)?,
    }))
}

/// Tension of the line over stress in its glass, m².
fn tension_per_pa(line: &TetherLine) -> f64 {
    line.axial_stiffness_n / SILICA_MODULUS_PA
}

/// Where the glass is stressed.
fn places(
    system: &System,
    line: &TetherLine,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Result<Vec<GlassPlace>, PlanError> {
    let sheave_m = 1e-3 * system.limits.sheave_radius_mm;
    let drum_m = line.winding.innermost_bend_radius_m();
    let spots = [
        ("innermost on the drum", (drum_m, mean.drum_tension_n), (drum_m, gust.drum_tension_n)),
        ("sheave at the drum", (sheave_m, mean.drum_tension_n), (sheave_m, gust.drum_tension_n)),
        ("outlet at the vehicle", (sheave_m, mean.top_tension_n), (sheave_m, gust.top_tension_n)),
        (
            "in the air",
            (mean.min_bend_radius_m, mean.max_tension_n),
            (gust.min_bend_radius_m, gust.max_tension_n),
        ),
    ];
    let bend_mpa = |radius_m: f64| -> Result<f64, PlanError> {
        Ok(1e-6 * bend_stress_pa(line.glass_diameter_m, radius_m).at("/limits/sheave_radius_mm")?)
    };
    let axial_mpa = |tension_n: f64| 1e-6 * line.glass_stress_pa(tension_n);
    let mut places = Vec::with_capacity(spots.len());
    for (place, in_mean, in_gust) in spots {
        let (axial, bend) = (axial_mpa(in_mean.1), bend_mpa(in_mean.0)?);
        places.push(GlassPlace {
            place,
            bend_radius_mm: 1e3 * in_mean.0,
            axial_mpa: axial,
            bend_mpa: bend,
            total_mpa: axial + bend,
            in_gust_mpa: axial_mpa(in_gust.1) + bend_mpa(in_gust.0)?,
        });
    }
    Ok(places)
}

/// What the glass may bear, by how long.
fn allowed(line: &TetherLine) -> Result<Vec<AllowedStress>, PlanError> {
    let mut allowed = Vec::with_capacity(3);
    for (duration, words, source) in [
        (LoadDuration::Seconds, "seconds", "Glaesemann and Gulati 1991 and later notes; from memory"),
        (LoadDuration::Hours, "hours", "Glaesemann and Gulati 1991 and later notes; from memory"),
        (LoadDuration::Years, "years", "AEN 21 rev. 6, 2006; NASA GSFC, safety coefficient 5; both seen"),
    ] {
        let share = duration.allowed_fraction_of_proof();
        let stress_pa = share * line.proof_stress_pa;
        let least_m = least_glass_bend_radius_m(0.0, line.glass_diameter_m, line.proof_stress_pa, duration)
            .at("/delivery/fiber/proof_stress_mpa")?;
        allowed.push(AllowedStress {
            duration: words,
            counts_for: counts_for(duration, line.duration),
            share_of_proof_ratio: share,
            stress_mpa: 1e-6 * stress_pa,
            straight_tension_n: stress_pa * tension_per_pa(line),
            least_bend_radius_mm: 1e3 * least_m.unwrap_or(f64::MAX),
            source,
        });
    }
    Ok(allowed)
}

/// What of a plan is held against the stress for a duration, the mean wind counting as `mean`.
fn counts_for(duration: LoadDuration, mean: LoadDuration) -> &'static str {
    match duration {
        LoadDuration::Seconds => "the gust",
        LoadDuration::Years if mean == LoadDuration::Years => "the mean wind and the drum",
        LoadDuration::Years => "the drum",
        LoadDuration::Hours if mean == LoadDuration::Hours => "the mean wind",
        LoadDuration::Hours => "",
    }
}
