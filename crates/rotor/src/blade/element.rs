//! One annulus in axial flow: blade-element forces against momentum, solved for the inflow angle.
//!
//! The unknown is the inflow angle φ (A. Ning, *A simple solution method for the blade element momentum equations with
//! guaranteed convergence*, Wind Energy 17, 2014), with the residual written so that hover is no special case. With W the speed
//! at the section, F Prandtl's loss factor and σ the local solidity, momentum gives the induced velocities
//! u = W σ c_n/(4F |sin φ|) and v = W σ c_t/(4F |sin φ|); from W sin φ = V + u and W cos φ = Ωr − v
//!
//! g(φ) = |sin φ| (Ωr sin φ − V cos φ) − σ/(4F) (c_n Ωr + c_t V) = 0.
//!
//! g is continuous. g(0) < 0 < g(π/2) for a section that lifts at φ = 0, g(−π/2) < 0 < g(0) for one that pushes down,
//! so a bracket always exists for V ≥ 0.

use std::f64::consts::FRAC_PI_2;

use super::{
    geometry::Element,
    section::{Condition, Section},
};

/// Angle to which an annulus is solved, rad: a few 1e-9 of its thrust.
const ANGLE_TOLERANCE_RAD: f64 = 3e-10;
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
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Solved {
    pub angle_rad: f64,
    /// dg/dφ, for a warm start.
    pub slope: f64,
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

/// Prandtl's factor 2/π·arccos(e^−f) of an exponent f.
fn loss_factor(exponent: f64) -> f64 {
    if exponent > NO_LOSS_EXPONENT { 1.0 } else { (-exponent).exp().acos() / FRAC_PI_2 }
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
    let momentum = size * (stream.tangential_m_s * sin - stream.axial_m_s * cos);
    let value = momentum - load * (normal * stream.tangential_m_s + tangential * stream.axial_m_s);
    Residual { value, sin, cos, swirl_factor: load * tangential / size, normal, tangential, drag }
}

/// Solves one annulus, `axial_m_s` ≥ 0 and `tangential_m_s` > 0; `start` is a solution nearby, if there is one. Newton steps with a
/// slope updated from the steps themselves, inside the bracket; at most 60.
pub(crate) fn solve(element: &Element, section: &Section, stream: &Stream, start: Option<&Solved>) -> Solved {
    let at_zero = residual(element, section, stream, 0.0).value;
    let (mut lo, mut hi) = if at_zero < 0.0 { (0.0, FRAC_PI_2) } else { (-FRAC_PI_2, 0.0) };
    let (mut angle, mut slope) = match start {
        Some(s) if s.angle_rad > lo && s.angle_rad < hi && s.slope > 0.0 => (s.angle_rad, s.slope),
        _ => first_guess(element, stream, lo, hi),
    };
    let mut last: Option<(f64, f64)> = None;
    let mut found = residual(element, section, stream, angle);
    for _ in 0..60 {
        if found.value < 0.0 {
            lo = angle;
        } else {
            hi = angle;
        }
        if let Some((angle_before, value_before)) = last {
            let secant = (found.value - value_before) / (angle - angle_before);
            if secant > 0.0 && secant.is_finite() {
                slope = secant;
            }
        }
        let newton = angle - found.value / slope;
        let halved = last.is_some_and(|(_, before)| found.value.abs() > 0.5 * before.abs());
        let next = if newton > lo && newton < hi && !halved { newton } else { 0.5 * (lo + hi) };
        if (next - angle).abs() <= ANGLE_TOLERANCE_RAD || hi - lo <= ANGLE_TOLERANCE_RAD {
            break;
        }
        last = Some((angle, found.value));
        angle = next;
        found = residual(element, section, stream, angle);
    }
    finish(stream, angle, slope, &found)
}

/// Inflow angle of the linear section in hover, σ a (θ − φ) = 4 φ², shifted by the climb angle.
fn first_guess(element: &Element, stream: &Stream, lo: f64, hi: f64) -> (f64, f64) {
    let pitch = stream.pitch_rad.abs().min(0.5) + 0.1;
    let load = element.solidity * 0.7;
    let climb = stream.axial_m_s.atan2(stream.tangential_m_s);
    let size = -load + (load * load + 2.0 * load * pitch).sqrt();
    let guess = if hi > 0.0 { size.max(climb) } else { -size };
    let angle = if guess > lo && guess < hi { guess } else { 0.5 * (lo + hi) };
    (angle, stream.tangential_m_s * (2.0 * angle.abs() + load))
}

fn finish(stream: &Stream, angle_rad: f64, slope: f64, found: &Residual) -> Solved {
    // cos φ + K' is 0 only where the section is pushed around by its own drag: held off it.
    let speed_m_s = stream.tangential_m_s / (found.cos + found.swirl_factor).max(1e-3);
    Solved {
        angle_rad,
        slope,
        axial_induced_m_s: speed_m_s * found.sin - stream.axial_m_s,
        swirl_m_s: stream.tangential_m_s - speed_m_s * found.cos,
        speed_m_s,
        normal_coefficient: found.normal,
        tangential_coefficient: found.tangential,
        drag_coefficient: found.drag,
    }
}
