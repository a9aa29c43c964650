//! The largest power of a diode, and how it changes with light and temperature.

use std::cell::Cell;

use super::diode::{Dark, Diode, PowerPoint, bracketed_newton};

/// Step of the junction voltage, over the width of the peak, behind which a parabola gives the largest power: its third power is
/// rounding.
const PARABOLA_RATIO: f64 = 3e-5;

/// Relative changes with temperature of what a curve is made of, 1/K.
#[derive(Debug, Clone, Copy)]
pub(super) struct Warming {
    /// Of the light-generated current.
    pub photocurrent_per_k: f64,
    /// Of the saturation current.
    pub saturation_per_k: f64,
    /// Of the slope of the junction.
    pub slope_per_k: f64,
    /// Of the series resistance.
    pub series_per_k: f64,
    /// Of the conductance of the shunt.
    pub shunt_per_k: f64,
}

/// The largest power of a curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peak {
    /// The power, W.
    pub power_w: f64,
    /// Its derivative by temperature, W/K.
    pub by_temp_w_per_k: f64,
    /// Its derivative by the light-generated current, V.
    pub by_photocurrent_v: f64,
}

/// A place of a curve with the derivatives of power by junction voltage.
#[derive(Debug, Clone, Copy, Default)]
struct Place {
    junction_v: f64,
    dark: Dark,
    current_a: f64,
    slope: f64,
    curvature: f64,
}

impl Diode {
    /// The largest power, sought from where it was on a neighbouring curve: `below` is how far its junction voltage stood below
    /// [`super::diode::Junction::ceiling_v`], over the slope of the junction; it is kept there for the next curve. Not a number
    /// where nothing is known.
    ///
    /// At the largest power nothing is gained by another junction voltage, so that the derivatives are those at a fixed one.
    pub(super) fn peak_near(&self, warming: &Warming, below: &Cell<f64>) -> Peak {
        let (best_v, place) = self.best_near(PARABOLA_RATIO, below);
        let (junction, dark, step_v) = (&self.junction, &place.dark, best_v - place.junction_v);
        let current_a = place.current_a - step_v * (dark.slope_s + 0.5 * step_v * dark.curvature_s_per_v);
        // V − I·R, from the slope of power that is 0.
        let lever_v = current_a / (dark.slope_s + step_v * dark.curvature_s_per_v);
        let shunt_a = best_v * junction.shunt_s;
        let diode_a = self.photocurrent_a - current_a - shunt_a;
        let steepening = best_v / junction.slope_v() * warming.slope_per_k;
        let dark_a_per_k = diode_a * warming.saturation_per_k
            - (diode_a + junction.saturation_a()) * steepening
            + shunt_a * warming.shunt_per_k;
        let current_a_per_k = self.photocurrent_a * warming.photocurrent_per_k - dark_a_per_k;
        let series_w = current_a * current_a * junction.series_ohm;
        let place_w = place.current_a * (place.junction_v - place.current_a * junction.series_ohm);
        Peak {
            power_w: place_w + step_v * (place.slope + 0.5 * step_v * place.curvature),
            by_temp_w_per_k: lever_v * current_a_per_k - series_w * warming.series_per_k,
            by_photocurrent_v: lever_v,
        }
    }

    /// The point of largest power; `below` as [`Self::peak_near`] has it.
    pub(super) fn maximum_power_near(&self, below: &Cell<f64>) -> (f64, PowerPoint) {
        // The step after that would be its square; and at the maximum the power does not depend on it.
        let (best_v, _) = self.best_near(1e-6, below);
        (best_v, self.point_at(best_v))
    }

    /// Junction voltage at the largest power, known to the square of `step_ratio` of its width, and the last place
    /// that was looked at. The slope of power is positive at junction voltage 0, negative at open circuit and above, and zero
    /// once between.
    fn best_near(&self, step_ratio: f64, below: &Cell<f64>) -> (f64, Place) {
        let (slope_v, ceiling_v) = (self.junction.slope_v(), self.junction.ceiling_v(self.photocurrent_a));
        let known_v = ceiling_v - below.get() * slope_v;
        let known = known_v > 0.0 && known_v < ceiling_v;
        let guess_v = if known { known_v } else { ceiling_v - slope_v * (ceiling_v / slope_v).ln_1p() };
        // Where the series resistance takes far more than the voltage, the peak is as much narrower.
        let drops = self.photocurrent_a * self.junction.series_ohm / ceiling_v.max(f64::MIN_POSITIVE);
        let mut place = Place::default();
        let best_v = bracketed_newton(
            |junction_v| {
                place = self.place_at(junction_v);
                (-place.slope, -place.curvature)
            },
            0.0,
            ceiling_v,
            guess_v,
            step_ratio * slope_v.min(ceiling_v) / (1.0 + drops),
        );
        below.set((ceiling_v - best_v) / slope_v);
        (best_v, place)
    }

    fn place_at(&self, junction_v: f64) -> Place {
        let dark = self.junction.dark(junction_v);
        let current_a = self.photocurrent_a - dark.current_a;
        let lever_v = junction_v - 2.0 * current_a * self.junction.series_ohm;
        let slope = current_a - dark.slope_s * lever_v;
        let curvature = -2.0 * dark.slope_s * (1.0 + dark.slope_s * self.junction.series_ohm)
            - dark.curvature_s_per_v * lever_v;
        Place { junction_v, dark, current_a, slope, curvature }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::receiver::cell::{Cell as SolarCell, CellSpec};

    fn at(cell: &SolarCell, light_w: f64, temperature_k: f64) -> Peak {
        let plateau = cell.plateau(850e-9);
        let responsivity = cell.responsivity_on(&plateau, temperature_k);
        let junction = cell.junction(6.0, 12.0, temperature_k);
        let warming = cell.warming(&plateau, responsivity, temperature_k);
        let diode = Diode { photocurrent_a: light_w * responsivity / 6.0, junction };
        diode.peak_near(&warming, &Cell::new(f64::NAN))
    }

    /// The derivatives are those of differences, from cold to hot, weak to strong light, away from and on the absorption edge.
    #[test]
    fn derivatives_of_the_largest_power_are_those_of_differences() {
        let spec = CellSpec { series_ohm_m2: 3e-7, ..CellSpec::gallium_arsenide(1e-4) };
        let cell = SolarCell::new(spec).unwrap();
        for light_w in [0.01, 5.0, 400.0, 3000.0] {
            for temperature_k in [240.0, 300.0, 370.0, 450.0] {
                let here = at(&cell, light_w, temperature_k);
                let near = |off_k| at(&cell, light_w, temperature_k + off_k).power_w;
                let by_temp_w_per_k = (near(0.02) - near(-0.02)) / 0.04;
                let off = (here.by_temp_w_per_k / by_temp_w_per_k - 1.0).abs();
                // What a central difference leaves goes with the square of its step over the width of the edge, some 17 K.
                assert!(off < 1e-6, "{light_w} {temperature_k} {off:e}");
                let brighter = |ratio: f64| at(&cell, light_w * ratio, temperature_k).power_w;
                let plateau = cell.plateau(850e-9);
                let a_per_w = cell.responsivity_on(&plateau, temperature_k) / 6.0;
                let by_light_v = (brighter(1.0 + 1e-4) - brighter(1.0 - 1e-4)) / (2e-4 * light_w * a_per_w);
                let off = (here.by_photocurrent_v / by_light_v - 1.0).abs();
                assert!(off < 1e-6, "{light_w} {temperature_k} {off:e}");
            }
        }
    }

    /// A hint changes nothing, however bad it is.
    #[test]
    fn the_largest_power_does_not_depend_on_where_it_is_sought_from() {
        let diode = Diode::new(crate::receiver::DiodeSpec {
            photocurrent_a: 3.0,
            saturation_current_a: 2e-19,
            ideality: 1.05,
            series_resistance_ohm: 0.02,
            shunt_resistance_ohm: 500.0,
            cells_in_series: 1,
            temperature_k: 330.0,
        })
        .unwrap();
        let warming = Warming {
            photocurrent_per_k: 0.0,
            saturation_per_k: 0.0,
            slope_per_k: 0.0,
            series_per_k: 0.0,
            shunt_per_k: 0.0,
        };
        let sure_w = diode.maximum_power().power_w;
        for below in [f64::NAN, 0.01, 3.0, 4.2, 20.0, 1e9] {
            let power_w = diode.peak_near(&warming, &Cell::new(below)).power_w;
            assert!((power_w / sure_w - 1.0).abs() < 1e-13, "{below} {power_w} {sure_w}");
        }
    }
}
