//! What must hold whatever the numbers: closure, sign and monotony.

use beamstay_rotor::Regime;
use beamstay_vehicle::{
    Arrangement, DescentPlan, FixedLoad, GuardRing, Load, Multirotor, MultirotorInputs, Orbit,
    RotorSetInputs, Vehicle, VehicleError, WingLoad,
};

use crate::fixtures::*;

#[test]
fn the_wind_is_one_of_the_powers() {
    let load = Load::hover(5.0).with_wind([11.0, -3.0, 0.5]).with_external_force([6.0, 1.0, -15.0]);
    let trim = quad().trim(&load, &air(1.2)).unwrap();
    assert!((trim.induced_w + trim.profile_w + trim.axial_w - trim.shaft_w).abs() <= 1e-12 * trim.shaft_w);
    let from_vectors_w = -trim.thrust_vector_n.dot(&load.relative_wind_m_s());
    assert!((trim.axial_w - from_vectors_w).abs() <= 1e-12 * trim.shaft_w);
    let mut sum_n = trim.thrust_vector_n + trim.body_drag_n + trim.rotor_drag_n + load.external_force_n;
    sum_n.z -= load.weight_n();
    assert!(sum_n.norm() <= 1e-12 * trim.thrust_n);
}

#[test]
fn leaning_downwind_on_a_tether_is_told_to_be_windmilling() {
    // The tether pulls upwind harder than the wind pushes the body: the rotors lean with the wind.
    let load = Load::hover(5.0).with_wind([14.0, 0.0, 0.0]).with_external_force([-20.0, 0.0, -10.0]);
    let trim = quad().trim(&load, &air(1.2)).unwrap();
    assert!(trim.axial_inflow_m_s < 0.0 && trim.axial_w < 0.0 && trim.is_windmilling());
    assert!(trim.azimuth_deg.abs() < 1e-9);
    let upwind = Load::hover(5.0).with_wind([14.0, 0.0, 0.0]).with_external_force([5.0, 0.0, -10.0]);
    assert!(!quad().trim(&upwind, &air(1.2)).unwrap().is_windmilling());
}

#[test]
fn wind_helps_then_hurts() {
    let demand_w = |wind_m_s: f64| {
        quad().trim(&Load::hover(5.0).with_wind([wind_m_s, 0.0, 0.0]), &air(1.225)).unwrap().demand_w
    };
    assert!(demand_w(6.0) < 0.95 * demand_w(0.0));
    assert!(demand_w(18.0) > demand_w(10.0));
}

#[test]
fn thin_air_costs_the_square_root() {
    let demand_w = |density| quad().trim(&Load::hover(5.0), &air(density)).unwrap().electrical_w;
    assert!((demand_w(1.0) / demand_w(1.21) - 1.1).abs() < 1e-12);
}

#[test]
fn coaxial_pairs_cost_more_than_free_rotors_and_less_than_half_the_disks() {
    let eight = plain_set(8, 0.381);
    let paired =
        RotorSetInputs { arrangement: Arrangement::CoaxialPairs { interference: 1.28 }, ..eight.clone() };
    let demand_w =
        |set: RotorSetInputs| aircraft(set).trim(&Load::hover(7.0), &air(1.225)).unwrap().induced_w;
    let (free_w, pair_w, half_w) = (demand_w(eight), demand_w(paired), demand_w(plain_set(4, 0.381)));
    assert!((pair_w / free_w - 1.28).abs() < 1e-12);
    assert!(pair_w < half_w);
}

#[test]
fn guard_rings_cost_drag() {
    let ring = GuardRing { diameter_m: 0.42, height_m: 0.02, width_m: 0.02, drag_coefficient: 1.2 };
    let guarded =
        Multirotor::new(MultirotorInputs { guard_ring: Some(ring), ..inputs(plain_set(4, 0.381)) }).unwrap();
    assert!(
        (guarded.drag_area_m2(0.0) - quad().drag_area_m2(0.0) - 4.0 * 1.2 * 2.0 * 0.42 * 0.02).abs() < 1e-12
    );
    let load = Load::hover(5.0).with_wind([8.0, 0.0, 0.0]);
    let (with, without) =
        (guarded.trim(&load, &air(1.225)).unwrap(), quad().trim(&load, &air(1.225)).unwrap());
    assert!(with.tilt_deg > without.tilt_deg && with.demand_w > without.demand_w);
}

#[test]
fn force_of_the_rotors_in_their_plane_leans_the_aircraft_further() {
    let dragging =
        Multirotor::new(MultirotorInputs { rotor_drag_s_per_m: 0.003, ..inputs(plain_set(4, 0.381)) })
            .unwrap();
    let load = Load::hover(5.0).with_wind([10.0, 0.0, 0.0]);
    let (with, without) =
        (dragging.trim(&load, &air(1.225)).unwrap(), quad().trim(&load, &air(1.225)).unwrap());
    // 0.003 s/m × 10 m/s is 3 % of the thrust: 1.7°.
    assert!((with.tilt_deg - without.tilt_deg - 1.7).abs() < 0.15, "{} {}", with.tilt_deg, without.tilt_deg);
    assert!((with.rotor_drag_n.norm() / with.thrust_n / with.edgewise_m_s - 0.003).abs() < 1e-12);
    assert!(with.rotor_drag_n.dot(&with.thrust_vector_n).abs() < 1e-9);
}

#[test]
fn the_ground_helps_at_launch_only() {
    let free = quad().trim(&Load::hover(5.0), &air(1.225)).unwrap();
    let low = quad().hover_over_ground(5.0, 0.2, &air(1.225)).unwrap();
    let lower = quad().hover_over_ground(5.0, 0.0, &air(1.225)).unwrap();
    let high = quad().hover_over_ground(5.0, 1e5, &air(1.225)).unwrap();
    assert!(lower.demand_w < low.demand_w && low.demand_w < free.demand_w);
    assert!((high.demand_w / free.demand_w - 1.0).abs() < 1e-9);
    assert!(quad().hover_over_ground(5.0, -0.1, &air(1.225)).is_err());
}

#[test]
fn descent_is_never_planned_cheaper_than_hover() {
    let load = Load::hover(5.0);
    let hover_w = quad().trim(&load, &air(1.225)).unwrap().demand_w;
    for rate in 0..=40 {
        let descent = quad().descend(&load, 0.25 * f64::from(rate), &air(1.225)).unwrap();
        assert!(descent.planning_w >= hover_w);
        let (from, to) = (descent.vortex_ring_from_ratio.unwrap(), descent.vortex_ring_to_ratio.unwrap());
        assert_eq!(descent.in_vortex_ring, (from..=to).contains(&descent.descent_ratio));
        assert_eq!(descent.in_vortex_ring, descent.trim.regime == Regime::VortexRing, "{descent:?}");
    }
    assert_eq!(quad().descend(&load, 0.0, &air(1.225)).unwrap().energy_j(100.0), None);
}

#[test]
fn fastest_descent_stays_out_of_the_ring_in_any_wind() {
    for wind_m_s in [0.0, 3.0, 6.0, 10.0] {
        let load = Load::hover(5.0).with_wind([wind_m_s, 0.0, 0.0]).with_external_force([0.0, 0.0, -10.0]);
        let descent = quad().fastest_safe_descent(&load, &DescentPlan::default(), &air(1.225)).unwrap();
        assert!(!descent.in_vortex_ring);
        assert!(descent.rate_m_s <= 0.8 * descent.calm_limit_m_s + 1e-12);
        // The tether does not raise the limit: it may go slack.
        assert!((descent.rate_m_s - 0.8 * 0.45 * 6.62464).abs() < 1e-4);
    }
    let slow = DescentPlan { max_rate_m_s: 1.0, ..DescentPlan::default() };
    let descent = quad().fastest_safe_descent(&Load::hover(5.0), &slow, &air(1.225)).unwrap();
    assert!((descent.rate_m_s - 1.0).abs() < 1e-15);
}

#[test]
fn wake_slows_in_descent_and_doubles_below_a_hovering_rotor() {
    let hover = quad().trim(&Load::hover(5.0), &air(1.225)).unwrap();
    assert!((hover.wake_developed_m_s / hover.wake_at_disk_m_s - 2.0).abs() < 1e-12);
    let sinking = quad().descend(&Load::hover(5.0), 2.0, &air(1.225)).unwrap().trim;
    assert!(sinking.wake_at_disk_m_s < hover.wake_at_disk_m_s);
}

#[test]
fn wing_in_a_wind_flies_the_circle_slower_and_at_more_bank() {
    let load = WingLoad::free(5.0);
    let round =
        |wind_m_s| wing().loiter(&load, &Orbit { radius_m: 100.0, wind_m_s }, 16.0, &air(1.225)).unwrap();
    let (calm, windy) = (round(0.0), round(5.0));
    assert!((calm.period_s - std::f64::consts::TAU * 100.0 / 16.0).abs() < 1e-9);
    assert!((calm.mean_demand_w - calm.largest_demand_w).abs() < 1e-9);
    assert!(windy.period_s > calm.period_s && windy.largest_bank_deg > calm.largest_bank_deg);
    assert!((windy.least_ground_speed_m_s - 11.0).abs() < 1e-12);
    assert!((windy.largest_ground_speed_m_s - 21.0).abs() < 1e-12);
    assert!(windy.largest_demand_w > windy.mean_demand_w);
}

#[test]
fn best_loiter_is_a_minimum() {
    let load = WingLoad::free(5.0);
    let orbit = Orbit { radius_m: 150.0, wind_m_s: 3.0 };
    let best = wing().best_loiter(&load, &orbit, &air(1.225)).unwrap();
    for change in [-0.2, 0.2] {
        if let Ok(other) = wing().loiter(&load, &orbit, best.airspeed_m_s + change, &air(1.225)) {
            assert!(other.mean_demand_w >= best.mean_demand_w);
        }
    }
}

#[test]
fn a_wing_on_rotors_climbs_with_what_the_propeller_has_left() {
    let set = RotorSetInputs { max_thrust_each_n: Some(30.0), ..plain_set(1, 0.4) };
    let propelled = beamstay_vehicle::FixedWing::new(beamstay_vehicle::FixedWingInputs {
        propulsion: beamstay_vehicle::Propulsion::Rotors(Box::new(
            beamstay_vehicle::RotorSet::new(set).unwrap(),
        )),
        ..wing_inputs()
    })
    .unwrap();
    let load = WingLoad::free(5.0);
    let level = propelled.level(&load, 16.0, &air(1.225)).unwrap();
    let climb_m_s = propelled.climb_rate_m_s(&load, 16.0, &air(1.225)).unwrap().unwrap();
    assert!((climb_m_s - (30.0 - level.thrust_n) * 16.0 / (5.0 * 9.80665)).abs() < 1e-9);
    // A propeller is less than perfect: shaft power above thrust × airspeed.
    assert!(level.shaft_w > level.propulsive_w);
}

#[test]
fn submarine_weathervanes_and_pushes_down_against_buoyancy() {
    let load = Load::hover(60.0).with_wind([0.8, 0.0, 0.0]);
    let trim = submarine().trim(&load, &sea()).unwrap();
    assert!((trim.heading_deg.abs() - 180.0).abs() < 1e-9);
    let drag_n = 0.5 * 1025.976 * 0.06 * 0.64;
    assert!((trim.surge_thrust_n - drag_n).abs() < 1e-9);
    assert!(trim.net_buoyancy_n > 0.0 && (trim.heave_thrust_n + trim.net_buoyancy_n).abs() < 1e-9);
    assert!(trim.force_residual_n < 1e-9);
    assert!((trim.demand_w - trim.electrical_w - 40.0).abs() < 1e-9);
}

#[test]
fn one_entry_gives_the_same_as_each_kind() {
    let load = Load::hover(5.0).with_wind([6.0, 0.0, 0.0]).with_external_force([2.0, 0.0, -8.0]);
    let hovering = Vehicle::Multirotor(quad());
    let summary = hovering.operate(&load, &air(1.225)).unwrap();
    assert!((summary.demand_w - quad().trim(&load, &air(1.225)).unwrap().demand_w).abs() < 1e-12);
    assert!((hovering.empty_mass_kg() - 3.0).abs() < 1e-15);

    let circling = Vehicle::FixedWing { wing: wing(), orbit_radius_m: 100.0, airspeed_m_s: None };
    let summary = circling.operate(&load, &air(1.225)).unwrap();
    assert!(summary.peak_demand_w > summary.demand_w && summary.lean_deg > 0.0);
    let fixed = Vehicle::FixedWing { wing: wing(), orbit_radius_m: 100.0, airspeed_m_s: Some(17.0) };
    assert!(fixed.operate(&load, &air(1.225)).unwrap().demand_w >= summary.demand_w);

    let swimming = Vehicle::Underwater(submarine());
    let current = Load::hover(60.0).with_wind([0.5, 0.0, 0.0]);
    assert!(swimming.operate(&current, &sea()).unwrap().demand_w > 40.0);
    let standing = Vehicle::FixedLoad(FixedLoad::new(55.0, 24.0).unwrap());
    assert!((standing.operate(&load, &air(1.225)).unwrap().demand_w - 55.0).abs() < 1e-12);
}

/// A search takes slopes over 1e-5 of a range: an airspeed near its limit by the tolerance of a minimum would drown them.
#[test]
fn a_wing_that_is_cheapest_at_its_stall_margin_flies_on_it_to_rounding() {
    let on_the_limit = |radius_m: f64| {
        let best = wing()
            .best_loiter(&WingLoad::free(5.0), &Orbit { radius_m, wind_m_s: 4.0 }, &air(1.225))
            .unwrap();
        best.least_stall_ratio / wing_inputs().stall_margin_ratio - 1.0
    };
    for step in 0..20 {
        let off_ratio = on_the_limit(200.0 + f64::from(step));
        assert!((0.0..3e-12).contains(&off_ratio), "{off_ratio:e}");
    }
}

#[test]
fn best_loiter_is_that_of_a_plain_scan_over_every_airspeed() {
    for (radius_m, wind_m_s, mass_kg) in
        [(40.0, 0.0, 5.0), (60.0, 4.0, 5.0), (120.0, 9.0, 5.0), (300.0, 12.0, 7.0), (25.0, 3.0, 4.5)]
    {
        let (load, orbit) = (WingLoad::free(mass_kg), Orbit { radius_m, wind_m_s });
        let best = wing().best_loiter(&load, &orbit, &air(1.1));
        let scanned = (0..4000)
            .filter_map(|i| wing().loiter(&load, &orbit, 5.0 + 0.01 * f64::from(i), &air(1.1)).ok())
            .map(|loiter| loiter.mean_demand_w)
            .fold(f64::INFINITY, f64::min);
        match best {
            Ok(best) => assert!(best.mean_demand_w <= scanned * (1.0 + 1e-4), "{best:?} {scanned}"),
            Err(error) => assert!(scanned.is_infinite(), "{error} where a scan finds {scanned} W"),
        }
    }
}

#[test]
fn a_tether_that_pulls_back_asks_its_pull_more_of_the_propeller_and_holds_the_turn_when_it_pulls_inward() {
    let orbit = Orbit { radius_m: 120.0, wind_m_s: 0.0 };
    let thrust_n = |load: WingLoad| {
        let flown = wing().loiter_beyond_limits(&load, &orbit, 18.0, &air(1.2)).unwrap();
        (flown.largest_thrust_n, flown.largest_bank_deg)
    };
    let free = thrust_n(WingLoad::free(5.0));
    let pulled = thrust_n(WingLoad { pull_back_n: 2.0, ..WingLoad::free(5.0) });
    assert!(
        (pulled.0 - free.0 - 2.0).abs() < 1e-9 && (pulled.1 - free.1).abs() < 1e-9,
        "{pulled:?} {free:?}"
    );
    let centripetal_n = 5.0 * 18.0 * 18.0 / 120.0;
    let held = thrust_n(WingLoad { pull_inward_n: centripetal_n, ..WingLoad::free(5.0) });
    assert!(held.1.abs() < 1e-6, "no bank is needed: {}", held.1);
}

#[test]
fn without_a_thruster_any_thrust_is_beyond_bounds() {
    let error = VehicleError::NoThruster { needed_n: 3.0, direction: "vertical" };
    assert_eq!(error.overload_ratio(), Some(f64::INFINITY));
}
