//! Work on the battery and recharge in turns: the schedule simulated, beside the closed form.

use beamstay_electrical::{Battery, endurance::duty_cycle};
use serde::Serialize;

use super::curve::Powers;
use crate::error::{At, PlanError};

/// Turns simulated; the first begins with a full battery and is left out of the means.
const TURNS_COUNT: u32 = 6;
/// Longest work and rest of one turn, s.
const LONGEST_S: f64 = 86_400.0 * 30.0;
/// Step of rest, s.
const REST_STEP_S: f64 = 10.0;

/// One turn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Turn {
    /// Time at work, min.
    pub work_min: f64,
    /// Time of recharge, min.
    pub rest_min: f64,
    /// Energy that the battery gave at work, Wh.
    pub used_wh: f64,
    /// Energy that went into the charger, Wh.
    pub taken_wh: f64,
}

/// Work and recharge in turns, in the wind of the site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DutySchedule {
    /// Power drawn at work, W.
    pub work_w: f64,
    /// Power of the supply, W.
    pub supply_w: f64,
    /// Power drawn while it recharges, W.
    pub rest_w: f64,
    /// The turns.
    pub turns: Vec<Turn>,
    /// Energy given over energy taken by the charger, in the turns.
    pub round_trip_ratio: f64,
    /// Share of the time at work, simulated.
    pub duty_ratio: f64,
    /// Share of the time at work by the closed form with the same round trip.
    pub closed_form_duty_ratio: f64,
}

/// The schedule: works until the battery is down to its floor, recharges until `full_ratio`. `None` if the supply does not
/// exceed what is drawn at rest, or it works for ever.
pub(super) fn schedule(
    battery: &Battery,
    powers: &Powers,
    supply_at_work_ratio: f64,
    rest_power_w: Option<f64>,
    full_ratio: f64,
) -> Result<Option<DutySchedule>, PlanError> {
    let supply_w = powers.available_w;
    let rest_w = rest_power_w.unwrap_or(powers.demand_w);
    let short_w = powers.demand_w - supply_at_work_ratio * supply_w;
    let surplus_w = supply_w - rest_w;
    if short_w <= 0.0 || surplus_w <= 0.0 {
        return Ok(None);
    }
    let full_ratio = full_ratio.min(battery.full_ratio());
    let mut charge = full_ratio;
    let mut turns = Vec::with_capacity(TURNS_COUNT as usize);
    for _ in 0..TURNS_COUNT {
        let work = battery.step(charge, short_w, LONGEST_S).at("/battery")?;
        charge = work.state_of_charge;
        let (mut rest_s, mut taken_j) = (0.0, 0.0);
        while charge < full_ratio - 1e-12 && rest_s < LONGEST_S {
            let step = battery.step(charge, -surplus_w, REST_STEP_S).at("/battery")?;
            let gain = step.state_of_charge - charge;
            if gain <= 0.0 {
                return Ok(None);
            }
            // The last step is cut where the charge is full.
            let share = ((full_ratio - charge) / gain).min(1.0);
            charge = (charge + gain).min(full_ratio);
            rest_s += REST_STEP_S * share;
            taken_j += step.taken_j * share;
        }
        turns.push(Turn {
            work_min: work.delivered_j / short_w / 60.0,
            rest_min: rest_s / 60.0,
            used_wh: work.delivered_j / 3600.0,
            taken_wh: taken_j / 3600.0,
        });
    }
    let sum = |value: fn(&Turn) -> f64| turns.iter().map(value).sum::<f64>();
    let (used_wh, taken_wh) = (sum(|t| t.used_wh), sum(|t| t.taken_wh));
    let (work_min, rest_min) = (sum(|t| t.work_min), sum(|t| t.rest_min));
    if used_wh <= 0.0 || taken_wh <= 0.0 {
        return Ok(None);
    }
    // In the closed form the surplus flows all the time; near full the charger takes less, which counts as less surplus.
    let round_trip_ratio = used_wh / taken_wh;
    let mean_surplus_w = taken_wh / (rest_min / 60.0);
    let closed =
        duty_cycle(short_w, mean_surplus_w, 0.0, round_trip_ratio.min(1.0)).at("/operations/mode")?;
    // The closed form has the supply at work too; here that part is taken off the need already.
    let closed_rest_ratio = closed.map_or(f64::MAX, |_| short_w / (round_trip_ratio * mean_surplus_w));
    Ok(Some(DutySchedule {
        work_w: powers.demand_w,
        supply_w,
        rest_w,
        turns,
        round_trip_ratio,
        duty_ratio: work_min / (work_min + rest_min),
        closed_form_duty_ratio: 1.0 / (1.0 + closed_rest_ratio),
    }))
}

#[cfg(test)]
mod tests {
    use beamstay_electrical::{BatterySpec, OpenCircuitCurve};

    use super::*;

    /// A battery without resistance that returns 0.92 of what its charger takes.
    fn ideal() -> Battery {
        Battery::new(BatterySpec {
            cell_resistance_ohm: 0.0,
            low_charge_rise_ratio: 0.0,
            charge_efficiency_ratio: 0.92,
            floor_ratio: 0.2,
            max_charge_per_h: 50.0,
            cutoff_v: 0.0,
            curve: OpenCircuitCurve::polymer(),
            ..BatterySpec::polymer(100.0 * 3600.0, 6)
        })
        .unwrap()
    }

    #[test]
    fn val_duty_cycle_of_the_closed_form() {
        // P_f 400, P_s 150, P_r 10 W, η 0.92: t2/t1 = 1.940994, duty 0.340021 (closed form). With the supply at work
        // too, as the form has it.
        let powers = Powers { demand_w: 400.0, available_w: 150.0, wall_w: 0.0 };
        let schedule = schedule(&ideal(), &powers, 1.0, Some(10.0), 0.95).unwrap().unwrap();
        for turn in &schedule.turns {
            assert!((turn.rest_min / turn.work_min / 1.940994 - 1.0).abs() < 1e-4, "{turn:?}");
        }
        assert!((schedule.duty_ratio / 0.340021 - 1.0).abs() < 1e-4, "{}", schedule.duty_ratio);
        assert!((schedule.closed_form_duty_ratio / 0.340021 - 1.0).abs() < 1e-4);
        assert!((schedule.round_trip_ratio - 0.92).abs() < 1e-4);
    }

    #[test]
    fn no_surplus_means_no_schedule() {
        let powers = Powers { demand_w: 400.0, available_w: 150.0, wall_w: 0.0 };
        assert!(
            schedule(&ideal(), &powers, 0.0, None, 0.9).unwrap().is_none(),
            "it hovers on more than it gets"
        );
        let rich = Powers { available_w: 900.0, ..powers };
        assert!(schedule(&ideal(), &rich, 1.0, None, 0.9).unwrap().is_none(), "it works for ever");
        assert!(schedule(&ideal(), &rich, 0.0, None, 0.9).unwrap().is_some());
    }
}
