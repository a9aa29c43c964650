//! What a tether may be asked to bear: tension, glass stress, bend radius and strain go in; the value, the limit and
//! the margin come out.
//!
//! The proof stress is not an allowable stress. Of it a fiber may carry one fifth for years, one third for hours and
//! half for about a second, axial and bending stress together. Bend stress goes by the radius of the glass, the rule
//! of the cable by the diameter of the jacket; both have to be met.

use beamstay_numerics::domain::{OutOfRange, in_range};

use crate::material::SILICA_MODULUS_PA;

/// A value that must not exceed its limit, both in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct UpperLimit {
    /// What was found, in the unit that the function which hands it out names.
    pub value: f64,
    /// The most that is allowed, in the same unit.
    pub limit: f64,
}

impl UpperLimit {
    /// (limit − value)/limit: 1 unloaded, 0 at the limit, negative beyond.
    pub fn margin_ratio(&self) -> f64 {
        (self.limit - self.value) / self.limit
    }

    /// Whether the value is within the limit.
    pub fn holds(&self) -> bool {
        self.value <= self.limit
    }
}

/// A value that must not fall below its limit, both in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LowerLimit {
    /// What was found, in the unit that the function which hands it out names.
    pub value: f64,
    /// The least that is allowed, in the same unit.
    pub limit: f64,
}

impl LowerLimit {
    /// (value − limit)/limit: 0 at the limit, negative below.
    pub fn margin_ratio(&self) -> f64 {
        (self.value - self.limit) / self.limit
    }

    /// Whether the value is within the limit.
    pub fn holds(&self) -> bool {
        self.value >= self.limit
    }
}

/// How long a stress acts, all times it acts added up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LoadDuration {
    /// About a second: a gust peak, a snatch load, met a few times in a life.
    Seconds,
    /// Some hours: installation, one storm.
    Hours,
    /// The life of the line: what it bears in every flight, and the bend in which it is stored on the drum.
    Years,
}

impl LoadDuration {
    /// The class of a total time under load in seconds; up to 1 s, up to 4 h (from memory), longer. NaN counts as longer.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::limits::LoadDuration;
    /// assert_eq!(LoadDuration::of(60.0), LoadDuration::Hours);
    /// assert_eq!(LoadDuration::of(5.0 * 3600.0), LoadDuration::Years);
    /// ```
    pub fn of(total_time_s: f64) -> Self {
        if total_time_s <= 1.0 {
            Self::Seconds
        } else if total_time_s <= 4.0 * 3600.0 {
            Self::Hours
        } else {
            Self::Years
        }
    }

    /// Part of the proof stress that may be carried: 1/2, 1/3, 1/5.
    ///
    /// 1/5 for life: Corning application note AEN 21 rev. 6, 2006; safety coefficient 5 of the NASA GSFC fiber
    /// reliability page. 1/3 and 1/2: G. S. Glaesemann and S. T. Gulati, *Opt. Eng.* 30, 709, 1991, and later notes
    /// (fractions from memory). They allow for fatigue, handling and long lengths; the bare power law
    /// ([`life_at_stress_s`]) is far more generous and no ground for raising them.
    pub const fn allowed_fraction_of_proof(self) -> f64 {
        match self {
            Self::Seconds => 1.0 / 2.0,
            Self::Hours => 1.0 / 3.0,
            Self::Years => 1.0 / 5.0,
        }
    }
}

/// Stress in Pa at the outer fiber of a bent glass, E r/R (bending of beams, any textbook of mechanics) with r the radius of the glass (silica, 72 GPa, linear). The
/// bend is of the middle of the glass. Glass 1 µm to 5 mm, bend radius > 0; an infinite radius gives 0.
///
/// # Errors
/// [`OutOfRange`] for a glass outside its range or a bend radius below the glass radius.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::bend_stress_pa;
/// assert!((bend_stress_pa(440e-6, 0.100).unwrap() - 158.4e6).abs() < 1.0);
/// ```
pub fn bend_stress_pa(glass_diameter_m: f64, bend_radius_m: f64) -> Result<f64, OutOfRange> {
    in_range("glass diameter", "m", glass_diameter_m, 1e-6, 5e-3)?;
    let radius_m =
        in_range("bend radius", "m", straight_as_finite(bend_radius_m), 0.5 * glass_diameter_m, f64::MAX)?;
    Ok(SILICA_MODULUS_PA * 0.5 * glass_diameter_m / radius_m)
}

/// A straight line as the largest finite radius; NaN stays NaN.
fn straight_as_finite(radius_m: f64) -> f64 {
    if radius_m == f64::INFINITY { f64::MAX } else { radius_m }
}

/// Stress in the glass, axial plus bending in Pa, against the part of the proof stress that the duration allows.
/// Axial stress −1 to 20 GPa, proof stress 1 kPa to 20 GPa, the rest as [`bend_stress_pa`].
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::{LoadDuration, glass_stress_limit};
/// use beamstay_tether::material::PROOF_STRESS_100_KPSI_PA;
/// let drum_m = 0.115;
/// let limit = glass_stress_limit(0.0, 440e-6, drum_m, PROOF_STRESS_100_KPSI_PA, LoadDuration::Years).unwrap();
/// assert!(limit.holds() && limit.margin_ratio() < 0.002);
/// ```
pub fn glass_stress_limit(
    axial_stress_pa: f64,
    glass_diameter_m: f64,
    bend_radius_m: f64,
    proof_stress_pa: f64,
    duration: LoadDuration,
) -> Result<UpperLimit, OutOfRange> {
    in_range("axial stress of the glass", "Pa", axial_stress_pa, -1e9, 2e10)?;
    in_range("proof stress", "Pa", proof_stress_pa, 1e3, 2e10)?;
    Ok(UpperLimit {
        value: axial_stress_pa + bend_stress_pa(glass_diameter_m, bend_radius_m)?,
        limit: proof_stress_pa * duration.allowed_fraction_of_proof(),
    })
}

/// Smallest bend radius in m that leaves the glass within its allowed stress while it also carries an axial stress,
/// E r/(allowed − axial); `None` if the axial stress alone uses up the allowance.
///
/// # Errors
/// As [`glass_stress_limit`].
///
/// # Examples
/// ```
/// use beamstay_tether::limits::{LoadDuration, least_glass_bend_radius_m};
/// use beamstay_tether::material::PROOF_STRESS_100_KPSI_PA;
/// let radius_m = least_glass_bend_radius_m(0.0, 125e-6, PROOF_STRESS_100_KPSI_PA, LoadDuration::Years);
/// assert!((radius_m.unwrap().unwrap() - 0.03263349).abs() < 1e-8);
/// ```
pub fn least_glass_bend_radius_m(
    axial_stress_pa: f64,
    glass_diameter_m: f64,
    proof_stress_pa: f64,
    duration: LoadDuration,
) -> Result<Option<f64>, OutOfRange> {
    let straight =
        glass_stress_limit(axial_stress_pa, glass_diameter_m, f64::INFINITY, proof_stress_pa, duration)?;
    let left_pa = straight.limit - straight.value;
    // The glass cannot be bent tighter than its own radius.
    let radius_m = 0.5 * glass_diameter_m * (SILICA_MODULUS_PA / left_pa).max(1.0);
    Ok((left_pa > 0.0 && radius_m.is_finite()).then_some(radius_m))
}

/// Smallest bend radius in m of a line that comes down loose on a level ground, held from a kink by the bending stiffness of its
/// glass alone: 1.40 (EI/w)^(1/3), EI = E π d⁴/64.
///
/// The heavy elastica EI θ″ = (R − w s) cos θ that leaves a level ground without tension in calm air and ends upright, solved by
/// shooting on the reaction R (own computation: R = 1.2027 (EI w²)^(1/3), radius 1.40297 of that unit; no published figure
/// was found). Jacket and yarn stiffen the line, wind leans it and tension straightens it: all widen the bend, so that leaving
/// them out is on the safe side.
///
/// # Errors
/// [`OutOfRange`] for a glass outside 1 µm to 10 mm or a weight outside 10⁻⁶ to 10³ N/m.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::touchdown_bend_radius_m;
/// // 440 µm of glass in a line of 3.34 g/m: EI = 1.3247e-4 N m².
/// assert!((touchdown_bend_radius_m(440e-6, 0.032755).unwrap() - 0.2230).abs() < 1e-4);
/// ```
pub fn touchdown_bend_radius_m(glass_diameter_m: f64, weight_n_per_m: f64) -> Result<f64, OutOfRange> {
    in_range("glass diameter", "m", glass_diameter_m, 1e-6, 1e-2)?;
    in_range("weight", "N/m", weight_n_per_m, 1e-6, 1e3)?;
    let stiffness_n_m2 = SILICA_MODULUS_PA * std::f64::consts::PI * glass_diameter_m.powi(4) / 64.0;
    Ok(1.40 * (stiffness_n_m2 / weight_n_per_m).cbrt())
}

/// Time in s that a glass survives a steady stress by the simplest power law, t_s = t_p (σ_p/σ_s)^n, proof test of t_p =
/// 1 s (IEC TR 62048 in its shortest form, fatigue parameter n about 20, 18 to 22). For orientation only. Infinite life
/// is reported as [`f64::MAX`].
///
/// # Errors
/// [`OutOfRange`] if the stress over the proof stress is not 0 to 10 or n not 10 to 100.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::life_at_stress_s;
/// assert!((life_at_stress_s(0.5, 20.0).unwrap() / 86_400.0 - 12.14).abs() < 0.01);
/// ```
pub fn life_at_stress_s(stress_over_proof_ratio: f64, fatigue_parameter: f64) -> Result<f64, OutOfRange> {
    in_range("stress over proof stress", "", stress_over_proof_ratio, 0.0, 10.0)?;
    in_range("fatigue parameter", "", fatigue_parameter, 10.0, 100.0)?;
    Ok(stress_over_proof_ratio.powf(-fatigue_parameter).min(f64::MAX))
}

/// Where a line is bent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum BendPlace {
    /// Wound on the drum under tension.
    Drum,
    /// Over a sheave or a fairlead.
    Sheave,
    /// Where it leaves the vehicle.
    VehicleOutlet,
    /// Fixed, without tension: a pigtail, a coil in storage.
    AtRest,
}

impl BendPlace {
    /// Bend radius over cable diameter: 20 under tension, 10 at rest (Fiber Optic Association, reference guide).
    /// ANSI/TIA-568-B.3 as quoted asks for 15 and 10; the longer of the two is taken.
    pub const fn cable_rule_ratio(self) -> f64 {
        match self {
            Self::Drum | Self::Sheave | Self::VehicleOutlet => 20.0,
            Self::AtRest => 10.0,
        }
    }
}

/// A bend held against both rules.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct BendCheck {
    /// Stress in the glass, Pa, axial and bending, against what the duration allows.
    pub glass_stress_pa: UpperLimit,
    /// Bend radius, m, against the rule for the cable.
    pub cable_radius_m: LowerLimit,
}

impl BendCheck {
    /// Whether both hold.
    pub fn holds(&self) -> bool {
        self.glass_stress_pa.holds() && self.cable_radius_m.holds()
    }
}

/// Checks a bend at a place: glass stress with the axial stress there, and the cable rule. Jacket diameter 10 µm to
/// 0.2 m; the rest as [`glass_stress_limit`]. The radius is that of the surface the line lies on.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::{BendPlace, LoadDuration, bend_check};
/// use beamstay_tether::material::PROOF_STRESS_100_KPSI_PA;
/// let check = bend_check(
///     BendPlace::Sheave, 0.05, 20e6, 440e-6, 0.002, PROOF_STRESS_100_KPSI_PA, LoadDuration::Years,
/// ).unwrap();
/// assert!(check.cable_radius_m.holds(), "20 times 2 mm is 40 mm");
/// assert!(!check.glass_stress_pa.holds(), "but the glass bears 317 + 20 MPa");
/// ```
pub fn bend_check(
    place: BendPlace,
    bend_radius_m: f64,
    axial_stress_pa: f64,
    glass_diameter_m: f64,
    jacket_diameter_m: f64,
    proof_stress_pa: f64,
    duration: LoadDuration,
) -> Result<BendCheck, OutOfRange> {
    in_range("jacket diameter", "m", jacket_diameter_m, 1e-5, 0.2)?;
    let glass_stress_pa =
        glass_stress_limit(axial_stress_pa, glass_diameter_m, bend_radius_m, proof_stress_pa, duration)?;
    let limit = place.cable_rule_ratio() * jacket_diameter_m;
    Ok(BendCheck {
        glass_stress_pa,
        cable_radius_m: LowerLimit { value: straight_as_finite(bend_radius_m), limit },
    })
}

/// Tension in N against the breaking load over a safety factor. Tension −1 to 10 MN, breaking load 1 mN to 10 MN, factor 1
/// to 50.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::tension_limit;
/// assert!((tension_limit(120.0, 1500.0, 5.0).unwrap().margin_ratio() - 0.6).abs() < 1e-12);
/// ```
pub fn tension_limit(
    tension_n: f64,
    breaking_load_n: f64,
    safety_factor: f64,
) -> Result<UpperLimit, OutOfRange> {
    in_range("tension", "N", tension_n, -1e7, 1e7)?;
    in_range("breaking load", "N", breaking_load_n, 1e-3, 1e7)?;
    in_range("safety factor on the breaking load", "", safety_factor, 1.0, 50.0)?;
    Ok(UpperLimit { value: tension_n, limit: breaking_load_n / safety_factor })
}

/// Strain of the line against the most that is allowed. Strain −1 to 10, limit 10⁻⁶ to 10.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::limits::strain_limit;
/// assert!(strain_limit(0.0019, 0.002).unwrap().holds());
/// ```
pub fn strain_limit(strain: f64, allowed_strain: f64) -> Result<UpperLimit, OutOfRange> {
    in_range("strain", "", strain, -1.0, 10.0)?;
    in_range("allowed strain", "", allowed_strain, 1e-6, 10.0)?;
    Ok(UpperLimit { value: strain, limit: allowed_strain })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::PROOF_STRESS_100_KPSI_PA as PROOF;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn a_loose_line_touches_down_in_the_bend_of_the_heavy_elastica() {
        // θ″ = (r − s) cos θ from rest, by Runge's and Kutta's method; the reaction r that ends upright lies between one that
        // goes over and one that falls back.
        let run = |reaction: f64| {
            let (mut s, mut theta, mut bend, mut most) = (0.0, 0.0_f64, 0.0_f64, 0.0_f64);
            let step = 1e-3;
            let turn = |s: f64, theta: f64| (reaction - s) * theta.cos();
            while s < 6.0 {
                let (k1, m1) = (bend, turn(s, theta));
                let (k2, m2) = (bend + 0.5 * step * m1, turn(s + 0.5 * step, theta + 0.5 * step * k1));
                let (k3, m3) = (bend + 0.5 * step * m2, turn(s + 0.5 * step, theta + 0.5 * step * k2));
                let (k4, m4) = (bend + step * m3, turn(s + step, theta + step * k3));
                theta += step / 6.0 * (k1 + 2.0 * (k2 + k3) + k4);
                bend += step / 6.0 * (m1 + 2.0 * (m2 + m3) + m4);
                s += step;
                most = most.max(bend);
                if theta > std::f64::consts::FRAC_PI_2 {
                    return (true, most);
                }
            }
            (false, most)
        };
        let (mut lo, mut hi) = (0.5, 2.0);
        for _ in 0..50 {
            let middle = 0.5 * (lo + hi);
            if run(middle).0 { hi = middle } else { lo = middle }
        }
        assert!((lo - 1.2027).abs() < 1e-3, "{lo}");
        let radius = 1.0 / run(lo).1;
        assert!((radius - 1.40297).abs() < 1e-3, "{radius}");
        let unit_m = (SILICA_MODULUS_PA * std::f64::consts::PI * 440e-6_f64.powi(4) / 64.0 / 0.03).cbrt();
        let ours_m = touchdown_bend_radius_m(440e-6, 0.03).unwrap();
        assert!(ours_m < radius * unit_m && ours_m > 0.99 * radius * unit_m);
        assert!(touchdown_bend_radius_m(0.0, 0.03).is_err() && touchdown_bend_radius_m(1e-4, 0.0).is_err());
    }

    #[test]
    fn a_limit_holds_on_the_limit_and_not_beyond() {
        assert!(UpperLimit { value: 1.0, limit: 1.0 }.holds());
        assert!(!UpperLimit { value: 1.0 + f64::EPSILON, limit: 1.0 }.holds());
        assert!(LowerLimit { value: 1.0, limit: 1.0 }.holds());
        assert!(!LowerLimit { value: 1.0 - f64::EPSILON, limit: 1.0 }.holds());
        assert!(!UpperLimit { value: f64::NAN, limit: 1.0 }.holds());
        assert_relative_eq!(LowerLimit { value: 0.9, limit: 1.0 }.margin_ratio(), -0.1);
    }

    #[test]
    fn duration_classes_meet_at_their_ends() {
        assert_eq!(LoadDuration::of(1.0), LoadDuration::Seconds);
        assert_eq!(LoadDuration::of(1.001), LoadDuration::Hours);
        assert_eq!(LoadDuration::of(14_400.0), LoadDuration::Hours);
        assert_eq!(LoadDuration::of(14_400.1), LoadDuration::Years);
        assert_eq!(LoadDuration::of(f64::NAN), LoadDuration::Years);
    }

    #[test]
    fn no_bend_is_tight_enough_to_matter_when_the_tension_takes_it_all() {
        let radius =
            |axial: f64| least_glass_bend_radius_m(axial, 440e-6, PROOF, LoadDuration::Years).unwrap();
        assert_eq!(radius(PROOF / 5.0), None);
        assert_eq!(radius(PROOF), None);
        assert!(radius(PROOF / 5.0 - 1.0).unwrap() > 1e6);
    }

    #[test]
    fn guards() {
        assert!(bend_stress_pa(0.0, 0.1).is_err() && bend_stress_pa(6e-3, 0.1).is_err());
        assert!(bend_stress_pa(440e-6, 0.0).is_err() && bend_stress_pa(440e-6, f64::NAN).is_err());
        assert_relative_eq!(bend_stress_pa(440e-6, f64::INFINITY).unwrap(), 0.0);
        assert!(tension_limit(1.0, 100.0, 0.99).is_err() && tension_limit(f64::NAN, 100.0, 2.0).is_err());
        assert!(tension_limit(1.0, 0.0, 2.0).is_err());
        assert!(strain_limit(0.1, 0.0).is_err());
        assert!(life_at_stress_s(0.5, 9.9).is_err());
        assert!(life_at_stress_s(0.0, 20.0).unwrap() > 1e300);
        assert!(glass_stress_limit(0.0, 440e-6, 0.1, 0.0, LoadDuration::Years).is_err());
    }

    proptest! {
        #[test]
        fn prop_allowed_stress_falls_with_duration(a in 0.0..1e6f64, b in 0.0..1e6f64) {
            let (short, long) = (a.min(b), a.max(b));
            let allowed = |t: f64| LoadDuration::of(t).allowed_fraction_of_proof();
            prop_assert!(allowed(long) <= allowed(short));
        }

        #[test]
        fn prop_least_radius_meets_the_limit(share in 0.0..0.99f64, glass in 50e-6..1e-3f64, which in 0usize..3) {
            let duration = [LoadDuration::Seconds, LoadDuration::Hours, LoadDuration::Years][which];
            let axial = share * PROOF * duration.allowed_fraction_of_proof();
            let radius = least_glass_bend_radius_m(axial, glass, PROOF, duration).unwrap().unwrap();
            let at = glass_stress_limit(axial, glass, radius, PROOF, duration).unwrap();
            prop_assert!(at.margin_ratio().abs() < 1e-9);
        }
    }
}
