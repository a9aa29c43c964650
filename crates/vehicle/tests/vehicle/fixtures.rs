//! Vehicles and fluids that several tests use.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    MotorDrive, Rotor, Section, SpeedLaw,
};
use beamstay_vehicle::{
    Arrangement, DragArea, FixedWing, FixedWingInputs, Multirotor, MultirotorInputs, Polar, Propulsion,
    RotorSet, RotorSetInputs, UnderwaterInputs, UnderwaterVehicle, defaults,
};

/// Standard air with another density.
pub fn air(density_kg_m3: f64) -> Fluid {
    Fluid {
        temperature_k: 288.15,
        pressure_pa: 101_325.0,
        density_kg_m3,
        dynamic_viscosity_pa_s: 1.789e-5,
        thermal_conductivity_w_per_m_k: 0.0253,
        specific_heat_j_per_kg_k: 1005.0,
        speed_of_sound_m_s: 340.3,
    }
}

/// Sea water at 15 °C.
pub fn sea() -> Fluid {
    Fluid {
        density_kg_m3: 1025.976,
        dynamic_viscosity_pa_s: 1.22e-3,
        thermal_conductivity_w_per_m_k: 0.596,
        specific_heat_j_per_kg_k: 3990.0,
        speed_of_sound_m_s: 1506.7,
        ..air(1.0)
    }
}

pub fn disk(diameter_m: f64) -> DiskRotorInputs {
    DiskRotorInputs::with_figure_of_merit(diameter_m, defaults::FIGURE_OF_MERIT)
}

pub fn efficiency(max_shaft_w: Option<f64>) -> Drive {
    Drive::Efficiency(EfficiencyDrive {
        motor_ratio: defaults::MOTOR_RATIO,
        controller_ratio: defaults::CONTROLLER_RATIO,
        max_shaft_w,
    })
}

/// A rotor of known speed on a motor known by its constants: about 19 N each in hover at 400 rad/s.
pub fn motor_set(rotor_count: u32, max_current_a: f64, bus_voltage_v: f64) -> RotorSetInputs {
    let mut rotor = disk(0.381);
    rotor.speed = Some(SpeedLaw::ThrustCoefficient(0.0125));
    let mut motor = MotorDrive::ideal_controller(42.0, 0.08, 0.6);
    motor.max_current_a = Some(max_current_a);
    RotorSetInputs {
        rotor: Rotor::Disk(DiskRotor::new(rotor).unwrap()),
        drive: Drive::Motor(motor),
        bus_voltage_v,
        ..plain_set(rotor_count, 0.381)
    }
}

/// Rotors known by their blades: a slow-flyer propeller, 10 in by 4.7 in (UIUC Propeller Database, some of its
/// stations), enlarged to 0.381 m.
pub fn bladed_set(rotor_count: u32) -> RotorSetInputs {
    let station = |(radius_ratio, chord_ratio, pitch_deg): (f64, f64, f64)| BladeStation {
        radius_ratio,
        chord_ratio,
        pitch_rad: pitch_deg.to_radians(),
    };
    let stations = [
        (0.15, 0.109, 21.11),
        (0.25, 0.156, 24.65),
        (0.35, 0.193, 22.78),
        (0.45, 0.216, 19.00),
        (0.55, 0.226, 15.33),
        (0.70, 0.210, 11.36),
        (0.85, 0.157, 8.36),
        (0.95, 0.087, 6.15),
        (1.00, 0.042, 5.04),
    ];
    let rotor = BladeRotor::new(BladeRotorInputs {
        diameter_m: 0.381,
        blade_count: 2,
        stations: stations.into_iter().map(station).collect(),
        section: Section::SMALL_PROPELLER,
        control: Control::Speed { max_speed_rad_s: 700.0 },
        max_tip_mach: 0.7,
    });
    RotorSetInputs {
        rotor: Rotor::Blade(rotor.unwrap()),
        max_thrust_each_n: None,
        ..plain_set(rotor_count, 0.381)
    }
}

pub fn plain_set(rotor_count: u32, diameter_m: f64) -> RotorSetInputs {
    RotorSetInputs {
        rotor: Rotor::Disk(DiskRotor::new(disk(diameter_m)).unwrap()),
        rotor_count,
        arrangement: Arrangement::Single,
        drive: efficiency(None),
        bus_voltage_v: 48.0,
        max_thrust_each_n: Some(25.0),
    }
}

pub fn aircraft(set: RotorSetInputs) -> Multirotor {
    Multirotor::new(inputs(set)).unwrap()
}

pub fn inputs(set: RotorSetInputs) -> MultirotorInputs {
    MultirotorInputs {
        rotors: RotorSet::new(set).unwrap(),
        empty_mass_kg: 3.0,
        body_drag: DragArea::spheroid(0.03, 0.08).unwrap(),
        guard_ring: None,
        rotor_drag_s_per_m: 0.0,
        max_tilt_deg: 30.0,
        avionics_w: 12.0,
    }
}

/// Four rotors of 0.381 m, 25 N each at most.
pub fn quad() -> Multirotor {
    aircraft(plain_set(4, 0.381))
}

pub fn wing_inputs() -> FixedWingInputs {
    FixedWingInputs {
        empty_mass_kg: 4.0,
        wing_area_m2: 0.8,
        polar: Polar::from_span_efficiency(0.03, 12.0, 0.85, 1.3).unwrap(),
        propulsion: Propulsion::Efficiency {
            propeller_ratio: 0.7,
            drive_ratio: 0.8,
            max_shaft_w: Some(300.0),
        },
        avionics_w: 8.0,
        max_bank_deg: 45.0,
        max_load_factor: 3.0,
        stall_margin_ratio: 1.2,
    }
}

pub fn wing() -> FixedWing {
    FixedWing::new(wing_inputs()).unwrap()
}

pub fn thrusters(rotor_count: u32) -> RotorSet {
    RotorSet::new(RotorSetInputs {
        rotor: Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.12, 0.5)).unwrap()),
        max_thrust_each_n: Some(40.0),
        ..plain_set(rotor_count, 0.12)
    })
    .unwrap()
}

pub fn submarine_inputs() -> UnderwaterInputs {
    UnderwaterInputs {
        empty_mass_kg: 60.0,
        displacement_m3: 0.0595,
        surge_drag_m2: 0.06,
        sway_drag_m2: 0.3,
        heave_drag_m2: 0.4,
        surge_thrusters: Some(thrusters(2)),
        heave_thrusters: Some(thrusters(1)),
        hotel_w: 40.0,
    }
}

pub fn submarine() -> UnderwaterVehicle {
    UnderwaterVehicle::new(submarine_inputs()).unwrap()
}
