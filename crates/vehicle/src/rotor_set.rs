//! Equal rotors with equal drives that share a thrust: what every flying or swimming vehicle here is driven by.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;
use beamstay_rotor::{
    Drive, EfficiencyDrive, Inflow, MotorDrive, Operation, Regime, Rotor, RotorError, Thermal,
    coaxial::interference_factor,
};

use crate::{
    error::{VehicleError, finite},
    limit::{DriveLimits, Limit, LimitKind},
};

/// How the rotors stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Arrangement {
    /// Each on its own disk.
    Single,
    /// Two on one axis, turning against each other.
    CoaxialPairs {
        /// Induced power of the pair over that of its two rotors alone, 1 to 2: see [`Arrangement::coaxial`].
        interference: f64,
    },
}

impl Arrangement {
    /// Coaxial pairs with a distance between the disks in rotor diameters, 0 or more:
    /// [`beamstay_rotor::coaxial::interference_factor`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::Arrangement;
    /// let Arrangement::CoaxialPairs { interference } = Arrangement::coaxial(0.0932) else { unreachable!() };
    /// assert!((interference - 1.45).abs() < 1e-3);
    /// ```
    pub fn coaxial(spacing_over_diameter: f64) -> Self {
        Self::CoaxialPairs { interference: interference_factor(spacing_over_diameter) }
    }
}

/// Inputs of a [`RotorSet`].
#[derive(Debug, Clone, PartialEq)]
pub struct RotorSetInputs {
    /// One rotor.
    pub rotor: Rotor,
    /// Number of rotors, 1 to 64; even for coaxial pairs.
    pub rotor_count: u32,
    /// How they stand to each other.
    pub arrangement: Arrangement,
    /// Motor and controller of one rotor.
    pub drive: Drive,
    /// Bus voltage, V, 0.1 to 1e5.
    pub bus_voltage_v: f64,
    /// Largest thrust of one rotor, N, if the maker or a test stand tells one; the limits of rotor and drive hold
    /// beside it.
    pub max_thrust_each_n: Option<f64>,
}

/// Rotors, motors and controllers, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct RotorSet {
    inputs: RotorSetInputs,
    count: f64,
    interference: f64,
    disk_area_each_m2: f64,
    declared_at_kg_m3: Option<f64>,
}

/// All rotors of a set at one thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotorSetOperation {
    /// Thrust of all rotors, N.
    pub thrust_n: f64,
    /// Free stream at the disks.
    pub inflow: Inflow,
    /// Mean induced velocity at the disk of one rotor alone, m/s.
    pub induced_velocity_m_s: f64,
    /// Induced velocity of the same thrust in hover without losses, m/s: the scale of the vortex ring state.
    pub hover_velocity_m_s: f64,
    /// Induced power, all rotors, coaxial interference included, W.
    pub induced_w: f64,
    /// Power lost in the blade sections, all rotors, W.
    pub profile_w: f64,
    /// Thrust × axial inflow, W: negative where the air helps.
    pub axial_w: f64,
    /// Shaft power, all rotors, W: the sum of the three.
    pub shaft_w: f64,
    /// Power from the bus, all controllers, W; 0 where the air drives the rotors (nothing is given back).
    pub electrical_w: f64,
    /// Speed of rotation, rad/s, where the rotor model knows it.
    pub speed_rad_s: Option<f64>,
    /// Current of one motor, A, where the drive model knows it.
    pub motor_current_a: Option<f64>,
    /// Winding temperature, K, where the drive model knows it.
    pub winding_temperature_k: Option<f64>,
    /// Largest thrust of the set that this operation is held against, N: what is declared and, of a disk rotor, its
    /// tip Mach number or blade loading. Other rotor models refuse a thrust that they cannot make, and their largest
    /// thrust costs a search: [`RotorSet::max_thrust`], which also looks at the drive.
    pub thrust_bound_n: Option<f64>,
    /// [`Self::thrust_bound_n`] where the rotor model has a part in it; `None` where it might be less.
    pub rotor_max_thrust_n: Option<f64>,
    /// Limit of the drive that binds first, if one is known.
    pub drive_limit: Option<Limit>,
    /// Every limit of the drive that is known.
    pub drive_limits: DriveLimits,
    /// Torque at the shaft of one rotor, N·m, where the rotor model knows its speed.
    pub torque_n_m: Option<f64>,
    /// Mach number of the advancing tip, where the rotor model knows it.
    pub tip_mach: Option<f64>,
    /// State of the flow.
    pub regime: Regime,
}

impl RotorSet {
    /// Checks the inputs.
    ///
    /// # Errors
    /// [`VehicleError`] for a number outside its range, or a motor known by its constants on a rotor of unknown
    /// speed.
    pub fn new(inputs: RotorSetInputs) -> Result<Self, VehicleError> {
        let count = f64::from(inputs.rotor_count);
        in_range("rotor count", "", count, 1.0, 64.0)?;
        in_range("bus voltage", "V", inputs.bus_voltage_v, 0.1, 1e5)?;
        if let Some(thrust_n) = inputs.max_thrust_each_n {
            in_range("largest thrust of one rotor", "N", thrust_n, 1e-3, 1e6)?;
        }
        let interference = match inputs.arrangement {
            Arrangement::Single => 1.0,
            Arrangement::CoaxialPairs { interference } => {
                in_range("rotors left over from coaxial pairs", "", count % 2.0, 0.0, 0.0)?;
                in_range("coaxial interference", "", interference, 1.0, 2.0)?
            }
        };
        check_drive(&inputs)?;
        let diameter_m = inputs.rotor.diameter_m();
        let disk_area_each_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
        Ok(Self { inputs, count, interference, disk_area_each_m2, declared_at_kg_m3: None })
    }

    /// The same, its declared largest thrust holding at this density, kg/m³ (0.1 to 2000), and following it elsewhere. Without
    /// this the declared thrust holds at every density.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn declared_at(mut self, density_kg_m3: f64) -> Result<Self, VehicleError> {
        self.declared_at_kg_m3 =
            Some(in_range("density of the declared thrust", "kg/m³", density_kg_m3, 0.1, 2e3)?);
        Ok(self)
    }

    /// Largest thrust of one rotor by declaration, N.
    fn declared_each_n(&self, fluid: &Fluid) -> Option<f64> {
        let denser = self.declared_at_kg_m3.map_or(1.0, |at| fluid.density_kg_m3 / at);
        self.inputs.max_thrust_each_n.map(|thrust_n| thrust_n * denser)
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &RotorSetInputs {
        &self.inputs
    }

    /// Number of rotors.
    pub fn rotor_count(&self) -> u32 {
        self.inputs.rotor_count
    }

    /// Places on the airframe that carry a rotor or a coaxial pair.
    pub fn place_count(&self) -> u32 {
        match self.inputs.arrangement {
            Arrangement::Single => self.inputs.rotor_count,
            Arrangement::CoaxialPairs { .. } => self.inputs.rotor_count / 2,
        }
    }

    /// All rotors at one total thrust, N ≥ 0, in one stream. Equal shares: what trim moments, yaw and uneven inflow
    /// add is not counted. Coaxial pairs: the induced power of each rotor alone times the interference factor.
    ///
    /// # Errors
    /// [`VehicleError::ThrustShort`] or [`VehicleError::Rotor`] where the rotor model has no answer. A limit that is
    /// passed is otherwise reported, not refused.
    pub fn operate(
        &self,
        thrust_n: f64,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<RotorSetOperation, VehicleError> {
        self.operate_scaled(thrust_n, 1.0, inflow, fluid)
    }

    /// As [`Self::operate`], with the induced power multiplied by `induced_scale` (ground effect).
    pub(crate) fn operate_scaled(
        &self,
        thrust_n: f64,
        induced_scale: f64,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<RotorSetOperation, VehicleError> {
        let one = self.inputs.rotor.operate(thrust_n / self.count, inflow, fluid).map_err(|e| match e {
            RotorError::ThrustAboveLimit { max_thrust_n, .. } => {
                VehicleError::ThrustShort { needed_n: thrust_n, available_n: self.count * max_thrust_n }
            }
            other => other.into(),
        })?;
        self.assemble(thrust_n, &one, induced_scale, inflow, fluid)
    }

    fn assemble(
        &self,
        thrust_n: f64,
        one: &Operation,
        induced_scale: f64,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<RotorSetOperation, VehicleError> {
        let induced_each_w = one.induced_w * self.interference * induced_scale;
        let shaft_each_w = induced_each_w + one.profile_w + one.axial_w;
        let drive = self.drive(finite("shaft power", shaft_each_w)?, one.speed_rad_s, fluid.temperature_k)?;
        let quick = self.tells_thrust_quickly();
        let thrust_bound_n = if quick {
            self.rotor_bound(inflow, fluid).map(|(thrust_n, _)| thrust_n)
        } else {
            self.declared_each_n(fluid).map(|each_n| self.count * each_n)
        };
        let scale = self.count;
        Ok(RotorSetOperation {
            thrust_n,
            inflow,
            induced_velocity_m_s: one.induced_velocity_m_s,
            hover_velocity_m_s: self.hover_velocity_m_s(thrust_n, fluid),
            induced_w: scale * induced_each_w,
            profile_w: scale * one.profile_w,
            axial_w: scale * one.axial_w,
            shaft_w: scale * shaft_each_w,
            electrical_w: finite("electrical power", scale * drive.electrical_w)?,
            speed_rad_s: one.speed_rad_s,
            motor_current_a: drive.motor_current_a,
            winding_temperature_k: drive.winding_temperature_k,
            thrust_bound_n,
            rotor_max_thrust_n: thrust_bound_n.filter(|_| quick),
            drive_limit: drive.limits.tightest(),
            drive_limits: drive.limits,
            torque_n_m: one.speed_rad_s.map(|speed| if speed > 0.0 { shaft_each_w / speed } else { 0.0 }),
            tip_mach: one.tip_mach,
            regime: one.regime,
        })
    }

    /// Induced velocity of `thrust_n` in hover without losses, m/s: √(T/(2ρA)) over the disks of all places, one disk
    /// for a coaxial pair.
    pub fn hover_velocity_m_s(&self, thrust_n: f64, fluid: &Fluid) -> f64 {
        let area_m2 = self.disk_area_each_m2 * f64::from(self.place_count());
        (thrust_n.max(0.0) / (2.0 * fluid.density_kg_m3 * area_m2)).sqrt()
    }

    /// Whether the rotor model tells its largest thrust without a search.
    pub fn tells_thrust_quickly(&self) -> bool {
        matches!(self.inputs.rotor, Rotor::Disk(_) | Rotor::Table(_))
    }

    /// Largest thrust of the whole set by declaration and by the rotor model, N, and which of them it is.
    fn rotor_bound(&self, inflow: Inflow, fluid: &Fluid) -> Option<(f64, LimitKind)> {
        let declared = self.declared_each_n(fluid).map(|n| (self.count * n, LimitKind::Thrust));
        let modelled = self.inputs.rotor.max_thrust_n(inflow, fluid);
        let modelled = modelled.map(|n| (self.count * n, LimitKind::RotorThrust));
        declared.into_iter().chain(modelled).min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Largest thrust of the whole set in this stream, N, and what bounds it: what is declared, the rotor model, or
    /// the drive, whichever comes first. `None` if nothing is known to bound it. Costs a few calls of the rotor where the
    /// drive binds, and a search where the rotor is known by its blades.
    ///
    /// # Errors
    /// [`VehicleError`] if the stream or the fluid are outside the models.
    pub fn max_thrust(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Option<(f64, LimitKind)>, VehicleError> {
        let rotor = self.rotor_bound_checked(inflow, fluid)?;
        if self.drive_is_unbounded() {
            return Ok(rotor);
        }
        let tightest = |at: &RotorSetOperation| at.drive_limit;
        let Some(thrust_n) = self.drive_bound_n(rotor, inflow, fluid, tightest) else { return Ok(rotor) };
        let at = self.operate(thrust_n, inflow, fluid)?;
        Ok(Some((thrust_n, at.drive_limit.map_or(LimitKind::Power, |limit| limit.kind))))
    }

    /// The largest thrust of the whole set, N, by each bound that is known, on its own: declared, rotor model, shaft power, voltage,
    /// current, winding. Bounds of the drive above what the rotor reaches are left out.
    ///
    /// # Errors
    /// As [`Self::max_thrust`].
    pub fn thrust_bounds(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Vec<(f64, LimitKind)>, VehicleError> {
        let rotor = self.rotor_bound_checked(inflow, fluid)?;
        let declared = self.declared_each_n(fluid).map(|n| (self.count * n, LimitKind::Thrust));
        let modelled = self.inputs.rotor.max_thrust_n(inflow, fluid);
        let modelled = modelled.map(|n| (self.count * n, LimitKind::RotorThrust));
        let mut bounds: Vec<_> = declared.into_iter().chain(modelled).collect();
        for kind in [LimitKind::Power, LimitKind::Voltage, LimitKind::Current, LimitKind::WindingTemperature]
        {
            let of_kind = |at: &RotorSetOperation| at.drive_limits.of(kind);
            bounds.extend(self.drive_bound_n(rotor, inflow, fluid, of_kind).map(|n| (n, kind)));
        }
        Ok(bounds)
    }

    /// As [`Self::rotor_bound`], a stream or fluid outside the models refused.
    fn rotor_bound_checked(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Option<(f64, LimitKind)>, VehicleError> {
        if let Err(error @ RotorError::OutOfRange(_)) = self.inputs.rotor.operate(0.0, inflow, fluid) {
            return Err(error.into());
        }
        Ok(self.rotor_bound(inflow, fluid))
    }

    fn drive_is_unbounded(&self) -> bool {
        matches!(self.inputs.drive, Drive::Efficiency(drive) if drive.max_shaft_w.is_none())
    }

    /// Thrust at which a limit of the drive is used up, N, if that is below `rotor`, the largest thrust of the rotor.
    fn drive_bound_n(
        &self,
        rotor: Option<(f64, LimitKind)>,
        inflow: Inflow,
        fluid: &Fluid,
        limit: impl Fn(&RotorSetOperation) -> Option<Limit>,
    ) -> Option<f64> {
        // A thrust below what the rotor can make, because its pitch range begins above it, counts as unloaded.
        let used = |thrust_n: f64| match self.operate(thrust_n, inflow, fluid) {
            Ok(at) => limit(&at).map(|l| l.used_ratio),
            Err(VehicleError::ThrustShort { .. }) => Some(f64::MAX),
            Err(_) => Some(0.0),
        };
        let high_n = match rotor {
            // Just below its largest thrust, where rounding does not make the rotor refuse.
            Some((rotor_n, _)) => {
                let high_n = (1.0 - 1e-6) * rotor_n;
                (used(high_n)? > 1.0).then_some(high_n)?
            }
            None => (0..30)
                .map(|i| self.count * f64::from(i).exp2())
                .find(|n| used(*n).is_some_and(|u| u > 1.0))?,
        };
        Some(self.used_up_n(high_n, |thrust_n| used(thrust_n).unwrap_or(0.0)))
    }

    /// The thrust at which `used` is 1, below `high_n` where it is more: secant steps in the logarithms of both, in which every
    /// limit is nearly a straight line, inside what is known to lie on either side; at most 60. 0 if it is more than 1
    /// even without thrust.
    fn used_up_n(&self, high_n: f64, used: impl Fn(f64) -> f64) -> f64 {
        if used(0.0) >= 1.0 {
            return 0.0;
        }
        let settled = if self.tells_thrust_quickly() { 1e-12 } else { 1e-8 };
        let excess = |x: f64| used(x.exp()).max(1e-12).ln();
        let (mut x_before, mut high) = (high_n.ln(), high_n.ln());
        let mut low = high - 40.0;
        let mut f_before = excess(x_before);
        let mut x = x_before - f_before.clamp(1e-3, 5.0);
        for _ in 0..60 {
            let f = excess(x);
            if f > 0.0 {
                high = x
            } else {
                low = x
            }
            let slope = (f - f_before) / (x - x_before);
            let mut next = if slope > 0.05 { x - f / slope } else { 0.5 * (low.max(high - 10.0) + high) };
            if !(next > low && next < high) {
                next = if low > high_n.ln() - 40.0 { 0.5 * (low + high) } else { high - 5.0 };
            }
            if (next - x).abs() <= settled || f == 0.0 {
                return x.exp();
            }
            (x_before, f_before, x) = (x, f, next);
        }
        low.exp()
    }

    /// The drive of one rotor at a shaft power, W.
    fn drive(
        &self,
        shaft_each_w: f64,
        speed_rad_s: Option<f64>,
        air_k: f64,
    ) -> Result<DriveUse, VehicleError> {
        match &self.inputs.drive {
            Drive::Efficiency(drive) => Ok(DriveUse {
                electrical_w: drive.electrical_w(shaft_each_w),
                motor_current_a: None,
                winding_temperature_k: None,
                limits: DriveLimits {
                    power: drive.max_shaft_w.map(|max_w| {
                        let shaft_w = self.count * shaft_each_w.max(0.0);
                        Limit::upper(LimitKind::Power, shaft_w, self.count * max_w)
                    }),
                    ..DriveLimits::default()
                },
            }),
            Drive::Motor(motor) => {
                // Without thrust a fixed-pitch rotor stands still.
                let idle = if shaft_each_w == 0.0 { Some(0.0) } else { None };
                let speed_rad_s = speed_rad_s.or(idle).ok_or(VehicleError::SpeedUnknown)?;
                self.motor(motor, shaft_each_w, speed_rad_s, air_k)
            }
            _ => Err(VehicleError::SpeedUnknown),
        }
    }

    /// The winding is cooled by the fluid that the rotor works in, whatever air the drive was declared with.
    fn motor(
        &self,
        motor: &MotorDrive,
        shaft_each_w: f64,
        speed_rad_s: f64,
        air_k: f64,
    ) -> Result<DriveUse, VehicleError> {
        let torque_n_m = if speed_rad_s > 0.0 { shaft_each_w / speed_rad_s } else { 0.0 };
        let bus_v = self.inputs.bus_voltage_v;
        let thermal = motor.thermal.map(|thermal| Thermal { air_k, ..thermal });
        let at = Drive::Motor(MotorDrive { thermal, ..*motor }).operate(torque_n_m, speed_rad_s, bus_v)?;
        let winding = thermal.zip(at.winding_temperature_k).map(|(thermal, winding_k)| Limit {
            kind: LimitKind::WindingTemperature,
            value: winding_k,
            bound: thermal.max_winding_k,
            used_ratio: (winding_k - air_k) / (thermal.max_winding_k - air_k),
        });
        Ok(DriveUse {
            electrical_w: at.electrical_w,
            motor_current_a: Some(at.motor_current_a),
            winding_temperature_k: at.winding_temperature_k,
            limits: DriveLimits {
                power: None,
                voltage: Some(Limit::upper(LimitKind::Voltage, at.throttle_ratio * bus_v, bus_v)),
                current: motor
                    .max_current_a
                    .map(|max_a| Limit::upper(LimitKind::Current, at.motor_current_a, max_a)),
                winding,
            },
        })
    }
}

/// What the drive of one rotor draws.
struct DriveUse {
    electrical_w: f64,
    motor_current_a: Option<f64>,
    winding_temperature_k: Option<f64>,
    limits: DriveLimits,
}

/// Refuses a drive whose numbers are out of range, or that needs a speed of rotation that the rotor does not tell.
fn check_drive(inputs: &RotorSetInputs) -> Result<(), VehicleError> {
    match &inputs.drive {
        Drive::Efficiency(drive) => {
            EfficiencyDrive::new(drive.motor_ratio, drive.controller_ratio)?;
            if let Some(max_w) = drive.max_shaft_w {
                in_range("largest shaft power of one motor", "W", max_w, 1e-3, 1e7)?;
            }
        }
        Drive::Motor(motor) => {
            motor.check()?;
            if matches!(&inputs.rotor, Rotor::Disk(disk) if disk.inputs().speed.is_none()) {
                return Err(VehicleError::SpeedUnknown);
            }
        }
        _ => {}
    }
    Ok(())
}
