//! Which input moves a limit most: each candidate is changed by one percent and the point computed again.

use std::fmt;

use serde::Serialize;
use serde_json::Value;

use crate::{
    document::Document,
    from_value,
    limit::{LimitCode, LimitRow, tightest},
    operate::Solved,
    point::OperatingPoint,
    system::System,
};

/// Relative change of an input.
const STEP_RATIO: f64 = 0.01;

/// Inputs that a planner can change, by JSON Pointer. Those that a scenario does not have are passed over.
const CANDIDATES: &[&str] = &[
    "/station/height_m",
    "/station/downwind_m",
    "/station/winch/drum_tension/drum_tension_n",
    "/station/winch/paid_out/paid_out_m",
    "/payload/mass_kg",
    "/ground/laser/rated_w",
    "/ground/laser/wavelength_nm",
    "/ground/laser/linewidth_nm",
    "/ground/drum/core_diameter_mm",
    "/ground/drum/width_mm",
    "/delivery/fiber/total_length_m",
    "/delivery/fiber/core_diameter_um",
    "/delivery/fiber/cladding_diameter_um",
    "/delivery/fiber/tether/construction/measured/diameter_mm",
    "/delivery/fiber/tether/construction/measured/breaking_load_n",
    "/delivery/fiber/tether/construction/measured/axial_stiffness_n",
    "/delivery/copper/voltage_v",
    "/delivery/copper/conductor_area_mm2",
    "/receiver/cells/area_cm2",
    "/receiver/cells/series_count",
    "/receiver/sink/fins_count",
    "/receiver/sink/height_mm",
    "/receiver/sink/length_mm",
    "/receiver/converter/rated_w",
    "/vehicle/multirotor/rotor/disk/diameter_m",
    "/vehicle/multirotor/rotor/blade/diameter_m",
    "/vehicle/multirotor/rotor/blade/max_speed_rpm",
    "/vehicle/multirotor/drive/motor/bus_v",
    "/vehicle/multirotor/drive/motor/max_current_a",
    "/vehicle/multirotor/max_thrust_n",
    "/vehicle/multirotor/empty_mass_kg",
    "/vehicle/fixed_wing/loiter_radius_m",
    "/vehicle/fixed_wing/wing_area_m2",
    "/limits/sheave_radius_mm",
];

/// The input that moves a limit most.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// Which limit.
    pub limit: LimitCode,
    /// Which input.
    pub pointer: String,
    /// Whether more of it helps.
    pub more_helps: bool,
    /// Change of the margin ratio for one percent of the input.
    pub margin_ratio_per_percent: f64,
}

impl fmt::Display for Lever {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sense = if self.more_helps { "more" } else { "less" };
        write!(
            f,
            "{sense} {} (1 % moves this margin by {:.2} points)",
            self.pointer,
            100.0 * self.margin_ratio_per_percent
        )
    }
}

/// An input that was changed, by how many percent, and the point with it.
pub(crate) type Changed = (&'static str, f64, OperatingPoint);

/// The strongest lever for each broken limit, or for the tightest if none is broken.
pub(crate) fn levers(changed: &[Changed], point: &OperatingPoint) -> Vec<Lever> {
    let mut targets: Vec<&LimitRow> = point.limits.iter().filter(|row| !row.ok).collect();
    if targets.is_empty() {
        targets.extend(tightest(&point.limits));
    }
    targets.into_iter().filter_map(|row| strongest(row, changed)).collect()
}

/// The points with one candidate each changed by a percent (a count by one), each from the shapes of the one that is given.
pub(crate) fn changed_points(document: &Document, solved: &Solved) -> Vec<Changed> {
    // Where no tether hangs, nothing behind it is computed, and nothing but place and line can change that.
    let hangs_not = solved.point.hangs_not();
    let counts =
        |pointer: &&&str| !hangs_not || pointer.starts_with("/station/") || pointer.contains("/tether/");
    CANDIDATES.iter().filter(counts).filter_map(|pointer| changed_point(document, pointer, solved)).collect()
}

/// The point with one input changed by a percent (a count by one), and by how many percent.
fn changed_point(document: &Document, pointer: &'static str, near: &Solved) -> Option<Changed> {
    let value = document.value.pointer(pointer)?;
    // A count says so in its name; a measure may be written as a whole number too.
    let (new, percent) = match value.as_u64().filter(|_| pointer.ends_with("_count")) {
        Some(count) => (Value::from(count + 1), 100.0 / count.max(1) as f64),
        None => (Value::from(value.as_f64()? * (1.0 + STEP_RATIO)), 100.0 * STEP_RATIO),
    };
    let mut changed = document.value.clone();
    *changed.pointer_mut(pointer)? = new;
    let scenario = from_value(&changed).ok()?;
    let system = System::new(&scenario).ok()?;
    let place = system.place(&scenario.station).ok()?;
    Some((pointer, percent, system.solve(&place, Some(near)).ok()?.point))
}

fn strongest(row: &LimitRow, changed: &[Changed]) -> Option<Lever> {
    changed
        .iter()
        .filter_map(|(pointer, percent, point)| {
            let after = point.limits.iter().find(|r| r.code == row.code)?;
            let gain = (after.closeness() - row.closeness()) / percent;
            Some(Lever {
                limit: row.code,
                pointer: (*pointer).to_owned(),
                more_helps: gain > 0.0,
                margin_ratio_per_percent: gain.abs(),
            })
        })
        .filter(|lever| lever.margin_ratio_per_percent.is_finite() && lever.margin_ratio_per_percent > 1e-7)
        .max_by(|a, b| a.margin_ratio_per_percent.total_cmp(&b.margin_ratio_per_percent))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load;

    /// The point of the breakwater with a payload, and with a number changed.
    fn point(payload_kg: f64, change: Option<(&str, f64)>) -> OperatingPoint {
        let scenario = load(&document(payload_kg, change)).unwrap().scenario;
        let system = System::new(&scenario).unwrap();
        system.operate(&system.place(&scenario.station).unwrap()).unwrap()
    }

    fn document(payload_kg: f64, change: Option<(&str, f64)>) -> Document {
        let text = include_str!("../../../scenarios/breakwater-lookout.json");
        let mut document = Document::parse(text).unwrap();
        document.set("/payload/mass_kg", payload_kg.into()).unwrap();
        if let Some((pointer, ratio)) = change {
            let value = document.value.pointer(pointer).unwrap().as_f64().unwrap() * ratio;
            document.set(pointer, value.into()).unwrap();
        }
        document
    }

    fn levers_of(payload_kg: f64) -> (OperatingPoint, Vec<Lever>) {
        let document = document(payload_kg, None);
        let scenario = load(&document).unwrap().scenario;
        let system = System::new(&scenario).unwrap();
        let solved = system.solve(&system.place(&scenario.station).unwrap(), None).unwrap();
        let levers = levers(&changed_points(&document, &solved), &solved.point);
        (solved.point, levers)
    }

    #[test]
    fn the_lever_of_each_broken_limit_moves_it_more_than_any_other_input_does() {
        let (stated, levers) = levers_of(2.4);
        let broken: Vec<LimitCode> = stated.limits.iter().filter(|row| !row.ok).map(|row| row.code).collect();
        assert!(!broken.is_empty());
        assert_eq!(levers.iter().map(|lever| lever.limit).collect::<Vec<_>>(), broken);
        let closeness = |point: &OperatingPoint, code: LimitCode| {
            point.limits.iter().find(|row| row.code == code).unwrap().closeness()
        };
        let complete = document(2.4, None);
        for lever in &levers {
            let before = closeness(&stated, lever.limit);
            let mut tried = 0;
            for pointer in CANDIDATES {
                if complete.value.pointer(pointer).is_none() || pointer.ends_with("_count") {
                    continue;
                }
                tried += 1;
                let gain = closeness(&point(2.4, Some((pointer, 1.01))), lever.limit) - before;
                assert!(
                    gain.abs() <= lever.margin_ratio_per_percent * (1.0 + 1e-4),
                    "{pointer} {gain} {lever:?}"
                );
                if *pointer == lever.pointer {
                    assert_eq!(gain > 0.0, lever.more_helps, "{lever:?}");
                    assert!(
                        (gain.abs() / lever.margin_ratio_per_percent - 1.0).abs() < 1e-4,
                        "{gain} {lever:?}"
                    );
                }
            }
            assert!(tried > 10);
        }
    }

    #[test]
    fn where_nothing_is_broken_the_tightest_limit_has_a_lever() {
        let (stated, levers) = levers_of(0.9);
        assert!(stated.feasible);
        let tightest = tightest(&stated.limits).unwrap().code;
        assert_eq!(levers.iter().map(|lever| lever.limit).collect::<Vec<_>>(), [tightest]);
    }
}
