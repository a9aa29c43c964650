//! `docs/validation.md`.

use std::collections::BTreeMap;

use super::{measured::DATASETS, row};
use crate::{
    case::{Case, Status, Tolerance},
    models::compute,
};

/// The page.
pub fn page(cases: &[Case]) -> String {
    let mut text = format!(
        "# Validation\n\nGenerated from `tests/cases/*.json`; do not edit. {} values from outside the project, each a test of its \
         own name. \"seen\": read in a copy of the source. \"computed\": worked out with the general-purpose library named. \
         \"from memory\": recalled, the source not seen. \"common practice\": a fact of the trade, no source. Differences are \
         rounded up to one digit, so that they do not depend on the machine.\n",
        cases.len()
    );
    figures(&mut text);
    let mut areas: BTreeMap<&str, Vec<&Case>> = BTreeMap::new();
    for case in cases {
        areas.entry(case.model.split('.').next().unwrap_or_default()).or_default().push(case);
    }
    for (area, cases) in areas {
        text.push_str(&format!("\n## {area}: {} checks\n\n", cases.len()));
        row(
            &mut text,
            &["check", "model", "computed", "published", "difference", "allowed", "status", "source"],
        );
        row(&mut text, &["---"; 8]);
        for case in cases {
            let published = format!("{} {}", case.value, case.unit);
            row(
                &mut text,
                &[
                    &case.id,
                    &case.model,
                    &computed(case),
                    published.trim(),
                    &difference(case),
                    &allowed(case),
                    status(case.status),
                    &case.source,
                ],
            );
        }
    }
    text
}

/// The sets of readings, each with its figure.
fn figures(text: &mut String) {
    text.push_str(
        "\n## Readings and the models\n\nA mark is a published value, the upright line through it what its check allows, the line or the crosses \
         what the model says.\n",
    );
    for set in &DATASETS {
        let file = set.path.trim_start_matches("docs/");
        text.push_str(&format!(
            "\n### {}\n\nSource: {}.\n\n![{}]({file})\n",
            set.title, set.source, set.title
        ));
    }
    let sweep = "Measured propellers over the advance ratio, with geometry and blade elements";
    text.push_str(&format!("\n### {sweep}\n\n![{sweep}](figures/propellers-advance-ratio.svg)\n"));
}

fn computed(case: &Case) -> String {
    compute(&case.model, &case.inputs).map_or_else(|| "no model".into(), |value| format!("{value:.3e}"))
}

fn difference(case: &Case) -> String {
    let Some(computed) = compute(&case.model, &case.inputs) else { return "no model".into() };
    match case.tolerance {
        Tolerance::Relative(_) if case.value != 0.0 => {
            rounded_up((computed - case.value).abs() / case.value.abs())
        }
        Tolerance::Between(..) => format!("model {}", significant(computed)),
        _ => format!("{} {}", rounded_up((computed - case.value).abs()), case.unit).trim().to_owned(),
    }
}

fn allowed(case: &Case) -> String {
    match case.tolerance {
        Tolerance::Relative(ratio) => format!("{ratio:e}"),
        Tolerance::Absolute(difference) => format!("{difference} {}", case.unit).trim().to_owned(),
        Tolerance::Between(lo, hi) => format!("{lo} to {hi}"),
    }
}

/// The next power of ten: differences near rounding must not make the page depend on the machine.
fn rounded_up(difference: f64) -> String {
    if difference < 1e-12 {
        return "below 1e-12".into();
    }
    format!("below 1e{}", difference.log10().ceil() as i32)
}

fn significant(value: f64) -> String {
    format!("{value:.2e}")
}

const fn status(status: Status) -> &'static str {
    match status {
        Status::Seen => "seen",
        Status::Computed => "computed",
        Status::FromMemory => "from memory",
        Status::CommonPracticeNoSource => "common practice",
    }
}
