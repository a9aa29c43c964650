use super::*;
use crate::{OperatingPoint, from_value, limit::LimitCode, limit::LimitRow, load};
use serde_json::{Value, json};

const QUARRY: &str = include_str!("../../../../scenarios/quarry-watch.json");
const BREAKWATER: &str = include_str!("../../../../scenarios/breakwater-lookout.json");
const ROTOR: &str = "/vehicle/multirotor/rotor";
const DRIVE: &str = "/vehicle/multirotor/drive";

fn value(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn set(value: &mut Value, pointer: &str, new: Value) {
    *value.pointer_mut(pointer).unwrap() = new;
}

fn operate(value: &Value) -> Result<OperatingPoint, PlanError> {
    let scenario = from_value(value).unwrap();
    let system = System::new(&scenario)?;
    system.operate(&system.place(&scenario.station)?)
}

fn row(point: &OperatingPoint, code: LimitCode) -> LimitRow {
    *point.limits.iter().find(|row| row.code == code).unwrap_or_else(|| panic!("{code:?}"))
}

fn states(value: &Value) -> RotorStates {
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap();
    rotor_states(&document, &loaded).unwrap().unwrap()
}

/// A slow-flyer propeller, 10 in by 4.7 in (UIUC Propeller Database, some of its stations), as large as the disk it replaces.
fn blades(diameter_m: f64, max_speed_rpm: f64) -> Value {
    let stations: Vec<Value> = [
        (0.15, 0.109, 21.11),
        (0.25, 0.156, 24.65),
        (0.35, 0.193, 22.78),
        (0.45, 0.216, 19.00),
        (0.55, 0.226, 15.33),
        (0.70, 0.210, 11.36),
        (0.85, 0.157, 8.36),
        (0.95, 0.087, 6.15),
        (1.00, 0.042, 5.04),
    ]
    .iter()
    .map(|(r, c, p)| json!({"radius_ratio": r, "chord_ratio": c, "pitch_deg": p}))
    .collect();
    json!({"blade": {
        "diameter_m": diameter_m, "blade_count": 2, "stations": stations, "max_speed_rpm": max_speed_rpm,
    }})
}

#[test]
fn a_table_read_off_a_disk_gives_the_point_of_the_disk() {
    let mut plan = value(BREAKWATER);
    let of_disk = operate(&plan).unwrap();
    let (area_m2, density) = (std::f64::consts::PI * 0.24 * 0.24, 1.1);
    let rows: Vec<Value> = (1..=40)
        .map(|i| {
            let thrust_n = f64::from(i);
            let tip_m_s = (thrust_n / (density * area_m2 * 0.0125)).sqrt();
            let power_w = thrust_n * (thrust_n / (2.0 * density * area_m2)).sqrt() / 0.68;
            json!({"thrust_n": thrust_n, "speed_rpm": tip_m_s / 0.24 * 30.0 / std::f64::consts::PI, "power_w": power_w})
        })
        .collect();
    set(
        &mut plan,
        ROTOR,
        json!({"table": {"diameter_m": 0.48, "air_density_kg_m3": density, "power": "shaft", "rows": rows}}),
    );
    let of_table = operate(&plan).unwrap();
    // The table is interpolated between whole newtons.
    let (disk, table) = (of_disk.vehicle.unwrap(), of_table.vehicle.unwrap());
    assert!((table.shaft_w / disk.shaft_w - 1.0).abs() < 1e-3, "{} {}", table.shaft_w, disk.shaft_w);
    assert!((table.rotor_speed_rpm.unwrap() / disk.rotor_speed_rpm.unwrap() - 1.0).abs() < 1e-3);
    assert!((table.rotor_torque_n_m.unwrap() / disk.rotor_torque_n_m.unwrap() - 1.0).abs() < 2e-3);
    assert!((table.induced_speed_m_s / disk.induced_speed_m_s - 1.0).abs() < 1e-3);
    assert!((table.figure_of_merit.unwrap() / disk.figure_of_merit.unwrap() - 1.0).abs() < 1e-3);
}

#[test]
fn an_electrical_table_gives_its_own_watts_back_whatever_the_drive() {
    let mut plan = value(QUARRY);
    set(&mut plan, "/site/wind/profile/power_law/speed_m_s", json!(0.0));
    let motor = operate(&plan).unwrap().vehicle.unwrap();
    set(&mut plan, DRIVE, json!({"efficiency": {"motor_ratio": 0.8, "controller_ratio": 0.9}}));
    let plain = operate(&plan).unwrap().vehicle.unwrap();
    // The winding of the motor is warmer in flight than the 20 °C that the stand is read at: a little more copper loss.
    assert!((motor.electrical_w / plain.electrical_w - 1.0).abs() < 5e-3, "{motor:?} {plain:?}");
    assert!(
        motor.shaft_w > 1.05 * plain.shaft_w,
        "a better drive leaves more of the same watts at the shaft"
    );
}

#[test]
fn blades_have_a_reserve_in_the_gust_and_say_what_bounds_it() {
    let mut plan = value(BREAKWATER);
    set(&mut plan, ROTOR, blades(0.48, 6000.0));
    plan.pointer_mut("/vehicle/multirotor").unwrap().as_object_mut().unwrap().remove("max_thrust_n");
    let point = operate(&plan).unwrap();
    let gust = point.vehicle_in_gust.unwrap();
    assert_eq!(gust.thrust_bound, Some(ThrustBound::Rotor));
    assert!(
        gust.thrust_reserve_ratio.unwrap() > 1.3 && point.vehicle.unwrap().thrust_reserve_ratio.is_none()
    );
    // Slower blades cannot carry it: the row says how many newtons are missing.
    set(&mut plan, ROTOR, blades(0.48, 2500.0));
    let thrust = row(&operate(&plan).unwrap(), LimitCode::Thrust);
    assert!(!thrust.ok && thrust.unit == "N" && thrust.margin < -1.0, "{thrust:?}");
}

#[test]
fn torque_times_speed_of_the_rotors_is_their_power() {
    let mut plan = value(BREAKWATER);
    set(&mut plan, ROTOR, blades(0.48, 8000.0));
    let vehicle = operate(&plan).unwrap().vehicle.unwrap();
    let (speed_rpm, torque_n_m) = (vehicle.rotor_speed_rpm.unwrap(), vehicle.rotor_torque_n_m.unwrap());
    let turned_w = 4.0 * torque_n_m * speed_rpm * 2.0 * std::f64::consts::PI / 60.0;
    assert!((turned_w / vehicle.shaft_w - 1.0).abs() < 1e-9, "{turned_w} {}", vehicle.shaft_w);
}

#[test]
fn each_limit_of_the_motor_can_bind_the_thrust() {
    let cases = [
        ("bus_v", json!(20.0), ThrustBound::BusVoltage, LimitCode::BusVoltage),
        ("max_current_a", json!(4.5), ThrustBound::MotorCurrent, LimitCode::MotorCurrent),
        (
            "winding",
            json!({"to_air_k_per_w": 20.0, "max_temperature_c": 120.0}),
            ThrustBound::WindingTemperature,
            LimitCode::WindingTemperature,
        ),
    ];
    for (key, new, bound, code) in cases {
        let mut plan = value(QUARRY);
        plan.pointer_mut(&format!("{DRIVE}/motor")).unwrap()[key] = new;
        let point = operate(&plan).unwrap();
        let gust = point.vehicle_in_gust.unwrap();
        assert_eq!(gust.thrust_bound, Some(bound), "{gust:?}");
        let reserve = gust.thrust_reserve_ratio.unwrap();
        assert_eq!(reserve < 1.0, !row(&point, code).ok, "{key}: {reserve} {:?}", row(&point, code));
        // The least bound of the table of bounds is the one that counts.
        let first = states(&plan).thrust_bounds[0];
        assert!(first.bound == bound && (first.reserve_ratio / reserve - 1.0).abs() < 1e-6, "{first:?}");
    }
}

#[test]
fn a_disk_without_a_declared_thrust_is_refused() {
    let mut plan = value(BREAKWATER);
    plan.pointer_mut("/vehicle/multirotor").unwrap().as_object_mut().unwrap().remove("max_thrust_n");
    assert!(matches!(operate(&plan), Err(PlanError::Refused(_))));
}

#[test]
fn a_bad_reading_is_refused_at_its_row() {
    let rows = format!("{ROTOR}/table/rows");
    for (key, new) in [("speed_rpm", 2000.0), ("power_w", 5.0)] {
        let mut plan = value(QUARRY);
        set(&mut plan, &format!("{rows}/3/{key}"), json!(new));
        let Err(PlanError::Refused(fault)) = operate(&plan) else { panic!("{key} is not refused") };
        assert_eq!(fault.pointer, format!("{rows}/3"), "{fault}");
    }
}

#[test]
fn lost_rotors_and_descent_are_held_against_their_limits_where_asked() {
    let mut plan = value(QUARRY);
    let point = operate(&plan).unwrap();
    assert!(row(&point, LimitCode::RotorsLost).ok && row(&point, LimitCode::DescentRate).ok);
    set(&mut plan, "/limits/descent_rate_m_s", json!(2.5));
    // Four rotors less one cannot be held level; they can be spun.
    set(&mut plan, "/vehicle/multirotor/rotor_count", json!(4));
    set(&mut plan, "/vehicle/multirotor/empty_mass_kg", json!(1.6));
    let point = operate(&plan).unwrap();
    assert!(!row(&point, LimitCode::DescentRate).ok);
    assert_eq!(row(&point, LimitCode::RotorsLost).value, 0.0);
    set(&mut plan, "/limits/rotors_lost/control", json!("spinning"));
    assert!(row(&operate(&plan).unwrap(), LimitCode::RotorsLost).ok);
    let mut other = value(include_str!("../../../../scenarios/switchyard-sensor.json"));
    other["limits"]["descent_rate_m_s"] = json!(1.0);
    assert!(matches!(operate(&other), Err(PlanError::Refused(_))));
}

#[test]
fn guard_rings_and_rotor_drag_lean_the_craft_further() {
    let mut plan = value(QUARRY);
    let tilt_deg = |plan: &Value| operate(plan).unwrap().vehicle.unwrap().tilt_deg;
    let ringed_deg = tilt_deg(&plan);
    plan.pointer_mut("/vehicle/multirotor").unwrap().as_object_mut().unwrap().remove("guard_ring");
    let bare_deg = tilt_deg(&plan);
    plan["vehicle"]["multirotor"]["rotor_drag_s_per_m"] = json!(0.0);
    assert!(ringed_deg > bare_deg && bare_deg > tilt_deg(&plan) + 1.0);
}

#[test]
fn states_have_the_order_that_physics_gives_them() {
    let states = states(&value(QUARRY));
    assert!(states.launch.len() == 5 && states.launch.windows(2).all(|w| w[0].demand_w < w[1].demand_w));
    let hover = states.vertical.iter().min_by(|a, b| a.rate_m_s.abs().total_cmp(&b.rate_m_s.abs())).unwrap();
    let ring: Vec<_> = states.vertical.iter().filter(|r| r.state == "vortex_ring").collect();
    assert!(ring.len() > 10);
    for row in ring {
        let rate_m_s = -row.rate_m_s;
        assert!(rate_m_s >= 0.99 * states.descent.vortex_ring_from_m_s, "{row:?}");
        // Never less than hover power of the same thrust, which the drag of the body lowers a little.
        let hover_w = hover.shaft_w * (row.thrust_n / hover.thrust_n).powf(1.5);
        assert!(row.shaft_w >= 0.995 * hover_w, "{row:?} {hover_w}");
    }
    assert!(states.descent.safe_rate_m_s < states.descent.vortex_ring_from_m_s);
    assert!(states.wind.len() > 30 && states.lost.len() == 4);
    for wind in &states.wind {
        let sum = wind.induced_w + wind.profile_w + wind.body_w + wind.tether_and_rotor_drag_w;
        assert!((sum / wind.shaft_w - 1.0).abs() < 1e-9, "{wind:?}");
    }
}

#[test]
fn the_budget_of_a_wing_names_propeller_profile_and_lift() {
    let plan = value(include_str!("../../../../scenarios/free-beam-loiter.json"));
    let point = operate(&plan).unwrap();
    let row =
        |code: &str| point.power.iter().find(|row| row.code == code).unwrap_or_else(|| panic!("{code}"));
    for code in ["drive", "propeller", "profile", "induced"] {
        assert!(row(code).loss_w > 0.0, "{code}");
    }
    assert!((row("induced").out_w).abs() < 1e-9 && point.energy_closure_ratio.unwrap() < 1e-9);
    let ratio = row("propeller").out_w / row("propeller").in_w;
    let declared = plan["vehicle"]["fixed_wing"]["propeller_efficiency_ratio"].as_f64().unwrap();
    assert!((ratio - declared).abs() < 1e-9, "{ratio}");
    let swimmer = operate(&value(include_str!("../../../../scenarios/reservoir-inspector.json"))).unwrap();
    assert!(
        swimmer.power.iter().any(|row| row.code == "induced") && swimmer.energy_closure_ratio.unwrap() < 1e-9
    );
}
