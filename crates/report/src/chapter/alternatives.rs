//! Whether copper wire or a bigger battery would do better.

use beamstay_planner::compare::CompareReport;

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, compare::compare_figure},
};

/// The chapter.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn alternatives(report: &CompareReport) -> Result<Chapter, FigureError> {
    let rows = report
        .alternatives
        .iter()
        .map(|way| {
            vec![
                Cell::text(way.kind.words()),
                Cell::Verdict(way.feasible),
                Cell::number(way.lifted_kg(), "kg"),
                Cell::number(way.demand_w, "W"),
                Cell::number(way.wall_w, "W"),
                Cell::number(100.0 * way.efficiency_ratio, "%"),
                Cell::maybe(way.height_limit_m, "m"),
                way.endurance_min.map_or(Cell::text("with supply"), |m| Cell::number(m, "min")),
                Cell::text(way.reason.clone()),
            ]
        })
        .collect();
    let hazards = report
        .alternatives
        .iter()
        .map(|way| format!("{}: {}", way.kind.words(), way.hazards.join(" ")))
        .collect();
    Ok(Chapter {
        id: "alternatives",
        heading: "Alternatives".into(),
        gist: None,
        blocks: vec![
            Block::Table(Table {
                stem: "alternatives",
                caption: "The same aircraft, payload and height, each way sized for it".into(),
                header: [
                    "way",
                    "",
                    "lifted",
                    "from the bus",
                    "from the wall",
                    "bus over wall",
                    "height limit",
                    "stays up",
                    "why not",
                ]
                .map(str::to_owned)
                .to_vec(),
                rows,
            }),
            Block::Figure(Figure {
                stem: "alternatives",
                caption: "Side by side, and who wins where.".into(),
                svg: compare_figure(report)?,
            }),
            Block::List(hazards),
        ],
    })
}
