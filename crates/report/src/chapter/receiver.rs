//! How heavy the receiver should be.

use beamstay_planner::receiver::{ReceiverPoint, ReceiverTrade};

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, receiver::receiver_figure},
    number::quantity,
};

/// The chapter.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn receiver(trade: &ReceiverTrade) -> Result<Chapter, FigureError> {
    let line = |point: &ReceiverPoint| {
        format!(
            "weighs {}, puts {} on the bus, costs {} to carry and leaves {} for everything else",
            quantity(point.mass_kg, "kg"),
            quantity(point.delivered_w, "W"),
            quantity(point.carrying_w, "W"),
            quantity(point.net_w, "W")
        )
    };
    let mut words = format!("The receiver that leaves most {}.", line(&trade.best));
    if let Some(stated) = &trade.stated {
        words.push_str(&format!(" The one in the scenario {}.", line(stated)));
    }
    if trade.best_on_edge {
        words.push_str(" The best lies on the end of the masses that were looked at.");
    }
    Ok(Chapter {
        id: "receiver",
        heading: "How heavy a receiver".into(),
        gist: None,
        blocks: vec![
            Block::Paragraph(words),
            Block::Figure(Figure {
                stem: "receiver",
                caption: "Power of the best receiver of each mass, what carrying it costs, and what is left."
                    .into(),
                svg: receiver_figure(trade)?,
            }),
            Block::Details {
                summary: "The curve in numbers".into(),
                blocks: vec![Block::Table(curve(trade))],
            },
        ],
    })
}

fn curve(trade: &ReceiverTrade) -> Table {
    let rows = trade
        .curve
        .iter()
        .map(|point| {
            vec![
                Cell::number(point.mass_kg, "kg"),
                Cell::number(point.delivered_w, "W"),
                Cell::number(point.carrying_w, "W"),
                Cell::number(point.net_w, "W"),
                Cell::maybe(point.marginal_w_per_g, "W/g"),
                Cell::number(point.cell_temp_c, "°C"),
                Cell::text(if point.dimmed_for_heat { "laser dimmed" } else { "" }),
            ]
        })
        .collect();
    Table {
        stem: "receiver",
        caption: "The best receiver of each mass".into(),
        header: ["mass", "delivered", "carrying", "net", "next gram adds", "hottest cell", ""]
            .map(str::to_owned)
            .to_vec(),
        rows,
    }
}
