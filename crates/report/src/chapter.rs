//! Chapters of the report, one module for each question.

mod alternatives;
mod change;
mod flight;
mod hazard;
mod method;
mod receiver;
mod where_to;
mod why;

use beamstay_planner::{
    PointReport,
    limit::{LimitCode, LimitRow, Sense, tightest},
    margin_grid::MarginGrid,
};

pub use alternatives::alternatives;
pub use change::{change, sure};
pub use flight::{endurance, light_loss};
pub use hazard::hazard;
pub use method::method;
pub use receiver::receiver;
pub use where_to::region;
pub use why::why;

use crate::{number::quantity, page::margin_words};

/// The verdict in a sentence or two.
pub fn verdict_words(report: &PointReport) -> String {
    let point = &report.point;
    let word = if point.feasible { "Closes" } else { "Does not close" };
    let margin = point.margin_w.map_or_else(String::new, |m| format!(": {}", margin_words(m)));
    let needs = match (point.available_w, point.demand_w) {
        (Some(available), Some(demand)) => {
            format!(" of {} for a demand of {}", quantity(available, "W"), quantity(demand, "W"))
        }
        _ => String::new(),
    };
    let broken: Vec<&LimitRow> = point.limits.iter().filter(|row| !row.ok).collect();
    let limits = match (broken.as_slice(), tightest(&point.limits)) {
        ([], Some(row)) => format!(". Nearest limit: {}", comparison(row)),
        ([], None) => String::new(),
        (rows, _) => {
            format!(". Broken: {}", rows.iter().map(|row| comparison(row)).collect::<Vec<_>>().join("; "))
        }
    };
    format!("{word}{margin}{needs}{limits}.")
}

/// A limit with what is and what is allowed.
pub(crate) fn comparison(row: &LimitRow) -> String {
    let sense = match row.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    format!(
        "{}, {} where {sense} {} is allowed",
        row.code.words().name,
        quantity(row.value, row.unit),
        quantity(row.limit, row.unit)
    )
}

/// Names of the limits that bind somewhere on a grid, and the place of one in that list, -1 for none.
pub(crate) fn what_if_limits(grid: &MarginGrid) -> (Vec<&'static str>, impl Fn(Option<LimitCode>) -> i32) {
    let mut codes: Vec<LimitCode> = grid.points.iter().filter_map(|point| point.binding).collect();
    codes.sort_unstable();
    codes.dedup();
    let names = codes.iter().map(|code| code.words().name).collect();
    let place = move |code: Option<LimitCode>| {
        code.and_then(|code| codes.iter().position(|c| *c == code)).map_or(-1, |place| place as i32)
    };
    (names, place)
}
