//! What can shine where it should not, for each kind of delivery.

use beamstay_optics::{
    OpticsError,
    beam::{Aperture, BeamRun, Focus, FreeBeamPath},
    fiber::{FiberPath, FiberRun, bend::bent_numerical_aperture},
    hazard::{CollimatedBeam, DiffuseReflection, FiberEnd, FiberLight, Form, Source},
    launch,
};
use serde::Serialize;

use crate::{
    point::OperatingPoint,
    scenario::Scenario,
    system::{light::Light, route::Route},
};

/// From the 1/e² half angle of a Gaussian to the one at 5 % of its peak: √(ln 20/2).
const E2_TO_FIVE_PERCENT: f64 = 1.223_873_416_4;

/// A light by one model.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shining {
    /// Name of the model.
    pub name: &'static str,
    /// Its numbers.
    pub inputs: LightInputs,
    /// Group of the models of its distances in the table of checks.
    #[serde(skip)]
    pub assessed_by: &'static str,
}

/// The numbers of a light, under the names that the table of checks has for them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct LightInputs {
    /// Power, W.
    pub power_w: f64,
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// Sine of the half angle at 5 % of the peak, of the light that leaves a fiber.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numerical_aperture: Option<f64>,
    /// 1/e² radius of the mode of a single-mode fiber, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mode_field_radius_m: Option<f64>,
    /// 1/e² radius of a beam on the last optic, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub launch_radius_m: Option<f64>,
    /// Beam quality M².
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beam_quality_ratio: Option<f64>,
    /// Where the beam is focused, m; 0 stands for wherever that reaches farthest. Absent: collimated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub focus_m: Option<f64>,
    /// Share of the power that a receiver takes at least.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub captured_share: Option<f64>,
    /// Share of the power that a surface sends back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reflectance: Option<f64>,
}

/// A source and its light by each model that applies; never empty.
pub(super) struct Group {
    pub(super) code: &'static str,
    pub(super) name: &'static str,
    pub(super) meaning: &'static str,
    pub(super) lights: Vec<(Shining, Source)>,
}

/// Name of a formula in the table of checks.
pub(super) fn form_check(form: Form) -> String {
    let name = match form {
        Form::MultimodeRounded => "fiber_end.eye_rounded_m",
        Form::MultimodeGaussian => "fiber_end.eye_gaussian_m",
        Form::UniformCone => "fiber_end.eye_cone_m",
        Form::SingleMode => "fiber_end.eye_single_mode_m",
        Form::CollimatedIec => "beam.iec_m",
        Form::CollimatedAnsi => "beam.ansi_m",
        Form::GaussianPeak => "beam.peak_m",
        Form::Lambertian => "diffuse.eye_m",
    };
    format!("hazard.{name}")
}

/// Everything that can shine where it should not.
pub(super) fn lights(
    scenario: &Scenario,
    light: &Light,
    wavelength_m: f64,
    point: Option<&OperatingPoint>,
) -> Result<Vec<Group>, OpticsError> {
    let power_w = light.laser.rated_optical_w;
    let inputs = LightInputs { power_w, wavelength_nm: 1e9 * wavelength_m, ..LightInputs::default() };
    match &light.route {
        Route::Fiber { path, run, .. } => Ok(vec![
            broken_end(path, run, inputs)?,
            matt_surface(
                inputs,
                "end on a matt surface",
                "a wall, ground or clothing that the broken end lights; from the spot, all light sent back",
            )?,
        ]),
        Route::Beam { path, .. } => {
            let reflection_ratio = light.receiver.spec().reflection_ratio;
            let way =
                point.and_then(|p| p.light).and_then(|l| Some((l.range_m?, l.incidence_deg?.to_radians())));
            let range_m = way.map_or_else(|| straight_range_m(scenario), |(range_m, _)| range_m);
            let incidence_rad = way.map_or(0.0, |(_, incidence_rad)| incidence_rad);
            let run = BeamRun { incidence_rad, ..BeamRun::facing(light.route.wavelength_m(), range_m) };
            let beam =
                |share: fn(CollimatedBeam, f64) -> Result<CollimatedBeam, OpticsError>, by: f64, inputs| {
                    beams(path, inputs, range_m, |beam| share(beam, by))
                };
            let captured = captured_at_least(path, &run)?;
            Ok(vec![
                Group {
                    code: "whole_beam",
                    name: "whole beam",
                    meaning: "from the ground optic along the beam, wherever it points; also behind the vehicle whenever \
                              the beam can leave the receiver before it is off",
                    lights: beam(|beam, _| Ok(beam), 0.0, inputs)?,
                },
                Group {
                    code: "spill_over",
                    name: "past the receiver",
                    meaning: "from the ground optic, behind the vehicle while the beam stays on the receiver",
                    lights: beam(
                        CollimatedBeam::spilled,
                        captured,
                        LightInputs { captured_share: Some(captured), ..inputs },
                    )?,
                },
                Group {
                    code: "mirror_reflection",
                    name: "mirrored by the receiver",
                    meaning: "flat window or cells send light back like a mirror, anywhere; counted from the receiver, the \
                              way up to it not taken off",
                    lights: beam(
                        CollimatedBeam::reflected,
                        reflection_ratio,
                        LightInputs { reflectance: Some(reflection_ratio), ..inputs },
                    )?,
                },
                matt_surface(
                    inputs,
                    "beam on a matt surface",
                    "hull, ground or clothing that the beam meets; from the spot, all light sent back",
                )?,
            ])
        }
    }
}

/// A bare end with all the power. Its cone is the narrowest that the light can have: narrow light is dangerous farther.
fn broken_end(path: &FiberPath, run: &FiberRun, inputs: LightInputs) -> Result<Group, OpticsError> {
    let wavelength_m = 1e-9 * inputs.wavelength_nm;
    let fiber = &path.parts().fiber;
    let (inputs, light, assessed_by) = if fiber.is_single_mode(wavelength_m)? {
        let mode_field_radius_m = fiber.mode_field_radius_m(wavelength_m)?;
        let inputs = LightInputs { mode_field_radius_m: Some(mode_field_radius_m), ..inputs };
        (inputs, FiberLight::SingleMode { mode_field_radius_m }, "assess_single_mode")
    } else {
        let numerical_aperture = narrowest_aperture(path, run, wavelength_m)?;
        let inputs = LightInputs { numerical_aperture: Some(numerical_aperture), ..inputs };
        (inputs, FiberLight::Multimode { numerical_aperture }, "assess")
    };
    let end = FiberEnd::new(inputs.power_w, wavelength_m, light)?;
    Ok(Group {
        code: "broken_end",
        name: "broken fiber end",
        meaning: "from the end, wherever it lies: laser, drum, line in the air or on the ground, vehicle; an open \
                  connector too",
        lights: vec![(Shining { name: "bare end", inputs, assessed_by }, Source::FiberEnd(end))],
    })
}

/// The smallest of the apertures of fiber, launch and the bend on the drum.
fn narrowest_aperture(path: &FiberPath, run: &FiberRun, wavelength_m: f64) -> Result<f64, OpticsError> {
    let parts = path.parts();
    let launched = match parts.launch.source {
        launch::Source::Uniform { numerical_aperture, .. } => numerical_aperture,
        launch::Source::Gaussian { spot_diameter_m, beam_quality_m2_ratio } => {
            let half_angle =
                2.0 * beam_quality_m2_ratio * wavelength_m / (std::f64::consts::PI * spot_diameter_m);
            E2_TO_FIVE_PERCENT * half_angle
        }
        launch::Source::Measured { .. } => parts.fiber.numerical_aperture,
    };
    let bent = match run.bend_radius_m {
        Some(radius_m) => bent_numerical_aperture(&parts.fiber, radius_m, wavelength_m)?,
        None => 0.0,
    };
    let narrowest = parts.fiber.numerical_aperture.min(launched);
    Ok(if bent > 0.0 { narrowest.min(bent) } else { narrowest })
}

/// A beam with its focus as planned and, where the focus moves with the vehicle, anywhere.
fn beams(
    path: &FreeBeamPath,
    inputs: LightInputs,
    range_m: f64,
    share: impl Fn(CollimatedBeam) -> Result<CollimatedBeam, OpticsError>,
) -> Result<Vec<(Shining, Source)>, OpticsError> {
    let beam = path.parts().beam;
    let (radius_m, quality) = (beam.launch_radius_m, beam.beam_quality_m2_ratio);
    let (power_w, wavelength_m) = (inputs.power_w, 1e-9 * inputs.wavelength_nm);
    let shining = |name, focus_m| Shining {
        name,
        inputs: LightInputs {
            launch_radius_m: Some(radius_m),
            beam_quality_ratio: Some(quality),
            focus_m,
            ..inputs
        },
        assessed_by: "assess_beam",
    };
    let focused = |focus_m: f64| -> Result<(Shining, Source), OpticsError> {
        let focus_m = focus_m.max(0.1);
        let source = share(CollimatedBeam::focused_at(power_w, wavelength_m, radius_m, quality, focus_m)?)?;
        Ok((shining("focus as planned", Some(focus_m)), Source::Beam(source)))
    };
    match beam.focus {
        Focus::Collimated => {
            let source = share(CollimatedBeam::from_waist(power_w, wavelength_m, radius_m, quality)?)?;
            Ok(vec![(shining("collimated", None), Source::Beam(source))])
        }
        Focus::At { range_m } => Ok(vec![focused(range_m)?]),
        Focus::AtReceiver => {
            let anywhere = CollimatedBeam::focused_anywhere(power_w, wavelength_m, radius_m, quality)?;
            let anywhere = (shining("focus anywhere", Some(0.0)), Source::Beam(share(anywhere)?));
            Ok(vec![focused(range_m)?, anywhere])
        }
    }
}

fn matt_surface(
    inputs: LightInputs,
    name: &'static str,
    meaning: &'static str,
) -> Result<Group, OpticsError> {
    let inputs = LightInputs { reflectance: Some(1.0), ..inputs };
    let spot = DiffuseReflection::new(inputs.power_w, 1e-9 * inputs.wavelength_nm, 1.0)?;
    let shining = Shining { name: "all light sent back", inputs, assessed_by: "assess_diffuse" };
    Ok(Group { code: "matt_surface", name, meaning, lights: vec![(shining, Source::Diffuse(spot))] })
}

/// Most that a receiver is credited with: beams of high M² and cut ones have wider wings than a Gaussian (4 % of the power at a
/// truncation of one radius), and edges scatter. Assumed.
const MOST_CAPTURED_RATIO: f64 = 0.96;

/// Share of the beam of which the rest, as a beam of the same form, is nowhere weaker than the light past the receiver: the
/// smaller of the share caught and the one that a disk inside the receiver's outline would catch, since the irradiance at the
/// nearest edge is what goes on there. A ring lets the middle of the beam through: nothing is counted as caught.
fn captured_at_least(path: &FreeBeamPath, run: &BeamRun) -> Result<f64, OpticsError> {
    let inscribed_m = match path.parts().receiver {
        Aperture::Round { radius_m } => radius_m,
        Aperture::Rectangle { half_width_m, half_height_m } => half_width_m.min(half_height_m),
        Aperture::Ring { inner_radius_m, outer_radius_m } if inner_radius_m <= 0.0 => outer_radius_m,
        Aperture::Ring { .. } => 0.0,
    };
    let edge_m = inscribed_m * run.incidence_rad.cos().max(0.0);
    let spot_m = path.footprint(1.0, run)?.mean_radius_m;
    let of_disk = -(-2.0 * (edge_m / spot_m).powi(2)).exp_m1();
    Ok(path.capture_ratio(run)?.min(of_disk).clamp(0.0, MOST_CAPTURED_RATIO))
}

/// Straight way to the station, m.
fn straight_range_m(scenario: &Scenario) -> f64 {
    let station = &scenario.station;
    station.height_m.hypot(station.downwind_m.hypot(station.crosswind_m)).max(0.1)
}
