//! Properties of whole receivers.
#![allow(clippy::float_cmp, reason = "limits and zeros are exact")]

use approx::assert_relative_eq;
use beamstay_electrical::converter::{Converter, ConverterSpec};
use beamstay_environment::fluid::Fluid;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::*;

mod global;
mod parts;
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

fn decades(lo: f64, hi: f64) -> impl Strategy<Value = f64> {
    (lo.log10()..=hi.log10()).prop_map(move |power| 10f64.powf(power).clamp(lo, hi))
}

fn any_cell() -> impl Strategy<Value = Cell> {
    let bands = [
        BandEdge::GALLIUM_ARSENIDE,
        BandEdge::SILICON,
        BandEdge::INDIUM_GALLIUM_ARSENIDE,
        BandEdge::direct_alloy(1.15),
    ];
    (
        decades(1e-10, 10.0),
        prop::sample::select(bands.to_vec()),
        0.0..=1.0f64,
        decades(1.0, 1e20),
        0.5..=3.0f64,
        prop_oneof![Just(0.0), decades(1e-12, 1.0)],
        decades(1e-9, 1e12),
        -0.02..=0.02f64,
    )
        .prop_map(|(area_m2, band, quantum, saturation, ideality, series, shunt, change)| {
            // Anything from the radiative limit to a dead junction.
            let limit = CellSpec::direct_gap(area_m2, band, 1.0).unwrap().saturation_a_per_m2;
            let at_1_a_per_cm2 = (1e4f64 / limit).ln_1p() / ideality;
            let least = (1e4 / at_1_a_per_cm2.exp_m1()).max(1e-40);
            Cell::new(CellSpec {
                band,
                quantum_efficiency_ratio: quantum,
                saturation_a_per_m2: (least * saturation).min(1e3),
                ideality,
                series_ohm_m2: series,
                series_change_per_k: change,
                shunt_ohm_m2: shunt,
                shunt_change_per_k: -change,
                ..CellSpec::gallium_arsenide(area_m2)
            })
            .unwrap()
        })
}

fn any_sink() -> impl Strategy<Value = FinSink> {
    (decades(1e-3, 10.0), decades(1e-3, 10.0), decades(1e-4, 1.0), 0.0..=1.0f64, 0..200u32, 0.0..=1.0f64)
        .prop_map(|(width_m, length_m, fin_height_m, emissivity_ratio, fins, channel_speed_ratio)| {
            let fins_count = if fins == 1 { 0 } else { fins };
            let most_m = (width_m / f64::from(fins_count.max(1)) - 1e-5).max(1e-5);
            FinSink::new(FinSinkSpec {
                width_m: width_m.max(2.2e-5 * f64::from(fins_count)),
                length_m,
                fin_height_m,
                fins_count,
                fin_thickness_m: (0.2 * most_m).clamp(1e-5, 0.1),
                emissivity_ratio,
                channel_speed_ratio,
                ..FinSinkSpec::aluminium(0.1, 0.1, 0.02)
            })
            .unwrap()
        })
}

fn any_fluid() -> impl Strategy<Value = Fluid> {
    let air = (200.0..=330.0f64, decades(0.05, 1.5)).prop_map(|(temperature_k, density_kg_m3)| Fluid {
        temperature_k,
        density_kg_m3,
        ..AIR
    });
    let water = (273.0..=310.0f64).prop_map(|temperature_k| Fluid {
        temperature_k,
        pressure_pa: 2e5,
        density_kg_m3: 1025.0,
        dynamic_viscosity_pa_s: 1.2e-3,
        thermal_conductivity_w_per_m_k: 0.6,
        specific_heat_j_per_kg_k: 3990.0,
        speed_of_sound_m_s: 1500.0,
    });
    prop_oneof![4 => air, 1 => water]
}

/// Shares for `series` × `parallel` cells, absent, for one string or for all; dark cells among them.
fn any_shares(series: u32, parallel: u32) -> impl Strategy<Value = Option<Shares>> {
    let weights = |count: u32| {
        prop::collection::vec(prop_oneof![4 => 0.5..=1.5f64, 1 => 0.0..=1.0f64], count as usize).prop_map(
            |mut w| {
                w[0] += 1e-3;
                Some(Shares::in_proportion(&w).unwrap())
            },
        )
    };
    prop_oneof![2 => Just(None), 1 => weights(series), 1 => weights(series * parallel)]
}

fn any_receiver() -> impl Strategy<Value = Receiver> {
    (1..=8u32, 1..=3u32).prop_flat_map(|(series_count, parallel_count)| {
        (
            any_cell(),
            any_shares(series_count, parallel_count),
            0.0..=1.0f64,
            any_sink(),
            prop_oneof![Just(0.0), decades(1e-6, 1e4)],
            0.01..=1.0f64,
            decades(1e-3, 1e6),
            prop::option::of(0.0..=2.0f64),
        )
            .prop_map(
                move |(cell, shares, reflection, sink, resistance, tracking, rated_w, bypass_v)| {
                    let receiver = Receiver::new(ReceiverSpec {
                        cell,
                        series_count,
                        parallel_count,
                        shares,
                        reflection_ratio: reflection,
                        sink,
                        junction_to_sink_k_per_w: resistance,
                        tracking_efficiency_ratio: tracking,
                        converter: Converter::new(ConverterSpec::airborne(rated_w)).unwrap(),
                        optics_kg: 0.1,
                        housing_kg: 0.1,
                    })
                    .unwrap();
                    match bypass_v {
                        Some(forward_v) => receiver.with_bypass_diodes(forward_v).unwrap(),
                        None => receiver,
                    }
                },
            )
    })
}

fn numbers(o: &ReceiverOperation) -> [f64; 15] {
    [
        o.arriving_w,
        o.reflected_w,
        o.absorbed_w,
        o.cells_w,
        o.cell_heat_w,
        o.cell_temp_k,
        o.hottest_cell_temp_k,
        o.sink_temp_k,
        o.converter_loss_w,
        o.bus_w,
        o.string_voltage_v,
        o.current_a,
        o.efficiency_ratio,
        o.brightest_cell_w_per_m2,
        f64::from(o.evaluations_count),
    ]
}

/// 20,000 receivers from the whole range of every part, under any light, seeded: nothing panics, every number is finite, the
/// energy closes to 1e-12 and the heat that is made is the heat that is shed.
#[test]
fn prop_any_receiver_is_finite_and_closes() {
    let config = Config { cases: 20_000, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(
        config,
        proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
    );
    let light = prop_oneof![1 => Just(0.0), 1 => Just(1e6), 8 => decades(1e-12, 1e6)];
    let draw = prop_oneof![
        Just(Draw::MaximumPower),
        Just(Draw::Nothing),
        Just(Draw::Bus(0.0)),
        decades(1e-6, 1e6).prop_map(Draw::Bus)
    ];
    let inputs = (any_receiver(), light, 300e-9..2500e-9f64, any_fluid(), 0.0..=60.0f64, draw);
    let result = runner.run(&inputs, |(receiver, arriving_w, wavelength_m, fluid, speed_m_s, draw)| {
        let cooling = receiver.spec().sink.cooled_by(&fluid, speed_m_s).unwrap();
        let o = receiver.operate(arriving_w, wavelength_m, &cooling, draw).unwrap();
        prop_assert!(numbers(&o).iter().all(|x| x.is_finite()), "{o:?}");
        let out_w = o.reflected_w + o.cell_heat_w + o.converter_loss_w + o.bus_w;
        prop_assert!((out_w - arriving_w).abs() <= 1e-12 * arriving_w, "{o:?}");
        prop_assert!(o.bus_w >= 0.0 && o.converter_loss_w >= 0.0 && o.cell_heat_w >= 0.0, "{o:?}");
        prop_assert!(o.cell_temp_k >= fluid.temperature_k && o.hottest_cell_temp_k >= o.cell_temp_k);
        if o.sink_temp_k < 9e6 {
            let shed_w = cooling.dissipated_w(o.sink_temp_k);
            let rounding_w =
                1e-9 * o.absorbed_w + 1e-13 * o.sink_temp_k * cooling.dissipated_w(fluid.temperature_k + 1.0);
            prop_assert!((shed_w - o.cell_heat_w).abs() <= rounding_w, "{shed_w} {o:?}");
        }
        prop_assert!(o.evaluations_count <= 60, "{o:?}");
        Ok(())
    });
    result.unwrap();
}

/// Cells whose power falls with heat, as every real one does.
fn plain_receiver() -> impl Strategy<Value = Receiver> {
    (decades(1e-6, 1e-3), 1..=12u32, 0.0..0.2f64, 0.01..0.3f64, 0.005..0.05f64, 0.5..=1.0f64).prop_map(
        |(area_m2, series_count, reflection_ratio, width_m, fin_height_m, tracking_efficiency_ratio)| {
            Receiver::new(ReceiverSpec {
                cell: Cell::new(CellSpec::gallium_arsenide(area_m2)).unwrap(),
                series_count,
                reflection_ratio,
                sink: FinSink::new(FinSinkSpec::aluminium(width_m, 0.08, fin_height_m)).unwrap(),
                tracking_efficiency_ratio,
                ..spec()
            })
            .unwrap()
        },
    )
}

proptest! {
    #![proptest_config(Config { cases: 400, failure_persistence: None, ..Config::default() })]

    #[test]
    fn prop_hotter_air_never_raises_bus_power(
        receiver in plain_receiver(), arriving_w in decades(0.1, 1e4), warmer_k in 0.1..60.0f64, speed_m_s in 0.0..20.0f64,
    ) {
        // 780 nm is absorbed fully at every temperature; near the edge a warmer cell catches more light.
        let at = |temperature_k: f64| {
            let cooling = receiver.spec().sink.cooled_by(&Fluid { temperature_k, ..AIR }, speed_m_s).unwrap();
            receiver.operate(arriving_w, 780e-9, &cooling, Draw::MaximumPower).unwrap().bus_w
        };
        prop_assert!(at(260.0 + warmer_k) <= at(260.0) * (1.0 + 1e-9) + 1e-12);
    }

    #[test]
    fn prop_less_drawn_is_hotter(
        receiver in plain_receiver(), arriving_w in decades(0.1, 1e4), share in 0.0..1.0f64, speed_m_s in 0.0..20.0f64,
    ) {
        let cooling = receiver.spec().sink.cooled_by(&AIR, speed_m_s).unwrap();
        let at = |draw| receiver.operate(arriving_w, 808e-9, &cooling, draw).unwrap();
        let most = at(Draw::MaximumPower);
        let some = at(Draw::Bus(share * most.bus_w));
        let none = at(Draw::Nothing);
        let rounding_k = 1e-9 * none.cell_temp_k;
        prop_assert!(most.cell_temp_k <= some.cell_temp_k + rounding_k, "{most:?} {some:?}");
        prop_assert!(some.cell_temp_k <= none.cell_temp_k + rounding_k, "{some:?} {none:?}");
        prop_assert!((some.bus_w - share * most.bus_w).abs() <= 1e-9 * most.bus_w, "{some:?}");
        prop_assert!((some.string_voltage_v * some.current_a - some.cells_w).abs() <= 1e-6 * arriving_w);
    }

    #[test]
    fn prop_light_for_bus_is_the_lower_root(
        receiver in plain_receiver(), demand_w in decades(0.01, 3000.0), speed_m_s in 0.0..20.0f64,
    ) {
        let cooling = receiver.spec().sink.cooled_by(&AIR, speed_m_s).unwrap();
        let at = |w: f64| receiver.operate(w, 808e-9, &cooling, Draw::MaximumPower).unwrap().bus_w;
        match receiver.arriving_for_bus(demand_w, 808e-9, &cooling, 2e4).unwrap() {
            ArrivingForBus::Found { arriving_w, operation } => {
                prop_assert!((operation.bus_w - demand_w).abs() <= 1e-8 * demand_w, "{operation:?}");
                for k in 1..40 {
                    let less_w = arriving_w * (1.0 - 1e-4) * f64::from(k) / 39.0;
                    prop_assert!(at(less_w) < demand_w, "{less_w} W of {arriving_w} W suffices");
                }
            }
            ArrivingForBus::NoneCloses { best_bus_w, at_arriving_w } => {
                prop_assert!(best_bus_w < demand_w && at_arriving_w <= 2e4);
                for k in 0..40 {
                    let w = 2e4 * f64::from(k) / 39.0; prop_assert!(at(w) <= best_bus_w * (1.0 + 1e-9), "{w} W gives {}, best {best_bus_w} at {at_arriving_w}", at(w));
                }
            }
        }
    }

    #[test]
    fn prop_equal_shares_are_even_light(
        receiver in plain_receiver(), arriving_w in decades(0.1, 3e3), parallel_count in 1..=4u32, bypassed in any::<bool>(),
    ) {
        let even = Receiver::new(ReceiverSpec { parallel_count, ..*receiver.spec() }).unwrap();
        let all = (receiver.spec().series_count * parallel_count) as usize;
        let shares = Some(Shares::in_proportion(&vec![1.0; all]).unwrap());
        let mut uneven = Receiver::new(ReceiverSpec { shares, ..*even.spec() }).unwrap();
        if bypassed {
            uneven = uneven.with_bypass_diodes(0.5).unwrap();
        }
        let (a, b) = (operate(&even, arriving_w, Draw::MaximumPower), operate(&uneven, arriving_w, Draw::MaximumPower));
        prop_assert!((a.cells_w - b.cells_w).abs() <= 1e-9 * arriving_w, "{a:?} {b:?}");
        prop_assert!((a.cell_temp_k - b.hottest_cell_temp_k).abs() <= 1e-6 * a.cell_temp_k, "{a:?} {b:?}");
        // Burnt cells give too little for their voltage to be known.
        if a.cells_w > 1e-3 * arriving_w {
            let difference_v = a.string_voltage_v - b.string_voltage_v;
            prop_assert!(difference_v.abs() <= 1e-5 * a.string_voltage_v, "{a:?} {b:?}");
        }
    }

    #[test]
    fn prop_uneven_light_lies_between_the_weakest_cell_and_the_mean(
        weights in prop::collection::vec(0.3..1.0f64, 2..12), arriving_w in decades(1.0, 500.0),
    ) {
        let series_count = weights.len() as u32;
        let shares = Shares::in_proportion(&weights).unwrap();
        let sink = FinSink::new(FinSinkSpec::aluminium(5.0, 1.0, 0.2)).unwrap();
        let even = ReceiverSpec { series_count, sink, junction_to_sink_k_per_w: 0.0, converter: Converter::ideal(), ..spec() };
        let uneven = Receiver::new(ReceiverSpec { shares: Some(shares), ..even }).unwrap();
        let even = Receiver::new(even).unwrap();
        let (mean_w, uneven_w) = (
            operate(&even, arriving_w, Draw::MaximumPower).cells_w,
            operate(&uneven, arriving_w, Draw::MaximumPower).cells_w,
        );
        let weakest = shares.weakest_ratio() * f64::from(series_count);
        let weakest_w = operate(&even, arriving_w * weakest, Draw::MaximumPower).cells_w;
        prop_assert!(uneven_w <= mean_w * (1.0 + 1e-6), "{uneven_w} {mean_w}");
        prop_assert!(uneven_w >= weakest_w * (1.0 - 1e-3), "{uneven_w} {weakest_w}");
        let bypassed = uneven.with_bypass_diodes(0.4).unwrap();
        let bypassed_w = operate(&bypassed, arriving_w, Draw::MaximumPower).cells_w;
        prop_assert!(bypassed_w >= uneven_w * (1.0 - 1e-9), "{bypassed_w} {uneven_w}");
    }

    #[test]
    fn prop_more_cooling_is_colder(
        receiver in plain_receiver(), arriving_w in decades(0.1, 1e4), speed_m_s in 0.0..20.0f64, faster_m_s in 0.1..20.0f64,
    ) {
        let at = |speed_m_s: f64| {
            let cooling = receiver.spec().sink.cooled_by(&AIR, speed_m_s).unwrap();
            receiver.operate(arriving_w, 808e-9, &cooling, Draw::Nothing).unwrap().cell_temp_k
        };
        prop_assert!(at(speed_m_s + faster_m_s) <= at(speed_m_s) + 1e-9);
    }
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
