//! Equal rotors with equal drives that share a thrust: what every flying or swimming vehicle here is driven by.

mod bounds;
mod drive;

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;
use beamstay_rotor::{Drive, Inflow, Operation, Regime, Rotor, RotorError, coaxial::interference_factor};

use crate::{
    error::{VehicleError, finite},
    limit::{DriveLimits, Limit},
};
use drive::check_drive;

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
#[non_exhaustive]
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
    /// [`Self::thrust_bound_n`], N, where the rotor model has a part in it; `None` where it might be less.
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
        let disk_area_each_m2 = inputs.rotor.disk_area_m2();
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

    /// Induced velocity of `thrust_n` in hover without losses, m/s: √(T/(2ρA)) (Rankine and Froude, [`beamstay_rotor::momentum`]) over the disks of all places, one disk
    /// for a coaxial pair.
    pub fn hover_velocity_m_s(&self, thrust_n: f64, fluid: &Fluid) -> f64 {
        let area_m2 = self.disk_area_each_m2 * f64::from(self.place_count());
        (thrust_n.max(0.0) / (2.0 * fluid.density_kg_m3 * area_m2)).sqrt()
    }

    /// Whether the rotor model tells its largest thrust without a search.
    pub fn tells_thrust_quickly(&self) -> bool {
        matches!(self.inputs.rotor, Rotor::Disk(_) | Rotor::Table(_))
    }
}
