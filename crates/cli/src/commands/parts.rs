//! `beamstay tether`, `rotor` and `light`: one part of the point alone.

use std::path::Path;

use beamstay_planner::{
    PointReport, light_detail::light_detail, point_report, rotors::rotor_states, tether_curves,
};
use beamstay_report::figure::{FigureError, rotor::rotor_figure, tether::tether_figure};
use serde_json::{Value, json};

use super::{End, failed, print, print_json, refuse, tell};
use crate::{
    args::{Format, PartArguments, RotorArguments, TetherArguments},
    input::read_scenario,
    messages::wants_colour,
    output::write_whole,
    text::{
        parts::{light_text, rotor_text, tether_text},
        point::Style,
    },
};

/// The tether alone.
pub fn tether(arguments: &TetherArguments) -> End {
    if let Some(file) = &arguments.plot
        && let Err(end) = plot(&arguments.scenario, file)
    {
        return end;
    }
    part(&arguments.scenario, tether_text, |report| {
        json!({
            "tether": report.point.tether,
            "tether_in_gust": report.point.tether_in_gust,
            "force_closure_ratio": report.point.force_closure_ratio,
            "limits": report.point.limits,
        })
    })
}

/// The rotors and the vehicle alone.
pub fn rotor(arguments: &RotorArguments) -> End {
    let inner = &arguments.scenario;
    let states = match read_scenario(&inner.file, &inner.assignments) {
        Ok((_, document, loaded)) => rotor_states(&document, &loaded),
        Err(failure) => return refuse(inner.format, &failure),
    };
    // What is wrong with the plan is told with its point.
    let states = states.ok().flatten();
    if let Some(file) = &arguments.plot {
        let Some(states) = &states else {
            return failed(inner.format, "no rotors carry this plan in the air; there is nothing to draw");
        };
        if let Err(end) = write_figure(inner, file, rotor_figure(states)) {
            return end;
        }
    }
    part(
        inner,
        |report, style| rotor_text(report, states.as_ref(), style),
        |report| {
            json!({
                "vehicle": report.point.vehicle,
                "vehicle_in_gust": report.point.vehicle_in_gust,
                "demand_w": report.point.demand_w,
                "masses": report.point.masses,
                "limits": report.point.limits,
                "states": states,
            })
        },
    )
}

/// The light alone.
pub fn light(arguments: &PartArguments) -> End {
    // What is wrong with the plan is told with its point.
    let loaded = read_scenario(&arguments.file, &arguments.assignments).ok().map(|(_, _, loaded)| loaded);
    let detail = |report: &PointReport| {
        loaded.as_ref().and_then(|loaded| light_detail(loaded, &report.point).ok()).unwrap_or_default()
    };
    part(
        arguments,
        |report, style| light_text(report, &detail(report), style),
        |report| {
            json!({
                "light": report.point.light,
                "available_w": report.point.available_w,
                "laser_setting_w": report.point.laser_setting_w,
                "power": report.point.power,
                "detail": detail(report),
                "limits": report.point.limits,
            })
        },
    )
}

/// Draws the tether into a file.
fn plot(arguments: &PartArguments, file: &str) -> Result<(), End> {
    let (_, _, loaded) = read_scenario(&arguments.file, &arguments.assignments)
        .map_err(|failure| refuse(arguments.format, &failure))?;
    let report = compute(arguments)?;
    let curves = tether_curves(&loaded).map_err(|error| failed(arguments.format, &error.to_string()))?;
    let Some((mean, gust)) = curves else {
        return Err(failed(arguments.format, "no tether hangs in this plan; there is nothing to draw"));
    };
    write_figure(arguments, file, tether_figure(&report.title, &report.point, &mean, &gust))
}

/// Writes a figure whole or not at all.
pub fn write_figure(
    arguments: &PartArguments,
    file: &str,
    figure: Result<String, FigureError>,
) -> Result<(), End> {
    let svg = figure.map_err(|error| failed(arguments.format, &error.to_string()))?;
    write_whole(Path::new(file), &svg)
        .map_err(|error| failed(arguments.format, &format!("{file} cannot be written: {error}")))
}

fn part(
    arguments: &PartArguments,
    text: impl Fn(&PointReport, Style) -> String,
    value: impl Fn(&PointReport) -> Value,
) -> End {
    let report = match compute(arguments) {
        Ok(report) => report,
        Err(end) => return end,
    };
    match arguments.format {
        Format::Json => {
            let mut value = value(&report);
            if let Some(object) = value.as_object_mut() {
                object.insert("title".into(), report.title.clone().into());
                object.insert("digest".into(), report.digest.clone().into());
                object.insert("version".into(), report.version.into());
                object.insert("cautions".into(), json!(report.cautions));
            }
            print_json(&value)
        }
        Format::Text => print(&text(&report, Style { colour: wants_colour(&std::io::stdout()) })),
    }
}

/// Reads a scenario and computes its point; what goes wrong is told.
pub fn compute(arguments: &PartArguments) -> Result<PointReport, End> {
    let (source, document, loaded) = read_scenario(&arguments.file, &arguments.assignments)
        .map_err(|failure| refuse(arguments.format, &failure))?;
    point_report(&document, &loaded).map_err(|error| tell(arguments.format, source, &document, error))
}
