use super::*;
use proptest::prelude::*;

fn eye(nm: f64, duration_s: f64, edition: Edition) -> f64 {
    Exposure::new(nm * 1e-9, duration_s).unwrap().eye(edition).irradiance_w_m2
}

#[test]
fn outside_the_tables_there_is_no_limit() {
    assert!(Exposure::new(699.9e-9, 10.0).is_err());
    assert!(Exposure::new(1800.1e-9, 10.0).is_err());
    assert!(Exposure::new(808e-9, 0.9e-7).is_err());
    assert!(Exposure::new(808e-9, 3.1e4).is_err());
    assert!(Exposure::new(f64::NAN, 10.0).is_err());
    let exposure = Exposure::new(808e-9, 10.0).unwrap();
    assert!(exposure.with_source_angle_rad(-1e-3).is_err());
    assert!(exposure.with_exposed_area_m2(f64::INFINITY).is_err());
}

#[test]
fn bands_open_where_the_standard_says() {
    assert!((eye(1400.0, 10.0, Edition::Iec2007) - 1000.0).abs() < 1e-9);
    assert!((eye(1399.999, 10.0, Edition::Iec2007) - 400.0).abs() < 1e-9);
    assert!((eye(1500.0, 0.01, Edition::Iec2014) - 1e6).abs() < 1e-6);
    assert!(eye(1499.999, 0.01, Edition::Iec2014) < 2e5);
    assert!((eye(1800.0, 0.01, Edition::Iec2014) - eye(1450.0, 0.01, Edition::Iec2014)).abs() < 1e-9);
}

#[test]
fn the_stricter_edition_is_named() {
    let limit = Exposure::new(1310e-9, 10.0).unwrap().eye(Edition::MoreRestrictive);
    assert_eq!(limit.basis.edition, Edition::Iec2007);
    assert!((limit.irradiance_w_m2 - 400.0).abs() < 1e-9);
    let limit = Exposure::new(808e-9, 7e-6).unwrap().eye(Edition::MoreRestrictive);
    assert_eq!(limit.basis.edition, Edition::Iec2014);
}

#[test]
fn large_areas_bear_less() {
    let skin = |area_m2: f64, duration_s: f64| {
        let exposure = Exposure::new(1550e-9, duration_s).unwrap().with_exposed_area_m2(area_m2).unwrap();
        exposure.skin(Edition::Iec2014)
    };
    assert_eq!(skin(0.01, 100.0).basis.status, Status::Seen);
    assert!((skin(0.02, 100.0).irradiance_w_m2 - 500.0).abs() < 1e-9);
    assert_eq!(skin(0.02, 100.0).basis.status, Status::FromMemory);
    assert!((skin(1.0, 100.0).irradiance_w_m2 - 100.0).abs() < 1e-9);
    assert!((skin(1.0, 1.0).irradiance_w_m2 - 1e4).abs() < 1e-9);
}

#[test]
fn anterior_limit_below_ten_seconds_is_marked() {
    let limit = Exposure::new(1390e-9, 1.0).unwrap().eye(Edition::Iec2014);
    assert_eq!(limit.basis.status, Status::Assumed);
}

fn editions() -> impl Strategy<Value = Edition> {
    prop_oneof![Just(Edition::Iec2014), Just(Edition::Iec2007), Just(Edition::MoreRestrictive)]
}

proptest! {
    #[test]
    fn prop_a_longer_exposure_never_bears_more(
        nm in 700.0..1800.0f64, log_t in -7.0..4.4f64, step in 0.0..3.0f64, mrad in 0.0..200.0f64, edition in editions(),
    ) {
        let exposure = |log_t: f64| {
            let duration_s = 10_f64.powf(log_t).clamp(DURATIONS_S.0, DURATIONS_S.1);
            Exposure::new(nm * 1e-9, duration_s).unwrap().with_source_angle_rad(mrad * 1e-3).unwrap()
        };
        let (short, long) = (exposure(log_t), exposure(log_t + step));
        prop_assert!(long.eye_sustained(edition).irradiance_w_m2 <= short.eye_sustained(edition).irradiance_w_m2 * (1.0 + 1e-12));
        prop_assert!(long.skin_sustained(edition).irradiance_w_m2 <= short.skin_sustained(edition).irradiance_w_m2 * (1.0 + 1e-12));
        prop_assert!(short.eye_sustained(edition).irradiance_w_m2 <= short.eye(edition).irradiance_w_m2);
        prop_assert!(short.eye(edition).irradiance_w_m2 > 0.0);
    }

    #[test]
    fn prop_more_restrictive_is_the_lower(nm in 700.0..1800.0f64, log_t in -7.0..4.4f64) {
        let exposure = Exposure::new(nm * 1e-9, 10_f64.powf(log_t)).unwrap();
        let least = exposure.eye(Edition::MoreRestrictive).irradiance_w_m2;
        prop_assert!(least <= exposure.eye(Edition::Iec2014).irradiance_w_m2);
        prop_assert!(least <= exposure.eye(Edition::Iec2007).irradiance_w_m2);
    }
}
