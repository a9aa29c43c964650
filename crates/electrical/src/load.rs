//! A load that draws constant power through a resistance: the one circuit behind both the copper line and the
//! battery under a regulated converter.

/// One way of drawing the power.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LoadPoint {
    /// Current, A.
    pub current_a: f64,
    /// Voltage at the load, V.
    pub load_voltage_v: f64,
    /// Power leaving the source, W.
    pub source_w: f64,
    /// Power lost in the resistance, W.
    pub loss_w: f64,
}

impl LoadPoint {
    /// Power at the load over power from the source; 1 without current.
    pub fn efficiency_ratio(&self) -> f64 {
        if self.source_w > 0.0 { 1.0 - self.loss_w / self.source_w } else { 1.0 }
    }
}

/// Both ways of drawing a constant power through a resistance, if there are any.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ConstantPowerLoad {
    /// Largest power that can cross the resistance, W: V²/(4R), at half the source voltage. The largest finite number if
    /// the resistance is 0.
    pub limit_w: f64,
    /// The point of lower current, on which a constant-power load is stable (load voltage above half the source's).
    /// `None` if more than [`Self::limit_w`] is asked.
    pub stable: Option<LoadPoint>,
    /// The point of higher current. A constant-power load runs away from it: never a place to operate, given so
    /// that a simulation can show where a collapse ends. `None` without resistance or without load too.
    pub unstable: Option<LoadPoint>,
}

impl ConstantPowerLoad {
    /// Whether the power can be drawn at all.
    pub fn is_feasible(&self) -> bool {
        self.stable.is_some()
    }
}

/// The two operating points of a load of `load_w` (W, 0 or more) behind `resistance_ohm` (Ω, 0 or more) on a source of
/// `source_voltage_v` (V, over 0): `I = (V ∓ √(V² − 4RP))/(2R)` (Kirchhoff; the textbook case of the maximum power
/// transfer theorem). Nothing is served if an argument is negative or not finite.
///
/// # Examples
/// ```
/// use beamstay_electrical::load::constant_power_load;
/// let load = constant_power_load(400.0, 6.66165, 2000.0);
/// let point = load.stable.unwrap();
/// assert!((load.limit_w - 6004.5).abs() < 0.1);
/// assert!((point.current_a - 5.50464).abs() < 1e-4 && (point.loss_w - 201.855).abs() < 1e-2);
/// assert!(!constant_power_load(400.0, 6.66165, 6005.0).is_feasible());
/// ```
pub fn constant_power_load(source_voltage_v: f64, resistance_ohm: f64, load_w: f64) -> ConstantPowerLoad {
    let limit_w = power_transfer_limit_w(source_voltage_v, resistance_ohm);
    if !(load_w >= 0.0 && load_w <= limit_w && load_w.is_finite()) {
        return ConstantPowerLoad { limit_w, stable: None, unstable: None };
    }
    // V² − 4RP is V²(1 − P/P_max): in this form it cannot turn negative by rounding.
    let root_v = source_voltage_v * (1.0 - load_w / limit_w).max(0.0).sqrt();
    let point = |current_a: f64| LoadPoint {
        current_a,
        load_voltage_v: if current_a > 0.0 { load_w / current_a } else { source_voltage_v },
        source_w: load_w + current_a * current_a * resistance_ohm,
        loss_w: current_a * current_a * resistance_ohm,
    };
    let low_a = 2.0 * load_w / (source_voltage_v + root_v);
    let high_a = (source_voltage_v + root_v) / (2.0 * resistance_ohm);
    let finite = |p: LoadPoint| (p.source_w.is_finite() && p.current_a.is_finite()).then_some(p);
    let unstable = if load_w > 0.0 && resistance_ohm > 0.0 { finite(point(high_a)) } else { None };
    ConstantPowerLoad { limit_w, stable: finite(point(low_a)), unstable }
}

/// Largest power that a source of `source_voltage_v` (V) gives through `resistance_ohm` (Ω), W: V²/(4R) (Jacobi's law of the greatest power; any textbook of circuits). The largest
/// finite number without resistance; 0 if an argument is negative or not a number.
pub fn power_transfer_limit_w(source_voltage_v: f64, resistance_ohm: f64) -> f64 {
    if source_voltage_v > 0.0 && resistance_ohm >= 0.0 && source_voltage_v.is_finite() {
        (source_voltage_v * (source_voltage_v / (4.0 * resistance_ohm))).min(f64::MAX)
    } else {
        0.0
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_limit_itself_is_served_at_half_the_voltage() {
        let limit_w = power_transfer_limit_w(400.0, 2.0);
        assert_eq!(limit_w, 20_000.0);
        let point = constant_power_load(400.0, 2.0, limit_w).stable.unwrap();
        assert_eq!(point.load_voltage_v, 200.0);
        assert!(!constant_power_load(400.0, 2.0, limit_w * (1.0 + f64::EPSILON)).is_feasible());
    }

    #[test]
    fn no_load_and_no_resistance() {
        let idle = constant_power_load(400.0, 2.0, 0.0);
        assert_eq!(idle.stable.map(|p| (p.current_a, p.load_voltage_v)), Some((0.0, 400.0)));
        assert_eq!(idle.unstable, None);
        assert_eq!(idle.stable.map(|p| p.efficiency_ratio()), Some(1.0));
        let wire = constant_power_load(400.0, 0.0, 1000.0);
        assert_eq!(wire.stable.map(|p| (p.current_a, p.loss_w)), Some((2.5, 0.0)));
        assert_eq!(wire.unstable, None);
    }

    proptest! {
        #[test]
        fn prop_both_roots_satisfy_the_circuit(v in 1.0..5000.0f64, r in 1e-4..1e3f64, share in 1e-3..1.0f64) {
            let load_w = share * power_transfer_limit_w(v, r);
            let load = constant_power_load(v, r, load_w);
            for point in [load.stable.unwrap(), load.unstable.unwrap()] {
                prop_assert!((point.load_voltage_v - (v - point.current_a * r)).abs() <= 1e-11 * v);
                prop_assert!((point.source_w - v * point.current_a).abs() <= 1e-11 * point.source_w);
                prop_assert!((point.source_w - load_w - point.loss_w).abs() <= 1e-12 * point.source_w);
            }
            prop_assert!(load.stable.unwrap().load_voltage_v >= 0.5 * v * (1.0 - 1e-12));
            prop_assert!(load.stable.unwrap().current_a <= load.unstable.unwrap().current_a * (1.0 + 1e-12));
        }

        #[test]
        fn prop_hostile_numbers_stay_finite(v in any::<u64>(), r in any::<u64>(), p in any::<u64>()) {
            let [v, r, p] = [v, r, p].map(f64::from_bits);
            let load = constant_power_load(v, r, p);
            prop_assert!(load.limit_w.is_finite());
            for point in [load.stable, load.unstable].into_iter().flatten() {
                prop_assert!(point.current_a.is_finite() && point.load_voltage_v.is_finite());
                prop_assert!(point.source_w.is_finite() && point.loss_w.is_finite());
            }
        }
    }
}
