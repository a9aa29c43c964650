//! The way of the light from the laser to the receiver: through a fiber, or through the air.

use std::f64::consts::PI;

use beamstay_optics::{
    Itemised, OpticsError,
    beam::{
        Air, Aperture, Beam, BeamRun, Facing, Focus, FreeBeamParts, FreeBeamPath, Loiter, SpreadModel,
        Turbulence, VisibilityModel,
        geometry::{Sight, sight},
    },
    fiber::{FiberPath, FiberRun},
};

use crate::{
    error::{At, PlanError},
    scenario,
    system::{Place, craft::Craft},
};

/// The way of the light.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Route {
    /// Through a fiber; the same wherever the vehicle is.
    Fiber {
        /// The parts.
        path: Box<FiberPath>,
        /// Wavelength, lengths and bend, with nothing on the drum.
        run: FiberRun,
        /// What passes.
        passes: Passes,
    },
    /// Through the air.
    Beam {
        /// The parts.
        path: Box<FreeBeamPath>,
        /// Wavelength, m.
        wavelength_m: f64,
        /// How the receiver is mounted.
        facing: Facing,
    },
}

/// What passes of the emitted light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passes {
    /// Light behind the launch over emitted light.
    pub launch_ratio: f64,
    /// Arriving over emitted light.
    pub path_ratio: f64,
    /// The beam's sight, if it is one.
    pub sight: Option<BeamSight>,
    /// What passes along a circle, if one is flown; the rest is then where the least arrives.
    pub orbit: Option<OrbitShares>,
}

/// Arriving over emitted light along a circle: least, means over equal times, most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrbitShares {
    /// Least.
    pub least_ratio: f64,
    /// Mean: what a steady laser brings.
    pub mean_ratio: f64,
    /// Harmonic mean: what a laser that follows a demand brings of its mean power.
    pub harmonic_ratio: f64,
    /// Most.
    pub most_ratio: f64,
}

/// Places on half a circle that is symmetric about the plane through the laser: 7.5° apart, so that the extremes are met to
/// 0.2 % of half their spread.
const HALF_CIRCLE_PLACES_COUNT: u32 = 25;

/// How a free beam meets the receiver; along a circle, where the least light arrives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamSight {
    /// The way, m.
    pub range_m: f64,
    /// Angle to the receiver's normal, rad.
    pub incidence_rad: f64,
    /// Elevation of the beam over the horizontal, the lowest along a circle, rad.
    pub elevation_rad: f64,
    /// Light that comes to the receiver's place but passes beside it, over emitted light; the most along a circle.
    pub spill_ratio: f64,
}

impl Route {
    /// Through a fiber.
    pub fn fiber(path: FiberPath, run: FiberRun) -> Result<Self, PlanError> {
        let passes = Passes {
            launch_ratio: path.fiber_input_ratio(run.wavelength_m).at("/delivery/fiber/launch")?,
            path_ratio: path.transmission_ratio(&run).at("/delivery/fiber")?,
            sight: None,
            orbit: None,
        };
        Ok(Self::Fiber { path: Box::new(path), run, passes })
    }

    /// Through the air onto a receiver.
    pub fn beam(
        beam: &scenario::FreeBeam,
        receiver: &scenario::Receiver,
        wavelength_m: f64,
    ) -> Result<Self, PlanError> {
        let aperture = receiver
            .aperture
            .as_ref()
            .ok_or_else(|| PlanError::needs("/receiver", "a free beam", "\"aperture\" in receiver"))?;
        let air = Air {
            visibility_m: 1e3 * beam.visibility_km,
            model: match beam.visibility_model {
                scenario::VisibilityModel::Larger => VisibilityModel::Larger,
                scenario::VisibilityModel::Kruse => VisibilityModel::Kruse,
                scenario::VisibilityModel::Kim => VisibilityModel::Kim,
            },
            gas_db_per_km: beam.gas_absorption_db_per_km,
        };
        let parts = FreeBeamParts {
            beam: Beam {
                launch_radius_m: 1e-3 * beam.beam_radius_mm,
                beam_quality_m2_ratio: beam.beam_quality_m2,
                focus: match beam.focus {
                    scenario::Focus::AtAperture => Focus::Collimated,
                    scenario::Focus::AtReceiver => Focus::AtReceiver,
                },
                aperture_radius_m: Some(5e-4 * beam.aperture_diameter_mm),
            },
            director_loss_db: beam.optics_loss_db,
            air,
            turbulence: Turbulence {
                structure_constant_m_2_3: beam.structure_constant_m_2_3,
                spread: match beam.turbulence_model {
                    scenario::TurbulenceModel::Larger => SpreadModel::Larger,
                    scenario::TurbulenceModel::AndrewsPhillips => SpreadModel::AndrewsPhillips,
                    scenario::TurbulenceModel::CoherenceLength => SpreadModel::CoherenceLength,
                },
            },
            pointing_jitter_rad: 1e-6 * beam.pointing_jitter_urad,
            receiver: clear_area(aperture),
        };
        let path = FreeBeamPath::new(parts).at("/delivery/free_beam")?;
        let facing = match receiver.facing {
            scenario::Facing::Down => Facing::Down,
            scenario::Facing::Gimballed { max_angle_deg } => {
                Facing::Gimballed { max_angle_rad: max_angle_deg.to_radians() }
            }
        };
        Ok(Self::Beam { path: Box::new(path), wavelength_m, facing })
    }

    /// Wavelength, m.
    pub fn wavelength_m(&self) -> f64 {
        match self {
            Self::Fiber { run, .. } => run.wavelength_m,
            Self::Beam { wavelength_m, .. } => *wavelength_m,
        }
    }

    /// What passes with the vehicle at a place, its own up along `up`.
    pub fn passes(
        &self,
        place: &Place,
        craft: &Craft,
        up: [f64; 3],
        bank_rad: f64,
    ) -> Result<Passes, OpticsError> {
        let (path, wavelength_m, facing) = match self {
            Self::Fiber { passes, .. } => return Ok(*passes),
            Self::Beam { path, wavelength_m, facing } => (path, *wavelength_m, *facing),
        };
        let p = place.position_m;
        let Some(radius_m) = craft.circle_radius_m() else {
            return seen(path, wavelength_m, sight([p.x, p.y, p.z], up, facing)?);
        };
        let circle = Loiter {
            centre_distance_m: p.x.hypot(p.y),
            height_m: p.z,
            radius_m,
            bank_rad: bank_rad.clamp(0.0, 0.49 * PI),
            facing,
        };
        over_circle(path, wavelength_m, &circle)
    }

    /// Share of the light that passes a fiber, wherever the vehicle is; none for a free beam.
    pub(crate) fn fiber_path_ratio(&self) -> Option<f64> {
        match self {
            Self::Fiber { passes, .. } => Some(passes.path_ratio),
            Self::Beam { .. } => None,
        }
    }

    /// Largest temperature of the coating of a fiber, K; none for a free beam.
    pub(crate) fn coating_limit_k(&self) -> Option<f64> {
        match self {
            Self::Fiber { path, .. } => Some(path.parts().fiber.coating_temp_limit_k),
            Self::Beam { .. } => None,
        }
    }

    /// The light stage by stage, with `wound_m` of fiber on the drum.
    pub fn itemise(
        &self,
        source_w: f64,
        wound_m: f64,
        sight: Option<BeamSight>,
    ) -> Result<Itemised, OpticsError> {
        match (self, sight) {
            (Self::Fiber { path, run, .. }, _) => {
                path.itemise(source_w, &FiberRun { wound_length_m: wound_m, ..*run })
            }
            (Self::Beam { path, wavelength_m, .. }, Some(sight)) => {
                let mut run = BeamRun::facing(*wavelength_m, sight.range_m);
                run.incidence_rad = sight.incidence_rad;
                path.itemise(source_w, &run)
            }
            (Self::Beam { path, wavelength_m, .. }, None) => {
                path.itemise(source_w, &BeamRun::facing(*wavelength_m, 1.0))
            }
        }
    }
}

/// What passes at one sight.
fn seen(path: &FreeBeamPath, wavelength_m: f64, sight: Sight) -> Result<Passes, OpticsError> {
    let mut run = BeamRun::facing(wavelength_m, sight.range_m);
    run.incidence_rad = sight.incidence_rad;
    let path_ratio = path.transmission_ratio(&run)?;
    Ok(Passes {
        launch_ratio: path.parts().beam.truncation_ratio(),
        path_ratio,
        sight: Some(BeamSight {
            range_m: sight.range_m,
            incidence_rad: sight.incidence_rad,
            elevation_rad: sight.elevation_rad,
            spill_ratio: path.arriving_ratio(&run)? - path_ratio,
        }),
        orbit: None,
    })
}

/// What passes along a circle: limits are for its worst place, a real one, energy for its mean.
fn over_circle(path: &FreeBeamPath, wavelength_m: f64, circle: &Loiter) -> Result<Passes, OpticsError> {
    let steps_count = HALF_CIRCLE_PLACES_COUNT - 1;
    let mut worst = seen(path, wavelength_m, circle.at(0.0)?)?;
    let (mut lowest_rad, mut spill_ratio) =
        worst.sight.map_or((0.0, 0.0), |s| (s.elevation_rad, s.spill_ratio));
    let mut most_ratio = worst.path_ratio;
    // Trapezium rule of a periodic function: the two ends of the half circle count half.
    let mut sum = 0.5 * worst.path_ratio;
    let mut inverse_sum = 0.5 / worst.path_ratio;
    // Round the laser itself every place sees the same.
    let last = if circle.centre_distance_m == 0.0 { 0 } else { steps_count };
    for step in 1..=last {
        let here = seen(path, wavelength_m, circle.at(PI * f64::from(step) / f64::from(steps_count))?)?;
        let weight = if step == steps_count { 0.5 } else { 1.0 };
        sum += weight * here.path_ratio;
        inverse_sum += weight / here.path_ratio;
        most_ratio = most_ratio.max(here.path_ratio);
        if let Some(sight) = here.sight {
            lowest_rad = lowest_rad.min(sight.elevation_rad);
            spill_ratio = spill_ratio.max(sight.spill_ratio);
        }
        if here.path_ratio < worst.path_ratio {
            worst = here;
        }
    }
    let weights = if last == 0 { 0.5 } else { f64::from(steps_count) };
    let least_ratio = worst.path_ratio;
    let within = |ratio: f64| ratio.clamp(least_ratio, most_ratio);
    worst.orbit = Some(OrbitShares {
        least_ratio,
        mean_ratio: within(sum / weights),
        harmonic_ratio: within(if least_ratio > 0.0 { weights / inverse_sum } else { 0.0 }),
        most_ratio,
    });
    worst.sight = worst.sight.map(|sight| BeamSight { elevation_rad: lowest_rad, spill_ratio, ..sight });
    Ok(worst)
}

/// The clear area of a receiver's aperture.
pub(crate) fn clear_area(aperture: &scenario::Aperture) -> Aperture {
    match *aperture {
        scenario::Aperture::Round { diameter_m } => Aperture::Round { radius_m: 0.5 * diameter_m },
        scenario::Aperture::Square { side_m } => {
            Aperture::Rectangle { half_width_m: 0.5 * side_m, half_height_m: 0.5 * side_m }
        }
        scenario::Aperture::Ring { outer_diameter_m, inner_diameter_m } => {
            Aperture::Ring { inner_radius_m: 0.5 * inner_diameter_m, outer_radius_m: 0.5 * outer_diameter_m }
        }
    }
}
