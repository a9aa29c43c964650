//! The tether in its parts as text.

use beamstay_planner::{
    OperatingPoint,
    tether_detail::{CutDetail, DragDetail, DrumDetail, FigureRow, GlassDetail, LayerRow, TetherDetail},
};
use beamstay_report::number::{quantity, signed_percent, significant};

use super::{
    point::{Style, WIDTH, section},
    table::{aligned, folded},
};

/// The sections on the tether's parts.
pub fn parts(detail: &TetherDetail, point: &OperatingPoint, style: Style) -> Vec<String> {
    let mut parts = vec![section(style, "Cross-section", cross_section(detail))];
    if let Some(glass) = &detail.glass {
        parts.push(section(style, "Stress in the glass, MPa: pull and bend add", places(glass)));
        parts.push(section(style, "Allowed stress in the glass, by how long it lasts", allowed(glass)));
    }
    parts.push(section(style, "Flow at the vehicle's height", flow(&detail.drag)));
    if detail.cut.is_some() {
        parts.push(section(style, "Ground", ground(point)));
    }
    parts.push(section(style, "Drum", drum(&detail.drum)));
    if let Some(cut) = &detail.cut {
        parts.push(section(style, "If the line is cut", cut_rows(cut)));
    }
    parts
}

fn pair(name: &str, value: String) -> Vec<String> {
    vec![name.to_owned(), value]
}

/// A paragraph under a table.
fn indented(text: &str) -> String {
    format!("  {}", folded(text, WIDTH - 2, "    "))
}

fn percent(ratio: f64) -> String {
    format!("{} %", significant(100.0 * ratio, 3))
}

fn cross_section(detail: &TetherDetail) -> String {
    let figures = aligned(&[], detail.figures.iter().map(figure).collect(), &[0, 2]);
    let layers = match detail.layers.is_empty() {
        true => "  measured as a whole: what each layer carries is not known".to_owned(),
        false => {
            let header = ["", "", "diameter mm", "g/m", "share", "mean N", "gust N"];
            aligned(&header, detail.layers.iter().map(layer).collect(), &[0, 1])
        }
    };
    let strain = aligned(
        &[],
        vec![pair(
            "strain at the largest tension, mean wind and gust",
            format!("{}, {}", percent(detail.strain_ratio), percent(detail.strain_in_gust_ratio)),
        )],
        &[0],
    );
    [figures, layers, strain].join("\n")
}

/// A figure, and whether a measurement overrides what the layers give.
fn figure(row: &FigureRow) -> Vec<String> {
    let from = match (row.measured, row.computed, row.deviation_ratio) {
        (true, Some(computed), Some(deviation)) => format!(
            "measured; the layers give {}, it is {} off",
            quantity(computed, row.unit),
            signed_percent(deviation)
        ),
        (true, ..) => "measured".to_owned(),
        (false, ..) => "computed from the layers".to_owned(),
    };
    vec![row.name.to_owned(), quantity(row.value, row.unit), from]
}

fn layer(row: &LayerRow) -> Vec<String> {
    let load = |value: f64| if row.load_share_ratio > 0.0 { significant(value, 3) } else { "-".to_owned() };
    vec![
        row.part.to_owned(),
        row.material.to_owned(),
        significant(row.outer_diameter_mm, 3),
        significant(row.mass_g_per_m, 3),
        if row.load_share_ratio > 0.0 { percent(row.load_share_ratio) } else { "-".to_owned() },
        load(row.load_n),
        load(row.load_in_gust_n),
    ]
}

fn places(glass: &GlassDetail) -> String {
    let rows = glass
        .places
        .iter()
        .map(|row| {
            vec![
                row.place.to_owned(),
                quantity(1e-3 * row.bend_radius_mm, "m"),
                significant(row.axial_mpa, 3),
                significant(row.bend_mpa, 3),
                significant(row.total_mpa, 3),
                significant(row.in_gust_mpa, 3),
            ]
        })
        .collect();
    aligned(&["", "bend radius", "pull", "bend", "mean", "gust"], rows, &[0])
}

fn allowed(glass: &GlassDetail) -> String {
    let rows = glass
        .allowed
        .iter()
        .map(|row| {
            vec![
                row.duration.to_owned(),
                significant(row.share_of_proof_ratio, 3),
                quantity(row.stress_mpa, "MPa"),
                quantity(row.straight_tension_n, "N"),
                quantity(row.least_bend_radius_mm, "mm"),
                row.counts_for.to_owned(),
            ]
        })
        .collect();
    let header = ["lasting", "of proof", "stress", "straight pull", "least bend", "counts for"];
    let sources = glass.allowed.iter().fold(Vec::<(String, &str)>::new(), |mut list, row| {
        match list.last_mut() {
            Some((durations, source)) if *source == row.source => {
                durations.push_str(" and ");
                durations.push_str(row.duration);
            }
            _ => list.push((row.duration.to_owned(), row.source)),
        }
        list
    });
    let mut text = aligned(&header, rows, &[0, 5]);
    let proof = format!(
        "{} of glass, proof-tested at {}, reached by {} on the straight line.",
        quantity(glass.diameter_um, "µm"),
        quantity(glass.proof_stress_mpa, "MPa"),
        quantity(glass.tension_at_proof_n, "N"),
    );
    for (durations, source) in &sources {
        text.push('\n');
        text.push_str(&indented(&format!("{durations}: {source}")));
    }
    text.push('\n');
    text.push_str(&indented(&proof));
    text
}

fn flow(drag: &DragDetail) -> String {
    let mut rows = vec![
        pair("mean flow", quantity(drag.speed_m_s, "m/s")),
        pair("Reynolds number across the line", significant(drag.reynolds, 3)),
        pair(
            "drag coefficient across the line",
            format!("{}, {}", significant(drag.coefficient, 3), drag.law),
        ),
        pair("drag square to the flow", quantity(drag.drag_n_per_m, "N/m")),
        pair("weight", quantity(drag.weight_n_per_m, "N/m")),
    ];
    let strums = drag.amplification_ratio > 1.0;
    rows.push(pair(
        "strumming",
        if strums {
            format!("on, drag × {}", significant(drag.amplification_ratio, 3))
        } else {
            "off".into()
        },
    ));
    if let Some(hz) = drag.shedding_hz {
        rows.push(pair("vortices leave it at", quantity(hz, "Hz")));
    }
    if let Some(radius_m) = drag.strumming_bend_radius_m {
        rows.push(pair("bend radius of the strumming", quantity(radius_m, "m")));
    }
    if let Some(stress_mpa) = drag.strumming_stress_mpa {
        rows.push(pair("stress that adds in the glass, in no limit", quantity(stress_mpa, "MPa")));
    }
    let ice = match drag.ice_g_per_m > 0.0 {
        true => {
            format!("{}, to {}", quantity(drag.ice_g_per_m, "g/m"), quantity(drag.iced_diameter_mm, "mm"))
        }
        false => "none".to_owned(),
    };
    rows.push(pair("ice", ice));
    format!("{}\n{}", aligned(&[], rows, &[0]), indented(STRUMMING))
}

/// What no limit covers.
const STRUMMING: &str = "Strumming bends the line to and fro at that frequency. No published bound of that stress is known for \
                         glass or wire in a line, and no limit counts it; a line that hums asks for a damper or another tension.";

/// What the ground has of the line; the lengths stand with the forces.
fn ground(point: &OperatingPoint) -> String {
    let of = |lies: bool| if lies { "a part lies on the ground" } else { "hangs free of the ground" };
    let lies = |t: &Option<beamstay_planner::point::TetherPoint>| t.is_some_and(|t| t.on_ground_m > 0.0);
    let rows = vec![
        pair("in the mean wind", of(lies(&point.tether)).to_owned()),
        pair("in the gust", of(lies(&point.tether_in_gust)).to_owned()),
    ];
    aligned(&[], rows, &[0, 1])
}

fn drum(drum: &DrumDetail) -> String {
    let unknown = || "does not fit".to_owned();
    let millimetres = |value: Option<f64>| value.map_or_else(unknown, |mm| quantity(mm, "mm"));
    let rows = vec![
        pair("layers that fit", drum.layers_count.to_string()),
        pair("length that fits", quantity(drum.capacity_m, "m")),
        pair("all the line", format!("{}, {}", quantity(drum.line_m, "m"), quantity(drum.line_kg, "kg"))),
        pair("innermost bend radius", quantity(drum.innermost_bend_radius_mm, "mm")),
        pair("diameter with all of it wound", millimetres(drum.full_diameter_mm)),
        pair(
            "stays wound here, the innermost",
            format!("{}, {}", quantity(drum.stays_wound_m, "m"), quantity(drum.stays_wound_kg, "kg")),
        ),
        pair("diameter here", millimetres(drum.diameter_mm)),
        pair("the line leaves layer", drum.leaves_layer.map_or_else(unknown, |layer| layer.to_string())),
        pair(
            "pull of the same torque here",
            drum.pull_gain_ratio
                .map_or_else(unknown, |ratio| format!("× {} of that with all wound", significant(ratio, 3))),
        ),
    ];
    aligned(&[], rows, &[0])
}

fn cut_rows(cut: &CutDetail) -> String {
    let rows = cut
        .cases
        .iter()
        .map(|row| {
            vec![
                format!("cut {}, {}", row.place, quantity(row.at_m, "m")),
                quantity(row.attached_radius_m, "m"),
                quantity(row.loose_radius_m, "m"),
                quantity(row.loose_drift_m, "m"),
            ]
        })
        .collect();
    let reach = aligned(&["", "piece on the drum", "other piece", "of it drift"], rows, &[0]);
    let speeds = aligned(
        &["", "speed", "per metre"],
        vec![
            vec![
                "falls broadside".into(),
                quantity(cut.broadside_m_s, "m/s"),
                quantity(cut.broadside_j_per_m, "J/m"),
            ],
            vec![
                "falls end on, at most".into(),
                quantity(cut.end_on_m_s, "m/s"),
                quantity(cut.end_on_j_per_m, "J/m"),
            ],
            vec!["stored in the strain, whips".into(), String::new(), quantity(cut.stored_j, "J in all")],
        ],
        &[0],
    );
    let radii =
        "Radii about the drum, the gust blowing; the other piece if the vehicle lets go of it where it is.";
    [reach, indented(radii), speeds, indented(&format!("! {}", cut.caution))].join("\n")
}
