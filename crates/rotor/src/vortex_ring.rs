//! Descent: where the vortex ring state lies, what measured rotors do there, and what power to count on.
//!
//! Momentum theory has no answer between slow descent and the windmill. Here the axial curve is Leishman's fit to
//! measured induced velocities, carried on along the measurements of Castles and Gray until the ideal windmill is
//! met; an edgewise stream fades the difference out. Inside the boundary of the vortex ring state the power is never
//! counted below that of hover, whatever the fit says, because the flow is unsteady and a pilot adds power.

use crate::{
    momentum::{InducedFlow, climb_ratio, glauert_ratio, windmill_ratio},
    operation::Regime,
};

/// Descent over v_h at which the vortex ring state starts to be felt (NASA/TP-2005-213477, V_zD).
const ONSET: f64 = -0.20;
/// Upper end of the unstable region in axial descent (V_zN).
const UPPER: f64 = -0.45;
/// Lower end of the unstable region in axial descent (V_zX).
const LOWER: f64 = -1.50;
/// Descent over v_h at which the vortex ring state is no longer felt (V_zE).
const END: f64 = -2.00;
/// Edgewise speed over v_h above which there is no unstable region (V_xM).
const EDGEWISE_END: f64 = 0.95;
/// Edgewise band over v_h in which the power floor fades out beyond [`EDGEWISE_END`]; our choice, for continuity.
const EDGEWISE_FADE: f64 = 0.25;

/// Reach of the bridge between the branches of momentum theory to both sides of x = −1.5.
const BRIDGE_LEFT: f64 = 0.8;
const BRIDGE_RIGHT: f64 = 0.5;

/// Where Leishman's fit is left for the line through the measurements of the windmill-brake side.
const FIT_END: f64 = -1.947;
/// Slope of that line: from the fit at −1.947 to 1.068 at −2.385 (Castles and Gray 1951, binned) with κ 1.15.
const MEASURED_SLOPE: f64 = 0.772;

/// v_i/v_h in axial descent by Leishman's fit to flight and tunnel data, κ − 1.125x − 1.372x² − 1.718x³ − 0.655x⁴ with
/// x = V_c/v_h (J. G. Leishman, *Principles of Helicopter Aerodynamics*, 2nd ed., eq. 2.97); κ is the measured induced
/// factor in hover and is inside the result. `None` outside −2 ≤ x ≤ 0, where the polynomial soon turns negative.
///
/// Within 11 % of the measurements of Castles and Gray (NACA TN-2474) to 1.55 v_h, 16 % to 1.8 v_h.
///
/// # Examples
/// ```
/// let v = beamstay_rotor::vortex_ring::leishman_fit_ratio(-1.5, 1.15).unwrap();
/// assert!((v - 2.23281).abs() < 1e-5);
/// ```
pub fn leishman_fit_ratio(axial_ratio: f64, induced_factor: f64) -> Option<f64> {
    (-2.0..=0.0).contains(&axial_ratio).then(|| induced_factor + fit_rise(axial_ratio))
}

fn fit_rise(x: f64) -> f64 {
    x * (-1.125 + x * (-1.372 + x * (-1.718 + x * -0.655)))
}

/// Upper and lower edge of the vortex ring state, V_c/v_h (both negative), at an edgewise speed V_x/v_h; `None` above
/// 0.95, where there is none (W. Johnson, *Model for vortex ring state influence on rotorcraft flight dynamics*,
/// NASA/TP-2005-213477, pp. 23-24).
///
/// # Examples
/// ```
/// let (upper, lower) = beamstay_rotor::vortex_ring::boundary_ratio(0.5).unwrap();
/// assert!((upper + 0.48298).abs() < 1e-5 && (lower + 1.29774).abs() < 1e-5);
/// ```
pub fn boundary_ratio(edgewise_ratio: f64) -> Option<(f64, f64)> {
    let inside = 1.0 - (edgewise_ratio / EDGEWISE_END).powi(2);
    if inside < 0.0 || inside.is_nan() {
        return None;
    }
    Some((0.5 * (UPPER + LOWER) + 0.5 * (UPPER - LOWER) * inside.powf(0.2), lower_edge(inside)))
}

/// Lower edge at `inside` = 1 − (V_x/V_xM)².
fn lower_edge(inside: f64) -> f64 {
    0.5 * (UPPER + LOWER) - 0.5 * (UPPER - LOWER) * inside * inside.sqrt()
}

/// Flow at x < 0; see [`crate::momentum::induced_flow`].
pub(crate) fn descending_flow(x: f64, y: f64, induced_factor: f64) -> InducedFlow {
    let fade = (1.0 - (y / EDGEWISE_END).powi(2)).max(0.0);
    let mut v = induced_factor * bridged_ratio(x, y);
    if fade > 0.0 {
        v += fade * (axial_descent_ratio(x, induced_factor) - induced_factor * axial_bridged_ratio(x));
    }
    // Power floor: x + v ≥ κ, in full inside the boundary, fading outside it.
    let short = induced_factor - x - v;
    if short > 0.0 {
        v += short * floor_weight(x, y);
    }
    InducedFlow { induced_ratio: v, regime: regime(x, y, v) }
}

/// Measured v_i/v_h in axial descent, any x ≤ 0: the fit, then the line through the measurements, then the ideal windmill.
fn axial_descent_ratio(x: f64, induced_factor: f64) -> f64 {
    if x >= FIT_END {
        return induced_factor + fit_rise(x);
    }
    let line = induced_factor + fit_rise(FIT_END) + MEASURED_SLOPE * (x - FIT_END);
    let windmill = windmill_ratio(x).unwrap_or(0.0);
    line.max(induced_factor * windmill)
}

/// Glauert's theory with the gap between its two branches bridged by a straight line in x. The gap lies inside the ellipse 1.5y² +
/// (2x + 3)² < 1 (the region that NASA/TP-2005-213477 also bridges); the bridge reaches on to x = −2.3, because the ideal windmill
/// starts with a vertical slope at −2.
fn bridged_ratio(x: f64, y: f64) -> f64 {
    let height = (1.0 - 1.5 * y * y).max(0.0).sqrt();
    let (left, right) = (-1.5 - BRIDGE_LEFT * height, -1.5 + BRIDGE_RIGHT * height);
    if x <= left || x >= right {
        return glauert_ratio(x, y);
    }
    let (v_left, v_right) = (glauert_ratio(left, y), glauert_ratio(right, y));
    v_left + (v_right - v_left) * (x - left) / (right - left)
}

/// [`bridged_ratio`] without edgewise stream, in closed form.
fn axial_bridged_ratio(x: f64) -> f64 {
    let (left, right) = (-1.5 - BRIDGE_LEFT, -1.5 + BRIDGE_RIGHT);
    if x >= right {
        return climb_ratio(x);
    }
    let windmill = windmill_ratio(x.min(left)).unwrap_or(0.0);
    if x <= left {
        return windmill;
    }
    windmill + (climb_ratio(right) - windmill) * (x - left) / (right - left)
}

/// 1 inside the vortex ring state, falling to 0 towards the points where it is no longer felt. The upper edge of axial descent is used
/// at every edgewise speed: the true one turns vertical at 0.95, and this one lies above it, on the safe side.
fn floor_weight(x: f64, y: f64) -> f64 {
    let sideways = ((EDGEWISE_END + EDGEWISE_FADE - y) / EDGEWISE_FADE).clamp(0.0, 1.0);
    let above = ((ONSET - x) / (ONSET - UPPER)).clamp(0.0, 1.0);
    if sideways <= 0.0 || above <= 0.0 {
        return 0.0;
    }
    let lower = lower_edge((1.0 - (y / EDGEWISE_END).powi(2)).max(0.0));
    let below = ((x - (lower + END - LOWER)) / (LOWER - END)).clamp(0.0, 1.0);
    smooth(sideways) * smooth(above) * smooth(below)
}

fn smooth(t: f64) -> f64 {
    t * t * (3.0 - 2.0 * t)
}

fn regime(x: f64, y: f64, v: f64) -> Regime {
    if x > -0.01 && y < 0.01 {
        return Regime::Hover;
    }
    if let Some((upper, lower)) = boundary_ratio(y) {
        if x <= upper && x >= lower {
            return Regime::VortexRing;
        }
        if x < lower && x + v >= 0.0 {
            return Regime::TurbulentWake;
        }
    }
    match () {
        () if x + v < 0.0 => Regime::Windmill,
        () if y > -x => Regime::Edgewise,
        () => Regime::Descent,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::momentum::induced_flow;

    #[test]
    fn fit_is_refused_where_it_turns_negative() {
        assert_eq!(leishman_fit_ratio(-2.0 - 1e-9, 1.15), None);
        assert_eq!(leishman_fit_ratio(1e-9, 1.15), None);
        assert_eq!(leishman_fit_ratio(f64::NAN, 1.15), None);
        assert_eq!(leishman_fit_ratio(0.0, 1.15), Some(1.15));
    }

    #[test]
    fn boundary_closes_at_its_edgewise_end() {
        let (upper, lower) = boundary_ratio(0.95).unwrap();
        assert!((upper + 0.975).abs() < 1e-12 && (lower + 0.975).abs() < 1e-12);
        assert_eq!(boundary_ratio(0.951), None);
        assert_eq!(boundary_ratio(f64::NAN), None);
    }

    #[test]
    fn descent_meets_hover_and_edgewise_flow() {
        for y in [0.0, 0.3, 1.0, 2.0] {
            let above = induced_flow(0.0, y, 1.15).induced_ratio;
            let below = induced_flow(-1e-9, y, 1.15).induced_ratio;
            assert!((above - below).abs() < 1e-6, "{y}: {above} {below}");
        }
    }

    #[test]
    fn fast_descent_is_the_ideal_windmill_with_losses() {
        let v = induced_flow(-5.0, 0.0, 1.15).induced_ratio;
        assert!((v - 1.15 * windmill_ratio(-5.0).unwrap()).abs() < 1e-12);
    }

    #[test]
    fn power_floor_is_full_inside_and_gone_outside() {
        assert!((induced_flow(-1.2, 0.0, 1.15).induced_ratio - 2.35).abs() < 1e-12);
        assert!((floor_weight(-0.46, 0.1) - 1.0).abs() < 1e-12);
        assert!(floor_weight(-0.19, 0.1) == 0.0 && floor_weight(-2.01, 0.0) == 0.0);
        assert!(floor_weight(-1.0, EDGEWISE_END + EDGEWISE_FADE) == 0.0);
    }
}
