//! `beamstay tether`, `rotor` and `light`: one part of the point alone. A part whose own limits are broken does not close; those
//! of the other parts do not count here.

use beamstay_planner::{
    PointReport, light_detail::light_detail, point_report, rotors::rotor_states, tether_curves,
    tether_detail::tether_detail,
};
use beamstay_report::figure::{rotor::rotor_figure, tether::tether_figure};
use serde_json::{Value, json};

use super::{End, ready::Ready};
use crate::{
    args::{PartArguments, PlotArguments},
    text::parts::{LIGHT, ROTOR, TETHER, holds, light_text, rotor_text, tether_text},
};

/// The tether alone.
pub fn tether(arguments: &PlotArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let report = ready.compute(point_report)?;
    if arguments.figure.plot.is_some() {
        let curves = ready.compute(|_, loaded| tether_curves(loaded))?;
        let Some((mean, gust)) = curves else {
            return Err(ready.fail("no tether hangs in this plan; there is nothing to draw"));
        };
        ready.draw(&arguments.figure, || tether_figure(&report.title, &report.point, &mean, &gust))?;
    }
    let detail = ready.compute(|_, loaded| tether_detail(loaded, &report.point))?;
    let value = json!({
        "tether": report.point.tether,
        "tether_in_gust": report.point.tether_in_gust,
        "force_closure_ratio": report.point.force_closure_ratio,
        "detail": detail,
        "limits": report.point.limits,
        "closes": holds(&report, TETHER),
    });
    let end = ready.show(&of_report(&report, value), |style| tether_text(&report, detail.as_ref(), style));
    Ok(end.if_closes(holds(&report, TETHER)))
}

/// The rotors and the vehicle alone.
pub fn rotor(arguments: &PlotArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let report = ready.compute(point_report)?;
    // States beside the point may have no answer where the point itself has one.
    let states = rotor_states(&ready.document, &ready.loaded).ok().flatten();
    if arguments.figure.plot.is_some() {
        let Some(states) = &states else {
            return Err(ready.fail("no rotors carry this plan in the air; there is nothing to draw"));
        };
        ready.draw(&arguments.figure, || rotor_figure(states))?;
    }
    let value = json!({
        "vehicle": report.point.vehicle,
        "vehicle_in_gust": report.point.vehicle_in_gust,
        "demand_w": report.point.demand_w,
        "masses": report.point.masses,
        "limits": report.point.limits,
        "closes": holds(&report, ROTOR),
        "states": states,
    });
    let end = ready.show(&of_report(&report, value), |style| rotor_text(&report, states.as_ref(), style));
    Ok(end.if_closes(holds(&report, ROTOR)))
}

/// The light alone.
pub fn light(arguments: &PartArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.scenario, arguments.format)?;
    let report = ready.compute(point_report)?;
    let detail = light_detail(&ready.loaded, &report.point).unwrap_or_default();
    let value = json!({
        "light": report.point.light,
        "available_w": report.point.available_w,
        "laser_setting_w": report.point.laser_setting_w,
        "power": report.point.power,
        "detail": detail,
        "limits": report.point.limits,
        "closes": holds(&report, LIGHT),
    });
    let end = ready.show(&of_report(&report, value), |style| light_text(&report, &detail, style));
    Ok(end.if_closes(holds(&report, LIGHT)))
}

/// A part of a report with the title, where it comes from, and the cautions.
fn of_report(report: &PointReport, mut part: Value) -> Value {
    if let Some(object) = part.as_object_mut() {
        object.insert("title".into(), report.title.clone().into());
        object.insert("digest".into(), report.digest.clone().into());
        object.insert("version".into(), report.version.into());
        object.insert("cautions".into(), json!(report.cautions));
    }
    part
}
