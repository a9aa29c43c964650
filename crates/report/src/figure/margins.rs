//! Every limit as a bar of what is left.

use beamstay_planner::limit::{LimitRow, Sense};

use super::{
    FigureError, Theme,
    bars::{Columns, Part, ROW_PX, Row, draw_line_at, draw_rows},
    figure,
    mark::{Entry, Pattern, draw_legend},
};
use crate::number::{quantity, signed_percent, significant, with_unit};

/// Margin at the right edge; a larger one ends there, its number stands beside it.
const WIDEST: f64 = 1.0;
/// Margin at the left edge.
const LOWEST: f64 = -0.5;

/// Limits in the order in which they are told: the broken ones, then the tightest.
pub fn in_order(limits: &[LimitRow]) -> Vec<&LimitRow> {
    let mut sorted: Vec<&LimitRow> = limits.iter().collect();
    sorted.sort_by(|a, b| a.ok.cmp(&b.ok).then(a.closeness().total_cmp(&b.closeness())));
    sorted
}

/// What is left of a limit, in words.
pub fn left(row: &LimitRow) -> String {
    row.margin_ratio.map_or_else(|| with_unit(&significant(row.margin, 3), row.unit), signed_percent)
}

/// What is and what is allowed, in words.
pub fn comparison(row: &LimitRow) -> String {
    let sense = match row.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    format!("{}, {sense} {}", quantity(row.value, row.unit), quantity(row.limit, row.unit))
}

/// Draws the limits.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn margins_figure(title: &str, limits: &[LimitRow]) -> Result<String, FigureError> {
    let rows = in_order(limits);
    let columns = Columns { name_px: 290, bar_px: (302, 640), value_px: 652, scale: (LOWEST, WIDEST) };
    let bottom = 76 + ROW_PX * rows.len() as i32;
    figure((900, (bottom + 14) as u32), title, &description(&rows), |root| {
        draw_legend(root, &legend(), 40)?;
        draw_rows(root, &columns, &rows.iter().map(|row| bar(row)).collect::<Vec<_>>(), 72)?;
        draw_line_at(root, &columns, 0.0, "limit", (66, bottom))
    })
}

fn look(ok: bool) -> (plotters::style::RGBColor, Pattern, plotters::style::RGBColor) {
    if ok {
        (Theme::FILLS[0], Pattern::Plain, Theme::SERIES[0])
    } else {
        (Theme::FILLS[1], Pattern::Falling, Theme::BAD)
    }
}

fn bar(row: &LimitRow) -> Row {
    let (fill, pattern, stroke) = look(row.ok);
    let parts = row
        .margin_ratio
        .map(|ratio| Part { from: 0.0, to: ratio, fill, pattern, stroke })
        .into_iter()
        .collect();
    let (word, beyond) = (if row.ok { "" } else { " BROKEN" }, row.margin_ratio.is_some_and(|r| r > WIDEST));
    let arrow = if beyond { "→ " } else { "" };
    Row {
        name: row.code.words().name.to_owned(),
        parts,
        value: format!("{arrow}{}{word}", left(row)),
        strong: !row.ok,
    }
}

fn legend() -> Vec<Entry> {
    [(true, "left, over the bound"), (false, "broken, over the bound")]
        .into_iter()
        .map(|(ok, text)| {
            let (fill, pattern, stroke) = look(ok);
            Entry::Patch { fill, pattern, stroke, text: text.into() }
        })
        .collect()
}

fn description(rows: &[&LimitRow]) -> String {
    let rows: Vec<String> = rows
        .iter()
        .map(|row| {
            let state = if row.ok { "holds" } else { "BROKEN" };
            format!("{} {state}: {}, left {}", row.code.words().name, comparison(row), left(row))
        })
        .collect();
    format!("Limits, the broken and the tightest first. {}.", rows.join("; "))
}
