//! Parts that the tests of this crate share.

use proptest::prelude::*;

use crate::{
    Itemised,
    fiber::{Attenuation, CoreProfile, Fiber},
};

/// Numbers of any kind, most of them ordinary, some of them not numbers at all.
pub(crate) fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => 1e-12..1e-3_f64,
        6 => 1e-3..10.0_f64,
        3 => 10.0..1e7_f64,
        1 => any::<f64>(),
        1 => prop_oneof![Just(0.0), Just(-1.0), Just(f64::NAN), Just(f64::INFINITY), Just(f64::MIN_POSITIVE)],
    ]
}

/// A number of a range, or now and then any number.
pub(crate) fn mostly(lo: f64, hi: f64) -> impl Strategy<Value = f64> {
    prop_oneof![30 => lo..hi, 1 => any_number()]
}

/// A multimode step-index fiber of 400 µm, NA 0.22, 3 dB/km.
pub(crate) fn fiber() -> Fiber {
    Fiber {
        core_diameter_m: 400e-6,
        cladding_diameter_m: 440e-6,
        numerical_aperture: 0.22,
        profile: CoreProfile::Step,
        attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 },
        coating_temp_limit_k: 358.15,
    }
}

/// A telecom fiber of 8.2 µm core and 0.36 % index step (NA 0.12), 0.35 dB/km; one mode at 1.55 µm.
pub(crate) fn single_mode_fiber() -> Fiber {
    Fiber {
        core_diameter_m: 8.2e-6,
        cladding_diameter_m: 125e-6,
        numerical_aperture: 0.12,
        attenuation: Attenuation::Measured { attenuation_db_per_km: 0.35 },
        ..fiber()
    }
}

/// Light in is light out and losses, and no item gives light.
pub(crate) fn light_closes(ratio: f64, itemised: &Itemised, source_w: f64) -> Result<(), TestCaseError> {
    prop_assert!((0.0..=1.0).contains(&ratio));
    let sum_w = itemised.arriving_w + itemised.total_loss_w();
    prop_assert!((sum_w - source_w).abs() <= 1e-12 * source_w, "{sum_w} of {source_w}");
    for stage in &itemised.stages {
        prop_assert!(
            stage.loss_w >= 0.0 && stage.loss_w.is_finite() && stage.loss_db.is_finite(),
            "{stage:?}"
        );
    }
    Ok(())
}
