//! Motor and controller: torque, speed and bus voltage in, electrical power and the limit that binds out.

use beamstay_numerics::{
    domain::in_range,
    root::{Tolerance, bracketed},
};

use crate::error::RotorError;

/// Temperature at which winding resistance is stated, K (20 °C).
const RESISTANCE_REFERENCE_K: f64 = 293.15;
/// Rise of copper resistance with temperature, 1/K (IEC 60028, 0.00393 at 20 °C).
const COPPER_PER_K: f64 = 0.003_93;

/// Motor and controller, by whichever model they are known.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Drive {
    /// Known by efficiencies.
    Efficiency(EfficiencyDrive),
    /// Known by motor constants.
    Motor(MotorDrive),
}

/// What a drive draws at one torque and speed.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct DriveOperation {
    /// Power from the bus, W.
    pub electrical_w: f64,
    /// Mean current from the bus, A.
    pub current_a: f64,
    /// Current in the motor, A, as of an equivalent direct-current motor.
    pub motor_current_a: f64,
    /// Voltage that the motor needs, V; of an efficiency drive, the bus voltage.
    pub voltage_v: f64,
    /// Heat in motor and controller, W.
    pub loss_w: f64,
    /// Voltage needed before the controller ÷ bus voltage; above 1 the speed cannot be reached.
    pub throttle_ratio: f64,
    /// Winding temperature in steady state, K, if the thermal resistance is known.
    pub winding_temperature_k: Option<f64>,
    /// The limit that binds, or would bind first.
    pub limit: LimitUse,
}

/// How much of the limit that binds is used.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LimitUse {
    /// Which limit.
    pub kind: DriveLimit,
    /// Value ÷ limit; above 1 the drive cannot do this (voltage) or not for long (current, temperature). For the winding,
    /// rise above the air ÷ allowed rise.
    pub used_ratio: f64,
}

/// Limits of a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum DriveLimit {
    /// No limit is known.
    Unlimited,
    /// The bus voltage is too low for the speed.
    Voltage,
    /// Current limit of motor or controller.
    Current,
    /// Winding temperature.
    Temperature,
    /// Power limit of an efficiency drive.
    Power,
}

/// A drive known by its efficiency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EfficiencyDrive {
    /// Motor efficiency, shaft over terminals, 0.05 to 1.
    pub motor_ratio: f64,
    /// Controller efficiency, terminals over bus, 0.05 to 1.
    pub controller_ratio: f64,
    /// Largest shaft power, W, if one is known.
    pub max_shaft_w: Option<f64>,
}

impl EfficiencyDrive {
    /// Checks the efficiencies.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn new(motor_ratio: f64, controller_ratio: f64) -> Result<Self, RotorError> {
        in_range("motor efficiency", "", motor_ratio, 0.05, 1.0)?;
        in_range("controller efficiency", "", controller_ratio, 0.05, 1.0)?;
        Ok(Self { motor_ratio, controller_ratio, max_shaft_w: None })
    }

    /// Power from the bus, W. A shaft that is driven by the air gives nothing back: 0 for `shaft_w` ≤ 0.
    ///
    /// # Examples
    /// ```
    /// let drive = beamstay_rotor::EfficiencyDrive::new(0.8, 0.95).unwrap();
    /// assert!((drive.electrical_w(76.0) - 100.0).abs() < 1e-12);
    /// assert_eq!(drive.electrical_w(-5.0), 0.0);
    /// ```
    pub fn electrical_w(&self, shaft_w: f64) -> f64 {
        shaft_w.max(0.0) / (self.motor_ratio * self.controller_ratio)
    }

    fn operate(&self, torque_n_m: f64, speed_rad_s: f64, bus_voltage_v: f64) -> DriveOperation {
        let shaft_w = torque_n_m * speed_rad_s;
        let electrical_w = self.electrical_w(shaft_w);
        let current_a = electrical_w / bus_voltage_v;
        DriveOperation {
            electrical_w,
            current_a,
            motor_current_a: current_a,
            voltage_v: bus_voltage_v,
            loss_w: electrical_w - shaft_w,
            throttle_ratio: 1.0,
            winding_temperature_k: None,
            limit: match self.max_shaft_w {
                Some(max) => LimitUse { kind: DriveLimit::Power, used_ratio: shaft_w.max(0.0) / max },
                None => LimitUse { kind: DriveLimit::Unlimited, used_ratio: 0.0 },
            },
        }
    }
}

/// Thermal path of a winding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermal {
    /// Winding to air, K/W, in the rotor wake.
    pub resistance_k_per_w: f64,
    /// Largest winding temperature, K.
    pub max_winding_k: f64,
    /// Temperature of the air that [`Drive::operate`] counts with, K.
    pub air_k: f64,
}

/// A motor at one voltage and current.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct MotorPoint {
    /// Speed, rad/s.
    pub speed_rad_s: f64,
    /// Torque at the shaft, N·m.
    pub torque_n_m: f64,
    /// Shaft power, W.
    pub shaft_w: f64,
    /// Power at the terminals, W.
    pub electrical_w: f64,
}

impl MotorPoint {
    /// Shaft over terminal power; 0 without power.
    pub fn efficiency(&self) -> f64 {
        if self.electrical_w > 0.0 { self.shaft_w / self.electrical_w } else { 0.0 }
    }
}

/// A drive known by motor constants: the first-order direct-current motor (M. Drela, *First-order DC electric motor model*, MIT,
/// 2007) behind a controller. i = τ/K_t + I₀, V = ω/K_v + iR, K_t = 1/K_v in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorDrive {
    /// Speed constant, rad/s per volt (rpm per volt × π/30), 0.1 to 1e4.
    pub speed_constant_rad_s_per_v: f64,
    /// Winding resistance between terminals at 20 °C, Ω, 0 to 100.
    pub resistance_ohm: f64,
    /// No-load current, A, 0 to 100.
    pub no_load_current_a: f64,
    /// Resistance of the controller in series with the motor, Ω, 0 to 10.
    pub controller_resistance_ohm: f64,
    /// Switching and other losses of the controller: power into the bridge ÷ power from the bus, 0.05 to 1.
    pub controller_ratio: f64,
    /// Power that the controller draws at rest, W, 0 to 1e3.
    pub controller_standby_w: f64,
    /// Largest continuous motor current, A, if one is known.
    pub max_current_a: Option<f64>,
    /// Thermal path of the winding, if known; without it the resistance stays at 20 °C.
    pub thermal: Option<Thermal>,
}

impl MotorDrive {
    /// A motor behind a lossless controller, without limits but the bus voltage.
    pub fn ideal_controller(
        speed_constant_rad_s_per_v: f64,
        resistance_ohm: f64,
        no_load_current_a: f64,
    ) -> Self {
        Self {
            speed_constant_rad_s_per_v,
            resistance_ohm,
            no_load_current_a,
            controller_resistance_ohm: 0.0,
            controller_ratio: 1.0,
            controller_standby_w: 0.0,
            max_current_a: None,
            thermal: None,
        }
    }

    /// Checks every number against its range.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn check(&self) -> Result<(), RotorError> {
        in_range("speed constant", "rad/s/V", self.speed_constant_rad_s_per_v, 0.1, 1e4)?;
        in_range("winding resistance", "Ω", self.resistance_ohm, 0.0, 100.0)?;
        in_range("no-load current", "A", self.no_load_current_a, 0.0, 100.0)?;
        in_range("controller resistance", "Ω", self.controller_resistance_ohm, 0.0, 10.0)?;
        in_range("controller efficiency", "", self.controller_ratio, 0.05, 1.0)?;
        in_range("controller standby power", "W", self.controller_standby_w, 0.0, 1e3)?;
        if let Some(max) = self.max_current_a {
            in_range("current limit", "A", max, 1e-3, 1e4)?;
        }
        if let Some(thermal) = self.thermal {
            in_range("winding thermal resistance", "K/W", thermal.resistance_k_per_w, 0.0, 1e3)?;
            in_range("air temperature", "K", thermal.air_k, 180.0, 340.0)?;
            in_range("winding temperature limit", "K", thermal.max_winding_k, thermal.air_k + 1.0, 700.0)?;
        }
        Ok(())
    }

    /// The motor alone at a terminal voltage (V) and current (A), as a data sheet tabulates it, winding at 20 °C.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::MotorDrive;
    /// // A 6 V brushed motor, 2760 rpm/V, 0.31 Ω, 0.77 A.
    /// let motor = MotorDrive::ideal_controller(2760.0 * std::f64::consts::PI / 30.0, 0.31, 0.77);
    /// let point = motor.at_current(6.0, 10.0);
    /// assert!((point.shaft_w - 26.767).abs() < 1e-3 && (point.efficiency() - 0.446_117).abs() < 1e-6);
    /// ```
    pub fn at_current(&self, voltage_v: f64, current_a: f64) -> MotorPoint {
        let speed_rad_s = self.speed_constant_rad_s_per_v * (voltage_v - current_a * self.resistance_ohm);
        let torque_n_m = (current_a - self.no_load_current_a) / self.speed_constant_rad_s_per_v;
        let electrical_w = voltage_v * current_a;
        MotorPoint { speed_rad_s, torque_n_m, shaft_w: torque_n_m * speed_rad_s, electrical_w }
    }

    /// Current of the best efficiency at a terminal voltage, A: √(V I₀/R); `None` without resistance.
    ///
    /// # Examples
    /// ```
    /// let motor = beamstay_rotor::MotorDrive::ideal_controller(289.03, 0.31, 0.77);
    /// assert!((motor.best_current_a(6.0).unwrap() - 3.860_470).abs() < 1e-6);
    /// ```
    pub fn best_current_a(&self, voltage_v: f64) -> Option<f64> {
        (self.resistance_ohm > 0.0).then(|| (voltage_v * self.no_load_current_a / self.resistance_ohm).sqrt())
    }

    fn operate(&self, torque_n_m: f64, speed_rad_s: f64, bus_voltage_v: f64) -> DriveOperation {
        let current_a = torque_n_m.max(0.0) * self.speed_constant_rad_s_per_v + self.no_load_current_a;
        let back_v = speed_rad_s / self.speed_constant_rad_s_per_v;
        let no_load_w = back_v * self.no_load_current_a;
        let winding = self.thermal.map(|t| (t, self.winding_temperature_k(&t, current_a, no_load_w)));
        let resistance_ohm =
            winding.map_or(self.resistance_ohm, |(t, k)| self.resistance_at_ohm(k.min(t.max_winding_k)));
        let voltage_v = back_v + current_a * resistance_ohm;
        let bridge_v = voltage_v + current_a * self.controller_resistance_ohm;
        let electrical_w = bridge_v * current_a / self.controller_ratio + self.controller_standby_w;
        let mut limit = LimitUse { kind: DriveLimit::Voltage, used_ratio: bridge_v / bus_voltage_v };
        let mut bind = |kind, used_ratio| {
            if used_ratio > limit.used_ratio {
                limit = LimitUse { kind, used_ratio };
            }
        };
        if let Some(max_a) = self.max_current_a {
            bind(DriveLimit::Current, current_a / max_a);
        }
        if let Some((t, k)) = winding {
            bind(DriveLimit::Temperature, (k - t.air_k) / (t.max_winding_k - t.air_k));
        }
        DriveOperation {
            electrical_w,
            current_a: electrical_w / bus_voltage_v,
            motor_current_a: current_a,
            voltage_v,
            loss_w: electrical_w - torque_n_m * speed_rad_s,
            throttle_ratio: bridge_v / bus_voltage_v,
            winding_temperature_k: winding.map(|(_, k)| k),
            limit,
        }
    }

    fn resistance_at_ohm(&self, winding_k: f64) -> f64 {
        self.resistance_ohm * (1.0 + COPPER_PER_K * (winding_k - RESISTANCE_REFERENCE_K))
    }

    /// Steady winding temperature, K: air + R_th·(i²R(T) + no-load loss), linear in T. Beyond the limit, or where the rising
    /// resistance would run away, the resistance is held at the limit: the answer is then a finite number above the limit.
    fn winding_temperature_k(&self, thermal: &Thermal, current_a: f64, no_load_w: f64) -> f64 {
        let copper_k = thermal.resistance_k_per_w * current_a * current_a * self.resistance_ohm;
        let base_k = thermal.air_k + thermal.resistance_k_per_w * no_load_w;
        let held_k =
            base_k + copper_k * (1.0 + COPPER_PER_K * (thermal.max_winding_k - RESISTANCE_REFERENCE_K));
        if held_k >= thermal.max_winding_k {
            return held_k;
        }
        (base_k + copper_k * (1.0 - COPPER_PER_K * RESISTANCE_REFERENCE_K)) / (1.0 - copper_k * COPPER_PER_K)
    }
}

impl Drive {
    /// Shaft power that the drive makes of `electrical_w` at `speed_rad_s` above 0, W: [`Self::operate`] turned round, to read a
    /// test stand that measures at the bus.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] for a number outside its range, or an electrical power that the drive takes without any torque.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{Drive, MotorDrive};
    /// let motor = MotorDrive::ideal_controller(2760.0 * std::f64::consts::PI / 30.0, 0.31, 0.77);
    /// // 60 W at 8004 rpm are 26.767 W at the shaft.
    /// assert!((Drive::Motor(motor).shaft_w(60.0, 838.177, 7.2)? - 26.767).abs() < 1e-3);
    /// # Ok::<(), beamstay_rotor::RotorError>(())
    /// ```
    pub fn shaft_w(
        &self,
        electrical_w: f64,
        speed_rad_s: f64,
        bus_voltage_v: f64,
    ) -> Result<f64, RotorError> {
        in_range("shaft speed", "rad/s", speed_rad_s, 1e-3, 1e5)?;
        let idle_w = self.operate(0.0, speed_rad_s, bus_voltage_v)?.electrical_w;
        in_range("electrical power at this speed", "W", electrical_w, idle_w, 1e9)?;
        // The shaft gets no more than the bus gives.
        let most_n_m = electrical_w / speed_rad_s;
        let excess_w = |torque_n_m: f64| {
            self.operate(torque_n_m, speed_rad_s, bus_voltage_v)
                .map_or(f64::MAX, |o| o.electrical_w - electrical_w)
        };
        let root = bracketed(excess_w, 0.0, most_n_m, Tolerance::default());
        Ok(root.map_or(most_n_m, |root| root.x) * speed_rad_s)
    }

    /// What the drive draws for `torque_n_m` (negative: the air drives the rotor; nothing is given back) at
    /// `speed_rad_s` ≥ 0 from a bus of `bus_voltage_v`. A limit that is exceeded is told in
    /// [`DriveOperation::limit`], not refused.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{Drive, MotorDrive};
    /// let motor = MotorDrive::ideal_controller(2760.0 * std::f64::consts::PI / 30.0, 0.31, 0.77);
    /// // 10 A at 6 V give 0.0319348 N·m at 8004 rpm; from a bus of 7.2 V that is 83 % throttle.
    /// let o = Drive::Motor(motor).operate(0.0319348, 838.177, 7.2)?;
    /// assert!((o.electrical_w - 60.0).abs() < 1e-3 && (o.throttle_ratio - 0.8333).abs() < 1e-4);
    /// # Ok::<(), beamstay_rotor::RotorError>(())
    /// ```
    pub fn operate(
        &self,
        torque_n_m: f64,
        speed_rad_s: f64,
        bus_voltage_v: f64,
    ) -> Result<DriveOperation, RotorError> {
        in_range("shaft torque", "N·m", torque_n_m, -1e6, 1e6)?;
        in_range("shaft speed", "rad/s", speed_rad_s, 0.0, 1e5)?;
        in_range("bus voltage", "V", bus_voltage_v, 0.1, 1e5)?;
        Ok(match self {
            Self::Efficiency(drive) => drive.operate(torque_n_m, speed_rad_s, bus_voltage_v),
            Self::Motor(drive) => {
                drive.check()?;
                drive.operate(torque_n_m, speed_rad_s, bus_voltage_v)
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn motor() -> MotorDrive {
        MotorDrive {
            controller_resistance_ohm: 0.01,
            controller_ratio: 0.97,
            controller_standby_w: 0.5,
            max_current_a: Some(30.0),
            thermal: Some(Thermal { resistance_k_per_w: 1.5, max_winding_k: 393.15, air_k: 293.15 }),
            ..MotorDrive::ideal_controller(40.0, 0.08, 0.6)
        }
    }

    fn limit_of(torque_n_m: f64, speed_rad_s: f64, bus_v: f64) -> LimitUse {
        Drive::Motor(motor()).operate(torque_n_m, speed_rad_s, bus_v).unwrap().limit
    }

    #[test]
    fn each_limit_can_bind() {
        let voltage = limit_of(0.05, 1000.0, 24.0);
        assert!(voltage.kind == DriveLimit::Voltage && voltage.used_ratio > 1.0, "{voltage:?}");
        let temperature = limit_of(0.6, 300.0, 48.0);
        assert!(temperature.kind == DriveLimit::Temperature, "{temperature:?}");
        let mut cool = motor();
        cool.thermal = None;
        let current = Drive::Motor(cool).operate(0.9, 300.0, 48.0).unwrap().limit;
        assert!(current.kind == DriveLimit::Current && current.used_ratio > 1.0, "{current:?}");
    }

    #[test]
    fn winding_temperature_solves_its_own_balance() {
        let drive = motor();
        let o = Drive::Motor(drive).operate(0.4, 400.0, 48.0).unwrap();
        let winding_k = o.winding_temperature_k.unwrap();
        let resistance = drive.resistance_at_ohm(winding_k);
        let heat_w = o.motor_current_a.powi(2) * resistance + 400.0 / 40.0 * 0.6;
        assert!((winding_k - 293.15 - 1.5 * heat_w).abs() < 1e-9, "{o:?}");
    }

    #[test]
    fn thermal_runaway_is_a_finite_excess() {
        let o = Drive::Motor(motor()).operate(40.0, 400.0, 400.0).unwrap();
        assert!(o.winding_temperature_k.unwrap().is_finite() && o.limit.used_ratio > 10.0);
    }

    #[test]
    fn power_limit_of_an_efficiency_drive() {
        let mut drive = EfficiencyDrive::new(0.8, 0.95).unwrap();
        drive.max_shaft_w = Some(100.0);
        let o = Drive::Efficiency(drive).operate(1.0, 120.0, 24.0).unwrap();
        assert_eq!(o.limit, LimitUse { kind: DriveLimit::Power, used_ratio: 1.2 });
    }

    #[test]
    fn each_number_is_checked() {
        assert!(EfficiencyDrive::new(0.0, 0.9).is_err() && EfficiencyDrive::new(0.9, 1.01).is_err());
        let good = motor();
        assert!(good.check().is_ok());
        let thermal = |t| MotorDrive { thermal: Some(t), ..good };
        let bad = [
            MotorDrive { speed_constant_rad_s_per_v: 0.0, ..good },
            MotorDrive { resistance_ohm: -1.0, ..good },
            MotorDrive { no_load_current_a: f64::NAN, ..good },
            MotorDrive { controller_resistance_ohm: 11.0, ..good },
            MotorDrive { controller_ratio: 0.0, ..good },
            MotorDrive { controller_standby_w: -1.0, ..good },
            MotorDrive { max_current_a: Some(0.0), ..good },
            thermal(Thermal { resistance_k_per_w: -1.0, max_winding_k: 400.0, air_k: 300.0 }),
            thermal(Thermal { resistance_k_per_w: 1.0, max_winding_k: 300.0, air_k: 300.0 }),
            thermal(Thermal { resistance_k_per_w: 1.0, max_winding_k: 400.0, air_k: 0.0 }),
        ];
        for drive in bad {
            assert!(drive.check().is_err(), "{drive:?}");
            assert!(Drive::Motor(drive).operate(0.1, 100.0, 24.0).is_err());
        }
        for (torque, speed, bus) in [(f64::NAN, 1.0, 1.0), (1.0, -1.0, 1.0), (1.0, 1.0, 0.0)] {
            assert!(Drive::Motor(good).operate(torque, speed, bus).is_err());
        }
    }
}
