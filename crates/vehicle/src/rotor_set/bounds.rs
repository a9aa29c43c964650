//! The largest thrust of a set of rotors, by each bound that is known: declared, the rotor model, the drive.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{Drive, Inflow, RotorError};

use super::{RotorSet, RotorSetOperation};
use crate::{
    error::VehicleError,
    limit::{Limit, LimitKind},
};

impl RotorSet {
    /// Largest thrust of the whole set by declaration and by the rotor model, N, and which of them it is.
    pub(super) fn rotor_bound(&self, inflow: Inflow, fluid: &Fluid) -> Option<(f64, LimitKind)> {
        let declared = self.declared_each_n(fluid).map(|n| (self.count * n, LimitKind::Thrust));
        let modelled = self.inputs.rotor.max_thrust_n(inflow, fluid);
        let modelled = modelled.map(|n| (self.count * n, LimitKind::RotorThrust));
        declared.into_iter().chain(modelled).min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Largest thrust of the whole set in this stream, N, and what bounds it: what is declared, the rotor model, or
    /// the drive, whichever comes first. `None` if nothing is known to bound it. Costs a few calls of the rotor where the
    /// drive binds, and a search where the rotor is known by its blades.
    ///
    /// # Errors
    /// [`VehicleError`] if the stream or the fluid are outside the models.
    pub fn max_thrust(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Option<(f64, LimitKind)>, VehicleError> {
        let rotor = self.rotor_bound_checked(inflow, fluid)?;
        if self.drive_is_unbounded() {
            return Ok(rotor);
        }
        let tightest = |at: &RotorSetOperation| at.drive_limit;
        let Some(thrust_n) = self.drive_bound_n(rotor, inflow, fluid, tightest) else { return Ok(rotor) };
        let at = self.operate(thrust_n, inflow, fluid)?;
        Ok(Some((thrust_n, at.drive_limit.map_or(LimitKind::Power, |limit| limit.kind))))
    }

    /// The largest thrust of the whole set, N, by each bound that is known, on its own: declared, rotor model, shaft power, voltage,
    /// current, winding. Bounds of the drive above what the rotor reaches are left out.
    ///
    /// # Errors
    /// As [`Self::max_thrust`].
    pub fn thrust_bounds(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Vec<(f64, LimitKind)>, VehicleError> {
        let rotor = self.rotor_bound_checked(inflow, fluid)?;
        let declared = self.declared_each_n(fluid).map(|n| (self.count * n, LimitKind::Thrust));
        let modelled = self.inputs.rotor.max_thrust_n(inflow, fluid);
        let modelled = modelled.map(|n| (self.count * n, LimitKind::RotorThrust));
        let mut bounds: Vec<_> = declared.into_iter().chain(modelled).collect();
        for kind in [LimitKind::Power, LimitKind::Voltage, LimitKind::Current, LimitKind::WindingTemperature]
        {
            let of_kind = |at: &RotorSetOperation| at.drive_limits.of(kind);
            bounds.extend(self.drive_bound_n(rotor, inflow, fluid, of_kind).map(|n| (n, kind)));
        }
        Ok(bounds)
    }

    /// As [`Self::rotor_bound`], a stream or fluid outside the models refused.
    fn rotor_bound_checked(
        &self,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<Option<(f64, LimitKind)>, VehicleError> {
        if let Err(error @ RotorError::OutOfRange(_)) = self.inputs.rotor.operate(0.0, inflow, fluid) {
            return Err(error.into());
        }
        Ok(self.rotor_bound(inflow, fluid))
    }

    fn drive_is_unbounded(&self) -> bool {
        matches!(self.inputs.drive, Drive::Efficiency(drive) if drive.max_shaft_w.is_none())
    }

    /// Thrust at which a limit of the drive is used up, N, if that is below `rotor`, the largest thrust of the rotor.
    fn drive_bound_n(
        &self,
        rotor: Option<(f64, LimitKind)>,
        inflow: Inflow,
        fluid: &Fluid,
        limit: impl Fn(&RotorSetOperation) -> Option<Limit>,
    ) -> Option<f64> {
        // A thrust below what the rotor can make, because its pitch range begins above it, counts as unloaded.
        let used = |thrust_n: f64| match self.operate(thrust_n, inflow, fluid) {
            Ok(at) => limit(&at).map(|l| l.used_ratio),
            Err(VehicleError::ThrustShort { .. }) => Some(f64::MAX),
            Err(_) => Some(0.0),
        };
        let high_n = match rotor {
            // Just below its largest thrust, where rounding does not make the rotor refuse.
            Some((rotor_n, _)) => {
                let high_n = (1.0 - 1e-6) * rotor_n;
                (used(high_n)? > 1.0).then_some(high_n)?
            }
            None => (0..30)
                .map(|i| self.count * f64::from(i).exp2())
                .find(|n| used(*n).is_some_and(|u| u > 1.0))?,
        };
        Some(self.used_up_n(high_n, |thrust_n| used(thrust_n).unwrap_or(0.0)))
    }

    /// The thrust at which `used` is 1, below `high_n` where it is more: secant steps in the logarithms of both, in which every
    /// limit is nearly a straight line, inside what is known to lie on either side; at most 60. 0 if it is more than 1
    /// even without thrust.
    fn used_up_n(&self, high_n: f64, used: impl Fn(f64) -> f64) -> f64 {
        if used(0.0) >= 1.0 {
            return 0.0;
        }
        let settled = if self.tells_thrust_quickly() { 1e-12 } else { 1e-8 };
        let excess = |x: f64| used(x.exp()).max(1e-12).ln();
        let (mut x_before, mut high) = (high_n.ln(), high_n.ln());
        let mut low = high - 40.0;
        let mut f_before = excess(x_before);
        let mut x = x_before - f_before.clamp(1e-3, 5.0);
        for _ in 0..60 {
            let f = excess(x);
            if f > 0.0 {
                high = x
            } else {
                low = x
            }
            let slope = (f - f_before) / (x - x_before);
            let mut next = if slope > 0.05 { x - f / slope } else { 0.5 * (low.max(high - 10.0) + high) };
            if !(next > low && next < high) {
                next = if low > high_n.ln() - 40.0 { 0.5 * (low + high) } else { high - 5.0 };
            }
            if (next - x).abs() <= settled || f == 0.0 {
                return x.exp();
            }
            (x_before, f_before, x) = (x, f, next);
        }
        low.exp()
    }
}
