//! The ways of the power side by side as bars, and who wins where as a map of height and payload power.

use beamstay_planner::compare::{Cell, CompareReport, Kind};
use plotters::element::Text;

use super::{
    FigureError, Theme,
    axes::{Area, Axis, axes_told},
    fault, figure,
    mark::{Entry, Pattern, draw_legend, fill_rectangle, legend_height_px},
};
use crate::number::{quantity, significant, tick};

/// Width and height, px.
const SIZE: (u32, u32) = (900, 1120);

/// Draws masses and wall powers of the ways, and the two maps.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn compare_figure(report: &CompareReport) -> Result<String, FigureError> {
    let description = report
        .alternatives
        .iter()
        .map(|way| {
            format!(
                "{}: {}, {} on the aircraft, {} from the wall.",
                way.kind.words(),
                if way.feasible { "holds" } else { "does not hold" },
                quantity(way.lifted_kg(), "kg"),
                quantity(way.wall_w, "W")
            )
        })
        .collect::<Vec<_>>()
        .join(" ");
    let title = format!("{}: ways of the power", report.title);
    figure(SIZE, &title, &description, |root| {
        let entries: Vec<Entry> = Kind::ALL
            .iter()
            .enumerate()
            .map(|(index, kind)| Entry::Patch {
                fill: Theme::FILLS[index],
                pattern: Pattern::area(index),
                stroke: Theme::SERIES[index],
                text: kind.words().into(),
            })
            .collect();
        let (charts, legend) = root.split_vertically(SIZE.1 - legend_height_px(&entries, 780) - 16);
        let (bars_area, maps) = charts.split_vertically(310);
        let (left, right) = bars_area.split_horizontally(450);
        bars(&left, report, "on the aircraft, kg", |way| way.lifted_kg())?;
        bars(&right, report, "from the wall, W", |way| way.wall_w)?;
        let (upper, lower) = maps.split_vertically(380);
        map(&upper, report, "least mass on the aircraft; the number: second over first", |cell| {
            (cell.least_mass, cell.mass_lead_ratio)
        })?;
        map(&lower, report, "least power from the wall; the number: second over first", |cell| {
            (cell.least_wall, cell.wall_lead_ratio)
        })?;
        draw_legend(&legend, &entries, 80)
    })
}

fn index_of(kind: Kind) -> usize {
    Kind::ALL.iter().position(|k| *k == kind).unwrap_or(0)
}

fn bars(
    area: &Area<'_>,
    report: &CompareReport,
    name: &str,
    value: impl Fn(&beamstay_planner::compare::Alternative) -> f64,
) -> Result<(), FigureError> {
    let most = report.alternatives.iter().map(&value).fold(0.0, f64::max).max(1e-9);
    let x = Axis { name: "", from: -0.5, to: report.alternatives.len() as f64 - 0.5 };
    let y = Axis { name, from: 0.0, to: 1.2 * most };
    // Under a bar stands its name; halves of the axis have none.
    let named = |at: f64| {
        let way = report.alternatives.get(at.round().max(0.0) as usize);
        way.filter(|_| (at - at.round()).abs() < 1e-6 && at > -0.1)
            .map_or(String::new(), |way| way.kind.words().to_owned())
    };
    let chart = axes_told(area, name, (x, &named), (y, &|value| tick(value, y.to)))?;
    let base = area.get_base_pixel();
    let own = |place: (f64, f64)| {
        let pixel = chart.backend_coord(&place);
        (pixel.0 - base.0, pixel.1 - base.1)
    };
    for (i, way) in report.alternatives.iter().enumerate() {
        let corner = own((i as f64 - 0.3, 0.0));
        let opposite = own((i as f64 + 0.3, value(way)));
        let k = index_of(way.kind);
        fill_rectangle(area, corner, opposite, Theme::FILLS[k], Pattern::area(k), Theme::SERIES[k])?;
        let label = if way.feasible { significant(value(way), 3) } else { "does not hold".into() };
        let place = ((corner.0 + opposite.0) / 2, opposite.1 - 12);
        area.draw(&Text::new(label, place, Theme::centred(Theme::text(15)))).map_err(fault)?;
    }
    Ok(())
}

/// Cells with logarithmic sides, told apart by colour, pattern and letter.
fn map(
    area: &Area<'_>,
    report: &CompareReport,
    caption: &str,
    winner: impl Fn(&Cell) -> (Option<Kind>, Option<f64>),
) -> Result<(), FigureError> {
    let map = &report.map;
    let side = |values: &[f64]| -> (f64, f64, f64) {
        let (first, last) = (values.first().copied().unwrap_or(1.0), values.last().copied().unwrap_or(10.0));
        let half = 0.5 * (last / first).log10() / (values.len().max(2) - 1) as f64;
        (first.log10() - half, last.log10() + half, half)
    };
    let (x, y) = (side(&map.payloads_w), side(&map.heights_m));
    let power_of_ten = |value: f64| significant(10f64.powf(value), 2);
    let chart = axes_told(
        area,
        caption,
        (Axis { name: "payload power, W", from: x.0, to: x.1 }, &power_of_ten),
        (Axis { name: "height, m", from: y.0, to: y.1 }, &power_of_ten),
    )?;
    let base = area.get_base_pixel();
    let own = |place: (f64, f64)| {
        let pixel = chart.backend_coord(&place);
        (pixel.0 - base.0, pixel.1 - base.1)
    };
    for cell in &map.cells {
        let (px, py) = (cell.payload_w.log10(), cell.height_m.log10());
        let corner = own((px - x.2, py - y.2));
        let opposite = own((px + x.2, py + y.2));
        let (kind, lead) = winner(cell);
        let Some(kind) = kind else { continue };
        let k = index_of(kind);
        fill_rectangle(area, corner, opposite, Theme::FILLS[k], Pattern::area(k), Theme::SERIES[k])?;
        if let Some(lead) = lead {
            let place = ((corner.0 + opposite.0) / 2, (corner.1 + opposite.1) / 2);
            let style = Theme::centred(Theme::text(13));
            area.draw(&Text::new(significant(lead, 2), place, style)).map_err(fault)?;
        }
    }
    Ok(())
}
