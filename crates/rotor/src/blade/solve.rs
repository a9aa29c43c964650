//! The speed, or the collective, at which a rotor makes the thrust asked for.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::root::{Tolerance, bracketed_from};

use crate::{error::RotorError, momentum, operation::Inflow};

use super::{
    BladeRotor, Control, IDLE_RATIO,
    stream::{Blades, Turning, Warm},
};

/// How near the thrust must come, relative.
const THRUST_TOLERANCE: f64 = 1e-8;
/// A step is taken by extrapolation if its product with the step before, both relative, is below this: thrust goes with the 1.1th and
/// profile power with the 1.5th power of the variable, so the error is below 1e-7.
const EXTRAPOLATION_PRODUCT: f64 = 2.5e-7;
/// Longest step before it.
const EXTRAPOLATION_SPAN: f64 = 0.05;
/// How near a largest thrust is settled, relative.
const SETTLED: f64 = 1e-9;
/// Step in which the collective is searched for the first pitch that lifts enough, rad.
const PITCH_STEP_RAD: f64 = 0.035;

/// Speed in rad/s and what the rotor does there.
pub(crate) fn reach(
    rotor: &BladeRotor,
    blades: &Blades<'_>,
    thrust_n: f64,
    through_m_s: f64,
) -> Result<(f64, Turning), RotorError> {
    match rotor.inputs.control {
        Control::Speed { max_speed_rad_s } => {
            let top = max_speed_rad_s.min(rotor.mach_limit_rad_s(blades.inflow, blades.fluid));
            if top <= 0.0 {
                return Err(RotorError::ThrustAboveLimit { thrust_n, max_thrust_n: 0.0 });
            }
            let guess = rotor.guess_rad_s(thrust_n, through_m_s, blades.fluid.density_kg_m3);
            let fixed_m_s = if blades.induced_m_s.is_some() { through_m_s } else { blades.inflow.axial_m_s };
            by_speed(blades, thrust_n, top, (guess, rotor.growth_at(guess, fixed_m_s)))
        }
        Control::Collective { speed_rad_s, min_rad, max_rad } => {
            by_collective(blades, thrust_n, speed_rad_s, min_rad, max_rad)
        }
    }
}

fn by_speed(
    blades: &Blades<'_>,
    thrust_n: f64,
    top_rad_s: f64,
    (guess_rad_s, growth): (f64, f64),
) -> Result<(f64, Turning), RotorError> {
    let mut warm = Warm::default();
    // Thrust is nearly linear in the square of the speed.
    let (lo, hi) = ((IDLE_RATIO * top_rad_s).powi(2), top_rad_s * top_rad_s);
    let mut turn = |square: f64| blades.turn(square.sqrt(), 0.0, &mut warm);
    match search(&mut turn, thrust_n, lo, hi, guess_rad_s * guess_rad_s, growth) {
        Found::At(square, turning) => Ok((square.sqrt(), turning)),
        Found::Above(max_thrust_n) => Err(RotorError::ThrustAboveLimit { thrust_n, max_thrust_n }),
        Found::Below(square, turning) => Ok((square.sqrt(), turning)),
    }
}

fn by_collective(
    blades: &Blades<'_>,
    thrust_n: f64,
    speed_rad_s: f64,
    min_rad: f64,
    max_rad: f64,
) -> Result<(f64, Turning), RotorError> {
    let mut warm = Warm::default();
    let mut turn = |pitch: f64| blades.turn(speed_rad_s, pitch, &mut warm);
    let lowest = turn(min_rad);
    if lowest.thrust_n > thrust_n {
        return Err(RotorError::ThrustBelowLimit { thrust_n, min_thrust_n: lowest.thrust_n });
    }
    let (mut below, mut best_n) = (min_rad, lowest.thrust_n);
    while below < max_rad {
        let above = (below + PITCH_STEP_RAD).min(max_rad);
        let thrust_above_n = turn(above).thrust_n;
        best_n = best_n.max(thrust_above_n);
        if thrust_above_n >= thrust_n {
            if let Found::At(_, turning) =
                search(&mut turn, thrust_n, below, above, 0.5 * (below + above), 1.0)
            {
                return Ok((speed_rad_s, turning));
            }
            break;
        }
        below = above;
    }
    if lowest.thrust_n >= thrust_n {
        return Ok((speed_rad_s, lowest));
    }
    Err(RotorError::ThrustAboveLimit { thrust_n, max_thrust_n: best_n })
}

enum Found {
    /// The variable, and the rotor there.
    At(f64, Turning),
    /// The thrust is above that at `hi`, given.
    Above(f64),
    /// The thrust is below that at `lo`; the rotor there.
    Below(f64, Turning),
}

impl Turning {
    /// Along the line from `last` through here, `share` of that distance further.
    fn extrapolated(&self, last: &Self, share: f64) -> Self {
        let along = |here: f64, there: f64| here + share * (here - there);
        Self {
            thrust_n: along(self.thrust_n, last.thrust_n),
            induced_w: along(self.induced_w, last.induced_w),
            profile_w: along(self.profile_w, last.profile_w),
        }
    }
}

/// Secant steps inside a bracket whose ends are only looked at when a step leaves it; at most 80.
fn search(
    turn: &mut impl FnMut(f64) -> Turning,
    thrust_n: f64,
    lo: f64,
    hi: f64,
    guess: f64,
    growth: f64,
) -> Found {
    let tolerance_n = THRUST_TOLERANCE * thrust_n.max(1e-9);
    let (mut below, mut above) = (lo, hi);
    let (mut seen_below, mut seen_above) = (false, false);
    let mut x = guess.clamp(lo, hi);
    let mut here = turn(x);
    let mut before: Option<(f64, Turning)> = None;
    for _ in 0..80 {
        let miss_n = here.thrust_n - thrust_n;
        if miss_n.abs() <= tolerance_n {
            return Found::At(x, here);
        }
        if miss_n < 0.0 {
            if x >= hi {
                return Found::Above(here.thrust_n);
            }
            (below, seen_below) = (x, true);
        } else {
            if x <= lo {
                return Found::Below(x, here);
            }
            (above, seen_above) = (x, true);
        }
        // The first step takes thrust as a power of the variable, later ones use the secant.
        let slope = match before {
            Some((x_before, last)) => (here.thrust_n - last.thrust_n) / (x - x_before),
            None => growth * here.thrust_n / x,
        };
        let slow = before.is_some_and(|(_, last)| miss_n.abs() > 0.5 * (last.thrust_n - thrust_n).abs());
        let mut next = x - miss_n / slope;
        if !(next > below && next < above) || slow {
            next = match (seen_below, seen_above) {
                (true, true) => 0.5 * (below + above),
                // A step past an end that is not known yet goes there.
                (true, false) => {
                    if slow && next > below && next < above {
                        next
                    } else {
                        above
                    }
                }
                _ => {
                    if slow && next > below && next < above {
                        next
                    } else {
                        below
                    }
                }
            };
        }
        if above - below <= 4.0 * f64::EPSILON * above.abs() || (next - x).abs() <= f64::EPSILON * x.abs() {
            return Found::At(x, here);
        }
        if let Some((x_before, last)) = before
            && !slow
            && ((next - x) * (x - x_before)).abs() <= EXTRAPOLATION_PRODUCT * x * x
            && (x - x_before).abs() <= EXTRAPOLATION_SPAN * x.abs()
        {
            let share = (next - x) / (x - x_before);
            return Found::At(next, here.extrapolated(&last, share));
        }
        before = Some((x, here));
        x = next;
        here = turn(x);
    }
    Found::At(x, here)
}

/// See [`BladeRotor::max_thrust_n`].
pub(crate) fn max_thrust_n(rotor: &BladeRotor, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
    let limit_rad_s = rotor.mach_limit_rad_s(inflow, fluid);
    match rotor.inputs.control {
        Control::Speed { max_speed_rad_s } => {
            let top_rad_s = max_speed_rad_s.min(limit_rad_s);
            Some(if top_rad_s > 0.0 { settled_thrust_n(rotor, inflow, fluid, top_rad_s, 0.0) } else { 0.0 })
        }
        Control::Collective { speed_rad_s, min_rad, max_rad } => {
            let steps = ((max_rad - min_rad) / PITCH_STEP_RAD).ceil().max(1.0) as u32;
            let best = (0..=steps)
                .map(|i| min_rad + (max_rad - min_rad) * f64::from(i) / f64::from(steps))
                .map(|pitch| settled_thrust_n(rotor, inflow, fluid, speed_rad_s, pitch))
                .fold(0.0, f64::max);
            Some(best)
        }
    }
}

/// Thrust at one speed and pitch with the induced velocity that belongs to it: the mean inflow falls out of the thrust
/// and the thrust out of the inflow, so the two are settled in a bracket.
fn settled_thrust_n(
    rotor: &BladeRotor,
    inflow: Inflow,
    fluid: &Fluid,
    speed_rad_s: f64,
    pitch_rad: f64,
) -> f64 {
    let axial_flow = inflow.axial_m_s >= 0.0 && inflow.edgewise_m_s <= 0.0;
    let mut warm = Warm::default();
    let mut thrust_at = |assumed_n: f64| {
        let hover_m_s =
            momentum::hover_induced_velocity_m_s(assumed_n, rotor.area_m2, fluid.density_kg_m3).max(1e-9);
        let flow = momentum::induced_flow(inflow.axial_m_s / hover_m_s, inflow.edgewise_m_s / hover_m_s, 1.0);
        let induced = (!axial_flow).then_some(hover_m_s * flow.induced_ratio);
        rotor.blades(fluid, inflow, induced).turn(speed_rad_s, pitch_rad, &mut warm).thrust_n.max(0.0)
    };
    let first_n = thrust_at(0.0);
    if axial_flow {
        return first_n;
    }
    // Without inflow the thrust is largest, so the settled thrust lies between none and that.
    let last_n = thrust_at(first_n);
    let tolerance = Tolerance { x_rel: SETTLED, ..Tolerance::default() };
    let miss_n = |assumed_n: f64| thrust_at(assumed_n) - assumed_n;
    bracketed_from(miss_n, (0.0, first_n), (first_n, last_n - first_n), tolerance)
        .map_or(last_n, |root| root.x)
}
