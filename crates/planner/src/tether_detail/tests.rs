use beamstay_tether::cut::{Cut, broadside_speed_m_s, cut_reach};

use super::*;
use crate::{Document, load};

fn detail(text: &str) -> (Scenario, System, TetherDetail) {
    let loaded = load(&Document::parse(text).unwrap()).unwrap();
    let system = System::new(&loaded.scenario).unwrap();
    let point = system.operate(&system.place(&loaded.scenario.station).unwrap()).unwrap();
    let detail = tether_detail(&loaded, &point).unwrap().unwrap();
    (loaded.scenario, system, detail)
}

const MEASURED: &str = include_str!("../../../../scenarios/breakwater-lookout.json");
const LAYERED: &str = include_str!("../../../../scenarios/harvest-market.json");

#[test]
fn what_was_measured_is_told_as_it_was() {
    let (_, _, detail) = detail(MEASURED);
    let rows: Vec<_> = detail.figures.iter().map(|row| (row.name, row.unit, row.measured)).collect();
    assert_eq!(
        rows,
        [
            ("mass", "g/m", true),
            ("diameter", "mm", true),
            ("axial stiffness", "kN", true),
            ("breaking load", "N", true)
        ]
    );
    for (row, value) in detail.figures.iter().zip([3.4, 2.0, 92.0, 1600.0]) {
        assert!((row.value / value - 1.0).abs() < 1e-12, "{row:?}");
    }
    assert!(detail.layers.is_empty());
}

#[test]
fn layers_carry_the_whole_tension_and_weigh_the_whole_line() {
    let (_, _, detail) = detail(LAYERED);
    assert_eq!(
        detail.layers.iter().map(|layer| layer.material).collect::<Vec<_>>(),
        ["aramid", "copper", "ETFE"]
    );
    let sum = |of: fn(&LayerRow) -> f64| detail.layers.iter().map(of).sum::<f64>();
    assert!((sum(|layer| layer.load_share_ratio) - 1.0).abs() < 1e-9);
    assert!((sum(|layer| layer.mass_g_per_m) / detail.figures[0].value - 1.0).abs() < 1e-9);
    assert!(detail.figures.iter().all(|row| !row.measured && row.deviation_ratio.is_none()));
}

#[test]
fn a_piece_falls_through_the_air_half_way_down() {
    let (scenario, system, detail) = detail(MEASURED);
    let cut = detail.cut.unwrap();
    let line = &system.line.as_ref().unwrap().line;
    let air = system.surroundings.mean.fluid_at(0.5 * scenario.station.height_m - 0.5);
    let speed_m_s = broadside_speed_m_s(line, air.density_kg_m3, air.dynamic_viscosity_pa_s).unwrap();
    assert!((cut.broadside_m_s / speed_m_s - 1.0).abs() < 1e-12);
    assert!((cut.broadside_j_per_m / (0.5 * 3.4e-3 * speed_m_s * speed_m_s) - 1.0).abs() < 1e-9);
    assert_eq!(
        cut.cases.iter().map(|case| case.place).collect::<Vec<_>>(),
        ["at the drum", "half-way", "at the vehicle"]
    );
    // Cut at the drum, nothing hangs from it; the piece at the vehicle is the whole line.
    assert!(cut.cases[0].attached_radius_m < cut.cases[2].attached_radius_m);
    assert!(cut.cases[0].loose_radius_m > cut.cases[2].loose_radius_m);
}

#[test]
fn a_piece_drifts_in_the_strongest_wind_up_to_the_vehicle() {
    let (scenario, system, detail) = detail(MEASURED);
    let line = &system.line.as_ref().unwrap().line;
    let air = system.surroundings.mean.fluid_at(0.5 * scenario.station.height_m - 0.5);
    // The wind of this plan rises with the height.
    let blows = system.surroundings.gust_at(99.5).unwrap();
    let cases = detail.cut.unwrap().cases;
    let cut = Cut {
        paid_out_length_m: cases[2].at_m,
        cut_at_m: 0.0,
        vehicle_height_m: 100.0,
        vehicle_distance_m: 15.0,
        wind_speed_m_s: blows.speed_m_s(99.5),
    };
    let reach = cut_reach(line, &cut, air.density_kg_m3, air.dynamic_viscosity_pa_s).unwrap();
    assert!((cases[0].loose_drift_m / reach.loose_drift_m - 1.0).abs() < 1e-9);
    assert!((cases[0].loose_radius_m / reach.loose_radius_m - 1.0).abs() < 1e-9);
}
