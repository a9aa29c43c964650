//! One limit: what is used of it and what is left.

use crate::error::VehicleError;

/// Which limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum LimitKind {
    /// Thrust of the rotors as declared, N.
    Thrust,
    /// Thrust that the rotor model reaches: fastest turning, tip Mach number, blade loading or end of a table. N.
    RotorThrust,
    /// Lean of the rotor plane, degrees.
    Tilt,
    /// Voltage before the controllers, V.
    Voltage,
    /// Motor current, A.
    Current,
    /// Winding temperature, K; used is rise over allowed rise.
    WindingTemperature,
    /// Shaft power, W.
    Power,
    /// Lift coefficient against the largest usable one.
    LiftCoefficient,
    /// Bank angle, degrees.
    Bank,
    /// Lift over weight.
    LoadFactor,
}

/// A value, the bound it must not pass and how much of it is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Which limit.
    pub kind: LimitKind,
    /// The value, in the unit that [`LimitKind`] tells.
    pub value: f64,
    /// The bound, in the same unit.
    pub bound: f64,
    /// Value over bound (rise over rise for a temperature): above 1 is not allowed.
    pub used_ratio: f64,
}

impl Limit {
    /// `value` against an upper `bound` above 0.
    pub(crate) fn upper(kind: LimitKind, value: f64, bound: f64) -> Self {
        let used_ratio = if bound > 0.0 { value / bound } else { f64::MAX };
        Self { kind, value, bound, used_ratio }
    }

    /// What is left, as a fraction of the bound; negative when exceeded.
    pub fn margin_ratio(&self) -> f64 {
        1.0 - self.used_ratio
    }

    /// The error that says so, if the bound is passed.
    pub fn exceeded(&self) -> Option<VehicleError> {
        if self.used_ratio <= 1.0 {
            return None;
        }
        let (value, bound) = (self.value, self.bound);
        Some(match self.kind {
            LimitKind::Thrust | LimitKind::RotorThrust => {
                VehicleError::ThrustShort { needed_n: value, available_n: bound }
            }
            LimitKind::Tilt => VehicleError::TiltExceeded { tilt_deg: value, max_tilt_deg: bound },
            LimitKind::Voltage => VehicleError::VoltageShort { needed_v: value, available_v: bound },
            LimitKind::Current => VehicleError::CurrentExceeded { needed_a: value, available_a: bound },
            LimitKind::WindingTemperature => VehicleError::WindingTooHot {
                winding_k: value,
                max_winding_k: bound,
                used_ratio: self.used_ratio,
            },
            LimitKind::Power => VehicleError::PowerShort { needed_w: value, available_w: bound },
            LimitKind::LiftCoefficient => VehicleError::Stall { needed: value, available: bound },
            LimitKind::Bank => VehicleError::BankExceeded { bank_deg: value, max_bank_deg: bound },
            LimitKind::LoadFactor => {
                VehicleError::LoadFactorExceeded { load_factor: value, max_load_factor: bound }
            }
        })
    }

    /// The one of which more is used.
    #[must_use]
    pub fn tighter(self, other: Self) -> Self {
        if other.used_ratio > self.used_ratio { other } else { self }
    }
}

/// The limits of a drive, each where it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DriveLimits {
    /// Shaft power of all motors, W.
    pub power: Option<Limit>,
    /// Voltage before the controllers, V.
    pub voltage: Option<Limit>,
    /// Current of one motor, A.
    pub current: Option<Limit>,
    /// Winding temperature, K.
    pub winding: Option<Limit>,
}

impl DriveLimits {
    /// Those that are known.
    pub fn iter(&self) -> impl Iterator<Item = Limit> {
        [self.power, self.voltage, self.current, self.winding].into_iter().flatten()
    }

    /// The one of which most is used.
    pub fn tightest(&self) -> Option<Limit> {
        self.iter().reduce(Limit::tighter)
    }

    /// The limit of a kind, if it is known.
    pub fn of(&self, kind: LimitKind) -> Option<Limit> {
        self.iter().find(|limit| limit.kind == kind)
    }

    /// Of each kind the one of which more is used, of two drives.
    #[must_use]
    pub fn tighter(self, other: Self) -> Self {
        let both = |a: Option<Limit>, b: Option<Limit>| match (a, b) {
            (Some(a), Some(b)) => Some(a.tighter(b)),
            (a, b) => a.or(b),
        };
        Self {
            power: both(self.power, other.power),
            voltage: both(self.voltage, other.voltage),
            current: both(self.current, other.current),
            winding: both(self.winding, other.winding),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bound_itself_is_allowed() {
        assert_eq!(Limit::upper(LimitKind::Tilt, 30.0, 30.0).exceeded(), None);
        let over = Limit::upper(LimitKind::Tilt, 30.3, 30.0);
        assert_eq!(over.exceeded(), Some(VehicleError::TiltExceeded { tilt_deg: 30.3, max_tilt_deg: 30.0 }));
        assert!((over.margin_ratio() + 0.01).abs() < 1e-12);
        assert!(Limit::upper(LimitKind::Thrust, 1.0, 0.0).exceeded().is_some());
    }

    #[test]
    fn every_kind_has_an_error_that_tells_how_far() {
        use LimitKind::*;
        for kind in
            [Thrust, Tilt, Voltage, Current, WindingTemperature, Power, LiftCoefficient, Bank, LoadFactor]
        {
            let error = Limit::upper(kind, 12.0, 10.0).exceeded().unwrap();
            assert!((error.overload_ratio().unwrap() - 0.2).abs() < 1e-12, "{error}");
            assert!(error.to_string().contains("12"), "{error}");
        }
    }
}
