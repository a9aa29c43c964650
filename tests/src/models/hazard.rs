//! Models of the area `hazard`.

use beamstay_optics::{
    data_link::{Budget, Interface, Link, MultimodeGrade, budget},
    hazard::{
        CollimatedBeam, Conditions, DiffuseReflection, Edition, EmissionLimits, Exposure, ExposureLimit,
        FiberEnd, FiberLight, Form, HazardDistances, LaserClass, Source, distance::assess,
    },
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (group, output) = model.split_once('.')?;
    match group {
        "limit" => limit(output, inputs).map(|limit| limit.irradiance_w_m2),
        "aperture_mm" => limit(output, inputs).map(|limit| limit.basis.aperture_mm),
        "radiant_exposure_j_m2" => limit(output, inputs).map(|limit| limit.radiant_exposure_j_m2()),
        "class" => class(output, inputs),
        "fiber_end" => fiber_end(output, inputs),
        "beam" => beam(output, inputs),
        "diffuse" => diffuse(inputs),
        "assess" | "assess_single_mode" | "assess_beam" | "assess_diffuse" => assessed(group, output, inputs),
        "data_link" => data_link(output, inputs),
        _ => None,
    }
}

fn edition(inputs: &Value) -> Option<Edition> {
    match inputs.get("edition").and_then(Value::as_str) {
        None | Some("more_restrictive") => Some(Edition::MoreRestrictive),
        Some("iec_2014") => Some(Edition::Iec2014),
        Some("iec_2007") => Some(Edition::Iec2007),
        Some(_) => None,
    }
}

fn wavelength_m(inputs: &Value) -> Option<f64> {
    Some(number(inputs, "wavelength_nm")? * 1e-9)
}

/// Limit that a formula for a distance goes down to: given, or the one of an organ, W/m².
fn limit_w_m2(organ: &str, inputs: &Value) -> Option<f64> {
    number(inputs, "limit_w_m2").or_else(|| limit(organ, inputs).map(|limit| limit.irradiance_w_m2))
}

/// `eye`, `skin` and their sustained forms.
fn limit(organ: &str, inputs: &Value) -> Option<ExposureLimit> {
    let n = |key| number(inputs, key);
    let exposure = Exposure::new(wavelength_m(inputs)?, n("exposure_s")?).ok()?;
    let exposure = exposure.with_source_angle_rad(1e-3 * n("source_angle_mrad").unwrap_or(0.0)).ok()?;
    let exposure = exposure.with_exposed_area_m2(n("exposed_area_m2").unwrap_or(0.0)).ok()?;
    let edition = edition(inputs)?;
    Some(match organ {
        "eye" => exposure.eye(edition),
        "skin" => exposure.skin(edition),
        "eye_sustained" => exposure.eye_sustained(edition),
        "skin_sustained" => exposure.skin_sustained(edition),
        _ => return None,
    })
}

fn class(output: &str, inputs: &Value) -> Option<f64> {
    let limits = EmissionLimits::new(wavelength_m(inputs)?, edition(inputs)?).ok()?;
    Some(match output {
        "class_1_w" => limits.class_1_w,
        "class_3r_w" => limits.class_3r_w,
        "class_3b_w" => limits.class_3b_w,
        "number" => match limits.class_of(number(inputs, "power_w")?).ok()? {
            LaserClass::One => 1.0,
            LaserClass::ThreeR => 3.0,
            LaserClass::ThreeB => 3.5,
            LaserClass::Four => 4.0,
        },
        _ => return None,
    })
}

fn end(inputs: &Value) -> Option<FiberEnd> {
    let light = match number(inputs, "numerical_aperture") {
        Some(numerical_aperture) => FiberLight::Multimode { numerical_aperture },
        None => FiberLight::SingleMode { mode_field_radius_m: number(inputs, "mode_field_radius_m")? },
    };
    FiberEnd::new(number(inputs, "power_w")?, wavelength_m(inputs)?, light).ok()
}

fn fiber_end(output: &str, inputs: &Value) -> Option<f64> {
    let end = end(inputs)?;
    let n = |key| number(inputs, key);
    match output {
        "diameter_63_m" => return Some(end.diameter_63_m(n("distance_m")?)),
        "share_through" => return end.share_through(n("aperture_m")?, n("distance_m")?).ok(),
        // Largest power at which what passes the aperture stays within class 1.
        "class_1_power_w" => {
            let limits = EmissionLimits::new(wavelength_m(inputs)?, edition(inputs)?).ok()?;
            return Some(limits.class_1_w / end.share_through(n("aperture_m")?, n("distance_m")?).ok()?);
        }
        "class_1_power_dbm" => {
            let limits = EmissionLimits::new(wavelength_m(inputs)?, edition(inputs)?).ok()?;
            let power_w = limits.class_1_w / end.share_through(n("aperture_m")?, n("distance_m")?).ok()?;
            return Some(10.0 * (power_w * 1e3).log10());
        }
        _ => {}
    }
    let (organ, form) = output.split_once('_')?;
    let limit_w_m2 = limit_w_m2(organ, inputs)?;
    form_distance_m(&Source::FiberEnd(end), end.forms(limit_w_m2).longest_m(), form, limit_w_m2)
}

fn form_distance_m(source: &Source, longest_m: f64, form: &str, limit_w_m2: f64) -> Option<f64> {
    let form = match form {
        "rounded_m" => Form::MultimodeRounded,
        "gaussian_m" => Form::MultimodeGaussian,
        "cone_m" => Form::UniformCone,
        "single_mode_m" => Form::SingleMode,
        "iec_m" => Form::CollimatedIec,
        "ansi_m" => Form::CollimatedAnsi,
        "peak_m" => Form::GaussianPeak,
        "longest_m" => return Some(longest_m),
        _ => return None,
    };
    source.forms(limit_w_m2).distance_m(form)
}

fn beam(output: &str, inputs: &Value) -> Option<f64> {
    let limit_w_m2 = limit_w_m2("eye", inputs)?;
    let source = Source::Beam(beam_source(inputs)?);
    form_distance_m(&source, source.forms(limit_w_m2).longest_m(), output, limit_w_m2)
}

/// A beam from its waist, from the optic that focuses it, or from diameter and divergence.
fn beam_source(inputs: &Value) -> Option<CollimatedBeam> {
    let n = |key| number(inputs, key);
    let (power_w, wavelength_m) = (n("power_w")?, wavelength_m(inputs).unwrap_or(1e-6));
    let quality = n("beam_quality_ratio").unwrap_or(1.0);
    let beam = match (n("launch_radius_m"), n("waist_radius_m")) {
        (Some(radius_m), _) => match n("focus_m") {
            None => CollimatedBeam::from_waist(power_w, wavelength_m, radius_m, quality),
            Some(0.0) => CollimatedBeam::focused_anywhere(power_w, wavelength_m, radius_m, quality),
            Some(focus_m) => CollimatedBeam::focused_at(power_w, wavelength_m, radius_m, quality, focus_m),
        },
        (None, Some(radius_m)) => CollimatedBeam::from_waist(power_w, wavelength_m, radius_m, quality),
        (None, None) => {
            CollimatedBeam::new(power_w, wavelength_m, n("diameter_m")?, 1e-3 * n("divergence_mrad")?)
        }
    };
    let beam = beam.ok()?;
    let beam = n("captured_share").map_or(Some(beam), |share| beam.spilled(share).ok())?;
    n("reflectance").map_or(Some(beam), |share| beam.reflected(share).ok())
}

fn diffuse(inputs: &Value) -> Option<f64> {
    Some(spot(inputs)?.forms(limit_w_m2("eye", inputs)?).longest_m())
}

fn spot(inputs: &Value) -> Option<DiffuseReflection> {
    let n = |key| number(inputs, key);
    DiffuseReflection::new(n("power_w")?, wavelength_m(inputs)?, n("reflectance")?).ok()
}

/// Distances as a planner gets them.
fn assessed(group: &str, output: &str, inputs: &Value) -> Option<f64> {
    let source = match group {
        "assess_beam" => Source::Beam(beam_source(inputs)?),
        "assess_diffuse" => Source::Diffuse(spot(inputs)?),
        _ => Source::FiberEnd(end(inputs)?),
    };
    let mut conditions = Conditions::new(number(inputs, "time_base_s")?, edition(inputs)?).ok()?;
    if let Some(shut_off_s) = number(inputs, "shut_off_s") {
        conditions = conditions.with_shut_off_s(shut_off_s).ok()?;
    }
    let found = assess(&source, &conditions).ok()?;
    let distances: HazardDistances = match found.with_shut_off {
        Some(distances) => distances,
        None => found.without_shut_off,
    };
    Some(match output {
        "eye_m" => distances.eye.distance_m,
        "eye_with_optics_m" => distances.eye_with_optics.distance_m,
        "skin_m" => distances.skin.distance_m,
        _ => return None,
    })
}

fn data_link(output: &str, inputs: &Value) -> Option<f64> {
    let n = |key| number(inputs, key);
    let interface = match inputs.get("interface")?.as_str()? {
        "10g_sr_om1" => Interface::TenGigabitSr(MultimodeGrade::Om1),
        "10g_sr_om2" => Interface::TenGigabitSr(MultimodeGrade::Om2),
        "10g_sr_om3" => Interface::TenGigabitSr(MultimodeGrade::Om3),
        "10g_sr_om4" => Interface::TenGigabitSr(MultimodeGrade::Om4),
        "10g_lr" => Interface::TenGigabitLr,
        "10g_er" => Interface::TenGigabitEr,
        "25g_sr_om3" => Interface::TwentyFiveGigabitSr(MultimodeGrade::Om3),
        "25g_sr_om4" => Interface::TwentyFiveGigabitSr(MultimodeGrade::Om4),
        "25g_lr" => Interface::TwentyFiveGigabitLr,
        _ => return None,
    };
    let allowance = interface.allowance()?;
    match output {
        "reach_m" => return Some(allowance.reach_m),
        "allowed_loss_db" => return Some(allowance.loss_db),
        "attenuation_db_per_km" => return Some(allowance.attenuation_db_per_km),
        _ => {}
    }
    let link = Link {
        attenuation_db_per_km: n("attenuation_db_per_km"),
        connectors_count: n("connectors_count")? as u32,
        connector_loss_db: n("connector_loss_db").unwrap_or(0.75),
        other_loss_db: n("other_loss_db").unwrap_or(0.0),
        ..Link::of_length_m(n("length_m")?)
    };
    let found: Budget = budget(interface, &link).ok()??;
    Some(match output {
        "loss_db" => found.loss_db,
        "margin_db" => found.margin_db,
        "longest_m" => found.longest_m,
        "attenuator_db" => found.attenuator_db,
        "passes" => f64::from(u8::from(found.passes)),
        _ => return None,
    })
}
