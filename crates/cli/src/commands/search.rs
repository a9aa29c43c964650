//! `beamstay search`.

use beamstay_planner::search::{default_questions, question, search_report};

use super::{End, ready::Ready};
use crate::{args::SearchArguments, text::search::search_text};

/// Searches and prints the best plans.
pub fn run(arguments: &SearchArguments) -> Result<End, End> {
    let part = &arguments.study.part;
    let ready = Ready::read(&part.scenario, part.format)?;
    let questions = match &arguments.goal {
        Some(goal) => question(&ready.loaded, goal, &arguments.free, arguments.seed).map(|q| vec![q]),
        None => default_questions(&ready.loaded, arguments.seed).map_err(|fault| vec![*fault]),
    };
    let questions = questions.map_err(|faults| ready.refuse(faults))?;
    let report = ready.study(&arguments.study.threads, |document, loaded, watch| {
        search_report(document, loaded, &questions, watch)
    })?;
    let any = report.answers.iter().any(|answer| answer.feasible);
    Ok(ready.show(&report, |_| search_text(&report)).if_closes(any))
}
