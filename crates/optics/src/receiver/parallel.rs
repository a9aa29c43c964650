//! Uneven strings in parallel at one voltage.

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
            Some(bypass_v) => self.voltage_at_best_maximum(bypass_v),
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
        if let Some(voltage_v) = self.maximum_together(guess_v) {
            return voltage_v;
        }
        self.voltage_at_maximum_between(0.0, open_v, guess_v)
    }

    /// The voltage of largest power between two, where power is concave.
    fn voltage_at_maximum_between(&mut self, low_v: f64, high_v: f64, guess_v: f64) -> f64 {
        // The step after that would be its square; and at the maximum the power does not depend on it.
        let tolerance_v = 1e-6 * self.open_v;
        bracketed_newton(
            |voltage_v| {
                let all = self.current(voltage_v);
                let slope = all.a + voltage_v * all.slope_s;
                (-slope, -(2.0 * all.slope_s + voltage_v * all.curvature_s_per_v))
            },
            low_v,
            high_v,
            guess_v,
            tolerance_v,
        )
    }

    /// The voltage of largest power and the junction voltages of the strings sought together: each round works out every
    /// string once, near the voltage tried, and tries next where the sum of their parabolas gives the most. `None` if that does not
    /// settle in a few rounds; what it settles at is the only maximum.
    fn maximum_together(&mut self, mut voltage_v: f64) -> Option<f64> {
        let slope_v = self.array.cell.slope_v();
        if self.near.point.is_none() {
            for (string, search) in self.array.strings().zip(&mut self.searches) {
                *search = string.search_at_maximum(voltage_v);
            }
        }
        for _ in 0..8 {
            let (mut sum, mut farthest_v) = (Current::default(), 0.0f64);
            for (string, search) in self.array.strings().zip(&mut self.searches) {
                let (here, off_v) = string.expand(voltage_v, search)?;
                sum.a += here.a + off_v * (here.slope_s + 0.5 * off_v * here.curvature_s_per_v);
                sum.slope_s += here.slope_s + off_v * here.curvature_s_per_v;
                sum.curvature_s_per_v += here.curvature_s_per_v;
                farthest_v = farthest_v.max(off_v.abs());
            }
            let rise = sum.a + voltage_v * sum.slope_s;
            let step_v = -rise / (2.0 * sum.slope_s + voltage_v * sum.curvature_s_per_v);
            voltage_v += step_v;
            if !(voltage_v > 0.0 && voltage_v < self.open_v) {
                return None;
            }
            // The parabolas miss the strings by the cube of how far they are off.
            if step_v.abs() <= 1e-6 * self.open_v && farthest_v <= 1e-3 * slope_v {
                return Some(voltage_v);
            }
        }
        None
    }

    /// With bypass diodes there are several maxima, at most one between two voltages at which a diode of any string switches:
    /// with the same cells bypassed the current of a string is concave in the voltage, hence power too. The intervals are
    /// searched in the order of what they could give at most, their upper voltage times the current at their lower one, until
    /// none can give more than what was found.
    fn voltage_at_best_maximum(&mut self, bypass_v: f64) -> f64 {
        let (mut edges_v, mut most_w) =
            ([0.0; MAX_UNEVEN_CELLS + 2], [f64::NEG_INFINITY; MAX_UNEVEN_CELLS + 2]);
        let count = self.switch_voltages(bypass_v, &mut edges_v);
        let mut low_a = self.current(edges_v[0]).a;
        for i in 0..count - 1 {
            most_w[i] = edges_v[i + 1] * low_a;
            low_a = self.current(edges_v[i + 1]).a;
        }
        let near = self.near.point.map(|near| self.point(near.voltage_v));
        let mut best = near.unwrap_or_default();
        for _ in 1..count {
            let next = (0..count - 1).max_by(|a, b| most_w[*a].total_cmp(&most_w[*b])).unwrap_or(0);
            if most_w[next] <= best.power_w {
                break;
            }
            most_w[next] = f64::NEG_INFINITY;
            let guess_v = near.map_or(0.0, |near| near.voltage_v);
            let voltage_v = self.voltage_at_maximum_between(edges_v[next], edges_v[next + 1], guess_v);
            let here = self.point(voltage_v);
            if here.power_w > best.power_w {
                best = here;
            }
        }
        best.voltage_v
    }

    /// Voltages up to open circuit between which no bypass diode switches, both ends among them, in order; how many.
    fn switch_voltages(&self, bypass_v: f64, edges_v: &mut [f64; MAX_UNEVEN_CELLS + 2]) -> usize {
        let mut count = 1;
        for string in self.array.strings() {
            for voltage_v in string.shares.iter().map(|share| string.switch_voltage(*share, bypass_v)) {
                if voltage_v > 0.0 && voltage_v < self.open_v && count <= MAX_UNEVEN_CELLS {
                    edges_v[count] = voltage_v;
                    count += 1;
                }
            }
        }
        edges_v[count] = self.open_v;
        edges_v[..=count].sort_unstable_by(f64::total_cmp);
        count + 1
    }
}
