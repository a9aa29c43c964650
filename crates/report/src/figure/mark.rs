//! Lines, marks, patterns and their legend: whatever is told by colour is told by form too.

use plotters::{
    element::{Circle, EmptyElement, PathElement, Polygon, Rectangle, Text},
    series::{DashedLineSeries, LineSeries},
    style::{Color, RGBColor, ShapeStyle},
};

use super::{
    FigureError, Theme,
    axes::{Area, Chart},
    fault,
    theme::TEXT_PX,
};

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long dashes.
    Dashed,
    /// Short dashes.
    Dotted,
}

/// Form of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// None.
    None,
    /// A disk.
    Disk,
    /// A square.
    Square,
    /// A triangle.
    Triangle,
    /// A diamond.
    Diamond,
    /// A cross.
    Cross,
}

/// How a series looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Colour.
    pub colour: RGBColor,
    /// How its line is broken.
    pub dash: Dash,
    /// Form of its points.
    pub form: Form,
    /// Width of the line, px.
    pub width_px: u32,
}

impl Mark {
    /// The look of series number `index`: no two of the first six share colour, dash and form.
    pub fn series(index: usize) -> Self {
        const DASHES: [Dash; 3] = [Dash::Solid, Dash::Dashed, Dash::Dotted];
        const FORMS: [Form; 6] =
            [Form::Disk, Form::Square, Form::Triangle, Form::Diamond, Form::Cross, Form::None];
        Self {
            colour: Theme::SERIES[index % 6],
            dash: DASHES[index % 3],
            form: FORMS[index % 6],
            width_px: 3,
        }
    }

    /// The same without points.
    pub fn without_points(self) -> Self {
        Self { form: Form::None, ..self }
    }

    fn stroke(self) -> ShapeStyle {
        ShapeStyle { color: self.colour.to_rgba(), filled: false, stroke_width: self.width_px }
    }
}

/// Draws a line through points in the order given, with a mark at every `every`-th point.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn draw_line(
    chart: &mut Chart<'_, '_>,
    points: &[(f64, f64)],
    mark: Mark,
    every: usize,
) -> Result<(), FigureError> {
    let line = points.iter().copied();
    match mark.dash {
        Dash::Solid => {
            chart.draw_series(LineSeries::new(line, mark.stroke())).map_err(fault)?;
        }
        Dash::Dashed => {
            chart.draw_series(DashedLineSeries::new(line, 12, 7, mark.stroke())).map_err(fault)?;
        }
        Dash::Dotted => {
            chart.draw_series(DashedLineSeries::new(line, 3, 5, mark.stroke())).map_err(fault)?;
        }
    }
    points.iter().step_by(every.max(1)).try_for_each(|place| draw_point(chart, *place, mark))
}

/// Draws one point.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn draw_point(chart: &mut Chart<'_, '_>, place: (f64, f64), mark: Mark) -> Result<(), FigureError> {
    let fill = mark.colour.filled();
    let at = || EmptyElement::at(place);
    match mark.form {
        Form::None => Ok(()),
        Form::Disk => chart.draw_series([at() + Circle::new((0, 0), 5, fill)]).map(|_| ()),
        Form::Cross => {
            let stroke = ShapeStyle { stroke_width: 3, ..mark.stroke() };
            let arms = |s: i32| at() + PathElement::new(vec![(-5, -5 * s), (5, 5 * s)], stroke);
            chart.draw_series([arms(1), arms(-1)]).map(|_| ())
        }
        form => chart.draw_series([at() + Polygon::new(corners(form), fill)]).map(|_| ()),
    }
    .map_err(fault)
}

fn corners(form: Form) -> Vec<(i32, i32)> {
    match form {
        Form::Square => vec![(-5, -5), (5, -5), (5, 5), (-5, 5)],
        Form::Triangle => vec![(0, -7), (6, 5), (-6, 5)],
        _ => vec![(0, -7), (7, 0), (0, 7), (-7, 0)],
    }
}

/// How an area is filled over its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Nothing.
    Plain,
    /// Lines that rise to the right.
    Rising,
    /// Lines that fall to the right.
    Falling,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
    /// Dots.
    Dots,
}

impl Pattern {
    /// Pattern of area number `index`.
    pub fn area(index: usize) -> Self {
        const ALL: [Pattern; 6] = [
            Pattern::Plain,
            Pattern::Rising,
            Pattern::Falling,
            Pattern::Dots,
            Pattern::Level,
            Pattern::Upright,
        ];
        ALL[index % 6]
    }
}

/// Fills a rectangle of pixels with a colour and a pattern that runs on through neighbours.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn fill_rectangle(
    area: &Area<'_>,
    corner: (i32, i32),
    opposite: (i32, i32),
    fill: RGBColor,
    pattern: Pattern,
    stroke: RGBColor,
) -> Result<(), FigureError> {
    let (x0, x1) = (corner.0.min(opposite.0), corner.0.max(opposite.0));
    let (y0, y1) = (corner.1.min(opposite.1), corner.1.max(opposite.1));
    area.draw(&Rectangle::new([(x0, y0), (x1, y1)], fill.filled())).map_err(fault)?;
    let style = ShapeStyle { color: stroke.to_rgba(), filled: false, stroke_width: 1 };
    if pattern == Pattern::Dots {
        for x in multiples(x0, x1, 9) {
            for y in multiples(y0, y1, 9) {
                area.draw(&Circle::new((x, y), 1, stroke.filled())).map_err(fault)?;
            }
        }
        return Ok(());
    }
    for (from, to) in hatching(pattern, x0, y0, x1, y1) {
        area.draw(&PathElement::new(vec![from, to], style)).map_err(fault)?;
    }
    Ok(())
}

/// Multiples of `step` from `lo` up to, but not including, `hi`.
fn multiples(lo: i32, hi: i32, step: i32) -> impl Iterator<Item = i32> {
    let first = lo + (-lo).rem_euclid(step);
    (first..hi).step_by(step as usize)
}

/// Lines of a pattern inside a rectangle.
fn hatching(pattern: Pattern, x0: i32, y0: i32, x1: i32, y1: i32) -> Vec<((i32, i32), (i32, i32))> {
    const STEP: i32 = 10;
    match pattern {
        Pattern::Plain | Pattern::Dots => Vec::new(),
        Pattern::Level => multiples(y0, y1, STEP).map(|y| ((x0, y), (x1, y))).collect(),
        Pattern::Upright => multiples(x0, x1, STEP).map(|x| ((x, y0), (x, y1))).collect(),
        // Lines x + y = k, clipped at both sides.
        Pattern::Rising => multiples(x0 + y0, x1 + y1, STEP)
            .map(|k| (k.saturating_sub(y1).max(x0), (k - y0).min(x1), k))
            .map(|(from, to, k)| ((from, k - from), (to, k - to)))
            .collect(),
        // Lines x - y = k.
        Pattern::Falling => multiples(x0 - y1, x1 - y0, STEP)
            .map(|k| ((k + y0).max(x0), (k + y1).min(x1), k))
            .map(|(from, to, k)| ((from, from - k), (to, to - k)))
            .collect(),
    }
}

/// One entry of a legend.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A line with its mark.
    Line(Mark, String),
    /// A filled area.
    Patch {
        /// Fill.
        fill: RGBColor,
        /// Pattern over it.
        pattern: Pattern,
        /// Colour of the pattern.
        stroke: RGBColor,
        /// What it means.
        text: String,
    },
}

impl Entry {
    fn text(&self) -> &str {
        match self {
            Self::Line(_, text) | Self::Patch { text, .. } => text,
        }
    }

    /// Width of the whole entry, px.
    fn width_px(&self) -> i32 {
        44 + 10 + Theme::text_width_px(self.text(), TEXT_PX) + 24
    }
}

/// Height of one row of a legend, px.
const ROW_PX: i32 = 28;

/// Rows that a legend needs in a width, and its height, px.
pub fn legend_height_px(entries: &[Entry], width_px: i32) -> u32 {
    let rows = places(entries, width_px).last().map_or(0, |(_, y)| y / ROW_PX + 1);
    (ROW_PX * rows + 12) as u32
}

/// Where each entry begins: side by side while there is room, then in the next row.
fn places(entries: &[Entry], width_px: i32) -> Vec<(i32, i32)> {
    let (mut x, mut y) = (0, 0);
    entries
        .iter()
        .map(|entry| {
            if x > 0 && x + entry.width_px() > width_px {
                (x, y) = (0, y + ROW_PX);
            }
            let place = (x, y);
            x += entry.width_px();
            place
        })
        .collect()
}

/// Draws a legend from `left_px` on, in as many rows as it needs.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn draw_legend(area: &Area<'_>, entries: &[Entry], left_px: i32) -> Result<(), FigureError> {
    let width_px = area.dim_in_pixel().0 as i32 - left_px;
    for (entry, (x, y)) in entries.iter().zip(places(entries, width_px)) {
        let (x, y) = (x + left_px, y + ROW_PX / 2 + 6);
        match entry {
            Entry::Line(mark, _) => draw_sample(area, *mark, (x, y))?,
            Entry::Patch { fill, pattern, stroke, .. } => {
                fill_rectangle(area, (x, y - 9), (x + 44, y + 9), *fill, *pattern, *stroke)?;
                let edge = ShapeStyle { color: Theme::MUTED.to_rgba(), filled: false, stroke_width: 1 };
                area.draw(&Rectangle::new([(x, y - 9), (x + 44, y + 9)], edge)).map_err(fault)?;
            }
        }
        let style = Theme::beginning(Theme::text(TEXT_PX));
        area.draw(&Text::new(entry.text().to_owned(), (x + 54, y), style)).map_err(fault)?;
    }
    Ok(())
}

/// A short line with its mark.
fn draw_sample(area: &Area<'_>, mark: Mark, (x, y): (i32, i32)) -> Result<(), FigureError> {
    let (on, off) = match mark.dash {
        Dash::Solid => (44, 1),
        Dash::Dashed => (12, 7),
        Dash::Dotted => (3, 5),
    };
    for start in (0..44).step_by((on + off) as usize) {
        let end = (start + on).min(44);
        area.draw(&PathElement::new(vec![(x + start, y), (x + end, y)], mark.stroke())).map_err(fault)?;
    }
    let (cx, cy) = (x + 22, y);
    let fill = mark.colour.filled();
    match mark.form {
        Form::None => Ok(()),
        Form::Disk => area.draw(&Circle::new((cx, cy), 5, fill)),
        Form::Cross => {
            let stroke = ShapeStyle { stroke_width: 3, ..mark.stroke() };
            area.draw(&PathElement::new(vec![(cx - 5, cy - 5), (cx + 5, cy + 5)], stroke))
                .and_then(|()| area.draw(&PathElement::new(vec![(cx - 5, cy + 5), (cx + 5, cy - 5)], stroke)))
        }
        form => {
            let points: Vec<_> = corners(form).into_iter().map(|(dx, dy)| (cx + dx, cy + dy)).collect();
            area.draw(&Polygon::new(points, fill))
        }
    }
    .map_err(fault)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_stays_inside() {
        for pattern in [Pattern::Rising, Pattern::Falling, Pattern::Level, Pattern::Upright] {
            let lines = hatching(pattern, 13, 27, 78, 61);
            assert!(!lines.is_empty());
            for ((xa, ya), (xb, yb)) in lines {
                assert!((13..=78).contains(&xa) && (13..=78).contains(&xb), "{pattern:?}: {xa} {xb}");
                assert!((27..=61).contains(&ya) && (27..=61).contains(&yb), "{pattern:?}: {ya} {yb}");
            }
        }
    }

    #[test]
    fn the_first_six_series_look_different() {
        for a in 0..6 {
            for b in 0..a {
                let (a, b) = (Mark::series(a), Mark::series(b));
                assert!(a.colour != b.colour && (a.dash, a.form) != (b.dash, b.form));
            }
        }
    }

    #[test]
    fn a_legend_folds_where_the_room_ends() {
        let entries: Vec<Entry> =
            (0..4).map(|i| Entry::Line(Mark::series(i), "a name of some length".into())).collect();
        assert_eq!(places(&entries, 2000).last().map(|p| p.1), Some(0));
        assert_eq!(places(&entries, 300).last().map(|p| p.1), Some(3 * ROW_PX));
        assert!(legend_height_px(&entries, 300) > legend_height_px(&entries, 2000));
    }
}
