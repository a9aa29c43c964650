//! A dc-dc converter: power in to power out and back, loss, and mass.
//!
//! The loss is a constant part (control, gate drive, magnetising), a part in proportion to the output (forward drops,
//! switching) and a part with its square (resistance):
//! `input = standby + (1 + k₁)·output + k₂·output²`. This is the usual three-term loss curve of power conversion
//! (common practice; the same form as the fit of inverter efficiency in H. Schmidt and D. U. Sauer,
//! *Wechselrichter-Wirkungsgrade*, Sonnenenergie 4, 1996, from memory). Both directions are closed forms, so they
//! are exact inverses of each other.

use crate::ElectricalError;
use beamstay_numerics::domain::in_range;

/// What a data sheet says of a converter; [`Converter::new`] turns it into a loss curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConverterSpec {
    /// Continuous output it is built for, W; 1e-3 to 1e7.
    pub rated_output_w: f64,
    /// Output over input at rated output; 0.5 to 1.
    pub efficiency_at_rated_ratio: f64,
    /// Loss without load, W; 0 up to the whole loss at rated output.
    pub standby_w: f64,
    /// Share of the load-dependent loss at rated output that goes with the square of the output; 0 to 1.
    pub resistive_share_ratio: f64,
    /// Mass that does not grow with the rating (case, filter, connectors), kg; 0 to 1000.
    pub fixed_mass_kg: f64,
    /// Rated output per kilogram of the part that grows with it, W/kg; 10 to 1e6.
    pub specific_power_w_per_kg: f64,
}

impl ConverterSpec {
    /// Defaults for an airborne isolated converter of the given rating: efficiency 0.95, standby 1 % of the rating,
    /// half of the load-dependent loss resistive, 2.5 kW/kg and 0.15 kg of fixed mass.
    ///
    /// These are judgements, not a source: sizing studies use 4 to 11 kW/kg and 0.98, but such figures leave out
    /// heat sink, filter and case; small complete units reach 1 to 4 kW/kg and 0.94 to 0.97 (common practice, no
    /// source). Vary 1 to 8 kW/kg and 0.92 to 0.985 when it matters.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Converter, ConverterSpec};
    /// let converter = Converter::new(ConverterSpec::airborne(1000.0)).unwrap();
    /// assert!((converter.mass_kg() - 0.55).abs() < 1e-12);
    /// assert!((converter.input_w(1000.0) - 1000.0 / 0.95).abs() < 1e-9);
    /// ```
    pub fn airborne(rated_output_w: f64) -> Self {
        Self {
            rated_output_w,
            efficiency_at_rated_ratio: 0.95,
            standby_w: 0.01 * rated_output_w,
            resistive_share_ratio: 0.5,
            fixed_mass_kg: 0.15,
            specific_power_w_per_kg: 2500.0,
        }
    }
}

/// A converter with a validated loss curve. Both directions are total: every finite power gives a finite answer.
///
/// Nothing stops at the rating, so that a margin can be negative: compare with [`Converter::rated_output_w`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converter {
    rated_output_w: f64,
    standby_w: f64,
    proportional_loss_ratio: f64,
    resistive_loss_per_w: f64,
    mass_kg: f64,
}

impl Converter {
    /// Builds the loss curve through the rated point.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside the ranges of [`ConverterSpec`];
    /// [`ElectricalError::StandbyAboveRatedLoss`] if the standby loss leaves none for the load.
    pub fn new(spec: ConverterSpec) -> Result<Self, ElectricalError> {
        let rated_output_w = in_range("converter rated output", "W", spec.rated_output_w, 1e-3, 1e7)?;
        let efficiency_ratio =
            in_range("converter efficiency at rated output", "", spec.efficiency_at_rated_ratio, 0.5, 1.0)?;
        let standby_w = in_range("converter standby loss", "W", spec.standby_w, 0.0, 1e7)?;
        let resistive_share_ratio =
            in_range("converter resistive share of loss", "", spec.resistive_share_ratio, 0.0, 1.0)?;
        let fixed_mass_kg = in_range("converter fixed mass", "kg", spec.fixed_mass_kg, 0.0, 1000.0)?;
        let specific_power_w_per_kg =
            in_range("converter specific power", "W/kg", spec.specific_power_w_per_kg, 10.0, 1e6)?;
        let rated_loss_w = rated_output_w * (1.0 / efficiency_ratio - 1.0);
        if standby_w > rated_loss_w {
            return Err(ElectricalError::StandbyAboveRatedLoss { standby_w, rated_loss_w });
        }
        let load_loss_ratio = (rated_loss_w - standby_w) / rated_output_w;
        Ok(Self {
            rated_output_w,
            standby_w,
            proportional_loss_ratio: load_loss_ratio * (1.0 - resistive_share_ratio),
            resistive_loss_per_w: load_loss_ratio * resistive_share_ratio / rated_output_w,
            mass_kg: fixed_mass_kg + rated_output_w / specific_power_w_per_kg,
        })
    }

    /// A pass-through without loss, mass or rating, for a bus that needs no converter.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Converter;
    /// assert_eq!(Converter::ideal().output_w(123.0), 123.0);
    /// assert_eq!(Converter::ideal().mass_kg(), 0.0);
    /// ```
    pub fn ideal() -> Self {
        Self {
            rated_output_w: f64::MAX,
            standby_w: 0.0,
            proportional_loss_ratio: 0.0,
            resistive_loss_per_w: 0.0,
            mass_kg: 0.0,
        }
    }

    /// Power at the output for `input_w` at the input, W; 0 at and below the standby loss. A negative input counts
    /// as 0.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Converter, ConverterSpec};
    /// let converter = Converter::new(ConverterSpec::airborne(1000.0)).unwrap();
    /// assert_eq!(converter.output_w(10.0), 0.0);
    /// assert!((converter.output_w(converter.input_w(400.0)) - 400.0).abs() < 1e-10);
    /// ```
    pub fn output_w(&self, input_w: f64) -> f64 {
        let available_w = input_w - self.standby_w;
        if available_w > 0.0 { available_w / self.input_per_output_ratio(available_w) } else { 0.0 }
    }

    /// Input less standby, divided by the output: (b + √(b² + 4·k₂·available))/2 with b = 1 + k₁.
    fn input_per_output_ratio(&self, available_w: f64) -> f64 {
        let b = 1.0 + self.proportional_loss_ratio;
        let root = (b * b + 4.0 * self.resistive_loss_per_w * available_w).sqrt();
        if root.is_finite() {
            0.5 * (b + root)
        } else {
            // Only an absurd power gets here; taken apart, its root still fits.
            b.max(self.resistive_loss_per_w.sqrt() * available_w.sqrt())
        }
    }

    /// Power at the input that gives `output_w` at the output, W; the standby loss at 0. A negative output counts as
    /// 0; what would overflow is held at the largest finite number.
    pub fn input_w(&self, output_w: f64) -> f64 {
        let output_w = output_w.max(0.0);
        let per_output = 1.0 + self.proportional_loss_ratio + self.resistive_loss_per_w * output_w;
        (self.standby_w + per_output * output_w).min(f64::MAX)
    }

    /// Heat made while giving `output_w`, W: input less output.
    pub fn loss_w(&self, output_w: f64) -> f64 {
        let output_w = output_w.max(0.0);
        let per_output = self.proportional_loss_ratio + self.resistive_loss_per_w * output_w;
        (self.standby_w + per_output * output_w).min(f64::MAX)
    }

    /// Output over input while giving `output_w`; 0 without load.
    pub fn efficiency_ratio(&self, output_w: f64) -> f64 {
        if output_w > 0.0 { output_w / self.input_w(output_w) } else { 0.0 }
    }

    /// Mass, kg: fixed part plus rating over specific power.
    pub fn mass_kg(&self) -> f64 {
        self.mass_kg
    }

    /// Continuous output it is built for, W; the largest finite number for [`Converter::ideal`].
    pub fn rated_output_w(&self) -> f64 {
        self.rated_output_w
    }

    /// Loss without load, W.
    pub fn standby_w(&self) -> f64 {
        self.standby_w
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn spec() -> ConverterSpec {
        ConverterSpec::airborne(500.0)
    }

    #[test]
    fn each_argument_is_checked() {
        let wrong = [
            ConverterSpec { rated_output_w: 0.0, ..spec() },
            ConverterSpec { efficiency_at_rated_ratio: 1.0 + 1e-12, ..spec() },
            ConverterSpec { efficiency_at_rated_ratio: 0.499, ..spec() },
            ConverterSpec { standby_w: -1e-9, ..spec() },
            ConverterSpec { standby_w: f64::NAN, ..spec() },
            ConverterSpec { resistive_share_ratio: 1.01, ..spec() },
            ConverterSpec { fixed_mass_kg: -0.1, ..spec() },
            ConverterSpec { specific_power_w_per_kg: 9.9, ..spec() },
        ];
        for spec in wrong {
            assert!(matches!(Converter::new(spec), Err(ElectricalError::OutOfRange(_))), "{spec:?}");
        }
    }

    #[test]
    fn standby_may_take_the_whole_loss_but_not_more() {
        let rated_loss_w = 500.0 * (1.0 / 0.95 - 1.0);
        assert!(Converter::new(ConverterSpec { standby_w: rated_loss_w, ..spec() }).is_ok());
        assert!(matches!(
            Converter::new(ConverterSpec { standby_w: rated_loss_w * 1.0001, ..spec() }),
            Err(ElectricalError::StandbyAboveRatedLoss { .. })
        ));
    }

    #[test]
    fn nothing_comes_out_below_standby() {
        let converter = Converter::new(spec()).unwrap();
        assert_eq!(converter.output_w(converter.standby_w()), 0.0);
        assert_eq!(converter.output_w(-1.0), 0.0);
        assert!(converter.output_w(converter.standby_w() + 1e-9) > 0.0);
        assert_eq!(converter.efficiency_ratio(0.0), 0.0);
    }

    fn any_converter() -> impl Strategy<Value = Converter> {
        (-3.0..7.0f64, 0.5..1.0f64, 0.0..1.0f64, 0.0..=1.0f64).prop_map(
            |(log_w, efficiency_ratio, standby_share, resistive_share_ratio)| {
                let rated_output_w = 10f64.powf(log_w);
                let standby_w = standby_share * rated_output_w * (1.0 / efficiency_ratio - 1.0);
                let rest = ConverterSpec::airborne(rated_output_w);
                Converter::new(ConverterSpec {
                    efficiency_at_rated_ratio: efficiency_ratio,
                    standby_w,
                    resistive_share_ratio,
                    ..rest
                })
                .unwrap()
            },
        )
    }

    proptest! {
        #[test]
        fn prop_directions_are_inverses(converter in any_converter(), load in 1e-3..3.0f64) {
            let output_w = load * converter.rated_output_w();
            let back_w = converter.output_w(converter.input_w(output_w));
            // The input is a sum with the standby loss, so its rounding counts against the output.
            let rounding_w = 8.0 * f64::EPSILON * converter.input_w(output_w);
            prop_assert!((back_w - output_w).abs() <= 1e-14 * output_w + rounding_w, "{back_w} {output_w}");
        }

        #[test]
        fn prop_energy_closes(converter in any_converter(), load in 0.0..3.0f64) {
            let output_w = load * converter.rated_output_w();
            let input_w = converter.input_w(output_w);
            prop_assert!((input_w - output_w - converter.loss_w(output_w)).abs() <= 1e-12 * input_w);
            prop_assert!(output_w <= input_w);
        }

        #[test]
        fn prop_output_and_loss_rise(converter in any_converter(), a in 0.0..3.0f64, step in 1e-6..1.0f64) {
            let (low_w, high_w) = (a * converter.rated_output_w(), (a + step) * converter.rated_output_w());
            prop_assert!(converter.output_w(high_w) >= converter.output_w(low_w));
            prop_assert!(converter.loss_w(high_w) >= converter.loss_w(low_w));
            prop_assert!(converter.input_w(high_w) > converter.input_w(low_w));
        }

        #[test]
        fn prop_hostile_powers_stay_finite(converter in any_converter(), bits in any::<u64>()) {
            let power_w = f64::from_bits(bits);
            if power_w.is_finite() {
                prop_assert!(converter.output_w(power_w).is_finite());
                prop_assert!(converter.input_w(power_w).is_finite());
                prop_assert!(converter.loss_w(power_w).is_finite());
                prop_assert!((0.0..=1.0).contains(&converter.efficiency_ratio(power_w)));
            }
        }
    }
}
