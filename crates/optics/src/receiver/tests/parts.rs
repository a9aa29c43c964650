//! Diode, cell, string and heat sink on their own: limits, just inside, just outside.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::{AIR, properties::decades};
use crate::OpticsError;
use crate::receiver::{
    balance,
    cell::{BandEdge, Cell, CellSpec},
    diode::{Diode, DiodeSpec},
    heat,
    sink::{FinSink, FinSinkSpec},
    string::{Shares, UnevenArray},
};

fn diode_spec() -> DiodeSpec {
    DiodeSpec {
        photocurrent_a: 1.0,
        saturation_current_a: 1e-18,
        ideality: 1.1,
        series_resistance_ohm: 0.02,
        shunt_resistance_ohm: 500.0,
        cells_in_series: 1,
        temperature_k: 298.15,
    }
}

#[test]
fn diode_arguments_are_checked() {
    let wrong = [
        DiodeSpec { photocurrent_a: -1e-12, ..diode_spec() },
        DiodeSpec { photocurrent_a: 1.1e6, ..diode_spec() },
        DiodeSpec { saturation_current_a: 0.0, ..diode_spec() },
        DiodeSpec { saturation_current_a: f64::NAN, ..diode_spec() },
        DiodeSpec { ideality: 0.49, ..diode_spec() },
        DiodeSpec { series_resistance_ohm: f64::INFINITY, ..diode_spec() },
        DiodeSpec { shunt_resistance_ohm: 0.0, ..diode_spec() },
        DiodeSpec { cells_in_series: 0, ..diode_spec() },
        DiodeSpec { temperature_k: 19.9, ..diode_spec() },
    ];
    for (index, spec) in wrong.into_iter().enumerate() {
        assert!(matches!(Diode::new(spec), Err(OpticsError::OutOfRange(_))), "{index}");
    }
}

#[test]
fn extreme_diodes_do_not_overflow() {
    let tiny = Diode::new(DiodeSpec { saturation_current_a: 1e-300, ..diode_spec() }).unwrap();
    // ln(1e300)·n·kT/q above a diode of 1 A saturation current.
    assert_relative_eq!(tiny.open_circuit_v(), 19.52, max_relative = 1e-3);
    assert!(tiny.maximum_power().power_w > 18.0);
    let dark = Diode::new(DiodeSpec { photocurrent_a: 0.0, ..diode_spec() }).unwrap();
    assert_eq!((dark.open_circuit_v(), dark.maximum_power().power_w), (0.0, 0.0));
    assert_eq!(dark.short_circuit_a().abs(), 0.0);
    let bright = Diode::new(DiodeSpec { photocurrent_a: 1e6, series_resistance_ohm: 0.0, ..diode_spec() });
    assert!(bright.unwrap().maximum_power().power_w > 1e6);
    // Without series resistance a diode far above its open circuit carries more than a number can hold.
    let stiff = Diode::new(DiodeSpec { series_resistance_ohm: 0.0, ..diode_spec() }).unwrap();
    assert!(matches!(stiff.current_a(100.0), Err(OpticsError::OutOfRange(_))));
    assert!(stiff.current_a(-1e9).unwrap() > 1e6);
    let soft = Diode::new(diode_spec()).unwrap();
    assert_relative_eq!(soft.current_a(1e9).unwrap(), -5e10, max_relative = 1e-6);
    assert!(soft.voltage_v(1e6).unwrap() < -1e8);
    assert!(soft.voltage_v(1.1e6).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_diode_curve_is_its_own_inverse_and_its_maximum_is_one(
        photocurrent_a in decades(1e-12, 1e4), saturation_current_a in decades(1e-300, 1e3), ideality in 0.5..10.0f64,
        series_resistance_ohm in prop_oneof![Just(0.0), decades(1e-9, 1e6)],
        shunt_resistance_ohm in decades(1e-6, 1e18), temperature_k in 50.0..1000.0f64, fraction in 0.0..1.0f64,
    ) {
        let cells_in_series = 3;
        let diode = Diode::new(DiodeSpec {
            photocurrent_a, saturation_current_a, ideality, series_resistance_ohm, shunt_resistance_ohm, cells_in_series,
            temperature_k,
        }).unwrap();
        let (open_v, short_a, best) = (diode.open_circuit_v(), diode.short_circuit_a(), diode.maximum_power());
        prop_assert!(open_v >= 0.0 && short_a >= 0.0 && short_a <= photocurrent_a * (1.0 + 1e-9), "{short_a}");
        prop_assert!(best.power_w >= 0.0 && best.power_w <= open_v * short_a * (1.0 + 1e-9), "{best:?}");
        let voltage_v = fraction * open_v;
        let current_a = diode.current_a(voltage_v).unwrap();
        prop_assert!(voltage_v * current_a <= best.power_w * (1.0 + 1e-7) + 1e-300, "{voltage_v} {current_a} {best:?}");
        let back_v = diode.voltage_v(current_a).unwrap();
        // A current near the photocurrent leaves few digits for the voltage.
        let lost = photocurrent_a / (photocurrent_a - current_a).abs().max(1e-300);
        let tolerance_v = (1e-9 + 1e-14 * lost) * (open_v + photocurrent_a * series_resistance_ohm)
            + 1e-14 * photocurrent_a * shunt_resistance_ohm.min(1e6);
        prop_assert!((back_v - voltage_v).abs() <= tolerance_v, "{back_v} {voltage_v}");
        let some = diode.point_at_power(fraction * best.power_w);
        // What a bad shunt or series resistance leaves is a small difference of large currents.
        let rounding_w = 1e-14 * photocurrent_a * (open_v + photocurrent_a * series_resistance_ohm);
        prop_assert!((some.power_w - fraction * best.power_w).abs() <= 1e-6 * best.power_w + rounding_w, "{some:?} {best:?}");
        prop_assert!(some.voltage_v >= best.voltage_v * (1.0 - 1e-9));
    }

    #[test]
    fn prop_string_voltage_at_power_is_finite_for_any_shares(
        weights in prop::collection::vec(0.0..1.0f64, 12), photocurrent_a in decades(1e-9, 1e4), series_count in prop::sample::select(vec![1usize, 2, 3, 4, 6, 12]),
        bypass in prop::option::of(0.0..1.0f64), shunt_resistance_ohm in decades(1e-3, 1e12),
    ) {
        prop_assume!(weights.iter().sum::<f64>() > 0.0);
        let cell = Diode::new(DiodeSpec { photocurrent_a, shunt_resistance_ohm, ..diode_spec() }).unwrap();
        let shares = Shares::in_proportion(&weights).unwrap();
        let array = UnevenArray::new(&cell, &shares, series_count, bypass).unwrap();
        let best = array.maximum_power();
        prop_assert!(best.power_w.is_finite() && best.power_w >= 0.0, "{best:?}");
        let half = array.point_at_power(0.5 * best.power_w);
        prop_assert!((half.power_w - 0.5 * best.power_w).abs() <= 1e-6 * best.power_w, "{half:?} {best:?}");
        prop_assert!(array.open_circuit().voltage_v.is_finite());
    }
}

#[test]
fn the_best_bypassed_maximum_is_found_among_several() {
    let cell = Diode::new(DiodeSpec { photocurrent_a: 10.0, ..diode_spec() }).unwrap();
    for weights in
        [[1.0, 1.0, 1.0, 0.2], [1.0, 0.9, 0.5, 0.1], [1.0, 0.6, 0.55, 0.5], [1.0, 0.05, 0.04, 0.03]]
    {
        let shares = Shares::in_proportion(&weights).unwrap();
        let array = UnevenArray::new(&cell, &shares, 4, Some(0.4)).unwrap();
        let best = array.maximum_power();
        // By trial: each cell's voltage from its own curve, not below the bypass diode's.
        let power_w = |current_a: f64| {
            let cell_v = |share: &f64| {
                let own = Diode::new(DiodeSpec { photocurrent_a: 10.0 * share, ..diode_spec() }).unwrap();
                own.voltage_v(current_a).unwrap().max(-0.4)
            };
            current_a * shares.ratios().iter().map(cell_v).sum::<f64>()
        };
        let tried = (0..=20_000).map(|k| power_w(5.0 * f64::from(k) / 20_000.0)).fold(0.0, f64::max);
        assert!(best.power_w >= tried * (1.0 - 1e-12) && best.power_w <= tried * (1.0 + 1e-5), "{weights:?}");
    }
}

#[test]
fn strings_and_shares_are_checked() {
    assert!(Shares::in_proportion(&[]).is_err());
    assert!(Shares::in_proportion(&[1.0; 65]).is_err());
    assert!(Shares::in_proportion(&[0.0, 0.0]).is_err());
    assert!(Shares::in_proportion(&[1.0, -0.1]).is_err());
    assert!(Shares::in_proportion(&[1.0, f64::NAN]).is_err());
    let cell = Diode::new(diode_spec()).unwrap();
    let shares = Shares::in_proportion(&[1.0; 6]).unwrap();
    assert!(UnevenArray::new(&cell, &shares, 4, None).is_err());
    assert!(UnevenArray::new(&cell, &shares, 0, None).is_err());
    assert!(UnevenArray::new(&cell, &shares, 7, None).is_err());
    assert!(UnevenArray::new(&cell, &shares, 3, Some(-0.1)).is_err());
    assert!(UnevenArray::new(&cell, &shares, 3, Some(0.3)).is_ok());
}

#[test]
fn cell_values_are_checked() {
    let good = CellSpec::gallium_arsenide(1e-4);
    let band = BandEdge::GALLIUM_ARSENIDE;
    let wrong = [
        CellSpec { area_m2: 0.0, ..good },
        CellSpec { window_ev: 0.1, ..good },
        CellSpec { quantum_efficiency_ratio: 1.01, ..good },
        CellSpec { reference_temperature_k: 199.0, ..good },
        CellSpec { saturation_a_per_m2: 1.1e3, ..good },
        CellSpec { ideality: 3.1, ..good },
        CellSpec { series_ohm_m2: -1e-12, ..good },
        CellSpec { series_change_per_k: 0.021, ..good },
        CellSpec { shunt_ohm_m2: 0.0, ..good },
        CellSpec { shunt_change_per_k: f64::NAN, ..good },
        CellSpec { irradiance_limit_w_per_m2: 0.0, ..good },
        CellSpec { mass_kg_per_m2: -1.0, ..good },
        CellSpec { band: BandEdge { gap_at_zero_ev: 0.1, ..band }, ..good },
        CellSpec { band: BandEdge { varshni_alpha_ev_per_k: 0.003, ..band }, ..good },
        CellSpec { band: BandEdge { varshni_beta_k: -1.0, ..band }, ..good },
        CellSpec { band: BandEdge { absorption_offset_ev: 0.6, ..band }, ..good },
        CellSpec { band: BandEdge { edge_width_ev: 0.0, ..band }, ..good },
    ];
    for (index, spec) in wrong.into_iter().enumerate() {
        assert!(matches!(Cell::new(spec), Err(OpticsError::OutOfRange(_))), "{index}");
    }
}

#[test]
fn no_cell_beats_detailed_balance() {
    let ideal = CellSpec::direct_gap(1e-4, BandEdge::GALLIUM_ARSENIDE, 1.0).unwrap();
    assert!(Cell::new(ideal).is_ok());
    let better = CellSpec { saturation_a_per_m2: 0.9 * ideal.saturation_a_per_m2, ..ideal };
    assert!(matches!(Cell::new(better), Err(OpticsError::VoltageAboveDetailedBalance { .. })));
    // The same saturation current with an ideality above 1 promises more voltage too.
    assert!(Cell::new(CellSpec { ideality: 1.1, ..ideal }).is_err());
    assert!(CellSpec::direct_gap(1e-4, BandEdge::SILICON, 1.1).is_err());
}

#[test]
fn the_model_cell_lies_under_its_limit_at_every_temperature_and_intensity() {
    let cell = Cell::new(CellSpec::gallium_arsenide(1e-4)).unwrap();
    for temperature_k in [253.15, 298.15, 358.15] {
        for irradiance in [1e3, 1e4, 1e5, 1e6] {
            let gap_ev = BandEdge::GALLIUM_ARSENIDE.gap_ev(temperature_k);
            let limit = balance::limit_performance(gap_ev, temperature_k, 808e-9, irradiance, 1.0).unwrap();
            let diode = cell.diode(irradiance * 1e-4, 808e-9, temperature_k).unwrap();
            let ratio = diode.maximum_power().power_w / (irradiance * 1e-4);
            assert!(ratio < limit.efficiency_ratio && ratio > 0.25, "{temperature_k} {irradiance}: {ratio}");
        }
    }
}

#[test]
fn light_below_the_gap_gives_nothing() {
    let none = balance::limit_performance(1.424, 298.15, 900e-9, 1e5, 1.0).unwrap();
    assert_eq!(none.efficiency_ratio, 0.0);
    let cell = Cell::new(CellSpec::gallium_arsenide(1e-4)).unwrap();
    assert!(cell.quantum_efficiency_ratio(1064e-9, 298.15) < 1e-12);
    // At the gap half, far above it the plateau, in the window nothing.
    let edge_m = balance::photon_energy_ev(1.0) / BandEdge::GALLIUM_ARSENIDE.gap_ev(298.15);
    assert_relative_eq!(cell.quantum_efficiency_ratio(edge_m, 298.15), 0.45, max_relative = 1e-9);
    assert_relative_eq!(cell.quantum_efficiency_ratio(780e-9, 298.15), 0.90, max_relative = 1e-4);
    assert!(cell.quantum_efficiency_ratio(400e-9, 298.15) < 1e-12);
}

#[test]
fn sink_geometry_is_checked() {
    let good = FinSinkSpec::aluminium(0.1, 0.1, 0.02);
    let wrong = [
        FinSinkSpec { width_m: 0.0, ..good },
        FinSinkSpec { length_m: 101.0, ..good },
        FinSinkSpec { base_thickness_m: 0.0, ..good },
        FinSinkSpec { fins_count: 1, ..good },
        FinSinkSpec { fin_height_m: 0.0, ..good },
        FinSinkSpec { fin_thickness_m: 0.0034, ..good },
        FinSinkSpec { conductivity_w_per_m_k: 0.0, ..good },
        FinSinkSpec { density_kg_m3: f64::NAN, ..good },
        FinSinkSpec { emissivity_ratio: 1.01, ..good },
        FinSinkSpec { channel_speed_ratio: -0.01, ..good },
    ];
    for (index, spec) in wrong.into_iter().enumerate() {
        assert!(matches!(FinSink::new(spec), Err(OpticsError::OutOfRange(_))), "{index}");
    }
    let sink = FinSink::new(good).unwrap();
    assert!(sink.cooled_by(&AIR, -0.1).is_err() && sink.cooled_by(&AIR, 200.1).is_err());
    let vacuum = beamstay_environment::fluid::Fluid { density_kg_m3: 0.0, ..AIR };
    assert!(sink.cooled_by(&vacuum, 1.0).is_err());
}

#[test]
fn sink_temperature_is_the_inverse_of_its_heat() {
    for (fins_count, emissivity_ratio) in [(0, 0.0), (0, 0.9), (30, 0.0), (30, 0.85)] {
        let spec = FinSinkSpec { fins_count, emissivity_ratio, ..FinSinkSpec::aluminium(0.1, 0.1, 0.02) };
        let sink = FinSink::new(spec).unwrap();
        for speed_m_s in [0.0, 0.05, 0.5, 10.0] {
            let cooled = sink.cooled_by(&AIR, speed_m_s).unwrap();
            for heat_w in [1e-9, 1e-3, 1.0, 50.0, 1e4] {
                let t_k = cooled.temperature_k(heat_w);
                let excess = (cooled.dissipated_w(t_k) / heat_w - 1.0).abs();
                // The excess over the air is known to rounding of the temperature.
                let rounding = 1e-8 + 4.0 * f64::EPSILON * t_k / (t_k - cooled.ambient_k());
                assert!(excess < rounding, "{fins_count} {speed_m_s} {heat_w}: {t_k} {excess}");
                assert_relative_eq!(
                    cooled.resistance_k_per_w(heat_w),
                    (t_k - cooled.ambient_k()) / heat_w,
                    max_relative = 1e-6
                );
            }
            assert_eq!(cooled.temperature_k(0.0), AIR.temperature_k);
            assert_eq!(cooled.temperature_k(f64::NAN), AIR.temperature_k);
            assert_eq!(cooled.dissipated_w(AIR.temperature_k - 10.0), 0.0);
        }
    }
}

#[test]
fn the_channel_never_carries_more_than_its_air() {
    // At no speed does the sink shed more than the air between its fins can take up.
    let sink =
        FinSink::new(FinSinkSpec { channel_speed_ratio: 1.0, ..FinSinkSpec::aluminium(0.1, 0.3, 0.02) })
            .unwrap();
    let section_m2 = 29.0 * sink.gap_m() * 0.02;
    for speed_m_s in [1e-4, 1e-2, 0.1, 1.0, 10.0] {
        let capacity_w_per_k = 1.164 * speed_m_s * section_m2 * 1007.0;
        let forced_w_per_k = sink.cooled_by(&AIR, speed_m_s).unwrap().forced_w_per_k();
        // The outer faces of the outer fins and the base count as channel walls too: a tenth more.
        assert!(forced_w_per_k < 1.12 * capacity_w_per_k, "{speed_m_s}: {forced_w_per_k} {capacity_w_per_k}");
    }
}

#[test]
fn correlations_join_and_vanish() {
    for prandtl in [0.7, 7.0] {
        let re = heat::PLATE_TRANSITION_REYNOLDS;
        let (below, above) = (heat::plate_nusselt(re, prandtl), heat::plate_nusselt(re * 1.000_001, prandtl));
        assert!((above / below - 1.0).abs() < 1e-3, "{below} {above}");
        assert_eq!(heat::plate_nusselt(0.0, prandtl), 0.0);
        assert_eq!(heat::channel_nusselt(0.0, prandtl), 0.0);
        assert_eq!(heat::channel_nusselt(f64::NAN, prandtl), 0.0);
        assert_eq!(heat::plate_turbulent_nusselt(0.0, prandtl), 0.0);
        assert!(heat::channel_nusselt(1e-6, prandtl) / (0.5e-6 * prandtl) > 0.999);
    }
    assert_eq!(heat::vertical_channel_natural_nusselt(0.0), 0.0);
    // A choked channel: Nu → X/24.
    assert_relative_eq!(heat::vertical_channel_natural_nusselt(1e-3), 1e-3 / 24.0, max_relative = 1e-4);
    assert_relative_eq!(heat::fin_efficiency_ratio(1e-6, 200.0, 0.001, 0.001), 1.0, max_relative = 1e-9);
    assert!(heat::spreading_k_per_w(0.01, 0.05, 0.002, 200.0, 0.0).is_finite());
}

#[test]
fn a_source_in_the_middle_adds_a_spreading_resistance() {
    let sink = FinSink::new(FinSinkSpec::aluminium(0.1, 0.1, 0.02)).unwrap();
    let cooled = sink.cooled_by(&AIR, 8.0).unwrap();
    let at = |area_m2: f64| cooled.spreading_k_per_w(area_m2, 330.0);
    assert!(at(1e-4) > at(1e-3) && at(1e-3) > at(1e-2));
    assert_relative_eq!(at(1e-2), 0.0015 / (200.0 * 0.01), max_relative = 1e-9);
}
