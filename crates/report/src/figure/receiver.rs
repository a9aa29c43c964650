//! Delivered, carrying and net power of the best receiver over its mass.

use beamstay_planner::receiver::{ReceiverPoint, ReceiverTrade};
use plotters::element::Text;

use super::{
    CHART, FigureError, Theme,
    axes::{Axis, axes},
    fault, figure,
    mark::{Dash, Entry, Form, Mark, draw_legend, draw_line, legend_height_px},
    theme::TEXT_PX,
};
use crate::number::quantity;

type Reading = (&'static str, fn(&ReceiverPoint) -> f64);

const READINGS: [Reading; 3] = [
    ("delivered at the bus", |p| p.delivered_w),
    ("cost of carrying the receiver", |p| p.carrying_w),
    ("net: delivered less carrying", |p| p.net_w),
];

/// Draws the curve with the best and the stated receiver.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn receiver_figure(trade: &ReceiverTrade) -> Result<String, FigureError> {
    let description = format!(
        "Power over the mass of the receiver. The best weighs {}, delivers {} and leaves {} after its own carrying.",
        quantity(trade.best.mass_kg, "kg"),
        quantity(trade.best.delivered_w, "W"),
        quantity(trade.best.net_w, "W")
    );
    let entries: Vec<Entry> = READINGS
        .iter()
        .enumerate()
        .map(|(i, (name, _))| Entry::Line(Mark::series(i), (*name).to_owned()))
        .collect();
    figure(CHART, &trade.provenance.title, &description, |root| {
        let (area, legend) = root.split_vertically(CHART.1 - legend_height_px(&entries, 820));
        let x = Axis::around("mass of the receiver, kg", trade.curve.iter().map(|p| p.mass_kg));
        let values = trade.curve.iter().flat_map(|p| READINGS.map(|(_, read)| read(p)));
        let most_w = trade.curve.iter().map(|p| p.delivered_w).fold(0.0, f64::max);
        // Room above the curves for what is written beside the rules.
        let y = Axis::around("power, W", values.chain([0.0, 1.25 * most_w]));
        let mut chart = axes(&area, "the best receiver of each mass", x, y)?;
        for (index, (_, read)) in READINGS.iter().enumerate() {
            let line: Vec<(f64, f64)> = trade.curve.iter().map(|p| (p.mass_kg, read(p))).collect();
            draw_line(&mut chart, &line, Mark::series(index), 3)?;
        }
        let rule = Mark { colour: Theme::INK, dash: Dash::Dotted, form: Form::None, width_px: 2 };
        let marks = [("best", Some(trade.best)), ("stated", trade.stated)];
        // Beside a line that has the other one just to its right, a label begins behind that one.
        let right_kg =
            trade.stated.map_or(trade.best.mass_kg, |stated| stated.mass_kg.max(trade.best.mass_kg));
        let near_kg = 0.1 * (x.to - x.from);
        for (row, (name, point)) in marks.into_iter().enumerate() {
            let Some(point) = point else { continue };
            let mass_kg = point.mass_kg;
            draw_line(&mut chart, &[(mass_kg, y.from), (mass_kg, y.to)], rule, 1)?;
            let label = format!("{name}: {}, net {}", quantity(mass_kg, "kg"), quantity(point.net_w, "W"));
            let behind_kg = if right_kg - mass_kg < near_kg { right_kg } else { mass_kg };
            let place =
                (behind_kg + 0.01 * (x.to - x.from), y.to - (0.01 + 0.07 * row as f64) * (y.to - y.from));
            chart.draw_series([Text::new(label, place, Theme::text(TEXT_PX))]).map_err(fault)?;
        }
        draw_legend(&legend, &entries, 78)
    })
}
