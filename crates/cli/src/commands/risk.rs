//! `beamstay risk`.

use beamstay_planner::risk::{RiskOptions, risk};
use beamstay_report::figure::risk::risk_figure;

use super::{End, ready::Ready};
use crate::{args::RiskArguments, text::risk::risk_text};

/// How sure the plan is.
pub fn run(arguments: &RiskArguments) -> Result<End, End> {
    let options =
        RiskOptions { draws_count: arguments.draws, samples_count: arguments.samples, seed: arguments.seed };
    let part = &arguments.study.part;
    let ready = Ready::read(&part.scenario, part.format)?;
    let report = ready
        .study(&arguments.study.threads, |document, loaded, watch| risk(document, loaded, &options, watch))?;
    ready.draw(&arguments.figure, || risk_figure(&report))?;
    Ok(ready.show(&report, |style| risk_text(&report, style)))
}
