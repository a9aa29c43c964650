//! What one percent more of each input does to the margin.

use beamstay_planner::effect::Effect;

use super::{
    FigureError, Theme,
    bars::{Columns, Part, ROW_PX, Row, draw_line_at, draw_rows},
    figure,
    mark::{Entry, Pattern, draw_legend},
};
use crate::number::{significant, with_unit};

/// Inputs shown at most.
const SHOWN_COUNT: usize = 14;

/// Draws the effects on the power margin, the largest first.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn levers_figure(title: &str, effects: &[Effect]) -> Result<String, FigureError> {
    let shown = &effects[..effects.len().min(SHOWN_COUNT)];
    let largest = shown.iter().map(|e| e.margin_w_per_percent.abs()).fold(1e-9, f64::max);
    let columns = Columns { name_px: 500, bar_px: (512, 772), value_px: 784, scale: (-largest, largest) };
    let bottom = 76 + ROW_PX * shown.len() as i32;
    figure((900, (bottom + 14) as u32), title, &description(shown), |root| {
        draw_legend(root, &legend(), 40)?;
        draw_rows(root, &columns, &shown.iter().map(bar).collect::<Vec<_>>(), 72)?;
        draw_line_at(root, &columns, 0.0, "0", (66, bottom))
    })
}

fn look(helps: bool) -> (plotters::style::RGBColor, Pattern, plotters::style::RGBColor) {
    if helps {
        (Theme::FILLS[0], Pattern::Plain, Theme::SERIES[0])
    } else {
        (Theme::FILLS[1], Pattern::Rising, Theme::SERIES[1])
    }
}

fn value(effect: &Effect) -> String {
    let sign = if effect.margin_w_per_percent >= 0.0 { "+" } else { "" };
    format!("{sign}{}", with_unit(&significant(effect.margin_w_per_percent, 3), "W"))
}

fn bar(effect: &Effect) -> Row {
    let (fill, pattern, stroke) = look(effect.margin_w_per_percent >= 0.0);
    let part = Part { from: 0.0, to: effect.margin_w_per_percent, fill, pattern, stroke };
    Row { name: short(&effect.pointer), parts: vec![part], value: value(effect), strong: false }
}

/// A pointer without its front where it would not fit.
fn short(pointer: &str) -> String {
    let mut steps: Vec<&str> = pointer.split('/').skip(1).collect();
    while Theme::text_width_px(&steps.join(" / "), super::theme::TEXT_PX) > 470 && steps.len() > 2 {
        steps.remove(1);
    }
    steps.join(" / ")
}

fn legend() -> Vec<Entry> {
    [(true, "1 % more of it adds to the margin"), (false, "1 % more of it takes from the margin")]
        .into_iter()
        .map(|(helps, text)| {
            let (fill, pattern, stroke) = look(helps);
            Entry::Patch { fill, pattern, stroke, text: text.into() }
        })
        .collect()
}

fn description(effects: &[Effect]) -> String {
    let rows: Vec<String> =
        effects.iter().map(|effect| format!("{} {}", effect.pointer, value(effect))).collect();
    format!(
        "Change of the power margin for one percent more of each input, the largest first. {}.",
        rows.join("; ")
    )
}
