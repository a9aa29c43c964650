//! Power drawn from and given to a battery over time.
//!
//! Charge is counted exactly: in a time dt a current I moves I·dt of charge, so the time between two states of charge is
//! `t = Q·∫ds/I(s)`. The integral is taken by Gauss-Legendre panels of 0.02 or less in state of charge, and the last panel
//! is cut where the time is used up. Delivered energy, heat and chemical energy come from the same panels, so they close
//! to rounding.

use super::{Battery, BatteryLimit};
use beamstay_numerics::{domain::OutOfRange, domain::in_range};

/// Widest panel in state of charge.
const PANEL: f64 = 0.02;

/// A constant-power discharge to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Discharge {
    /// How long the power is given, s; the largest finite number for a power of 0.
    pub duration_s: f64,
    /// Energy given, J.
    pub delivered_j: f64,
    /// Heat in the cells, J.
    pub loss_j: f64,
    /// State of charge at the end.
    pub end_state_of_charge: f64,
    /// Current at the start, A.
    pub first_current_a: f64,
    /// Current at the end, A.
    pub last_current_a: f64,
    /// What ended it.
    pub ended_by: BatteryLimit,
}

/// One step of a simulation. Energy closes: given − taken + heat = −(change of stored energy).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatteryStep {
    /// State of charge after the step.
    pub state_of_charge: f64,
    /// Energy given at the terminals, J.
    pub delivered_j: f64,
    /// Surplus taken by the charger, J.
    pub taken_j: f64,
    /// Energy asked for and not given, or offered and not taken, J.
    pub unserved_j: f64,
    /// Heat in cells and charger, J.
    pub loss_j: f64,
    /// Change of the energy stored in the cells, J; negative when discharged.
    pub stored_change_j: f64,
    /// Voltage at the terminals at the end of the step, with the current of that moment, V.
    pub voltage_v: f64,
    /// Current at the end of the step, A; negative when charging, 0 if a limit ended the flow.
    pub current_a: f64,
    /// Limit met during the step. After a limit of discharge nothing more is given in this step: a bus that is short of
    /// power does not fly at less.
    pub limit: Option<BatteryLimit>,
}

/// Sums over a stretch of state of charge.
#[derive(Clone, Copy, Default)]
struct Flow {
    time_s: f64,
    /// Energy at the terminals (given, or taken by the charger), J.
    terminal_j: f64,
    /// Chemical energy moved, J.
    chemical_j: f64,
}

impl Flow {
    fn add(&mut self, other: Self) {
        self.time_s += other.time_s;
        self.terminal_j += other.terminal_j;
        self.chemical_j += other.chemical_j;
    }
}

/// Which way charge flows and under what power at the terminals.
#[derive(Clone, Copy)]
enum Direction {
    /// Constant power drawn, W.
    Out(f64),
    /// Surplus power offered to the charger, W.
    In(f64),
}

/// Where a march through state of charge ended.
struct March {
    end: f64,
    flow: Flow,
    /// `None` if the time was used up first.
    limit: Option<BatteryLimit>,
}

impl Battery {
    /// Draws `power_w` (W, 1e-6 to 1e9) from a state of charge (0 to 1) until a limit ends it.
    ///
    /// # Errors
    /// [`OutOfRange`] for an argument outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Battery, BatteryLimit, BatterySpec};
    /// let spec = BatterySpec { low_charge_rise_ratio: 0.0, ..BatterySpec::polymer(1e6, 6) };
    /// let spec = BatterySpec { cell_capacity_coulomb: 36_000.0, cell_resistance_ohm: 0.003, ..spec };
    /// let discharge = Battery::new(spec).unwrap().discharge(1.0, 600.0).unwrap();
    /// assert_eq!(discharge.ended_by, BatteryLimit::Depth);
    /// assert!((discharge.duration_s / 60.0 - 18.1738).abs() < 1e-3);
    /// ```
    pub fn discharge(&self, state_of_charge: f64, power_w: f64) -> Result<Discharge, OutOfRange> {
        let start = in_range("state of charge", "", state_of_charge, 0.0, 1.0)?;
        let power_w = in_range("battery power", "W", power_w, 1e-6, 1e9)?;
        let direction = Direction::Out(power_w);
        let march = self.march(direction, start, f64::MAX);
        Ok(Discharge {
            duration_s: march.flow.time_s,
            delivered_j: march.flow.terminal_j,
            loss_j: march.flow.chemical_j - march.flow.terminal_j,
            end_state_of_charge: march.end,
            first_current_a: self.current_a(direction, start),
            last_current_a: self.current_a(direction, march.end),
            ended_by: march.limit.unwrap_or(BatteryLimit::Depth),
        })
    }

    /// Energy that can be given at a constant power (W, 1e-6 to 1e9) before a limit, J: what is stored above the floor,
    /// less resistance heat.
    ///
    /// # Errors
    /// As [`Battery::discharge`].
    pub fn usable_j(&self, state_of_charge: f64, power_w: f64) -> Result<f64, OutOfRange> {
        Ok(self.discharge(state_of_charge, power_w)?.delivered_j)
    }

    /// The battery after `duration_s` (s, 0 to 1e9) under `power_w` (W, −1e9 to 1e9): positive is drawn at the terminals,
    /// negative is surplus offered to the charger; less than a microwatt counts as none. The state of charge (0 to 1) goes
    /// in and comes out; nothing is kept.
    ///
    /// # Errors
    /// [`OutOfRange`] for an argument outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Battery, BatterySpec};
    /// let battery = Battery::new(BatterySpec::polymer(800e3, 6)).unwrap();
    /// let down = battery.step(0.9, 400.0, 60.0).unwrap();
    /// assert!((down.delivered_j - 24_000.0).abs() < 1e-6 && down.state_of_charge < 0.9);
    /// let up = battery.step(down.state_of_charge, -100.0, 60.0).unwrap();
    /// assert!(up.state_of_charge > down.state_of_charge && up.taken_j <= 6000.0 + 1e-6);
    /// ```
    pub fn step(
        &self,
        state_of_charge: f64,
        power_w: f64,
        duration_s: f64,
    ) -> Result<BatteryStep, OutOfRange> {
        let start = in_range("state of charge", "", state_of_charge, 0.0, 1.0)?;
        let power_w = in_range("battery power", "W", power_w, -1e9, 1e9)?;
        let duration_s = in_range("time step", "s", duration_s, 0.0, 1e9)?;
        Ok(if power_w >= 1e-6 {
            self.step_out(start, power_w, duration_s)
        } else if power_w <= -1e-6 {
            self.step_in(start, -power_w, duration_s)
        } else {
            self.at_rest(start)
        })
    }

    fn at_rest(&self, state_of_charge: f64) -> BatteryStep {
        BatteryStep {
            state_of_charge,
            delivered_j: 0.0,
            taken_j: 0.0,
            unserved_j: 0.0,
            loss_j: 0.0,
            stored_change_j: 0.0,
            voltage_v: self.open_circuit_v(state_of_charge),
            current_a: 0.0,
            limit: None,
        }
    }

    fn step_out(&self, start: f64, power_w: f64, duration_s: f64) -> BatteryStep {
        let direction = Direction::Out(power_w);
        let March { end, flow, limit } = self.march(direction, start, duration_s);
        let current_a = if limit.is_none() { self.current_a(direction, end) } else { 0.0 };
        BatteryStep {
            delivered_j: flow.terminal_j,
            unserved_j: if limit.is_some() { (power_w * duration_s - flow.terminal_j).max(0.0) } else { 0.0 },
            loss_j: flow.chemical_j - flow.terminal_j,
            stored_change_j: -flow.chemical_j,
            voltage_v: self.open_circuit_v(end) - current_a * self.resistance_ohm(end),
            current_a,
            limit,
            ..self.at_rest(end)
        }
    }

    fn step_in(&self, start: f64, offered_w: f64, duration_s: f64) -> BatteryStep {
        let direction = Direction::In(offered_w);
        let March { end, flow, limit } = self.march(direction, start, duration_s);
        let current_a = if limit.is_none() { self.current_a(direction, end) } else { 0.0 };
        BatteryStep {
            taken_j: flow.terminal_j,
            unserved_j: (offered_w * duration_s - flow.terminal_j).max(0.0),
            loss_j: flow.terminal_j - flow.chemical_j,
            stored_change_j: flow.chemical_j,
            voltage_v: self.open_circuit_v(end) + current_a * self.resistance_ohm(end),
            current_a: -current_a,
            limit: limit.or(self.charge_throttle(end, offered_w)),
            ..self.at_rest(end)
        }
    }

    /// Why less than the offered power is taken while charging goes on.
    fn charge_throttle(&self, state_of_charge: f64, offered_w: f64) -> Option<BatteryLimit> {
        let allowed_a = self.max_charge_current_a(state_of_charge);
        if self.wanted_charge_a(state_of_charge, offered_w) <= allowed_a {
            None
        } else if allowed_a < self.max_charge_a {
            Some(BatteryLimit::Voltage)
        } else {
            Some(BatteryLimit::Current)
        }
    }

    /// Current that would take all of the offered power: I(V + IR) = η·P.
    fn wanted_charge_a(&self, state_of_charge: f64, offered_w: f64) -> f64 {
        let open_v = self.open_circuit_v(state_of_charge);
        let cell_w = self.spec.charge_efficiency_ratio * offered_w;
        let discriminant_v2 = open_v * open_v + 4.0 * self.resistance_ohm(state_of_charge) * cell_w;
        2.0 * cell_w / (open_v + discriminant_v2.sqrt())
    }

    /// Current between cells and terminals, A, positive either way; 0 if the power cannot be drawn at all.
    fn current_a(&self, direction: Direction, state_of_charge: f64) -> f64 {
        match direction {
            // The stable root of the constant-power load, without the rest of it.
            Direction::Out(power_w) => {
                let open_v = self.open_circuit_v(state_of_charge);
                let discriminant_v2 = open_v * open_v - 4.0 * self.resistance_ohm(state_of_charge) * power_w;
                if discriminant_v2 >= 0.0 { 2.0 * power_w / (open_v + discriminant_v2.sqrt()) } else { 0.0 }
            }
            Direction::In(offered_w) => self
                .wanted_charge_a(state_of_charge, offered_w)
                .min(self.max_charge_current_a(state_of_charge)),
        }
    }

    /// What stops the flow at a state of charge.
    fn stop(&self, direction: Direction, state_of_charge: f64) -> Option<BatteryLimit> {
        match direction {
            Direction::Out(power_w) => self.discharge_limit(state_of_charge, power_w),
            Direction::In(_) => self.charge_block(state_of_charge),
        }
    }

    /// Follows the flow panel by panel until the time is used up or a limit stops it. Every round moves by a whole panel or
    /// ends; a last short round for rounding may follow, hence the generous bound.
    fn march(&self, direction: Direction, start: f64, duration_s: f64) -> March {
        let (mut s, mut flow) = (start, Flow::default());
        let mut limit = self.stop(direction, s);
        for _ in 0..2000 {
            let left_s = duration_s - flow.time_s;
            if limit.is_some() || left_s <= 0.0 {
                break;
            }
            let (panel_end, panel_limit) = self.panel_end(direction, s, left_s);
            let panel = self.panel(direction, s, panel_end);
            if panel.time_s >= left_s {
                let end = self.end_in_panel(direction, s, panel_end, left_s / panel.time_s, left_s);
                flow.add(self.panel(direction, s, end));
                return March { end, flow, limit: None };
            }
            flow.add(panel);
            (s, limit) = (panel_end, panel_limit);
        }
        March { end: s, flow, limit }
    }

    /// End of the next panel: not wider than needed for the time left, and not beyond the first limit.
    fn panel_end(&self, direction: Direction, s: f64, left_s: f64) -> (f64, Option<BatteryLimit>) {
        let straight = self.current_a(direction, s) * left_s / self.charge_coulomb;
        // A little over the straight guess, so that one panel is enough for a short step.
        let width = (1.25 * straight).clamp(1e-12, PANEL);
        let end = match direction {
            Direction::Out(_) => (s - width).max(self.spec.floor_ratio),
            Direction::In(_) => (s + width).min(self.full_ratio),
        };
        match direction {
            Direction::Out(power_w) if self.electrical_limit(end, power_w).is_some() => {
                self.first_electrical_limit(s, end, power_w)
            }
            _ => (end, self.stop(direction, end)),
        }
    }

    /// State of charge at which current or voltage first forbid the power, between an allowed and a forbidden one:
    /// halved until the two are neighbours in rounding.
    fn first_electrical_limit(
        &self,
        mut allowed: f64,
        mut forbidden: f64,
        power_w: f64,
    ) -> (f64, Option<BatteryLimit>) {
        for _ in 0..60 {
            let middle = 0.5 * (allowed + forbidden);
            if self.electrical_limit(middle, power_w).is_some() {
                forbidden = middle;
            } else {
                allowed = middle;
            }
        }
        (allowed, self.electrical_limit(forbidden, power_w))
    }

    /// Time and energies over one panel.
    fn panel(&self, direction: Direction, from: f64, to: f64) -> Flow {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from).abs());
        let mut flow = Flow::default();
        for (node, weight) in self.rule.nodes().iter().zip(self.rule.weights()) {
            let s = middle + half * node;
            let current_a = self.current_a(direction, s);
            let moved_coulomb = self.charge_coulomb * half * weight;
            let time_s = moved_coulomb / current_a;
            let chemical_j = self.open_circuit_v(s) * moved_coulomb;
            let terminal_j = match direction {
                Direction::Out(power_w) => power_w * time_s,
                Direction::In(_) => {
                    let heat_j = current_a * self.resistance_ohm(s) * moved_coulomb;
                    (chemical_j + heat_j) / self.spec.charge_efficiency_ratio
                }
            };
            flow.add(Flow { time_s, terminal_j, chemical_j });
        }
        flow
    }

    /// State of charge inside a panel at which `left_s` has passed, by Newton's method on the time; `share` of the panel is
    /// the first guess.
    fn end_in_panel(&self, direction: Direction, from: f64, to: f64, share: f64, left_s: f64) -> f64 {
        let sign = (to - from).signum();
        let mut s = from + share * (to - from);
        for _ in 0..20 {
            let late_s = self.panel(direction, from, s).time_s - left_s;
            let next = s - sign * late_s * self.current_a(direction, s) / self.charge_coulomb;
            let next = next.clamp(from.min(to), from.max(to));
            let settled = (next - s).abs() <= 1e-16 + 1e-15 * (s - from).abs();
            s = next;
            if settled {
                break;
            }
        }
        s
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests {
    use super::super::BatterySpec;
    use super::*;
    use proptest::prelude::*;

    fn battery() -> Battery {
        Battery::new(BatterySpec::polymer(800e3, 6)).unwrap()
    }

    fn any_battery() -> impl Strategy<Value = Battery> {
        (
            (4.0..7.0f64, 1..20u32, 0.0..0.2f64, 0.0..3.0f64),
            (250.0..335.0f64, 0.0..0.5f64, 2.0..3.6f64, 0.5..30.0f64),
            (0.1..5.0f64, 0.5..1.0f64, 0.6..1.0f64),
        )
            .prop_map(
                |((log_j, series, ohm_ah, rise), (temp_k, floor, cutoff, out_c), (in_c, eta, health))| {
                    let spec = BatterySpec::polymer(10f64.powf(log_j), series);
                    Battery::new(BatterySpec {
                        cell_resistance_ohm: (ohm_ah * 3600.0 / spec.cell_capacity_coulomb).min(10.0),
                        low_charge_rise_ratio: rise,
                        temp_k,
                        floor_ratio: floor,
                        cutoff_v: cutoff,
                        max_discharge_per_h: out_c,
                        max_charge_per_h: in_c,
                        charge_efficiency_ratio: eta,
                        health_ratio: health,
                        ..spec
                    })
                    .unwrap()
                },
            )
    }

    #[test]
    fn each_argument_is_checked() {
        let battery = battery();
        assert!(battery.discharge(1.01, 10.0).is_err() && battery.discharge(0.5, 0.0).is_err());
        assert!(battery.step(-0.01, 1.0, 1.0).is_err() && battery.step(0.5, f64::NAN, 1.0).is_err());
        assert!(battery.step(0.5, 1.0, -1.0).is_err() && battery.step(0.5, 1.1e9, 1.0).is_err());
        assert!(battery.step(0.5, 1.0, f64::INFINITY).is_err());
    }

    #[test]
    fn nothing_flows_at_rest_or_in_no_time() {
        let battery = battery();
        assert_eq!(battery.step(0.5, 0.0, 1e6).unwrap(), battery.at_rest(0.5));
        let none = battery.step(0.5, 300.0, 0.0).unwrap();
        assert_eq!((none.state_of_charge, none.delivered_j, none.limit), (0.5, 0.0, None));
        assert!(none.voltage_v < battery.open_circuit_v(0.5), "sag shows at once");
    }

    #[test]
    fn at_the_floor_nothing_is_given_and_when_full_nothing_is_taken() {
        let battery = battery();
        let floor = battery.step(0.2, 100.0, 10.0).unwrap();
        assert_eq!((floor.limit, floor.unserved_j), (Some(BatteryLimit::Depth), 1000.0));
        let full = battery.step(1.0, -100.0, 10.0).unwrap();
        assert_eq!((full.limit, full.unserved_j, full.taken_j), (Some(BatteryLimit::Full), 1000.0, 0.0));
    }

    #[test]
    fn charge_rate_and_voltage_throttle() {
        let battery = battery();
        let fast = battery.step(0.5, -1e4, 1.0).unwrap();
        assert_eq!(fast.limit, Some(BatteryLimit::Current));
        let late = battery.step(battery.full_ratio() - 1e-4, -1e4, 0.1).unwrap();
        assert_eq!(late.limit, Some(BatteryLimit::Voltage));
        assert!(late.voltage_v <= battery.open_circuit_v(1.0) * (1.0 + 1e-12));
        let cold = Battery::new(BatterySpec { temp_k: 272.0, ..battery.spec().clone() }).unwrap();
        assert_eq!(cold.step(0.5, -10.0, 1.0).unwrap().limit, Some(BatteryLimit::Temperature));
    }

    #[test]
    fn a_long_charge_ends_full_and_a_long_discharge_at_the_floor() {
        let battery = battery();
        let full = battery.step(0.3, -200.0, 1e6).unwrap();
        assert_eq!((full.state_of_charge, full.limit), (battery.full_ratio(), Some(BatteryLimit::Full)));
        let empty = battery.step(1.0, 200.0, 1e6).unwrap();
        assert_eq!((empty.state_of_charge, empty.limit), (0.2, Some(BatteryLimit::Depth)));
        assert!((empty.delivered_j + empty.unserved_j - 2e8).abs() < 1e-3);
    }

    #[test]
    fn many_small_steps_are_one_large_step() {
        let battery = battery();
        let once = battery.step(0.95, 500.0, 600.0).unwrap();
        let mut s = 0.95;
        for _ in 0..600 {
            s = battery.step(s, 500.0, 1.0).unwrap().state_of_charge;
        }
        assert!((s - once.state_of_charge).abs() < 1e-9, "{s} {}", once.state_of_charge);
    }

    proptest! {
        #[test]
        fn prop_energy_closes(
            battery in any_battery(), s in 0.0..=1.0f64, c_rate in -3.0..20.0f64, duration_s in 0.0..7200.0f64
        ) {
            let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
            let step = battery.step(s, power_w, duration_s).unwrap();
            let scale_j = step.stored_change_j.abs().max(step.taken_j).max(1e-9);
            let gap_j = step.delivered_j - step.taken_j + step.loss_j + step.stored_change_j;
            prop_assert!(gap_j.abs() <= 1e-12 * scale_j, "{gap_j} {step:?}");
            prop_assert!(step.loss_j >= -1e-12 * scale_j, "{step:?}");
            let stored_j = battery.stored_j(step.state_of_charge) - battery.stored_j(s);
            prop_assert!((stored_j - step.stored_change_j).abs() <= 1e-8 * battery.stored_j(1.0));
            let asked_j = power_w.abs() * duration_s;
            let seen_j = step.delivered_j + step.taken_j + step.unserved_j;
            prop_assert!((seen_j - asked_j).abs() <= 1e-9 * asked_j.max(1.0), "{seen_j} {asked_j} {step:?}");
            prop_assert!((0.0..=1.0).contains(&step.state_of_charge));
        }

        #[test]
        fn prop_a_round_trip_never_gains(
            battery in any_battery(), s in 0.3..0.9f64, c_rate in 0.05..0.9f64, duration_s in 1.0..1000.0f64
        ) {
            let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
            let up = battery.step(s, -power_w, duration_s).unwrap();
            let surplus = up.state_of_charge;
            let down = battery.discharge(surplus, power_w).unwrap();
            let before = battery.discharge(s, power_w).unwrap();
            prop_assert!(down.delivered_j - before.delivered_j <= up.taken_j * (1.0 + 1e-9));
        }

        #[test]
        fn prop_more_power_lasts_shorter_and_gives_less(battery in any_battery(), c_rate in 0.05..5.0f64) {
            let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
            let slow = battery.discharge(1.0, power_w).unwrap();
            let fast = battery.discharge(1.0, 1.1 * power_w).unwrap();
            prop_assert!(fast.duration_s <= slow.duration_s && fast.delivered_j <= slow.delivered_j * (1.0 + 1e-12));
            prop_assert!(slow.delivered_j <= battery.stored_j(1.0));
        }

        #[test]
        fn prop_hostile_steps_never_panic(battery in any_battery(), bits in any::<[u64; 3]>()) {
            let [s, power_w, duration_s] = bits.map(f64::from_bits);
            let _ = battery.step(s, power_w, duration_s);
            let s = s.abs().fract();
            if let Ok(step) = battery.step(if s.is_finite() { s } else { 0.5 }, power_w, duration_s) {
                for number in [step.state_of_charge, step.delivered_j, step.taken_j, step.unserved_j, step.loss_j,
                    step.stored_change_j, step.voltage_v, step.current_a] {
                    prop_assert!(number.is_finite(), "{step:?}");
                }
            }
            let _ = battery.discharge(0.9, power_w);
            prop_assert!(battery.max_discharge_w(s).is_finite() && battery.max_charge_w(s).is_finite());
        }
    }
}
