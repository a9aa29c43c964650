//! A rotor known by a test stand: measured thrust, speed and power in hover.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{
    domain::in_range,
    interpolate::{MonotoneCubic, TableError},
};

use crate::{
    disk::{DEFAULT_INDUCED_FACTOR, PROFILE_GROWTH},
    disk_area_m2,
    drive::Drive,
    error::RotorError,
    momentum,
    operation::{Inflow, Operation, check, check_stream},
};

/// One row of a test stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableRow {
    /// Thrust, N.
    pub thrust_n: f64,
    /// Speed of rotation, rad/s.
    pub speed_rad_s: f64,
    /// Power, W, as [`TablePower`] says.
    pub power_w: f64,
}

impl TableRow {
    /// The row of a stand that reads electrical power, with the shaft power that a drive makes of it at the speed of the row.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`] for a number outside its range, or if the drive takes the whole power even without torque.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{Drive, EfficiencyDrive, TableRow};
    /// let drive = Drive::Efficiency(EfficiencyDrive::new(0.8, 0.95)?);
    /// let read = TableRow { thrust_n: 4.6, speed_rad_s: 539.0, power_w: 53.8 };
    /// assert!((read.at_shaft(&drive, 24.0)?.power_w - 40.888).abs() < 1e-9);
    /// # Ok::<(), beamstay_rotor::RotorError>(())
    /// ```
    pub fn at_shaft(self, drive: &Drive, bus_voltage_v: f64) -> Result<Self, RotorError> {
        let power_w = drive.shaft_w(self.power_w, self.speed_rad_s, bus_voltage_v)?;
        Ok(Self { power_w, ..self })
    }
}

/// What the power column holds.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum TablePower {
    /// Shaft power.
    Shaft,
    /// Electrical power. It is turned into shaft power with this ratio; a drive of the same efficiency beside the rotor gives the
    /// measured electrical power back. For a drive known otherwise: [`TableRow::at_shaft`].
    Electrical {
        /// Shaft over electrical power, 0.05 to 1.
        drive_ratio: f64,
    },
}

/// Inputs of a [`TableRotor`].
#[derive(Debug, Clone, PartialEq)]
pub struct TableRotorInputs {
    /// Diameter, m, 0.01 to 50.
    pub diameter_m: f64,
    /// Rows in hover, 2 to 10,000; thrust, speed and power rise from row to row.
    pub rows: Vec<TableRow>,
    /// What the power column holds.
    pub power: TablePower,
    /// Density of the air of the test, kg/m³, 0.1 to 2000.
    pub density_kg_m3: f64,
}

/// Measured rotor, checked.
///
/// Hover: monotone interpolation over thrust; below the first row the coefficients of that row are kept (speed ∝ √T, power ∝ T^1.5).
/// Another density: thrust and power of every row scale with it at equal speed
/// (equal coefficients; the change of Reynolds number is left out). A free stream: the measured shaft power is split into κ times the
/// ideal induced power, κ = 1.15 or less where the measured power leaves less, and a rest; momentum theory
/// ([`momentum::induced_flow`]) changes the first, 1 + 4.65 μ² the second. The speed is held at that of hover: a fixed-pitch rotor
/// turns faster in climb and slower in edgewise flow, so torque is only as good as that.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRotor {
    inputs: TableRotorInputs,
    area_m2: f64,
    speed_rad_s: MonotoneCubic,
    shaft_w: MonotoneCubic,
}

impl TableRotor {
    /// Checks the table.
    ///
    /// # Errors
    /// [`RotorError::Table`] if a column does not rise; [`RotorError::OutOfRange`] for a number outside its range, or a row with more
    /// thrust than its power can lift by momentum theory (figure of merit above 1).
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::{TablePower, TableRotor, TableRotorInputs, TableRow};
    /// let row = |rpm: f64, thrust_n, power_w| TableRow { thrust_n, power_w, speed_rad_s: rpm * std::f64::consts::PI / 30.0 };
    /// let rows = vec![row(3494.0, 1.9314, 11.509), row(5147.0, 4.6414, 40.877), row(6528.0, 7.8404, 88.570)];
    /// let inputs = TableRotorInputs { diameter_m: 0.254, rows, power: TablePower::Shaft, density_kg_m3: 1.225 };
    /// assert!(TableRotor::new(inputs).is_ok());
    /// ```
    pub fn new(inputs: TableRotorInputs) -> Result<Self, RotorError> {
        in_range("rotor diameter", "m", inputs.diameter_m, 0.01, 50.0)?;
        in_range("density of the test", "kg/m³", inputs.density_kg_m3, 0.1, 2e3)?;
        in_range("rotor table row count", "", inputs.rows.len() as f64, 0.0, 1e4)?;
        let ratio = match inputs.power {
            TablePower::Shaft => 1.0,
            TablePower::Electrical { drive_ratio } => {
                in_range("drive efficiency", "", drive_ratio, 0.05, 1.0)?
            }
        };
        let area_m2 = disk_area_m2(inputs.diameter_m);
        check_rows(&inputs, ratio, area_m2)?;
        let column = |of: fn(&TableRow) -> f64| inputs.rows.iter().map(of).collect::<Vec<_>>();
        let curve = |values: Vec<f64>| {
            MonotoneCubic::new(column(|row| row.thrust_n), values)
                .map_err(|cause| RotorError::Table { table: "rotor table", cause })
        };
        let speed_rad_s = curve(column(|row| row.speed_rad_s))?;
        let shaft_w = curve(column(|row| row.power_w).iter().map(|w| w * ratio).collect())?;
        Ok(Self { inputs, area_m2, speed_rad_s, shaft_w })
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &TableRotorInputs {
        &self.inputs
    }

    /// The rotor at one thrust in one stream.
    ///
    /// # Errors
    /// [`RotorError::ThrustAboveLimit`] beyond the last row: nothing is extrapolated there. [`RotorError::OutOfRange`] if thrust, stream or fluid are outside what the model is meant for.
    pub fn operate(&self, thrust_n: f64, inflow: Inflow, fluid: &Fluid) -> Result<Operation, RotorError> {
        check(thrust_n, inflow, fluid)?;
        let denser = fluid.density_kg_m3 / self.inputs.density_kg_m3;
        let max_thrust_n = self.speed_rad_s.range().1;
        let tested_n = thrust_n / denser;
        if tested_n > max_thrust_n * (1.0 + 1e-12) {
            return Err(RotorError::ThrustAboveLimit { thrust_n, max_thrust_n: max_thrust_n * denser });
        }
        let (speed_rad_s, tested_w) = self.in_hover(tested_n);
        let hover_w = tested_w * denser;

        let hover_m_s = momentum::hover_induced_velocity_m_s(thrust_n, self.area_m2, fluid.density_kg_m3);
        let ideal_w = thrust_n * hover_m_s;
        let kappa = if ideal_w > 0.0 {
            DEFAULT_INDUCED_FACTOR.min(hover_w / ideal_w)
        } else {
            DEFAULT_INDUCED_FACTOR
        };
        // Without thrust there is no induced flow; the floor keeps the ratios finite.
        let scale_m_s = hover_m_s.max(1e-9);
        let flow =
            momentum::induced_flow(inflow.axial_m_s / scale_m_s, inflow.edgewise_m_s / scale_m_s, kappa);
        let tip_m_s = 0.5 * self.inputs.diameter_m * speed_rad_s;
        let advance = if tip_m_s > 0.0 { inflow.edgewise_m_s / tip_m_s } else { 0.0 };
        let induced_w = ideal_w * flow.induced_ratio;
        let profile_w = (hover_w - kappa * ideal_w).max(0.0) * (1.0 + PROFILE_GROWTH * advance * advance);
        let axial_w = thrust_n * inflow.axial_m_s;
        let shaft_w = induced_w + profile_w + axial_w;
        let spent_w = induced_w + profile_w;
        Ok(Operation {
            thrust_n,
            induced_velocity_m_s: hover_m_s * flow.induced_ratio / kappa,
            induced_w,
            profile_w,
            axial_w,
            shaft_w,
            torque_n_m: Some(if speed_rad_s > 0.0 { shaft_w / speed_rad_s } else { 0.0 }),
            speed_rad_s: Some(speed_rad_s),
            figure_of_merit: if spent_w > 0.0 { ideal_w / spent_w } else { 0.0 },
            regime: flow.regime,
            tip_mach: Some((tip_m_s + inflow.edgewise_m_s) / fluid.speed_of_sound_m_s),
            blade_loading: None,
        })
    }

    /// Speed, rad/s, and shaft power, W, in hover in the air of the test.
    fn in_hover(&self, thrust_n: f64) -> (f64, f64) {
        let first_n = self.speed_rad_s.range().0;
        if thrust_n >= first_n {
            return (self.speed_rad_s.at(thrust_n), self.shaft_w.at(thrust_n));
        }
        let slower = (thrust_n / first_n).sqrt();
        (self.speed_rad_s.at(first_n) * slower, self.shaft_w.at(first_n) * slower.powi(3))
    }

    /// Thrust of the last row at this density, N; `None` if the stream or fluid are outside the models.
    pub fn max_thrust_n(&self, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
        check_stream(inflow, fluid).ok()?;
        Some(self.speed_rad_s.range().1 * fluid.density_kg_m3 / self.inputs.density_kg_m3)
    }
}

/// Every row on its own, and each against the one before.
fn check_rows(inputs: &TableRotorInputs, ratio: f64, area_m2: f64) -> Result<(), RotorError> {
    let rises = |a: f64, b: f64| b > a;
    for (row, now) in inputs.rows.iter().enumerate() {
        in_range("thrust of a table row", "N", now.thrust_n, 1e-4, 1e6)?;
        in_range("speed of a table row", "rad/s", now.speed_rad_s, 1e-2, 1e5)?;
        in_range("power of a table row", "W", now.power_w, 1e-4, 1e9)?;
        if let Some(before) = row.checked_sub(1).map(|i| &inputs.rows[i]) {
            let all = rises(before.thrust_n, now.thrust_n)
                && rises(before.speed_rad_s, now.speed_rad_s)
                && rises(before.power_w, now.power_w);
            if !all {
                return Err(RotorError::Table { table: "rotor table", cause: TableError::NotRising { row } });
            }
        }
        let ideal_w = momentum::ideal_hover_power_w(now.thrust_n, area_m2, inputs.density_kg_m3);
        let merit = ideal_w / (now.power_w * ratio);
        in_range("figure of merit of a table row", "", merit, 1e-6, 1.0)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::AIR;

    fn inputs() -> TableRotorInputs {
        let row = |rpm: f64, thrust_n, power_w| TableRow {
            thrust_n,
            power_w,
            speed_rad_s: rpm * std::f64::consts::PI / 30.0,
        };
        TableRotorInputs {
            diameter_m: 0.254,
            rows: vec![row(3494.0, 1.9314, 11.509), row(5147.0, 4.6414, 40.877), row(6528.0, 7.8404, 88.570)],
            power: TablePower::Shaft,
            density_kg_m3: 1.225,
        }
    }

    #[test]
    fn rows_come_back_and_scale_with_density() {
        let rotor = TableRotor::new(inputs()).unwrap();
        let o = rotor.operate(4.6414, Inflow::HOVER, &AIR).unwrap();
        assert!((o.shaft_w - 40.877).abs() < 1e-9);
        let thin = Fluid { density_kg_m3: 1.0, ..AIR };
        let o = rotor.operate(4.6414 / 1.225, Inflow::HOVER, &thin).unwrap();
        assert!((o.shaft_w - 40.877 / 1.225).abs() < 1e-9);
        assert!((o.speed_rad_s.unwrap() - 5147.0 * std::f64::consts::PI / 30.0).abs() < 1e-9);
    }

    #[test]
    fn outside_the_table_is_refused_with_its_limit() {
        let rotor = TableRotor::new(inputs()).unwrap();
        assert!(rotor.operate(7.8404, Inflow::HOVER, &AIR).is_ok());
        assert_eq!(
            rotor.operate(7.85, Inflow::HOVER, &AIR),
            Err(RotorError::ThrustAboveLimit { thrust_n: 7.85, max_thrust_n: 7.8404 })
        );
        assert_eq!(rotor.max_thrust_n(Inflow::HOVER, &AIR), Some(7.8404));
    }

    #[test]
    fn below_the_table_the_coefficients_of_its_first_row_are_kept() {
        let rotor = TableRotor::new(inputs()).unwrap();
        let first = rotor.operate(1.9314, Inflow::HOVER, &AIR).unwrap();
        let low = rotor.operate(0.25 * 1.9314, Inflow::HOVER, &AIR).unwrap();
        assert!((low.speed_rad_s.unwrap() / first.speed_rad_s.unwrap() - 0.5).abs() < 1e-12);
        assert!((low.shaft_w / first.shaft_w - 0.125).abs() < 1e-12);
        assert!((low.figure_of_merit - first.figure_of_merit).abs() < 1e-12);
        let none = rotor.operate(0.0, Inflow { axial_m_s: 2.0, edgewise_m_s: 3.0 }, &AIR).unwrap();
        assert_eq!((none.shaft_w, none.torque_n_m), (0.0, Some(0.0)));
    }

    #[test]
    fn a_motor_turns_electrical_rows_into_shaft_rows_and_back() {
        let mut motor = crate::MotorDrive::ideal_controller(90.0, 0.08, 0.6);
        motor.controller_resistance_ohm = 0.02;
        motor.controller_ratio = 0.97;
        let drive = Drive::Motor(motor);
        for row in inputs().rows {
            let torque_n_m = row.power_w / row.speed_rad_s;
            let electrical_w = drive.operate(torque_n_m, row.speed_rad_s, 16.0).unwrap().electrical_w;
            let back = TableRow { power_w: electrical_w, ..row }.at_shaft(&drive, 16.0).unwrap();
            assert!((back.power_w / row.power_w - 1.0).abs() < 1e-9, "{back:?}");
        }
        let idle = TableRow { power_w: 0.1, ..inputs().rows[0] };
        assert!(idle.at_shaft(&drive, 16.0).is_err(), "less than the motor takes without torque");
    }

    #[test]
    fn electrical_power_is_turned_into_shaft_power() {
        let electrical = TableRotorInputs { power: TablePower::Electrical { drive_ratio: 0.8 }, ..inputs() };
        let mut rows = electrical.rows.clone();
        rows.iter_mut().for_each(|row| row.power_w /= 0.8);
        let rotor = TableRotor::new(TableRotorInputs { rows, ..electrical }).unwrap();
        assert!((rotor.operate(4.6414, Inflow::HOVER, &AIR).unwrap().shaft_w - 40.877).abs() < 1e-9);
    }

    #[test]
    fn bad_tables_are_refused() {
        let change = |f: fn(&mut TableRotorInputs)| {
            let mut bad = inputs();
            f(&mut bad);
            TableRotor::new(bad)
        };
        assert!(change(|t| t.rows.truncate(1)).is_err());
        assert!(change(|t| t.rows.swap(0, 1)).is_err());
        assert!(change(|t| t.rows[2].speed_rad_s = 100.0).is_err());
        assert!(change(|t| t.rows[2].power_w = 30.0).is_err());
        assert!(change(|t| t.rows[1].thrust_n = f64::NAN).is_err());
        assert!(change(|t| t.rows[0].power_w = 1.0).is_err(), "more lift than its power can make");
        assert!(change(|t| t.density_kg_m3 = 0.0).is_err());
        assert!(change(|t| t.diameter_m = -1.0).is_err());
        assert!(change(|t| t.power = TablePower::Electrical { drive_ratio: 1.1 }).is_err());
    }
}
