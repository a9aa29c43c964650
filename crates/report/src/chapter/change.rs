//! What to change, and how sure a plan is.

use beamstay_planner::{
    limit::LimitCode,
    remedy::{DriftEnd, RemedyReport},
    risk::RiskReport,
};

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, risk::risk_figure},
};

/// Rows that stand open; the rest is in the files.
const SHOWN_COUNT: usize = 15;

/// What would close the plan, or how far it may drift.
pub fn change(report: &RemedyReport) -> Chapter {
    let mut blocks = Vec::new();
    if report.closes {
        blocks.push(Block::Paragraph(
            "How far each number alone may drift before the plan stops closing, the nearest end first. A number that is not listed may take any value that a scenario allows.".into(),
        ));
        blocks.push(Block::Table(drifts(report)));
    } else {
        blocks.push(Block::Paragraph(
            "The value at which the plan would close, for each number alone, the smallest change first. A change of the site is hope, and a change of a limit gives caution away.".into(),
        ));
        blocks.push(Block::Table(remedies(report)));
        if let Some(pair) = &report.pair {
            blocks.push(Block::Paragraph(format!(
                "Two changes together: {} to {} and {} to {}, {:.1} % of change in all.",
                pair.first.pointer,
                crate::number::with_unit(&pair.first_closes_at.to_string(), &pair.first.unit),
                pair.second.pointer,
                crate::number::with_unit(&pair.second_closes_at.to_string(), &pair.second.unit),
                100.0 * pair.change_ratio
            )));
        }
    }
    Chapter { id: "change", heading: "What to change".into(), gist: None, blocks }
}

fn remedies(report: &RemedyReport) -> Table {
    let rows = report
        .remedies
        .iter()
        .take(SHOWN_COUNT)
        .map(|row| {
            vec![
                Cell::text(row.lever.pointer.clone()),
                Cell::number(row.lever.from, &row.lever.unit),
                Cell::text(crate::number::with_unit(&row.closes_at.to_string(), &row.lever.unit)),
                Cell::Margin(row.change_ratio),
            ]
        })
        .collect();
    Table {
        stem: "remedies",
        caption: "One change that closes the plan".into(),
        header: ["number", "now", "closes at", "change"].map(str::to_owned).to_vec(),
        rows,
    }
}

fn drifts(report: &RemedyReport) -> Table {
    let end =
        |end: &Option<DriftEnd>, unit: &str| end.map_or(Cell::Empty, |e| Cell::number(e.closes_to, unit));
    let limit = |end: &Option<DriftEnd>| end.map_or(Cell::Empty, |e| Cell::text(limit_words(e.limit)));
    let rows = report
        .drifts
        .iter()
        .filter(|row| row.down.is_some() || row.up.is_some())
        .take(SHOWN_COUNT)
        .map(|row| {
            let unit = row.lever.unit.as_str();
            vec![
                Cell::text(row.lever.pointer.clone()),
                Cell::number(row.lever.from, unit),
                end(&row.down, unit),
                limit(&row.down),
                end(&row.up, unit),
                limit(&row.up),
            ]
        })
        .collect();
    Table {
        stem: "drifts",
        caption: "How far one number may drift".into(),
        header: ["number", "now", "down to", "then breaks", "up to", "then breaks"]
            .map(str::to_owned)
            .to_vec(),
        rows,
    }
}

fn limit_words(code: Option<LimitCode>) -> &'static str {
    code.map_or("outside a model's range", |code| code.words().name)
}

/// How sure the plan is.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn sure(report: &RiskReport) -> Result<Chapter, FigureError> {
    let words = format!(
        "With the numbers that the scenario calls uncertain the plan closes in {:.1} % of {} draws (95 % interval {:.1} to {:.1} %).",
        100.0 * report.closes_ratio,
        report.draws_count,
        100.0 * report.closes_low_ratio,
        100.0 * report.closes_high_ratio
    );
    let percentiles = report
        .percentiles
        .iter()
        .map(|row| vec![Cell::number(row.share_percent, "%"), Cell::maybe(row.margin_w, "W")])
        .collect();
    let broken = report
        .limits
        .iter()
        .filter(|row| row.broken_count > 0)
        .map(|row| vec![Cell::text(row.limit.words().name), Cell::number(100.0 * row.broken_ratio, "%")])
        .collect();
    let shares = report
        .numbers
        .iter()
        .map(|row| {
            let share = |read: Option<f64>| Cell::maybe(read.map(|r| 100.0 * r), "%");
            vec![
                Cell::text(row.pointer.clone()),
                Cell::text(row.distribution.clone()),
                share(row.of_margin.map(|i| i.first_order_ratio)),
                share(row.of_margin.map(|i| i.total_ratio)),
                share(row.of_verdict.map(|i| i.total_ratio)),
            ]
        })
        .collect();
    let table = |stem, caption: &str, header: &[&str], rows| {
        Block::Table(Table {
            stem,
            caption: caption.into(),
            header: header.iter().map(|h| (*h).to_owned()).collect(),
            rows,
        })
    };
    Ok(Chapter {
        id: "sure",
        heading: "How sure".into(),
        gist: Some(words.clone()),
        blocks: vec![
            Block::Paragraph(words),
            Block::Figure(Figure {
                stem: "sure",
                caption: "How the margin is spread, and which uncertain number spreads it.".into(),
                svg: risk_figure(report)?,
            }),
            table(
                "margin-percentiles",
                "Margin of power that this share of the draws does not exceed",
                &["share", "margin"],
                percentiles,
            ),
            table("broken-limits", "Limits that break, in percent of the draws", &["limit", "share"], broken),
            table(
                "sensitivities",
                "Share of the spread that each uncertain number causes",
                &["number", "distribution", "of margin, alone", "with others", "of verdict, with others"],
                shares,
            ),
        ],
    })
}
