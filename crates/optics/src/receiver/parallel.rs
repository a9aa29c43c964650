//! Uneven strings in parallel at one voltage.

use beamstay_numerics::minimum;

use super::{
    diode::{PowerPoint, bracketed_newton},
    series::{Current, OneString, Search},
    string::{MAX_UNEVEN_CELLS, Near, UnevenArray},
};

/// Strings in parallel with what their currents are sought with.
pub(super) struct Parallel<'a, 'n> {
    array: &'a UnevenArray<'a>,
    near: &'n mut Near,
    searches: [Search; MAX_UNEVEN_CELLS],
    /// Open-circuit voltage of a string of the brightest cells, V: above it no string gives current.
    open_v: f64,
}

impl<'a, 'n> Parallel<'a, 'n> {
    pub(super) fn near(array: &'a UnevenArray<'a>, near: &'n mut Near) -> Self {
        let mut searches = [Search::default(); MAX_UNEVEN_CELLS];
        for (i, string) in array.strings().enumerate().take(MAX_UNEVEN_CELLS) {
            searches[i] = string.search(near.point.map(|point| (point.voltage_v, near.junction_v[i])));
        }
        let brightest = array.shares.iter().copied().fold(0.0, f64::max);
        let open_v =
            array.cell.voltage_for_dark(array.photocurrent_a * brightest).0 * array.series_count as f64;
        Self { array, near, searches, open_v }
    }

    pub(super) fn maximum_power(&mut self) -> PowerPoint {
        let voltage_v = match self.array.bypass_v {
            Some(_) => self.voltage_at_best_maximum(),
            None => self.voltage_at_only_maximum(),
        };
        let best = self.point(voltage_v);
        self.near.point = Some(best).filter(|best| best.power_w > 0.0);
        for (junction_v, search) in self.near.junction_v.iter_mut().zip(&self.searches) {
            *junction_v = search.junction_v().unwrap_or_default();
        }
        best
    }

    pub(super) fn point_at_most(&mut self, wanted_w: impl Fn(PowerPoint) -> f64) -> PowerPoint {
        let best = self.maximum_power();
        let wanted_w = wanted_w(best).max(0.0);
        if best.power_w.is_nan() || wanted_w >= best.power_w {
            return best;
        }
        if wanted_w <= 0.0 {
            return self.open_circuit();
        }
        let open_v = self.open_v;
        // Near open circuit power is linear in the voltage, near the maximum a parabola.
        let missing = (1.0 - wanted_w / best.power_w).sqrt();
        let voltage_v = bracketed_newton(
            |voltage_v| {
                let all = self.current(voltage_v);
                (wanted_w - voltage_v * all.a, -all.a - voltage_v * all.slope_s)
            },
            best.voltage_v,
            open_v,
            best.voltage_v + (open_v - best.voltage_v) * missing,
            1e-11 * open_v,
        );
        self.point(voltage_v)
    }

    pub(super) fn open_circuit(&mut self) -> PowerPoint {
        let open_v = self.open_v;
        let voltage_v = bracketed_newton(
            |voltage_v| {
                let all = self.current(voltage_v);
                (-all.a, -all.slope_s)
            },
            0.0,
            open_v,
            open_v,
            1e-12 * open_v,
        );
        PowerPoint { voltage_v, ..PowerPoint::default() }
    }

    /// Current of each string at a common voltage.
    pub(super) fn currents(&mut self, voltage_v: f64, mut visit: impl FnMut(&OneString<'_>, f64)) {
        for (string, search) in self.array.strings().zip(&mut self.searches) {
            let current_a = string.current(voltage_v, search).a;
            visit(&string, current_a);
        }
    }

    fn point(&mut self, voltage_v: f64) -> PowerPoint {
        let current_a = self.current(voltage_v).a;
        PowerPoint { voltage_v, current_a, power_w: voltage_v * current_a }
    }

    /// Current of all strings at a common voltage.
    fn current(&mut self, voltage_v: f64) -> Current {
        let mut sum = Current::default();
        for (string, search) in self.array.strings().zip(&mut self.searches) {
            let one = string.current(voltage_v, search);
            sum.a += one.a;
            sum.slope_s += one.slope_s;
            sum.curvature_s_per_v += one.curvature_s_per_v;
        }
        sum
    }

    /// Without bypass diodes the current of each string is concave in the voltage, and so is power: one maximum.
    fn voltage_at_only_maximum(&mut self) -> f64 {
        let open_v = self.open_v;
        let slope_v = self.array.cell.slope_v() * self.array.series_count as f64;
        let guess_v =
            self.near.point.map_or(open_v - slope_v * (open_v / slope_v).ln_1p(), |near| near.voltage_v);
        bracketed_newton(
            |voltage_v| {
                let all = self.current(voltage_v);
                let slope = all.a + voltage_v * all.slope_s;
                (-slope, -(2.0 * all.slope_s + voltage_v * all.curvature_s_per_v))
            },
            0.0,
            open_v,
            guess_v,
            // The step after that would be its square; and at the maximum the power does not depend on it.
            1e-6 * open_v,
        )
    }

    /// With bypass diodes there are several. Each string's own maxima are tried and the best is refined within half a cell
    /// to both sides.
    fn voltage_at_best_maximum(&mut self) -> f64 {
        let (mut guess_v, mut best_w) = (0.0, 0.0);
        for string in self.array.strings() {
            string.for_each_maximum(|point| {
                let here_w = self.point(point.voltage_v).power_w;
                if here_w > best_w {
                    (guess_v, best_w) = (point.voltage_v, here_w);
                }
            });
        }
        let reach_v = 0.5 * self.open_v / self.array.series_count.max(1) as f64;
        let (lo, hi) = ((guess_v - reach_v).max(0.0), (guess_v + reach_v).min(self.open_v));
        let tolerance_v = 1e-8 * self.open_v;
        let refined = minimum::brent(|voltage_v| -self.point(voltage_v).power_w, lo, hi, tolerance_v);
        if -refined.f >= best_w { refined.x } else { guess_v }
    }
}
