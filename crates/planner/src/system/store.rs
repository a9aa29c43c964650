//! The battery on board.

use beamstay_electrical::battery::{Battery, BatterySpec, OpenCircuitCurve};

use crate::{
    error::{At, PlanError},
    scenario::{self, Limits},
};

/// Builds the battery; its floor is the larger of what the depth of discharge and the reserve leave.
pub(super) fn battery(spec: &scenario::Battery, limits: &Limits) -> Result<Battery, PlanError> {
    let curve = OpenCircuitCurve::polymer();
    let energy_j = f64::from(spec.series_count) * curve.integral_v(0.0, 1.0) * 3600.0 * spec.capacity_ah;
    let polymer = BatterySpec::polymer(energy_j, spec.series_count);
    Battery::new(BatterySpec {
        cell_resistance_ohm: 1e-3 * spec.cell_resistance_mohm,
        floor_ratio: (1.0 - spec.depth_of_discharge_ratio).max(limits.battery_untouched_ratio),
        max_discharge_per_h: spec.max_c_rate_count,
        charge_efficiency_ratio: spec.charge_efficiency_ratio,
        specific_energy_j_per_kg: 3600.0 * spec.specific_energy_wh_per_kg,
        ..polymer
    })
    .at("/battery")
}
