use super::super::BatterySpec;
use super::*;
use proptest::prelude::*;

fn battery() -> Battery {
    Battery::new(BatterySpec::polymer(800e3, 6)).unwrap()
}

fn any_battery() -> impl Strategy<Value = Battery> {
    (
        (4.0..7.0f64, 1..20u32, 0.0..0.2f64, 0.0..3.0f64),
        (250.0..335.0f64, 0.0..0.5f64, 2.0..3.6f64, 0.5..30.0f64),
        (0.1..5.0f64, 0.5..1.0f64, 0.6..1.0f64),
    )
        .prop_map(
            |((log_j, series, ohm_ah, rise), (temp_k, floor, cutoff, out_c), (in_c, eta, health))| {
                let spec = BatterySpec::polymer(10f64.powf(log_j), series);
                Battery::new(BatterySpec {
                    cell_resistance_ohm: (ohm_ah * 3600.0 / spec.cell_capacity_coulomb).min(10.0),
                    low_charge_rise_ratio: rise,
                    temp_k,
                    floor_ratio: floor,
                    cutoff_v: cutoff,
                    max_discharge_per_h: out_c,
                    max_charge_per_h: in_c,
                    charge_efficiency_ratio: eta,
                    health_ratio: health,
                    ..spec
                })
                .unwrap()
            },
        )
}

#[test]
fn each_argument_is_checked() {
    let battery = battery();
    assert!(battery.discharge(1.01, 10.0).is_err() && battery.discharge(0.5, 0.0).is_err());
    assert!(battery.step(-0.01, 1.0, 1.0).is_err() && battery.step(0.5, f64::NAN, 1.0).is_err());
    assert!(battery.step(0.5, 1.0, -1.0).is_err() && battery.step(0.5, 1.1e9, 1.0).is_err());
    assert!(battery.step(0.5, 1.0, f64::INFINITY).is_err());
}

#[test]
fn nothing_flows_at_rest_or_in_no_time() {
    let battery = battery();
    assert_eq!(battery.step(0.5, 0.0, 1e6).unwrap(), battery.at_rest(0.5));
    let none = battery.step(0.5, 300.0, 0.0).unwrap();
    assert_eq!((none.state_of_charge, none.delivered_j, none.limit), (0.5, 0.0, None));
    assert!(none.voltage_v < battery.open_circuit_v(0.5), "sag shows at once");
}

#[test]
fn at_the_floor_nothing_is_given_and_when_full_nothing_is_taken() {
    let battery = battery();
    let floor = battery.step(0.2, 100.0, 10.0).unwrap();
    assert_eq!((floor.limit, floor.unserved_j), (Some(BatteryLimit::Depth), 1000.0));
    let full = battery.step(1.0, -100.0, 10.0).unwrap();
    assert_eq!((full.limit, full.unserved_j, full.taken_j), (Some(BatteryLimit::Full), 1000.0, 0.0));
}

#[test]
fn charge_rate_and_voltage_throttle() {
    let battery = battery();
    let fast = battery.step(0.5, -1e4, 1.0).unwrap();
    assert_eq!(fast.limit, Some(BatteryLimit::Current));
    let late = battery.step(battery.full_ratio() - 1e-4, -1e4, 0.1).unwrap();
    assert_eq!(late.limit, Some(BatteryLimit::Voltage));
    assert!(late.voltage_v <= battery.open_circuit_v(1.0) * (1.0 + 1e-12));
    let cold = Battery::new(BatterySpec { temp_k: 272.0, ..battery.spec().clone() }).unwrap();
    assert_eq!(cold.step(0.5, -10.0, 1.0).unwrap().limit, Some(BatteryLimit::Temperature));
}

#[test]
fn a_long_charge_ends_full_and_a_long_discharge_at_the_floor() {
    let battery = battery();
    let full = battery.step(0.3, -200.0, 1e6).unwrap();
    assert_eq!((full.state_of_charge, full.limit), (battery.full_ratio(), Some(BatteryLimit::Full)));
    let empty = battery.step(1.0, 200.0, 1e6).unwrap();
    assert_eq!((empty.state_of_charge, empty.limit), (0.2, Some(BatteryLimit::Depth)));
    assert!((empty.delivered_j + empty.unserved_j - 2e8).abs() < 1e-3);
}

#[test]
fn many_small_steps_are_one_large_step() {
    let battery = battery();
    let once = battery.step(0.95, 500.0, 600.0).unwrap();
    let mut s = 0.95;
    for _ in 0..600 {
        s = battery.step(s, 500.0, 1.0).unwrap().state_of_charge;
    }
    assert!((s - once.state_of_charge).abs() < 1e-9, "{s} {}", once.state_of_charge);
}

proptest! {
    #[test]
    fn prop_energy_closes(
        battery in any_battery(), s in 0.0..=1.0f64, c_rate in -3.0..20.0f64, duration_s in 0.0..7200.0f64
    ) {
        let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
        let step = battery.step(s, power_w, duration_s).unwrap();
        let scale_j = step.stored_change_j.abs().max(step.taken_j).max(1e-9);
        let gap_j = step.delivered_j - step.taken_j + step.loss_j + step.stored_change_j;
        prop_assert!(gap_j.abs() <= 1e-12 * scale_j, "{gap_j} {step:?}");
        prop_assert!(step.loss_j >= -1e-12 * scale_j, "{step:?}");
        let stored_j = battery.stored_j(step.state_of_charge) - battery.stored_j(s);
        prop_assert!((stored_j - step.stored_change_j).abs() <= 1e-8 * battery.stored_j(1.0));
        let asked_j = power_w.abs() * duration_s;
        let seen_j = step.delivered_j + step.taken_j + step.unserved_j;
        prop_assert!((seen_j - asked_j).abs() <= 1e-9 * asked_j.max(1.0), "{seen_j} {asked_j} {step:?}");
        prop_assert!((0.0..=1.0).contains(&step.state_of_charge));
    }

    #[test]
    fn prop_a_round_trip_never_gains(
        battery in any_battery(), s in 0.3..0.9f64, c_rate in 0.05..0.9f64, duration_s in 1.0..1000.0f64
    ) {
        let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
        let up = battery.step(s, -power_w, duration_s).unwrap();
        let surplus = up.state_of_charge;
        let down = battery.discharge(surplus, power_w).unwrap();
        let before = battery.discharge(s, power_w).unwrap();
        prop_assert!(down.delivered_j - before.delivered_j <= up.taken_j * (1.0 + 1e-9));
    }

    #[test]
    fn prop_rungs_worked_out_beforehand_give_what_panels_give(battery in any_battery(), c_rate in 0.05..20.0f64) {
        let direction = Direction::Out(c_rate * battery.stored_j(1.0) / 3600.0);
        // Both for as long as it lasts: the first panel by panel, the second down the rungs.
        let [panels, rungs] = [1e300, f64::MAX].map(|s| battery.march(direction, battery.full_ratio(), s));
        prop_assert_eq!((panels.end, panels.limit), (rungs.end, rungs.limit));
        let off = |a: f64, b: f64| (a - b).abs() / a.max(f64::MIN_POSITIVE);
        prop_assert!(off(panels.flow.time_s, rungs.flow.time_s) < 1e-14);
        prop_assert!(off(panels.flow.terminal_j, rungs.flow.terminal_j) < 1e-14);
        prop_assert!(off(panels.flow.chemical_j, rungs.flow.chemical_j) < 1e-14);
    }

    #[test]
    fn prop_more_power_lasts_shorter_and_gives_less(battery in any_battery(), c_rate in 0.05..5.0f64) {
        let power_w = c_rate * battery.stored_j(1.0) / 3600.0;
        let slow = battery.discharge(1.0, power_w).unwrap();
        let fast = battery.discharge(1.0, 1.1 * power_w).unwrap();
        prop_assert!(fast.duration_s <= slow.duration_s && fast.delivered_j <= slow.delivered_j * (1.0 + 1e-12));
        prop_assert!(slow.delivered_j <= battery.stored_j(1.0));
    }

    #[test]
    fn prop_hostile_steps_never_panic(battery in any_battery(), bits in any::<[u64; 3]>()) {
        let [s, power_w, duration_s] = bits.map(f64::from_bits);
        let _ = battery.step(s, power_w, duration_s);
        let s = s.abs().fract();
        if let Ok(step) = battery.step(if s.is_finite() { s } else { 0.5 }, power_w, duration_s) {
            for number in [step.state_of_charge, step.delivered_j, step.taken_j, step.unserved_j, step.loss_j,
                step.stored_change_j, step.voltage_v, step.current_a] {
                prop_assert!(number.is_finite(), "{step:?}");
            }
        }
        let _ = battery.discharge(0.9, power_w);
        prop_assert!(battery.max_discharge_w(s).is_finite() && battery.max_charge_w(s).is_finite());
    }
}
