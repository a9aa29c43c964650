use serde_json::{Value, json};

use super::*;
use crate::{limit::LimitCode, load};

fn scenario(name: &str) -> Value {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn loaded(value: &Value) -> (Document, Loaded) {
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap_or_else(|faults| panic!("{faults:?}"));
    (document, loaded)
}

fn report(value: &Value, series: Option<&WeatherSeries>) -> EnduranceReport {
    let (document, loaded) = loaded(value);
    endurance_report(&document, &loaded, series).unwrap()
}

/// Days of hourly wind with gusts, a gap and a storm.
fn record() -> WeatherSeries {
    let mut text = String::from("time,wind_m_s,wind_gust_m_s,temperature_c\n");
    for hour in 0..240u32 {
        let wind = match hour {
            60..=64 => 17.0 + f64::from(hour - 60),
            _ => 5.0 + 3.0 * (f64::from(hour) * 0.26).sin(),
        };
        let gust = if hour % 7 == 0 { format!("{:.2}", 1.6 * wind) } else { String::new() };
        if (100..104).contains(&hour) {
            continue;
        }
        let (day, of_day) = (1 + hour / 24, hour % 24);
        text.push_str(&format!(
            "2024-03-{day:02}T{of_day:02}:00Z,{wind:.3},{gust},{:.1}\n",
            5.0 + f64::from(of_day)
        ));
    }
    WeatherSeries::from_csv_str(&text).unwrap()
}

fn with_file(name: &str) -> Value {
    let mut value = scenario(name);
    value["site"]["weather"] = json!({ "file": { "path": "record.csv" } });
    value
}

#[test]
fn every_hour_is_accounted_for_and_energy_closes() {
    let report = report(&with_file("breakwater-lookout"), Some(&record()));
    let totals = &report.totals;
    assert!((totals.known_h() + totals.gap_h - 240.0).abs() < 1e-6, "{totals:?}");
    assert!((totals.gap_h - 4.0).abs() < 1e-12, "gaps are gaps");
    // What the vehicle draws comes from the delivery less charging, and from the battery.
    let charged_in_flight_wh = totals.delivered_wh + totals.battery_out_wh - totals.demand_wh;
    assert!(charged_in_flight_wh >= -1e-6 * totals.demand_wh);
    assert!(charged_in_flight_wh <= totals.battery_in_wh + 1e-6 * totals.demand_wh);
    let by_rows: f64 = report.rows.iter().map(|row| row.on_station_s).sum();
    assert!((by_rows / 3600.0 - totals.on_station_h).abs() < 1e-6);
    let by_stays: f64 = report.all_stays.iter().map(|stay| stay.duration_h).sum();
    assert!((by_stays - totals.on_station_h).abs() < 1e-6, "{by_stays} {}", totals.on_station_h);
    assert!(totals.forced_down_count >= 1, "the storm forces it down");
    let kept_h: f64 = report.kept_down_by.iter().map(|row| row.duration_h).sum();
    assert!(
        (kept_h - totals.waiting_weather_h - totals.waiting_charge_h).abs() < 1e-6,
        "{kept_h} {totals:?}"
    );
    assert!(report.kept_down_by.iter().any(|row| matches!(row.kept_down_by, KeptDown::Limit(_))));
    assert!(report.ended_by.iter().any(|row| matches!(row.ended_by, StayEnd::Limit(_))));
    assert!(report.ended_by.iter().any(|row| row.ended_by == StayEnd::Gap));
}

#[test]
fn two_runs_that_hand_over_the_battery_are_one() {
    for name in ["breakwater-lookout", "beam-hover", "beam-recharge"] {
        let (_, loaded) = loaded(&with_file(name));
        let series = record();
        let prepared = Prepared::new(&loaded.scenario, Some(&series)).unwrap();
        let simulator = prepared.simulator(&loaded.scenario).unwrap();
        let mets: Vec<_> = prepared.hours.hours.iter().map(|hour| hour.met).collect();
        let (whole, end) = simulator.fly(&mets, &simulator.begin(), true).unwrap();
        for cut in [1, 37, 61, 102, 180] {
            let (first, between) = simulator.fly(&mets[..cut], &simulator.begin(), false).unwrap();
            let (second, end_of_two) = simulator.fly(&mets[cut..], &between, true).unwrap();
            assert_eq!(end, end_of_two, "{name} {cut}");
            let stays: Vec<Stay> = first.stays.iter().chain(&second.stays).copied().collect();
            assert_eq!(whole.stays, stays, "{name} {cut}");
            let rows: Vec<HourRow> = first.rows.iter().chain(&second.rows).copied().collect();
            assert_eq!(whole.rows.len(), rows.len());
            for (a, b) in whole.rows.iter().zip(&rows) {
                assert_eq!(
                    (a.charge_ratio, a.on_station_s),
                    (b.charge_ratio, b.on_station_s),
                    "{name} {cut}"
                );
                assert!((a.wall_w - b.wall_w).abs() <= 1e-9 * a.wall_w.abs());
            }
            let sum = first.totals.wall_wh + second.totals.wall_wh;
            assert!((whole.totals.wall_wh - sum).abs() <= 1e-9 * sum);
        }
    }
}

#[test]
fn common_practice_five_minute_battery_over_a_free_beam_stays_up_more_than_twelve_hours() {
    // Common practice, no source.
    let mut value = scenario("beam-hover");
    value["site"]["weather"] = json!({ "constant": { "duration_h": 24.0 } });
    let (_, first) = loaded(&value);
    let system = System::new(&first.scenario).unwrap();
    let point = system.operate(&system.place(&first.scenario.station).unwrap()).unwrap();
    // Capacity for five minutes of this demand, resistance in proportion.
    let capacity_ah = 6.0 * 5.0 / point.battery_min.unwrap();
    value["battery"]["capacity_ah"] = json!(capacity_ah);
    value["battery"]["cell_resistance_mohm"] = json!(3.0 * 6.0 / capacity_ah);
    value["battery"]["max_c_rate_count"] = json!(30.0);
    let report = report(&value, None);
    assert!(report.stays.longest_h > 12.0, "{:?}", report.stays);
}

#[test]
fn without_supply_the_battery_sets_the_stays() {
    let mut value = scenario("beam-hover");
    value["delivery"] = json!({ "none": {} });
    value.as_object_mut().unwrap().remove("receiver");
    value["ground"].as_object_mut().unwrap().remove("laser");
    value["operations"] = json!({ "launch_margin_ratio": 0.0 });
    let report = report(&value, None);
    assert!(report.stays.longest_h < 1.0 && report.stays.count > 3, "{:?}", report.stays);
    assert!(report.totals.waiting_charge_h > report.totals.on_station_h, "it charges longer than it flies");
    assert!(report.all_stays.iter().any(|stay| stay.ended_by == StayEnd::Battery));
}

#[test]
fn a_receiver_that_replaces_part_of_the_battery_lengthens_the_stays() {
    // No payload is touched: the same craft, its laser turned down until the light carries only part of the demand.
    let mut value = scenario("beam-hover");
    value["ground"]["laser"]["rated_w"] = json!(900.0);
    value["operations"] = json!({ "launches_on_deficit": true, "launch_margin_ratio": 0.0 });
    let with_light = report(&value, None);
    value["ground"]["laser"]["rated_w"] = json!(100.0);
    let nearly_without = report(&value, None);
    assert!(
        with_light.stays.longest_h > 1.3 * nearly_without.stays.longest_h,
        "{:?} {:?}",
        with_light.stays,
        nearly_without.stays
    );
    value["operations"]["launches_on_deficit"] = json!(false);
    assert!(!report(&value, None).flies(), "by default it waits for a supply that carries it");
}

#[test]
fn a_blank_gust_is_not_calm() {
    let mut value = with_file("breakwater-lookout");
    value["site"]["wind"]["gust"] = json!({ "factor": { "ratio": 1.6 } });
    let strong = "time,wind_m_s,wind_gust_m_s\n2024-01-01T00:00Z,10,\n2024-01-01T01:00Z,10,10\n";
    let series = WeatherSeries::from_csv_str(strong).unwrap();
    let report = report(&value, Some(&series));
    assert!(report.rows[0].gust_m_s.unwrap() > 15.9 && report.rows[1].gust_m_s.unwrap() < 10.1);
}

#[test]
fn recorded_gusts_and_gaps_are_counted() {
    let record = report(&with_file("breakwater-lookout"), Some(&record())).record;
    // Every seventh of 240 hours has a gust; four others are missing.
    assert_eq!((record.hours_count, record.gusts_count, record.gaps_count), (240, 35, 4));
    assert!((record.strongest_mean_m_s - 21.0).abs() < 1e-9);
}

#[test]
fn a_limit_that_is_met_exactly_holds() {
    let mut value = with_file("breakwater-lookout");
    value["delivery"]["fiber"]["total_length_m"] = json!(103.0);
    value["station"]["winch"] = json!({ "paid_out": { "paid_out_m": 103.0 } });
    let (_, loaded) = loaded(&value);
    let prepared = Prepared::new(&loaded.scenario, Some(&record())).unwrap();
    let met = curve::Met { wind_m_s: 7.0, excess_m_s: 1.0, offset_k: 0.0 };
    assert_eq!(prepared.curve.broken(met), None);
}

/// A point computed by itself: powers, and the limits in the gust.
fn direct(scenario: &Scenario, curve: &Curve, met: curve::Met) -> crate::point::OperatingPoint {
    let mut warmer = scenario.clone();
    warmer.site.temperature_offset_k = met.offset_k;
    let mut system = System::new(&warmer).unwrap();
    let place = system.place(&warmer.station).unwrap();
    let ratio = curve.reference_ratio();
    system.surroundings = system
        .surroundings
        .with_winds(ratio * met.wind_m_s, ratio * (met.wind_m_s + met.excess_m_s))
        .unwrap();
    system.operate(&place).unwrap()
}

/// Weather spread evenly over the range of a record (Weyl's sequence).
fn spread(prepared: &Prepared, count: u32) -> impl Iterator<Item = curve::Met> {
    let (most, coldest_k) = prepared.hours.extremes();
    let part = |i: u32, step: f64| (0.5 + step * f64::from(i)).fract();
    (0..count).map(move |i| curve::Met {
        wind_m_s: 14.0 * part(i, 0.819_172_513),
        excess_m_s: 8.0 * part(i, 0.671_043_607),
        offset_k: coldest_k + (most.offset_k - coldest_k) * part(i, 0.549_700_478),
    })
}

#[test]
fn the_curve_agrees_with_points_computed_one_by_one() {
    // Between two winds a straight line misses by 0.2 % at most, between two temperatures by 0.4 %; demand has no kinks.
    for name in ["breakwater-year", "beam-hover", "switchyard-sensor"] {
        let (_, loaded) = loaded(&with_file(name));
        let series = record();
        let prepared = Prepared::new(&loaded.scenario, Some(&series)).unwrap();
        let mut held_count = 0;
        for met in spread(&prepared, 150) {
            let met = curve::Met { excess_m_s: 0.0, ..met };
            let point = direct(&loaded.scenario, &prepared.curve, met);
            let (Some(demand_w), Some(available_w), Some(wall_w)) =
                (point.demand_w, point.available_w, point.wall_w)
            else {
                continue;
            };
            if available_w < 0.75 * demand_w {
                continue;
            }
            held_count += 1;
            let curve = prepared.curve.powers(met.wind_m_s, met.offset_k).unwrap();
            let direct = curve::Powers { demand_w, available_w, wall_w };
            assert!(curve.difference_ratio(&direct) < 6e-3, "{name} {met:?}: {curve:?} {direct:?}");
            assert!((curve.demand_w / demand_w - 1.0).abs() < 1e-3, "{name} {met:?}: {curve:?} {direct:?}");
        }
        assert!(held_count > 60, "{name} {held_count}");
    }
}

#[test]
fn the_curve_breaks_where_points_computed_one_by_one_break() {
    for (name, least_count) in [("breakwater-year", 20), ("beam-hover", 10)] {
        let (_, loaded) = loaded(&with_file(name));
        let series = record();
        let prepared = Prepared::new(&loaded.scenario, Some(&series)).unwrap();
        let breaks = |met: curve::Met| {
            let point = direct(&loaded.scenario, &prepared.curve, met);
            point.limits.iter().any(|row| !row.ok && !sheet::OF_ENERGY.contains(&row.code))
        };
        let (mut broken_count, mut whole_count) = (0, 0);
        for met in spread(&prepared, 150) {
            let broken = prepared.curve.broken(met).is_some();
            broken_count += u32::from(broken);
            whole_count += u32::from(!broken);
            // The edge lies within two parts in a hundred of the wind, or half a kelvin.
            let near = [(1.0, 0.0), (0.98, 0.0), (1.02, 0.0), (1.0, -0.5), (1.0, 0.5)];
            let found = near.iter().any(|(factor, warmer_k)| {
                let (wind_m_s, excess_m_s) = (factor * met.wind_m_s, factor * met.excess_m_s);
                breaks(curve::Met { wind_m_s, excess_m_s, offset_k: met.offset_k + warmer_k }) == broken
            });
            assert!(found, "{name} {met:?}: {:?}", prepared.curve.broken(met));
        }
        assert!(broken_count >= least_count && whole_count >= least_count, "{name} {broken_count}");
    }
}

/// Hot calm breaks limits that a light wind does not: what is far broken in calm must not be held against all winds.
#[test]
fn regress_a_hot_calm_is_not_the_end_of_a_scale() {
    let (_, loaded) = loaded(&with_file("breakwater-year"));
    let hot = "time,wind_m_s,temperature_c\n2024-07-01T00:00Z,0,37\n2024-07-01T01:00Z,12,37\n";
    let series = WeatherSeries::from_csv_str(hot).unwrap();
    let prepared = Prepared::new(&loaded.scenario, Some(&series)).unwrap();
    let met = prepared.hours.hours[1].met.unwrap();
    for wind_m_s in [2.0, 4.0, 5.0] {
        let met = curve::Met { wind_m_s, excess_m_s: 0.0, ..met };
        let point = direct(&loaded.scenario, &prepared.curve, met);
        let curve = prepared.curve.powers(wind_m_s, met.offset_k).unwrap();
        assert!((curve.demand_w / point.demand_w.unwrap() - 1.0).abs() < 0.01, "{wind_m_s} {curve:?}");
    }
}

#[test]
fn turns_of_work_and_recharge_are_simulated_beside_the_closed_form() {
    let mut value = scenario("beam-recharge");
    value["site"]["weather"] = json!({ "constant": { "duration_h": 200.0 } });
    let steady = report(&value, None);
    let duty = steady.duty.as_ref().unwrap();
    assert!(duty.duty_ratio > 0.0 && duty.duty_ratio < 1.0);
    assert!((duty.duty_ratio - duty.closed_form_duty_ratio).abs() < 1e-6 * duty.duty_ratio);
    let totals = &steady.totals;
    assert!((totals.known_h() - 200.0).abs() < 1e-6, "{totals:?}");
    // Once in the air it does not come down: what the battery takes comes from the delivery, and nothing is charged on the ground.
    let (given_wh, used_wh) =
        (totals.delivered_wh + totals.battery_out_wh, totals.demand_wh + totals.battery_in_wh);
    assert!(totals.battery_in_wh > 0.1 * totals.demand_wh && totals.forced_down_count == 0, "{totals:?}");
    assert!((given_wh / used_wh - 1.0).abs() < 1e-9, "{totals:?}");
    // A watt more at the bus costs at the wall what a watt of the demand does, beside what the station itself draws.
    let (_, first) = loaded(&value);
    let prepared = Prepared::new(&first.scenario, None).unwrap();
    let met = prepared.hours.hours[0].met.unwrap();
    let powers = prepared.curve.powers(met.wind_m_s, met.offset_k).unwrap();
    let cost_ratio = (totals.wall_wh - 300.0 * 200.0) / totals.delivered_wh;
    let steady_ratio = (powers.wall_w - 300.0) / powers.demand_w;
    assert!((cost_ratio / steady_ratio - 1.0).abs() < 0.01, "{cost_ratio} {steady_ratio}");
    // The hours keep a charge for the recovery that the schedule does not, and the wind is spread inside the hour.
    let worked_ratio = totals.on_station_h / (totals.on_station_h + totals.recharging_h);
    assert!((worked_ratio / duty.duty_ratio - 1.0).abs() < 0.03, "{worked_ratio} {}", duty.duty_ratio);
    value.as_object_mut().unwrap().remove("battery");
    let (document, loaded) = loaded(&value);
    assert!(endurance_report(&document, &loaded, None).is_err(), "nothing to recharge");
}

#[test]
fn turns_of_work_and_recharge_go_through_changing_weather() {
    let value = with_file("beam-recharge");
    let report = report(&value, Some(&record()));
    let totals = &report.totals;
    assert!(report.duty.is_none(), "no one schedule for all weathers");
    assert!((totals.known_h() + totals.gap_h - 240.0).abs() < 1e-6, "{totals:?}");
    assert!(totals.on_station_h > 1.0 && totals.recharging_h > 1.0, "{totals:?}");
    for row in &report.rows {
        assert!(row.on_station_s + row.recharging_s <= 3600.0 + 1e-6);
        assert!(row.broken.is_none() || row.on_station_s + row.recharging_s < 1e-6, "down in the storm");
    }
    assert!(report.lowest_charge_ratio.unwrap() >= report.recovery_charge_ratio.unwrap() - 1e-9);
}

#[test]
fn fuel_is_that_of_the_generator_by_load() {
    let mut value = scenario("breakwater-lookout");
    value["ground"]["generator"] =
        json!({ "rated_w": 8000.0, "no_load_l_per_h": 0.6, "slope_l_per_kwh": 0.25, "tank_l": 40.0 });
    let report = report(&value, None);
    let fuel = report.fuel.unwrap();
    let expected_l_per_h = 0.6 + 0.25 * report.mean_wall_w / 1000.0;
    assert!((fuel.mean_l_per_h / expected_l_per_h - 1.0).abs() < 1e-9, "the line is straight");
    assert!((fuel.tank_h - 40.0 / fuel.mean_l_per_h).abs() < 1e-9);
}

#[test]
fn a_record_that_is_named_must_be_given() {
    let (document, loaded) = loaded(&with_file("breakwater-lookout"));
    assert!(endurance_report(&document, &loaded, None).is_err());
}

#[test]
fn limits_of_energy_bring_nothing_down_by_themselves() {
    let report = report(&with_file("breakwater-lookout"), Some(&record()));
    assert!(
        report.rows.iter().all(|row| !matches!(row.broken, Some(LimitCode::Power | LimitCode::LaserPower)))
    );
}
