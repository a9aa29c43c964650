//! A hundred thousand random vehicles, some of them nonsense: no panic, nothing that is not a number, balances that
//! close.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    Inflow, MotorDrive, ProfileLoss, Rotor, Section, SpeedLaw, TablePower, TableRotor, TableRotorInputs,
    TableRow, Thermal,
};
use beamstay_vehicle::{
    Arrangement, DescentPlan, DragArea, Failure, FixedWing, FixedWingInputs, GuardRing, Load, Multirotor,
    MultirotorInputs, Orbit, Polar, Propulsion, RotorSet, RotorSetInputs, Trim, UnderwaterInputs,
    UnderwaterVehicle, VehicleError, WingLoad,
};
use nalgebra::Vector3;

use crate::fixtures::air;

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014): the same vehicles on every machine.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.unit()
    }

    /// Over decades, and once in 500 draws something that no engineer would write.
    fn log(&mut self, lo: f64, hi: f64) -> f64 {
        const NONSENSE: [f64; 7] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -1.0, 1e300, 1e-300];
        if self.unit() < 0.002 {
            return NONSENSE[(self.unit() * 7.0) as usize % 7];
        }
        lo * (hi / lo).powf(self.unit())
    }

    fn maybe(&mut self, value: impl FnOnce(&mut Self) -> f64) -> Option<f64> {
        if self.unit() < 0.5 { Some(value(self)) } else { None }
    }

    fn vector(&mut self, largest: f64) -> Vector3<f64> {
        Vector3::from_fn(|_, _| {
            let size = self.log(1e-3, largest);
            if self.unit() < 0.5 { -size } else { size }
        })
    }

    fn fluid(&mut self) -> Fluid {
        let density = if self.unit() < 0.1 { self.between(995.0, 1030.0) } else { self.between(0.3, 1.5) };
        air(density)
    }
}

fn disk(dice: &mut Dice) -> Result<Rotor, VehicleError> {
    let speed = match (dice.unit() * 3.0) as u32 {
        0 => None,
        1 => Some(SpeedLaw::ThrustCoefficient(dice.log(0.003, 0.02))),
        _ => Some(SpeedLaw::TipSpeedMS(dice.log(20.0, 230.0))),
    };
    let inputs = DiskRotorInputs {
        diameter_m: dice.log(0.03, 15.0),
        induced_factor: dice.between(1.0, 1.4),
        profile: if dice.unit() < 0.7 {
            ProfileLoss::FigureOfMerit(dice.between(0.3, 0.75))
        } else {
            ProfileLoss::MeanDragCoefficient(dice.log(0.005, 0.1))
        },
        speed,
        solidity: dice.maybe(|d| d.log(0.02, 0.3)),
        max_tip_mach: 0.7,
        max_blade_loading: 0.16,
    };
    Ok(Rotor::Disk(DiskRotor::new(inputs)?))
}

/// A test stand that reads a figure of merit of 0.2 to 0.8, falling or rising.
fn table(dice: &mut Dice) -> Result<Rotor, VehicleError> {
    let (diameter_m, first_n) = (dice.log(0.05, 5.0), dice.log(0.1, 50.0));
    let (merit, change) = (dice.between(0.3, 0.7), dice.between(-0.01, 0.01));
    let area_m2 = std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
    let rows = (1..=8)
        .map(|i| {
            let thrust_n = first_n * f64::from(i);
            let tip_m_s = (thrust_n / (1.2 * area_m2 * 0.0125)).sqrt();
            TableRow {
                thrust_n,
                speed_rad_s: tip_m_s / (0.5 * diameter_m),
                power_w: thrust_n * (thrust_n / (2.4 * area_m2)).sqrt() / (merit + change * f64::from(i)),
            }
        })
        .collect();
    let inputs = TableRotorInputs { diameter_m, rows, power: TablePower::Shaft, density_kg_m3: 1.2 };
    Ok(Rotor::Table(TableRotor::new(inputs)?))
}

fn blades(dice: &mut Dice) -> Result<Rotor, VehicleError> {
    let (chord_ratio, pitch_rad) = (dice.log(0.03, 0.3), dice.between(0.02, 0.5));
    let station = |radius_ratio: f64| BladeStation {
        radius_ratio,
        chord_ratio,
        pitch_rad: pitch_rad * (1.3 - 0.6 * radius_ratio),
    };
    let speed_rad_s = dice.log(20.0, 3000.0);
    Ok(Rotor::Blade(BladeRotor::new(BladeRotorInputs {
        diameter_m: dice.log(0.05, 10.0),
        blade_count: 1 + (dice.unit() * 6.0) as u32,
        stations: vec![station(0.15), station(0.5), station(1.0)],
        section: Section::SMALL_PROPELLER,
        control: if dice.unit() < 0.7 {
            Control::Speed { max_speed_rad_s: speed_rad_s }
        } else {
            Control::Collective { speed_rad_s, min_rad: -0.1, max_rad: dice.between(-0.05, 0.4) }
        },
        max_tip_mach: 0.7,
    })?))
}

fn rotor_set(dice: &mut Dice) -> Result<RotorSet, VehicleError> {
    let kind = dice.unit();
    let rotor = match kind {
        k if k < 0.05 => blades(dice)?,
        k if k < 0.25 => table(dice)?,
        _ => disk(dice)?,
    };
    let drive = if dice.unit() < 0.5 {
        let max_shaft_w = dice.maybe(|d| d.log(1.0, 1e5));
        Drive::Efficiency(EfficiencyDrive {
            motor_ratio: dice.between(0.3, 1.0),
            controller_ratio: dice.between(0.5, 1.0),
            max_shaft_w,
        })
    } else {
        let mut motor =
            MotorDrive::ideal_controller(dice.log(1.0, 500.0), dice.log(1e-3, 5.0), dice.log(0.01, 5.0));
        motor.max_current_a = dice.maybe(|d| d.log(1.0, 300.0));
        motor.controller_ratio = dice.between(0.7, 1.0);
        if dice.unit() < 0.4 {
            motor.thermal = Some(Thermal {
                resistance_k_per_w: dice.log(0.01, 100.0),
                max_winding_k: dice.between(330.0, 480.0),
                air_k: 293.15,
            });
        }
        Drive::Motor(motor)
    };
    RotorSet::new(RotorSetInputs {
        rotor,
        rotor_count: 1 + (dice.unit() * 16.0) as u32,
        arrangement: if dice.unit() < 0.3 {
            Arrangement::CoaxialPairs { interference: dice.between(1.0, 1.6) }
        } else {
            Arrangement::Single
        },
        drive,
        bus_voltage_v: dice.log(5.0, 1000.0),
        max_thrust_each_n: dice.maybe(|d| d.log(0.1, 1e4)),
    })
    .and_then(|set| if dice.unit() < 0.5 { set.declared_at(dice.log(0.3, 1.6)) } else { Ok(set) })
}

fn multirotor(dice: &mut Dice) -> Result<Multirotor, VehicleError> {
    let rotors = rotor_set(dice)?;
    let body_drag = if dice.unit() < 0.7 {
        DragArea::spheroid(dice.log(1e-4, 5.0), dice.log(1e-4, 20.0))?
    } else {
        DragArea::table(&[-30.0, 0.0, 30.0, 90.0], &[dice.log(1e-3, 1.0), 0.1, dice.log(1e-3, 2.0), 0.5])?
    };
    let guard_ring = (dice.unit() < 0.3).then(|| GuardRing {
        diameter_m: dice.log(0.05, 5.0),
        height_m: dice.log(1e-3, 0.1),
        width_m: dice.log(1e-3, 0.1),
        drag_coefficient: 1.2,
    });
    Multirotor::new(MultirotorInputs {
        rotors,
        empty_mass_kg: dice.log(0.01, 500.0),
        body_drag,
        guard_ring,
        rotor_drag_s_per_m: dice.maybe(|d| d.log(1e-4, 0.02)).unwrap_or(0.0),
        max_tilt_deg: dice.between(5.0, 80.0),
        avionics_w: dice.log(0.1, 500.0),
    })
}

fn load(dice: &mut Dice) -> Load {
    let mass_kg = dice.log(0.01, 500.0);
    Load {
        mass_kg,
        external_force_n: dice.vector(20.0 * mass_kg.abs().clamp(0.01, 1e3)),
        air_velocity_m_s: dice.vector(40.0),
        vehicle_velocity_m_s: if dice.unit() < 0.5 { Vector3::zeros() } else { dice.vector(5.0) },
    }
}

/// Every number in the debug text of a result is a number: NaN and infinity print as words.
fn is_clean(result: &impl std::fmt::Debug) -> bool {
    let text = format!("{result:?}");
    text.split(|c: char| !c.is_alphanumeric() && c != '_').all(|word| word != "NaN" && word != "inf")
}

fn closes(trim: &Trim, load: &Load) {
    let mut sum_n = trim.thrust_vector_n + trim.body_drag_n + trim.rotor_drag_n + load.external_force_n;
    sum_n.z -= load.weight_n();
    let scale_n = load.weight_n() + load.external_force_n.norm() + trim.body_drag_n.norm();
    assert!(sum_n.norm() <= 1e-9 * scale_n, "{trim:?}");
    let powers_w = trim.induced_w + trim.profile_w + trim.axial_w;
    let scale_w = trim.induced_w.abs() + trim.profile_w.abs() + trim.axial_w.abs();
    assert!((powers_w - trim.shaft_w).abs() <= 1e-12 * scale_w, "{trim:?}");
    assert!(trim.electrical_w >= 0.0 && trim.electrical_w >= trim.shaft_w * (1.0 - 1e-12), "{trim:?}");
    assert!((0.0..=180.0).contains(&trim.tilt_deg));
}

#[test]
fn prop_random_multirotors() {
    let mut dice = Dice(1);
    let (mut built_count, mut flown_count) = (0, 0);
    for round in 0..100_000 {
        let built = multirotor(&mut dice);
        let (load, fluid) = (load(&mut dice), dice.fluid());
        let Ok(aircraft) = built else { continue };
        built_count += 1;
        let loose = aircraft.trim_beyond_limits(&load, &fluid);
        if let Ok(trim) = &loose {
            assert!(is_clean(trim), "{trim:?}");
            closes(trim, &load);
        }
        match aircraft.trim(&load, &fluid) {
            Ok(trim) => {
                flown_count += 1;
                assert!(trim.binding_limit().used_ratio <= 1.0);
                assert_eq!(Ok(trim), loose);
            }
            Err(error) => {
                // Refused beyond a limit, and only then, if the loose trim has an answer; tables and blades give none beyond
                // their largest thrust.
                let beyond = matches!(error, VehicleError::ThrustShort { .. });
                assert!(error.overload_ratio().is_some() == loose.is_ok() || beyond, "{error}");
                assert!(error.overload_ratio().is_none_or(|r| r > 0.0), "{error}");
            }
        }
        // The slower questions on every tenth vehicle.
        if round % 10 == 0 {
            ask_more(&aircraft, &load, &fluid, loose.ok());
        }
    }
    assert!(built_count > 50_000 && flown_count > 1_000, "{built_count} built, {flown_count} flown");
}

fn ask_more(aircraft: &Multirotor, load: &Load, fluid: &Fluid, trim: Option<Trim>) {
    if let Some(Ok(Some((ratio, _)))) = trim.map(|t| aircraft.thrust_reserve(&t, fluid)) {
        assert!(ratio >= 0.0 && ratio.is_finite());
    }
    if let Some(trim) = trim {
        let inflow = Inflow { axial_m_s: trim.axial_inflow_m_s, edgewise_m_s: trim.edgewise_m_s };
        if let Ok(bounds) = aircraft.inputs().rotors.thrust_bounds(inflow, fluid) {
            assert!(is_clean(&bounds) && bounds.iter().all(|(thrust_n, _)| *thrust_n >= 0.0), "{bounds:?}");
        }
    }
    for failure in [Failure::OneRotor, Failure::OpposingPair] {
        if let Ok(left) = aircraft.rotor_out(load, failure, fluid) {
            assert!(is_clean(&left), "{left:?}");
        }
    }
    if let Ok(descent) = aircraft.fastest_safe_descent(load, &DescentPlan::default(), fluid) {
        assert!(is_clean(&descent), "{descent:?}");
    }
    if let Ok(low) = aircraft.hover_over_ground(load.mass_kg, 0.3, fluid) {
        assert!(is_clean(&low), "{low:?}");
    }
}

fn wing(dice: &mut Dice) -> Result<FixedWing, VehicleError> {
    let propulsion = if dice.unit() < 0.6 {
        Propulsion::Efficiency {
            propeller_ratio: dice.between(0.3, 0.9),
            drive_ratio: dice.between(0.3, 0.95),
            max_shaft_w: dice.maybe(|d| d.log(5.0, 1e5)),
        }
    } else {
        Propulsion::Rotors(Box::new(rotor_set(dice)?))
    };
    FixedWing::new(FixedWingInputs {
        empty_mass_kg: dice.log(0.1, 500.0),
        wing_area_m2: dice.log(0.05, 50.0),
        polar: Polar::from_span_efficiency(
            dice.log(0.01, 0.1),
            dice.log(3.0, 30.0),
            dice.between(0.6, 1.0),
            dice.log(0.6, 2.5),
        )?,
        propulsion,
        avionics_w: dice.log(0.1, 500.0),
        max_bank_deg: dice.between(15.0, 70.0),
        max_load_factor: dice.between(1.2, 5.0),
        stall_margin_ratio: dice.between(1.0, 1.5),
    })
}

#[test]
fn prop_random_wings() {
    let mut dice = Dice(2);
    let mut flown_count = 0;
    for round in 0..20_000 {
        let built = wing(&mut dice);
        let mass_kg = dice.log(0.2, 500.0);
        let wing_load = WingLoad {
            mass_kg,
            pull_down_n: dice.log(1e-3, 5.0 * mass_kg.abs().clamp(0.1, 1e3)),
            pull_inward_n: dice.log(1e-3, 5.0 * mass_kg.abs().clamp(0.1, 1e3)),
            pull_back_n: dice.log(1e-3, mass_kg.abs().clamp(0.1, 1e3)),
        };
        let orbit = Orbit { radius_m: dice.log(5.0, 2e3), wind_m_s: dice.log(0.1, 30.0) };
        let (airspeed_m_s, fluid) = (dice.log(3.0, 60.0), dice.fluid());
        let Ok(wing) = built else { continue };
        if let Ok(flight) = wing.level(&wing_load, airspeed_m_s, &fluid) {
            assert!(is_clean(&flight), "{flight:?}");
        }
        if let Ok(loiter) = wing.loiter_beyond_limits(&wing_load, &orbit, airspeed_m_s, &fluid) {
            assert!(is_clean(&loiter), "{loiter:?}");
            assert!(loiter.largest_demand_w >= loiter.mean_demand_w * (1.0 - 1e-12));
        }
        if let Ok(Some(climb_m_s)) = wing.climb_rate_m_s(&wing_load, airspeed_m_s, &fluid) {
            assert!(climb_m_s.is_finite());
        }
        if round % 50 == 0 {
            match wing.best_loiter(&wing_load, &orbit, &fluid) {
                Ok(best) => {
                    flown_count += 1;
                    assert!(is_clean(&best) && best.binding_limit.used_ratio <= 1.0, "{best:?}");
                }
                Err(error) => assert!(!error.to_string().is_empty()),
            }
        }
    }
    assert!(flown_count > 20, "{flown_count}");
}

#[test]
fn prop_random_underwater_vehicles() {
    let mut dice = Dice(3);
    let mut swum_count = 0;
    for _ in 0..20_000 {
        let (surge, heave) = (rotor_set(&mut dice).ok(), rotor_set(&mut dice).ok());
        let mass_kg = dice.log(1.0, 1e3);
        let built = UnderwaterVehicle::new(UnderwaterInputs {
            empty_mass_kg: mass_kg,
            displacement_m3: dice.between(0.97, 1.03) * mass_kg / 1025.0,
            surge_drag_m2: dice.log(1e-3, 1.0),
            sway_drag_m2: dice.maybe(|d| d.log(1e-3, 3.0)).unwrap_or(0.0),
            heave_drag_m2: dice.log(1e-3, 3.0),
            surge_thrusters: surge,
            heave_thrusters: heave,
            hotel_w: dice.log(1.0, 500.0),
        });
        let load = Load {
            mass_kg,
            external_force_n: dice.vector(100.0),
            air_velocity_m_s: dice.vector(2.0),
            vehicle_velocity_m_s: Vector3::zeros(),
        };
        let Ok(vehicle) = built else { continue };
        if let Ok(trim) = vehicle.trim(&load, &air(1025.0)) {
            swum_count += 1;
            assert!(is_clean(&trim), "{trim:?}");
            assert!(trim.surge_thrust_n >= 0.0);
            let scale_n = load.weight_n() + load.external_force_n.norm() + trim.drag_n.norm();
            assert!(trim.force_residual_n <= 1e-9 * scale_n, "{trim:?}");
        }
    }
    assert!(swum_count > 500, "{swum_count}");
}
