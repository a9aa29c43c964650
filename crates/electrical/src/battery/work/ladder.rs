//! The way down from a full battery to its floor in panels whose ends do not depend on the power: voltage and resistance along it
//! are worked out once, so that what a full battery gives costs no exponentials.

use super::{Battery, Direction, Flow, PANEL};

/// State of charge with the voltage and the resistance of the pack there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::battery) struct Rested {
    pub state_of_charge: f64,
    pub open_v: f64,
    pub resistance_ohm: f64,
}

impl Rested {
    /// Voltage at the terminals while `power_w` is drawn, the stable root of V = V₀ − R·P/V; none where no current gives that.
    pub fn loaded_v(&self, power_w: f64) -> Option<f64> {
        let discriminant_v2 = self.open_v * self.open_v - 4.0 * self.resistance_ohm * power_w;
        (discriminant_v2 >= 0.0).then(|| 0.5 * (self.open_v + discriminant_v2.sqrt()))
    }
}

/// One panel: its lower end and its quadrature nodes.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::battery) struct Rung {
    end: Rested,
    half: f64,
    nodes: [Rested; 4],
}

impl Battery {
    /// The pack at rest at a state of charge.
    pub(in crate::battery) fn rested(&self, state_of_charge: f64) -> Rested {
        Rested {
            state_of_charge,
            open_v: self.open_circuit_v(state_of_charge),
            resistance_ohm: self.resistance_ohm(state_of_charge),
        }
    }

    /// Panels from full down to the floor.
    pub(in crate::battery) fn rungs(&self) -> Vec<Rung> {
        let mut rungs = Vec::new();
        let mut from = self.full_ratio;
        while from > self.spec.floor_ratio {
            let to = (from - PANEL).max(self.spec.floor_ratio);
            let (middle, half) = (0.5 * (from + to), 0.5 * (to - from).abs());
            let nodes = self.rule.nodes().map(|node| self.rested(middle + half * node));
            rungs.push(Rung { end: self.rested(to), half, nodes });
            from = to;
        }
        rungs
    }

    /// How far a full battery gives a power, panel by panel, before the panel in which a limit of current or voltage ends it:
    /// the state of charge there and what has flowed.
    pub(super) fn down_the_rungs(&self, power_w: f64) -> (f64, Flow) {
        let (mut state_of_charge, mut flow) = (self.full_ratio, Flow::default());
        for rung in &self.rungs {
            if !self.gives_at_rest(&rung.end, power_w) {
                break;
            }
            flow.add(self.panel_over(Direction::Out(power_w), rung.half, &rung.nodes));
            state_of_charge = rung.end.state_of_charge;
        }
        (state_of_charge, flow)
    }
}
