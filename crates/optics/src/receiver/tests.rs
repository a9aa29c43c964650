//! Whole receivers.
#![allow(clippy::float_cmp, reason = "limits and zeros are exact")]

use approx::assert_relative_eq;
use beamstay_electrical::converter::{Converter, ConverterSpec};
use beamstay_environment::fluid::Fluid;

use super::*;

mod global;
mod parts;
mod properties;
mod sizing;

pub(super) const AIR: Fluid = Fluid {
    temperature_k: 303.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.164,
    dynamic_viscosity_pa_s: 1.872e-5,
    thermal_conductivity_w_per_m_k: 0.02588,
    specific_heat_j_per_kg_k: 1007.0,
    speed_of_sound_m_s: 349.0,
};

/// Six gallium arsenide cells of 2 cm² on a light finned plate: about 200 W of light.
pub(super) fn spec() -> ReceiverSpec {
    ReceiverSpec {
        cell: Cell::new(CellSpec::gallium_arsenide(2e-4)).unwrap(),
        series_count: 6,
        parallel_count: 1,
        shares: None,
        reflection_ratio: 0.03,
        sink: FinSink::new(FinSinkSpec::aluminium(0.10, 0.08, 0.025)).unwrap(),
        junction_to_sink_k_per_w: 0.05,
        tracking_efficiency_ratio: 0.99,
        converter: Converter::new(ConverterSpec::airborne(150.0)).unwrap(),
        optics_kg: 0.05,
        housing_kg: 0.10,
    }
}

fn operate(receiver: &Receiver, arriving_w: f64, draw: Draw) -> ReceiverOperation {
    let cooling = receiver.spec().sink.cooled_by(&AIR, 8.0).unwrap();
    receiver.operate(arriving_w, 808e-9, &cooling, draw).unwrap()
}

#[test]
fn a_warm_laser_and_a_cold_cell_miss_each_other() {
    // Designed for 858 nm; the laser is 20 K warm at 0.3 nm/K, the cells are in air of −20 °C.
    let receiver = Receiver::new(spec()).unwrap();
    let cold = receiver.spec().sink.cooled_by(&Fluid { temperature_k: 253.15, ..AIR }, 30.0).unwrap();
    let at = |wavelength_m: f64| receiver.operate(20.0, wavelength_m, &cold, Draw::MaximumPower).unwrap();
    let (design, drifted, gone) = (at(850e-9), at(864e-9), at(880e-9));
    assert!(drifted.cells_w < 0.5 * design.cells_w, "{drifted:?}");
    assert!(gone.cells_w < 0.02 * design.cells_w && gone.cell_heat_w > 0.98 * gone.absorbed_w, "{gone:?}");
}

#[test]
fn bus_power_peaks_and_falls_with_more_light() {
    let receiver = Receiver::new(ReceiverSpec { converter: Converter::ideal(), ..spec() }).unwrap();
    let cooling = receiver.spec().sink.cooled_by(&AIR, 3.0).unwrap();
    let peak_w = receiver.peak(808e-9, &cooling, 1e4);
    let at = |w: f64| receiver.operate(w, 808e-9, &cooling, Draw::MaximumPower).unwrap();
    let peak = at(peak_w);
    assert!(at(0.8 * peak_w).bus_w < peak.bus_w && at(1.2 * peak_w).bus_w < peak.bus_w);
    let found = receiver.arriving_for_bus(0.98 * peak.bus_w, 808e-9, &cooling, 1e4).unwrap();
    let ArrivingForBus::Found { arriving_w, .. } = found else { panic!("{found:?}") };
    assert!(arriving_w < peak_w, "{arriving_w} {peak_w}");
    let none = receiver.arriving_for_bus(1.001 * peak.bus_w, 808e-9, &cooling, 1e4).unwrap();
    let ArrivingForBus::NoneCloses { best_bus_w, at_arriving_w } = none else { panic!("{none:?}") };
    assert_relative_eq!(best_bus_w, peak.bus_w, max_relative = 1e-9);
    assert_relative_eq!(at_arriving_w, peak_w, max_relative = 1e-3);
}

#[test]
fn dimmed_light_is_less_light() {
    let receiver = Receiver::new(spec()).unwrap();
    let cooling = receiver.spec().sink.cooled_by(&AIR, 8.0).unwrap();
    for arriving_w in [20.0, 200.0, 2000.0] {
        let bright = receiver.operate(arriving_w, 808e-9, &cooling, Draw::MaximumPower).unwrap();
        for ratio in [0.0, 0.5, 0.99, 0.999, 1.0] {
            let dimmed = receiver.dimmed(&bright, ratio, 808e-9, &cooling).unwrap();
            let whole = receiver.operate(ratio * arriving_w, 808e-9, &cooling, Draw::MaximumPower).unwrap();
            assert_relative_eq!(dimmed.sink_temp_k, whole.sink_temp_k, max_relative = 1e-10);
            assert_relative_eq!(dimmed.cells_w, whole.cells_w, max_relative = 1e-9);
        }
        assert!(receiver.dimmed(&bright, 1.01, 808e-9, &cooling).is_err());
    }
}

#[test]
fn the_temperature_ceiling_is_met_from_below() {
    let receiver = Receiver::new(spec()).unwrap();
    let cooling = receiver.spec().sink.cooled_by(&AIR, 8.0).unwrap();
    for draw in [Draw::MaximumPower, Draw::Bus(20.0), Draw::Nothing] {
        let w = receiver.arriving_at_temperature(373.15, 808e-9, &cooling, draw, 1e4).unwrap();
        let o = receiver.operate(w, 808e-9, &cooling, draw).unwrap();
        assert_relative_eq!(o.hottest_cell_temp_k, 373.15, max_relative = 1e-6);
    }
    assert_eq!(receiver.arriving_at_temperature(300.0, 808e-9, &cooling, Draw::Nothing, 1e4).unwrap(), 0.0);
    assert_eq!(receiver.arriving_at_temperature(373.15, 808e-9, &cooling, Draw::Nothing, 1.0).unwrap(), 1.0);
}

#[test]
fn no_light_gives_nothing_and_stays_at_air_temperature() {
    for draw in [Draw::MaximumPower, Draw::Bus(10.0), Draw::Nothing] {
        let o = operate(&Receiver::new(spec()).unwrap(), 0.0, draw);
        assert_eq!((o.bus_w, o.cells_w, o.cell_temp_k), (0.0, 0.0, AIR.temperature_k));
    }
}

#[test]
fn a_demand_above_the_most_draws_the_most() {
    let receiver = Receiver::new(spec()).unwrap();
    let (most, asked) =
        (operate(&receiver, 200.0, Draw::MaximumPower), operate(&receiver, 200.0, Draw::Bus(500.0)));
    assert_eq!(most.bus_w, asked.bus_w);
    assert!(asked.bus_w < 500.0);
}

#[test]
fn a_dark_cell_is_the_hottest_and_a_bypass_diode_cools_it() {
    // The dark cell of a string carries the others' current in reverse through its shunt.
    let shares = Some(Shares::in_proportion(&[1.0, 1.0, 1.0, 1.0, 1.0, 0.3]).unwrap());
    let leaky = CellSpec { shunt_ohm_m2: 5e-5, ..CellSpec::gallium_arsenide(2e-4) };
    let bare = Receiver::new(ReceiverSpec { shares, cell: Cell::new(leaky).unwrap(), ..spec() }).unwrap();
    let bypassed = bare.with_bypass_diodes(0.4).unwrap();
    let (hot, cooler) =
        (operate(&bare, 100.0, Draw::MaximumPower), operate(&bypassed, 100.0, Draw::MaximumPower));
    assert!(hot.hottest_cell_temp_k > hot.cell_temp_k + 0.1, "{hot:?}");
    assert!(cooler.bus_w > hot.bus_w, "{cooler:?} {hot:?}");
}

#[test]
fn a_brighter_string_in_parallel_adds_its_own_current() {
    let all = Some(Shares::in_proportion(&[0.2, 0.2, 0.2, 0.1, 0.1, 0.1]).unwrap());
    let parts = ReceiverSpec { series_count: 3, parallel_count: 2, tracking_efficiency_ratio: 1.0, ..spec() };
    let array = Receiver::new(ReceiverSpec { shares: all, ..parts }).unwrap();
    let even = Receiver::new(ReceiverSpec { shares: None, ..parts }).unwrap();
    let (a, b) = (operate(&array, 100.0, Draw::MaximumPower), operate(&even, 100.0, Draw::MaximumPower));
    assert!(a.cells_w < b.cells_w && a.cells_w > 0.98 * b.cells_w, "{a:?} {b:?}");
}

#[test]
fn each_part_is_checked() {
    let four = Some(Shares::in_proportion(&[1.0; 4]).unwrap());
    let wrong = [
        ReceiverSpec { series_count: 0, ..spec() },
        ReceiverSpec { parallel_count: 10_001, ..spec() },
        ReceiverSpec { shares: four, ..spec() },
        ReceiverSpec { shares: four, series_count: 3, parallel_count: 2, ..spec() },
        ReceiverSpec { reflection_ratio: 1.001, ..spec() },
        ReceiverSpec { junction_to_sink_k_per_w: -1e-9, ..spec() },
        ReceiverSpec { tracking_efficiency_ratio: 0.0099, ..spec() },
        ReceiverSpec { optics_kg: f64::NAN, ..spec() },
        ReceiverSpec { housing_kg: -0.1, ..spec() },
    ];
    for (index, wrong) in wrong.into_iter().enumerate() {
        assert!(matches!(Receiver::new(wrong), Err(OpticsError::OutOfRange(_))), "{index}");
    }
    let eight = Some(Shares::in_proportion(&[1.0; 8]).unwrap());
    let right = ReceiverSpec { shares: eight, series_count: 4, parallel_count: 2, ..spec() };
    assert!(Receiver::new(right).is_ok());
    assert!(
        Receiver::new(ReceiverSpec { shares: four, series_count: 4, parallel_count: 2, ..spec() }).is_ok()
    );
    let receiver = Receiver::new(spec()).unwrap();
    assert!(receiver.with_bypass_diodes(2.1).is_err());
    let cooling = receiver.spec().sink.cooled_by(&AIR, 1.0).unwrap();
    for (w, m, draw) in [
        (-1.0, 8e-7, Draw::Nothing),
        (1.1e6, 8e-7, Draw::Nothing),
        (f64::NAN, 8e-7, Draw::Nothing),
        (1.0, 0.0, Draw::Nothing),
        (1.0, 8e-7, Draw::Bus(-1.0)),
    ] {
        assert!(receiver.operate(w, m, &cooling, draw).is_err());
    }
}

#[test]
fn mass_is_the_sum_of_its_parts() {
    let receiver = Receiver::new(spec()).unwrap();
    let mass = receiver.mass();
    // Six cells of 2 cm² at 3 kg/m².
    assert_relative_eq!(mass.cells_kg, 0.0036, max_relative = 1e-12);
    assert_relative_eq!(
        mass.total_kg(),
        0.0036 + 0.05 + mass.sink_kg + mass.converter_kg + 0.10,
        epsilon = 1e-12
    );
}
