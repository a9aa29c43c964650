//! A generator set: electrical load in, fuel per hour and hours on a tank out. Fuel as a straight line of the load, as measured sets
//! have it (Willans' line of the trade, from memory).

use crate::ElectricalError;
use beamstay_numerics::domain::in_range;

/// Litres per United States gallon, L (exact: 231 cubic inches).
pub const LITRE_PER_US_GALLON: f64 = 3.785_411_784;

/// Fuel of a generator set by the two-term line F = F₀·P_rated + F₁·P: a constant part for turning over and a part in
/// proportion to the load. A single litre-per-kilowatt-hour figure is right at one load only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Generator {
    rated_w: f64,
    no_load_l_per_h: f64,
    slope_l_per_kwh: f64,
}

impl Generator {
    /// A set rated `rated_w` (W, 10 to 1e8) that burns `no_load_l_per_h` (L/h, 0 to 1e5) without load and
    /// `slope_l_per_kwh` (L/kWh, 0.05 to 10) more per energy given.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside those ranges.
    pub fn new(rated_w: f64, no_load_l_per_h: f64, slope_l_per_kwh: f64) -> Result<Self, ElectricalError> {
        in_range("generator rating", "W", rated_w, 10.0, 1e8)?;
        in_range("fuel without load", "L/h", no_load_l_per_h, 0.0, 1e5)?;
        in_range("fuel per energy", "L/kWh", slope_l_per_kwh, 0.05, 10.0)?;
        Ok(Self { rated_w, no_load_l_per_h, slope_l_per_kwh })
    }

    /// The line through two measured loads (W) and consumptions (L/h), the second load the higher.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] if the loads do not rise within the rating or the line that follows is none a
    /// generator has.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Generator;
    /// let set = Generator::through(50e3, (25e3, 8.48), (50e3, 15.3)).unwrap();
    /// assert!((set.slope_l_per_kwh() - 0.2728).abs() < 1e-10);
    /// ```
    pub fn through(rated_w: f64, low: (f64, f64), high: (f64, f64)) -> Result<Self, ElectricalError> {
        in_range("generator rating", "W", rated_w, 10.0, 1e8)?;
        in_range("lower measured load", "W", low.0, 0.0, rated_w)?;
        in_range("higher measured load", "W", high.0, low.0 + 1e-3 * rated_w, 2.0 * rated_w)?;
        let slope_l_per_kwh = 1000.0 * (high.1 - low.1) / (high.0 - low.0);
        Self::new(rated_w, low.1 - slope_l_per_kwh * low.0 / 1000.0, slope_l_per_kwh)
    }

    /// A diesel set: F₀ 0.0815 L/h per kW of rating, F₁ 0.246 L/kWh (rule of thumb, from memory).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for a rating outside 10 W to 1e8 W.
    pub fn diesel(rated_w: f64) -> Result<Self, ElectricalError> {
        Self::new(rated_w, 0.0815 * rated_w / 1000.0, 0.246)
    }

    /// A small two-stroke petrol set of the 1.2 kW class as an owner measured it (0.0739 US gal/h and 0.127 US gal/kWh; the
    /// maker's own figures are 8 and 10 % lower).
    pub fn small_two_stroke() -> Self {
        Self {
            rated_w: 1200.0,
            no_load_l_per_h: 0.0739 * LITRE_PER_US_GALLON,
            slope_l_per_kwh: 0.127 * LITRE_PER_US_GALLON,
        }
    }

    /// Fuel at a load (W), L/h. A negative load counts as 0. Nothing stops at the rating: see [`Self::load_ratio`].
    ///
    /// # Examples
    /// ```
    /// let set = beamstay_electrical::Generator::diesel(10e3).unwrap();
    /// assert!((set.fuel_l_per_h(5e3) - (0.815 + 1.23)).abs() < 1e-12);
    /// ```
    pub fn fuel_l_per_h(&self, load_w: f64) -> f64 {
        (self.no_load_l_per_h + self.slope_l_per_kwh * load_w.max(0.0) / 1000.0).min(f64::MAX)
    }

    /// Fuel per energy at a load (W), L/kWh; `None` without load.
    pub fn specific_fuel_l_per_kwh(&self, load_w: f64) -> Option<f64> {
        let per_kwh = 1000.0 * self.fuel_l_per_h(load_w) / load_w;
        (load_w > 0.0 && per_kwh.is_finite()).then_some(per_kwh)
    }

    /// How long `tank_l` (L) lasts at a load (W), h; `None` if no fuel is burnt.
    ///
    /// # Examples
    /// ```
    /// let set = beamstay_electrical::Generator::diesel(10e3).unwrap();
    /// assert!((set.tank_h(40.9, 5e3).unwrap() - 20.0).abs() < 1e-12);
    /// ```
    pub fn tank_h(&self, tank_l: f64, load_w: f64) -> Option<f64> {
        let hours_h = tank_l.max(0.0) / self.fuel_l_per_h(load_w);
        hours_h.is_finite().then_some(hours_h)
    }

    /// Load over rating; more than 1 is too much.
    pub fn load_ratio(&self, load_w: f64) -> f64 {
        load_w / self.rated_w
    }

    /// Rating, W.
    pub fn rated_w(&self) -> f64 {
        self.rated_w
    }

    /// Fuel without load, L/h.
    pub fn no_load_l_per_h(&self) -> f64 {
        self.no_load_l_per_h
    }

    /// Fuel per energy beyond that, L/kWh.
    pub fn slope_l_per_kwh(&self) -> f64 {
        self.slope_l_per_kwh
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn load_is_told_as_a_share_of_the_rating() {
        let set = Generator::diesel(8e3).unwrap();
        assert!((set.load_ratio(2e3) - 0.25).abs() < 1e-15 && (set.load_ratio(12e3) - 1.5).abs() < 1e-15);
    }

    #[test]
    fn the_line_goes_through_both_readings() {
        let set = Generator::through(1e3, (250.0, 0.3), (1000.0, 0.6)).unwrap();
        assert!(
            (set.fuel_l_per_h(250.0) - 0.3).abs() < 1e-12 && (set.fuel_l_per_h(1000.0) - 0.6).abs() < 1e-12
        );
    }

    #[test]
    fn each_argument_is_checked() {
        assert!(Generator::new(9.0, 0.1, 0.3).is_err() && Generator::new(1e3, -0.1, 0.3).is_err());
        assert!(Generator::new(1e3, 0.1, 0.049).is_err() && Generator::new(1e3, f64::NAN, 0.3).is_err());
        assert!(Generator::through(1e3, (500.0, 0.3), (500.5, 0.4)).is_err(), "loads too near");
        assert!(Generator::through(1e3, (500.0, 0.3), (900.0, 0.2)).is_err(), "falls with load");
        assert!(Generator::through(1e3, (500.0, 0.3), (1000.0, 0.9)).is_err(), "makes fuel without load");
    }

    #[test]
    fn no_load_has_no_specific_fuel_and_no_fuel_no_hours() {
        let set = Generator::new(1e3, 0.0, 0.3).unwrap();
        assert_eq!(set.specific_fuel_l_per_kwh(0.0), None);
        assert_eq!(set.tank_h(5.0, 0.0), None);
        assert_eq!(set.tank_h(-5.0, 100.0), Some(0.0));
    }

    proptest! {
        #[test]
        fn prop_fuel_rises_and_specific_fuel_falls_with_load(load in 1.0..1e4f64, step in 1.0..1e3f64) {
            let set = Generator::small_two_stroke();
            prop_assert!(set.fuel_l_per_h(load + step) > set.fuel_l_per_h(load));
            prop_assert!(set.specific_fuel_l_per_kwh(load + step) < set.specific_fuel_l_per_kwh(load));
        }

        #[test]
        fn prop_hostile_loads_stay_finite(bits in any::<u64>()) {
            let load_w = f64::from_bits(bits);
            prop_assert!(Generator::small_two_stroke().fuel_l_per_h(load_w).is_finite());
            if let Some(hours_h) = Generator::small_two_stroke().tank_h(10.0, load_w) {
                prop_assert!(hours_h.is_finite());
            }
        }
    }
}
