//! Why a plan closes or does not: power, forces, limits.

use beamstay_planner::{PointReport, TetherCurve, limit::Sense, point::TetherPoint};

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{
        FigureError, levers::levers_figure, margins::margins_figure, power::power_figure,
        tether::tether_figure,
    },
};

/// The chapter; with the tether drawn if one hangs.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn why(
    report: &PointReport,
    curves: Option<&(TetherCurve, TetherCurve)>,
) -> Result<Chapter, FigureError> {
    let mut blocks = vec![
        Block::Figure(Figure {
            stem: "limits",
            caption: "What is left of each limit; a bar to the left is a limit that is broken.".into(),
            svg: margins_figure(&report.title, &report.point.limits)?,
        }),
        Block::Table(limits(report)),
    ];
    if !report.point.power.is_empty() {
        blocks.push(Block::Figure(Figure {
            stem: "power",
            caption: "Where the power goes, from the wall to the air.".into(),
            svg: power_figure(&report.title, &report.point)?,
        }));
        blocks.push(Block::Details {
            summary: "The power in numbers".into(),
            blocks: vec![Block::Table(power(report))],
        });
    }
    if let Some((mean, gust)) = curves {
        blocks.push(Block::Figure(Figure {
            stem: "tether",
            caption: "The tether to scale, in the mean wind and in the gust, with the forces at its ends."
                .into(),
            svg: tether_figure(&report.title, &report.point, mean, gust)?,
        }));
    }
    if let Some(table) = tether(report) {
        blocks.push(Block::Details {
            summary: "The tether in numbers".into(),
            blocks: vec![Block::Table(table)],
        });
    }
    if !report.effects.is_empty() {
        blocks.push(Block::Figure(Figure {
            stem: "levers",
            caption: "What one percent more of each input does to the power that is left.".into(),
            svg: levers_figure(&report.title, &report.effects)?,
        }));
    }
    Ok(Chapter { id: "why", heading: "Why".into(), gist: None, blocks })
}

fn limits(report: &PointReport) -> Table {
    let rows = report
        .point
        .limits
        .iter()
        .map(|row| {
            let sense = if row.sense == Sense::AtMost { "at most" } else { "at least" };
            vec![
                Cell::text(row.code.words().name),
                Cell::Verdict(row.ok),
                Cell::number(row.value, row.unit),
                Cell::text(sense),
                Cell::number(row.limit, row.unit),
                Cell::Margin(row.margin_ratio),
                if row.ok { Cell::Empty } else { Cell::text(report.change_first(row)) },
            ]
        })
        .collect();
    Table {
        stem: "limits",
        caption: "Limits".into(),
        header: ["limit", "", "is", "", "allowed", "left", "change first"].map(str::to_owned).to_vec(),
        rows,
    }
}

fn power(report: &PointReport) -> Table {
    let rows = report
        .point
        .power
        .iter()
        .map(|row| {
            vec![
                Cell::text(row.name),
                Cell::number(row.in_w, "W"),
                Cell::number(row.out_w, "W"),
                Cell::number(row.loss_w, "W"),
            ]
        })
        .collect();
    Table {
        stem: "power",
        caption: "Power from the wall to the air, W".into(),
        header: ["step", "enters", "goes on", "leaves"].map(str::to_owned).to_vec(),
        rows,
    }
}

fn tether(report: &PointReport) -> Option<Table> {
    let (mean, gust) = (report.point.tether.as_ref()?, report.point.tether_in_gust.as_ref()?);
    type Reading = (&'static str, &'static str, fn(&TetherPoint) -> f64);
    let readings: [Reading; 10] = [
        ("paid out", "m", |t| t.paid_out_m),
        ("tension at the drum", "N", |t| t.drum_tension_n),
        ("tension at the vehicle", "N", |t| t.top_tension_n),
        ("largest tension", "N", |t| t.max_tension_n),
        ("pull downwind on the vehicle", "N", |t| t.force_on_vehicle_n[0]),
        ("pull downwards on the vehicle", "N", |t| -t.force_on_vehicle_n[2]),
        ("elevation at the drum", "°", |t| t.drum_elevation_deg),
        ("lowest point over ground", "m", |t| t.lowest_point_m),
        ("length on the ground", "m", |t| t.on_ground_m),
        ("smallest bend radius in the air", "m", |t| t.min_bend_radius_m),
    ];
    let rows = readings
        .iter()
        .map(|(name, unit, read)| {
            vec![Cell::text(*name), Cell::number(read(mean), unit), Cell::number(read(gust), unit)]
        })
        .collect();
    Some(Table {
        stem: "tether",
        caption: "The tether".into(),
        header: ["", "mean wind", "gust"].map(str::to_owned).to_vec(),
        rows,
    })
}
