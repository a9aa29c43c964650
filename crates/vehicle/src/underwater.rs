//! Underwater vehicle: weight, buoyancy, current and tether in; heading, thrust and power out.
//!
//! The vehicle stays level by its own righting moment. One set of thrusters pushes along its surge axis, another
//! up or down; it turns until nothing is left to push sideways.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{
    constants::STANDARD_GRAVITY_M_S2,
    domain::in_range,
    root::{Tolerance, bracketed},
};
use beamstay_rotor::Inflow;
use nalgebra::Vector3;

use crate::{
    error::VehicleError,
    limit::{DriveLimits, Limit, LimitKind},
    load::Load,
    rotor_set::{RotorSet, RotorSetOperation},
};

/// Headings at which the sideways force is looked at before roots are bracketed between them.
const HEADINGS_COUNT: u32 = 24;
/// Share of the forces below which a thrust counts as none: rounding.
const NO_THRUST: f64 = 1e-12;

/// Inputs of an [`UnderwaterVehicle`].
#[derive(Debug, Clone, PartialEq)]
pub struct UnderwaterInputs {
    /// Mass without payload, receiver and battery, kg, above 0 to 1e5. Water that the hull carries along counts
    /// neither here nor in the displacement.
    pub empty_mass_kg: f64,
    /// Volume of water displaced, fully under water, m³, 0 to 100.
    pub displacement_m3: f64,
    /// Drag area along the vehicle, m², 0 to 100.
    pub surge_drag_m2: f64,
    /// Drag area across the vehicle, m², 0 to 100.
    pub sway_drag_m2: f64,
    /// Drag area from above, m², 0 to 100.
    pub heave_drag_m2: f64,
    /// Thrusters along the vehicle, if any.
    pub surge_thrusters: Option<RotorSet>,
    /// Thrusters that push up or down, if any; equal both ways.
    pub heave_thrusters: Option<RotorSet>,
    /// Power of everything on board that is not a thruster and not payload, W, 0 to 1e6.
    pub hotel_w: f64,
}

/// An underwater vehicle, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderwaterVehicle {
    inputs: UnderwaterInputs,
}

/// An underwater vehicle in balance.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct UnderwaterTrim {
    /// Buoyancy less weight, N: positive when it wants to rise.
    pub net_buoyancy_n: f64,
    /// Direction of the surge axis, degrees from +x (down-current) toward +y; 0 when nothing decides it.
    pub heading_deg: f64,
    /// Thrust along the vehicle, N, 0 or more.
    pub surge_thrust_n: f64,
    /// Thrust upward, N; negative when it pushes down.
    pub heave_thrust_n: f64,
    /// Thrust as a vector, N.
    pub thrust_vector_n: Vector3<f64>,
    /// Drag of the hull, N.
    pub drag_n: Vector3<f64>,
    /// Induced power of all thrusters, W.
    pub induced_w: f64,
    /// Power lost in the blade sections of all thrusters, W.
    pub profile_w: f64,
    /// Thrust × speed of the water against it, W: what the drag of the hull takes.
    pub axial_w: f64,
    /// Shaft power of all thrusters, W: the sum of the three.
    pub shaft_w: f64,
    /// Power of all thrusters from the bus, W.
    pub electrical_w: f64,
    /// Power of everything else, W.
    pub hotel_w: f64,
    /// What the bus has to deliver, W.
    pub demand_w: f64,
    /// Limit of thrusters and drives that is used most, if one is known.
    pub binding_limit: Option<Limit>,
    /// Thrust of the group that is nearer to its largest, against it, if one is known.
    pub thrust_limit: Option<Limit>,
    /// Of each limit of the drives that of the group that uses more of it.
    pub drive_limits: DriveLimits,
    /// Sum of all forces, N: what rounding leaves.
    pub force_residual_n: f64,
}

/// Forces in the horizontal plane and the drag areas that meet them.
struct Plane {
    external_n: (f64, f64),
    current_m_s: (f64, f64),
    half_density: f64,
    surge_m2: f64,
    sway_m2: f64,
}

/// Forces along and across one heading, and the drag among them.
struct OnHeading {
    heading_rad: f64,
    thrust_n: f64,
    sideways_n: f64,
    drag_n: (f64, f64),
    along_m_s: f64,
    across_m_s: f64,
}

impl UnderwaterVehicle {
    /// Checks the inputs.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::{UnderwaterInputs, UnderwaterVehicle};
    /// let drifter = UnderwaterVehicle::new(UnderwaterInputs {
    ///     empty_mass_kg: 20.0,
    ///     displacement_m3: 0.02,
    ///     surge_drag_m2: 0.02,
    ///     sway_drag_m2: 0.1,
    ///     heave_drag_m2: 0.15,
    ///     surge_thrusters: None,
    ///     heave_thrusters: None,
    ///     hotel_w: 15.0,
    /// })?;
    /// assert_eq!(drifter.inputs().hotel_w, 15.0);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn new(inputs: UnderwaterInputs) -> Result<Self, VehicleError> {
        in_range("empty mass", "kg", inputs.empty_mass_kg, 1e-6, 1e5)?;
        in_range("displacement", "m³", inputs.displacement_m3, 0.0, 100.0)?;
        for drag_m2 in [inputs.surge_drag_m2, inputs.sway_drag_m2, inputs.heave_drag_m2] {
            in_range("drag area", "m²", drag_m2, 0.0, 100.0)?;
        }
        in_range("hotel load", "W", inputs.hotel_w, 0.0, 1e6)?;
        Ok(Self { inputs })
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &UnderwaterInputs {
        &self.inputs
    }

    /// Buoyancy less weight, N, in water of `density_kg_m3`: (ρV − m) g.
    pub fn net_buoyancy_n(&self, mass_kg: f64, density_kg_m3: f64) -> f64 {
        (density_kg_m3 * self.inputs.displacement_m3 - mass_kg) * STANDARD_GRAVITY_M_S2
    }

    /// Where the vehicle settles under `load`, refused if a limit is passed.
    ///
    /// Thrust + weight + buoyancy + tether + drag = 0. Drag on each axis by its own speed, ½ ρ (CdA) |u| u (the
    /// cross-flow principle, usual for bodies at large incidence; Hoerner, *Fluid-Dynamic Drag*, 1965, from memory).
    /// The heading is the one, of those at which nothing pushes sideways, that needs the least forward thrust.
    /// Thrusters see the current along and across their axis; thrust deduction and wake fraction of the hull are left
    /// out (open water).
    ///
    /// # Errors
    /// [`VehicleError::NoThruster`], [`VehicleError::ThrustShort`] or a limit of the drives, with the numbers; a
    /// number outside its range; a rotor model without an answer.
    pub fn trim(&self, load: &Load, water: &Fluid) -> Result<UnderwaterTrim, VehicleError> {
        load.check()?;
        in_range("fluid density", "kg/m³", water.density_kg_m3, 1e-3, 2e3)?;
        let relative_m_s = load.relative_wind_m_s();
        let half_density = 0.5 * water.density_kg_m3;
        let plane = Plane {
            external_n: (load.external_force_n.x, load.external_force_n.y),
            current_m_s: (relative_m_s.x, relative_m_s.y),
            half_density,
            surge_m2: self.inputs.surge_drag_m2,
            sway_m2: self.inputs.sway_drag_m2,
        };
        let surge = plane.settle()?;
        let net_buoyancy_n = self.net_buoyancy_n(load.mass_kg, water.density_kg_m3);
        let heave_drag_n = half_density * self.inputs.heave_drag_m2 * relative_m_s.z.abs() * relative_m_s.z;
        let heave_n = -(net_buoyancy_n + load.external_force_n.z + heave_drag_n);
        let scale_n = load.weight_n() + load.external_force_n.norm() + heave_drag_n.abs();

        let surge_inflow =
            Inflow { axial_m_s: -surge.along_m_s, edgewise_m_s: surge.across_m_s.hypot(relative_m_s.z) };
        let heave_inflow = Inflow {
            axial_m_s: -relative_m_s.z * heave_n.signum(),
            edgewise_m_s: plane.current_m_s.0.hypot(plane.current_m_s.1),
        };
        let along =
            group("horizontal", &self.inputs.surge_thrusters, surge.thrust_n, surge_inflow, water, scale_n)?;
        let upright =
            group("vertical", &self.inputs.heave_thrusters, heave_n.abs(), heave_inflow, water, scale_n)?;
        let mut trim = assemble(&surge, heave_n, heave_drag_n, [along, upright]);
        trim.net_buoyancy_n = net_buoyancy_n;
        trim.hotel_w = self.inputs.hotel_w;
        trim.demand_w = trim.electrical_w + self.inputs.hotel_w;
        let mut sum_n = trim.thrust_vector_n + trim.drag_n + load.external_force_n;
        sum_n.z += net_buoyancy_n;
        trim.force_residual_n = sum_n.norm();
        match trim.binding_limit.and_then(|l| l.exceeded()) {
            Some(error) => Err(error),
            None => Ok(trim),
        }
    }
}

/// A set of thrusters at one thrust; none is needed for a thrust that is only rounding.
fn group(
    direction: &'static str,
    thrusters: &Option<RotorSet>,
    needed_n: f64,
    inflow: Inflow,
    water: &Fluid,
    scale_n: f64,
) -> Result<Option<RotorSetOperation>, VehicleError> {
    if needed_n <= NO_THRUST * scale_n {
        return Ok(None);
    }
    match thrusters {
        Some(set) => Ok(Some(set.operate(needed_n, inflow, water)?)),
        None => Err(VehicleError::NoThruster { direction, needed_n }),
    }
}

fn assemble(
    surge: &OnHeading,
    heave_n: f64,
    heave_drag_n: f64,
    groups: [Option<RotorSetOperation>; 2],
) -> UnderwaterTrim {
    let (sin, cos) = surge.heading_rad.sin_cos();
    let (drag_along_n, drag_across_n) = surge.drag_n;
    let mut trim = UnderwaterTrim {
        net_buoyancy_n: 0.0,
        heading_deg: surge.heading_rad.to_degrees(),
        surge_thrust_n: surge.thrust_n,
        heave_thrust_n: heave_n,
        thrust_vector_n: Vector3::new(surge.thrust_n * cos, surge.thrust_n * sin, heave_n),
        drag_n: Vector3::new(
            drag_along_n * cos - drag_across_n * sin,
            drag_along_n * sin + drag_across_n * cos,
            heave_drag_n,
        ),
        induced_w: 0.0,
        profile_w: 0.0,
        axial_w: 0.0,
        shaft_w: 0.0,
        electrical_w: 0.0,
        hotel_w: 0.0,
        demand_w: 0.0,
        binding_limit: None,
        thrust_limit: None,
        drive_limits: DriveLimits::default(),
        force_residual_n: 0.0,
    };
    for set in groups.into_iter().flatten() {
        trim.induced_w += set.induced_w;
        trim.profile_w += set.profile_w;
        trim.axial_w += set.axial_w;
        trim.shaft_w += set.shaft_w;
        trim.electrical_w += set.electrical_w;
        let thrust = set.thrust_bound_n.map(|max_n| Limit::upper(LimitKind::Thrust, set.thrust_n, max_n));
        trim.thrust_limit = [trim.thrust_limit, thrust].into_iter().flatten().reduce(Limit::tighter);
        trim.drive_limits = trim.drive_limits.tighter(set.drive_limits);
    }
    trim.binding_limit =
        [trim.thrust_limit, trim.drive_limits.tightest()].into_iter().flatten().reduce(Limit::tighter);
    trim
}

impl Plane {
    fn on_heading(&self, heading_rad: f64) -> OnHeading {
        let (sin, cos) = heading_rad.sin_cos();
        let along_m_s = self.current_m_s.0 * cos + self.current_m_s.1 * sin;
        let across_m_s = self.current_m_s.1 * cos - self.current_m_s.0 * sin;
        let drag_n = (
            self.half_density * self.surge_m2 * along_m_s.abs() * along_m_s,
            self.half_density * self.sway_m2 * across_m_s.abs() * across_m_s,
        );
        OnHeading {
            heading_rad,
            thrust_n: -(self.external_n.0 * cos + self.external_n.1 * sin + drag_n.0),
            sideways_n: self.external_n.1 * cos - self.external_n.0 * sin + drag_n.1,
            drag_n,
            along_m_s,
            across_m_s,
        }
    }

    /// The heading without sideways force that needs the least forward thrust. Turned by half a circle, both forces
    /// change sign, so that a heading with forward thrust always exists.
    fn settle(&self) -> Result<OnHeading, VehicleError> {
        let step_rad = std::f64::consts::TAU / f64::from(HEADINGS_COUNT);
        // Off the axes by a part of a step, so that symmetric cases do not start on a root.
        let heading = |i: u32| (f64::from(i) + 0.37) * step_rad - std::f64::consts::PI;
        let sideways = |heading_rad: f64| self.on_heading(heading_rad).sideways_n;
        let mut best: Option<OnHeading> = None;
        let mut largest_n = 0.0_f64;
        for i in 0..HEADINGS_COUNT {
            let (from, to) = (heading(i), heading(i + 1));
            let (f_from, f_to) = (sideways(from), sideways(to));
            largest_n = largest_n.max(f_from.abs());
            if (f_from > 0.0) == (f_to > 0.0) {
                continue;
            }
            let Ok(root) = bracketed(sideways, from, to, Tolerance::default()) else { continue };
            let found = self.on_heading(root.x);
            if found.thrust_n >= 0.0 && best.as_ref().is_none_or(|b| found.thrust_n < b.thrust_n) {
                best = Some(found);
            }
        }
        if let Some(found) = best {
            return Ok(found);
        }
        if largest_n == 0.0 {
            // Nothing pushes sideways on any heading: into the current.
            let (x, y) = self.current_m_s;
            return Ok(self.on_heading(if x.hypot(y) > 0.0 { (-y).atan2(-x) } else { 0.0 }));
        }
        Err(VehicleError::NotConverged { residual_ratio: 1.0, evaluations_count: HEADINGS_COUNT })
    }
}
