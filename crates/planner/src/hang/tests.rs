use super::*;
use crate::{Document, OperatingPoint, Place, System, load};

fn system() -> System {
    let text = include_str!("../../../../scenarios/breakwater-lookout.json");
    System::new(&load(&Document::parse(text).unwrap()).unwrap().scenario).unwrap()
}

fn place(downwind_m: f64, winch: Winch) -> Place {
    Place { position_m: Vector3::new(downwind_m, 0.0, 99.5), winch: Some(winch) }
}

fn has(point: &OperatingPoint, code: LimitCode) -> bool {
    point.limits.iter().any(|row| row.code == code && !row.ok)
}

#[test]
fn a_search_comes_to_the_same_verdict_without_laying_the_line() {
    let system = system();
    let (mut lie, mut free) = (0, 0);
    for downwind_m in [-40.0, -10.0, 15.0, 60.0] {
        let tensions = [0.5, 1.0, 2.0, 4.0, 8.0, 16.0];
        let winches = tensions.map(|drum_tension_n| Winch::DrumTension { drum_tension_n });
        let lengths = [1.01, 1.05, 1.2, 1.5, 1.9]
            .map(|ratio| Winch::PaidOut { paid_out_m: ratio * f64::hypot(downwind_m, 99.5) });
        for winch in winches.into_iter().chain(lengths) {
            let place = place(downwind_m, winch);
            let shown = system.operate_on(&place, &system.hang(&place, None).unwrap()).unwrap();
            let hanging = system.hang_for_search(&place, None).unwrap();
            let sought = system.operate_on(&place, &hanging).unwrap();
            assert_eq!(shown.feasible, sought.feasible, "{place:?}");
            match &sought.tether {
                Some(tether) => {
                    let lies = has(&shown, LimitCode::LineOnGround);
                    assert_eq!(lies, has(&sought, LimitCode::LineOnGround), "{place:?}");
                    assert!(tether.lies.is_none() && lies == (tether.on_ground_m > 0.0));
                    if lies { lie += 1 } else { free += 1 }
                }
                // Less than any free line needs.
                None => {
                    assert!(has(&sought, LimitCode::DrumTension) && has(&shown, LimitCode::DrumTension))
                }
            }
        }
    }
    assert!(lie > 5 && free > 10, "{lie} {free}");
}

#[test]
fn a_loose_line_in_calm_air_is_not_kinked_and_leaves_the_drum_little_to_hold() {
    let text = include_str!("../../../../scenarios/breakwater-lookout.json");
    let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
    value["site"]["wind"] = serde_json::json!({ "gust": { "factor": { "ratio": 1.0 } } });
    value["limits"] = serde_json::json!({ "max_length_on_ground_m": 50.0 });
    for response in ["holds_length", "holds_tension"] {
        value["ground"]["drum"]["gust_response"] = response.into();
        let system = System::new(&crate::from_value(&value).unwrap()).unwrap();
        let hanging = system.hang(&place(0.0, Winch::PaidOut { paid_out_m: 120.0 }), None).unwrap();
        let (mean, gust) = &hanging.tethers().unwrap().points;
        let lies = mean.lies.unwrap();
        // 100 m rise to the vehicle, half a metre hangs from the drum exit, the rest lies without tension; the line
        // stretches by two millimetres.
        assert!((mean.on_ground_m - 19.5).abs() < 5e-3 && mean.on_ground_m == lies.loose_m);
        assert!((mean.drum_tension_n / mean.top_tension_n - 0.005).abs() < 1e-6);
        // A winch that holds the tension may as well have taken in what lies loose.
        assert!(gust.lies.is_some() || response == "holds_tension");
        assert!((gust.top_tension_n - mean.top_tension_n).abs() < 1e-6);
        let weight_n_per_m = 3.4e-3 * 9.806_65;
        let stiff_m = touchdown_bend_radius_m(440e-6, weight_n_per_m).unwrap();
        assert!((mean.min_bend_radius_m - stiff_m).abs() < 1e-9 || mean.min_bend_radius_m > stiff_m);
    }
}

#[test]
fn a_loose_line_with_glass_is_judged_by_what_the_wind_bends_it() {
    let text = include_str!("../../../../scenarios/breakwater-lookout.json");
    let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
    value["site"]["wind"]["profile"]["power_law"]["speed_m_s"] = 2.0.into();
    value["limits"] = serde_json::json!({ "max_length_on_ground_m": 50.0 });
    let system = System::new(&crate::from_value(&value).unwrap()).unwrap();
    let hanging = system.hang(&place(0.0, Winch::PaidOut { paid_out_m: 120.0 }), None).unwrap();
    let tethers = hanging.tethers().unwrap();
    let (mean, flexible_m) = (&tethers.points.0, tethers.mean.min_bend_radius().0);
    assert!(mean.lies.unwrap().loose_m > 1.0, "{mean:?}");
    let stiff_m = touchdown_bend_radius_m(440e-6, 3.4e-3 * 9.806_65).unwrap();
    // The wind bends it far less than its coming down on the ground may.
    assert!(stiff_m < flexible_m && flexible_m < 1e3, "{flexible_m} {stiff_m}");
    assert_eq!(mean.min_bend_radius_m, flexible_m);
}

#[test]
fn a_loose_line_without_glass_is_not_judged_where_it_comes_down() {
    let text = include_str!("../../../../scenarios/harvest-market.json");
    let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
    value["limits"] = serde_json::json!({ "max_length_on_ground_m": 20.0 });
    let system = System::new(&crate::from_value(&value).unwrap()).unwrap();
    let place =
        Place { position_m: Vector3::new(0.0, 0.0, 24.5), winch: Some(Winch::PaidOut { paid_out_m: 35.0 }) };
    let hanging = system.hang(&place, None).unwrap();
    let mean = &hanging.tethers().unwrap().points.0;
    assert!(mean.lies.unwrap().loose_m > 1.0, "{mean:?}");
    // The wind bends it, least of all where it comes down without a pull; that is told as no bend.
    assert!(hanging.tethers().unwrap().mean.min_bend_radius().0 < 100.0);
    assert_eq!(mean.min_bend_radius_m, 1e9);
}

#[test]
fn in_water_there_is_no_ground() {
    let text = include_str!("../../../../scenarios/reservoir-inspector.json");
    let system = System::new(&load(&Document::parse(text).unwrap()).unwrap().scenario).unwrap();
    assert!(system.under(Touch::Lies).is_none());
}

#[test]
fn what_hangs_below_the_ground_is_nothing_where_it_only_touches() {
    let system = system();
    let line = system.line.as_deref().unwrap();
    let still = &system.surroundings.mean;
    let over = |winch| match hang(line, still, None, Vector3::new(60.0, 0.0, 99.5), winch, None) {
        Ok(Hung::Holds(held)) => held.shape,
        other => panic!("{other:?}"),
    };
    let slack = over(Winch::PaidOut { paid_out_m: 190.0 });
    assert!(below_m(&slack, -0.5) > 10.0);
    let deepest_m = -slack.lowest_point().z;
    assert_eq!(below_m(&slack, -deepest_m), 0.0);
    let a_little = below_m(&slack, -deepest_m + 1e-3);
    assert!((0.99e-3..5.0).contains(&a_little), "{a_little}");
}

#[test]
fn a_winch_that_pays_out_in_the_gust_has_no_more_than_its_line() {
    let text = include_str!("../../../../scenarios/breakwater-lookout.json");
    let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
    value["ground"]["drum"]["gust_response"] = "holds_tension".into();
    value["site"]["wind"]["profile"]["power_law"]["speed_m_s"] = 10.0.into();
    let system = System::new(&crate::from_value(&value).unwrap()).unwrap();
    let winch = Some(Winch::DrumTension { drum_tension_n: 3.8 });
    let place = Place { position_m: Vector3::new(-60.0, 0.0, 116.8), winch };
    let hanging = system.hang_for_search(&place, None).unwrap();
    let (mean, gust) = &hanging.tethers().unwrap().points;
    let line = system.line.as_deref().unwrap();
    assert!(mean.paid_out_m < line.total_length_m && gust.paid_out_m > 1.5 * line.total_length_m, "{gust:?}");
    let mut rows = Vec::new();
    limits(line, &system.limits, mean, gust, &mut rows).unwrap();
    let row = rows.iter().find(|row| row.code == LimitCode::LineLength).unwrap();
    assert_eq!(row.value, gust.paid_out_m);
    assert!(!row.ok);
}
