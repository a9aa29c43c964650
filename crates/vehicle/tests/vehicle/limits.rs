//! Limits from just inside and just outside, and what the refusal says.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{DiskRotor, Drive, MotorDrive, Rotor, Thermal};
use beamstay_vehicle::{
    Arrangement, FixedWing, FixedWingInputs, GuardRing, LimitKind, Load, Multirotor, MultirotorInputs, Orbit,
    RotorSet, RotorSetInputs, UnderwaterInputs, UnderwaterVehicle, VehicleError, WingLoad,
};

use crate::fixtures::*;

const GRAVITY_M_S2: f64 = 9.806_65;

#[test]
fn thrust_limit_is_the_declared_one() {
    let load = |thrust_n: f64| Load::hover(thrust_n / GRAVITY_M_S2);
    let trim = quad().trim(&load(99.999), &air(1.225)).unwrap();
    assert_eq!(trim.binding_limit().kind, LimitKind::Thrust);
    assert!((trim.thrust_reserve_ratio.unwrap() - 100.0 / 99.999).abs() < 1e-12);
    let error = quad().trim(&load(100.001), &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::ThrustShort { needed_n, available_n }
        if (needed_n - 100.001).abs() < 1e-9 && (available_n - 100.0).abs() < 1e-12));
    assert_eq!(
        error.to_string(),
        "thrust 100.0010 N is needed, 100.0000 N is available, 0.0010 N are missing"
    );
    // The search still gets its numbers.
    let beyond = quad().trim_beyond_limits(&load(150.0), &air(1.225)).unwrap();
    assert!((beyond.thrust_limit.unwrap().used_ratio - 1.5).abs() < 1e-12 && beyond.demand_w > 0.0);
}

#[test]
fn tilt_limit_from_both_sides() {
    // A horizontal pull of W tan(tilt) without wind makes exactly that tilt.
    let load = |tilt_deg: f64| {
        Load::hover(2.0).with_external_force([2.0 * GRAVITY_M_S2 * tilt_deg.to_radians().tan(), 0.0, 0.0])
    };
    assert!(quad().trim(&load(29.999), &air(1.225)).is_ok());
    let error = quad().trim(&load(30.001), &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::TiltExceeded { tilt_deg, .. } if (tilt_deg - 30.001).abs() < 1e-9));
}

#[test]
fn power_limit_bounds_the_thrust() {
    let set =
        RotorSetInputs { drive: efficiency(Some(150.0)), max_thrust_each_n: None, ..plain_set(4, 0.381) };
    let powered = aircraft(set);
    let trim = powered.trim(&Load::hover(4.0), &air(1.225)).unwrap();
    assert_eq!(trim.thrust_reserve_ratio, None);
    let (ratio, kind) = powered.thrust_reserve(&trim, &air(1.225)).unwrap().unwrap();
    assert_eq!(kind, LimitKind::Power);
    // Hover power grows as thrust^1.5.
    assert!((ratio - (600.0 / trim.shaft_w).powf(2.0 / 3.0)).abs() < 1e-6);
    assert!(powered.trim(&Load::hover(4.0 * ratio * 0.9999), &air(1.225)).is_ok());
    let error = powered.trim(&Load::hover(4.0 * ratio * 1.0001), &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::PowerShort { .. }), "{error}");
}

#[test]
fn current_and_voltage_limits_of_a_motor() {
    let open = RotorSetInputs { max_thrust_each_n: None, ..motor_set(4, 12.0, 48.0) };
    let aircraft_12_a = aircraft(open);
    let trim = aircraft_12_a.trim(&Load::hover(4.0), &air(1.225)).unwrap();
    let (ratio, kind) = aircraft_12_a.thrust_reserve(&trim, &air(1.225)).unwrap().unwrap();
    assert_eq!(kind, LimitKind::Current);
    let (inside, outside) = (Load::hover(4.0 * ratio * 0.9999), Load::hover(4.0 * ratio * 1.0001));
    assert!(aircraft_12_a.trim(&inside, &air(1.225)).unwrap().motor_current_a.unwrap() < 12.0);
    let error = aircraft_12_a.trim(&outside, &air(1.225)).unwrap_err();
    assert!(
        matches!(error, VehicleError::CurrentExceeded { available_a, .. } if (available_a - 12.0).abs() < 1e-9)
    );

    let weak_bus = aircraft(motor_set(4, 100.0, 8.0));
    let error = weak_bus.trim(&Load::hover(4.0), &air(1.225)).unwrap_err();
    assert!(
        matches!(error, VehicleError::VoltageShort { available_v, .. } if (available_v - 8.0).abs() < 1e-12),
        "{error}"
    );
}

#[test]
fn faulty_rotor_sets_are_refused() {
    let refused = |set: RotorSetInputs| RotorSet::new(set).unwrap_err();
    refused(RotorSetInputs { rotor_count: 0, ..plain_set(4, 0.4) });
    refused(RotorSetInputs { rotor_count: 65, ..plain_set(4, 0.4) });
    refused(RotorSetInputs { bus_voltage_v: 0.0, ..plain_set(4, 0.4) });
    refused(RotorSetInputs { max_thrust_each_n: Some(f64::NAN), ..plain_set(4, 0.4) });
    let pairs = |interference| Arrangement::CoaxialPairs { interference };
    refused(RotorSetInputs { arrangement: pairs(1.3), ..plain_set(5, 0.4) });
    refused(RotorSetInputs { arrangement: pairs(0.99), ..plain_set(4, 0.4) });
    refused(RotorSetInputs { drive: efficiency(Some(-1.0)), ..plain_set(4, 0.4) });
    let motor = Drive::Motor(MotorDrive::ideal_controller(42.0, 0.08, 0.6));
    let error = refused(RotorSetInputs { drive: motor, ..plain_set(4, 0.4) });
    assert_eq!(error, VehicleError::SpeedUnknown);
}

#[test]
fn faulty_multirotors_are_refused() {
    let sound = inputs(plain_set(4, 0.4));
    let refused = |inputs: MultirotorInputs| Multirotor::new(inputs).unwrap_err();
    refused(MultirotorInputs { empty_mass_kg: 0.0, ..sound.clone() });
    refused(MultirotorInputs { rotor_drag_s_per_m: 0.051, ..sound.clone() });
    refused(MultirotorInputs { max_tilt_deg: 85.1, ..sound.clone() });
    refused(MultirotorInputs { avionics_w: -1.0, ..sound.clone() });
    let ring = GuardRing { diameter_m: 0.5, height_m: -0.01, width_m: 0.01, drag_coefficient: 1.2 };
    refused(MultirotorInputs { guard_ring: Some(ring), ..sound.clone() });
    assert!(Multirotor::new(sound).is_ok());
}

#[test]
fn faulty_loads_and_fluids_are_refused() {
    for load in [
        Load::hover(f64::NAN),
        Load::hover(1.0).with_wind([f64::INFINITY, 0.0, 0.0]),
        Load::hover(1.0).with_external_force([0.0, 0.0, 2e6]),
    ] {
        assert!(matches!(quad().trim(&load, &air(1.225)), Err(VehicleError::OutOfRange(_))));
    }
    assert!(quad().trim(&Load::hover(1.0), &air(f64::NAN)).is_err());
    assert!(quad().trim(&Load::hover(1.0), &air(0.0)).is_err());
}

#[test]
fn stall_bank_structure_and_power_of_a_wing() {
    let load = WingLoad::free(5.0);
    let stall_m_s = wing().stall_speed_m_s(&load, &air(1.225)).unwrap();
    assert!(wing().level(&load, 1.2 * stall_m_s * 1.0001, &air(1.225)).is_ok());
    let error = wing().level(&load, 1.2 * stall_m_s * 0.9999, &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::Stall { .. }), "{error}");

    let calm = |radius_m: f64| Orbit { radius_m, wind_m_s: 0.0 };
    // tan 45° = V²/(g r).
    let radius_m = 20.0 * 20.0 / GRAVITY_M_S2;
    assert!(wing().loiter(&load, &calm(radius_m * 1.0001), 20.0, &air(1.225)).is_ok());
    let error = wing().loiter(&load, &calm(radius_m * 0.9999), 20.0, &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::BankExceeded { .. }), "{error}");

    let weak = FixedWing::new(FixedWingInputs { max_load_factor: 1.2, max_bank_deg: 80.0, ..wing_inputs() })
        .unwrap();
    let error = weak.loiter(&load, &calm(radius_m), 20.0, &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::LoadFactorExceeded { .. }), "{error}");

    let error = wing().level(&load, 45.0, &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::PowerShort { .. }), "{error}");
    let windy = Orbit { radius_m: 100.0, wind_m_s: 15.0 };
    let error = wing().loiter(&load, &windy, 15.5, &air(1.225)).unwrap_err();
    assert!(matches!(error, VehicleError::WindTooStrong { .. }), "{error}");
}

#[test]
fn best_loiter_says_what_is_missing() {
    let tight = Orbit { radius_m: 5.0, wind_m_s: 0.0 };
    let error = wing().best_loiter(&WingLoad::free(5.0), &tight, &air(1.225)).unwrap_err();
    assert!(error.overload_ratio().unwrap() > 0.0, "{error}");
    let storm = Orbit { radius_m: 200.0, wind_m_s: 40.0 };
    let error = wing().best_loiter(&WingLoad::free(5.0), &storm, &air(1.225)).unwrap_err();
    assert!(error.overload_ratio().unwrap() > 0.0, "{error}");
}

#[test]
fn faulty_wings_are_refused() {
    let refused = |inputs: FixedWingInputs| FixedWing::new(inputs).unwrap_err();
    refused(FixedWingInputs { wing_area_m2: 0.0, ..wing_inputs() });
    refused(FixedWingInputs { stall_margin_ratio: 0.99, ..wing_inputs() });
    refused(FixedWingInputs { max_bank_deg: 81.0, ..wing_inputs() });
    refused(FixedWingInputs { max_load_factor: 0.9, ..wing_inputs() });
    assert!(wing().level(&WingLoad::free(f64::NAN), 20.0, &air(1.225)).is_err());
    assert!(wing().level(&WingLoad::free(5.0), 0.0, &air(1.225)).is_err());
}

#[test]
fn missing_and_weak_thrusters_are_named() {
    let load = Load::hover(60.0).with_wind([0.8, 0.0, 0.0]);
    let bare =
        UnderwaterVehicle::new(UnderwaterInputs { surge_thrusters: None, ..submarine_inputs() }).unwrap();
    let error = bare.trim(&load, &sea()).unwrap_err();
    assert!(
        matches!(error, VehicleError::NoThruster { direction: "horizontal", needed_n } if needed_n > 1.0)
    );
    let bare =
        UnderwaterVehicle::new(UnderwaterInputs { heave_thrusters: None, ..submarine_inputs() }).unwrap();
    let heavy = Load::hover(62.0);
    assert!(matches!(bare.trim(&heavy, &sea()), Err(VehicleError::NoThruster { direction: "vertical", .. })));
    let strong = Load::hover(60.0).with_wind([2.5, 0.0, 0.0]);
    assert!(matches!(submarine().trim(&strong, &sea()), Err(VehicleError::ThrustShort { .. })));
}

#[test]
fn a_rotor_of_known_speed_bounds_the_thrust_by_its_tip() {
    let mut rotor = disk(0.381);
    rotor.speed = Some(beamstay_rotor::SpeedLaw::ThrustCoefficient(0.0125));
    let set = RotorSetInputs {
        rotor: Rotor::Disk(DiskRotor::new(rotor).unwrap()),
        max_thrust_each_n: None,
        ..plain_set(4, 0.381)
    };
    let (largest_n, kind) =
        RotorSet::new(set).unwrap().max_thrust(beamstay_rotor::Inflow::HOVER, &air(1.225)).unwrap().unwrap();
    let area_m2 = 0.25 * std::f64::consts::PI * 0.381 * 0.381;
    assert_eq!(kind, LimitKind::RotorThrust);
    assert!((largest_n / (4.0 * 0.0125 * 1.225 * area_m2 * (0.7 * 340.3_f64).powi(2)) - 1.0).abs() < 1e-12);
}

#[test]
fn blades_bound_the_thrust_by_what_they_can_make() {
    let bladed = aircraft(bladed_set(4));
    let load = Load::hover(5.0).with_wind([8.0, 0.0, 0.0]);
    let trim = bladed.trim(&load, &air(1.225)).unwrap();
    assert_eq!(trim.thrust_reserve_ratio, None);
    assert!((trim.induced_w + trim.profile_w + trim.axial_w - trim.shaft_w).abs() <= 1e-12 * trim.shaft_w);
    let (ratio, kind) = bladed.thrust_reserve(&trim, &air(1.225)).unwrap().unwrap();
    assert_eq!(kind, LimitKind::RotorThrust);
    assert!(ratio > 1.0, "{ratio}");
    // The same stream, the thrust raised by a tether that pulls against the thrust.
    let more = |factor: f64| load.with_external_force(-trim.thrust_vector_n * (factor - 1.0));
    assert!(bladed.trim(&more(0.9999 * ratio), &air(1.225)).is_ok());
    let error = bladed.trim(&more(1.0001 * ratio), &air(1.225)).unwrap_err();
    // The refusal tells what the blades make in the inflow of the thrust asked for: a little less than the largest.
    assert!(
        matches!(error, VehicleError::ThrustShort { needed_n, available_n }
            if (needed_n / available_n - 1.0001).abs() < 1e-4),
        "{error}"
    );
}

#[test]
fn each_bound_of_the_thrust_stands_by_itself_and_the_least_is_the_one_that_counts() {
    let mut set = motor_set(4, 25.0, 48.0);
    set.max_thrust_each_n = Some(60.0);
    if let Drive::Motor(motor) = &mut set.drive {
        motor.thermal =
            Some(beamstay_rotor::Thermal { resistance_k_per_w: 2.0, max_winding_k: 393.15, air_k: 200.0 });
    }
    for (bus_voltage_v, max_current_a) in [(14.0, 25.0), (48.0, 12.0), (48.0, 25.0)] {
        set.bus_voltage_v = bus_voltage_v;
        if let Drive::Motor(motor) = &mut set.drive {
            motor.max_current_a = Some(max_current_a);
        }
        let rotors = RotorSet::new(set.clone()).unwrap();
        let inflow = beamstay_rotor::Inflow { axial_m_s: 2.0, edgewise_m_s: 9.0 };
        let bounds = rotors.thrust_bounds(inflow, &air(1.1)).unwrap();
        let (largest_n, kind) = rotors.max_thrust(inflow, &air(1.1)).unwrap().unwrap();
        let least = bounds.iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
        assert!(
            (least.0 / largest_n - 1.0).abs() < 1e-9 && least.1 == kind,
            "{bounds:?} {largest_n} {kind:?}"
        );
        // At each bound of the drive its own limit is just used up.
        for (thrust_n, kind) in bounds {
            let at = rotors.operate(thrust_n, inflow, &air(1.1)).unwrap();
            if let Some(limit) = at.drive_limits.of(kind) {
                assert!((limit.used_ratio - 1.0).abs() < 1e-9, "{limit:?}");
            }
        }
    }
}

#[test]
fn a_declared_thrust_falls_with_the_air() {
    let set = RotorSetInputs { max_thrust_each_n: Some(30.0), ..plain_set(4, 0.381) };
    let rotors = RotorSet::new(set).unwrap().declared_at(1.225).unwrap();
    let at =
        |density: f64| rotors.max_thrust(beamstay_rotor::Inflow::HOVER, &air(density)).unwrap().unwrap().0;
    assert!((at(1.225) - 120.0).abs() < 1e-12 && (at(0.98) - 96.0).abs() < 1e-12);
    assert!(rotors.declared_at(0.0).is_err());
}

#[test]
fn a_winding_is_cooled_by_the_air_that_the_rotor_works_in() {
    let winding_k = |air_k: f64| {
        let mut set = motor_set(4, 60.0, 22.0);
        let Drive::Motor(mut motor) = set.drive else { panic!("a motor") };
        motor.thermal = Some(Thermal { resistance_k_per_w: 2.0, max_winding_k: 420.0, air_k: 250.0 });
        set.drive = Drive::Motor(motor);
        let fluid = Fluid { temperature_k: air_k, ..air(1.225) };
        aircraft(set).trim(&Load::hover(5.0), &fluid).unwrap().winding_temperature_k.unwrap()
    };
    let (cold_k, hot_k) = (winding_k(278.15), winding_k(308.15));
    assert!(cold_k > 278.15 + 1.0 && hot_k - cold_k > 29.0, "{cold_k} {hot_k}");
}
