//! Closed forms of endurance: hover on a battery, the best battery mass, the duty cycle on a weak supply, and the trap
//! of Peukert's law. For a time with voltage sag, cold and limits use [`crate::Battery::discharge`].

use crate::ElectricalError;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, domain::in_range};

/// Battery mass over mass of everything else at which hover lasts longest: 2, exactly. Hover power goes with mass^1.5, so time
/// goes with m_b/(m₀ + m_b)^1.5, whose maximum is at m_b = 2m₀ (calculus). The optimum is flat and heavy: half the battery
/// costs 8 % of the time.
pub const BEST_BATTERY_MASS_RATIO: f64 = 2.0;

/// An aircraft in hover.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hover {
    /// Area of all rotor disks, m²; 1e-4 to 1e4.
    pub disk_area_m2: f64,
    /// Air density, kg/m³; 0.01 to 2.
    pub density_kg_m3: f64,
    /// Ideal over electrical power: figure of merit times motor and controller; 0.05 to 1.
    pub efficiency_ratio: f64,
}

impl Hover {
    /// Returns the hover if every number is inside the range given at its field.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] otherwise.
    pub fn check(self) -> Result<Self, ElectricalError> {
        in_range("disk area", "m2", self.disk_area_m2, 1e-4, 1e4)?;
        in_range("air density", "kg/m3", self.density_kg_m3, 0.01, 2.0)?;
        in_range("hover efficiency", "", self.efficiency_ratio, 0.05, 1.0)?;
        Ok(self)
    }

    /// Electrical power that holds `mass_kg` (kg, 1e-3 to 1e5), W: (m·g)^1.5/(√(2ρA)·η) (momentum theory of the actuator
    /// disk).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for the mass or the hover.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::endurance::Hover;
    /// let hover = Hover { disk_area_m2: 0.456037, density_kg_m3: 1.225, efficiency_ratio: 0.65 * 0.80 };
    /// assert!((hover.power_w(5.0).unwrap() - 624.67).abs() < 0.01);
    /// ```
    pub fn power_w(&self, mass_kg: f64) -> Result<f64, ElectricalError> {
        let hover = self.check()?;
        let mass_kg = in_range("hovering mass", "kg", mass_kg, 1e-3, 1e5)?;
        let thrust_n = mass_kg * STANDARD_GRAVITY_M_S2;
        let induced_m_s = (thrust_n / (2.0 * hover.density_kg_m3 * hover.disk_area_m2)).sqrt();
        Ok(thrust_n * induced_m_s / hover.efficiency_ratio)
    }

    /// Hover time on a battery, s: `battery_mass_kg` (kg, 0 to 1e5) times `usable_j_per_kg` (J/kg, 0 to 1e7, depth already
    /// taken off) over the power for both masses.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for an argument or the hover.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::endurance::Hover;
    /// let hover = Hover { disk_area_m2: 0.456037, density_kg_m3: 1.225, efficiency_ratio: 0.65 * 0.80 };
    /// let time_s = hover.battery_time_s(3.0, 6.0, 150.0 * 3600.0 * 0.8).unwrap();
    /// assert!((time_s / 60.0 - 28.6369).abs() < 1e-3);
    /// ```
    pub fn battery_time_s(
        &self,
        other_mass_kg: f64,
        battery_mass_kg: f64,
        usable_j_per_kg: f64,
    ) -> Result<f64, ElectricalError> {
        let battery_mass_kg = in_range("battery mass", "kg", battery_mass_kg, 0.0, 1e5)?;
        let usable_j_per_kg = in_range("usable specific energy", "J/kg", usable_j_per_kg, 0.0, 1e7)?;
        Ok(battery_mass_kg * usable_j_per_kg / self.power_w(other_mass_kg + battery_mass_kg)?)
    }
}

/// A cycle of flight on supply and battery and of rest on the ground while the supply refills the battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DutyCycle {
    /// Rest over flight time.
    pub rest_ratio: f64,
    /// Share of the time in flight.
    pub duty_ratio: f64,
    /// Power the battery gives in flight, W.
    pub battery_w: f64,
}

/// The cycle that a supply of `supply_w` (W) sustains for a flight that needs `flight_w` (W) and a rest that needs `rest_w`
/// (W, all 0 to 1e8), with a battery that returns `round_trip_ratio` (0.01 to 1) of what is put in:
/// t₂/t₁ = (P_f − P_s)/(η(P_s − P_r)). Flight all the time if the supply is enough; `None` if the supply does not exceed the
/// rest.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] for an argument.
///
/// # Examples
/// ```
/// use beamstay_electrical::endurance::duty_cycle;
/// let cycle = duty_cycle(400.0, 150.0, 10.0, 0.92).unwrap().unwrap();
/// assert!((cycle.rest_ratio - 1.940994).abs() < 1e-6 && (cycle.duty_ratio - 0.340021).abs() < 1e-6);
/// ```
pub fn duty_cycle(
    flight_w: f64,
    supply_w: f64,
    rest_w: f64,
    round_trip_ratio: f64,
) -> Result<Option<DutyCycle>, ElectricalError> {
    let flight_w = in_range("power in flight", "W", flight_w, 0.0, 1e8)?;
    let supply_w = in_range("power of the supply", "W", supply_w, 0.0, 1e8)?;
    let rest_w = in_range("power at rest", "W", rest_w, 0.0, 1e8)?;
    let round_trip_ratio = in_range("battery round trip", "", round_trip_ratio, 0.01, 1.0)?;
    let battery_w = (flight_w - supply_w).max(0.0);
    if battery_w <= 0.0 {
        return Ok(Some(DutyCycle { rest_ratio: 0.0, duty_ratio: 1.0, battery_w: 0.0 }));
    }
    let rest_ratio = battery_w / (round_trip_ratio * (supply_w - rest_w));
    if supply_w <= rest_w || !rest_ratio.is_finite() {
        return Ok(None);
    }
    Ok(Some(DutyCycle { rest_ratio, duty_ratio: 1.0 / (1.0 + rest_ratio), battery_w }))
}

/// Time of discharge by Peukert's law, before and after the clamp.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct PeukertTime {
    /// What the law says, s. Above the rated time it is longer than the energy in the battery lasts.
    pub law_s: f64,
    /// The law, but never longer than rated energy over power, s. Use this one.
    pub clamped_s: f64,
}

/// Time under a constant power by Peukert's law, t = R^(1−n)·(η·V·C/P)^n with R the rated time (L. W. Traub, J. Aircraft
/// 48, 2011, hours in his form), for `rated_j` (J, 1 to 1e12) at the rated time (s, 1 to 1e6), an exponent n (1 to 2) and
/// a power (W, 1e-6 to 1e9).
///
/// Only for comparison with figures that were made this way: for lithium the law holds at about 0.2 to 2 times the capacity
/// per hour, and at a lower power it invents energy.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] for an argument.
///
/// # Examples
/// ```
/// use beamstay_electrical::endurance::peukert_time;
/// let rated_j = 5.0 * 3600.0 * 11.1;
/// assert!((peukert_time(rated_j, 3600.0, 1.3, 100.0).unwrap().law_s / 3600.0 - 0.465137).abs() < 1e-6);
/// let gentle = peukert_time(rated_j, 3600.0, 1.3, 40.0).unwrap();
/// assert!(gentle.law_s / 3600.0 > 1.53 && (gentle.clamped_s / 3600.0 - 1.3875).abs() < 1e-12);
/// ```
pub fn peukert_time(
    rated_j: f64,
    rated_time_s: f64,
    exponent: f64,
    power_w: f64,
) -> Result<PeukertTime, ElectricalError> {
    let rated_j = in_range("rated energy", "J", rated_j, 1.0, 1e12)?;
    let rated_time_s = in_range("rated time", "s", rated_time_s, 1.0, 1e6)?;
    let exponent = in_range("Peukert exponent", "", exponent, 1.0, 2.0)?;
    let power_w = in_range("battery power", "W", power_w, 1e-6, 1e9)?;
    let even_s = rated_j / power_w;
    let law_s = rated_time_s * (even_s / rated_time_s).powf(exponent);
    Ok(PeukertTime { law_s, clamped_s: law_s.min(even_s) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn hover() -> Hover {
        Hover { disk_area_m2: 0.456037, density_kg_m3: 1.225, efficiency_ratio: 0.52 }
    }

    #[test]
    fn each_argument_is_checked() {
        assert!(Hover { disk_area_m2: 0.0, ..hover() }.power_w(1.0).is_err());
        assert!(Hover { density_kg_m3: 2.1, ..hover() }.power_w(1.0).is_err());
        assert!(Hover { efficiency_ratio: 1.01, ..hover() }.power_w(1.0).is_err());
        assert!(hover().power_w(f64::NAN).is_err() && hover().battery_time_s(1.0, -0.1, 1e5).is_err());
        assert!(hover().battery_time_s(1.0, 1.0, 1.1e7).is_err());
        assert!(duty_cycle(-1.0, 1.0, 1.0, 0.9).is_err() && duty_cycle(2.0, 1.0, 0.0, 0.0).is_err());
        assert!(
            peukert_time(0.5, 3600.0, 1.1, 10.0).is_err() && peukert_time(10.0, 3600.0, 0.99, 10.0).is_err()
        );
        assert!(peukert_time(10.0, 0.0, 1.1, 10.0).is_err() && peukert_time(10.0, 3600.0, 1.1, 0.0).is_err());
    }

    #[test]
    fn the_best_battery_mass_is_the_maximum() {
        let best = beamstay_numerics::minimum::brent(
            |battery_kg| -hover().battery_time_s(3.0, battery_kg, 4e5).unwrap(),
            0.1,
            30.0,
            1e-9,
        );
        assert!((best.x / 3.0 - BEST_BATTERY_MASS_RATIO).abs() < 1e-6, "{best:?}");
    }

    #[test]
    fn a_supply_that_is_enough_or_too_little() {
        assert_eq!(duty_cycle(100.0, 100.0, 10.0, 0.9).unwrap().map(|c| c.duty_ratio), Some(1.0));
        assert_eq!(duty_cycle(100.0, 10.0, 10.0, 0.9).unwrap(), None);
        assert_eq!(duty_cycle(100.0, 9.0, 10.0, 0.9).unwrap(), None);
    }

    proptest! {
        #[test]
        fn prop_the_cycle_closes_in_energy(flight in 10.0..1e4f64, share in 0.05..0.99f64, rest in 0.0..0.9f64, eta in 0.3..1.0f64) {
            let (supply_w, rest_w) = (share * flight, rest * share * flight);
            let cycle = duty_cycle(flight, supply_w, rest_w, eta).unwrap().unwrap();
            let out_j = cycle.battery_w;
            let in_j = cycle.rest_ratio * (supply_w - rest_w) * eta;
            prop_assert!((out_j - in_j).abs() <= 1e-12 * out_j);
            prop_assert!((0.0..=1.0).contains(&cycle.duty_ratio));
        }

        #[test]
        fn prop_clamped_peukert_never_gives_more_than_is_stored(n in 1.0..2.0f64, log_w in -2.0..5.0f64) {
            let power_w = 10f64.powf(log_w);
            let time = peukert_time(2e5, 3600.0, n, power_w).unwrap();
            prop_assert!(time.clamped_s * power_w <= 2e5 * (1.0 + 1e-12));
        }
    }
}
