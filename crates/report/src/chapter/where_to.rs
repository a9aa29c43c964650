//! Where the plan closes: the feasible region.

use beamstay_planner::region::RegionReport;

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, region::region_figure},
};

/// The chapter.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn region(report: &RegionReport) -> Result<Chapter, FigureError> {
    let rows = report
        .layers
        .iter()
        .flat_map(|layer| {
            layer.boundary.iter().map(|point| {
                vec![
                    Cell::number(layer.value, &report.layer.unit),
                    Cell::number(point.x, &report.x.unit),
                    Cell::number(point.y, &report.y.unit),
                    Cell::text(if point.upper { "up to here" } else { "from here" }),
                    point.limit.map_or(Cell::Empty, |code| Cell::text(code.words().name)),
                ]
            })
        })
        .collect();
    let header = [&report.layer.pointer, &report.x.pointer, &report.y.pointer].map(|p| key(p)).into_iter();
    Ok(Chapter {
        id: "region",
        heading: "Where it closes".into(),
        gist: None,
        blocks: vec![
            Block::Paragraph(
                "At every place the station is chosen anew within the limits, so that a place that does not close has no station that closes. The boundary is computed at each of the heights that the table lists and drawn straight between them; `beamstay region` draws a finer map in more winds.".into(),
            ),
            Block::Figure(Figure {
                stem: "region",
                caption: "Where the plan closes, and which limit ends it.".into(),
                svg: region_figure(report)?,
            }),
            Block::Details {
                summary: "The boundary in numbers".into(),
                blocks: vec![Block::Table(Table {
                    stem: "region-boundary",
                    caption: "Boundary of the region".into(),
                    header: header.chain(["closes".to_owned(), "limit".to_owned()]).collect(),
                    rows,
                })],
            },
        ],
    })
}

fn key(pointer: &str) -> String {
    pointer.rsplit('/').next().unwrap_or_default().replace('_', " ")
}
