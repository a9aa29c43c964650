//! `beamstay point`.

use beamstay_planner::point_report;

use super::{End, ready::Ready};
use crate::{
    args::PointArguments,
    text::point::{explain, render},
};

/// Computes and prints the operating point.
pub fn run(arguments: &PointArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let report = ready.compute(point_report)?;
    let end = ready.show(&report, |style| {
        let text = render(&report, style);
        if arguments.explain { format!("{text}\n\n{}", explain(&report, style)) } else { text }
    });
    Ok(end.if_closes(report.point.feasible))
}
