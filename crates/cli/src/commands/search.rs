//! `beamstay search`.

use beamstay_planner::search::{default_questions, question, search_report};

use super::{End, failed, print, print_json, ready::read};
use crate::{
    args::{Format, SearchArguments},
    text::search::search_text,
};

/// Searches and prints the best plans.
pub fn run(arguments: &SearchArguments) -> End {
    let scenario = &arguments.study.scenario;
    let format = scenario.format;
    let ready = match read(&scenario.file, &scenario.assignments, format) {
        Ok(ready) => ready,
        Err(end) => return end,
    };
    let questions = match &arguments.goal {
        Some(goal) => question(&ready.loaded, goal, &arguments.free, arguments.seed).map(|q| vec![q]),
        None => default_questions(&ready.loaded, arguments.seed).map_err(|fault| vec![*fault]),
    };
    let questions = match questions {
        Ok(questions) => questions,
        Err(faults) => return ready.refuse(faults),
    };
    let report = match ready.compute(arguments.study.threads, |watch| {
        search_report(&ready.document, &ready.loaded, &questions, watch)
    }) {
        Ok(report) => report,
        Err(end) => return end,
    };
    let end = match format {
        Format::Json => match serde_json::to_value(&report) {
            Ok(value) => print_json(&value),
            Err(error) => failed(format, &error.to_string()),
        },
        Format::Text => print(&search_text(&report)),
    };
    let feasible = report.answers.iter().any(|answer| answer.feasible);
    if end == End::Done && !feasible { End::NotFeasible } else { end }
}
