//! Sizing: fins for a temperature, scale and mass.

use approx::assert_relative_eq;
use beamstay_electrical::converter::{Converter, ConverterSpec};

use super::{AIR, spec};
use crate::OpticsError;
use crate::receiver::{Draw, FinSink, FinSinkSpec, Receiver, ReceiverSpec, SinkDuty};

fn duty<'a>(arriving_w: f64, max_cell_temp_k: f64) -> SinkDuty<'a> {
    SinkDuty {
        arriving_w,
        wavelength_m: 808e-9,
        fluid: &AIR,
        air_speed_m_s: 8.0,
        draw: Draw::Nothing,
        max_cell_temp_k,
    }
}

#[test]
fn fins_are_as_low_as_the_limit_allows() {
    let receiver = Receiver::new(spec()).unwrap();
    let sized = receiver.size_fins(&duty(200.0, 353.15)).unwrap();
    assert!(sized.keeps_limit && sized.operation.hottest_cell_temp_k <= 353.15);
    assert_relative_eq!(sized.operation.hottest_cell_temp_k, 353.15, max_relative = 1e-6);
    let lower_m = 0.99 * sized.receiver.spec().sink.spec().fin_height_m;
    let lower =
        FinSink::new(FinSinkSpec { fin_height_m: lower_m, ..*sized.receiver.spec().sink.spec() }).unwrap();
    let cooling = lower.cooled_by(&AIR, 8.0).unwrap();
    let hotter =
        receiver.with_sink(lower).operate(200.0, 808e-9, &cooling, Draw::Nothing).unwrap().cell_temp_k;
    assert!(hotter > 353.15, "{hotter}");
}

#[test]
fn the_lightest_sink_is_no_heavier_and_keeps_the_limit() {
    let receiver = Receiver::new(spec()).unwrap();
    let one = receiver.size_fins(&duty(200.0, 353.15)).unwrap();
    let best = receiver.size_lightest_fins(&duty(200.0, 353.15)).unwrap();
    assert!(best.keeps_limit);
    assert!(best.receiver.mass().sink_kg <= one.receiver.mass().sink_kg);
}

#[test]
fn a_limit_out_of_reach_says_how_cold_it_gets() {
    let receiver = Receiver::new(spec()).unwrap();
    let sized = receiver.size_fins(&duty(5000.0, 320.0)).unwrap();
    assert!(!sized.keeps_limit && sized.operation.hottest_cell_temp_k > 320.0);
    assert!(!receiver.size_lightest_fins(&duty(5000.0, 320.0)).unwrap().keeps_limit);
    let easy = receiver.size_fins(&duty(1.0, 400.0)).unwrap();
    assert!(easy.keeps_limit && easy.receiver.spec().sink.spec().fin_height_m < 1.1e-4);
    let flat = FinSink::new(FinSinkSpec { fins_count: 0, ..FinSinkSpec::aluminium(0.1, 0.1, 0.02) }).unwrap();
    assert!(matches!(receiver.with_sink(flat).size_fins(&duty(1.0, 400.0)), Err(OpticsError::OutOfRange(_))));
}

#[test]
fn a_scaled_receiver_is_as_hot_under_scaled_light() {
    let small = Receiver::new(ReceiverSpec { converter: Converter::ideal(), ..spec() }).unwrap();
    let large = small.scaled(4.0, Converter::ideal()).unwrap();
    let at = |receiver: &Receiver, w: f64| {
        let cooling = receiver.spec().sink.cooled_by(&AIR, 8.0).unwrap();
        receiver.operate(w, 808e-9, &cooling, Draw::MaximumPower).unwrap()
    };
    let (one, four) = (at(&small, 150.0), at(&large, 600.0));
    assert_relative_eq!(four.cells_w / one.cells_w, 4.0, max_relative = 2e-3);
    // 117 fins instead of four times 30: the end fin counts once.
    assert_relative_eq!(four.cell_temp_k - 303.15, one.cell_temp_k - 303.15, max_relative = 0.03);
    assert_relative_eq!(four.string_voltage_v, one.string_voltage_v, max_relative = 2e-3);
    assert!(small.scaled(0.0, Converter::ideal()).is_err() && small.scaled(1e4, Converter::ideal()).is_err());
}

#[test]
fn a_mass_is_met_from_below() {
    let receiver = Receiver::new(spec()).unwrap();
    let converter_of = |ratio: f64| {
        Converter::new(ConverterSpec::airborne(150.0 * ratio))
            .map_err(|_| OpticsError::BendGuidesNothing { bend_radius_m: 0.0, limit_m: 0.0 })
    };
    for mass_kg in [0.4, 1.0, 5.0] {
        let scaled = receiver.scaled_to_mass(mass_kg, converter_of).unwrap();
        let total_kg = scaled.mass().total_kg();
        assert!(total_kg <= mass_kg && total_kg > 0.98 * mass_kg, "{mass_kg} {total_kg}");
    }
    // The converter's fixed mass is more than that.
    assert!(matches!(receiver.scaled_to_mass(0.1, converter_of), Err(OpticsError::OutOfRange(_))));
}
