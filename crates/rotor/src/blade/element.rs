//! One annulus in axial flow: blade-element forces against momentum, solved for the inflow angle.
//!
//! The unknown is the inflow angle φ (A. Ning, *A simple solution method for the blade element momentum equations with
//! guaranteed convergence*, Wind Energy 17, 2014), with the residual written so that hover is no special case. With W the speed
//! at the section, F Prandtl's loss factor and σ the local solidity, momentum gives the induced velocities
//! u = W σ c_n/(4F |sin φ|) and v = W σ c_t/(4F |sin φ|); from W sin φ = V + u and W cos φ = Ωr − v
//!
//! g(φ) = |sin φ| (Ωr sin φ − V cos φ) − σ/(4F) (c_n Ωr + c_t V) = 0
//!
//! (|sin φ| in v is held above a small number).
//!
//! g is continuous. g(0) < 0 < g(π/2) for a section that lifts at φ = 0, g(−π/2) < 0 < g(0) for one that pushes down,
//! so a bracket always exists for V ≥ 0.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use super::{
    geometry::Element,
    section::{Condition, Section},
};

/// Angle to which an annulus is solved, rad: a few 1e-9 of its thrust.
const ANGLE_TOLERANCE_RAD: f64 = 3e-10;
/// Step that is taken by extrapolation, and the longest step before it, rad: the error is below 1e-10.
const EXTRAPOLATION_RAD: f64 = 1e-5;
const EXTRAPOLATION_SPAN_RAD: f64 = 3e-3;
/// Least sine of the inflow angle that carries the swirl away. Without it a section without lift, and so without throughflow, would
/// spin up the air until its own drag vanished; turbulence mixes it away (our choice of the number, far below that of hover).
const LEAST_THROUGHFLOW: f64 = 0.02;
/// Least loss factor.
const LEAST_LOSS_FACTOR: f64 = 1e-4;
/// Above this exponent a loss factor is 1 to 4e-6.
const NO_LOSS_EXPONENT: f64 = 12.0;

/// Stream at one annulus.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stream {
    pub axial_m_s: f64,
    pub tangential_m_s: f64,
    pub pitch_rad: f64,
    pub condition: Condition,
}

/// What a solved annulus does, per length of blade and density.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Solved {
    /// Where to start the next time.
    pub start: Start,
    pub condition: Condition,
    /// Induced velocities at the blade, m/s.
    pub axial_induced_m_s: f64,
    pub swirl_m_s: f64,
    pub speed_m_s: f64,
    pub normal_coefficient: f64,
    pub tangential_coefficient: f64,
    pub drag_coefficient: f64,
}

#[derive(Debug, Clone, Copy)]
struct Residual {
    value: f64,
    sin: f64,
    cos: f64,
    swirl_factor: f64,
    normal: f64,
    tangential: f64,
    drag: f64,
}

/// Prandtl's factor 2/π·arccos(e^−f) of an exponent f; by the series of the arcsine, exact to 1e-13, where e^−f is small.
fn loss_factor(exponent: f64) -> f64 {
    if exponent > NO_LOSS_EXPONENT {
        return 1.0;
    }
    let z = (-exponent).exp();
    if z > 0.05 {
        return z.acos() / FRAC_PI_2;
    }
    let z2 = z * z;
    1.0 - z * (1.0 + z2 * (1.0 / 6.0 + z2 * (3.0 / 40.0 + z2 * (15.0 / 336.0)))) / FRAC_PI_2
}

fn residual(element: &Element, section: &Section, stream: &Stream, angle_rad: f64) -> Residual {
    let (sin, cos) = angle_rad.sin_cos();
    let size = sin.abs().max(1e-9);
    let loss = (loss_factor(element.tip_exponent / size) * loss_factor(element.root_exponent / size))
        .max(LEAST_LOSS_FACTOR);
    let (lift, drag) =
        stream.condition.coefficients(section, stream.pitch_rad - angle_rad, element.rotation_share);
    let (normal, tangential) = (lift * cos - drag * sin, lift * sin + drag * cos);
    let load = element.solidity / (4.0 * loss);
    let swirl_factor = load * tangential / size.max(LEAST_THROUGHFLOW);
    let momentum = size * (stream.tangential_m_s * sin - stream.axial_m_s * (cos + swirl_factor));
    let value = momentum - load * normal * stream.tangential_m_s;
    Residual { value, sin, cos, swirl_factor, normal, tangential, drag }
}

/// A place to start from: inflow angle and slope of the residual over Ωr.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Start {
    pub angle_rad: f64,
    pub slope_ratio: f64,
}

/// Solves one annulus, `axial_m_s` ≥ 0 and `tangential_m_s` > 0. Secant steps inside the bracket, bisection where they leave it or
/// stall; at most 60. The last small step is taken by extrapolation instead of another evaluation.
pub(crate) fn solve(element: &Element, section: &Section, stream: &Stream, start: Start) -> Solved {
    let mut bracket = Bracket::around(start.angle_rad);
    let mut angle = start.angle_rad.clamp(bracket.lo, bracket.hi);
    let mut slope = start.slope_ratio * stream.tangential_m_s;
    let at = |angle: f64| residual(element, section, stream, angle);
    let mut found = at(angle);
    let mut before: Option<(f64, Residual)> = None;
    for _ in 0..60 {
        bracket.narrow(angle, found.value);
        if let Some((angle_before, last)) = before {
            let secant = (found.value - last.value) / (angle - angle_before);
            if secant > 0.0 && secant.is_finite() {
                slope = secant;
            }
        }
        let mut next = angle - found.value / slope;
        let stalled = before.is_some_and(|(_, last)| found.value.abs() > 0.5 * last.value.abs());
        if !(next > bracket.lo && next < bracket.hi) || stalled {
            // The side of zero was a guess until now.
            if bracket.zero_is_open && at(0.0).value.is_sign_negative() != (bracket.hi > 0.0) {
                bracket = Bracket::other_side(bracket);
            }
            bracket.zero_is_open = false;
            next = 0.5 * (bracket.lo + bracket.hi);
        }
        let step = next - angle;
        if let Some((angle_before, last)) = before
            && step.abs() <= EXTRAPOLATION_RAD
            && (angle - angle_before).abs() <= EXTRAPOLATION_SPAN_RAD
        {
            let share = step / (angle - angle_before);
            return finish(stream, next, slope, &found.extrapolated(&last, share));
        }
        if step.abs() <= ANGLE_TOLERANCE_RAD || bracket.hi - bracket.lo <= ANGLE_TOLERANCE_RAD {
            break;
        }
        before = Some((angle, found));
        angle = next;
        found = at(angle);
    }
    finish(stream, angle, slope, &found)
}

/// Interval with the root inside; one end may be the angle 0, whose sign is only looked at when needed.
#[derive(Debug, Clone, Copy)]
struct Bracket {
    lo: f64,
    hi: f64,
    zero_is_open: bool,
}

impl Bracket {
    fn around(angle_rad: f64) -> Self {
        if angle_rad >= 0.0 {
            Self { lo: 0.0, hi: FRAC_PI_2, zero_is_open: true }
        } else {
            Self { lo: -FRAC_PI_2, hi: 0.0, zero_is_open: true }
        }
    }

    fn other_side(self) -> Self {
        let other = if self.hi > 0.0 { -FRAC_PI_4 } else { FRAC_PI_4 };
        Self { zero_is_open: false, ..Self::around(other) }
    }

    fn narrow(&mut self, angle_rad: f64, value: f64) {
        if value < 0.0 {
            self.lo = self.lo.max(angle_rad);
            self.zero_is_open &= self.hi <= 0.0;
        } else {
            self.hi = self.hi.min(angle_rad);
            self.zero_is_open &= self.lo >= 0.0;
        }
    }
}

impl Residual {
    /// Along the line from `last` through here, `share` of that distance further.
    fn extrapolated(&self, last: &Self, share: f64) -> Self {
        let along = |here: f64, there: f64| here + share * (here - there);
        Self {
            value: 0.0,
            sin: along(self.sin, last.sin),
            cos: along(self.cos, last.cos),
            swirl_factor: along(self.swirl_factor, last.swirl_factor),
            normal: along(self.normal, last.normal),
            tangential: along(self.tangential, last.tangential),
            drag: along(self.drag, last.drag),
        }
    }
}

/// Start without knowledge: inflow angle of the linear section in hover, σ a (θ − φ) = 4 φ² with a = 5.6.
pub(crate) fn blind_start(element: &Element, pitch_rad: f64) -> Start {
    let load = 0.7 * element.solidity;
    let pitch = pitch_rad.abs().min(0.5) + 0.1;
    let size = -load + (load * load + 2.0 * load * pitch).sqrt();
    Start { angle_rad: size, slope_ratio: 2.0 * size + load }
}

/// Start in climb from the hover solution of the same annulus: φ² = L (θ₀ − φ) in hover becomes φ (φ − V/Ωr) = L (θ₀ − φ), with the
/// pitch from zero lift θ₀.
pub(crate) fn climb_start(hover: Start, lifting_pitch_rad: f64, advance: f64) -> Start {
    if advance <= 0.0 || hover.angle_rad <= 0.0 {
        return hover;
    }
    let load = hover.angle_rad * hover.angle_rad / (lifting_pitch_rad - hover.angle_rad).max(0.02);
    let half = 0.5 * (load - advance);
    let angle_rad = -half + (half * half + load * lifting_pitch_rad.max(0.0)).sqrt();
    Start { angle_rad: angle_rad.min(1.5), slope_ratio: hover.slope_ratio + angle_rad - hover.angle_rad }
}

fn finish(stream: &Stream, angle_rad: f64, slope: f64, found: &Residual) -> Solved {
    // cos φ + K' is 0 only where the section is pushed around by its own drag: held off it.
    let speed_m_s = stream.tangential_m_s / (found.cos + found.swirl_factor).max(1e-3);
    Solved {
        start: Start { angle_rad, slope_ratio: slope / stream.tangential_m_s },
        condition: stream.condition,
        axial_induced_m_s: speed_m_s * found.sin - stream.axial_m_s,
        swirl_m_s: stream.tangential_m_s - speed_m_s * found.cos,
        speed_m_s,
        normal_coefficient: found.normal,
        tangential_coefficient: found.tangential,
        drag_coefficient: found.drag,
    }
}
