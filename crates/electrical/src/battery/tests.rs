use super::*;

fn spec() -> BatterySpec {
    BatterySpec::polymer(800e3, 6)
}

#[test]
fn each_argument_is_checked() {
    let wrong = [
        BatterySpec { cell_capacity_coulomb: 0.9, ..spec() },
        BatterySpec { cell_resistance_ohm: -1e-9, ..spec() },
        BatterySpec { low_charge_rise_ratio: 20.1, ..spec() },
        BatterySpec { cold_activation_k: f64::NAN, ..spec() },
        BatterySpec { health_ratio: 1.01, ..spec() },
        BatterySpec { resistance_growth_ratio: 0.99, ..spec() },
        BatterySpec { series_count: 0, ..spec() },
        BatterySpec { parallel_count: 10_001, ..spec() },
        BatterySpec { temp_k: 199.0, ..spec() },
        BatterySpec { floor_ratio: 0.96, ..spec() },
        BatterySpec { cutoff_v: -0.1, ..spec() },
        BatterySpec { max_discharge_per_h: 0.0, ..spec() },
        BatterySpec { max_charge_per_h: 51.0, ..spec() },
        BatterySpec { charge_efficiency_ratio: 1.01, ..spec() },
        BatterySpec { specific_energy_j_per_kg: 9e3, ..spec() },
    ];
    for spec in wrong {
        assert!(matches!(Battery::new(spec.clone()), Err(ElectricalError::OutOfRange(_))), "{spec:?}");
    }
    assert!(Battery::new(BatterySpec::polymer(f64::NAN, 0)).is_err());
}

#[test]
fn cold_and_age_raise_resistance_and_take_charge() {
    let new = Battery::new(spec()).unwrap();
    let cold = Battery::new(BatterySpec { temp_k: 273.15, ..spec() }).unwrap();
    let ratio = cold.resistance_ohm(0.5) / new.resistance_ohm(0.5);
    assert!((ratio - (3000.0 * (1.0 / 273.15 - 1.0 / 298.15f64)).exp()).abs() < 1e-12 && ratio > 2.5);
    assert!((cold.charge_coulomb() / new.charge_coulomb() - 0.85).abs() < 1e-12);
    let warm = Battery::new(BatterySpec { temp_k: 320.0, ..spec() }).unwrap();
    assert_eq!(warm.resistance_ohm(0.5), new.resistance_ohm(0.5));
    assert_eq!(warm.charge_coulomb(), new.charge_coulomb());
    let aged =
        Battery::new(BatterySpec { health_ratio: 0.8, resistance_growth_ratio: 1.5, ..spec() }).unwrap();
    assert!((aged.resistance_ohm(0.5) / new.resistance_ohm(0.5) - 1.5).abs() < 1e-12);
    assert_eq!(aged.mass_kg(), new.mass_kg());
}

#[test]
fn the_largest_power_is_just_allowed() {
    let tight = BatterySpec { cell_resistance_ohm: 0.03, max_discharge_per_h: 200.0, ..spec() };
    let transfer = BatterySpec { cutoff_v: 0.0, ..tight.clone() };
    for spec in [spec(), tight, transfer] {
        let battery = Battery::new(spec).unwrap();
        for s in [0.21, 0.5, 1.0] {
            let power_w = battery.max_discharge_w(s);
            assert!(power_w > 0.0);
            assert_eq!(battery.discharge_limit(s, power_w * (1.0 - 1e-9)), None);
            assert!(battery.discharge_limit(s, power_w * (1.0 + 1e-9)).is_some());
        }
        assert_eq!(battery.max_discharge_w(0.2), 0.0);
    }
}

#[test]
fn temperature_windows_close_both_ways() {
    let at = |temp_k: f64| Battery::new(BatterySpec { temp_k, ..spec() }).unwrap();
    assert_eq!(at(253.14).discharge_limit(0.8, 10.0), Some(BatteryLimit::Temperature));
    assert_eq!(at(253.15).discharge_limit(0.8, 10.0), None);
    assert_eq!(at(333.16).max_discharge_w(0.8), 0.0);
    assert_eq!(at(273.14).max_charge_w(0.5), 0.0);
    assert!(at(273.15).max_charge_w(0.5) > 0.0);
}

#[test]
fn charging_ends_a_little_under_full() {
    let battery = Battery::new(spec()).unwrap();
    let s = battery.full_ratio();
    assert!(s > 0.99 && s < 1.0, "{s}");
    assert_eq!(battery.max_charge_w(s), 0.0);
    assert!(battery.max_charge_w(s - 1e-6) > 0.0);
    let ideal = Battery::new(BatterySpec { cell_resistance_ohm: 0.0, ..spec() }).unwrap();
    assert_eq!(ideal.full_ratio(), 1.0);
}

#[test]
fn more_strings_carry_more() {
    let one = Battery::new(spec()).unwrap();
    let two = Battery::new(BatterySpec { parallel_count: 2, ..spec() }).unwrap();
    assert!((two.max_discharge_w(0.6) / one.max_discharge_w(0.6) - 2.0).abs() < 1e-12);
    assert!((two.stored_j(1.0) / one.stored_j(1.0) - 2.0).abs() < 1e-12);
    assert!((one.stored_j(1.0) - 800e3).abs() < 1e-6);
}
