//! Power drawn from and given to a battery over time.
//!
//! Charge is counted exactly: in a time dt a current I moves I·dt of charge, so the time between two states of charge is
//! `t = Q·∫ds/I(s)`. The integral is taken by Gauss-Legendre panels of 0.02 or less in state of charge, and the last panel
//! is cut where the time is used up. Delivered energy, heat and chemical energy come from the same panels, so they close
//! to rounding.

use super::{Battery, BatteryLimit, share};
use beamstay_numerics::{domain::OutOfRange, domain::in_range};
use ladder::Rested;

pub(super) mod ladder;

/// Widest panel in state of charge.
const PANEL: f64 = 0.02;

/// A constant-power discharge to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
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
        let (open_v, resistance_ohm) =
            (self.open_circuit_v(state_of_charge), self.resistance_ohm(state_of_charge));
        self.wanted_charge_at_a(open_v, resistance_ohm, offered_w)
    }

    fn wanted_charge_at_a(&self, open_v: f64, resistance_ohm: f64, offered_w: f64) -> f64 {
        let cell_w = self.spec.charge_efficiency_ratio * offered_w;
        let discriminant_v2 = open_v * open_v + 4.0 * resistance_ohm * cell_w;
        2.0 * cell_w / (open_v + discriminant_v2.sqrt())
    }

    /// Current between cells and terminals, A, positive either way; 0 if the power cannot be drawn at all.
    fn current_a(&self, direction: Direction, state_of_charge: f64) -> f64 {
        let (open_v, resistance_ohm) =
            (self.open_circuit_v(state_of_charge), self.resistance_ohm(state_of_charge));
        self.current_at_a(direction, state_of_charge, open_v, resistance_ohm)
    }

    /// As [`Self::current_a`] with the voltage and the resistance of that state of charge.
    fn current_at_a(
        &self,
        direction: Direction,
        state_of_charge: f64,
        open_v: f64,
        resistance_ohm: f64,
    ) -> f64 {
        match direction {
            // The stable root of the constant-power load, without the rest of it.
            Direction::Out(power_w) => {
                let discriminant_v2 = open_v * open_v - 4.0 * resistance_ohm * power_w;
                if discriminant_v2 >= 0.0 { 2.0 * power_w / (open_v + discriminant_v2.sqrt()) } else { 0.0 }
            }
            Direction::In(offered_w) => self
                .wanted_charge_at_a(open_v, resistance_ohm, offered_w)
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
        if let Direction::Out(power_w) = direction
            && limit.is_none()
            && (start, duration_s) == (self.full_ratio, f64::MAX)
        {
            (s, flow) = self.down_the_rungs(power_w);
            limit = self.stop(direction, s);
        }
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
            // Temperature does not change on the way, so that above the floor nothing else can stop it.
            Direction::Out(power_w) if self.electrical_limit(end, power_w).is_some() => {
                self.first_electrical_limit(s, end, power_w)
            }
            Direction::Out(_) if share(end) > self.spec.floor_ratio => (end, None),
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
        self.panel_over(direction, half, &self.rule.nodes().map(|node| self.rested(middle + half * node)))
    }

    /// The same from the pack at rest at the nodes of the panel; `half` its width.
    fn panel_over(&self, direction: Direction, half: f64, nodes: &[Rested; 4]) -> Flow {
        match direction {
            Direction::Out(power_w) => self.drawn_over(power_w, half, nodes),
            Direction::In(_) => self.taken_over(direction, half, nodes),
        }
    }

    /// What a constant power, W, draws over a panel: by charge, what leaves the cells is their voltage at rest, and what leaves the
    /// terminals that under load.
    fn drawn_over(&self, power_w: f64, half: f64, nodes: &[Rested; 4]) -> Flow {
        let (mut open_v, mut terminal_v) = (0.0, 0.0);
        for (at, weight) in nodes.iter().zip(self.rule.weights()) {
            open_v += weight * at.open_v;
            terminal_v += weight * at.loaded_v(power_w).unwrap_or(0.5 * at.open_v);
        }
        let moved_coulomb = self.charge_coulomb * half;
        let terminal_j = moved_coulomb * terminal_v;
        Flow { time_s: terminal_j / power_w, terminal_j, chemical_j: moved_coulomb * open_v }
    }

    /// What the charger takes over a panel.
    fn taken_over(&self, direction: Direction, half: f64, nodes: &[Rested; 4]) -> Flow {
        let mut flow = Flow::default();
        for (at, weight) in nodes.iter().zip(self.rule.weights()) {
            let Rested { state_of_charge, open_v, resistance_ohm } = *at;
            let current_a = self.current_at_a(direction, state_of_charge, open_v, resistance_ohm);
            let moved_coulomb = self.charge_coulomb * half * weight;
            let chemical_j = open_v * moved_coulomb;
            let heat_j = current_a * resistance_ohm * moved_coulomb;
            let terminal_j = (chemical_j + heat_j) / self.spec.charge_efficiency_ratio;
            flow.add(Flow { time_s: moved_coulomb / current_a, terminal_j, chemical_j });
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
mod tests;
