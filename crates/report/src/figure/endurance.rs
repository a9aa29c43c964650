//! A plan flown through time: share of each day on station, wind, charge, and how long the stays are.

use beamstay_planner::endurance::{EnduranceReport, HourRow};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, axes, axes_told},
    figure,
    mark::{Entry, Form, Mark, Pattern, draw_legend, draw_line, fill_rectangle},
};
use crate::number::{significant, tick};

/// Width and height, px.
const SIZE: (u32, u32) = (900, 1060);
/// Most steps of the timeline.
const STEPS: usize = 400;

/// Draws the timeline and the distribution of stays and outages.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn endurance_figure(report: &EnduranceReport) -> Result<String, FigureError> {
    let description = format!(
        "On station {} % of the time with a record, {} stays, the longest {} h; longest outage {} h.",
        significant(100.0 * report.on_station_ratio, 3),
        report.stays.count,
        significant(report.stays.longest_h, 3),
        significant(report.outages.longest_h, 3)
    );
    let title = format!("{}: endurance", report.title);
    figure(SIZE, &title, &description, |root| {
        let (top, rest) = root.split_vertically(330);
        let (middle, rest) = rest.split_vertically(330);
        let (bottom, legend) = rest.split_vertically(320);
        let steps = steps(&report.rows);
        shares(&top, &steps)?;
        winds(&middle, &steps)?;
        classes(&bottom, report)?;
        let patch = |index: usize, text: &str| Entry::Patch {
            fill: Theme::FILLS[index],
            pattern: Pattern::area(index),
            stroke: Theme::SERIES[index],
            text: text.into(),
        };
        let line = |index: usize, text: &str| Entry::Line(mark(index), text.into());
        let entries = [
            line(0, "on station; mean wind"),
            line(1, "charge; strongest gust"),
            patch(0, "stays"),
            patch(1, "outages"),
        ];
        draw_legend(&legend, &entries, 80)
    })
}

fn mark(index: usize) -> Mark {
    Mark { form: Form::None, ..Mark::series(index) }
}

/// Hours put together to one step.
struct Step {
    day: f64,
    on_station: Option<f64>,
    charge: f64,
    mean_m_s: f64,
    gust_m_s: f64,
}

fn steps(rows: &[HourRow]) -> Vec<Step> {
    let hours = rows.len().div_ceil(STEPS).max(1);
    rows.chunks(hours)
        .enumerate()
        .map(|(i, chunk)| {
            let known: Vec<&HourRow> = chunk.iter().filter(|row| row.wind_m_s.is_some()).collect();
            let on_s: f64 = known.iter().map(|row| row.on_station_s).sum();
            let largest =
                |value: fn(&HourRow) -> Option<f64>| chunk.iter().filter_map(value).fold(0.0, f64::max);
            let winds: f64 = known.iter().filter_map(|row| row.wind_m_s).sum();
            Step {
                day: (i * hours) as f64 / 24.0,
                on_station: (!known.is_empty()).then(|| on_s / (3600.0 * known.len() as f64)),
                charge: chunk.iter().map(|row| row.charge_ratio).fold(1.0, f64::min),
                mean_m_s: if known.is_empty() { 0.0 } else { winds / known.len() as f64 },
                gust_m_s: largest(|row| row.gust_m_s),
            }
        })
        .collect()
}

fn shares(area: &Area<'_>, steps: &[Step]) -> Result<(), FigureError> {
    let x = Axis { name: "time, days", from: 0.0, to: steps.last().map_or(1.0, |s| s.day.max(0.1)) };
    let y = Axis { name: "share, %", from: 0.0, to: 105.0 };
    let mut chart = axes(area, "on station, and the lowest charge of the battery", x, y)?;
    let charge: Vec<(f64, f64)> = steps.iter().map(|s| (s.day, 100.0 * s.charge)).collect();
    draw_line(&mut chart, &charge, Mark { width_px: 1, ..mark(1) }, 1)?;
    // A gap breaks the line: it is not zero.
    for run in steps.split(|step| step.on_station.is_none()) {
        let line: Vec<(f64, f64)> =
            run.iter().filter_map(|s| s.on_station.map(|share| (s.day, 100.0 * share))).collect();
        draw_line(&mut chart, &line, Mark { width_px: 2, ..mark(0) }, 1)?;
    }
    Ok(())
}

fn winds(area: &Area<'_>, steps: &[Step]) -> Result<(), FigureError> {
    let x = Axis { name: "time, days", from: 0.0, to: steps.last().map_or(1.0, |s| s.day.max(0.1)) };
    let y = Axis::around("wind at the anemometer, m/s", steps.iter().map(|s| s.gust_m_s).chain([0.0]));
    let mut chart = axes(area, "mean wind, and the strongest gust that counts", x, y)?;
    let line = |value: fn(&Step) -> f64| steps.iter().map(|s| (s.day, value(s))).collect::<Vec<_>>();
    draw_line(&mut chart, &line(|s| s.gust_m_s), Mark { width_px: 1, ..mark(1) }, 1)?;
    draw_line(&mut chart, &line(|s| s.mean_m_s), Mark { width_px: 2, ..mark(0) }, 1)
}

fn classes(area: &Area<'_>, report: &EnduranceReport) -> Result<(), FigureError> {
    let names = ["≤ 1 h", "≤ 3 h", "≤ 6 h", "≤ 12 h", "≤ 24 h", "≤ 3 d", "≤ 7 d", "longer"];
    let (stays, outages) = (&report.stays.classes_count, &report.outages.classes_count);
    let most = stays.iter().chain(outages).copied().max().unwrap_or(0).max(1) as f64;
    let x = Axis { name: "length", from: -0.5, to: 7.5 };
    let y = Axis { name: "how many", from: 0.0, to: 1.18 * most };
    let named = |at: f64| {
        let name =
            names.get(at.round().max(0.0) as usize).filter(|_| (at - at.round()).abs() < 1e-6 && at > -0.1);
        name.map_or(String::new(), |name| (*name).to_owned())
    };
    let chart = axes_told(area, "stays and outages by length", (x, &named), (y, &|value| tick(value, y.to)))?;
    let base = area.get_base_pixel();
    let own = |place: (f64, f64)| {
        let pixel = chart.backend_coord(&place);
        (pixel.0 - base.0, pixel.1 - base.1)
    };
    for i in 0..names.len() {
        for (index, (count, shift)) in [(stays[i], -0.38), (outages[i], 0.0)].into_iter().enumerate() {
            let left = i as f64 + shift;
            let corner = own((left, 0.0));
            let opposite = own((left + 0.36, count as f64));
            fill_rectangle(
                area,
                corner,
                opposite,
                Theme::FILLS[index],
                Pattern::area(index),
                Theme::SERIES[index],
            )?;
        }
    }
    Ok(())
}
