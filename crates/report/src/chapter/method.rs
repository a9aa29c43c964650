//! How the numbers came about: models, sources, defaults, closure.

use beamstay_planner::{
    PointReport,
    formula::{Formula, Standing},
};

use crate::{
    content::{Block, Cell, Chapter, Table},
    number::significant,
};

/// The chapter; `left_out` are the parts that the scenario does not allow, each with the reason.
pub fn method(report: &PointReport, left_out: &[String]) -> Chapter {
    let closure = |ratio: Option<f64>| ratio.map_or_else(|| "not computed".to_owned(), |r| significant(r, 2));
    let models = report
        .formulas
        .iter()
        .map(|f| vec![Cell::text(f.model), Cell::text(f.source), Cell::text(standing(f))])
        .collect();
    let defaults = report
        .defaults_used
        .iter()
        .map(|d| {
            let value = crate::number::with_unit(d.value.to_string().trim_matches('"'), &d.unit);
            vec![Cell::text(d.pointer.clone()), Cell::text(value), Cell::text(d.meaning.clone())]
        })
        .collect();
    let mut blocks = vec![
        Block::Paragraph(format!(
            "Tether, vehicle, light and heat are solved together, in the mean wind and in the gust. Powers that enter less powers that leave: {} of what enters. Residual of the forces: {}.",
            closure(report.point.energy_closure_ratio),
            closure(report.point.force_closure_ratio)
        )),
        Block::Table(Table {
            stem: "models",
            caption: "Models and their sources".into(),
            header: ["model", "source", "held against"].map(str::to_owned).to_vec(),
            rows: models,
        }),
        Block::Details {
            summary: "Defaults that the scenario left to the program".into(),
            blocks: vec![Block::Table(Table {
                stem: "defaults",
                caption: "Defaults used".into(),
                header: ["where", "value", "what it is and where it comes from"].map(str::to_owned).to_vec(),
                rows: defaults,
            })],
        },
    ];
    if !left_out.is_empty() {
        blocks.push(Block::Paragraph("Not part of this report, with the reason:".into()));
        blocks.push(Block::List(left_out.to_vec()));
    }
    Chapter { id: "method", heading: "Method, sources and defaults".into(), gist: None, blocks }
}

/// What a model is held against, in words.
fn standing(formula: &Formula) -> &'static str {
    match formula.standing {
        Standing::Checked => "published values",
        Standing::Given => "nothing: it is what the scenario says",
        _ => "UNVALIDATED: no published value was found",
    }
}
