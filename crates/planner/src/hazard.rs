//! Eye and skin hazard of a plan's light: exposure limits, class, hazard distances of everything that can shine where it
//! should not, and what holds against the working area. Planning figures: the laser safety officer decides.
//!
//! The whole rated power counts, whatever the setting, and no loss on the way is credited. Each figure carries the rules,
//! exposure time and aperture it rests on, how well it is known, and the name of the model under which the table of
//! published checks holds it.

mod ground;
mod lights;
mod words;

use beamstay_optics::{
    OpticsError,
    hazard::{
        Assessment, Basis, Conditions, Edition, EmissionLimits, Exposure, ExposureLimit, HazardDistance,
        HazardDistances, LaserClass, distance::assess,
    },
};
use serde::Serialize;

use crate::{
    Loaded, caution,
    digest::digest,
    document::Document,
    error::{At, PlanError},
    system::{System, Way, light::Light},
};
pub use ground::{Ground, PlanCircle, PlanKind};
pub use lights::{LightInputs, Shining};

/// Longest time base, s: a working day. From 10 s on every limit is an irradiance, so 10 s (accidental) and 100 s
/// (unintended) give the same distances for a source that counts as a point, as all do here.
const TIME_BASE_S: f64 = 30_000.0;
/// Exposures for which limits are listed, s. The first, the blink, holds for visible light only.
const LISTED_S: [f64; 4] = [0.25, 10.0, 100.0, TIME_BASE_S];

/// The hazard of a plan's light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HazardStudy {
    /// Title of the scenario.
    pub title: String,
    /// Who decides.
    pub decides: &'static str,
    /// Rated optical power of the laser: all of it counts, W.
    pub power_w: f64,
    /// Wavelength, nm: of the coolant's and the nominal one the one with the lower limit.
    pub wavelength_nm: f64,
    /// Shut-off time, s.
    pub shut_off_s: Option<f64>,
    /// Largest permissible exposures.
    pub exposure_limits: Vec<LimitFigure>,
    /// The class.
    pub class: ClassFigure,
    /// Everything that can shine where it should not.
    pub sources: Vec<SourceHazard>,
    /// What that means on the ground.
    pub ground: Ground,
    /// What the figures take for granted.
    pub assumptions: Vec<&'static str>,
    /// What they leave out.
    pub outside_the_model: Vec<&'static str>,
    /// Cautions of the plan.
    pub cautions: Vec<&'static str>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

/// What a figure rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BasisOut {
    /// Rules.
    pub edition: String,
    /// Exposure that the limit allows for, s.
    pub time_base_s: f64,
    /// Diameter over which the exposure may be averaged, mm.
    pub aperture_mm: f64,
    /// How well it is known: seen, from memory, assumed or derived.
    pub status: String,
}

impl From<Basis> for BasisOut {
    fn from(basis: Basis) -> Self {
        Self {
            edition: basis.edition.to_string(),
            time_base_s: basis.time_base_s,
            aperture_mm: basis.aperture_mm,
            status: basis.status.to_string(),
        }
    }
}

/// A largest permissible exposure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitFigure {
    /// `eye` or `skin`.
    pub organ: &'static str,
    /// Exposure, s.
    pub exposure_s: f64,
    /// Irradiance held for the whole exposure, W/m².
    pub irradiance_w_m2: f64,
    /// The same as energy per area, J/m².
    pub radiant_exposure_j_m2: f64,
    /// What it rests on.
    pub basis: BasisOut,
    /// Whether it may be used for this light.
    pub use_of_it: &'static str,
    /// Name of the model in the table of checks.
    pub check: String,
}

/// Class of the laser and the limits of the classes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClassFigure {
    /// 1, 3R, 3B or 4.
    pub class: &'static str,
    /// Largest accessible power of class 1, W.
    pub class_1_w: f64,
    /// Largest accessible power of class 3R, W.
    pub class_3r_w: f64,
    /// Largest accessible power of class 3B, W.
    pub class_3b_w: f64,
    /// What they rest on.
    pub basis: BasisOut,
    /// Names of the models in the table of checks: of class 1, 3R, 3B and of the class.
    pub checks: [&'static str; 4],
}

/// Something that can shine where it should not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceHazard {
    /// Stable name.
    pub code: &'static str,
    /// Name in a table.
    pub name: &'static str,
    /// What it is, and from where its distances count.
    pub meaning: &'static str,
    /// The light, by each model that applies; the longest distance of all counts.
    pub lights: Vec<Shining>,
    /// Distances when nothing shuts the light off.
    pub without_shut_off: DistancesOut,
    /// Distances with the shut-off.
    pub with_shut_off: Option<DistancesOut>,
}

/// Distances for one exposure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DistancesOut {
    /// Exposure, s.
    pub exposure_s: f64,
    /// Naked eye.
    pub eye: DistanceFigure,
    /// Eye behind binoculars or a telescope with a 50 mm objective.
    pub eye_with_optics: DistanceFigure,
    /// Skin.
    pub skin: DistanceFigure,
}

impl DistancesOut {
    /// The longest of eye and skin without optical aids, m.
    pub fn unaided_m(&self) -> f64 {
        self.eye.distance_m.max(self.skin.distance_m)
    }

    /// All three with their names.
    pub fn figures(&self) -> [(&'static str, &DistanceFigure); 3] {
        [("eye", &self.eye), ("eye, 50 mm optics", &self.eye_with_optics), ("skin", &self.skin)]
    }
}

/// A hazard distance with everything that belongs beside it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DistanceFigure {
    /// Distance beyond which the limit is kept, m: the longest of the forms.
    pub distance_m: f64,
    /// The limit, W/m².
    pub limit_w_m2: f64,
    /// What the limit rests on.
    pub basis: BasisOut,
    /// What each formula says, for each light.
    pub forms: Vec<FormFigure>,
    /// Name of the model of the distance in the table of checks.
    pub check: String,
    /// Name of the model of the limit.
    pub limit_check: &'static str,
}

/// What one formula says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormFigure {
    /// Which of the lights it is for.
    pub light: &'static str,
    /// The formula in words.
    pub form: String,
    /// The formula and its source.
    pub source: &'static str,
    /// How well it is known.
    pub status: String,
    /// Distance, m.
    pub distance_m: f64,
    /// Whether this one is the longest and counts.
    pub counts: bool,
    /// Name of the model in the table of checks.
    pub check: String,
}

/// The hazard of a scenario's light. A plan that does not close has one too.
///
/// # Errors
/// [`PlanError::Refused`] for parts that do not go together, and for a delivery without light.
pub fn hazard_study(document: &Document, loaded: &Loaded) -> Result<HazardStudy, PlanError> {
    let scenario = &loaded.scenario;
    let system = System::new(scenario)?;
    let Way::Light(light) = &system.way else {
        return Err(PlanError::needs(
            "/delivery",
            "a hazard of light",
            "\"fiber\" or \"free_beam\" in delivery",
        ));
    };
    let inputs = scenario.hazard.unwrap_or_default();
    let shut_off_s = inputs.shut_off_ms.map(|ms| 1e-3 * ms).filter(|s| *s < TIME_BASE_S);
    let wavelength_m = strictest_wavelength_m(light).at("/ground/laser")?;
    // Where the plan has no solution the longest line and the straight sight count.
    let solved = system.place(&scenario.station).and_then(|place| system.solve(&place, None)).ok();
    let point = solved.as_ref().map(|s| &s.point);
    let conditions = conditions(shut_off_s).at("/hazard")?;
    let lights = lights::lights(scenario, light, wavelength_m, point).at("/delivery")?;
    let sources = lights
        .into_iter()
        .filter_map(|group| source_hazard(group, &conditions).transpose())
        .collect::<Result<Vec<_>, _>>()
        .at("/hazard")?;
    let power_w = light.laser.rated_optical_w;
    Ok(HazardStudy {
        title: scenario.title.clone(),
        decides: words::DECIDES,
        power_w,
        wavelength_nm: 1e9 * wavelength_m,
        shut_off_s,
        exposure_limits: exposure_limits(wavelength_m, shut_off_s).at("/ground/laser")?,
        class: class(wavelength_m, power_w).at("/ground/laser")?,
        ground: ground::ground(scenario, inputs, point, &sources),
        assumptions: words::assumptions(scenario, shut_off_s.is_some()),
        outside_the_model: words::outside(scenario),
        sources,
        cautions: caution::of_light(scenario),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}

fn conditions(shut_off_s: Option<f64>) -> Result<Conditions, OpticsError> {
    let conditions = Conditions::new(TIME_BASE_S, Edition::MoreRestrictive)?;
    match shut_off_s {
        Some(shut_off_s) => conditions.with_shut_off_s(shut_off_s),
        None => Ok(conditions),
    }
}

/// Of the nominal wavelength and the one that the coolant sets, the one whose eye limit is lower.
fn strictest_wavelength_m(light: &Light) -> Result<f64, OpticsError> {
    let limit = |wavelength_m: f64| -> Result<f64, OpticsError> {
        Ok(Exposure::new(wavelength_m, TIME_BASE_S)?.eye(Edition::MoreRestrictive).irradiance_w_m2)
    };
    let (nominal_m, actual_m) = (light.laser.wavelength_m, light.route.wavelength_m());
    Ok(if limit(nominal_m)? < limit(actual_m)? { nominal_m } else { actual_m })
}

fn exposure_limits(wavelength_m: f64, shut_off_s: Option<f64>) -> Result<Vec<LimitFigure>, OpticsError> {
    let mut figures = Vec::new();
    let listed = shut_off_s.into_iter().filter(|s| !LISTED_S.contains(s)).chain(LISTED_S);
    for exposure_s in listed {
        let exposure = Exposure::new(wavelength_m, exposure_s)?;
        let use_of_it = match exposure_s {
            s if shut_off_s == Some(s) => "with shut-off",
            s if s < 1.0 => "not used: no blink",
            s if s <= 10.0 => "accident",
            s if s <= 100.0 => "unintended",
            _ => "working day",
        };
        for (organ, limit) in [
            ("eye", exposure.eye(Edition::MoreRestrictive)),
            ("skin", exposure.skin(Edition::MoreRestrictive)),
        ] {
            figures.push(limit_figure(organ, exposure_s, limit, use_of_it));
        }
    }
    Ok(figures)
}

fn limit_figure(
    organ: &'static str,
    exposure_s: f64,
    limit: ExposureLimit,
    use_of_it: &'static str,
) -> LimitFigure {
    LimitFigure {
        organ,
        exposure_s,
        irradiance_w_m2: limit.irradiance_w_m2,
        radiant_exposure_j_m2: limit.radiant_exposure_j_m2(),
        basis: limit.basis.into(),
        use_of_it,
        check: format!("hazard.limit.{organ}"),
    }
}

fn class(wavelength_m: f64, power_w: f64) -> Result<ClassFigure, OpticsError> {
    let limits = EmissionLimits::new(wavelength_m, Edition::MoreRestrictive)?;
    Ok(ClassFigure {
        class: match limits.class_of(power_w)? {
            LaserClass::One => "1",
            LaserClass::ThreeR => "3R",
            LaserClass::ThreeB => "3B",
            LaserClass::Four => "4",
        },
        class_1_w: limits.class_1_w,
        class_3r_w: limits.class_3r_w,
        class_3b_w: limits.class_3b_w,
        basis: limits.basis.into(),
        checks: [
            "hazard.class.class_1_w",
            "hazard.class.class_3r_w",
            "hazard.class.class_3b_w",
            "hazard.class.number",
        ],
    })
}

/// The hazard of one source; none for a source without light.
fn source_hazard(group: lights::Group, conditions: &Conditions) -> Result<Option<SourceHazard>, OpticsError> {
    let assessed = group
        .lights
        .iter()
        .map(|(shining, source)| Ok((shining, assess(source, conditions)?)))
        .collect::<Result<Vec<(&Shining, Assessment)>, OpticsError>>()?;
    let pick = |of: fn(&Assessment) -> Option<HazardDistances>| {
        let found: Vec<Met<'_>> = assessed.iter().filter_map(|(light, a)| Some((*light, of(a)?))).collect();
        distances(&found)
    };
    let Some(without_shut_off) = pick(|a| Some(a.without_shut_off)) else { return Ok(None) };
    let with_shut_off = pick(|a| a.with_shut_off);
    Ok(Some(SourceHazard {
        code: group.code,
        name: group.name,
        meaning: group.meaning,
        without_shut_off,
        with_shut_off,
        lights: group.lights.into_iter().map(|(shining, _)| shining).collect(),
    }))
}

/// A light and its distances.
type Met<'a> = (&'a Shining, HazardDistances);

fn distances(all: &[Met<'_>]) -> Option<DistancesOut> {
    let first = all.first()?;
    Some(DistancesOut {
        exposure_s: first.1.exposure_s,
        eye: figure(first, all, "eye", |d| d.eye),
        eye_with_optics: figure(first, all, "eye_with_optics", |d| d.eye_with_optics),
        skin: figure(first, all, "skin", |d| d.skin),
    })
}

/// The longest distance over all lights and forms.
fn figure(
    first: &Met<'_>,
    all: &[Met<'_>],
    organ: &str,
    pick: impl Fn(&HazardDistances) -> HazardDistance,
) -> DistanceFigure {
    let (mut of_light, mut longest) = (first.0, pick(&first.1));
    for (light, distances) in all {
        let here = pick(distances);
        if here.distance_m > longest.distance_m {
            (of_light, longest) = (light, here);
        }
    }
    let mut forms = Vec::new();
    for (light, distances) in all {
        for one in pick(distances).forms.iter() {
            forms.push(FormFigure {
                light: light.name,
                form: one.form.to_string(),
                source: one.form.source(),
                status: one.form.status().to_string(),
                distance_m: one.distance_m,
                counts: light.name == of_light.name
                    && one.distance_m > 0.0
                    && one.distance_m >= longest.distance_m,
                check: lights::form_check(one.form),
            });
        }
    }
    DistanceFigure {
        distance_m: longest.distance_m,
        limit_w_m2: longest.limit.irradiance_w_m2,
        basis: longest.limit.basis.into(),
        forms,
        check: format!("hazard.{}.{organ}_m", of_light.assessed_by),
        limit_check: if organ == "skin" {
            "hazard.limit.skin_sustained"
        } else {
            "hazard.limit.eye_sustained"
        },
    }
}

#[cfg(test)]
mod tests;
