//! How the margin is spread, and what the spread comes from.

use beamstay_planner::risk::{Histogram, RiskReport};
use plotters::element::{PathElement, Rectangle, Text};
use plotters::style::{Color, ShapeStyle};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, axes},
    fault, figure,
    mark::{Dash, Form, Mark, Pattern, draw_line, fill_rectangle},
    theme::{CAPTION_PX, TEXT_PX},
};
use crate::number::quantity;

/// Height of the histogram, px.
const HISTOGRAM_PX: u32 = 400;
/// Height of one number's bars, px.
const ROW_PX: i32 = 52;
/// Numbers that are drawn.
const ROWS_COUNT: usize = 12;

/// Draws the histogram of the margin above bars of the sensitivities.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn risk_figure(report: &RiskReport) -> Result<String, FigureError> {
    let rows = report.numbers.len().min(ROWS_COUNT) as u32;
    let bars_px = if report.samples_count > 0 { 110 + ROW_PX as u32 * rows } else { 0 };
    figure((900, HISTOGRAM_PX + bars_px), &report.provenance.title, &description(report), |root| {
        let (top, bottom) = root.split_vertically(HISTOGRAM_PX);
        match &report.histogram {
            Some(histogram) => draw_histogram(&top, report, histogram)?,
            None => {
                let text = "the margin does not vary, or no draw has one";
                top.draw(&Text::new(text, (90, 80), Theme::text(TEXT_PX))).map_err(fault)?;
            }
        }
        if report.samples_count > 0 { draw_bars(&bottom, report) } else { Ok(()) }
    })
}

fn description(report: &RiskReport) -> String {
    let median = report
        .percentiles
        .iter()
        .find(|p| p.share_percent == 50.0)
        .and_then(|p| p.margin_w)
        .map_or("no balance".into(), |w| quantity(w, "W"));
    let first = report.numbers.first().map_or("", |n| n.pointer.as_str());
    format!(
        "Above: distribution of the power margin over {} draws; the plan closes in {:.1} %, median margin {median}. Below: share of the \
         variance of the margin that each uncertain number causes; the largest is {first}.",
        report.draws_count,
        100.0 * report.closes_ratio
    )
}

fn draw_histogram(area: &Area<'_>, report: &RiskReport, histogram: &Histogram) -> Result<(), FigureError> {
    let percent: Vec<f64> = histogram.share_ratios.iter().map(|s| 100.0 * s).collect();
    let x = Axis { name: "power available less the demand, W", from: histogram.low_w, to: histogram.high_w };
    let most = percent.iter().copied().fold(0.0, f64::max);
    // Room above the bars for what is written beside the rules.
    let y = Axis::around("draws, %", percent.iter().copied().chain([0.0, 1.4 * most]));
    let caption = format!(
        "margin: closes in {:.1} % of draws (95 % interval {:.1} to {:.1} %)",
        100.0 * report.closes_ratio,
        100.0 * report.closes_low_ratio,
        100.0 * report.closes_high_ratio
    );
    let mut chart = axes(area, &caption, x, y)?;
    let width = (histogram.high_w - histogram.low_w) / percent.len() as f64;
    for (index, height) in percent.iter().enumerate() {
        let left = histogram.low_w + width * index as f64;
        let corners = [(left, 0.0), (left + width, *height)];
        chart.draw_series([Rectangle::new(corners, Theme::FILLS[0].filled())]).map_err(fault)?;
        let edge = ShapeStyle { color: Theme::GOOD.to_rgba(), filled: false, stroke_width: 1 };
        chart.draw_series([Rectangle::new(corners, edge)]).map_err(fault)?;
    }
    let aside = 0.008 * (x.to - x.from);
    let rule = |dash| Mark { colour: Theme::INK, dash, form: Form::None, width_px: 2 };
    if histogram.low_w < 0.0 && histogram.high_w > 0.0 {
        draw_line(&mut chart, &[(0.0, 0.0), (0.0, y.to)], rule(Dash::Solid), 1)?;
        let label = Text::new("0: demand just met", (aside, y.to), Theme::text(TEXT_PX));
        chart.draw_series([label]).map_err(fault)?;
    }
    for percentile in report.percentiles.iter().filter(|p| [5.0, 50.0].contains(&p.share_percent)) {
        let Some(margin) = percentile.margin_w.filter(|w| *w > x.from && *w < x.to) else { continue };
        draw_line(&mut chart, &[(margin, 0.0), (margin, 0.9 * y.to)], rule(Dash::Dashed), 1)?;
        let label = format!("{} %: {}", percentile.share_percent, quantity(margin, "W"));
        let height = if percentile.share_percent < 10.0 { 0.82 } else { 0.91 };
        chart
            .draw_series([Text::new(label, (margin + aside, height * y.to), Theme::text(TEXT_PX))])
            .map_err(fault)?;
    }
    Ok(())
}

fn draw_bars(area: &Area<'_>, report: &RiskReport) -> Result<(), FigureError> {
    const LEFT: i32 = 340;
    const FULL: i32 = 420;
    area.draw(&Text::new("share of the margin's variance", (24, 8), Theme::text(CAPTION_PX)))
        .map_err(fault)?;
    let key = "upper bar, plain: alone; lower bar, hatched: with all others too";
    area.draw(&Text::new(key, (24, 38), Theme::text(TEXT_PX))).map_err(fault)?;
    for (row, number) in report.numbers.iter().take(ROWS_COUNT).enumerate() {
        let top = 74 + ROW_PX * row as i32;
        let style = Theme::ending(Theme::text(TEXT_PX));
        let mut steps: Vec<&str> = number.pointer.rsplit('/').take(2).collect();
        steps.reverse();
        let name = steps.join("/");
        area.draw(&Text::new(name, (LEFT - 12, top + 20), style)).map_err(fault)?;
        let Some(index) = number.of_margin else { continue };
        let bars = [
            (top, index.first_order_ratio, index.first_order_error_ratio, Pattern::Plain, 0),
            (top + 21, index.total_ratio, index.total_error_ratio, Pattern::Rising, 1),
        ];
        for (y, share, error, pattern, series) in bars {
            let right = LEFT + (f64::from(FULL) * share.clamp(0.0, 1.0)) as i32 + 1;
            fill_rectangle(
                area,
                (LEFT, y),
                (right, y + 17),
                Theme::FILLS[series],
                pattern,
                Theme::SERIES[series],
            )?;
            let edge = ShapeStyle { color: Theme::SERIES[series].to_rgba(), filled: false, stroke_width: 1 };
            area.draw(&Rectangle::new([(LEFT, y), (right, y + 17)], edge)).map_err(fault)?;
            let style = Theme::beginning(Theme::text(TEXT_PX));
            // A share that rounds to nothing has no sign.
            let text = format!("{:.2} ± {error:.2}", (100.0 * share).round() / 100.0 + 0.0);
            area.draw(&Text::new(text, (right + 8, y + 9), style)).map_err(fault)?;
        }
    }
    let bottom = 74 + ROW_PX * report.numbers.len().min(ROWS_COUNT) as i32;
    let axis = ShapeStyle { color: Theme::INK.to_rgba(), filled: false, stroke_width: 1 };
    area.draw(&PathElement::new(vec![(LEFT, 70), (LEFT, bottom)], axis)).map_err(fault)
}
