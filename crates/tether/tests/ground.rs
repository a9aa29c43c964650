//! Lines that lie on the ground in part.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where something is wrong")]

use beamstay_environment::{AirFlow, Atmosphere, Flow, Profile, ProfileShape, UniformFlow};
use beamstay_numerics::random::Random;
use beamstay_tether::{
    Ground, Line, NormalDrag, Options, Shape, TensionOverGround, TetherError,
    solve_for_drum_tension_over_ground, solve_for_length, solve_for_length_over_ground,
};
use nalgebra::Vector3;

const WEIGHT_N_PER_M: f64 = 0.010 * 9.806_65;

fn line(axial_stiffness_n: Option<f64>) -> Line {
    Line {
        mass_kg_per_m: 0.010,
        diameter_m: 0.003,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n,
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.02,
    }
}

fn still() -> UniformFlow {
    UniformFlow::new(Atmosphere::new(0.0, 0.0).unwrap().at(0.0), Vector3::zeros()).unwrap()
}

fn wind(speed_m_s: f64) -> AirFlow {
    let law = ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent: 0.143 };
    let profile = Profile {
        veer_deg_per_m: 0.05,
        floor_height_m: 0.5,
        direction_deg: 30.0,
        exit_height_m: 0.5,
        ..Profile::new(law).unwrap()
    };
    AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap()
}

/// Place of the vehicle end over the anchor for the pulls there: J. M. Jonkman, NREL/TP-500-41958, 2007, section 2.5.1 (from memory), a line
/// with a part on the sea bed.
fn jonkman(h: f64, v: f64, length_m: f64, stiffness_n: f64, friction: f64) -> (f64, f64) {
    let w = WEIGHT_N_PER_M;
    let lying_m = length_m - v / w;
    let held = if friction > 0.0 {
        let loose_m = (lying_m - h / (friction * w)).max(0.0);
        friction * w / (2.0 * stiffness_n) * (-lying_m * lying_m + (lying_m - h / (friction * w)) * loose_m)
    } else {
        0.0
    };
    let x_m = lying_m + h / w * (v / h).asinh() + h * length_m / stiffness_n + held;
    let z_m = h / w * ((1.0 + (v / h).powi(2)).sqrt() - 1.0) + v * v / (2.0 * stiffness_n * w);
    (x_m, z_m)
}

fn solve(ground: Ground, flow: &impl Flow, line: &Line, vehicle_m: Vector3<f64>, length_m: f64) -> Shape {
    let options = Options { relative_tolerance: 1e-8, ..Options::default() };
    solve_for_length_over_ground(line, flow, &ground, vehicle_m, length_m, &options, None).unwrap()
}

#[test]
fn val_jonkman_line_on_the_sea_bed() {
    // Horizontal and vertical pull at the vehicle, length, stiffness, friction: taut to the drum, with friction, partly loose.
    for (h, v, length_m, stiffness_n, friction) in [
        (3.0, 6.0, 130.0, 2000.0, 0.0),
        (3.0, 6.0, 130.0, 9e4, 0.3),
        (1.0, 8.0, 150.0, 500.0, 0.5),
        (1.0, 8.0, 150.0, 500.0, 0.05),
        (20.0, 4.0, 90.0, 9e4, 1.0),
    ] {
        let (x_m, z_m) = jonkman(h, v, length_m, stiffness_n, friction);
        let ground = Ground::new(0.0, friction).unwrap();
        let shape = solve(ground, &still(), &line(Some(stiffness_n)), Vector3::new(x_m, 0.0, z_m), length_m);
        let pull_n = -shape.force_on_vehicle_n();
        assert!((pull_n.x - h).abs() < 1e-6 * h, "{h} {v} {friction}: {} against {h}", pull_n.x);
        assert!((pull_n.z - v).abs() < 1e-6 * v, "{h} {v} {friction}: {} against {v}", pull_n.z);
        let lying = shape.lying().unwrap();
        let lying_m = length_m - v / WEIGHT_N_PER_M;
        assert!((lying.length_m() - lying_m).abs() < 1e-6 * length_m);
        let anchor_n = (h - friction * WEIGHT_N_PER_M * lying_m).max(0.0);
        assert!((shape.drum_tension_n() - anchor_n).abs() < 1e-6 * h);
        let loose_m = if friction > 0.0 { (lying_m - h / (friction * WEIGHT_N_PER_M)).max(0.0) } else { 0.0 };
        assert!((lying.loose_m - loose_m).abs() < 1e-5 * length_m);
    }
}

#[test]
fn a_raised_drum_in_still_air_is_two_catenaries_and_a_straight() {
    // H = a w; from the drum down to the ground and from there to the vehicle, √(z² + 2az) each.
    let (exit_m, a_m, lying_m, up_m): (f64, f64, f64, f64) = (6.0, 12.0, 20.0, 60.0);
    let reach = |z: f64| (a_m * (1.0 + z / a_m).acosh(), (z * z + 2.0 * a_m * z).sqrt());
    let ((x1, s1), (x2, s2)) = (reach(exit_m), reach(up_m));
    let vehicle_m = Vector3::new(0.6, 0.8, 0.0) * (x1 + lying_m + x2) + Vector3::new(0.0, 0.0, up_m - exit_m);
    let ground = Ground::new(-exit_m, 0.0).unwrap();
    let shape = solve(ground, &still(), &line(None), vehicle_m, s1 + lying_m + s2);
    let lying = shape.lying().unwrap();
    assert!((lying.from_m - s1).abs() < 1e-5, "{} against {s1}", lying.from_m);
    assert!((lying.length_m() - lying_m).abs() < 1e-5, "{} against {lying_m}", lying.length_m());
    let drum_n = (a_m + exit_m) * WEIGHT_N_PER_M;
    assert!((shape.drum_tension_n() - drum_n).abs() < 1e-6 * drum_n);
    assert!((shape.lowest_point().z + exit_m).abs() < 1e-5);
    assert!(shape.clearance_m(-exit_m, 2.0).abs() < 1e-5);
}

#[test]
fn more_line_than_a_taut_one_can_use_lies_loose() {
    // Straight over the drum in still air: what rises is as long as the vehicle is high.
    let ground = Ground::new(-2.0, 0.2).unwrap();
    let shape = solve(ground, &still(), &line(None), Vector3::new(0.0, 0.0, 48.0), 70.0);
    let lying = shape.lying().unwrap();
    assert!((lying.length_m() - 18.0).abs() < 1e-6 && (lying.loose_m - 18.0).abs() < 1e-6);
    assert!((shape.top_tension_n() - 50.0 * WEIGHT_N_PER_M).abs() < 1e-6);
    assert!((shape.drum_tension_n() - 2.0 * WEIGHT_N_PER_M).abs() < 1e-6);
    // In wind too: the line leaves the ground at the critical angle, and the drum feels what hangs from it alone.
    let shape = solve(ground, &wind(8.0), &line(None), Vector3::new(10.0, 5.0, 40.0), 120.0);
    let lying = shape.lying().unwrap();
    assert!(lying.loose_m > 10.0 && (lying.length_m() - lying.loose_m).abs() < 1e-9);
    assert!(shape.drum_tension_n() < 4.0 * WEIGHT_N_PER_M);
    assert_sound(&shape, Vector3::new(10.0, 5.0, 40.0));
}

/// Forces close on the whole line, the ground included; the lift-off is level and pulls along what lies.
fn assert_sound(shape: &Shape, vehicle_m: Vector3<f64>) {
    let ends_n = shape.force_on_vehicle_n() + shape.force_at_drum_n();
    let open = (ends_n - shape.load_on_line_n()).norm() / shape.max_tension().0;
    assert!(open < 1e-6, "{open}");
    assert!((shape.point(shape.paid_out_m()) - vehicle_m).norm() < 1e-5 * shape.paid_out_m());
    let lying = shape.lying().unwrap();
    if lying.length_m() > 1e-3 && lying.loose_m < lying.length_m() {
        let lift_off_n = shape.force_n(lying.to_m + 1e-9);
        assert!(lift_off_n.z.abs() < 1e-5 * lift_off_n.norm());
        let way_m = shape.point(lying.to_m) - shape.point(lying.from_m);
        let sine = way_m.normalize().cross(&lift_off_n.normalize()).norm();
        assert!(sine < 1e-4, "{sine}");
    }
}

#[test]
fn length_and_drum_tension_agree_in_a_veering_wind() {
    for (friction, vehicle_m) in [
        (0.0, Vector3::new(60.0, 20.0, 70.0)),
        (0.2, Vector3::new(60.0, 20.0, 70.0)),
        (0.1, Vector3::new(-50.0, 30.0, 40.0)),
    ] {
        let ground = Ground::new(-0.5, friction).unwrap();
        let options = Options::default();
        let taut = line(Some(9e4));
        let held =
            solve_for_drum_tension_over_ground(&taut, &wind(5.0), &ground, vehicle_m, 1.5, &options, None)
                .unwrap();
        let TensionOverGround::Lies { shape, least_free_drum_tension_n } = held else {
            panic!("{held:?}");
        };
        assert!(least_free_drum_tension_n > 1.5);
        assert!((shape.drum_tension_n() - 1.5).abs() < 1e-5);
        assert!(shape.lying().unwrap().length_m() > 1.0);
        assert_sound(&shape, vehicle_m);
        let again = solve(ground, &wind(5.0), &taut, vehicle_m, shape.paid_out_m());
        assert!((again.drum_tension_n() - 1.5).abs() < 1e-4);
        let warm = solve_for_length_over_ground(
            &taut,
            &wind(5.0),
            &ground,
            vehicle_m,
            shape.paid_out_m(),
            &options,
            Some(&again),
        )
        .unwrap();
        assert!((warm.drum_tension_n() - 1.5).abs() < 1e-4);
    }
}

#[test]
fn too_small_a_drum_tension_lets_the_line_run_out() {
    let ground = Ground::new(-20.0, 0.0).unwrap();
    let vehicle_m = Vector3::new(50.0, 0.0, 30.0);
    let options = Options::default();
    let held =
        solve_for_drum_tension_over_ground(&line(None), &still(), &ground, vehicle_m, 1.0, &options, None)
            .unwrap();
    let TensionOverGround::RunsOut { least_drum_tension_n, .. } = held else { panic!("{held:?}") };
    assert!((least_drum_tension_n - 20.0 * WEIGHT_N_PER_M).abs() < 1e-6);
}

#[test]
fn a_free_line_is_left_alone() {
    let ground = Ground::new(-0.5, 0.3).unwrap();
    let vehicle_m = Vector3::new(60.0, 20.0, 70.0);
    let options = Options::default();
    let over =
        solve_for_length_over_ground(&line(None), &wind(8.0), &ground, vehicle_m, 95.5, &options, None)
            .unwrap();
    let free = solve_for_length(&line(None), &wind(8.0), vehicle_m, 95.5, &options, None).unwrap();
    assert_eq!(over, free);
    assert!(over.lying().is_none());
}

#[test]
fn more_length_leaves_more_on_the_ground_and_never_raises_the_tension() {
    let ground = Ground::new(-0.5, 0.1).unwrap();
    let vehicle_m = Vector3::new(30.0, 10.0, 60.0);
    let options = Options::default();
    let mut before: Option<Shape> = None;
    for step in 0..32 {
        let length_m = 70.0 + 2.0 * f64::from(step);
        let shape = solve_for_length_over_ground(
            &line(Some(9e4)),
            &wind(6.0),
            &ground,
            vehicle_m,
            length_m,
            &options,
            before.as_ref(),
        )
        .unwrap_or_else(|e| panic!("{length_m} m: {e}"));
        if let (Some(before), Some(lying)) = (&before, shape.lying()) {
            let more_m = lying.length_m() - before.lying().map_or(0.0, |l| l.length_m());
            assert!(more_m > -1e-3, "{length_m} m: {more_m}");
            if before.lying().is_some() {
                assert!(shape.drum_tension_n() < before.drum_tension_n() + 1e-4);
            }
            assert_sound(&shape, vehicle_m);
        }
        before = Some(shape);
    }
    assert!(before.unwrap().lying().is_some());
}

#[test]
fn every_slack_line_of_a_grid_finds_the_ground() {
    let options = Options::default();
    let line = line(Some(9e4));
    let (mut lies, mut free) = (0, 0);
    for (friction, speed_m_s) in [(0.0, 0.0), (0.0, 3.0), (0.3, 3.0), (0.3, 8.0)] {
        let ground = Ground::new(-0.5, friction).unwrap();
        let wind = wind(speed_m_s);
        for i in 0..10 {
            for j in 0..10 {
                let vehicle_m = Vector3::new(-60.0 + 12.0 * f64::from(i) + 0.3, 3.0, 80.0);
                let length_m = vehicle_m.norm() * (1.0 + 0.02 * f64::from(j + 1).powf(1.6));
                let solved =
                    solve_for_length_over_ground(&line, &wind, &ground, vehicle_m, length_m, &options, None);
                let shape = solved.unwrap_or_else(|e| panic!("{vehicle_m} {length_m} {speed_m_s}: {e}"));
                assert!(shape.clearance_m(-0.5, 0.0) > -1e-5 * length_m);
                if shape.lying().is_some() {
                    lies += 1;
                    assert_sound(&shape, vehicle_m);
                } else {
                    free += 1;
                }
            }
        }
    }
    assert!(lies > 200 && free > 50, "{lies} lie, {free} hang free");
}

#[test]
fn hostile_lines_over_the_ground_are_solved_or_refused() {
    let options = Options::default();
    let (mut solved, mut lie, mut twice, mut lost) = (0, 0, 0, 0);
    for seed in 1..=1500_u64 {
        let mut random = Random::new(seed);
        let stretches = random.unit() < 0.5;
        let line = Line {
            mass_kg_per_m: random.spread(1e-4, 1.0),
            diameter_m: random.spread(2e-4, 2e-2),
            buoyancy_area_m2: 0.0,
            axial_stiffness_n: stretches.then(|| random.spread(1e3, 1e7)),
            normal_drag: NormalDrag::constant(random.between(0.3, 3.0)).unwrap(),
            tangential_coefficient: random.between(0.0, 0.1),
        };
        let exit_m = if random.unit() < 0.3 { 0.0 } else { random.spread(0.01, 30.0) };
        let ground =
            Ground::new(-exit_m, if random.unit() < 0.5 { 0.0 } else { random.spread(0.01, 3.0) }).unwrap();
        let wind = wind(random.between(0.0, 25.0));
        let height_m = random.spread(1.0, 1000.0);
        let vehicle_m = Vector3::new(
            random.between(-2.0, 2.0) * height_m,
            random.between(-1.0, 1.0) * height_m,
            height_m,
        );
        let length_m = vehicle_m.norm() * (1.0 + random.spread(1e-4, 2.0));
        match solve_for_length_over_ground(&line, &wind, &ground, vehicle_m, length_m, &options, None) {
            Ok(shape) => {
                solved += 1;
                lie += usize::from(shape.lying().is_some());
                let ends_n = shape.force_on_vehicle_n() + shape.force_at_drum_n();
                let open_n = (ends_n - shape.load_on_line_n()).norm();
                assert!(open_n < 1e-6 * shape.max_tension().0, "{seed}: {open_n}");
                assert!(shape.clearance_m(-exit_m, 0.0) > -2e-5 * length_m, "{seed}");
                let lying_m = shape.lying().map_or(0.0, |lying| lying.length_m());
                assert!((0.0..=length_m * (1.0 + 1e-9)).contains(&lying_m), "{seed}: {lying_m}");
            }
            Err(TetherError::TouchesTwice { .. }) => twice += 1,
            Err(TetherError::NotConverged { .. }) => lost += 1,
            // True of a soft line whose drag alone, across all of it, would stretch it so.
            Err(TetherError::Overstretched { .. }) => {
                let dragging = wind.at(height_m);
                let coefficient = line.normal_drag.constant_coefficient().unwrap();
                let drag_n = 0.5
                    * dragging.density_kg_m3
                    * coefficient
                    * line.diameter_m
                    * length_m
                    * dragging.velocity_m_s.norm_squared();
                assert!(drag_n > 0.3 * line.axial_stiffness_n.unwrap(), "{seed}: {drag_n} N");
            }
            Err(other) => panic!("{seed}: {other}"),
        }
    }
    println!("{solved} solved, {lie} of them lie, {twice} touch twice, {lost} not converged");
    assert!(
        lie > 250 && lost * 1000 <= solved,
        "{solved} solved, {lie} lie, {twice} touch twice, {lost} lost"
    );
}
