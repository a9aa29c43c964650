//! `beamstay point`.

use super::{End, failed, parts::compute, print, print_json};
use crate::{
    args::{Format, PointArguments},
    messages::wants_colour,
    text::point::{Style, explain, render},
};

/// Computes and prints the operating point.
pub fn run(arguments: &PointArguments) -> End {
    let format = arguments.scenario.format;
    let report = match compute(&arguments.scenario) {
        Ok(report) => report,
        Err(end) => return end,
    };
    let end = match format {
        Format::Json => match serde_json::to_value(&report) {
            Ok(value) => print_json(&value),
            Err(error) => failed(format, &error.to_string()),
        },
        Format::Text => {
            let style = Style { colour: wants_colour(&std::io::stdout()) };
            let mut text = render(&report, style);
            if arguments.explain {
                text = format!("{text}\n\n{}", explain(&report, style));
            }
            print(&text)
        }
    };
    if report.point.feasible { end } else { end.or(End::NotFeasible) }
}
