//! The way of the light from the laser to the receiver: through a fiber, or through the air.

use std::f64::consts::PI;

use beamstay_optics::{
    Itemised, OpticsError,
    beam::{
        Air, Aperture, Beam, BeamRun, Facing, Focus, FreeBeamParts, FreeBeamPath, Loiter, SpreadModel,
        Turbulence, VisibilityModel, geometry::sight,
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
}

/// How a free beam meets the receiver, at its worst along a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamSight {
    /// The way, m.
    pub range_m: f64,
    /// Angle to the receiver's normal, rad.
    pub incidence_rad: f64,
    /// Elevation of the beam over the horizontal, the lowest along a circle, rad.
    pub elevation_rad: f64,
    /// Light that comes to the receiver's place but passes beside it, over emitted light.
    pub spill_ratio: f64,
}

impl Route {
    /// Through a fiber.
    pub fn fiber(path: FiberPath, run: FiberRun) -> Result<Self, PlanError> {
        let passes = Passes {
            launch_ratio: path.fiber_input_ratio(run.wavelength_m).at("/delivery/fiber/launch")?,
            path_ratio: path.transmission_ratio(&run).at("/delivery/fiber")?,
            sight: None,
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
            model: VisibilityModel::Larger,
            gas_db_per_km: None,
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
                spread: SpreadModel::Larger,
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
        let (path, (run, elevation_rad)) = match self {
            Self::Fiber { passes, .. } => return Ok(*passes),
            Self::Beam { path, .. } => (path, self.beam_run(place, craft, up, bank_rad)?),
        };
        let path_ratio = path.transmission_ratio(&run)?;
        Ok(Passes {
            launch_ratio: path.parts().beam.truncation_ratio(),
            path_ratio,
            sight: Some(BeamSight {
                range_m: run.range_m,
                incidence_rad: run.incidence_rad,
                elevation_rad,
                spill_ratio: path.arriving_ratio(&run)? - path_ratio,
            }),
        })
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

    /// The beam at its worst: for a hover the one sight there is, for a circle the longest way and the most slanting light
    /// together, which is on the safe side. With the lowest elevation.
    fn beam_run(
        &self,
        place: &Place,
        craft: &Craft,
        up: [f64; 3],
        bank_rad: f64,
    ) -> Result<(BeamRun, f64), OpticsError> {
        let Self::Beam { wavelength_m, facing, .. } = self else {
            return Ok((BeamRun::facing(self.wavelength_m(), 1.0), 0.5 * PI));
        };
        let p = place.position_m;
        let (range_m, incidence_rad, elevation_rad) = match craft.circle_radius_m() {
            Some(radius_m) => {
                let loiter = Loiter {
                    centre_distance_m: p.x.hypot(p.y),
                    height_m: p.z,
                    radius_m,
                    bank_rad: bank_rad.clamp(0.0, 0.49 * PI),
                    facing: *facing,
                };
                let summary = loiter.summary()?;
                (summary.range_m.max, summary.incidence_rad.max, summary.elevation_rad.min)
            }
            None => {
                let sight = sight([p.x, p.y, p.z], up, *facing)?;
                (sight.range_m, sight.incidence_rad, sight.elevation_rad)
            }
        };
        let mut run = BeamRun::facing(*wavelength_m, range_m);
        run.incidence_rad = incidence_rad;
        Ok((run, elevation_rad))
    }
}

fn clear_area(aperture: &scenario::Aperture) -> Aperture {
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
