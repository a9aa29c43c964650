use super::*;
use crate::{Converter, ConverterSpec, CopperDelivery, Metal, Plastic};
use proptest::prelude::*;

fn line(gauge: i32) -> Line {
    let wire = Conductor::gauge(Metal::COPPER, gauge).unwrap();
    Line::new(wire, Wall::new(Plastic::ETFE, 0.25e-3).unwrap(), 100.0, 400.0).unwrap()
}

fn still_air() -> Cooling {
    Cooling::in_wind(313.15, 0.0).unwrap()
}

#[test]
fn each_argument_is_checked() {
    let good = line(20);
    assert!(Line::new(good.conductor, good.wall, 0.09, 400.0).is_err());
    assert!(Line::new(good.conductor, good.wall, 100.0, 0.9).is_err());
    let surroundings = LineSurroundings::all_paid_out(still_air());
    assert!(good.operate(-1.0, &surroundings).is_err());
    assert!(good.operate(f64::NAN, &surroundings).is_err());
    for wrong in [
        LineSurroundings { paid_out_length_m: -1.0, ..surroundings },
        LineSurroundings { drum_ambient_temp_k: 351.0, ..surroundings },
        LineSurroundings { drum_rise_k_per_w: f64::NAN, ..surroundings },
        LineSurroundings { air: Cooling { wind_m_s: -1.0, ..still_air() }, ..surroundings },
    ] {
        assert!(good.operate(100.0, &wrong).is_err(), "{wrong:?}");
    }
}

#[test]
fn the_drum_is_the_hot_place() {
    let winding = Winding::in_still_air(0.1, 0.12, 0.2).unwrap();
    let out = line(20).operate(1000.0, &LineSurroundings::with_drum(still_air(), 20.0, &winding)).unwrap();
    let Outcome::Served(served) = out else { panic!("{out:?}") };
    assert!(served.drum_temp_k > served.hanging_temp_k + 20.0, "{served:?}");
    assert!(served.drum_loss_w > 4.0 * served.hanging_loss_w);
    assert!(served.insulation_holds == (served.drum_temp_k <= 423.15));
}

#[test]
fn heat_resistance_and_temperature_of_both_parts_fit() {
    let winding = Winding::in_still_air(0.1, 0.12, 0.2).unwrap();
    for (paid_out_m, load_w) in [(20.0, 1000.0), (60.0, 1500.0), (100.0, 2000.0)] {
        let around = LineSurroundings::with_drum(still_air(), paid_out_m, &winding);
        let line = line(20);
        let out = line.operate(load_w, &around).unwrap();
        let served = out.served().unwrap();
        let ohm = |length_m: f64, temp_k: f64| 2.0 * length_m * line.conductor().resistance_ohm_per_m(temp_k);
        let squared_a2 = served.current_a.powi(2);
        let hanging_w = squared_a2 * ohm(paid_out_m, served.hanging_temp_k);
        let drum_w = squared_a2 * ohm(100.0 - paid_out_m, served.drum_temp_k);
        assert!((served.hanging_loss_w - hanging_w).abs() < 1e-8 * hanging_w, "{served:?}");
        assert!((served.drum_loss_w - drum_w).abs() <= 1e-8 * drum_w, "{served:?}");
        // The drum's rise is its heat times its resistance to heat.
        let rise_k = around.drum_rise_k_per_w * served.drum_loss_w;
        assert!((served.drum_temp_k - around.drum_ambient_temp_k - rise_k).abs() < 1e-6, "{served:?}");
        // What is sent goes to the load and into both parts.
        assert!((served.source_w - load_w - hanging_w - drum_w).abs() < 1e-6, "{served:?}");
    }
}

#[test]
fn the_circle_around_a_pair_is_two_wires_wide() {
    let line = line(20);
    assert!((line.wire_diameter_m() - line.conductor().diameter_m() - 0.5e-3).abs() < 1e-12);
    assert!((line.pair_diameter_m() - 2.0 * line.wire_diameter_m()).abs() < 1e-15);
}

#[test]
fn a_closed_box_of_a_drum_runs_away() {
    let surroundings = LineSurroundings {
        paid_out_length_m: 0.0,
        air: still_air(),
        drum_ambient_temp_k: 313.15,
        drum_rise_k_per_w: 5.0,
    };
    let outcome = line(20).operate(3000.0, &surroundings).unwrap();
    assert!(matches!(outcome, Outcome::Heat { .. }), "{outcome:?}");
}

#[test]
fn too_much_power_names_the_limit() {
    let outcome = line(20).operate(7000.0, &LineSurroundings::all_paid_out(still_air())).unwrap();
    assert!(matches!(outcome, Outcome::PowerTransfer { limit_w, .. } if limit_w < 6004.6), "{outcome:?}");
}

#[test]
fn an_idle_line_is_at_air_temperature() {
    let outcome = line(24).operate(0.0, &LineSurroundings::all_paid_out(still_air())).unwrap();
    let served = outcome.served().unwrap();
    assert_eq!((served.current_a, served.hanging_temp_k, served.drop_ratio()), (0.0, 313.15, 0.0));
}

proptest! {
    #[test]
    fn prop_energy_closes_from_ground_to_bus(
        gauge in 10..30i32, bus_w in 0.0..4000.0f64, wind in 0.0..20.0f64, out_m in 0.0..100.0f64
    ) {
        let converter = Converter::new(ConverterSpec::airborne(3000.0)).unwrap();
        let delivery = CopperDelivery { ground: converter, line: line(gauge), airborne: converter };
        let winding = Winding::in_still_air(0.1, 0.11, 0.3).unwrap();
        let air = Cooling::in_wind(300.0, wind).unwrap();
        let surroundings = LineSurroundings::with_drum(air, out_m, &winding);
        if let Outcome::Served(done) = delivery.operate(bus_w, &surroundings).unwrap() {
            let heat_w = done.ground_loss_w + done.line.loss_w() + done.airborne_loss_w;
            prop_assert!((done.input_w - done.bus_w - heat_w).abs() <= 1e-12 * done.input_w.max(1.0));
            prop_assert!(done.line.load_voltage_v >= 200.0 * (1.0 - 1e-9));
            let ohm_law_v = 400.0 * done.line.drop_ratio();
            prop_assert!((400.0 - ohm_law_v - done.line.load_voltage_v).abs() < 1e-8);
        }
    }

    #[test]
    fn prop_more_load_more_loss(gauge in 12..28i32, load_w in 1.0..1000.0f64, step_w in 0.1..500.0f64) {
        let surroundings = LineSurroundings::all_paid_out(still_air());
        let loss = |load_w: f64| {
            line(gauge).operate(load_w, &surroundings).unwrap().served().map_or(f64::INFINITY, LineOperation::loss_w)
        };
        prop_assert!(loss(load_w + step_w) >= loss(load_w));
    }

    #[test]
    fn prop_hostile_loads_never_panic(bits in any::<[u64; 4]>()) {
        let [load_w, out_m, ambient_k, rise] = bits.map(f64::from_bits);
        let surroundings = LineSurroundings {
            paid_out_length_m: out_m, air: still_air(), drum_ambient_temp_k: ambient_k, drum_rise_k_per_w: rise,
        };
        if let Ok(Outcome::Served(done)) = line(20).operate(load_w, &surroundings) {
            prop_assert!(done.source_w.is_finite() && done.drum_temp_k.is_finite());
        }
        let valid = LineSurroundings::all_paid_out(still_air());
        if let Ok(Outcome::Served(done)) = line(20).operate(load_w, &valid) {
            prop_assert!(done.source_w.is_finite() && done.hanging_temp_k.is_finite());
        }
    }
}
