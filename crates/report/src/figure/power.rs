//! Where the power goes, from the wall to the air, step by step.

use beamstay_planner::{OperatingPoint, point::PowerRow};

use super::{
    FigureError, Theme,
    bars::{Columns, Part, ROW_PX, Row, draw_rows},
    figure,
    mark::{Entry, Pattern, draw_legend},
};
use crate::number::{quantity, significant};

/// Steps whose power is put to use; at all others it is lost as heat or light.
const USES: &[&str] = &["payload", "avionics", "load", "propulsion", "profile", "induced", "axial"];

/// Draws the budget; the description carries every number.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn power_figure(title: &str, point: &OperatingPoint) -> Result<String, FigureError> {
    let rows = &point.power;
    let top_w = rows.iter().map(|row| row.in_w).fold(1.0, f64::max);
    let columns = Columns { name_px: 350, bar_px: (362, 700), value_px: 712, scale: (0.0, top_w) };
    let height = 56 + ROW_PX * rows.len() as i32 + 12;
    figure((900, height as u32), title, &description(point), |root| {
        draw_legend(root, &legend(), 40)?;
        let rows: Vec<Row> = rows.iter().map(bar).collect();
        draw_rows(root, &columns, &rows, 48)
    })
}

fn used(row: &PowerRow) -> bool {
    USES.contains(&row.code)
}

fn bar(row: &PowerRow) -> Row {
    let on_w = row.out_w.max(0.0);
    let mut parts = vec![Part {
        from: 0.0,
        to: on_w,
        fill: Theme::FILLS[0],
        pattern: Pattern::Plain,
        stroke: Theme::SERIES[0],
    }];
    let (fill, pattern, stroke) = leaving(used(row));
    if row.loss_w != 0.0 {
        parts.push(Part { from: on_w, to: on_w + row.loss_w.max(0.0), fill, pattern, stroke });
    }
    let value = format!("{} of {}", significant(row.loss_w, 4), quantity(row.in_w, "W"));
    Row { name: row.name.to_owned(), parts, value, strong: false }
}

fn leaving(used: bool) -> (plotters::style::RGBColor, Pattern, plotters::style::RGBColor) {
    if used {
        (Theme::FILLS[2], Pattern::Dots, Theme::SERIES[2])
    } else {
        (Theme::FILLS[1], Pattern::Rising, Theme::SERIES[1])
    }
}

fn legend() -> Vec<Entry> {
    let patch = |used: bool, text: &str| {
        let (fill, pattern, stroke) = leaving(used);
        Entry::Patch { fill, pattern, stroke, text: text.into() }
    };
    vec![
        Entry::Patch {
            fill: Theme::FILLS[0],
            pattern: Pattern::Plain,
            stroke: Theme::SERIES[0],
            text: "goes on".into(),
        },
        patch(false, "leaves as heat or light"),
        patch(true, "leaves as use on board"),
    ]
}

fn description(point: &OperatingPoint) -> String {
    let steps: Vec<String> = point
        .power
        .iter()
        .map(|row| {
            format!("{}: {} in, {} leave", row.name, quantity(row.in_w, "W"), quantity(row.loss_w, "W"))
        })
        .collect();
    format!("Power from the wall to the air, one bar for each step. {}.", steps.join("; "))
}
