//! Multirotor: load and wind in, trim out.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;
use beamstay_rotor::{Inflow, ground_effect::induced_power_ratio};
use nalgebra::Vector3;

use crate::{
    balance::{ForceBalance, Surroundings},
    drag_area::{DragArea, GuardRing},
    error::VehicleError,
    limit::{Limit, LimitKind},
    load::Load,
    rotor_set::{RotorSet, RotorSetOperation},
    trim::Trim,
};

/// Inputs of a [`Multirotor`].
#[derive(Debug, Clone, PartialEq)]
pub struct MultirotorInputs {
    /// Rotors, motors and controllers.
    pub rotors: RotorSet,
    /// Airframe with rotors and motors, without payload, receiver and battery, kg, above 0 to 1e5.
    pub empty_mass_kg: f64,
    /// Drag area of the body against its incidence.
    pub body_drag: DragArea,
    /// Ring around each place that carries a rotor or a pair, if any.
    pub guard_ring: Option<GuardRing>,
    /// Force of the rotors in their own plane over thrust and edgewise speed, s/m, 0 to 0.05: see
    /// [`crate::defaults::ROTOR_DRAG_S_PER_M`]. It makes the aircraft lean further and costs its work against the wind in
    /// the axial power; the part of it that is profile drag is counted twice, which is the safe side; 0 leaves it
    /// out. The force is held at half the thrust.
    pub rotor_drag_s_per_m: f64,
    /// Largest lean, degrees, 1 to 85.
    pub max_tilt_deg: f64,
    /// Power of everything on board that is not a motor and not payload, W, 0 to 1e5.
    pub avionics_w: f64,
}

/// A multirotor, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Multirotor {
    inputs: MultirotorInputs,
    guard_drag: Option<DragArea>,
    guard_count: f64,
}

impl Multirotor {
    /// Checks the inputs.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn new(inputs: MultirotorInputs) -> Result<Self, VehicleError> {
        in_range("empty mass", "kg", inputs.empty_mass_kg, 1e-6, 1e5)?;
        in_range("rotor drag", "s/m", inputs.rotor_drag_s_per_m, 0.0, 0.05)?;
        in_range("largest tilt", "°", inputs.max_tilt_deg, 1.0, 85.0)?;
        in_range("avionics power", "W", inputs.avionics_w, 0.0, 1e5)?;
        let guard_drag = inputs.guard_ring.map(|ring| ring.drag_area()).transpose()?;
        let guard_count = f64::from(inputs.rotors.place_count());
        Ok(Self { inputs, guard_drag, guard_count })
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &MultirotorInputs {
        &self.inputs
    }

    /// Where the multirotor settles under `load`, refused if a limit is passed.
    ///
    /// Thrust + weight + external force + body drag (+ in-plane force of the rotors) = 0, drag taken at the attitude
    /// that results ([`ForceBalance`]). All rotors share the thrust equally. Steady flight: for a gust, ask with the
    /// gust as wind and the tether force that belongs to it.
    ///
    /// # Errors
    /// [`VehicleError::ThrustShort`], [`VehicleError::TiltExceeded`] or a limit of the drive, with the numbers; a
    /// number outside its range; or [`VehicleError::Rotor`] where the rotor model has no answer.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_environment::fluid::Fluid;
    /// # let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    /// #     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    /// #     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// use beamstay_rotor::{DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive, Rotor};
    /// use beamstay_vehicle::{Arrangement, DragArea, Load, Multirotor, MultirotorInputs, RotorSet, RotorSetInputs};
    /// let rotors = RotorSet::new(RotorSetInputs {
    ///     rotor: Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.381, 0.65))?),
    ///     rotor_count: 4,
    ///     arrangement: Arrangement::Single,
    ///     drive: Drive::Efficiency(EfficiencyDrive::new(0.8, 1.0)?),
    ///     bus_voltage_v: 24.0,
    ///     max_thrust_each_n: None,
    /// })?;
    /// let aircraft = Multirotor::new(MultirotorInputs {
    ///     rotors,
    ///     empty_mass_kg: 3.0,
    ///     body_drag: DragArea::spheroid(0.03, 0.08)?,
    ///     guard_ring: None,
    ///     rotor_drag_s_per_m: 0.0,
    ///     max_tilt_deg: 30.0,
    ///     avionics_w: 0.0,
    /// })?;
    /// // 5 kg on four rotors of 0.381 m, figure of merit 0.65, drive 0.80: 624.669 W.
    /// let trim = aircraft.trim(&Load::hover(5.0), &air)?;
    /// assert!((trim.demand_w - 624.669).abs() < 1e-3);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn trim(&self, load: &Load, fluid: &Fluid) -> Result<Trim, VehicleError> {
        let trim = self.trim_beyond_limits(load, fluid)?;
        match trim.exceeded() {
            Some(error) => Err(error),
            None => Ok(trim),
        }
    }

    /// As [`Self::trim`], but a limit that is passed is only reported ([`Trim::exceeded`]): for searches that need to
    /// know how far an infeasible point is outside.
    ///
    /// # Errors
    /// A number outside its range, or a rotor model without an answer.
    pub fn trim_beyond_limits(&self, load: &Load, fluid: &Fluid) -> Result<Trim, VehicleError> {
        let balance = self.balance(load, fluid)?;
        let inflow = Inflow { axial_m_s: balance.axial_inflow_m_s, edgewise_m_s: balance.edgewise_m_s };
        let rotors = self.inputs.rotors.operate(balance.thrust_n, inflow, fluid)?;
        Ok(self.assemble(&balance, &rotors))
    }

    /// Attitude and thrust alone, without rotors and power: answers where the rotor model has no answer.
    ///
    /// # Errors
    /// A number outside its range.
    pub fn balance(&self, load: &Load, fluid: &Fluid) -> Result<ForceBalance, VehicleError> {
        load.check()?;
        in_range("fluid density", "kg/m³", fluid.density_kg_m3, 1e-3, 2e3)?;
        let surroundings = Surroundings {
            required_n: Vector3::new(0.0, 0.0, load.weight_n()) - load.external_force_n,
            relative_wind_m_s: load.relative_wind_m_s(),
            density_kg_m3: fluid.density_kg_m3,
            rotor_drag_s_per_m: self.inputs.rotor_drag_s_per_m,
        };
        surroundings.balance(|sin_incidence| self.drag_area_m2(sin_incidence))
    }

    /// Drag area of body and guard rings, m², at the sine of the angle between wind and rotor plane.
    pub fn drag_area_m2(&self, sin_incidence: f64) -> f64 {
        let rings_m2 = self
            .guard_drag
            .as_ref()
            .map_or(0.0, |ring| self.guard_count * ring.at_sin_incidence(sin_incidence));
        self.inputs.body_drag.at_sin_incidence(sin_incidence) + rings_m2
    }

    /// Hover over the ground at the launch: as [`Self::trim`] in calm air, with the induced power lowered by the
    /// ground (Cheeseman and Bennett, ARC R&M 3021, 1955: at equal thrust 1 − (R/4z)², each rotor by itself).
    /// `rotor_height_m` is that of the rotor planes; below half a radius the formula is poor and the value at half a
    /// radius is used. A payload or tether under the rotors, and a wind, weaken the effect: do not plan on it.
    ///
    /// # Errors
    /// As [`Self::trim`].
    pub fn hover_over_ground(
        &self,
        mass_kg: f64,
        rotor_height_m: f64,
        fluid: &Fluid,
    ) -> Result<Trim, VehicleError> {
        let height_m = in_range("rotor height", "m", rotor_height_m, 0.0, 1e5)?;
        let balance = self.balance(&Load::hover(mass_kg), fluid)?;
        let radius_m = 0.5 * self.inputs.rotors.inputs().rotor.diameter_m();
        let scale = induced_power_ratio(height_m / radius_m, 0.0);
        let rotors = self.inputs.rotors.operate_scaled(balance.thrust_n, scale, Inflow::HOVER, fluid)?;
        let trim = self.assemble(&balance, &rotors);
        match trim.exceeded() {
            Some(error) => Err(error),
            None => Ok(trim),
        }
    }

    /// Largest thrust in the stream of `trim` over the thrust it needs, by declaration, rotor and drive together, and
    /// what bounds it. `None` if nothing is known to bound it, or no thrust is needed. Slower than a trim by some
    /// dozen calls of the rotor. For the reserve in a gust, trim with the gust first.
    ///
    /// # Errors
    /// As [`RotorSet::max_thrust`].
    pub fn thrust_reserve(
        &self,
        trim: &Trim,
        fluid: &Fluid,
    ) -> Result<Option<(f64, LimitKind)>, VehicleError> {
        let inflow = Inflow { axial_m_s: trim.axial_inflow_m_s, edgewise_m_s: trim.edgewise_m_s };
        let largest = self.inputs.rotors.max_thrust(inflow, fluid)?;
        Ok(largest.filter(|_| trim.thrust_n > 1e-9).map(|(thrust_n, kind)| (thrust_n / trim.thrust_n, kind)))
    }

    fn assemble(&self, balance: &ForceBalance, rotors: &RotorSetOperation) -> Trim {
        let wake_m_s = |times: f64| {
            let along_m_s = balance.axial_inflow_m_s + times * rotors.induced_velocity_m_s;
            along_m_s.hypot(balance.edgewise_m_s)
        };
        Trim {
            thrust_n: balance.thrust_n,
            thrust_vector_n: balance.thrust_vector_n,
            tilt_deg: balance.tilt_deg,
            azimuth_deg: balance.azimuth_deg,
            axial_inflow_m_s: balance.axial_inflow_m_s,
            edgewise_m_s: balance.edgewise_m_s,
            induced_velocity_m_s: rotors.induced_velocity_m_s,
            hover_velocity_m_s: rotors.hover_velocity_m_s,
            induced_w: rotors.induced_w,
            profile_w: rotors.profile_w,
            axial_w: rotors.axial_w,
            shaft_w: rotors.shaft_w,
            electrical_w: rotors.electrical_w,
            avionics_w: self.inputs.avionics_w,
            demand_w: rotors.electrical_w + self.inputs.avionics_w,
            body_drag_n: balance.body_drag_n,
            rotor_drag_n: balance.rotor_drag_n,
            wake_at_disk_m_s: wake_m_s(1.0),
            wake_developed_m_s: wake_m_s(2.0),
            thrust_reserve_ratio: rotors
                .rotor_max_thrust_n
                .filter(|_| balance.thrust_n > 1e-9)
                .map(|max_n| max_n / balance.thrust_n),
            rotor_speed_rad_s: rotors.speed_rad_s,
            motor_current_a: rotors.motor_current_a,
            winding_temperature_k: rotors.winding_temperature_k,
            tip_mach: rotors.tip_mach,
            thrust_limit: rotors
                .thrust_bound_n
                .map(|max_n| Limit::upper(LimitKind::Thrust, balance.thrust_n, max_n)),
            tilt_limit: Limit::upper(LimitKind::Tilt, balance.tilt_deg, self.inputs.max_tilt_deg),
            drive_limit: rotors.drive_limit,
            drive_limits: rotors.drive_limits,
            rotor_torque_n_m: rotors.torque_n_m,
            regime: rotors.regime,
            force_residual_n: balance.residual_n,
            evaluations_count: balance.evaluations_count,
        }
    }
}
