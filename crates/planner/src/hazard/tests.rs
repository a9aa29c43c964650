use serde_json::{Value, json};

use super::*;

const FIBER: &str = include_str!("../../../../scenarios/breakwater-lookout.json");
const BEAM: &str = include_str!("../../../../scenarios/beam-hover.json");
const COPPER: &str = include_str!("../../../../scenarios/harvest-market.json");

fn study_of(text: &str, changes: &[(&str, Value)]) -> Result<HazardStudy, PlanError> {
    let mut document = Document::parse(text).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, value.clone()).unwrap();
    }
    let loaded = crate::load(&document).unwrap();
    hazard_study(&document, &loaded)
}

fn study(text: &str, changes: &[(&str, Value)]) -> HazardStudy {
    study_of(text, changes).unwrap()
}

#[test]
fn a_broken_end_has_the_distance_of_the_published_form_and_more() {
    let study = study(FIBER, &[]);
    let end = &study.sources[0].without_shut_off.eye;
    let rounded = end.forms.iter().find(|f| f.form.contains("printed")).unwrap();
    let numerical_aperture = study.sources[0].lights[0].inputs.numerical_aperture.unwrap();
    // (1.7/NA) √(P/(π·10 C4))
    let c4 = 10_f64.powf(0.002 * (study.wavelength_nm - 700.0));
    let by_hand_m = 1.7 / numerical_aperture * (1600.0 / (std::f64::consts::PI * 10.0 * c4)).sqrt();
    assert!((rounded.distance_m / by_hand_m - 1.0).abs() < 1e-12);
    assert!(end.distance_m > rounded.distance_m && !rounded.counts);
    assert_eq!(study.class.class, "4");
    assert!(numerical_aperture <= 0.2, "that of the launch at most");
}

#[test]
fn a_time_base_from_ten_seconds_on_does_not_matter() {
    use beamstay_optics::hazard::{FiberEnd, FiberLight, Source};
    for nm in (700..=1800).step_by(7) {
        let light = FiberLight::Multimode { numerical_aperture: 0.2 };
        let end = Source::FiberEnd(FiberEnd::new(1e3, 1e-9 * f64::from(nm), light).unwrap());
        let at = |time_base_s| {
            let conditions = Conditions::new(time_base_s, Edition::MoreRestrictive).unwrap();
            let found = assess(&end, &conditions).unwrap().without_shut_off;
            [found.eye.distance_m, found.eye_with_optics.distance_m, found.skin.distance_m]
        };
        for time_base_s in [10.0, 100.0] {
            for (shorter, longer) in at(time_base_s).into_iter().zip(at(TIME_BASE_S)) {
                assert!((shorter / longer - 1.0).abs() < 1e-12, "{nm} nm: {shorter} {longer}");
            }
        }
    }
}

#[test]
fn a_shut_off_adds_its_distances_and_takes_none_away() {
    let without = study(FIBER, &[]);
    let with = study(FIBER, &[("/hazard", json!({"shut_off_ms": 10.0}))]);
    assert_eq!(without.sources[0].without_shut_off, with.sources[0].without_shut_off);
    let short = with.sources[0].with_shut_off.as_ref().unwrap();
    assert!(short.unaided_m() < with.sources[0].without_shut_off.unaided_m());
    assert!((short.exposure_s - 0.01).abs() < 1e-12 && without.sources[0].with_shut_off.is_none());
}

#[test]
fn the_working_area_holds_from_the_keep_out_radius_on() {
    let radius_m = study(FIBER, &[]).ground.keep_out_radius_m;
    let holds = |m: f64| {
        study(FIBER, &[("/hazard", json!({"working_area_radius_m": m}))]).ground.working_area_holds.unwrap()
    };
    assert!(holds(radius_m + 0.01) && !holds(radius_m - 0.01));
}

#[test]
fn a_plan_that_does_not_close_has_its_hazard_and_counts_all_the_line() {
    let impossible = study(FIBER, &[("/station/winch", json!({"paid_out": {"paid_out_m": 20.0}}))]);
    assert!((impossible.ground.reach_m - 150.0).abs() < 1e-12);
}

#[test]
fn a_beam_counts_with_its_focus_where_it_reaches_farthest() {
    let study = study(BEAM, &[]);
    let whole = &study.sources[0];
    assert_eq!(whole.lights.len(), 2);
    let of = |light: &str| {
        let forms = whole.without_shut_off.eye.forms.iter().filter(|f| f.light == light);
        forms.map(|f| f.distance_m).fold(0.0, f64::max)
    };
    assert!(of("focus anywhere") > of("focus as planned"));
    assert!((whole.without_shut_off.eye.distance_m - of("focus anywhere")).abs() < 1e-9);
    for source in &study.sources[1..] {
        assert!(source.without_shut_off.unaided_m() <= whole.without_shut_off.unaided_m());
    }
}

#[test]
fn a_ring_lets_the_middle_of_the_beam_through() {
    let ring = json!({"ring": {"outer_diameter_m": 0.4, "inner_diameter_m": 0.02}});
    let study = study(BEAM, &[("/receiver/aperture", ring)]);
    let spill = study.sources.iter().find(|s| s.code == "spill_over").unwrap();
    assert_eq!(spill.lights[0].inputs.captured_share, Some(0.0));
}

#[test]
fn an_exposure_is_named_by_what_it_is_for() {
    let with = study(FIBER, &[("/hazard", json!({"shut_off_ms": 10.0}))]);
    let of = |exposure_s: f64| {
        let mut rows = with.exposure_limits.iter().filter(move |row| row.exposure_s == exposure_s);
        let (eye, skin) = (rows.next().unwrap(), rows.next().unwrap());
        assert_eq!((eye.organ, skin.organ, rows.next()), ("eye", "skin", None));
        assert_eq!(eye.use_of_it, skin.use_of_it);
        eye.use_of_it
    };
    assert_eq!(of(0.01), "with shut-off");
    // Nobody blinks at light that is not seen.
    assert_eq!(of(0.25), "not used: no blink");
    assert_eq!((of(10.0), of(100.0), of(TIME_BASE_S)), ("accident", "unintended", "working day"));
}

#[test]
fn every_distance_on_the_ground_has_its_circle() {
    let short = ("/hazard", json!({"shut_off_ms": 10.0, "working_area_radius_m": 7000.0}));
    let line = study(FIBER, std::slice::from_ref(&short));
    let radii = |study: &HazardStudy, kind| -> Vec<f64> {
        study.ground.circles.iter().filter(|c| c.kind == kind).map(|c| c.radius_m).collect()
    };
    let (bare, reach_m) = (&line.sources[0].without_shut_off, line.ground.reach_m);
    let with_shut_off = line.sources[0].with_shut_off.as_ref().unwrap();
    assert_eq!(radii(&line, PlanKind::WithoutShutOff), [bare.eye.distance_m, reach_m + bare.unaided_m()]);
    assert_eq!(radii(&line, PlanKind::WithOptics), [reach_m + bare.eye_with_optics.distance_m]);
    assert_eq!(radii(&line, PlanKind::WithShutOff), [reach_m + with_shut_off.unaided_m()]);
    assert_eq!(radii(&line, PlanKind::WorkingArea), [7000.0]);
    let beam = study(BEAM, &[]);
    let bare = &beam.sources[0].without_shut_off;
    assert_eq!(radii(&beam, PlanKind::WithoutShutOff)[0], bare.unaided_m());
    let hull: Vec<_> = beam.ground.circles.iter().filter(|c| c.kind == PlanKind::AtVehicle).collect();
    assert_eq!((hull.len(), hull[0].centre_x_m), (1, beam.ground.vehicle_x_m));
}

#[test]
fn without_light_there_is_nothing_to_assess() {
    assert!(matches!(study_of(COPPER, &[]), Err(PlanError::Refused(_))));
    let refused = study_of(COPPER, &[("/hazard", json!({"shut_off_ms": 1.0}))]);
    assert!(matches!(refused, Err(PlanError::Refused(fault)) if fault.pointer == "/hazard"));
}

#[test]
fn distances_never_fall_with_power_time_or_a_better_beam() {
    let longest = |text: &str, changes: &[(&str, Value)]| -> Vec<f64> {
        let study = study(text, changes);
        let all = study.sources.iter().flat_map(|s| [Some(&s.without_shut_off), s.with_shut_off.as_ref()]);
        all.flatten().flat_map(|d| d.figures().map(|(_, f)| f.distance_m)).collect()
    };
    let rising = |text: &str, pointer: &str, values: &[f64]| {
        let shut_off = ("/hazard", json!({"shut_off_ms": 5.0}));
        let mut before: Vec<f64> = Vec::new();
        for value in values {
            let here = longest(text, &[shut_off.clone(), (pointer, json!(value))]);
            assert!(before.iter().zip(&here).all(|(a, b)| *b >= a * (1.0 - 1e-12)), "{pointer} {value}");
            before = here;
        }
    };
    for text in [FIBER, BEAM] {
        rising(text, "/ground/laser/rated_w", &[0.2, 1.0, 30.0, 500.0, 1600.0, 20_000.0]);
        rising(text, "/hazard/shut_off_ms", &[0.001, 0.1, 10.0, 500.0, 20_000.0]);
    }
    rising(BEAM, "/delivery/free_beam/beam_quality_m2", &[400.0, 100.0, 20.0, 2.0, 1.0]);
    rising(FIBER, "/delivery/fiber/launch/source_numerical_aperture", &[0.4, 0.22, 0.15, 0.05]);
}
