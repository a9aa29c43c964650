//! Momentum theory of the actuator disk: thrust and free stream in, induced velocity out.
//!
//! Velocities here are divided by the hover induced velocity of the same thrust, v_h = √(T/(2ρA)), so that one
//! curve serves every rotor. `axial_ratio` is positive in climb.

use crate::{operation::Regime, vortex_ring};

/// Induced velocity of a hovering disk, m/s: v_h = √(T/(2ρA)) (Rankine-Froude). Far below the disk the wake moves at
/// twice this. For `thrust_n` ≥ 0; the area is that of the disks that share the thrust.
///
/// # Examples
/// ```
/// // 9.80665 N on a disk of 1 m in standard air.
/// let v = beamstay_rotor::momentum::hover_induced_velocity_m_s(9.80665, std::f64::consts::PI / 4.0, 1.225);
/// assert!((v - 2.257_524).abs() < 1e-6);
/// ```
pub fn hover_induced_velocity_m_s(thrust_n: f64, disk_area_m2: f64, density_kg_m3: f64) -> f64 {
    (thrust_n / (2.0 * density_kg_m3 * disk_area_m2)).sqrt()
}

/// Least power that hovers this thrust, W: T·v_h.
///
/// # Examples
/// ```
/// let watts = beamstay_rotor::momentum::ideal_hover_power_w(9.80665, std::f64::consts::PI / 4.0, 1.225);
/// assert!((watts - 22.138_75).abs() < 1e-5);
/// ```
pub fn ideal_hover_power_w(thrust_n: f64, disk_area_m2: f64, density_kg_m3: f64) -> f64 {
    thrust_n * hover_induced_velocity_m_s(thrust_n, disk_area_m2, density_kg_m3)
}

/// v_i/v_h in axial climb, x = V_c/v_h ≥ 0: −x/2 + √(x²/4 + 1) (Leishman, *Principles of Helicopter Aerodynamics*, 2nd ed.,
/// eq. 2.78). For x < 0 it is the same branch continued, which real rotors leave near x = −0.5.
///
/// # Examples
/// ```
/// assert!((beamstay_rotor::momentum::climb_ratio(1.0) - 0.618_034).abs() < 1e-6);
/// ```
pub fn climb_ratio(axial_ratio: f64) -> f64 {
    // Written so that it stays exact for large climb.
    if axial_ratio >= 0.0 {
        2.0 / (axial_ratio + (axial_ratio * axial_ratio + 4.0).sqrt())
    } else {
        0.5 * (-axial_ratio + (axial_ratio * axial_ratio + 4.0).sqrt())
    }
}

/// v_i/v_h of the ideal windmill, x = V_c/v_h ≤ −2: −x/2 − √(x²/4 − 1) (Leishman, eq. 2.96); `None` above −2, where
/// momentum theory has no such flow. Measured rotors need about twice this just below −2: see
/// [`induced_flow`].
///
/// # Examples
/// ```
/// assert_eq!(beamstay_rotor::momentum::windmill_ratio(-2.5), Some(0.5));
/// assert_eq!(beamstay_rotor::momentum::windmill_ratio(-1.9), None);
/// ```
pub fn windmill_ratio(axial_ratio: f64) -> Option<f64> {
    (axial_ratio <= -2.0).then(|| 2.0 / (-axial_ratio + (axial_ratio * axial_ratio - 4.0).sqrt()))
}

/// v_i/v_h by Glauert's hypothesis at any tilt: the smallest root of v·√(y² + (x + v)²) = 1, with x the axial and y the
/// edgewise speed over v_h (H. Glauert, *A general theory of the autogyro*, ARC R&M 1111, 1926). Equal to
/// [`climb_ratio`] for y = 0, x ≥ 0 and to [`windmill_ratio`] for y = 0, x ≤ −2.
///
/// Newton's method inside a bracket that holds exactly one root, so it always converges; 3 to 5 steps in climb and
/// edgewise flow. Between these two states, in steep descent at small y, momentum theory is not valid and jumps:
/// use [`induced_flow`].
///
/// # Examples
/// ```
/// // Level disk in a stream of twice the hover induced velocity.
/// assert!((beamstay_rotor::momentum::glauert_ratio(0.0, 2.0) - 0.485_868).abs() < 1e-6);
/// ```
pub fn glauert_ratio(axial_ratio: f64, edgewise_ratio: f64) -> f64 {
    let (x, y) = (axial_ratio, edgewise_ratio.abs());
    if x >= 0.0 {
        return glauert_from_above(x, y);
    }
    // h²(v) = v²(y² + (x + v)²) has a local maximum on 0..|x| if x² > 8 y². If it reaches 1 there, the smallest root (the
    // windmill state) lies before it; otherwise the only root lies beyond.
    let discriminant = x * x - 8.0 * y * y;
    if discriminant > 0.0 {
        let at_maximum = 0.25 * (-3.0 * x - discriminant.sqrt());
        if thrust_ratio_squared(x, y, at_maximum) >= 1.0 {
            return glauert_bracketed(x, y, 0.0, at_maximum);
        }
        return glauert_bracketed(x, y, at_maximum, climb_ratio(x));
    }
    glauert_bracketed(x, y, 0.0, climb_ratio(x))
}

/// (T/T_hover)² of the general momentum balance.
fn thrust_ratio_squared(x: f64, y: f64, v: f64) -> f64 {
    let w = x + v;
    v * v * (y * y + w * w)
}

/// For x ≥ 0 the balance is convex and rising, so Newton from an upper bound falls onto the root.
fn glauert_from_above(x: f64, y: f64) -> f64 {
    let level = if y < 1e3 {
        let half = 0.5 * y * y;
        (1.0 / (half + (half * half + 1.0).sqrt())).sqrt()
    } else {
        1.0 / y
    };
    let mut v = climb_ratio(x).min(level);
    if y == 0.0 || x == 0.0 {
        return v;
    }
    for _ in 0..30 {
        let w = x + v;
        let stream_squared = y * y + w * w;
        let stream = stream_squared.sqrt();
        let step = (v * stream_squared - stream) / (stream_squared + v * w);
        v -= step;
        if step <= 1e-14 * v {
            break;
        }
    }
    v
}

/// Newton on a bracket with one root, bisection where it leaves the bracket or stalls.
fn glauert_bracketed(x: f64, y: f64, mut lo: f64, mut hi: f64) -> f64 {
    // Slow descent starts from the axial solution above the root, fast descent from the windmill below it.
    let windmill = 1.0 / (x * x + y * y).sqrt();
    let mut v = if x > -1.5 { hi } else { windmill };
    if !(v > lo && v <= hi) {
        v = 0.5 * (lo + hi);
    }
    for _ in 0..100 {
        let w = x + v;
        let stream_squared = y * y + w * w;
        let residual = v * v * stream_squared - 1.0;
        if residual > 0.0 {
            hi = v;
        } else {
            lo = v;
        }
        let slope = 2.0 * v * (stream_squared + v * w);
        let newton = v - residual / slope;
        let next = if newton > lo && newton < hi { newton } else { 0.5 * (lo + hi) };
        if (next - v).abs() <= 1e-14 * v || hi - lo <= 1e-15 * hi {
            return next;
        }
        v = next;
    }
    v
}

/// Flow through a disk, over the hover induced velocity.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct InducedFlow {
    /// Induced velocity ÷ v_h that the induced power is computed with: the induced factor is inside.
    pub induced_ratio: f64,
    /// Which picture of the flow applies.
    pub regime: Regime,
}

/// Induced velocity and state of a real disk in any stream: κ times Glauert's momentum theory in hover, climb and edgewise
/// flow; measured curve and power floor in descent ([`vortex_ring`]). κ is `induced_factor`, 1 for an ideal disk, about 1.15
/// for a real one; it is inside the result, do not apply it again.
///
/// # Examples
/// ```
/// use beamstay_rotor::{momentum::induced_flow, Regime};
/// assert_eq!(induced_flow(0.0, 0.0, 1.15).induced_ratio, 1.15);
/// assert_eq!(induced_flow(-1.0, 0.0, 1.15).regime, Regime::VortexRing);
/// // Power in the vortex ring state is never below that of hover.
/// assert!(induced_flow(-1.0, 0.0, 1.15).induced_ratio - 1.0 >= 1.15);
/// ```
pub fn induced_flow(axial_ratio: f64, edgewise_ratio: f64, induced_factor: f64) -> InducedFlow {
    let (x, y) = (axial_ratio, edgewise_ratio);
    if x >= 0.0 {
        let regime = match () {
            () if x < 0.01 && y < 0.01 => Regime::Hover,
            () if y > x => Regime::Edgewise,
            () => Regime::Climb,
        };
        return InducedFlow { induced_ratio: induced_factor * glauert_ratio(x, y), regime };
    }
    vortex_ring::descending_flow(x, y, induced_factor)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn large_climb_and_windmill_keep_their_digits() {
        // v → 1/x.
        assert!((climb_ratio(1e8) * 1e8 - 1.0).abs() < 1e-12);
        assert!((windmill_ratio(-1e8).unwrap() * 1e8 - 1.0).abs() < 1e-12);
        assert!((glauert_ratio(1e8, 1e8) * 2.0_f64.sqrt() * 1e8 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn windmill_begins_at_two() {
        assert_eq!(windmill_ratio(-2.0), Some(1.0));
        assert_eq!(windmill_ratio(-2.0 + 1e-12), None);
    }

    #[test]
    fn hover_without_thrust_has_no_velocity() {
        assert!(hover_induced_velocity_m_s(0.0, 1.0, 1.225).abs() < 1e-300);
    }

    #[test]
    fn regimes_are_named() {
        let regime = |x, y| induced_flow(x, y, 1.15).regime;
        assert_eq!(regime(0.0, 0.0), Regime::Hover);
        assert_eq!(regime(0.5, 0.1), Regime::Climb);
        assert_eq!(regime(0.1, 0.5), Regime::Edgewise);
        assert_eq!(regime(-0.3, 0.1), Regime::Descent);
        assert_eq!(regime(-0.3, 1.5), Regime::Edgewise);
        assert_eq!(regime(-1.0, 0.2), Regime::VortexRing);
        assert_eq!(regime(-1.6, 0.1), Regime::TurbulentWake);
        assert_eq!(regime(-3.0, 0.1), Regime::Windmill);
    }

    proptest! {
        /// The result satisfies the balance it was solved from, and is the smallest root.
        #[test]
        fn prop_glauert_solves_its_equation(x in -6.0..6.0f64, y in 0.0..6.0f64) {
            let v = glauert_ratio(x, y);
            // On the vertical slope of a double root the balance is flat: half the digits.
            prop_assert!(v > 0.0 && (thrust_ratio_squared(x, y, v) - 1.0).abs() < 1e-9, "{v}");
            for i in 1..50 {
                prop_assert!(thrust_ratio_squared(x, y, v * f64::from(i) / 50.0) < 1.0 + 1e-9);
            }
        }

        #[test]
        fn prop_induced_velocity_falls_with_stream(x in 0.0..5.0f64, y in 0.0..5.0f64, more in 1e-3..1.0f64) {
            prop_assert!(glauert_ratio(x + more, y) < glauert_ratio(x, y));
            prop_assert!(glauert_ratio(x, y + more) < glauert_ratio(x, y));
        }
    }
}
