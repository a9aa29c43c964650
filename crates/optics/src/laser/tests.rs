use proptest::prelude::*;

use super::*;
use crate::fixture::mostly;

fn diodes() -> Diodes {
    Diodes {
        emitters_in_series_count: 19,
        threshold_a: 1.15,
        threshold_characteristic_temp_k: 150.0,
        slope_w_per_a: 1.2,
        slope_characteristic_temp_k: 600.0,
        turn_on_voltage_v: 1.6,
        series_resistance_ohm: 0.02,
        rated_current_a: 12.0,
    }
}

fn laser(conversion: Conversion) -> Laser {
    Laser {
        rated_optical_w: 300.0,
        wavelength_m: 808e-9,
        wavelength_drift_nm_per_k: 0.28,
        linewidth_m: 3e-9,
        reference_coolant_temp_k: 298.15,
        conversion,
        driver_efficiency_ratio: 0.92,
    }
}

fn wall_plug() -> Laser {
    laser(Conversion::WallPlug(WallPlug { efficiency_ratio: 0.5, efficiency_loss_per_k: 0.003 }))
}

#[test]
fn the_rating_belongs_to_the_range() {
    assert!(wall_plug().operate(300.0, 298.15).is_ok());
    assert_eq!(
        wall_plug().operate(300.1, 298.15),
        Err(OpticsError::AboveRatedPower { requested_w: 300.1, rated_w: 300.0 })
    );
}

#[test]
fn no_light_takes_no_power() {
    for laser in [wall_plug(), laser(Conversion::Diodes(diodes()))] {
        let state = laser.operate(0.0, 310.0).unwrap();
        assert_eq!((state.electrical_w, state.heat_w, state.coolant_heat_w()), (0.0, 0.0, 0.0));
    }
}

#[test]
fn a_diode_gives_back_the_light_asked_for() {
    let laser = laser(Conversion::Diodes(diodes()));
    let state = laser.operate(200.0, 308.15).unwrap();
    let current_a = state.current_a.unwrap();
    assert!((diodes().optical_w(current_a, 10.0) - 200.0).abs() < 1e-10);
    let head_w = 19.0 * (1.6 + 0.02 * current_a) * current_a;
    assert!((state.electrical_w - head_w / 0.92).abs() < 1e-9);
}

#[test]
fn a_warm_diode_runs_out_of_current() {
    let laser = laser(Conversion::Diodes(diodes()));
    assert!(laser.operate(240.0, 298.15).is_ok());
    assert!(matches!(laser.operate(240.0, 330.0), Err(OpticsError::AboveRatedCurrent { .. })));
}

#[test]
fn more_than_a_photon_per_electron_is_refused_also_when_cold() {
    let generous = Diodes { slope_w_per_a: 1.54, ..diodes() };
    assert!(matches!(
        laser(Conversion::Diodes(generous)).check(),
        Err(OpticsError::SlopeAboveQuantumLimit { .. })
    ));
    let cold = laser(Conversion::Diodes(Diodes { slope_w_per_a: 1.50, ..diodes() }));
    assert!(cold.operate(100.0, 298.15).is_ok());
    assert!(matches!(cold.operate(100.0, 253.15), Err(OpticsError::SlopeAboveQuantumLimit { .. })));
}

#[test]
fn more_light_than_power_is_refused() {
    let cold_wonder =
        laser(Conversion::WallPlug(WallPlug { efficiency_ratio: 0.9, efficiency_loss_per_k: 0.01 }));
    assert!(matches!(cold_wonder.operate(100.0, 263.15), Err(OpticsError::EfficiencyAboveOne { .. })));
    let low_voltage = laser(Conversion::Diodes(Diodes { turn_on_voltage_v: 0.5, ..diodes() }));
    assert!(matches!(low_voltage.operate(100.0, 298.15), Err(OpticsError::EfficiencyAboveOne { .. })));
}

#[test]
fn each_figure_out_of_range_is_refused() {
    let good = wall_plug();
    for bad in [
        Laser { rated_optical_w: 0.0, ..good },
        Laser { wavelength_m: 100e-9, ..good },
        Laser { wavelength_drift_nm_per_k: 3.0, ..good },
        Laser { linewidth_m: -1e-12, ..good },
        Laser { reference_coolant_temp_k: 25.0, ..good },
        Laser { driver_efficiency_ratio: 1.01, ..good },
        laser(Conversion::WallPlug(WallPlug { efficiency_ratio: 50.0, efficiency_loss_per_k: 0.0 })),
        laser(Conversion::WallPlug(WallPlug { efficiency_ratio: 0.5, efficiency_loss_per_k: -0.01 })),
        laser(Conversion::Diodes(Diodes { emitters_in_series_count: 0, ..diodes() })),
        laser(Conversion::Diodes(Diodes { threshold_a: f64::NAN, ..diodes() })),
        laser(Conversion::Diodes(Diodes { threshold_characteristic_temp_k: 0.0, ..diodes() })),
        laser(Conversion::Diodes(Diodes { slope_characteristic_temp_k: 0.0, ..diodes() })),
        laser(Conversion::Diodes(Diodes { turn_on_voltage_v: 0.0, ..diodes() })),
        laser(Conversion::Diodes(Diodes { series_resistance_ohm: -0.1, ..diodes() })),
        laser(Conversion::Diodes(Diodes { rated_current_a: 0.0, ..diodes() })),
    ] {
        assert!(bad.operate(1.0, 298.15).is_err(), "{bad:?}");
    }
    for (optical_w, coolant_temp_k) in [(-1.0, 298.15), (f64::NAN, 298.15), (1.0, 222.0), (1.0, 354.0)] {
        assert!(good.operate(optical_w, coolant_temp_k).is_err(), "{optical_w} {coolant_temp_k}");
    }
}

#[test]
fn wavelength_follows_the_coolant() {
    let state = wall_plug().operate(100.0, 308.15).unwrap();
    assert!((state.wavelength_m - 810.8e-9).abs() < 1e-15);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn prop_electrical_power_is_light_and_heat(
        optical_w in mostly(0.0, 300.0),
        coolant_temp_k in mostly(260.0, 340.0),
        efficiency_ratio in mostly(0.1, 0.7),
        slope_w_per_a in mostly(0.5, 1.4),
        driver_efficiency_ratio in mostly(0.5, 1.0),
    ) {
        let diodes = Diodes { slope_w_per_a, rated_current_a: 1000.0, ..diodes() };
        let wall_plug = WallPlug { efficiency_ratio, efficiency_loss_per_k: 0.003 };
        for conversion in [Conversion::WallPlug(wall_plug), Conversion::Diodes(diodes)] {
            let laser = Laser { driver_efficiency_ratio, ..laser(conversion) };
            if let Ok(state) = laser.operate(optical_w, coolant_temp_k) {
                prop_assert!(state.electrical_w.is_finite() && state.heat_w >= 0.0);
                prop_assert!((state.optical_w + state.heat_w).to_bits() == state.electrical_w.to_bits());
                prop_assert!(state.driver_loss_w >= 0.0 && state.driver_loss_w <= state.heat_w * (1.0 + 1e-12));
            }
        }
    }

    #[test]
    fn prop_a_warmer_laser_takes_more_power(
        optical_w in 1.0..200.0_f64,
        coolant_temp_k in 270.0..330.0_f64,
        warming_k in 0.1..10.0_f64,
    ) {
        for laser in [
            wall_plug(),
            laser(Conversion::Diodes(Diodes { rated_current_a: 1000.0, ..diodes() })),
        ] {
            let cool = laser.operate(optical_w, coolant_temp_k).unwrap();
            let warm = laser.operate(optical_w, coolant_temp_k + warming_k).unwrap();
            prop_assert!(warm.electrical_w > cool.electrical_w);
        }
    }
}
