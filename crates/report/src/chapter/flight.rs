//! How long the flight lasts, and what happens when the light is lost.

use beamstay_planner::{endurance::EnduranceReport, lightloss::LightLossReport};

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, endurance::endurance_figure, lightloss::light_loss_figure},
    number::{quantity, significant},
};

/// Through the weather.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn endurance(report: &EnduranceReport) -> Result<Chapter, FigureError> {
    let record = &report.record;
    let words = format!(
        "Flown through {} h ({}): on station {} % of the time with a record; longest stay {}, longest outage {}. {} from the wall on the mean.",
        record.hours_count,
        record.source,
        significant(100.0 * report.on_station_ratio, 3),
        quantity(report.stays.longest_h, "h"),
        quantity(report.outages.longest_h, "h"),
        quantity(report.mean_wall_w, "W")
    );
    let ends = report
        .ended_by
        .iter()
        .map(|row| vec![Cell::text(row.ended_by.words()), Cell::number(row.count as f64, "")])
        .collect();
    let kept = report
        .kept_down_by
        .iter()
        .map(|row| vec![Cell::text(row.kept_down_by.words()), Cell::number(row.duration_h, "h")])
        .collect();
    Ok(Chapter {
        id: "endurance",
        heading: "How long".into(),
        gist: Some(words.clone()),
        blocks: vec![
            Block::Paragraph(words),
            Block::Figure(Figure {
                stem: "endurance",
                caption: "The hours flown and how long the stays last.".into(),
                svg: endurance_figure(report)?,
            }),
            Block::Table(Table {
                stem: "stays-ended-by",
                caption: "What ended the stays".into(),
                header: ["ended by", "stays"].map(str::to_owned).to_vec(),
                rows: ends,
            }),
            Block::Table(Table {
                stem: "kept-on-the-ground",
                caption: "What kept it on the ground".into(),
                header: ["kept down by", "for"].map(str::to_owned).to_vec(),
                rows: kept,
            }),
        ],
    })
}

/// The drill for the loss of light.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn light_loss(report: &LightLossReport) -> Result<Chapter, FigureError> {
    let mut blocks = Vec::new();
    let gist = report.worst().map(|worst| {
        let reason = if worst.reason.is_empty() { String::new() } else { format!(": {}", worst.reason) };
        format!("The worst, {}: {}{reason}.", worst.cause.name, worst.outcome.words())
    });
    if let Some(words) = &gist {
        blocks.push(Block::Paragraph(words.clone()));
        blocks.push(Block::Figure(Figure {
            stem: "light-loss",
            caption: "From the instant the light is lost to the ground.".into(),
            svg: light_loss_figure(report)?,
        }));
    }
    let rows = report
        .drills
        .iter()
        .map(|drill| {
            vec![
                Cell::text(drill.cause.name.clone()),
                Cell::Verdict(drill.outcome.is_safe()),
                Cell::text(drill.outcome.words()),
                Cell::number(drill.time_s, "s"),
                Cell::number(drill.needed_j / 3600.0, "Wh"),
                Cell::number(drill.usable_j / 3600.0, "Wh"),
            ]
        })
        .collect();
    blocks.push(Block::Table(Table {
        stem: "light-loss",
        caption: "Every cause, the worst first".into(),
        header: ["cause", "", "outcome", "time", "energy needed", "in the battery"]
            .map(str::to_owned)
            .to_vec(),
        rows,
    }));
    Ok(Chapter { id: "light-loss", heading: "When the light is lost".into(), gist, blocks })
}
