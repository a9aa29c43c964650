//! One part of the point as text.

use beamstay_planner::{
    PointReport, light_detail::DetailRow, limit::LimitCode, rotors::RotorStates, tether_detail::TetherDetail,
};
use beamstay_report::number::significant;

use super::point::{Style, cautions, forces, head, light_rows, limit_rows, power, section};
use super::{rotors, table::aligned, tether};

/// Limits of the tether.
pub const TETHER: &[LimitCode] = &[
    LimitCode::DrumTension,
    LimitCode::TetherReach,
    LimitCode::BreakingLoad,
    LimitCode::Strain,
    LimitCode::GlassStress,
    LimitCode::GlassStressInGust,
    LimitCode::GlassStressOnDrum,
    LimitCode::BendRadius,
    LimitCode::DrumElevation,
    LimitCode::Clearance,
    LimitCode::LineOnGround,
    LimitCode::LineLength,
    LimitCode::DrumCapacity,
];

/// Limits of rotors and vehicle.
pub const ROTOR: &[LimitCode] = &[
    LimitCode::ThrustReserve,
    LimitCode::Tilt,
    LimitCode::TiltInGust,
    LimitCode::Thrust,
    LimitCode::MotorPower,
    LimitCode::BusVoltage,
    LimitCode::MotorCurrent,
    LimitCode::WindingTemperature,
    LimitCode::RotorsLost,
    LimitCode::DescentRate,
    LimitCode::LoadFactor,
    LimitCode::AxialInflow,
    LimitCode::ShaftPower,
    LimitCode::Stall,
    LimitCode::Headway,
];

/// Limits of the light.
pub const LIGHT: &[LimitCode] = &[
    LimitCode::Power,
    LimitCode::PowerInGust,
    LimitCode::LaserPower,
    LimitCode::LightPeak,
    LimitCode::CellTemperature,
    LimitCode::CellIrradiance,
    LimitCode::BandEdge,
    LimitCode::SpillOver,
    LimitCode::ConverterPower,
    LimitCode::DrumTemperature,
    LimitCode::RamanThreshold,
    LimitCode::BrillouinThreshold,
    LimitCode::DataLinkLoss,
    LimitCode::DataLinkLength,
];

/// Whether every limit of a part holds.
pub fn holds(report: &PointReport, codes: &[LimitCode]) -> bool {
    report.point.limits.iter().all(|row| row.ok || !codes.contains(&row.code))
}

/// The tether alone.
pub fn tether_text(report: &PointReport, detail: Option<&TetherDetail>, style: Style) -> String {
    let body = match &report.point.tether {
        Some(_) => forces(&report.point, true, false),
        None => "  no tether hangs here".into(),
    };
    let mut parts = vec![section(style, "Tether", body)];
    parts.extend(detail.into_iter().flat_map(|detail| tether::parts(detail, &report.point, style)));
    join(report, style, parts, TETHER)
}

/// The rotors and the vehicle alone.
pub fn rotor_text(report: &PointReport, states: Option<&RotorStates>, style: Style) -> String {
    let body = match &report.point.vehicle {
        Some(_) => forces(&report.point, false, true),
        None => "  no balance of forces".into(),
    };
    let mut parts = vec![section(style, "Vehicle", body)];
    if let Some(rows) = rotors::one_rotor(&report.point) {
        parts.push(section(style, "Rotors", rows));
    }
    if let Some(states) = states {
        parts.push(section(style, "Largest thrust in the gust, by each bound alone", rotors::bounds(states)));
        parts.push(section(style, "Launch: hover in calm air, the tether slack", rotors::launch(states)));
        parts.push(section(style, "Descent in calm air, the tether slack", rotors::descent(states)));
        parts.push(section(style, "Rotors lost, in the gust", rotors::lost(states)));
    }
    join(report, style, parts, ROTOR)
}

/// The light alone.
pub fn light_text(report: &PointReport, detail: &[DetailRow], style: Style) -> String {
    let parts = match &report.point.light {
        Some(light) => {
            let mut parts = vec![
                section(style, "Light", light_rows(light)),
                section(style, "Power, from the wall to the air", power(&report.point)),
            ];
            if !detail.is_empty() {
                parts.push(section(style, "Stage by stage", detail_rows(detail)));
            }
            parts
        }
        None => vec!["  no light in this plan, or no demand to meet".into()],
    };
    join(report, style, parts, LIGHT)
}

/// What each model says, part by part; notes in a line of their own.
fn detail_rows(detail: &[DetailRow]) -> String {
    let mut rows = Vec::new();
    let mut part = "";
    for row in detail {
        if part != row.part {
            part = row.part;
            rows.push(vec![part.to_owned()]);
        }
        rows.push(vec![
            format!("  {}", row.name),
            significant(row.value, 4),
            row.unit.to_owned(),
            row.note.to_owned(),
        ]);
    }
    aligned(&[], rows, &[0, 2, 3])
}

fn join(report: &PointReport, style: Style, mut parts: Vec<String>, codes: &[LimitCode]) -> String {
    parts.insert(0, head(report));
    let rows: Vec<_> = report.point.limits.iter().filter(|row| codes.contains(&row.code)).collect();
    parts.push(section(style, "Limits, the tightest first", limit_rows(&rows, style)));
    parts.push(section(style, "Cautions", cautions(&report.cautions)));
    parts.push(format!("scenario {}   beamstay {}", report.digest, report.version));
    parts.join("\n\n")
}
