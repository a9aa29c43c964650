//! The ground side as the wall plug or the generator sees it: load, its driver, the chiller and everything else that is
//! switched on.

use crate::{Chiller, Converter, ElectricalError, Generator};
use beamstay_numerics::domain::in_range;

/// What runs on the ground besides the load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundSupply {
    /// Feeds the load from the wall: laser driver, or ground converter of a copper line.
    pub driver: Converter,
    /// Keeps the coolant cool.
    pub chiller: Chiller,
    /// Whether the driver's heat goes into the same coolant; into the air otherwise.
    pub chiller_cools_driver: bool,
    /// Winch, computer, radio, light: whatever runs all the time, W; 0 to 1e6.
    pub housekeeping_w: f64,
}

/// What the load takes and how warm it is around.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundLoad {
    /// Power at the driver's output (diode terminals, or foot of the line), W; 0 to 1e8.
    pub load_w: f64,
    /// Part of it that ends as heat in the coolant (for a laser: electrical power less light), W; 0 to the load.
    pub coolant_heat_w: f64,
    /// Coolant temperature, K; 200 to 400.
    pub coolant_temp_k: f64,
    /// Temperature of the outside air, K; 200 to 350.
    pub ambient_temp_k: f64,
}

/// Powers on the ground. They close: wall = load + driver loss + chiller + housekeeping.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct WallPower {
    /// All that is taken from wall or generator, W.
    pub wall_w: f64,
    /// Power at the driver's output, W.
    pub load_w: f64,
    /// Heat of the driver, W.
    pub driver_loss_w: f64,
    /// Heat that the chiller moves, W.
    pub chilled_heat_w: f64,
    /// Electrical power of the chiller, W.
    pub chiller_w: f64,
    /// Everything else, W.
    pub housekeeping_w: f64,
    /// Heat left on the ground, W: all that is taken from the wall less what leaves with the load.
    pub ground_heat_w: f64,
}

impl GroundSupply {
    /// Powers while the load runs.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside the ranges of [`GroundLoad`] and [`GroundSupply`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Chiller, Converter, GroundLoad, GroundSupply};
    /// let supply = GroundSupply {
    ///     driver: Converter::ideal(),
    ///     chiller: Chiller::fixed(3.0).unwrap(),
    ///     chiller_cools_driver: true,
    ///     housekeeping_w: 0.0,
    /// };
    /// // 1000 W of light at one half: 1000 W of heat.
    /// let load =
    ///     GroundLoad { load_w: 2000.0, coolant_heat_w: 1000.0, coolant_temp_k: 293.15, ambient_temp_k: 308.15 };
    /// assert!((supply.wall(&load).unwrap().wall_w - 2333.333).abs() < 1e-3);
    /// ```
    pub fn wall(&self, load: &GroundLoad) -> Result<WallPower, ElectricalError> {
        let housekeeping_w = in_range("housekeeping power", "W", self.housekeeping_w, 0.0, 1e6)?;
        let load_w = in_range("ground load", "W", load.load_w, 0.0, 1e8)?;
        let coolant_heat_w = in_range("heat into the coolant", "W", load.coolant_heat_w, 0.0, load_w)?;
        let coolant_temp_k = in_range("coolant temperature", "K", load.coolant_temp_k, 200.0, 400.0)?;
        let ambient_temp_k = in_range("outside temperature", "K", load.ambient_temp_k, 200.0, 350.0)?;
        let driver_loss_w = self.driver.loss_w(load_w);
        let chilled_heat_w = coolant_heat_w + if self.chiller_cools_driver { driver_loss_w } else { 0.0 };
        let chiller_w = self.chiller.electrical_w(chilled_heat_w, coolant_temp_k, ambient_temp_k);
        let overhead_w = driver_loss_w + chiller_w + housekeeping_w;
        Ok(WallPower {
            wall_w: load_w + overhead_w,
            load_w,
            driver_loss_w,
            chilled_heat_w,
            chiller_w,
            housekeeping_w,
            ground_heat_w: coolant_heat_w + overhead_w,
        })
    }
}

impl WallPower {
    /// Fuel that a generator burns for it, L/h.
    pub fn fuel_l_per_h(&self, generator: &Generator) -> f64 {
        generator.fuel_l_per_h(self.wall_w)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ConverterSpec;
    use proptest::prelude::*;

    fn supply() -> GroundSupply {
        GroundSupply {
            driver: Converter::new(ConverterSpec::airborne(3000.0)).unwrap(),
            chiller: Chiller::small_air_cooled(),
            chiller_cools_driver: true,
            housekeeping_w: 60.0,
        }
    }

    fn load() -> GroundLoad {
        GroundLoad { load_w: 2000.0, coolant_heat_w: 1000.0, coolant_temp_k: 293.15, ambient_temp_k: 308.15 }
    }

    #[test]
    fn each_argument_is_checked() {
        assert!(GroundSupply { housekeeping_w: -1.0, ..supply() }.wall(&load()).is_err());
        for wrong in [
            GroundLoad { load_w: f64::NAN, ..load() },
            GroundLoad { coolant_heat_w: 2000.1, ..load() },
            GroundLoad { coolant_temp_k: 199.0, ..load() },
            GroundLoad { ambient_temp_k: 351.0, ..load() },
        ] {
            assert!(supply().wall(&wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn driver_heat_costs_chiller_power_only_if_it_is_cooled() {
        let cooled = supply().wall(&load()).unwrap();
        let in_air = GroundSupply { chiller_cools_driver: false, ..supply() }.wall(&load()).unwrap();
        assert!(cooled.chiller_w > in_air.chiller_w);
        let difference_w = cooled.chilled_heat_w - in_air.chilled_heat_w;
        assert!((difference_w - cooled.driver_loss_w).abs() < 1e-9);
        let set = Generator::diesel(5e3).unwrap();
        assert!(cooled.fuel_l_per_h(&set) > in_air.fuel_l_per_h(&set));
    }

    proptest! {
        #[test]
        fn prop_power_closes(load_w in 0.0..1e5f64, share in 0.0..=1.0f64, ambient_k in 250.0..330.0f64) {
            let wall = supply()
                .wall(&GroundLoad { load_w, coolant_heat_w: share * load_w, ambient_temp_k: ambient_k, ..load() })
                .unwrap();
            let sum_w = wall.load_w + wall.driver_loss_w + wall.chiller_w + wall.housekeeping_w;
            prop_assert!((wall.wall_w - sum_w).abs() <= 1e-12 * wall.wall_w);
            // What does not stay as heat leaves with the load.
            let leaves_w = wall.wall_w - wall.ground_heat_w;
            prop_assert!((leaves_w - (1.0 - share) * load_w).abs() <= 1e-12 * wall.wall_w);
        }
    }
}
