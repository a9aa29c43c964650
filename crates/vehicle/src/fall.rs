//! The fall of a vehicle that has lost its power: where it can come down, how fast and with what energy.

use beamstay_numerics::{
    constants::STANDARD_GRAVITY_M_S2,
    domain::{OutOfRange, in_range},
};

/// Longest time step, s: a hundredth of the time in which a body of common size nears its terminal speed.
const STEP_S: f64 = 0.01;
/// Most steps; a fall that lasts longer is told as it is by then.
const MOST_STEPS: u32 = 200_000;

/// What falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FallingBody {
    /// Mass, kg; 1e-3 to 1e5.
    pub mass_kg: f64,
    /// Drag area, the same for every attitude, m²; 0 to 1e3.
    pub drag_area_m2: f64,
    /// Density of the air, kg/m³; 0.01 to 2.
    pub density_kg_m3: f64,
}

/// The end of a fall.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Fall {
    /// How long it falls, s.
    pub time_s: f64,
    /// How far the wind carries it, m.
    pub drift_m: f64,
    /// Speed at the ground, m/s.
    pub impact_speed_m_s: f64,
    /// Kinetic energy at the ground, J.
    pub impact_energy_j: f64,
}

/// A fall from rest over `height_m` (m, 0 to 1e5) in a horizontal wind that depends on the height over the ground (m in,
/// m/s out): drag against the air that passes, gravity, nothing else (elementary mechanics; fourth-order Runge-Kutta). In calm
/// air the impact speed is v_t·√(1 − exp(−2gh/v_t²)) with the terminal speed v_t = √(2mg/(ρA)).
///
/// A body without drag does not drift and one that is all drag does not fall: ask with the smallest drag area for the
/// speed and with the largest for the drift.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_vehicle::fall::{FallingBody, fall};
/// let body = FallingBody { mass_kg: 4.0, drag_area_m2: 0.0, density_kg_m3: 1.225 };
/// let landed = fall(&body, 100.0, |_| 8.0).unwrap();
/// assert!((landed.impact_speed_m_s - (2.0 * 9.80665 * 100.0f64).sqrt()).abs() < 1e-6);
/// assert_eq!(landed.drift_m, 0.0);
/// ```
pub fn fall(body: &FallingBody, height_m: f64, wind_m_s: impl Fn(f64) -> f64) -> Result<Fall, OutOfRange> {
    let mass_kg = in_range("falling mass", "kg", body.mass_kg, 1e-3, 1e5)?;
    in_range("drag area of the falling body", "m²", body.drag_area_m2, 0.0, 1e3)?;
    in_range("air density", "kg/m³", body.density_kg_m3, 0.01, 2.0)?;
    let height_m = in_range("height of the fall", "m", height_m, 0.0, 1e5)?;
    let factor_per_m = 0.5 * body.density_kg_m3 * body.drag_area_m2 / mass_kg;
    // State: drift, height, speed downwind, speed down.
    let rate = |state: [f64; 4]| {
        let along_m_s = wind_m_s(state[1].max(0.0)) - state[2];
        let drag_per_s = factor_per_m * along_m_s.hypot(state[3]);
        [state[2], -state[3], drag_per_s * along_m_s, STANDARD_GRAVITY_M_S2 - drag_per_s * state[3]]
    };
    let (mut state, mut time_s) = ([0.0, height_m, 0.0, 0.0], 0.0);
    for _ in 0..MOST_STEPS {
        if state[1] <= 0.0 {
            break;
        }
        // A light body with a large area is stiff; a stiff step is a short one.
        let step_s = STEP_S.min(0.1 / (factor_per_m * state[2].hypot(state[3]).max(1.0) + 1e-9));
        let next = runge_kutta(state, step_s, &rate);
        if next[1] > 0.0 {
            (state, time_s) = (next, time_s + step_s);
            continue;
        }
        // The last step, cut where the ground is: √ and quotient of a motion of constant acceleration.
        let (speed, acceleration) = (state[3], rate(state)[3]);
        let root = (speed * speed + 2.0 * acceleration * state[1]).max(0.0).sqrt();
        let last_s = (2.0 * state[1] / (speed + root).max(1e-12)).min(step_s);
        state = runge_kutta(state, last_s, &rate);
        time_s += last_s;
        break;
    }
    let impact_speed_m_s = state[2].hypot(state[3]);
    Ok(Fall {
        time_s,
        drift_m: state[0],
        impact_speed_m_s,
        impact_energy_j: 0.5 * mass_kg * impact_speed_m_s * impact_speed_m_s,
    })
}

/// One step of the classical fourth-order rule.
fn runge_kutta(state: [f64; 4], step_s: f64, rate: &impl Fn([f64; 4]) -> [f64; 4]) -> [f64; 4] {
    let moved = |k: &[f64; 4], share: f64| std::array::from_fn(|i| state[i] + share * step_s * k[i]);
    let k1 = rate(state);
    let k2 = rate(moved(&k1, 0.5));
    let k3 = rate(moved(&k2, 0.5));
    let k4 = rate(moved(&k3, 1.0));
    std::array::from_fn(|i| state[i] + step_s / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BODY: FallingBody = FallingBody { mass_kg: 4.0, drag_area_m2: 0.05, density_kg_m3: 1.225 };

    #[test]
    fn val_fall_in_calm_air_is_the_closed_form() {
        let terminal_m_s = (2.0 * 4.0 * STANDARD_GRAVITY_M_S2 / (1.225 * 0.05)).sqrt();
        for height_m in [0.5, 10.0, 100.0, 1000.0] {
            let share = STANDARD_GRAVITY_M_S2 * height_m / (terminal_m_s * terminal_m_s);
            let landed = fall(&BODY, height_m, |_| 0.0).unwrap();
            let speed_m_s = terminal_m_s * (1.0 - (-2.0 * share).exp()).sqrt();
            let time_s = terminal_m_s / STANDARD_GRAVITY_M_S2 * share.exp().acosh();
            assert!((landed.impact_speed_m_s / speed_m_s - 1.0).abs() < 1e-6, "{height_m}");
            assert!((landed.time_s / time_s - 1.0).abs() < 1e-5, "{height_m} {} {time_s}", landed.time_s);
        }
    }

    #[test]
    fn each_argument_is_checked() {
        for bad in [
            FallingBody { mass_kg: 0.0, ..BODY },
            FallingBody { drag_area_m2: -1.0, ..BODY },
            FallingBody { density_kg_m3: f64::NAN, ..BODY },
        ] {
            assert!(fall(&bad, 10.0, |_| 0.0).is_err(), "{bad:?}");
        }
        assert!(fall(&BODY, -1.0, |_| 0.0).is_err());
        assert_eq!(fall(&BODY, 0.0, |_| 5.0).unwrap().time_s, 0.0);
    }

    proptest! {
        #[test]
        fn prop_drift_grows_with_wind_and_never_outruns_it(
            height in 1.0..500.0f64, area in 0.001..1.0f64, mass in 0.1..50.0f64, wind in 0.0..25.0f64,
        ) {
            let body = FallingBody { mass_kg: mass, drag_area_m2: area, density_kg_m3: 1.2 };
            let landed = fall(&body, height, |_| wind).unwrap();
            let calm = fall(&body, height, |_| 0.5 * wind).unwrap();
            prop_assert!(landed.drift_m + 1e-9 >= calm.drift_m);
            prop_assert!(landed.drift_m <= wind * landed.time_s + 1e-9);
            prop_assert!(landed.time_s.is_finite() && landed.impact_energy_j.is_finite());
        }
    }
}
