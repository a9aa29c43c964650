//! Open-circuit voltage of a cell against state of charge.

use crate::ElectricalError;
use beamstay_numerics::{domain::in_range, interpolate::MonotoneCubic};

/// Open-circuit voltage of one cell; state of charge runs from 0 (empty) to 1 (full).
#[derive(Debug, Clone, PartialEq)]
pub struct OpenCircuitCurve {
    form: Form,
}

#[derive(Debug, Clone, PartialEq)]
enum Form {
    /// `offset + gain · Chen-Rincón-Mora`.
    Polymer { offset_v: f64, gain_ratio: f64 },
    /// Rows of a table.
    Table(MonotoneCubic),
}

/// M. Chen and G. A. Rincón-Mora, IEEE Trans. Energy Convers. 21 (2006), fit of a polymer Li-ion cell:
/// −1.031·e^(−35s) + 3.685 + 0.2156s − 0.1178s² + 0.3201s³, V.
fn polymer_v(s: f64) -> f64 {
    -1.031 * (-35.0 * s).exp() + 3.685 + s * (0.2156 + s * (-0.1178 + s * 0.3201))
}

/// Integral of [`polymer_v`] from 0 to `s`, V.
fn polymer_integral_v(s: f64) -> f64 {
    1.031 / 35.0 * (-35.0 * s).exp_m1() + s * (3.685 + s * (0.1078 + s * (-0.1178 / 3.0 + s * 0.080_025)))
}

/// A state of charge brought into 0 to 1; one that is not a number counts as empty.
pub(super) fn share(state_of_charge: f64) -> f64 {
    if state_of_charge.is_nan() { 0.0 } else { state_of_charge.clamp(0.0, 1.0) }
}

impl OpenCircuitCurve {
    /// The polymer lithium-ion cell of Chen and Rincón-Mora (2006) as published: 2.654 V empty, 4.103 V full, 3.804 V on
    /// the mean. Its shape serves other polymer cells; its 4.10 V is low for a cell charged to 4.20 V, which is the safe
    /// side.
    ///
    /// # Examples
    /// ```
    /// let curve = beamstay_electrical::OpenCircuitCurve::polymer();
    /// assert!((curve.voltage_v(0.5) - 3.80336).abs() < 1e-5);
    /// ```
    pub fn polymer() -> Self {
        Self { form: Form::Polymer { offset_v: 0.0, gain_ratio: 1.0 } }
    }

    /// The same shape stretched to `empty_v` at 0 and `full_v` at 1 (V, 0.5 to 10, the second higher).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside that range.
    ///
    /// # Examples
    /// ```
    /// let curve = beamstay_electrical::OpenCircuitCurve::polymer_between(2.75, 4.2).unwrap();
    /// assert!((curve.voltage_v(1.0) - 4.2).abs() < 1e-12);
    /// ```
    pub fn polymer_between(empty_v: f64, full_v: f64) -> Result<Self, ElectricalError> {
        in_range("empty cell voltage", "V", empty_v, 0.5, 10.0)?;
        in_range("full cell voltage", "V", full_v, empty_v, 10.0)?;
        let gain_ratio = (full_v - empty_v) / (polymer_v(1.0) - polymer_v(0.0));
        Ok(Self { form: Form::Polymer { offset_v: empty_v - gain_ratio * polymer_v(0.0), gain_ratio } })
    }

    /// A curve through measured rows: state of charge rising from 0 to 1, voltage (V, 0.5 to 10) that does not fall.
    ///
    /// # Errors
    /// [`ElectricalError::Table`] if the columns do not fit together, [`ElectricalError::FallingVoltage`] if a voltage is
    /// lower than the one before, [`ElectricalError::OutOfRange`] for ends or voltages outside.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::OpenCircuitCurve;
    /// let curve = OpenCircuitCurve::table(&[0.0, 0.1, 0.9, 1.0], &[2.5, 3.2, 3.35, 3.6]).unwrap();
    /// assert!((curve.voltage_v(0.9) - 3.35).abs() < 1e-12);
    /// ```
    pub fn table(state_of_charge: &[f64], voltage_v: &[f64]) -> Result<Self, ElectricalError> {
        for &voltage_v in voltage_v {
            in_range("cell voltage", "V", voltage_v, 0.5, 10.0)?;
        }
        if let (Some(&first), Some(&last)) = (state_of_charge.first(), state_of_charge.last()) {
            in_range("first state of charge of the table", "", first, 0.0, 0.0)?;
            in_range("last state of charge of the table", "", last, 1.0, 1.0)?;
        }
        if let Some(row) = (1..voltage_v.len()).find(|&row| voltage_v[row] < voltage_v[row - 1]) {
            return Err(ElectricalError::FallingVoltage { row });
        }
        Ok(Self { form: Form::Table(MonotoneCubic::new(state_of_charge.to_vec(), voltage_v.to_vec())?) })
    }

    /// Voltage, V; outside 0 to 1 the end value.
    pub fn voltage_v(&self, state_of_charge: f64) -> f64 {
        let s = share(state_of_charge);
        match &self.form {
            Form::Polymer { offset_v, gain_ratio } => offset_v + gain_ratio * polymer_v(s),
            Form::Table(table) => table.at(s),
        }
    }

    /// Energy per charge between two states of charge, V: the integral of the voltage. Negative downwards. Exact for the
    /// polymer cell, 1e-9 for a smooth table.
    ///
    /// # Examples
    /// ```
    /// let curve = beamstay_electrical::OpenCircuitCurve::polymer();
    /// assert!((curve.integral_v(0.0, 1.0) - 3.804101).abs() < 1e-6);
    /// ```
    pub fn integral_v(&self, from: f64, to: f64) -> f64 {
        let (from, to) = (share(from), share(to));
        match &self.form {
            Form::Polymer { offset_v, gain_ratio } => {
                offset_v * (to - from) + gain_ratio * (polymer_integral_v(to) - polymer_integral_v(from))
            }
            Form::Table(table) => {
                let rule = beamstay_numerics::quadrature::GaussLegendre::<4>::new();
                let step = (to - from) / 100.0;
                let panel = |i: i32| {
                    rule.integrate(
                        |s| table.at(s),
                        from + step * f64::from(i),
                        from + step * f64::from(i + 1),
                    )
                };
                (0..100).map(panel).sum()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn each_table_fault_is_named() {
        let table = OpenCircuitCurve::table;
        assert!(matches!(table(&[], &[]), Err(ElectricalError::Table(_))));
        assert!(matches!(table(&[0.0, 1.0], &[3.0]), Err(ElectricalError::Table(_))));
        assert!(matches!(
            table(&[0.0, 0.5, 1.0], &[3.0, 3.5, 3.4]),
            Err(ElectricalError::FallingVoltage { row: 2 })
        ));
        assert!(matches!(table(&[0.1, 1.0], &[3.0, 4.0]), Err(ElectricalError::OutOfRange(_))));
        assert!(matches!(table(&[0.0, 0.9], &[3.0, 4.0]), Err(ElectricalError::OutOfRange(_))));
        assert!(matches!(table(&[0.0, 1.0], &[0.4, 4.0]), Err(ElectricalError::OutOfRange(_))));
        assert!(matches!(table(&[0.0, 1.0], &[3.0, f64::NAN]), Err(ElectricalError::OutOfRange(_))));
        assert!(OpenCircuitCurve::polymer_between(4.2, 3.0).is_err());
    }

    #[test]
    fn integral_is_that_of_the_voltage() {
        let table_s: Vec<f64> = (0..=20).map(|i| f64::from(i) / 20.0).collect();
        let table_v: Vec<f64> = table_s.iter().map(|&s| 3.0 + s).collect();
        let straight = OpenCircuitCurve::table(&table_s, &table_v).unwrap();
        assert!((straight.integral_v(0.2, 0.8) - 0.6 * 3.5).abs() < 1e-12);
        assert!((straight.integral_v(0.8, 0.2) + 0.6 * 3.5).abs() < 1e-12);
        let polymer = OpenCircuitCurve::polymer_between(3.0, 4.2).unwrap();
        let rule = beamstay_numerics::quadrature::GaussLegendre::<40>::new();
        let numeric = rule.integrate(|s| polymer.voltage_v(s), 0.1, 0.9);
        assert!((polymer.integral_v(0.1, 0.9) - numeric).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn prop_voltage_rises_with_charge(s in -0.5..1.5f64, step in 0.0..0.5f64) {
            let curve = OpenCircuitCurve::polymer();
            prop_assert!(curve.voltage_v(s + step) >= curve.voltage_v(s));
        }
    }
}
