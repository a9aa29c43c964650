//! Cells in series at one current, each with its own light: the string's voltage, its current at a voltage, its maxima of
//! power.

use super::diode::{Dark, Junction, PowerPoint, bracketed_newton};
use super::string::MAX_UNEVEN_CELLS;

/// Voltage of cells in series with its derivatives by the current.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Voltage {
    pub(super) v: f64,
    pub(super) slope_ohm: f64,
    pub(super) curvature_ohm_per_a: f64,
}

/// Current with its derivatives by the voltage.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Current {
    pub(super) a: f64,
    pub(super) slope_s: f64,
    pub(super) curvature_s_per_v: f64,
}

/// Cells in series.
#[derive(Debug, Clone, Copy)]
pub(super) struct OneString<'a> {
    pub(super) cell: &'a Junction,
    pub(super) photocurrent_a: f64,
    pub(super) shares: &'a [f64],
    pub(super) bypass_v: Option<f64>,
}

impl OneString<'_> {
    /// Voltage of one cell at the string's current, with its bypass diode.
    pub(super) fn cell_voltage(&self, share: f64, current_a: f64) -> Voltage {
        let bare = self.bare_voltage(share, current_a);
        match self.bypass_v {
            Some(bypass_v) if bare.v < -bypass_v => Voltage { v: -bypass_v, ..Voltage::default() },
            _ => bare,
        }
    }

    fn bare_voltage(&self, share: f64, current_a: f64) -> Voltage {
        let (junction_v, dark) = self.cell.voltage_for_dark(self.photocurrent_a * share - current_a);
        let inverse_ohm = 1.0 / dark.slope_s;
        Voltage {
            v: junction_v - current_a * self.cell.series_ohm,
            slope_ohm: -inverse_ohm - self.cell.series_ohm,
            curvature_ohm_per_a: -dark.curvature_s_per_v * inverse_ohm * inverse_ohm * inverse_ohm,
        }
    }

    pub(super) fn voltage(&self, current_a: f64) -> Voltage {
        self.shares.iter().map(|share| self.cell_voltage(*share, current_a)).fold(Voltage::default(), add)
    }

    fn point(&self, current_a: f64) -> PowerPoint {
        let voltage_v = self.voltage(current_a).v;
        PowerPoint { voltage_v, current_a, power_w: voltage_v * current_a }
    }

    fn weakest(&self) -> f64 {
        self.shares.iter().copied().fold(f64::INFINITY, f64::min)
    }

    fn brightest(&self) -> f64 {
        self.shares.iter().copied().fold(0.0, f64::max)
    }

    /// The point of largest power.
    pub(super) fn maximum_power(&self) -> PowerPoint {
        let mut best = PowerPoint::default();
        self.for_each_maximum(|point| {
            if point.power_w > best.power_w {
                best = point;
            }
        });
        best
    }

    /// Calls `visit` for the maximum of power, or, with bypass diodes, for each maximum that could be the highest: at any
    /// current the bypassed cells are the weakest ones, so power is the largest of "the k brightest cells work, the others
    /// drop the forward voltage", and each of those is concave.
    pub(super) fn for_each_maximum(&self, mut visit: impl FnMut(PowerPoint)) {
        let Some(bypass_v) = self.bypass_v else {
            visit(self.point(self.current_at_maximum(self.shares, 0.0)));
            return;
        };
        let mut sorted = [0.0; MAX_UNEVEN_CELLS];
        let sorted = &mut sorted[..self.shares.len()];
        sorted.copy_from_slice(self.shares);
        sorted.sort_unstable_by(|a, b| b.total_cmp(a));
        // Power of k working cells is below (k-th photocurrent + shunt current of all in reverse)·(their open-circuit
        // voltages): what is bounded below the best so far need not be solved.
        let open_v = self.cell.voltage_for_dark(self.photocurrent_a * sorted[0]).0;
        let bound_w = |working: usize| {
            let (count, dropped_v) = (working as f64, bypass_v * (sorted.len() - working) as f64);
            let all_v = open_v * count;
            let most_a = self.photocurrent_a * sorted[working - 1] + all_v * self.cell.shunt_s;
            // No cell has more voltage than the brightest one at that current, if power still rises there.
            let brightest = self.bare_voltage(sorted[0], most_a);
            let most_v = count * brightest.v - dropped_v;
            let rises = most_v + most_a * count * brightest.slope_ohm > 0.0;
            most_a * if rises { most_v } else { all_v }
        };
        let first = (1..=sorted.len()).max_by(|a, b| bound_w(*a).total_cmp(&bound_w(*b))).unwrap_or(1);
        let mut best_w = 0.0;
        for working in std::iter::once(first).chain((1..=sorted.len()).rev().filter(|k| *k != first)) {
            let dropped_v = bypass_v * (sorted.len() - working) as f64;
            if bound_w(working) >= best_w && dropped_v < open_v * working as f64 {
                let point = self.point(self.current_at_maximum(&sorted[..working], dropped_v));
                best_w = point.power_w.max(best_w);
                visit(point);
            }
        }
    }

    /// Current of largest power of the cells `working`, less `dropped_v`. Sought along the junction voltage of the weakest
    /// of them, in which the slope of power is smooth: it is positive at open circuit of that cell (negative power per
    /// voltage) and negative where the brightest cell is short-circuited.
    fn current_at_maximum(&self, working: &[f64], dropped_v: f64) -> f64 {
        let (weakest, brightest) =
            working.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), share| (lo.min(*share), hi.max(*share)));
        let weakest_a = self.photocurrent_a * weakest;
        let open_v = self.cell.voltage_for_dark(weakest_a).0;
        let reverse_v = self.cell.voltage_for_dark(weakest_a - self.photocurrent_a * brightest).0;
        let slope_v = self.cell.slope_v();
        let guess_v = self.guess_at_maximum(working);
        let junction_v = bracketed_newton(
            |junction_v| {
                let dark = self.cell.dark(junction_v);
                let current_a = weakest_a - dark.current_a;
                let all = working
                    .iter()
                    .map(|s| self.bare_voltage(*s, current_a))
                    .fold(Voltage { v: -dropped_v, ..Voltage::default() }, add);
                let power_slope = all.v + current_a * all.slope_ohm;
                let power_curvature = 2.0 * all.slope_ohm + current_a * all.curvature_ohm_per_a;
                (
                    dark.slope_s * power_slope,
                    dark.curvature_s_per_v * power_slope - dark.slope_s * dark.slope_s * power_curvature,
                )
            },
            reverse_v,
            open_v,
            guess_v,
            // The step after that would be its square; and at the maximum the power does not depend on it.
            1e-6 * slope_v.min(open_v),
        );
        (weakest_a - self.cell.dark(junction_v).current_a).max(0.0)
    }

    /// Voltage of the string at the current at which the bypass diode of a cell with `share` begins to conduct, V.
    pub(super) fn switch_voltage(&self, share: f64, bypass_v: f64) -> f64 {
        let (lit_a, series_ohm) = (self.photocurrent_a * share, self.cell.series_ohm);
        let back_a = bypass_v * self.cell.shunt_s + self.cell.saturation_a();
        let junction_v = bracketed_newton(
            |junction_v| {
                let dark = self.cell.dark(junction_v);
                (
                    junction_v + bypass_v - (lit_a - dark.current_a) * series_ohm,
                    1.0 + dark.slope_s * series_ohm,
                )
            },
            -bypass_v,
            -bypass_v + (lit_a + back_a) * series_ohm,
            -bypass_v + lit_a * series_ohm,
            1e-12,
        );
        self.voltage(lit_a - self.cell.dark(junction_v).current_a).v
    }

    /// Guess for the junction voltage of the weakest of the cells `working` at their largest power, V.
    fn guess_at_maximum(&self, working: &[f64]) -> f64 {
        let weakest = working.iter().copied().fold(f64::INFINITY, f64::min);
        let open_v = self.cell.voltage_for_dark(self.photocurrent_a * weakest).0;
        let slope_v = self.cell.slope_v();
        let alike = working.iter().filter(|share| **share <= 1.02 * weakest).count().max(1) as f64;
        open_v - slope_v * (working.len() as f64 / alike * open_v / slope_v).ln_1p()
    }

    /// The point between open circuit and `best` that gives `wanted_w`.
    pub(super) fn point_at_power(&self, wanted_w: f64, best: PowerPoint) -> PowerPoint {
        let current_a = bracketed_newton(
            |current_a| {
                let voltage = self.voltage(current_a);
                (voltage.v * current_a - wanted_w, voltage.v + current_a * voltage.slope_ohm)
            },
            0.0,
            best.current_a,
            best.current_a * wanted_w / best.power_w,
            1e-12 * best.current_a,
        );
        self.point(current_a)
    }

    /// What the current of the string is sought with at one temperature. `near` may be a voltage of the string with the junction
    /// voltage of the weakest cell that belonged to it at a temperature near by.
    pub(super) fn search(&self, near: Option<(f64, f64)>) -> Search {
        let junction_by_voltage = 1.0 / self.shares.len() as f64;
        Search {
            weakest_a: self.photocurrent_a * self.weakest(),
            last: near.map(|(voltage_v, junction_v)| Last { voltage_v, junction_v, junction_by_voltage }),
        }
    }

    /// Current at a voltage of the string and its derivatives; negative above its open circuit, as there is no blocking diode.
    /// Sought along the junction voltage of the weakest cell, from where it was found for the last voltage.
    pub(super) fn current(&self, voltage_v: f64, search: &mut Search) -> Current {
        let (junction_v, voltage) = self.near(voltage_v, search).unwrap_or_else(|| {
            let junction_v = self.bracketed(voltage_v, search);
            (junction_v, self.voltage(search.weakest_a - self.cell.dark(junction_v).current_a))
        });
        let dark = self.cell.dark(junction_v);
        self.note(search, voltage_v, junction_v, voltage, dark)
    }

    /// Current and its slopes where the last junction voltage, taken along its slope to `voltage_v`, leads; and how much
    /// `voltage_v` is above the voltage there, V. `None` without a last one or so far from it that its slope says nothing.
    pub(super) fn expand(&self, voltage_v: f64, search: &mut Search) -> Option<(Current, f64)> {
        let last = search.last?;
        let junction_v = last.junction_v + last.junction_by_voltage * (voltage_v - last.voltage_v);
        let moved_v = (junction_v - last.junction_v).abs();
        if moved_v.is_nan() || moved_v > 3.0 * self.cell.slope_v() {
            return None;
        }
        let dark = self.cell.dark(junction_v);
        let voltage = self.voltage(search.weakest_a - dark.current_a);
        Some((self.note(search, voltage.v, junction_v, voltage, dark), voltage_v - voltage.v))
    }

    /// Current with its slopes at a junction voltage of the weakest cell, kept for the next search.
    fn note(
        &self,
        search: &mut Search,
        voltage_v: f64,
        junction_v: f64,
        voltage: Voltage,
        dark: Dark,
    ) -> Current {
        let slope_s = 1.0 / voltage.slope_ohm.min(-1e-300);
        search.last = Some(Last { voltage_v, junction_v, junction_by_voltage: -slope_s / dark.slope_s });
        Current {
            a: search.weakest_a - dark.current_a,
            slope_s,
            curvature_s_per_v: -voltage.curvature_ohm_per_a * slope_s * slope_s * slope_s,
        }
    }

    /// The search at a guess for the largest power, as if the string had `voltage_v` there.
    pub(super) fn search_at_maximum(&self, voltage_v: f64) -> Search {
        self.search(Some((voltage_v, self.guess_at_maximum(self.shares))))
    }

    /// A few Newton steps from the last junction voltage, with the voltage and its slopes a hair before the last of them; `None` if
    /// they do not end.
    fn near(&self, voltage_v: f64, search: &Search) -> Option<(f64, Voltage)> {
        let last = search.last?;
        let slope_v = self.cell.slope_v();
        let mut junction_v = last.junction_v + last.junction_by_voltage * (voltage_v - last.voltage_v);
        for _ in 0..5 {
            let moved_v = (junction_v - last.junction_v).abs();
            if moved_v.is_nan() || moved_v > 3.0 * slope_v {
                return None;
            }
            let dark = self.cell.dark(junction_v);
            let voltage = self.voltage(search.weakest_a - dark.current_a);
            let off_v = voltage_v - voltage.v;
            let step_v = off_v / (voltage.slope_ohm * dark.slope_s);
            junction_v -= step_v;
            // What a Newton step leaves is smaller than what it took away by its size over the slope voltage. A large series
            // resistance makes much of a small step.
            let step_ratio = step_v.abs() / slope_v;
            if step_ratio <= 1e-5 && off_v.abs() * step_ratio <= 1e-12 * voltage_v.abs().max(slope_v) {
                return Some((junction_v, voltage));
            }
        }
        None
    }

    /// Between where the brightest cell is short-circuited and where the weakest has no current, or, with current flowing back
    /// into the string, as much higher as the string is: its voltage rises at least as much as that of any cell.
    fn bracketed(&self, voltage_v: f64, search: &Search) -> f64 {
        let slope_v = self.cell.slope_v();
        let open_v = self.cell.voltage_for_dark(search.weakest_a).0;
        let brightest_a = self.photocurrent_a * self.brightest();
        let reverse_v = self.cell.voltage_for_dark(search.weakest_a - brightest_a).0;
        let high_v = open_v + (voltage_v - self.voltage(0.0).v).max(0.0);
        let tolerance_v = 1e-9 * slope_v.min(high_v.max(1e-9 * slope_v));
        let off = |junction_v: f64| {
            let dark = self.cell.dark(junction_v);
            let voltage = self.voltage(search.weakest_a - dark.current_a);
            (voltage.v - voltage_v, -voltage.slope_ohm * dark.slope_s)
        };
        bracketed_newton(off, reverse_v, high_v, open_v - slope_v, tolerance_v)
    }
}

/// What the current of a string is sought with.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Search {
    /// Photocurrent of the weakest cell, A.
    weakest_a: f64,
    last: Option<Last>,
}

impl Search {
    /// Junction voltage of the weakest cell where the last search ended, V.
    pub(super) fn junction_v(&self) -> Option<f64> {
        self.last.map(|last| last.junction_v)
    }
}

/// Where the last search ended.
#[derive(Debug, Clone, Copy)]
struct Last {
    voltage_v: f64,
    junction_v: f64,
    junction_by_voltage: f64,
}

fn add(a: Voltage, b: Voltage) -> Voltage {
    Voltage {
        v: a.v + b.v,
        slope_ohm: a.slope_ohm + b.slope_ohm,
        curvature_ohm_per_a: a.curvature_ohm_per_a + b.curvature_ohm_per_a,
    }
}
