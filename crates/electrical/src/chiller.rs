//! A chiller: heat to be moved from the coolant to the outside air in, electrical power out.

use crate::ElectricalError;
use beamstay_numerics::domain::in_range;

/// How heat moved per electrical work depends on the two temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum CoefficientOfPerformance {
    /// The same at every temperature.
    Fixed {
        /// Heat moved over electrical work; 0.1 to 50.
        cop_ratio: f64,
    },
    /// A constant share of what a reversible machine would do between evaporator and condenser:
    /// `COP = f·T_e/(T_c − T_e)` with `T_e = coolant − evaporator approach`, `T_c = ambient + condenser approach`
    /// (S. Carnot, 1824; the constant share is common practice for one machine near its design point). Capped, so
    /// that cold weather does not promise what no compressor gives.
    CarnotShare {
        /// Share f of the reversible value; 0.05 to 1.
        carnot_share_ratio: f64,
        /// Coolant temperature less evaporating temperature, K; 0 to 50.
        evaporator_approach_k: f64,
        /// Condensing temperature less temperature of the outside air or water, K; 0 to 50.
        condenser_approach_k: f64,
        /// Highest value allowed; 0.1 to 50.
        max_cop_ratio: f64,
    },
}

/// A chiller that keeps a coolant at its temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chiller {
    coefficient_of_performance: CoefficientOfPerformance,
    auxiliary_w: f64,
}

impl Chiller {
    /// A chiller of that performance whose pumps and fans take `auxiliary_w` (W, 0 to 1e6) all the time, besides.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside the ranges given at [`CoefficientOfPerformance`].
    pub fn new(
        coefficient_of_performance: CoefficientOfPerformance,
        auxiliary_w: f64,
    ) -> Result<Self, ElectricalError> {
        match coefficient_of_performance {
            CoefficientOfPerformance::Fixed { cop_ratio } => {
                in_range("chiller coefficient of performance", "", cop_ratio, 0.1, 50.0)?;
            }
            CoefficientOfPerformance::CarnotShare {
                carnot_share_ratio,
                evaporator_approach_k,
                condenser_approach_k,
                max_cop_ratio,
            } => {
                in_range("chiller share of the Carnot value", "", carnot_share_ratio, 0.05, 1.0)?;
                in_range("evaporator approach", "K", evaporator_approach_k, 0.0, 50.0)?;
                in_range("condenser approach", "K", condenser_approach_k, 0.0, 50.0)?;
                in_range("highest coefficient of performance", "", max_cop_ratio, 0.1, 50.0)?;
            }
        }
        in_range("chiller pumps and fans", "W", auxiliary_w, 0.0, 1e6)?;
        Ok(Self { coefficient_of_performance, auxiliary_w })
    }

    /// A chiller with the same coefficient of performance (0.1 to 50) at every temperature and free pumps.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside that range.
    ///
    /// # Examples
    /// ```
    /// let chiller = beamstay_electrical::Chiller::fixed(3.0).unwrap();
    /// assert!((chiller.electrical_w(1000.0, 293.15, 308.15) - 333.333).abs() < 1e-3);
    /// ```
    pub fn fixed(cop_ratio: f64) -> Result<Self, ElectricalError> {
        Self::new(CoefficientOfPerformance::Fixed { cop_ratio }, 0.0)
    }

    /// A small air-cooled chiller: 0.35 of the Carnot value, evaporator 5 K under the coolant, condenser 15 K over
    /// the air, at most 4. Gives 2 to 4 in service (common practice, no source).
    pub fn small_air_cooled() -> Self {
        Self::carnot_share(0.35, 15.0, 4.0)
    }

    /// A large air-cooled chiller: as the small one with 0.5 of the Carnot value, at most 8. Inside the class limits
    /// of EN 15243 Annex I (2.4 to 3.1 at 6 °C water, 3.1 to 3.8 at 14 °C) for 35 °C air.
    pub fn large_air_cooled() -> Self {
        Self::carnot_share(0.5, 15.0, 8.0)
    }

    /// A large water-cooled chiller: 0.5 of the Carnot value, condenser 5 K over the water that leaves it, at most 8.
    /// Inside the class limits of EN 15243 Annex I. The ambient temperature is that of the leaving water.
    pub fn large_water_cooled() -> Self {
        Self::carnot_share(0.5, 5.0, 8.0)
    }

    fn carnot_share(carnot_share_ratio: f64, condenser_approach_k: f64, max_cop_ratio: f64) -> Self {
        let coefficient_of_performance = CoefficientOfPerformance::CarnotShare {
            carnot_share_ratio,
            evaporator_approach_k: 5.0,
            condenser_approach_k,
            max_cop_ratio,
        };
        Self { coefficient_of_performance, auxiliary_w: 0.0 }
    }

    /// Heat moved over compressor work, with the coolant at `coolant_temp_k` and outside air (or cooling water) at
    /// `ambient_temp_k`, K. Always positive: temperatures under 100 K count as 100 K, over 1000 K as 1000 K, and what
    /// is not a number as the worse of the two.
    ///
    /// # Examples
    /// ```
    /// let cop = beamstay_electrical::Chiller::small_air_cooled().cop_ratio(293.15, 308.15);
    /// // 0.35 · 288.15/(323.15 − 288.15)
    /// assert!((cop - 2.8815).abs() < 1e-10);
    /// ```
    pub fn cop_ratio(&self, coolant_temp_k: f64, ambient_temp_k: f64) -> f64 {
        match self.coefficient_of_performance {
            CoefficientOfPerformance::Fixed { cop_ratio } => cop_ratio,
            CoefficientOfPerformance::CarnotShare {
                carnot_share_ratio,
                evaporator_approach_k,
                condenser_approach_k,
                max_cop_ratio,
            } => {
                let evaporating_k = bounded_k(coolant_temp_k, 100.0) - evaporator_approach_k;
                let condensing_k = bounded_k(ambient_temp_k, 1000.0) + condenser_approach_k;
                let lift_k = condensing_k - evaporating_k;
                // Where the outside is colder than the coolant the cap holds: fans and pumps still run.
                if lift_k * max_cop_ratio <= carnot_share_ratio * evaporating_k {
                    max_cop_ratio
                } else {
                    carnot_share_ratio * evaporating_k / lift_k
                }
            }
        }
    }

    /// Electrical power that moves `heat_w` (W, a negative one counts as 0) out of the coolant, W: heat over the
    /// coefficient of performance plus pumps and fans. The heat that leaves to the outside is the sum of both.
    pub fn electrical_w(&self, heat_w: f64, coolant_temp_k: f64, ambient_temp_k: f64) -> f64 {
        let compressor_w = heat_w.max(0.0) / self.cop_ratio(coolant_temp_k, ambient_temp_k);
        (compressor_w + self.auxiliary_w).min(f64::MAX)
    }
}

fn bounded_k(temp_k: f64, if_not_a_number_k: f64) -> f64 {
    if temp_k.is_nan() { if_not_a_number_k } else { temp_k.clamp(100.0, 1000.0) }
}

/// Heat moved over work of a reversible machine between two temperatures, K; 0 if the hot side is not the hotter
/// (no work is needed then, and no ratio exists).
///
/// # Examples
/// ```
/// let cop = beamstay_electrical::chiller::carnot_cop_ratio(293.15, 318.15);
/// assert!((cop - 11.726).abs() < 1e-12);
/// ```
pub fn carnot_cop_ratio(cold_k: f64, hot_k: f64) -> f64 {
    if hot_k > cold_k && cold_k > 0.0 { cold_k / (hot_k - cold_k) } else { 0.0 }
}

/// British thermal units per watt-hour: energy efficiency ratio over coefficient of performance (exact definition
/// of the international table unit, 1055.055 852 62 J).
pub const BTU_PER_WH: f64 = 3600.0 / 1_055.055_852_62;

/// Coefficient of performance of an energy efficiency ratio printed in Btu/(W·h).
pub fn cop_ratio_from_eer(eer_btu_per_wh: f64) -> f64 {
    eer_btu_per_wh / BTU_PER_WH
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn val_an_energy_efficiency_ratio_is_in_btu() {
        // 1 W·h is 3.412142 Btu (international table).
        assert!((cop_ratio_from_eer(3.412_142) - 1.0).abs() < 1e-6);
        assert!((cop_ratio_from_eer(13.0) - 3.809_924).abs() < 1e-5);
    }

    #[test]
    fn each_argument_is_checked() {
        assert!(Chiller::fixed(0.0999).is_err() && Chiller::fixed(0.1).is_ok());
        assert!(Chiller::fixed(f64::NAN).is_err());
        let good = |share, evaporator, condenser, cap, auxiliary_w| {
            let cop = CoefficientOfPerformance::CarnotShare {
                carnot_share_ratio: share,
                evaporator_approach_k: evaporator,
                condenser_approach_k: condenser,
                max_cop_ratio: cap,
            };
            Chiller::new(cop, auxiliary_w).is_ok()
        };
        assert!(good(0.5, 5.0, 5.0, 6.0, 20.0));
        assert!(!good(1.01, 5.0, 5.0, 6.0, 20.0));
        assert!(!good(0.5, -0.1, 5.0, 6.0, 20.0));
        assert!(!good(0.5, 5.0, 50.1, 6.0, 20.0));
        assert!(!good(0.5, 5.0, 5.0, 51.0, 20.0));
        assert!(!good(0.5, 5.0, 5.0, 6.0, -1.0));
    }

    #[test]
    fn cold_weather_gives_the_cap_and_pumps_still_run() {
        let cop = CoefficientOfPerformance::CarnotShare {
            carnot_share_ratio: 0.4,
            evaporator_approach_k: 5.0,
            condenser_approach_k: 10.0,
            max_cop_ratio: 5.0,
        };
        let chiller = Chiller::new(cop, 30.0).unwrap();
        assert_eq!(chiller.cop_ratio(293.15, 263.15), 5.0);
        assert_eq!(chiller.electrical_w(0.0, 293.15, 263.15), 30.0);
        assert_eq!(chiller.electrical_w(100.0, 293.15, 263.15), 50.0);
    }

    proptest! {
        #[test]
        fn prop_warmer_outside_never_costs_less(
            heat_w in 0.0..1e5f64, coolant_k in 273.0..320.0f64, ambient_k in 240.0..330.0f64, step_k in 0.0..30.0f64
        ) {
            let chiller = Chiller::small_air_cooled();
            let now_w = chiller.electrical_w(heat_w, coolant_k, ambient_k);
            prop_assert!(chiller.electrical_w(heat_w, coolant_k, ambient_k + step_k) >= now_w);
            prop_assert!(chiller.electrical_w(heat_w, coolant_k + step_k, ambient_k) <= now_w);
            prop_assert!(chiller.cop_ratio(coolant_k, ambient_k) <= 4.0);
        }

        #[test]
        fn prop_hostile_numbers_stay_finite(heat in any::<u64>(), cold in any::<u64>(), hot in any::<u64>()) {
            let [heat, cold, hot] = [heat, cold, hot].map(f64::from_bits);
            if heat.is_finite() {
                for chiller in [Chiller::small_air_cooled(), Chiller::large_water_cooled()] {
                    prop_assert!(chiller.electrical_w(heat, cold, hot).is_finite());
                    prop_assert!(chiller.cop_ratio(cold, hot) > 0.0);
                }
            }
        }
    }
}
