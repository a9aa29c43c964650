//! Rotors lost.

use beamstay_vehicle::{Arrangement, Failure, Load, RotorSetInputs, RotorsLeft, VehicleError, Verdict};

use crate::fixtures::*;

fn verdicts(set: RotorSetInputs, mass_kg: f64, failure: Failure) -> (Verdict, Verdict) {
    let load = Load::hover(mass_kg).with_external_force([0.0, 0.0, -6.0]);
    let left = aircraft(set).rotor_out(&load, failure, &air(1.225)).unwrap();
    (left.hold.verdict, left.land.verdict)
}

#[test]
fn a_quadrotor_can_only_spin_down() {
    // 25 N a rotor: two of them hold 50 N.
    let (hold, land) = verdicts(plain_set(4, 0.381), 4.0, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::SpinsOnly, Verdict::SpinsOnly));
    let (hold, land) = verdicts(plain_set(4, 0.381), 4.0, Failure::OpposingPair);
    assert_eq!((hold, land), (Verdict::SpinsOnly, Verdict::SpinsOnly));
    // Without the tether it can come down, with it it cannot stay.
    let (hold, land) = verdicts(plain_set(4, 0.381), 4.9, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::Falls, Verdict::SpinsOnly));
    let (hold, land) = verdicts(plain_set(4, 0.381), 6.0, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::Falls, Verdict::Falls));
}

#[test]
fn an_alternating_hexarotor_gives_up_its_heading() {
    let (hold, land) = verdicts(plain_set(6, 0.381), 6.0, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::TurnsSlowly, Verdict::TurnsSlowly));
    let (hold, _) = verdicts(plain_set(6, 0.381), 6.0, Failure::OpposingPair);
    assert_eq!(hold, Verdict::TurnsSlowly);
    let (hold, land) = verdicts(plain_set(6, 0.381), 10.3, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::Falls, Verdict::Falls));
}

#[test]
fn eight_rotors_keep_their_heading() {
    let (hold, land) = verdicts(plain_set(8, 0.381), 8.0, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::KeepsHeading, Verdict::KeepsHeading));
    let paired = RotorSetInputs {
        arrangement: Arrangement::CoaxialPairs { interference: 1.41 },
        ..plain_set(8, 0.381)
    };
    let (hold, land) = verdicts(paired, 8.0, Failure::OneRotor);
    assert_eq!((hold, land), (Verdict::KeepsHeading, Verdict::KeepsHeading));
}

#[test]
fn margins_are_those_of_the_linear_programme() {
    let left = quad().rotor_out(&Load::hover(4.0), Failure::OneRotor, &air(1.225)).unwrap();
    assert_eq!(left.remaining_count, 3);
    assert!((left.hold.available_n - 50.0).abs() < 1e-9);
    assert!((left.hold.margin_ratio - (50.0 / (4.0 * 9.80665) - 1.0)).abs() < 1e-9);
}

#[test]
fn the_verdict_never_improves_with_weight() {
    for count in [4, 5, 6, 8, 12] {
        for failure in [Failure::OneRotor, Failure::OpposingPair] {
            let mut worst = Verdict::KeepsHeading;
            for step in 1..60 {
                let (hold, _) = verdicts(plain_set(count, 0.381), 0.5 * f64::from(step), failure);
                assert!(hold >= worst, "{count} rotors, {step}");
                worst = hold;
            }
            assert_eq!(worst, Verdict::Falls);
        }
    }
}

#[test]
fn what_cannot_be_judged_is_refused() {
    let load = Load::hover(1.0);
    let two = aircraft(plain_set(2, 0.381));
    assert!(matches!(two.rotor_out(&load, Failure::OneRotor, &air(1.225)), Err(VehicleError::OutOfRange(_))));
    let unbounded = aircraft(RotorSetInputs { max_thrust_each_n: None, ..plain_set(4, 0.381) });
    let error = unbounded.rotor_out(&load, Failure::OneRotor, &air(1.225)).unwrap_err();
    assert_eq!(error, VehicleError::ThrustUnknown);
}

#[test]
fn to_land_the_tether_is_let_go_and_its_pull_is_gone() {
    let load = Load::hover(4.0).with_external_force([3.0, 0.0, -10.0]);
    let left = aircraft(plain_set(6, 0.381)).rotor_out(&load, Failure::OneRotor, &air(1.225)).unwrap();
    let alone = aircraft(plain_set(6, 0.381));
    let rotors = RotorsLeft::new(&alone.inputs().rotors, Failure::OneRotor).unwrap();
    let free = alone.held_with(&rotors, &Load::hover(4.0), &air(1.225)).unwrap();
    assert!((left.land.needed_n - free.needed_n).abs() < 1e-9 && left.hold.needed_n > free.needed_n + 9.0);
}
