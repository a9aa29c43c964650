//! The hazard of the light as text.

use beamstay_planner::{
    HazardStudy,
    hazard::{BasisOut, DistancesOut, SourceHazard},
};
use beamstay_report::number::{quantity, significant};

use super::{
    point::{Style, cautions, section},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The whole page.
pub fn hazard_text(study: &HazardStudy, style: Style) -> String {
    let mut parts = vec![head(study, style)];
    parts.push(section(style, "Largest permissible exposure", limits(study)));
    parts.push(section(style, "Class", class(study)));
    let mut without = distances(study, |s| Some(&s.without_shut_off));
    if study.shut_off_s.is_none() {
        without.push_str("\n  No shut-off is given (/hazard/shut_off_ms): no distance is shortened by one.");
    }
    parts.push(section(style, &distances_heading(study), without));
    if let Some(shut_off_s) = study.shut_off_s {
        let heading = format!("Distances while the shut-off works, {} after it began", seconds(shut_off_s));
        parts.push(section(style, &heading, distances(study, |s| s.with_shut_off.as_ref())));
    }
    parts.push(section(style, "What each formula says of the naked eye, without shut-off", forms(study)));
    parts.push(section(style, "On the ground", ground(study, style)));
    parts.push(section(style, "Sources of light", meanings(study)));
    parts.push(section(style, "What the figures take for granted", list(&study.assumptions)));
    parts.push(section(style, "Outside the model", list(&study.outside_the_model)));
    parts.push(section(style, "Cautions", cautions(&study.cautions)));
    parts.push(folded(study.decides, WIDTH, ""));
    parts.push(format!("scenario {}   beamstay {}", study.digest, study.version));
    parts.join("\n\n")
}

fn head(study: &HazardStudy, style: Style) -> String {
    let light = format!("{} at {}", quantity(study.power_w, "W"), quantity(study.wavelength_nm, "nm"));
    let line = format!("Class {} laser, {light}: all of its rated power counts.", study.class.class);
    format!(
        "{}\n{}\n{}",
        folded(&study.title, WIDTH, ""),
        style.heading(&line),
        folded(study.decides, WIDTH, "")
    )
}

/// Which of the two sets of rules, in four digits: the legend says what they are.
fn year(basis: &BasisOut) -> &'static str {
    if basis.edition.contains(":2014") { "2014" } else { "2007" }
}

fn rules_legend(study: &HazardStudy) -> String {
    let mut editions: Vec<(&str, &str)> = Vec::new();
    let of_sources = study.sources.iter().flat_map(|s| s.without_shut_off.figures().map(|(_, f)| &f.basis));
    for basis in study.exposure_limits.iter().map(|f| &f.basis).chain(of_sources) {
        if !editions.iter().any(|(_, known)| *known == basis.edition) {
            editions.push((year(basis), &basis.edition));
        }
    }
    let text = editions.iter().map(|(year, edition)| format!("  rules {year}: {edition}"));
    text.collect::<Vec<_>>().join("\n")
}

fn limits(study: &HazardStudy) -> String {
    let rows = study
        .exposure_limits
        .iter()
        .map(|f| {
            vec![
                f.organ.to_owned(),
                seconds(f.exposure_s),
                significant(f.irradiance_w_m2, 4),
                significant(f.radiant_exposure_j_m2, 4),
                significant(f.basis.aperture_mm, 2),
                year(&f.basis).to_owned(),
                f.basis.status.clone(),
                f.use_of_it.to_owned(),
            ]
        })
        .collect();
    let header = ["", "exposure", "W/m²", "J/m²", "over mm", "rules", "status", "use"];
    format!("{}\n{}", aligned(&header, rows, &[0, 6, 7]), rules_legend(study))
}

fn class(study: &HazardStudy) -> String {
    let class = &study.class;
    let row = |name: &str, limit_w: f64, check: usize| {
        vec![
            name.to_owned(),
            milli_or_watts(limit_w),
            seconds(class.basis.time_base_s),
            significant(class.basis.aperture_mm, 2),
            year(&class.basis).to_owned(),
            class.basis.status.clone(),
            class.checks[check].to_owned(),
        ]
    };
    let rows = vec![
        row("class 1 up to", class.class_1_w, 0),
        row("class 3R up to", class.class_3r_w, 1),
        row("class 3B up to", class.class_3b_w, 2),
    ];
    let header = ["", "", "time base", "over mm", "rules", "status", "check"];
    let verdict = format!("  This laser, {}: class {}.", quantity(study.power_w, "W"), class.class);
    format!("{}\n{verdict}", aligned(&header, rows, &[0, 5, 6]))
}

fn distances_heading(study: &HazardStudy) -> String {
    let base_s = study.sources.first().map_or(0.0, |s| s.without_shut_off.exposure_s);
    format!("Distances without shut-off, {} (10 s and 100 s give the same)", seconds(base_s))
}

fn distances<'a>(
    study: &'a HazardStudy,
    of: impl Fn(&'a SourceHazard) -> Option<&'a DistancesOut>,
) -> String {
    let mut rows = Vec::new();
    for source in &study.sources {
        let Some(distances) = of(source) else { continue };
        rows.push(vec![source.name.to_owned()]);
        for (organ, figure) in distances.figures() {
            rows.push(vec![
                format!("  {organ}"),
                metres(figure.distance_m),
                significant(figure.limit_w_m2, 4),
                seconds(figure.basis.time_base_s),
                significant(figure.basis.aperture_mm, 2),
                year(&figure.basis).to_owned(),
                figure.basis.status.clone(),
            ]);
        }
    }
    aligned(&["", "distance", "limit W/m²", "for", "over mm", "rules", "limit is"], rows, &[0, 6])
}

fn forms(study: &HazardStudy) -> String {
    let mut rows = Vec::new();
    let mut sources: Vec<(&str, &str)> = Vec::new();
    for source in &study.sources {
        let mut light = "";
        for form in &source.without_shut_off.eye.forms {
            if light != form.light {
                light = form.light;
                rows.push(vec![format!("{}, {light}", source.name)]);
            }
            rows.push(vec![
                format!("  {}", form.form),
                metres(form.distance_m),
                if form.counts { "counts".into() } else { String::new() },
                form.status.clone(),
            ]);
            if !sources.iter().any(|(name, _)| *name == form.form) {
                sources.push((&form.form, form.source));
            }
        }
    }
    let table = aligned(&["", "distance", "", "formula is"], rows, &[0, 2, 3]);
    let legend = sources
        .iter()
        .map(|(name, source)| format!("  {}", folded(&format!("{name}: {source}"), WIDTH - 2, "    ")));
    format!("{table}\n{}", legend.collect::<Vec<_>>().join("\n"))
}

fn ground(study: &HazardStudy, style: Style) -> String {
    let ground = &study.ground;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row = |name: &str, value: String| rows.push(vec![name.to_owned(), value]);
    if ground.reach_m > 0.0 {
        row("a loose end reaches from the drum", metres(ground.reach_m));
        row("a loose end harms eye or skin, round the drum", metres(ground.keep_out_radius_m));
    } else {
        row(
            "eye or skin at risk if the beam is turned down, round the optic",
            metres(ground.keep_out_radius_m),
        );
    }
    if let Some(keep_out_m) = ground.keep_out_with_shut_off_m {
        row("the same while the shut-off works", metres(keep_out_m));
    }
    if let (Some(elevation_deg), Some(top_m)) = (ground.beam_elevation_deg, ground.beam_top_m) {
        row("lowest elevation of the beam on the vehicle", quantity(elevation_deg, "°"));
        row("an eye is at risk in that beam up to", metres(top_m));
    }
    if let Some(area_m) = ground.working_area_radius_m {
        row("working area, radius", metres(area_m));
    }
    let text = aligned(&[], rows, &[0]);
    let Some(holds) = ground.working_area_holds else {
        return format!(
            "{text}\n  No working area is given (/hazard/working_area_radius_m): nothing is held against these."
        );
    };
    let word = if holds { style.good("HOLDS") } else { style.bad("DOES NOT HOLD") };
    let with_shut_off = match ground.working_area_holds_with_shut_off {
        Some(true) => "\n  With the shut-off it holds.",
        Some(false) => "\n  With the shut-off it does not hold either.",
        None => "",
    };
    format!(
        "{text}\n  The working area {word} the light when nothing shuts it off.{with_shut_off}\n  \
         Said of skin and the naked eye: behind 50 mm optics it harms farther."
    )
}

fn meanings(study: &HazardStudy) -> String {
    let lines = study.sources.iter().map(|source| {
        let text = format!("{}: {}", source.name, source.meaning);
        format!("  {}", folded(&text, WIDTH - 2, "    "))
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn list(lines: &[&str]) -> String {
    lines.iter().map(|l| format!("  - {}", folded(l, WIDTH - 4, "    "))).collect::<Vec<_>>().join("\n")
}

fn metres(distance_m: f64) -> String {
    if distance_m >= 1e4 { quantity(1e-3 * distance_m, "km") } else { quantity(distance_m, "m") }
}

fn milli_or_watts(power_w: f64) -> String {
    if power_w < 0.1 { quantity(1e3 * power_w, "mW") } else { quantity(power_w, "W") }
}

fn seconds(duration_s: f64) -> String {
    let (value, unit) = match duration_s {
        s if s < 1e-3 => (1e6 * s, "µs"),
        s if s < 0.1 => (1e3 * s, "ms"),
        s => (s, "s"),
    };
    let text = significant(value, 4);
    let plain = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    format!("{plain} {unit}")
}
