//! What holds for every steady line, whatever the wind: no solver is needed to know it. And the edges whose answer is known.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where something is wrong")]

use beamstay_environment::{
    AirFlow, Atmosphere, Flow, Profile, ProfileShape, UniformFlow, Water, WaterFlow, flow::FlowSample,
};
use beamstay_numerics::quadrature::GaussLegendre;
use beamstay_tether::{
    Catenary, DragCurve, Line, NormalDrag, Options, Shape, TetherError, critical_angle_deg, solve_for_length,
};
use nalgebra::Vector3;
use proptest::prelude::*;

const GRAVITY_M_S2: f64 = 9.806_65;

/// A wind that shears and veers.
fn any_wind() -> impl Strategy<Value = AirFlow> {
    let law = prop_oneof![
        (0.0..25.0f64, 0.0..0.4f64).prop_map(|(speed_m_s, exponent)| ProfileShape::PowerLaw {
            speed_m_s,
            reference_height_m: 10.0,
            exponent
        }),
        (0.0..25.0f64, -3.0..-0.3f64).prop_map(|(speed_m_s, log)| ProfileShape::Logarithmic {
            speed_m_s,
            reference_height_m: 10.0,
            roughness_m: 10f64.powf(log)
        }),
    ];
    (law, -180.0..180.0f64, -0.3..0.3f64, 0.0..2500.0f64).prop_map(
        |(law, direction_deg, veer_deg_per_m, elevation_m)| {
            let profile =
                Profile { direction_deg, veer_deg_per_m, exit_height_m: 0.5, ..Profile::new(law).unwrap() };
            AirFlow::new(Atmosphere::new(elevation_m, 0.0).unwrap(), profile).unwrap()
        },
    )
}

/// A place over or under the drum, and a length from nearly straight to half as long again.
fn any_hang() -> impl Strategy<Value = (Vector3<f64>, f64)> {
    (-80.0..80.0f64, -180.0..180.0f64, 10.0..300.0f64, 0.01..0.5f64).prop_map(
        |(elevation_deg, azimuth_deg, distance_m, slack)| {
            let (e, a) = (f64::to_radians(elevation_deg), f64::to_radians(azimuth_deg));
            let end_m = distance_m * Vector3::new(e.cos() * a.cos(), e.cos() * a.sin(), e.sin());
            (end_m, distance_m * (1.0 + slack))
        },
    )
}

/// Any line; how stiff, and how it rubs, is the test's.
fn any_line(stiff: bool, tangential_coefficient: f64) -> impl Strategy<Value = Line> {
    (-3.0..-1.5f64, 0.001..0.006f64, any::<bool>(), 3.0..6.0f64).prop_map(
        move |(mass_log, diameter_m, white, stiffness_log)| Line {
            mass_kg_per_m: 10f64.powf(mass_log),
            diameter_m,
            buoyancy_area_m2: 0.0,
            axial_stiffness_n: (!stiff).then(|| 10f64.powf(stiffness_log)),
            normal_drag: NormalDrag::new(
                if white { DragCurve::White } else { DragCurve::Constant(1.1) },
                1.0,
            )
            .unwrap(),
            tangential_coefficient,
        },
    )
}

/// As fine as the solver goes, or not at all: a line that one of its own kind cannot carry is no case.
fn solve(line: &Line, flow: &impl Flow, end_m: Vector3<f64>, length_m: f64) -> Option<Shape> {
    let options = Options { relative_tolerance: 1e-10, ..Options::default() };
    solve_for_length(line, flow, end_m, length_m, &options, None).ok()
}

/// Force of weight and flow per unstretched metre by the cross-flow principle, written down here once more.
fn load_n_per_m(line: &Line, sample: &FlowSample, force_n: &Vector3<f64>) -> Vector3<f64> {
    let tangent = force_n.normalize();
    let stretch = 1.0 + line.axial_stiffness_n.map_or(0.0, |ea| force_n.norm() / ea);
    let along = sample.velocity_m_s.dot(&tangent);
    let across = sample.velocity_m_s - along * tangent;
    let reynolds = sample.density_kg_m3 * across.norm() * line.diameter_m / sample.dynamic_viscosity_pa_s;
    let half = 0.5 * sample.density_kg_m3 * line.diameter_m;
    let normal = half * line.normal_drag.coefficient(reynolds) * across.norm() * across;
    let rubbing = half * line.tangential_coefficient * along.abs() * along * tangent;
    let displaced = sample.density_kg_m3 * line.buoyancy_area_m2;
    stretch * (normal + rubbing) - (line.mass_kg_per_m - displaced) * GRAVITY_M_S2 * Vector3::z()
}

/// Sum of the load over the whole line, N, by panels that end where the load is not smooth: where the flow has a kink, and
/// where it turns from along the line to against it.
fn summed_load_n(shape: &Shape, line: &Line, flow: &impl Flow) -> Vector3<f64> {
    let mut ends_m: Vec<f64> = (0..=300).map(|i| shape.paid_out_m() * f64::from(i) / 300.0).collect();
    let along = |s_m: f64| flow.at(shape.point(s_m).z).velocity_m_s.dot(&shape.force_n(s_m));
    let mut splits_m = changes_m(&ends_m, along);
    for kink_m in flow.kink_heights_m() {
        splits_m.extend(changes_m(&ends_m, |s_m| shape.point(s_m).z - kink_m));
    }
    ends_m.extend(splits_m);
    ends_m.sort_by(f64::total_cmp);
    let rule = GaussLegendre::<8>::new();
    let mut sum_n = Vector3::zeros();
    for pair in ends_m.windows(2) {
        for (x, weight) in rule.nodes().iter().zip(rule.weights()) {
            let s_m = 0.5 * (pair[0] + pair[1]) + 0.5 * (pair[1] - pair[0]) * x;
            let load = load_n_per_m(line, &flow.at(shape.point(s_m).z), &shape.force_n(s_m));
            sum_n += 0.5 * (pair[1] - pair[0]) * weight * load;
        }
    }
    sum_n
}

/// Where a function of the length changes sign, by halving.
fn changes_m(ends_m: &[f64], f: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut found_m = Vec::new();
    for pair in ends_m.windows(2) {
        let (mut lo, mut hi) = (pair[0], pair[1]);
        if f(lo) * f(hi) < 0.0 {
            for _ in 0..50 {
                let middle = 0.5 * (lo + hi);
                if f(lo) * f(middle) <= 0.0 { hi = middle } else { lo = middle }
            }
            found_m.push(lo);
        }
    }
    found_m
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, max_global_rejects: 20, ..ProptestConfig::default() })]

    /// Drag square to the line does no work along it: the tension gains weight times height.
    #[test]
    fn prop_i1_tension_gains_weight_times_height(
        wind in any_wind(), (end_m, length_m) in any_hang(), line in any_line(true, 0.0),
    ) {
        let Some(shape) = solve(&line, &wind, end_m, length_m) else { return Err(TestCaseError::reject("none")) };
        let gain_n = line.mass_kg_per_m * GRAVITY_M_S2 * end_m.z;
        let missed_n = shape.top_tension_n() - shape.drum_tension_n() - gain_n;
        prop_assert!(missed_n.abs() < 1e-9 * shape.max_tension().0, "{missed_n} of {}", shape.max_tension().0);
    }

    /// The same of a line that stretches: tension plus energy of the strain.
    #[test]
    fn prop_i2_tension_and_strain_energy_gain_weight_times_height(
        wind in any_wind(), (end_m, length_m) in any_hang(), line in any_line(false, 0.0),
    ) {
        let Some(shape) = solve(&line, &wind, end_m, length_m) else { return Err(TestCaseError::reject("none")) };
        let of = |t: f64| t + 0.5 * t * t / line.axial_stiffness_n.unwrap();
        let gain_n = line.mass_kg_per_m * GRAVITY_M_S2 * end_m.z;
        let missed_n = of(shape.top_tension_n()) - of(shape.drum_tension_n()) - gain_n;
        prop_assert!(missed_n.abs() < 1e-9 * of(shape.max_tension().0), "{missed_n} of {}", shape.max_tension().0);
    }

    /// Without weight and friction the tension is the same everywhere.
    #[test]
    fn prop_i3_a_weightless_line_has_one_tension(
        wind in any_wind(), (end_m, length_m) in any_hang(), line in any_line(true, 0.0), share in 0.0..1.0f64,
    ) {
        let line = Line { mass_kg_per_m: 0.0, ..line };
        let Some(shape) = solve(&line, &wind, end_m, length_m) else { return Err(TestCaseError::reject("none")) };
        let (drum_n, here_n) = (shape.drum_tension_n(), shape.tension_n(share * length_m));
        prop_assert!((shape.top_tension_n() - drum_n).abs() < 1e-9 * drum_n, "{drum_n} {}", shape.top_tension_n());
        prop_assert!((here_n - drum_n).abs() < 1e-9 * drum_n, "{drum_n} {here_n}");
    }

    /// Weight and flow, summed along the shape by a rule of its own from the flow itself, are what both ends hold.
    #[test]
    fn prop_i4_the_ends_hold_the_load(
        wind in any_wind(), (end_m, length_m) in any_hang(), line in any_line(false, 0.03),
    ) {
        let Some(shape) = solve(&line, &wind, end_m, length_m) else { return Err(TestCaseError::reject("none")) };
        let ends_n = shape.force_at_drum_n() + shape.force_on_vehicle_n();
        // The solver's own load closes by its method; the sum made here sees the error between its nodes too, which is asked
        // for in the end forces alone: 4.4e-9 is the worst of 4000 winds.
        let scale_n = shape.max_tension().0;
        prop_assert!((ends_n - shape.load_on_line_n()).norm() < 1e-12 * scale_n);
        let open_n = (ends_n - summed_load_n(&shape, &line, &wind)).norm();
        prop_assert!(open_n < 1e-8 * scale_n, "{open_n} of {scale_n}");
    }
}

fn still_air() -> UniformFlow {
    UniformFlow::new(Atmosphere::new(0.0, 0.0).unwrap().at(0.0), Vector3::zeros()).unwrap()
}

/// 10 g/m, 3 mm, neither stretching nor displacing.
fn plain() -> Line {
    Line {
        mass_kg_per_m: 0.010,
        diameter_m: 0.003,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: None,
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.02,
    }
}

const WEIGHT_N_PER_M: f64 = 0.010 * GRAVITY_M_S2;

/// Drum and vehicle ends of a solved shape against the catenary on paper.
fn assert_is_catenary(line: &Line, span_m: f64, rise_m: f64, length_m: f64, tolerance: f64) {
    let shape = solve(line, &still_air(), Vector3::new(span_m, 0.0, rise_m), length_m).unwrap();
    let paper = Catenary::new(span_m, rise_m, length_m, WEIGHT_N_PER_M, line.axial_stiffness_n).unwrap();
    let (drum_n, top_n) = (paper.start_tension_n(), paper.end_tension_n());
    assert!(
        (shape.drum_tension_n() - drum_n).abs() < tolerance * drum_n,
        "{} {drum_n}",
        shape.drum_tension_n()
    );
    assert!((shape.top_tension_n() - top_n).abs() < tolerance * top_n, "{} {top_n}", shape.top_tension_n());
}

#[test]
fn edge_vehicle_below_the_drum_hangs_in_the_mirrored_catenary() {
    assert_is_catenary(&plain(), 60.0, -40.0, 80.0, 1e-9);
    assert_is_catenary(&Line { axial_stiffness_n: Some(2000.0), ..plain() }, 60.0, -40.0, 72.0, 1e-9);
    // The larger pull is at the drum then, by the weight of the height.
    let shape = solve(&plain(), &still_air(), Vector3::new(60.0, 0.0, -40.0), 80.0).unwrap();
    let gain_n = shape.drum_tension_n() - shape.top_tension_n();
    assert!((gain_n - 40.0 * WEIGHT_N_PER_M).abs() < 1e-9);
}

#[test]
fn edge_calm_air_and_the_vehicle_straight_above() {
    // What is too long hangs down beside the drum, in two equal legs.
    let shape = solve(&plain(), &still_air(), Vector3::new(0.0, 0.0, 100.0), 110.0).unwrap();
    assert!((shape.top_tension_n() - 105.0 * WEIGHT_N_PER_M).abs() < 1e-9);
    assert!((shape.drum_tension_n() - 5.0 * WEIGHT_N_PER_M).abs() < 1e-9);
    assert!((shape.lowest_point().z + 5.0).abs() < 1e-6);
    // One that stretches holds what the stretch gives: T + w z at every height.
    let elastic = Line { axial_stiffness_n: Some(1000.0), ..plain() };
    let shape = solve(&elastic, &still_air(), Vector3::new(0.0, 0.0, 100.0), 99.0).unwrap();
    // 100 = L + ∫ T ds/EA with T = T0 + w s.
    let drum_n = (100.0 - 99.0) / 99.0 * 1000.0 - 0.5 * 99.0 * WEIGHT_N_PER_M;
    assert!((shape.drum_tension_n() - drum_n).abs() < 1e-9 * drum_n, "{} {drum_n}", shape.drum_tension_n());
}

#[test]
fn edge_shorter_than_the_distance() {
    let end_m = Vector3::new(30.0, 0.0, 40.0);
    let options = Options::default();
    let short = solve_for_length(&plain(), &still_air(), end_m, 49.99, &options, None);
    assert_eq!(short, Err(TetherError::TooShort { length_m: 49.99, distance_m: 50.0 }));
    let elastic = Line { axial_stiffness_n: Some(1000.0), ..plain() };
    assert_is_catenary(&elastic, 30.0, 40.0, 49.0, 1e-9);
}

#[test]
fn edge_nearly_straight_and_very_slack() {
    assert_is_catenary(&plain(), 30.0, 40.0, 50.0 * (1.0 + 1e-6), 1e-9);
    assert_is_catenary(&plain(), 30.0, 40.0, 500.0, 1e-9);
    // In wind too: the first integral still tells whether the ends belong together.
    let wind =
        UniformFlow::new(Atmosphere::new(0.0, 0.0).unwrap().at(0.0), Vector3::new(9.0, 2.0, 0.0)).unwrap();
    let line = Line { tangential_coefficient: 0.0, ..plain() };
    for slack in [1e-6, 1e-4, 5.0, 9.0] {
        let shape = solve(&line, &wind, Vector3::new(30.0, 0.0, 40.0), 50.0 * (1.0 + slack)).unwrap();
        let missed_n = shape.top_tension_n() - shape.drum_tension_n() - 40.0 * WEIGHT_N_PER_M;
        assert!(missed_n.abs() < 1e-9 * shape.max_tension().0, "{slack}: {missed_n}");
    }
}

#[test]
fn edge_nothing_fixes_the_tension_of_a_weightless_line_in_calm_air() {
    let line = Line { mass_kg_per_m: 0.0, ..plain() };
    let end_m = Vector3::new(30.0, 0.0, 40.0);
    let slack = solve_for_length(&line, &still_air(), end_m, 60.0, &Options::default(), None);
    assert!(matches!(slack, Err(TetherError::Indeterminate { .. })), "{slack:?}");
    // Stretched it is a spring.
    let spring = Line { axial_stiffness_n: Some(500.0), ..line };
    let shape = solve(&spring, &still_air(), end_m, 49.0).unwrap();
    assert!((shape.drum_tension_n() - 500.0 / 49.0).abs() < 1e-9);
}

/// 5 mm across in sea water.
fn wet(mass_over_displaced_ratio: f64) -> (Line, f64) {
    let density_kg_m3 = Water::sea(10.0).unwrap().fluid(0.0).density_kg_m3;
    let area_m2 = 0.25 * std::f64::consts::PI * 0.005 * 0.005;
    let mass_kg_per_m = mass_over_displaced_ratio * density_kg_m3 * area_m2;
    (Line { mass_kg_per_m, diameter_m: 0.005, buoyancy_area_m2: area_m2, ..plain() }, density_kg_m3)
}

#[test]
fn edge_a_neutrally_buoyant_line_in_water_keeps_its_tension() {
    let (line, _) = wet(1.0);
    let line = Line { tangential_coefficient: 0.0, ..line };
    let current = ProfileShape::SurfaceExponential { surface_speed_m_s: 0.8, decay_depth_m: 30.0 };
    let profile = Profile { veer_deg_per_m: 0.4, ..Profile::new(current).unwrap() };
    let water = WaterFlow::new(Water::sea(10.0).unwrap().fluid(0.0), profile).unwrap();
    let shape = solve(&line, &water, Vector3::new(25.0, 5.0, -40.0), 52.0).unwrap();
    let drum_n = shape.drum_tension_n();
    for share in [0.2, 0.5, 0.9, 1.0] {
        let here_n = shape.tension_n(share * shape.paid_out_m());
        assert!((here_n - drum_n).abs() < 1e-9 * drum_n, "{share}: {here_n} {drum_n}");
    }
}

#[test]
fn edge_a_floating_line_is_a_sinking_one_upside_down() {
    let fluid = Water::sea(10.0).unwrap().fluid(0.0);
    let stream = UniformFlow::new(fluid, Vector3::new(0.6, 0.2, 0.0)).unwrap();
    let ((sinks, _), (floats, _)) = (wet(1.3), wet(0.7));
    let down = solve(&sinks, &stream, Vector3::new(30.0, -4.0, -25.0), 45.0).unwrap();
    let up = solve(&floats, &stream, Vector3::new(30.0, -4.0, 25.0), 45.0).unwrap();
    let mirrored = |v: Vector3<f64>| Vector3::new(v.x, v.y, -v.z);
    let scale_n = down.max_tension().0;
    assert!((down.force_at_drum_n() - mirrored(up.force_at_drum_n())).norm() < 1e-9 * scale_n);
    assert!((down.force_on_vehicle_n() - mirrored(up.force_on_vehicle_n())).norm() < 1e-9 * scale_n);
    assert!((down.point(20.0) - mirrored(up.point(20.0))).norm() < 1e-7);
    // The heavy one pulls hardest at its upper end, the light one at its lower: here both at the drum.
    assert!(down.drum_tension_n() > down.top_tension_n() && up.drum_tension_n() > up.top_tension_n());
}

#[test]
fn edge_a_loose_line_leaves_the_ground_at_the_critical_angle() {
    use beamstay_tether::{Ground, solve_for_length_over_ground};
    let air = Atmosphere::new(0.0, 0.0).unwrap().at(0.0);
    let wind = UniformFlow::new(air, Vector3::new(7.0, 0.0, 0.0)).unwrap();
    let line = Line { tangential_coefficient: 0.0, ..plain() };
    let (ground, end_m) = (Ground::new(0.0, 0.2).unwrap(), Vector3::new(10.0, 0.0, 60.0));
    let options = Options { relative_tolerance: 1e-9, ..Options::default() };
    let shape = solve_for_length_over_ground(&line, &wind, &ground, end_m, 150.0, &options, None).unwrap();
    let lying = shape.lying().unwrap();
    let drag_n_per_m = 0.5 * air.density_kg_m3 * 1.1 * 0.003 * 49.0;
    let angle_deg = critical_angle_deg(WEIGHT_N_PER_M, drag_n_per_m).unwrap();
    // The wind blows it over: it rises against the wind at the angle to the flow of a long line.
    let climb = shape.point(lying.to_m + 0.5) - shape.point(lying.to_m);
    let found_deg = climb.z.atan2(climb.x.abs()).to_degrees();
    assert!((found_deg - angle_deg).abs() < 1e-3, "{found_deg} {angle_deg}");
    // It is straight all the way up, so it touches down where that angle points.
    let touchdown_m = shape.point(lying.to_m);
    let reach_m = 60.0 / angle_deg.to_radians().tan();
    assert!(
        (touchdown_m.x - (10.0 + reach_m)).abs().min((touchdown_m.x - (10.0 - reach_m)).abs()) < 1e-3,
        "{touchdown_m}"
    );
    assert!((shape.paid_out_m() - lying.to_m - 60.0 / angle_deg.to_radians().sin()).abs() < 1e-3);
}
