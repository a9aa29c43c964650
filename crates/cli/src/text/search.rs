//! The best plans as text.

use beamstay_planner::search::{Answer, Binding, SearchReport};
use beamstay_report::number::{quantity, signed_percent, significant, with_unit};

use super::table::{aligned, folded};

const WIDTH: usize = 80;

/// All answers of a search.
pub fn search_text(report: &SearchReport) -> String {
    let mut parts = vec![folded(&report.provenance.title, WIDTH, "  ")];
    parts.extend(report.answers.iter().map(answer_text));
    parts.push(format!(
        "scenario {}, beamstay {}; planning figures only",
        report.provenance.digest, report.provenance.version
    ));
    parts.join("\n\n")
}

fn answer_text(answer: &Answer) -> String {
    let value = answer.value.map_or("not known".to_owned(), |v| quantity(v, &answer.goal_unit));
    let head = if answer.feasible {
        format!("{}: {value}, every limit holds", answer.goal)
    } else {
        let limit = answer.tightest.map_or("a limit", |code| code.words().name);
        format!("{}: NOTHING CLOSES. Least infeasible point, held up by {limit}", answer.goal)
    };
    let mut lines = vec![folded(&head, WIDTH, "  "), free_table(answer)];
    if answer.feasible {
        lines.push(held_back(answer));
    }
    let paid_out = answer.paid_out_m.map_or(String::new(), |m| format!("paid out {}; ", quantity(m, "m")));
    let margin = signed_percent(answer.margin_ratio);
    let limit = answer.tightest.map_or(String::new(), |code| format!(" ({})", code.words().name));
    lines.push(indented(&format!("{paid_out}least margin {margin}{limit}"), 2));
    lines.push(indented(
        &format!(
            "{} points computed, {} of {} local searches ended here, seed {}",
            answer.evaluations_count, answer.agreeing_count, answer.starts_count, answer.seed
        ),
        2,
    ));
    lines.join("\n")
}

/// Text folded under an indent of its own.
fn indented(text: &str, spaces: usize) -> String {
    let indent = " ".repeat(spaces);
    format!("{indent}{}", folded(text, WIDTH - spaces, &format!("{indent}  ")))
}

fn free_table(answer: &Answer) -> String {
    let rows = answer
        .free
        .iter()
        .map(|free| {
            let number = |v: f64| significant(v, 4);
            vec![
                free.pointer.clone(),
                with_unit(&number(free.value), &free.unit),
                format!("{} to {}", number(free.lo), number(free.hi)),
                free.within_one_percent
                    .map_or("-".into(), |(lo, hi)| format!("{} to {}", number(lo), number(hi))),
            ]
        })
        .collect();
    aligned(&["free input", "value", "searched", "99 % of the goal"], rows, &[0])
}

fn held_back(answer: &Answer) -> String {
    if answer.interior {
        return "  Nothing holds it back: the best point lies inside all limits and bounds.".into();
    }
    let mut lines = vec!["  Held back by, and what giving way by 1 % is worth:".to_owned()];
    for binding in &answer.binding {
        let gain = match binding.gain_per_percent {
            Some(gain) => quantity(gain, &answer.goal_unit),
            None => "cannot give way by a share: it is 0 or at the end of its range".to_owned(),
        };
        lines.push(indented(&format!("{}: {gain}", what_binds(binding)), 4));
    }
    lines.join("\n")
}

fn what_binds(binding: &Binding) -> String {
    match (&binding.limit, &binding.bound) {
        (Some(code), _) => code.words().name.to_owned(),
        (None, Some(bound)) => {
            let side = if bound.upper { "upper" } else { "lower" };
            format!("{side} bound {} of {}", significant(bound.value, 4), bound.pointer)
        }
        (None, None) => "unknown".into(),
    }
}
