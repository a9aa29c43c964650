//! Labels that keep clear of what is drawn.

use plotters::{
    element::{EmptyElement, Text},
    style::text_anchor::{HPos, Pos, VPos},
};

use super::{FigureError, Theme, axes::Chart, fault, theme::TEXT_PX};

/// Height of a line of a label, px.
const LINE_PX: i32 = 20;
/// Where a label may stand beside its mark, px to the right and down, the best place first.
pub(super) const BESIDE: [Offset; 6] = [
    (14, -14, HPos::Left),
    (-14, -14, HPos::Right),
    (14, 18, HPos::Left),
    (-14, 18, HPos::Right),
    (0, -28, HPos::Center),
    (0, 28, HPos::Center),
];
/// The same over or under its mark.
pub(super) const OVER: [Offset; 4] =
    [(0, -20, HPos::Center), (0, 22, HPos::Center), (14, 0, HPos::Left), (-14, 0, HPos::Right)];

/// A place of a label: px to the right, px down, and which side of it the label holds to its place.
pub(super) type Offset = (i32, i32, HPos);

/// A box on the screen: from left to right, from top to bottom, px.
pub(super) type Taken = ((f64, f64), (f64, f64));

/// A view whose axes are known: it turns places into pixels.
pub(super) struct View {
    /// Range across.
    pub x: (f64, f64),
    /// Range upwards.
    pub y: (f64, f64),
    /// Room between the axes, px.
    pub size_px: (f64, f64),
}

impl View {
    fn px(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let across = (x - self.x.0) / (self.x.1 - self.x.0) * self.size_px.0;
        let down = (self.y.1 - y) / (self.y.1 - self.y.0) * self.size_px.1;
        (across, down)
    }

    /// What points take up.
    pub(super) fn boxes<'a>(&self, points: impl Iterator<Item = &'a (f64, f64)>) -> Vec<Taken> {
        points
            .map(|point| {
                let (x, y) = self.px(*point);
                ((x - 4.0, x + 4.0), (y - 4.0, y + 4.0))
            })
            .collect()
    }

    /// What a level line takes up.
    pub(super) fn band(&self, y: f64) -> Taken {
        let (_, down) = self.px((self.x.0, y));
        ((0.0, self.size_px.0), (down - 2.0, down + 2.0))
    }

    /// Writes a label, of one line or more, where it covers least, and takes its place up.
    pub(super) fn label(
        &self,
        chart: &mut Chart<'_, '_>,
        at: (f64, f64),
        text: &str,
        offsets: &[Offset],
        taken: &mut Vec<Taken>,
    ) -> Result<(), FigureError> {
        let room = |offset: &Offset| self.room(at, text, *offset);
        let Some(best) = offsets.iter().min_by_key(|offset| self.covered(&room(offset), taken)) else {
            return Ok(());
        };
        taken.push(room(best));
        let style = Theme::text(TEXT_PX).pos(Pos::new(best.2, VPos::Center));
        let lines = text.lines().count() as i32;
        for (index, line) in (0..).zip(text.lines()) {
            let down = best.1 + (LINE_PX * (2 * index + 1 - lines)) / 2;
            let words = EmptyElement::at(at) + Text::new(line.to_owned(), (best.0, down), style.clone());
            chart.draw_series([words]).map_err(fault)?;
        }
        Ok(())
    }

    fn room(&self, at: (f64, f64), text: &str, (right, down, side): Offset) -> Taken {
        let (x, y) = self.px(at);
        let (x, y) = (x + f64::from(right), y + f64::from(down));
        let widths = text.lines().map(|line| Theme::text_width_px(line, TEXT_PX));
        let width = f64::from(widths.max().unwrap_or(0));
        let half = 0.5 * f64::from(LINE_PX) * text.lines().count() as f64 - 1.0;
        let left = match side {
            HPos::Left => x,
            HPos::Right => x - width,
            HPos::Center => x - 0.5 * width,
        };
        ((left, left + width), (y - half, y + half))
    }

    /// How many things a room would cover; to leave the view counts as many.
    fn covered(&self, room: &Taken, taken: &[Taken]) -> usize {
        let apart = |a: (f64, f64), b: (f64, f64)| a.1 <= b.0 || b.1 <= a.0;
        let hits = taken.iter().filter(|other| !apart(room.0, other.0) && !apart(room.1, other.1)).count();
        let inside = room.0.0 >= 0.0
            && room.0.1 <= self.size_px.0 + 10.0
            && room.1.0 >= 0.0
            && room.1.1 <= self.size_px.1;
        if inside { hits } else { hits + 1000 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_goes_to_the_side_that_is_free() {
        let view = View { x: (0.0, 100.0), y: (0.0, 100.0), size_px: (400.0, 400.0) };
        let line: Vec<(f64, f64)> =
            (0..50).map(|i| (50.0 + f64::from(i), 50.0 + 0.4 * f64::from(i))).collect();
        let taken = view.boxes(line.iter());
        let covered = |offset: Offset| view.covered(&view.room((50.0, 50.0), "vehicle", offset), &taken);
        assert!(covered(BESIDE[0]) > 0, "to the right it would lie on the line");
        assert_eq!(covered(BESIDE[1]), 0);
        assert!(view.covered(&view.room((1.0, 50.0), "vehicle", BESIDE[1]), &[]) >= 1000, "out of the view");
    }
}
