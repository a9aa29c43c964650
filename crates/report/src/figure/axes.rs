//! Axes with names, units and round numbers.

use plotters::{
    backend::SVGBackend,
    chart::{ChartBuilder, ChartContext},
    coord::{Shift, cartesian::Cartesian2d, types::RangedCoordf64},
    drawing::DrawingArea,
    style::Color,
};

use super::{FigureError, Theme, fault, theme::CAPTION_PX, theme::TEXT_PX};
use crate::number::tick;

/// Part of a figure, in pixels.
pub type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// A part with axes.
pub type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// One axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis<'a> {
    /// Name with its unit: "height, m".
    pub name: &'a str,
    /// Where it begins, in that unit.
    pub from: f64,
    /// Where it ends, in that unit.
    pub to: f64,
}

impl<'a> Axis<'a> {
    /// An axis that holds all values with a little room; it begins at 0 where that is near.
    pub fn around(name: &'a str, values: impl IntoIterator<Item = f64>) -> Self {
        let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values.into_iter().filter(|v| v.is_finite()) {
            (lo, hi) = (lo.min(value), hi.max(value));
        }
        if lo > hi {
            (lo, hi) = (0.0, 1.0);
        }
        if lo > 0.0 && lo < 0.4 * hi {
            lo = 0.0;
        }
        let room = if hi > lo { 0.06 * (hi - lo) } else { 0.1 * hi.abs().max(1.0) };
        Self { name, from: if lo == 0.0 { 0.0 } else { lo - room }, to: hi + room }
    }
}

/// Draws axes and grid and returns the chart between them.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn axes<'a, 'b>(
    area: &'a Area<'b>,
    caption: &str,
    x: Axis<'_>,
    y: Axis<'_>,
) -> Result<Chart<'a, 'b>, FigureError> {
    let (x_step, y_step) = (x.to - x.from, y.to - y.from);
    axes_told(area, caption, (x, &|value| tick(value, x_step)), (y, &|value| tick(value, y_step)))
}

/// An axis with the words for its values.
pub type Told<'a> = (Axis<'a>, &'a dyn Fn(f64) -> String);

/// As [`axes`], with words for the values: names, or the numbers of a logarithmic axis.
///
/// # Errors
/// As [`axes`].
pub fn axes_told<'a, 'b>(
    area: &'a Area<'b>,
    caption: &str,
    (x, x_words): Told<'_>,
    (y, y_words): Told<'_>,
) -> Result<Chart<'a, 'b>, FigureError> {
    let mut chart = ChartBuilder::on(area)
        .caption(caption, Theme::text(CAPTION_PX))
        .margin(12)
        .margin_right(24)
        .x_label_area_size(52)
        .y_label_area_size(78)
        .build_cartesian_2d(x.from..x.to, y.from..y.to)
        .map_err(fault)?;
    chart
        .configure_mesh()
        .x_labels(8)
        .y_labels(6)
        .max_light_lines(1)
        .x_desc(x.name)
        .y_desc(y.name)
        .x_label_formatter(&|value| x_words(*value))
        .y_label_formatter(&|value| y_words(*value))
        .label_style(Theme::text(TEXT_PX))
        .axis_desc_style(Theme::text(TEXT_PX))
        .axis_style(Theme::INK)
        .bold_line_style(Theme::FAINT)
        .light_line_style(Theme::FAINT.mix(0.0))
        .draw()
        .map_err(fault)?;
    Ok(chart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_axis_holds_its_values() {
        let axis = Axis::around("x", [1.0, 10.0]);
        assert!(axis.from == 0.0 && axis.to > 10.0);
        let axis = Axis::around("x", [9.0, 10.0, f64::NAN]);
        assert!(axis.from < 9.0 && axis.from > 8.5);
        let axis = Axis::around("x", []);
        assert!(axis.to > axis.from);
        let axis = Axis::around("x", [5.0]);
        assert!(axis.from < 5.0 && axis.to > 5.0);
    }
}
