use super::*;
use crate::beam::{Beam, Focus};
use proptest::prelude::*;

#[test]
fn val_iec_60825_2_diameter_that_holds_63_percent() {
    // IEC 60825-2: d63 = 2 r NA/1.7 of a multimode end; √2 λ r/(π w0) of a single-mode one.
    let multimode = FiberEnd::new(1.0, 808e-9, FiberLight::Multimode { numerical_aperture: 0.2 }).unwrap();
    assert!((multimode.diameter_63_m(1.0) - 0.235_294).abs() < 1e-6);
    assert!((multimode.diameter_63_m(3.0) - 3.0 * 0.235_294).abs() < 1e-5);
    let single = FiberEnd::new(1.0, 1550e-9, FiberLight::SingleMode { mode_field_radius_m: 5.2e-6 }).unwrap();
    assert!((single.diameter_63_m(2.0) - 0.268_37).abs() < 1e-4, "{}", single.diameter_63_m(2.0));
}

#[test]
fn a_weak_beam_has_no_hazard_distance_even_if_focused() {
    let beam = CollimatedBeam::new(1.0, 1064e-9, 0.2, 1e-3).unwrap().with_waist_at_m(500.0).unwrap();
    assert!(beam.forms(50.0).longest_m().abs() < f64::MIN_POSITIVE);
    let strong = CollimatedBeam::new(1000.0, 1064e-9, 0.2, 1e-3).unwrap();
    let focused = strong.with_waist_at_m(500.0).unwrap();
    let difference = focused.forms(50.0).longest_m() - strong.forms(50.0).longest_m();
    assert!((difference - 500.0).abs() < 1e-9);
}

#[test]
fn the_gaussian_peak_is_the_longest_form_of_a_beam() {
    let forms = CollimatedBeam::new(500.0, 976e-9, 0.1, 5e-4).unwrap().forms(35.6451);
    assert_eq!(forms.distance_m(Form::GaussianPeak), Some(forms.longest_m()));
    assert_eq!(forms.distance_m(Form::Lambertian), None);
}

proptest! {
    #[test]
    fn prop_a_focus_anywhere_is_never_shorter(
        power_w in 1.0..1e5f64, radius_m in 0.005..1.0f64, quality in 1.0..200.0f64, log_focus in 0.0..5.9f64,
        limit_w_m2 in 5.0..2000.0f64,
    ) {
        let anywhere = CollimatedBeam::focused_anywhere(power_w, 1064e-9, radius_m, quality).unwrap();
        let longest_m = anywhere.forms(limit_w_m2).longest_m();
        let focus_m = 10_f64.powf(log_focus);
        let focused = CollimatedBeam::focused_at(power_w, 1064e-9, radius_m, quality, focus_m).unwrap();
        let collimated = CollimatedBeam::from_waist(power_w, 1064e-9, radius_m, quality).unwrap();
        prop_assert!(focused.forms(limit_w_m2).longest_m() <= longest_m * (1.0 + 1e-9));
        prop_assert!(collimated.forms(limit_w_m2).longest_m() <= longest_m * (1.0 + 1e-9));
    }

    #[test]
    fn prop_a_focused_beam_has_the_irradiance_of_its_path(
        radius_m in 0.01..0.5f64, quality in 1.0..200.0f64, focus_m in 20.0..5000.0f64, limit_w_m2 in 5.0..200.0f64,
    ) {
        let hazard = CollimatedBeam::focused_at(1e4, 808e-9, radius_m, quality, focus_m).unwrap();
        let distance_m = hazard.forms(limit_w_m2).distance_m(Form::GaussianPeak).unwrap();
        prop_assume!(distance_m > 0.0 && distance_m < 9e5);
        let beam = Beam {
            launch_radius_m: radius_m,
            beam_quality_m2_ratio: quality,
            focus: Focus::At { range_m: focus_m },
            aperture_radius_m: None,
        };
        let spot_m = beam.radius_m(distance_m, 808e-9).unwrap();
        let peak_w_m2 = 2e4 / (PI * spot_m * spot_m);
        prop_assert!((peak_w_m2 / limit_w_m2 - 1.0).abs() < 1e-7, "{peak_w_m2}");
    }
}

#[test]
fn bad_sources_are_refused() {
    let light = FiberLight::Multimode { numerical_aperture: 0.0 };
    assert!(FiberEnd::new(1.0, 808e-9, light).is_err());
    assert!(FiberEnd::new(f64::NAN, 808e-9, FiberLight::Multimode { numerical_aperture: 0.2 }).is_err());
    assert!(CollimatedBeam::new(1.0, 808e-9, 0.1, 0.0).is_err());
    assert!(CollimatedBeam::from_waist(1.0, 808e-9, 0.1, 0.9).is_err());
    assert!(DiffuseReflection::new(1.0, 808e-9, 1.1).is_err());
    let beam = CollimatedBeam::new(1.0, 808e-9, 0.1, 1e-3).unwrap();
    assert!(beam.spilled(1.01).is_err() && beam.reflected(-0.1).is_err());
    assert!(beam.with_waist_at_m(f64::INFINITY).is_err());
}

#[test]
fn no_limit_at_all_still_gives_a_finite_distance() {
    let end = FiberEnd::new(1e7, 808e-9, FiberLight::Multimode { numerical_aperture: 1e-5 }).unwrap();
    assert!(end.forms(0.0).longest_m().is_finite() && end.forms(f64::NAN).longest_m().is_finite());
}
