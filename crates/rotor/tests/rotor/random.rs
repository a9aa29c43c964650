//! Random rotors in random streams: no panic, no number that is not one, budgets that close.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    Inflow, MotorDrive, Operation, ProfileLoss, Regime, Rotor, RotorError, Section, SpeedLaw, TablePower,
    TableRotor, TableRotorInputs, TableRow, Thermal,
};
use proptest::prelude::*;

use crate::AIR;

/// Uniform and log-uniform numbers from a seed (SplitMix64).
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.unit()
    }

    fn log(&mut self, lo: f64, hi: f64) -> f64 {
        lo * (hi / lo).powf(self.unit())
    }

    fn one_in(&mut self, n: u32) -> bool {
        self.unit() * f64::from(n) < 1.0
    }
}

fn fluid(random: &mut Random) -> Fluid {
    if random.one_in(5) {
        Fluid { density_kg_m3: 1025.0, dynamic_viscosity_pa_s: 1.2e-3, speed_of_sound_m_s: 1500.0, ..AIR }
    } else {
        Fluid {
            density_kg_m3: random.between(0.3, 1.5),
            speed_of_sound_m_s: random.between(290.0, 360.0),
            ..AIR
        }
    }
}

fn disk(random: &mut Random) -> Result<Rotor, RotorError> {
    let solidity = random.log(0.006, 0.5);
    let speed = if random.one_in(2) {
        SpeedLaw::ThrustCoefficient(random.log(1e-3, 0.05))
    } else {
        SpeedLaw::TipSpeedMS(random.log(2.0, 350.0))
    };
    let profile = if random.one_in(2) {
        ProfileLoss::FigureOfMerit(random.between(0.1, 0.9))
    } else {
        ProfileLoss::MeanDragCoefficient(random.log(0.002, 0.2))
    };
    DiskRotor::new(DiskRotorInputs {
        diameter_m: random.log(0.02, 40.0),
        induced_factor: random.between(1.0, 1.5),
        profile,
        speed: Some(speed),
        solidity: Some(solidity),
        max_tip_mach: 0.7,
        max_blade_loading: 0.16,
    })
    .map(Rotor::Disk)
}

fn blade(random: &mut Random) -> Result<Rotor, RotorError> {
    let diameter_m = random.log(0.05, 20.0);
    let count = 2 + (random.unit() * 6.0) as u32;
    let root = random.between(0.05, 0.4);
    let stations = (0..count)
        .map(|i| BladeStation {
            radius_ratio: root + (1.0 - root) * f64::from(i) / f64::from(count - 1),
            chord_ratio: random.log(0.02, 0.4),
            pitch_rad: random.between(-0.2, 1.2),
        })
        .collect();
    let top_rad_s = random.between(20.0, 300.0) / (0.5 * diameter_m);
    let control = if random.one_in(4) {
        Control::Collective { speed_rad_s: top_rad_s, min_rad: -0.3, max_rad: random.between(-0.2, 0.4) }
    } else {
        Control::Speed { max_speed_rad_s: top_rad_s }
    };
    let section =
        if random.one_in(3) { Section::symmetric(5.7, 0.01, 1.2) } else { Section::SMALL_PROPELLER };
    BladeRotor::new(BladeRotorInputs {
        diameter_m,
        blade_count: 1 + (random.unit() * 6.0) as u32,
        stations,
        section,
        control,
        max_tip_mach: 0.7,
    })
    .map(Rotor::Blade)
}

fn table(random: &mut Random) -> Result<Rotor, RotorError> {
    let diameter_m = random.log(0.1, 2.0);
    let constant = random.log(1e-3, 0.05);
    let merit = random.between(0.2, 0.95);
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
    let rows = (1..=6)
        .map(|i| {
            let tip_m_s = 20.0 * f64::from(i);
            let thrust_n = constant * 1.225 * area_m2 * tip_m_s * tip_m_s;
            let power_w = thrust_n * (thrust_n / (2.0 * 1.225 * area_m2)).sqrt() / merit;
            TableRow { thrust_n, speed_rad_s: tip_m_s / (0.5 * diameter_m), power_w }
        })
        .collect();
    TableRotor::new(TableRotorInputs { diameter_m, rows, power: TablePower::Shaft, density_kg_m3: 1.225 })
        .map(Rotor::Table)
}

fn is_sound(o: &Operation) -> Result<(), String> {
    let numbers = [
        o.thrust_n,
        o.induced_velocity_m_s,
        o.induced_w,
        o.profile_w,
        o.axial_w,
        o.shaft_w,
        o.torque_n_m.unwrap_or(0.0),
        o.speed_rad_s.unwrap_or(0.0),
        o.figure_of_merit,
        o.tip_mach.unwrap_or(0.0),
        o.blade_loading.unwrap_or(0.0),
    ];
    if numbers.iter().any(|n| !n.is_finite()) {
        return Err(format!("not finite: {o:?}"));
    }
    let size = o.induced_w.abs() + o.profile_w.abs() + o.axial_w.abs();
    if (o.induced_w + o.profile_w + o.axial_w - o.shaft_w).abs() > 1e-12 * size {
        return Err(format!("budget: {o:?}"));
    }
    if let (Some(torque), Some(speed)) = (o.torque_n_m, o.speed_rad_s)
        && (torque * speed - o.shaft_w).abs() > 1e-9 * size
    {
        return Err(format!("torque: {o:?}"));
    }
    if o.profile_w < 0.0 || o.induced_velocity_m_s < 0.0 {
        return Err(format!("sign: {o:?}"));
    }
    Ok(())
}

#[test]
fn seeded_twenty_thousand_random_operations() {
    let mut random = Random(20_240_607);
    let (mut answered, mut refused) = (0, 0);
    for case in 0..20_000 {
        let rotor = match case % 4 {
            0 | 1 => disk(&mut random),
            2 => blade(&mut random),
            _ => table(&mut random),
        };
        let Ok(rotor) = rotor else {
            refused += 1;
            continue;
        };
        let fluid = fluid(&mut random);
        let area_m2 = 0.25 * std::f64::consts::PI * rotor.diameter_m().powi(2);
        let thrust_n = match (&rotor, random.one_in(20)) {
            (_, true) => 0.0,
            (Rotor::Disk(_), _) => (area_m2 * random.log(1e-3, 1e4)).min(1e6),
            (_, _) => rotor.max_thrust_n(Inflow::HOVER, &fluid).unwrap().min(9e5) * random.between(0.0, 1.1),
        };
        let still = random.one_in(4);
        let scale_m_s = (thrust_n / (2.0 * fluid.density_kg_m3 * area_m2)).sqrt().max(0.1);
        let inflow = Inflow {
            axial_m_s: (scale_m_s * random.between(-4.0, 4.0)).clamp(-300.0, 300.0),
            edgewise_m_s: if still { 0.0 } else { (scale_m_s * random.between(0.0, 5.0)).min(300.0) },
        };
        let limit = rotor.max_thrust_n(inflow, &fluid);
        assert!(limit.is_none_or(|n| n.is_finite() && n >= 0.0), "{rotor:?} {inflow:?}: {limit:?}");
        match rotor.operate(thrust_n, inflow, &fluid) {
            Ok(operation) => {
                answered += 1;
                if let Err(what) = is_sound(&operation) {
                    panic!("case {case}, {inflow:?}, {rotor:?}: {what}");
                }
            }
            Err(RotorError::ThrustAboveLimit { .. } | RotorError::ThrustBelowLimit { .. }) => refused += 1,
            Err(error) => panic!("case {case}: {error}"),
        }
    }
    assert!(answered > 14_000, "{answered} answered, {refused} refused");
}

proptest! {
    /// Inside the boundary of the vortex ring state, hover power or more.
    #[test]
    fn prop_vortex_ring_costs_hover_power(x in -2.5..0.0f64, y in 0.0..1.5f64, merit in 0.3..0.85f64) {
        let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.5, merit)).unwrap();
        let hover = rotor.operate(20.0, Inflow::HOVER, &AIR).unwrap();
        let v = hover.induced_velocity_m_s;
        let descent =
            rotor.operate(20.0, Inflow { axial_m_s: x * v, edgewise_m_s: y * v }, &AIR).unwrap();
        if descent.regime == Regime::VortexRing {
            prop_assert!(descent.shaft_w >= hover.shaft_w * (1.0 - 1e-12), "{descent:?}");
        }
    }

    /// Any inputs whatever: an answer or a typed error.
    #[test]
    fn prop_no_input_makes_nan(thrust in any::<f64>(), axial in any::<f64>(), edgewise in any::<f64>(), density in any::<f64>()) {
        let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.5, 0.7)).unwrap();
        let fluid = Fluid { density_kg_m3: density, ..AIR };
        if let Ok(o) = rotor.operate(thrust, Inflow { axial_m_s: axial, edgewise_m_s: edgewise }, &fluid) {
            prop_assert!(is_sound(&o).is_ok(), "{o:?}");
        }
    }

    /// Climb power comes on top of hover power, but less than all of it: the induced power falls.
    #[test]
    fn prop_climb_costs_less_than_hover_plus_climb(thrust in 0.1..100.0f64, climb in 0.01..30.0f64) {
        let rotor = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.5, 0.7)).unwrap();
        let hover = rotor.operate(thrust, Inflow::HOVER, &AIR).unwrap();
        let up = rotor.operate(thrust, Inflow::axial(climb), &AIR).unwrap();
        prop_assert!(up.induced_w < hover.induced_w);
        prop_assert!(up.shaft_w < hover.shaft_w + thrust * climb);
    }

    /// A drive gives finite numbers, and never draws less than the shaft takes.
    #[test]
    fn prop_drive_budget(torque in -5.0..50.0f64, speed in 0.0..2000.0f64, volt in 1.0..1000.0f64, rth in 0.0..10.0f64) {
        let mut motor = MotorDrive::ideal_controller(40.0, 0.05, 0.8);
        motor.controller_ratio = 0.97;
        motor.thermal = Some(Thermal { resistance_k_per_w: rth, max_winding_k: 400.0, air_k: 300.0 });
        motor.max_current_a = Some(60.0);
        for drive in [Drive::Motor(motor), Drive::Efficiency(EfficiencyDrive::new(0.8, 0.95).unwrap())] {
            let o = drive.operate(torque, speed, volt).unwrap();
            let numbers = [o.electrical_w, o.current_a, o.motor_current_a, o.loss_w, o.throttle_ratio, o.limit.used_ratio];
            prop_assert!(numbers.iter().all(|n| n.is_finite()), "{o:?}");
            prop_assert!(o.electrical_w >= torque * speed && o.loss_w >= 0.0, "{o:?}");
        }
    }
}

/// Fine steps through the whole plane of descent: no jump larger than a solver can take.
#[test]
fn induced_flow_has_no_jumps() {
    use beamstay_rotor::momentum::induced_flow;
    let step = 1e-4;
    let mut steepest: (f64, f64, f64) = (0.0, 0.0, 0.0);
    for i in 0..50 {
        let fixed = f64::from(i) * 0.03;
        for j in 0..40_000 {
            let x = -4.0 + f64::from(j) * step;
            let here = induced_flow(x, fixed, 1.15).induced_ratio;
            let jump = (induced_flow(x + step, fixed, 1.15).induced_ratio - here).abs();
            if jump > steepest.0 {
                steepest = (jump, x, fixed);
            }
        }
    }
    println!("steepest {steepest:?}");
    assert!(steepest.0 < 2e-3, "along the descent: {steepest:?}");
    let mut steepest: (f64, f64, f64) = (0.0, 0.0, 0.0);
    for i in 0..130 {
        let x = -4.0 + 0.03 * f64::from(i);
        for j in 0..15_000 {
            let y = f64::from(j) * step;
            let jump = (induced_flow(x, y + step, 1.15).induced_ratio
                - induced_flow(x, y, 1.15).induced_ratio)
                .abs();
            if jump > steepest.0 {
                steepest = (jump, x, y);
            }
        }
    }
    println!("steepest {steepest:?}");
    assert!(steepest.0 < 2e-3, "along the edgewise speed: {steepest:?}");
}

/// With the stream faded out, the blade rotor in any stream is the blade rotor in axial flow.
#[test]
fn blade_rotor_is_continuous_at_hover() {
    let station = |radius_ratio, pitch_rad| BladeStation { radius_ratio, chord_ratio: 0.15, pitch_rad };
    let rotor = BladeRotor::new(BladeRotorInputs {
        diameter_m: 0.4,
        blade_count: 2,
        stations: vec![station(0.15, 0.4), station(1.0, 0.1)],
        section: Section::SMALL_PROPELLER,
        control: Control::Speed { max_speed_rad_s: 1500.0 },
        max_tip_mach: 0.7,
    })
    .unwrap();
    let hover = rotor.operate(10.0, Inflow::HOVER, &AIR).unwrap();
    for inflow in [
        Inflow { axial_m_s: 0.0, edgewise_m_s: 1e-4 },
        Inflow { axial_m_s: -1e-5, edgewise_m_s: 0.0 },
        Inflow { axial_m_s: 1e-6, edgewise_m_s: 0.0 },
    ] {
        let near = rotor.operate(10.0, inflow, &AIR).unwrap();
        assert!((near.shaft_w / hover.shaft_w - 1.0).abs() < 1e-5, "{inflow:?}: {near:?} {hover:?}");
        assert!((near.speed_rad_s.unwrap() / hover.speed_rad_s.unwrap() - 1.0).abs() < 1e-5);
    }
    let limit_n = rotor.max_thrust_n(Inflow::HOVER, &AIR).unwrap();
    assert!(rotor.operate(limit_n * 0.999_99, Inflow::HOVER, &AIR).is_ok());
    let error = rotor.operate(limit_n * 1.000_01, Inflow::HOVER, &AIR).unwrap_err();
    assert!(matches!(error, RotorError::ThrustAboveLimit { .. }));
}

/// The speed or collective found is one at which a test stand would read the thrust and power told.
#[test]
fn found_speed_and_collective_make_the_thrust() {
    let station = |radius_ratio, pitch_rad| BladeStation { radius_ratio, chord_ratio: 0.12, pitch_rad };
    let rotor = |control| {
        BladeRotor::new(BladeRotorInputs {
            diameter_m: 1.2,
            blade_count: 2,
            stations: vec![station(0.15, 0.25), station(1.0, 0.12)],
            section: Section::SMALL_PROPELLER,
            control,
            max_tip_mach: 0.7,
        })
        .unwrap()
    };
    let by_speed = rotor(Control::Speed { max_speed_rad_s: 400.0 });
    for (thrust_n, climb_m_s) in [(5.0, 0.0), (60.0, 0.0), (60.0, 4.0), (0.5, 2.0)] {
        let o = by_speed.operate(thrust_n, Inflow::axial(climb_m_s), &AIR).unwrap();
        let read = by_speed.test_point(o.speed_rad_s.unwrap(), 0.0, climb_m_s, &AIR).unwrap();
        assert!((read.thrust_n / thrust_n - 1.0).abs() < 1e-6, "{o:?} {read:?}");
        assert!((read.shaft_w / o.shaft_w - 1.0).abs() < 1e-6, "{o:?} {read:?}");
    }
    let by_pitch = rotor(Control::Collective { speed_rad_s: 220.0, min_rad: -0.3, max_rad: 0.3 });
    let low = by_pitch.operate(20.0, Inflow::HOVER, &AIR).unwrap();
    let high = by_pitch.operate(90.0, Inflow::HOVER, &AIR).unwrap();
    assert!((low.speed_rad_s.unwrap() - 220.0).abs() < 1e-9 && high.shaft_w > low.shaft_w);
    let limit_n = by_pitch.max_thrust_n(Inflow::HOVER, &AIR).unwrap();
    let error = by_pitch.operate(1.05 * limit_n, Inflow::HOVER, &AIR).unwrap_err();
    assert!(matches!(error, RotorError::ThrustAboveLimit { .. }), "{error}");
}
