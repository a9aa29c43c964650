//! Limits of the vehicle, as rows.

use beamstay_numerics::constants::ZERO_CELSIUS_K;
use beamstay_vehicle::{Limit, LimitKind};

use super::{Balanced, Craft};
use crate::limit::{LimitCode, LimitRow};

/// Air that comes from below by no more than this is called still, m/s: rounding of the balance of forces.
const STILL_AIR_M_S: f64 = 1e-9;

impl Craft {
    /// Limits of the vehicle in mean wind and, where it has a balance there, in the gust.
    pub fn limits(
        &self,
        mean: &Balanced,
        gust: Option<&Balanced>,
        thrust_reserve_ratio: f64,
        rows: &mut Vec<LimitRow>,
    ) {
        if let Some(gust) = gust {
            rows.extend(gust.drive_limits.iter().filter_map(|limit| drive_row(&limit)));
            if let Some(thrust) = gust.thrust_limit {
                rows.push(LimitRow::at_most(LimitCode::Thrust, thrust.value, thrust.bound, "N"));
            }
            if let Some(wing) = gust.wing_limits {
                let (stall, least) = (wing.stall_ratio, wing.min_stall_ratio);
                rows.push(LimitRow::at_least(LimitCode::Stall, stall, least, ""));
                let (factor, most) = (wing.load_factor, wing.max_load_factor);
                rows.push(LimitRow::at_most(LimitCode::LoadFactor, factor, most, ""));
                let bank_deg = gust.point.tilt_deg;
                rows.push(LimitRow::at_most(LimitCode::TiltInGust, bank_deg, gust.max_tilt_deg, "°"));
            }
        }
        if let Self::Multirotor(_) = self {
            rotor_limits(mean, gust, thrust_reserve_ratio, rows);
        }
    }
}

/// The row for a limit of motor or controller; none for a limit of another kind.
pub(super) fn drive_row(limit: &Limit) -> Option<LimitRow> {
    let (value, bound) = (limit.value, limit.bound);
    Some(match limit.kind {
        LimitKind::Power => LimitRow::at_most(LimitCode::MotorPower, value, bound, "W"),
        LimitKind::Voltage => LimitRow::at_most(LimitCode::BusVoltage, value, bound, "V"),
        LimitKind::Current => LimitRow::at_most(LimitCode::MotorCurrent, value, bound, "A"),
        LimitKind::WindingTemperature => LimitRow::at_most(
            LimitCode::WindingTemperature,
            value - ZERO_CELSIUS_K,
            bound - ZERO_CELSIUS_K,
            "°C",
        ),
        _ => return None,
    })
}

fn rotor_limits(
    mean: &Balanced,
    gust: Option<&Balanced>,
    thrust_reserve_ratio: f64,
    rows: &mut Vec<LimitRow>,
) {
    if let Some(gust) = gust {
        let reserve = gust.point.thrust_reserve_ratio.unwrap_or(f64::MAX);
        rows.push(LimitRow::at_least(LimitCode::ThrustReserve, reserve, thrust_reserve_ratio, ""));
    }
    rows.push(LimitRow::at_most(LimitCode::Tilt, mean.point.tilt_deg, mean.max_tilt_deg, "°"));
    if let Some(gust) = gust {
        rows.push(LimitRow::at_most(LimitCode::TiltInGust, gust.point.tilt_deg, gust.max_tilt_deg, "°"));
    }
    let axial_m_s = mean.point.axial_inflow_m_s;
    let axial_m_s = if axial_m_s.abs() < STILL_AIR_M_S { 0.0 } else { axial_m_s };
    rows.push(LimitRow::at_least(LimitCode::AxialInflow, axial_m_s, 0.0, "m/s"));
    rows.push(LimitRow::at_least(LimitCode::ShaftPower, mean.point.shaft_w, 0.0, "W"));
}
