//! Power at the bus over the speed of the air that cools the receiver, for every payload of a map: the most there is, and the light of
//! the laser for less.

use beamstay_numerics::interpolate::MonotoneCubic;

use super::table::Table;
use crate::{System, search::Free, system::Way};

/// Speeds of the curves.
const SPEEDS_COUNT: usize = 9;
/// What is left of the most power where the light is computed, as roots: next to the most, the light goes with the root of what is
/// left. Where all is left, there is no light.
const LEFT: [f64; 5] = [0.0, 0.2, 0.45, 0.75, 1.0];

/// The curves.
#[derive(Debug, Clone)]
pub(super) struct Supply {
    most_w: MonotoneCubic,
    /// Light for each of [`LEFT`] but the last, W.
    lasers_w: Vec<MonotoneCubic>,
}

impl Supply {
    /// For the payloads from least to largest of `free[0]`; none for power that does not come as light through a fiber.
    pub(super) fn new(system: &mut System, table: &Table, free: &[Free]) -> Option<Self> {
        let ground = table.ground();
        let fluid = system.surroundings.mean.fluid_at(ground.height_m);
        let mut speeds = (f64::INFINITY, f64::NEG_INFINITY);
        for payload_kg in [free[0].span.lo, free[0].span.hi] {
            system.masses.payload_kg = payload_kg;
            let place = ground.place(free, 0.0, 0.5);
            let acting = system.acting(&place, &system.surroundings.mean, None);
            let point = system.craft.balance(&acting).ok()?.point;
            let Way::Light(light) = &system.way else { return None };
            let speed_m_s = light.cooling_speed_m_s(point.wake_m_s, point.airspeed_m_s);
            speeds = (speeds.0.min(speed_m_s), speeds.1.max(speed_m_s));
        }
        let Way::Light(light) = &system.way else { return None };
        let path_ratio = light.route.fiber_path_ratio()?;
        let (from, to) = (0.8 * speeds.0, 1.5 * speeds.1 + 0.1);
        let at = |i: usize| from + (to - from) * i as f64 / (SPEEDS_COUNT - 1) as f64;
        let x: Vec<f64> = (0..SPEEDS_COUNT).map(at).collect();
        let mut most_w = Vec::with_capacity(SPEEDS_COUNT);
        let mut lasers_w = vec![Vec::with_capacity(SPEEDS_COUNT); LEFT.len() - 1];
        for speed_m_s in &x {
            let cooled = light.receiver.spec().sink.cooled_by(&fluid, *speed_m_s).ok()?;
            let most = light.available_w(&cooled, path_ratio).ok()?;
            for (left, laser_w) in LEFT.iter().zip(&mut lasers_w) {
                // At the very peak rounding may find no light that does.
                let demand_w = (1.0 - 1e-9) * (1.0 - left * left) * most;
                laser_w.push(light.meet(demand_w, &cooled, path_ratio).ok()?.laser.optical_w);
            }
            most_w.push(most);
        }
        let curve = |y: Vec<f64>| MonotoneCubic::new(x.clone(), y).ok();
        Some(Self {
            most_w: curve(most_w)?,
            lasers_w: lasers_w.into_iter().map(curve).collect::<Option<_>>()?,
        })
    }

    /// Most power at the bus, W.
    pub(super) fn available_w(&self, speed_m_s: f64) -> f64 {
        self.most_w.at(speed_m_s)
    }

    /// Light of the laser, W, where a share of the most power is drawn.
    pub(super) fn laser_w(&self, speed_m_s: f64, drawn_ratio: f64) -> f64 {
        let left = (1.0 - drawn_ratio.clamp(0.0, 1.0)).sqrt();
        let at = |k: usize| {
            let others = LEFT.iter().enumerate().filter(|(other, _)| *other != k);
            others.map(|(_, other)| (left - other) / (LEFT[k] - other)).product::<f64>()
        };
        self.lasers_w.iter().enumerate().map(|(k, curve)| at(k) * curve.at(speed_m_s)).sum::<f64>().max(0.0)
    }
}
