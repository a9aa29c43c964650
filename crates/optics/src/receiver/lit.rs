//! The cells of a receiver under its light: the temperature at which they settle, and what they give there.

use std::cell::{Cell, RefCell};

use super::{
    CooledSink, Diode, PowerPoint, Receiver,
    cell::{CELL_TEMPERATURE_K, Plateau},
    peak::Warming,
    string::{Near, UnevenArray},
};

/// The light on the cells: what does not change while the temperature is sought.
pub(super) struct Lit<'a> {
    receiver: &'a Receiver,
    pub absorbed_w: f64,
    plateau: Plateau,
    /// What is known of uneven cells from the last temperature.
    near: RefCell<Near>,
    /// What is known of even cells from the last temperature, as [`Diode::peak_near`] has it.
    pub below: Cell<f64>,
}

/// The largest power that the tracker gets from all cells.
#[derive(Debug, Clone, Copy)]
pub(super) struct Most {
    /// The power, W.
    pub power_w: f64,
    /// Its derivative by temperature, W/K; not a number for uneven cells.
    pub by_temp_w_per_k: f64,
    /// Its derivative by the light that enters; not a number for uneven cells.
    pub by_light_ratio: f64,
}

/// Where the temperature settled.
pub(super) struct Settled {
    pub sink_temp_k: f64,
    /// Power drawn from all cells, W; infinite for all that the tracker gets.
    pub wanted_w: f64,
    pub evaluations_count: u32,
}

impl<'a> Lit<'a> {
    pub(super) fn new(receiver: &'a Receiver, arriving_w: f64, wavelength_m: f64) -> Self {
        Self {
            receiver,
            absorbed_w: arriving_w - arriving_w * receiver.spec().reflection_ratio,
            plateau: receiver.spec().cell.plateau(wavelength_m),
            near: RefCell::default(),
            below: Cell::new(f64::NAN),
        }
    }

    /// The same where it is known from other light where even cells give the most.
    pub(super) fn knowing(self, below: &Cell<f64>) -> Self {
        Self { below: below.clone(), ..self }
    }

    /// The base temperature if `drawn_w` leaves the cells.
    pub(super) fn with_power(&self, cooling: &CooledSink, drawn_w: f64) -> Settled {
        let sink_temp_k = cooling.temperature_k(self.absorbed_w - drawn_w);
        Settled { sink_temp_k, wanted_w: drawn_w, evaluations_count: 0 }
    }

    /// With a demand at the bus the heat is known at once, if the cells can give it at the temperature that it leads to. None
    /// where they cannot: all that there is is drawn then.
    pub(super) fn with_demand(&self, cooling: &CooledSink, bus_w: f64) -> Option<Settled> {
        let wanted_w = self.receiver.spec().converter.input_w(bus_w);
        if wanted_w > self.absorbed_w {
            return None;
        }
        let settled = self.with_power(cooling, wanted_w);
        let shed_w = self.absorbed_w - wanted_w;
        let resistance_k_per_w = self.receiver.spec().junction_to_sink_k_per_w;
        let most = self.most(settled.sink_temp_k + shed_w * resistance_k_per_w);
        (most.power_w >= wanted_w).then_some(settled)
    }

    /// As [`Self::settle`], from the temperature with nothing drawn.
    pub(super) fn settle_from_hottest(&self, cooling: &CooledSink) -> Settled {
        self.settle(cooling, cooling.temperature_k(self.absorbed_w))
    }

    /// Base temperature at which heat shed and heat made are equal while all that the tracker gets is drawn. Heat shed
    /// less heat made is positive with nothing drawn; from there Newton's method comes down, guarded by a bracket. Where a slope is
    /// not known (uneven cells, natural convection) the slope of the sink alone is too shallow, so that the first step stays
    /// above the answer, and secants follow.
    /// `hottest_k` is a temperature above which there is no other: that with nothing drawn, or that under more light.
    pub(super) fn settle(&self, cooling: &CooledSink, hottest_k: f64) -> Settled {
        let (mut lo_k, mut hi_k) = (cooling.ambient_k(), hottest_k);
        let (mut before_k, mut before_w, mut before_step_k) = (hottest_k, 0.0, 0.0);
        // Without light nothing is warmer than the air, whatever it was before.
        let mut sink_temp_k = if self.absorbed_w > 0.0 { hottest_k } else { cooling.ambient_k() };
        let mut evaluations_count = 0;
        while evaluations_count < 100 && self.absorbed_w > 0.0 {
            let (shed_w, sink_w_per_k) = cooling.dissipated_with_slope(sink_temp_k);
            let resistance_k_per_w = self.receiver.spec().junction_to_sink_k_per_w;
            let most = self.most(sink_temp_k + shed_w * resistance_k_per_w);
            let surplus_w = shed_w - self.absorbed_w + most.power_w;
            evaluations_count += 1;
            if surplus_w > 0.0 {
                hi_k = sink_temp_k;
            } else {
                lo_k = sink_temp_k;
            }
            let exact_w_per_k =
                sink_w_per_k + most.by_temp_w_per_k * (1.0 + resistance_k_per_w * sink_w_per_k);
            let is_exact = exact_w_per_k.is_finite() && cooling.is_forced(sink_temp_k);
            let secant_w_per_k = (surplus_w - before_w) / (sink_temp_k - before_k);
            let slope_w_per_k = match evaluations_count {
                _ if is_exact => exact_w_per_k,
                1 => sink_w_per_k,
                _ => secant_w_per_k,
            };
            let newton_k = sink_temp_k - surplus_w / slope_w_per_k;
            let next_k = if newton_k >= lo_k && newton_k <= hi_k { newton_k } else { 0.5 * (lo_k + hi_k) };
            (before_k, before_w) = (sink_temp_k, surplus_w);
            sink_temp_k = next_k;
            let step_k = (next_k - before_k).abs();
            let range_k = hottest_k - cooling.ambient_k();
            // A secant step gains more than half the digits: what is left after a step of 1e-8 is rounding.
            if step_k <= 1e-8 * range_k || is_exact && after_newton(step_k, before_step_k) <= 1e-12 * range_k
            {
                break;
            }
            before_step_k = step_k;
        }
        Settled { sink_temp_k, wanted_w: f64::INFINITY, evaluations_count }
    }

    /// Largest power that the tracker gets from all cells at a temperature.
    pub(super) fn most(&self, cell_temp_k: f64) -> Most {
        let share = self.receiver.spec().tracking_efficiency_ratio;
        let unknown = f64::NAN;
        let most = match self.array(cell_temp_k) {
            Array::Even(even) => {
                let peak = even.diode.peak_near(&even.warming, &self.below);
                Most {
                    power_w: share * peak.power_w,
                    by_temp_w_per_k: share * peak.by_temp_w_per_k,
                    by_light_ratio: share * peak.by_photocurrent_v * even.a_per_w,
                }
            }
            Array::Uneven(array, groups) => {
                let best = array.maximum_power_near(&mut self.near.borrow_mut());
                let power_w = share * best.power_w * groups;
                Most { power_w, by_temp_w_per_k: unknown, by_light_ratio: unknown }
            }
        };
        Most { power_w: most.power_w.clamp(0.0, self.absorbed_w), ..most }
    }

    /// Voltage of a string, current and power of all cells where `wanted_w`, or all that the tracker gets, is drawn, and
    /// the heat of the hottest cell.
    pub(super) fn point(&self, cell_temp_k: f64, wanted_w: f64) -> (PowerPoint, f64) {
        if wanted_w <= 0.0 {
            return self.open_circuit(cell_temp_k);
        }
        let spec = self.receiver.spec();
        let drawn_w = |most_w: f64| (spec.tracking_efficiency_ratio * most_w).min(wanted_w);
        match self.array(cell_temp_k) {
            Array::Even(even) => {
                let point = even.diode.point_at_most(|best| drawn_w(best.power_w), &self.below);
                (point, (self.absorbed_w - point.power_w) / self.receiver.cells_count())
            }
            Array::Uneven(array, groups) => {
                let one = array.point_at_most(
                    |best| drawn_w(best.power_w * groups) / groups,
                    &mut self.near.borrow_mut(),
                );
                let heat_w =
                    array.hottest_cell_heat_w(self.absorbed_w / groups, one, &mut self.near.borrow_mut());
                (times(one, groups), heat_w)
            }
        }
    }

    /// As [`Self::point`] with nothing drawn, whatever the maximum is.
    fn open_circuit(&self, cell_temp_k: f64) -> (PowerPoint, f64) {
        match self.array(cell_temp_k) {
            Array::Even(even) => (
                PowerPoint { voltage_v: even.diode.open_circuit_v(), ..PowerPoint::default() },
                self.absorbed_w / self.receiver.cells_count(),
            ),
            Array::Uneven(array, groups) => {
                let point = array.open_circuit();
                (
                    point,
                    array.hottest_cell_heat_w(self.absorbed_w / groups, point, &mut self.near.borrow_mut()),
                )
            }
        }
    }

    /// The cells at a temperature: one diode for all of them under even light.
    fn array(&self, cell_temp_k: f64) -> Array<'a> {
        let spec = self.receiver.spec();
        // Far above every melting point there are no cells left; held laws would give power that grows with light.
        let alive = if cell_temp_k <= CELL_TEMPERATURE_K.1 { 1.0 } else { 0.0 };
        let responsivity = spec.cell.responsivity_on(&self.plateau, cell_temp_k);
        let photocurrent_a = alive * self.absorbed_w * responsivity;
        match &spec.shares {
            None => {
                let (series, parallel) = (f64::from(spec.series_count), f64::from(spec.parallel_count));
                let junction = spec.cell.junction(series, parallel, cell_temp_k);
                Array::Even(Even {
                    diode: Diode { photocurrent_a: photocurrent_a / series, junction },
                    warming: spec.cell.warming(&self.plateau, responsivity, cell_temp_k),
                    a_per_w: alive * responsivity / series,
                })
            }
            Some(shares) => {
                let groups = self.receiver.equal_groups(shares.ratios().len());
                let array = UnevenArray {
                    cell: spec.cell.junction(1.0, 1.0, cell_temp_k),
                    photocurrent_a: photocurrent_a / groups,
                    shares: shares.ratios(),
                    series_count: spec.series_count as usize,
                    bypass_v: self.receiver.bypass_forward_v(),
                };
                Array::Uneven(array, groups)
            }
        }
    }
}

/// Equal cells as one curve.
struct Even {
    diode: Diode,
    warming: Warming,
    /// Photocurrent of the curve over the light that enters all cells, A/W.
    a_per_w: f64,
}

/// What Newton's method leaves after a step, from that step and the one before: each is as the square of the last. Infinite
/// where there was none before.
fn after_newton(step: f64, before: f64) -> f64 {
    let shrunk = step / before;
    step * shrunk * shrunk
}

/// All cells as one curve, or as so many equal groups of uneven ones in parallel.
enum Array<'a> {
    Even(Even),
    Uneven(UnevenArray<'a>, f64),
}

/// So many equal curves in parallel.
fn times(point: PowerPoint, groups: f64) -> PowerPoint {
    PowerPoint { current_a: point.current_a * groups, power_w: point.power_w * groups, ..point }
}
