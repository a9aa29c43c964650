//! Rows of bars: a name, a bar on one scale for all rows, and the number in words.

use plotters::{
    element::{PathElement, Rectangle, Text},
    style::{Color, RGBColor, ShapeStyle},
};

use super::{
    FigureError, Theme,
    axes::Area,
    fault,
    mark::{Pattern, fill_rectangle},
    theme::TEXT_PX,
};

/// Height of a row, px.
pub const ROW_PX: i32 = 32;

/// A part of a bar, on the scale of the rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Where it begins, in the unit of the scale.
    pub from: f64,
    /// Where it ends, in the unit of the scale.
    pub to: f64,
    /// Fill.
    pub fill: RGBColor,
    /// Pattern over it, in [`Self::stroke`].
    pub pattern: Pattern,
    /// Colour of edge and pattern.
    pub stroke: RGBColor,
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name, left of the bar.
    pub name: String,
    /// Parts of the bar, the later over the earlier.
    pub parts: Vec<Part>,
    /// Numbers, right of the bar.
    pub value: String,
    /// Whether the row stands out.
    pub strong: bool,
}

/// Where the columns stand and what the bars are drawn to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Columns {
    /// Right edge of the names, px.
    pub name_px: i32,
    /// Left and right edge of the bars, px.
    pub bar_px: (i32, i32),
    /// Left edge of the numbers, px.
    pub value_px: i32,
    /// Values at the edges of the bars.
    pub scale: (f64, f64),
}

impl Columns {
    /// Place of a value, px; beyond the scale, its edge.
    pub fn place(&self, value: f64) -> i32 {
        let (lo, hi) = self.scale;
        let share = if hi > lo { ((value - lo) / (hi - lo)).clamp(0.0, 1.0) } else { 0.0 };
        self.bar_px.0 + (share * f64::from(self.bar_px.1 - self.bar_px.0)).round() as i32
    }
}

/// Draws rows from `top_px` on.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn draw_rows(area: &Area<'_>, columns: &Columns, rows: &[Row], top_px: i32) -> Result<(), FigureError> {
    for (index, row) in rows.iter().enumerate() {
        let middle = top_px + ROW_PX * index as i32 + ROW_PX / 2;
        let style = |row: &Row| if row.strong { Theme::bold(TEXT_PX) } else { Theme::text(TEXT_PX) };
        let name = Text::new(row.name.clone(), (columns.name_px, middle), Theme::ending(style(row)));
        area.draw(&name).map_err(fault)?;
        for part in &row.parts {
            draw_part(area, columns, part, middle)?;
        }
        let value = Text::new(row.value.clone(), (columns.value_px, middle), Theme::beginning(style(row)));
        area.draw(&value).map_err(fault)?;
    }
    Ok(())
}

fn draw_part(area: &Area<'_>, columns: &Columns, part: &Part, middle: i32) -> Result<(), FigureError> {
    let half = ROW_PX / 2 - 5;
    let (x0, x1) = (columns.place(part.from), columns.place(part.to));
    let (x0, x1) = (x0.min(x1), x0.max(x1).max(x0.min(x1) + 1));
    let (corner, opposite) = ((x0, middle - half), (x1, middle + half));
    fill_rectangle(area, corner, opposite, part.fill, part.pattern, part.stroke)?;
    let edge = ShapeStyle { color: part.stroke.to_rgba(), filled: false, stroke_width: 1 };
    area.draw(&Rectangle::new([corner, opposite], edge)).map_err(fault)
}

/// Draws an upright line through all rows at a value, with a word over it.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn draw_line_at(
    area: &Area<'_>,
    columns: &Columns,
    value: f64,
    word: &str,
    (top_px, bottom_px): (i32, i32),
) -> Result<(), FigureError> {
    let x = columns.place(value);
    let style = ShapeStyle { color: Theme::INK.to_rgba(), filled: false, stroke_width: 2 };
    area.draw(&PathElement::new(vec![(x, top_px), (x, bottom_px)], style)).map_err(fault)?;
    let text = Text::new(word.to_owned(), (x, top_px - 14), Theme::centred(Theme::text(TEXT_PX)));
    area.draw(&text).map_err(fault)
}
