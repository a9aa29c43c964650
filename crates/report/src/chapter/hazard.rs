//! How far the light endangers.

use beamstay_planner::{
    HazardStudy,
    hazard::{DistanceFigure, DistancesOut, SourceHazard},
};

use crate::{
    content::{Block, Cell, Chapter, Figure, Table},
    figure::{FigureError, hazard::hazard_figure},
    number::quantity,
};

/// The chapter.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn hazard(study: &HazardStudy) -> Result<Chapter, FigureError> {
    let mut blocks = vec![
        Block::Paragraph(format!(
            "Class {} laser, {} at {}: all of its rated power counts. {}",
            study.class.class,
            quantity(study.power_w, "W"),
            quantity(study.wavelength_nm, "nm"),
            study.decides
        )),
        Block::Figure(Figure {
            stem: "hazard",
            caption: "Hazard distances on the ground, to scale, seen from above.".into(),
            svg: hazard_figure(study)?,
        }),
        Block::Table(distances(study, "hazard-distances", "Distances without shut-off", |s| {
            Some(&s.without_shut_off)
        })),
    ];
    if let Some(shut_off_s) = study.shut_off_s {
        let caption = format!("Distances while the shut-off works within {}", quantity(shut_off_s, "s"));
        blocks.push(Block::Table(distances(study, "hazard-distances-shut-off", &caption, |s| {
            s.with_shut_off.as_ref()
        })));
    }
    blocks.push(Block::Table(limits(study)));
    blocks.push(Block::Details {
        summary: "What the figures take for granted, and what is outside the model".into(),
        blocks: vec![
            Block::List(study.assumptions.iter().map(|s| (*s).to_owned()).collect()),
            Block::List(study.outside_the_model.iter().map(|s| format!("Outside the model: {s}")).collect()),
        ],
    });
    Ok(Chapter { id: "hazard", heading: "Hazard of the light".into(), gist: Some(gist(study)), blocks })
}

/// The farthest that any source reaches, and whether anything shuts it off.
fn gist(study: &HazardStudy) -> String {
    let unaided_m = |source: &SourceHazard| source.without_shut_off.unaided_m();
    let farthest = study.sources.iter().max_by(|a, b| unaided_m(a).total_cmp(&unaided_m(b)));
    let reach = farthest.map_or_else(String::new, |source| {
        format!(
            ", {}: dangerous to the naked eye or the skin within {}",
            source.name,
            quantity(unaided_m(source), "m")
        )
    });
    let shut_off = match study.shut_off_s {
        Some(shut_off_s) => {
            format!("without the shut-off, which is to work within {}", quantity(shut_off_s, "s"))
        }
        None => "NO SHUT-OFF is planned".into(),
    };
    format!("Class {} laser{reach}; {shut_off}.", study.class.class)
}

fn distances(
    study: &HazardStudy,
    stem: &'static str,
    caption: &str,
    of: impl Fn(&SourceHazard) -> Option<&DistancesOut>,
) -> Table {
    let rows = study
        .sources
        .iter()
        .filter_map(|source| Some((source, of(source)?)))
        .flat_map(|(source, distances)| {
            distances.figures().map(|(organ, figure)| row(source, distances.exposure_s, organ, figure))
        })
        .collect();
    Table {
        stem,
        caption: caption.into(),
        header: ["source of light", "for", "exposure", "distance", "aperture", "edition", "status"]
            .map(str::to_owned)
            .to_vec(),
        rows,
    }
}

fn row(source: &SourceHazard, exposure_s: f64, organ: &str, figure: &DistanceFigure) -> Vec<Cell> {
    vec![
        Cell::text(source.name),
        Cell::text(organ),
        Cell::number(exposure_s, "s"),
        Cell::number(figure.distance_m, "m"),
        Cell::number(figure.basis.aperture_mm, "mm"),
        Cell::text(figure.basis.edition.clone()),
        Cell::text(figure.basis.status.clone()),
    ]
}

fn limits(study: &HazardStudy) -> Table {
    let rows = study
        .exposure_limits
        .iter()
        .map(|figure| {
            vec![
                Cell::text(figure.organ),
                Cell::number(figure.exposure_s, "s"),
                Cell::number(figure.irradiance_w_m2, "W/m²"),
                Cell::number(figure.basis.aperture_mm, "mm"),
                Cell::text(figure.basis.edition.clone()),
                Cell::text(figure.basis.status.clone()),
            ]
        })
        .collect();
    Table {
        stem: "exposure-limits",
        caption: "Largest permissible exposure".into(),
        header: ["organ", "exposure", "irradiance", "aperture", "edition", "status"]
            .map(str::to_owned)
            .to_vec(),
        rows,
    }
}
