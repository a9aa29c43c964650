//! Heat transfer correlations that a heat sink is made of: numbers without dimension in, Nusselt numbers out.
//!
//! Physical uncertainty of every correlation here is 15 to 25 %. Arguments are taken as given: no fluid, no geometry.

/// Reynolds number at which the boundary layer of a flat plate is taken to become turbulent.
pub const PLATE_TRANSITION_REYNOLDS: f64 = 5e5;

/// Mean Nusselt number of a flat plate in parallel flow with a laminar boundary layer, `0.664·Re^½·Pr^⅓`
/// (Pohlhausen's solution as in F. P. Incropera and others, *Fundamentals of Heat and Mass Transfer*, eq. 7.30);
/// Re below 5e5, Pr above 0.6. 0 without flow.
///
/// # Examples
/// ```
/// let nu = beamstay_optics::receiver::heat::plate_laminar_nusselt(31_089.7436, 0.728_401_9);
/// assert!((nu - 105.341_702).abs() < 1e-5);
/// ```
pub fn plate_laminar_nusselt(reynolds: f64, prandtl: f64) -> f64 {
    0.664 * reynolds.max(0.0).sqrt() * prandtl.cbrt()
}

/// Mean Nusselt number of a flat plate with a boundary layer that is turbulent from its edge, as in a wake,
/// `0.037·Re^0.8·Pr/(1 + 2.443·Re^−0.1·(Pr^⅔ − 1))` (H. Schlichting, *Boundary-Layer Theory*, as in the general-purpose
/// library `ht`); Re 5e5 to 1e7, Pr 0.6 to 2000. The plain power laws `0.036…0.037·Re^0.8·Pr^⅓` of other books lie 6 to 9 %
/// higher in air; the lower is kept.
///
/// # Examples
/// ```
/// let nu = beamstay_optics::receiver::heat::plate_turbulent_nusselt(932_692.31, 0.728_401_9);
/// assert!((nu - 1_822.799_9).abs() < 1e-3);
/// ```
pub fn plate_turbulent_nusselt(reynolds: f64, prandtl: f64) -> f64 {
    if reynolds.is_nan() || reynolds <= 0.0 {
        return 0.0;
    }
    let slope = 1.0 + 2.443 * reynolds.powf(-0.1) * (prandtl.cbrt().powi(2) - 1.0);
    0.037 * reynolds.powf(0.8) * prandtl / slope
}

/// Mean Nusselt number of a flat plate in smooth flow: laminar up to Re = 5e5, beyond it the mixed boundary layer
/// `(0.037·Re^0.8 − 871)·Pr^⅓` (Incropera and others, eq. 7.38), which joins the laminar value within 0.1 % there and
/// would be negative below 2.9e5, where it is never used. The wake of a rotor is turbulent, which cools better: the smooth
/// value is the safe one.
///
/// # Examples
/// ```
/// let nu = beamstay_optics::receiver::heat::plate_nusselt(932_692.31, 0.728_401_9);
/// assert!((nu - 1_202.940_483).abs() < 1e-4);
/// ```
pub fn plate_nusselt(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = plate_laminar_nusselt(reynolds, prandtl);
    if reynolds <= PLATE_TRANSITION_REYNOLDS {
        laminar
    } else {
        laminar.max((0.037 * reynolds.powf(0.8) - 871.0) * prandtl.cbrt())
    }
}

/// Mean Nusselt number, on the gap, of a channel between parallel fins:
/// `[(R·Pr/2)^−3 + (0.664·R^½·Pr^⅓·(1 + 3.65/R^½)^½)^−3]^(−⅓)` with the channel Reynolds number `R = Re_gap·gap/length`
/// (P. Teertstra, M. M. Yovanovich and J. R. Culham, *Analytical forced convection modeling of plate fin heat sinks*,
/// J. Electronics Manufacturing 10, 2000; formula from memory). Valid for 0.1 < R < 100 within 2.1 % RMS.
///
/// The reference is the excess of the fin over the air that ENTERS: the first term is the channel whose whole air has
/// reached the temperature of the fins, `ṁ·c_p`. The warming of the air is therefore inside, and must not be taken off again.
///
/// # Examples
/// ```
/// // 5 m/s in a 2 mm gap 50 mm long, in air at 30 °C.
/// let nu = beamstay_optics::receiver::heat::channel_nusselt(24.871_794_87, 0.728_401_9);
/// assert!((nu - 3.820_448).abs() < 1e-6);
/// ```
pub fn channel_nusselt(channel_reynolds: f64, prandtl: f64) -> f64 {
    if channel_reynolds.is_nan() || channel_reynolds <= 0.0 {
        return 0.0;
    }
    let root = channel_reynolds.sqrt();
    let developed = 0.5 * channel_reynolds * prandtl;
    let developing = 0.664 * root * prandtl.cbrt() * (1.0 + 3.65 / root).sqrt();
    let smaller = developed.min(developing);
    let ratio = smaller / developed.max(developing);
    smaller / (1.0 + ratio.powi(3)).cbrt()
}

/// Efficiency of a straight fin with an adiabatic tip, `tanh(m·H)/(m·H)`, `m = √(2h/(k·t))` (Incropera and others,
/// eq. 3.94): the mean excess temperature of the fin over that of its root.
///
/// # Examples
/// ```
/// let ratio = beamstay_optics::receiver::heat::fin_efficiency_ratio(50.0, 200.0, 0.001, 0.030);
/// assert!((ratio - 0.872_840_6).abs() < 1e-7);
/// ```
pub fn fin_efficiency_ratio(
    coefficient_w_per_m2_k: f64,
    conductivity_w_per_m_k: f64,
    thickness_m: f64,
    height_m: f64,
) -> f64 {
    let m_h =
        height_m * (2.0 * coefficient_w_per_m2_k.max(0.0) / (conductivity_w_per_m_k * thickness_m)).sqrt();
    if m_h < 1e-4 { 1.0 - m_h * m_h / 3.0 } else { m_h.tanh() / m_h }
}

/// Mean Nusselt number of a vertical plate in still fluid,
/// `(0.825 + 0.387·Ra^(1/6)/(1 + (0.492/Pr)^(9/16))^(8/27))²` (S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass
/// Transfer 18, 1323, 1975; Incropera and others, eq. 9.26), for every Rayleigh number.
///
/// # Examples
/// ```
/// let nu = beamstay_optics::receiver::heat::vertical_plate_natural_nusselt(3.062_304e6, 0.728_401_9);
/// assert!((nu - 22.485_699).abs() < 1e-5);
/// ```
pub fn vertical_plate_natural_nusselt(rayleigh: f64, prandtl: f64) -> f64 {
    vertical_plate_natural_nusselt_with(rayleigh, prandtl_factor(prandtl))
}

/// The part of [`vertical_plate_natural_nusselt`] that depends on the fluid alone.
pub(super) fn prandtl_factor(prandtl: f64) -> f64 {
    0.387 / (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0)
}

/// [`vertical_plate_natural_nusselt`] with that part worked out.
pub(super) fn vertical_plate_natural_nusselt_with(rayleigh: f64, prandtl_factor: f64) -> f64 {
    let sum = 0.825 + prandtl_factor * rayleigh.max(0.0).sqrt().cbrt();
    sum * sum
}

/// Mean Nusselt number, on the gap, of a vertical channel between fins of one temperature in still fluid:
/// `(576/X² + 2.873/X^½)^(−½)` with `X = Ra_gap·gap/length` (A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106,
/// 116, 1984; Incropera and others, table 9.3, from memory). Referred to the air that enters. 0 at X = 0: narrow gaps choke.
///
/// # Examples
/// ```
/// // A wide channel is two single plates, Nu → 0.59·X^¼.
/// let nu = beamstay_optics::receiver::heat::vertical_channel_natural_nusselt(1e8);
/// assert!((nu / (0.59 * 100.0) - 1.0).abs() < 1e-3);
/// ```
pub fn vertical_channel_natural_nusselt(channel_rayleigh: f64) -> f64 {
    if channel_rayleigh.is_nan() || channel_rayleigh <= 0.0 {
        return 0.0;
    }
    let x = channel_rayleigh;
    x / (576.0 + 2.873 * x * x.sqrt()).sqrt()
}

/// Resistance from a round source of radius `source_radius_m` to the far face of a round plate of radius
/// `plate_radius_m` and thickness `thickness_m` whose far face is cooled with `coefficient_w_per_m2_k`, conduction through
/// the plate included and convection left out, K/W, for the hottest point of the source (S. Song, S. Lee and V. Au,
/// *Closed-form equation for thermal constriction/spreading resistances with variable resistance boundary condition*, IEPS
/// conference 1994, from memory; within 10 % of the exact series over the ranges of electronics cooling).
/// A source larger than the plate counts as one that covers it.
///
/// # Examples
/// ```
/// // A source that covers the plate is plain conduction, t/(k·A).
/// let k_per_w = beamstay_optics::receiver::heat::spreading_k_per_w(0.02, 0.02, 0.004, 200.0, 100.0);
/// let slab_k_per_w = 0.004 / (200.0 * std::f64::consts::PI * 0.02f64.powi(2));
/// assert!((k_per_w / slab_k_per_w - 1.0).abs() < 1e-12);
/// ```
pub fn spreading_k_per_w(
    source_radius_m: f64,
    plate_radius_m: f64,
    thickness_m: f64,
    conductivity_w_per_m_k: f64,
    coefficient_w_per_m2_k: f64,
) -> f64 {
    let root_pi = std::f64::consts::PI.sqrt();
    let epsilon = (source_radius_m / plate_radius_m).min(1.0);
    let tau = thickness_m / plate_radius_m;
    let inverse_biot = conductivity_w_per_m_k / (coefficient_w_per_m2_k * plate_radius_m);
    let lambda = std::f64::consts::PI + 1.0 / (root_pi * epsilon);
    let tanh = (lambda * tau).tanh();
    // (tanh + λ/Bi)/(1 + λ/Bi·tanh), written so that an uncooled plate is no quotient of infinities.
    let phi = if inverse_biot < 1e12 {
        (tanh + lambda * inverse_biot) / (1.0 + lambda * inverse_biot * tanh)
    } else {
        1.0 / tanh
    };
    let psi = epsilon * tau / root_pi + (1.0 - epsilon) * phi / root_pi;
    psi / (conductivity_w_per_m_k * source_radius_m.min(plate_radius_m) * root_pi)
}
