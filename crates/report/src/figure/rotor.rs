//! Power of the rotors over the wind, and over climb and descent with the vortex ring state.

use beamstay_planner::rotors::{RotorStates, VerticalRow, WindRow};
use plotters::{
    element::{Rectangle, Text},
    style::Color,
};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, axes},
    fault, figure,
    mark::{Dash, Entry, Form, Mark, Pattern, draw_legend, draw_line, legend_height_px},
    theme::TEXT_PX,
};
use crate::number::quantity;

/// Width and height, px.
const SIZE_PX: (u32, u32) = (900, 1040);
/// Height of the legends is taken from this width, px.
const LEGEND_PX: i32 = 820;
/// Of so many points one carries a mark.
const MARK_EVERY: usize = 5;

type Reading<Row> = (&'static str, fn(&Row) -> f64);

const WIND: [Reading<WindRow>; 5] = [
    ("shaft", |r| r.shaft_w),
    ("induced", |r| r.induced_w),
    ("profile", |r| r.profile_w),
    ("body drag × wind", |r| r.body_w),
    ("tether pull and rotor drag × wind", |r| r.tether_and_rotor_drag_w),
];

const VERTICAL: [Reading<VerticalRow>; 4] = [
    ("shaft", |r| r.shaft_w),
    ("induced", |r| r.induced_w),
    ("profile", |r| r.profile_w),
    ("thrust × vertical speed", |r| r.axial_w),
];

/// Draws the powers over the wind at the station and over the vertical speed in calm air.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn rotor_figure(states: &RotorStates) -> Result<String, FigureError> {
    figure(SIZE_PX, &states.title, &description(states), |root| {
        let (wind, vertical) = root.split_vertically(SIZE_PX.1 / 2);
        draw_wind(&wind, states)?;
        draw_vertical(&vertical, states)
    })
}

fn description(states: &RotorStates) -> String {
    let at = |row: Option<&WindRow>| {
        row.map_or(String::new(), |r| {
            format!("{} at {}", quantity(r.shaft_w, "W"), quantity(r.wind_m_s, "m/s"))
        })
    };
    let least = states.wind.iter().min_by(|a, b| a.shaft_w.total_cmp(&b.shaft_w));
    format!(
        "Above: power at the rotor shafts over the wind at the station: {}, least {}, {}. Below: power over vertical speed in calm air; \
         the vortex ring state lies between descents of {} and {}.",
        at(states.wind.first()),
        at(least),
        at(states.wind.last()),
        quantity(states.descent.vortex_ring_from_m_s, "m/s"),
        quantity(states.descent.vortex_ring_to_m_s, "m/s"),
    )
}

fn lines<Row>(rows: &[Row], x: fn(&Row) -> f64, readings: &[Reading<Row>]) -> Vec<Vec<(f64, f64)>> {
    readings.iter().map(|(_, y)| rows.iter().map(|row| (x(row), y(row))).collect()).collect()
}

fn draw_wind(area: &Area<'_>, states: &RotorStates) -> Result<(), FigureError> {
    let lines = lines(&states.wind, |r| r.wind_m_s, &WIND);
    let entries: Vec<Entry> =
        WIND.iter().enumerate().map(|(i, (name, _))| Entry::Line(Mark::series(i), (*name).into())).collect();
    let (x, y) = ranges(&lines, "wind at the station, m/s", "power at the rotor shafts, W");
    let (chart_area, legend) = area.split_vertically(SIZE_PX.1 / 2 - legend_height_px(&entries, LEGEND_PX));
    let mut chart = axes(&chart_area, "in the wind, at the station", x, y)?;
    for (index, line) in lines.iter().enumerate() {
        draw_line(&mut chart, line, Mark::series(index), MARK_EVERY)?;
    }
    draw_legend(&legend, &entries, 78)
}

fn draw_vertical(area: &Area<'_>, states: &RotorStates) -> Result<(), FigureError> {
    let lines = lines(&states.vertical, |r| r.rate_m_s, &VERTICAL);
    let mut entries: Vec<Entry> = VERTICAL
        .iter()
        .enumerate()
        .map(|(i, (name, _))| Entry::Line(Mark::series(i), (*name).into()))
        .collect();
    entries.push(Entry::Patch {
        fill: Theme::FILLS[1],
        pattern: Pattern::Plain,
        stroke: Theme::FILLS[1],
        text: "vortex ring state: not to be flown".into(),
    });
    let (x, y) = ranges(&lines, "vertical speed, m/s: climb to the right, descent to the left", "power, W");
    let (chart_area, legend) = area.split_vertically(SIZE_PX.1 / 2 - legend_height_px(&entries, LEGEND_PX));
    let mut chart = axes(&chart_area, "climb and descent in calm air", x, y)?;
    let (from, to) = (-states.descent.vortex_ring_to_m_s, -states.descent.vortex_ring_from_m_s);
    let band = Rectangle::new([(from.max(x.from), y.from), (to.min(x.to), y.to)], Theme::FILLS[1].filled());
    chart.draw_series([band]).map_err(fault)?;
    let safe_m_s = -states.descent.safe_rate_m_s;
    let rule = Mark { colour: Theme::INK, dash: Dash::Dotted, form: Form::None, width_px: 2 };
    draw_line(&mut chart, &[(safe_m_s, y.from), (safe_m_s, y.to)], rule, 1)?;
    for (index, line) in lines.iter().enumerate() {
        draw_line(&mut chart, line, Mark::series(index), MARK_EVERY)?;
    }
    let label = format!("fastest to plan with: {}", quantity(-safe_m_s, "m/s"));
    let place = (safe_m_s + 0.01 * (x.to - x.from), y.to - 0.06 * (y.to - y.from));
    chart.draw_series([Text::new(label, place, Theme::text(TEXT_PX))]).map_err(fault)?;
    draw_legend(&legend, &entries, 78)
}

/// Axes that hold all lines, the powers from zero.
fn ranges<'a>(lines: &[Vec<(f64, f64)>], x_name: &'a str, y_name: &'a str) -> (Axis<'a>, Axis<'a>) {
    let points = || lines.iter().flatten();
    let y = Axis::around(y_name, points().map(|p| p.1).chain([0.0]));
    (Axis::around(x_name, points().map(|p| p.0)), y)
}
