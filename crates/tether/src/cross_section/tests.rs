use approx::assert_relative_eq;
use proptest::prelude::*;

use super::*;
use crate::material::{Handbook, Material};

const SILICA: Material = Handbook::FusedSilica.material();
const ACRYLATE: Material = Handbook::Acrylate.material();
const ARAMID: Material = Handbook::AramidHighModulus.material();
const JACKET: Material = Handbook::Polyurethane.material();

fn computed(layers: Vec<Layer>) -> CrossSection {
    CrossSection::new(layers, Measured::default()).unwrap()
}

fn data_fiber() -> CrossSection {
    computed(vec![
        Layer::solid(Part::Cladding, SILICA, 125e-6),
        Layer::solid(Part::Coating, ACRYLATE, 250e-6),
    ])
}

fn power_line() -> Vec<Layer> {
    vec![
        Layer::solid(Part::Cladding, SILICA, 440e-6),
        Layer::solid(Part::Coating, ACRYLATE, 560e-6),
        Layer::yarn(ARAMID, 0.6e-6, 0.6),
        Layer::solid(Part::Jacket, JACKET, 2.0e-3),
    ]
}

#[test]
fn shares_follow_stiffness_and_sum_to_one() {
    let section = computed(power_line());
    let shares: Vec<f64> = section.layers().iter().map(|layer| layer.load_share_ratio).collect();
    let glass_n = 0.25 * PI * 440e-6_f64.powi(2) * 72e9;
    assert_relative_eq!(
        shares[0],
        glass_n / (glass_n + 0.6e-6 * ARAMID.youngs_modulus_pa),
        max_relative = 1e-12
    );
    assert_relative_eq!(shares.iter().sum::<f64>(), 1.0, max_relative = 1e-12);
    assert_relative_eq!(shares[1] + shares[3], 0.0);
}

#[test]
fn the_glass_breaks_first_and_the_yarn_holds_on() {
    let section = computed(power_line());
    assert_relative_eq!(
        section.breaking_load_n().unwrap(),
        YARN_REALIZATION_RATIO * ARAMID.strength_pa * 0.6e-6,
        max_relative = 1e-12
    );
    let glass_strain = SILICA.failure_strain();
    assert_relative_eq!(
        section.glass_breaking_load_n().unwrap(),
        glass_strain * section.axial_stiffness_n().unwrap(),
        max_relative = 1e-12
    );
    assert!(section.glass_breaking_load_n() < section.breaking_load_n());
}

#[test]
fn thin_yarn_breaks_with_the_glass() {
    let mut layers = power_line();
    layers[2] = Layer::yarn(ARAMID, 1e-9, 0.6);
    let section = computed(layers);
    assert_relative_eq!(
        section.breaking_load_n().unwrap(),
        section.glass_breaking_load_n().unwrap(),
        max_relative = 1e-12
    );
}

#[test]
fn a_laid_yarn_is_heavier_softer_and_stretches_further() {
    let laid = |lay_angle_rad: f64| {
        let ring = Ring {
            part: Part::Strength,
            material: ARAMID,
            extent: Extent::SolidArea { area_m2: 1e-6, fill_ratio: 0.6 },
            lay_angle_rad,
            strength_realization_ratio: 1.0,
            carries_load: true,
        };
        computed(vec![Layer::Ring(ring)])
    };
    let (straight, laid) = (laid(0.0), laid(0.3));
    let cos = 0.3_f64.cos();
    assert_relative_eq!(laid.mass_kg_per_m(), straight.mass_kg_per_m() / cos, max_relative = 1e-12);
    let stiffness_ratio = laid.axial_stiffness_n().unwrap() / straight.axial_stiffness_n().unwrap();
    assert_relative_eq!(stiffness_ratio, cos.powi(3), max_relative = 1e-12);
    let strength_ratio = laid.breaking_load_n().unwrap() / straight.breaking_load_n().unwrap();
    assert_relative_eq!(strength_ratio, cos, max_relative = 1e-12);
}

#[test]
fn a_data_fiber_beside_the_power_fiber_counts_as_glass_of_its_own() {
    let with_data = computed(vec![
        Layer::solid(Part::Cladding, SILICA, 440e-6),
        Layer::solid(Part::Coating, ACRYLATE, 560e-6),
        Layer::elements(Part::DataFiber, 1, data_fiber()),
        Layer::yarn(ARAMID, 0.6e-6, 0.6),
    ]);
    let without = computed(vec![
        Layer::solid(Part::Cladding, SILICA, 440e-6),
        Layer::solid(Part::Coating, ACRYLATE, 560e-6),
        Layer::yarn(ARAMID, 0.6e-6, 0.6),
    ]);
    assert_relative_eq!(with_data.layers()[2].outer_diameter_m, 1060e-6, max_relative = 1e-12);
    let added_kg_per_m = with_data.mass_kg_per_m() - without.mass_kg_per_m();
    assert_relative_eq!(added_kg_per_m, data_fiber().mass_kg_per_m(), max_relative = 1e-9);
    let added_n = with_data.axial_stiffness_n().unwrap() - without.axial_stiffness_n().unwrap();
    assert_relative_eq!(added_n, data_fiber().axial_stiffness_n().unwrap(), max_relative = 1e-9);
    assert_eq!(with_data.glass_diameter_m(), Some(440e-6));
}

#[test]
fn loose_elements_carry_nothing_but_bend_with_the_line() {
    let loose = Elements {
        part: Part::DataFiber,
        count: 2,
        section: data_fiber(),
        lay_angle_rad: 0.05,
        carries_load: false,
    };
    let section = computed(vec![Layer::Elements(loose), Layer::yarn(ARAMID, 0.6e-6, 0.6)]);
    assert_eq!(section.glass_stress_pa(100.0), None);
    assert_eq!(section.glass_diameter_m(), Some(125e-6));
    assert_relative_eq!(section.axial_stiffness_n().unwrap(), 0.6e-6 * 104.9e9, max_relative = 1e-12);
}

#[test]
fn a_copper_pair_lies_in_two_diameters() {
    let wire = computed(vec![
        Layer::solid(Part::Conductor, Handbook::Copper.material(), 0.5e-3),
        Layer::solid(Part::Insulation, Handbook::Etfe.material(), 0.8e-3),
    ]);
    let line =
        computed(vec![Layer::elements(Part::Conductor, 2, wire), Layer::solid(Part::Jacket, JACKET, 2e-3)]);
    assert_relative_eq!(line.layers()[0].outer_diameter_m, 1.6e-3, max_relative = 1e-12);
    let copper_n = 2.0 * 0.25 * PI * 0.25e-6 * 117e9;
    assert_relative_eq!(line.axial_stiffness_n().unwrap(), copper_n, max_relative = 1e-12);
    assert_eq!(line.glass_breaking_load_n(), None);
}

#[test]
fn elements_that_do_not_fit_are_refused() {
    let six_around_one = |count: u32| {
        let layers = vec![
            Layer::solid(Part::Filler, JACKET, 250e-6),
            Layer::elements(Part::DataFiber, count, data_fiber()),
        ];
        CrossSection::new(layers, Measured::default())
    };
    assert!(six_around_one(6).is_ok());
    assert_eq!(six_around_one(7), Err(TetherError::LayerCrowded { number: 2, count: 7, most_count: 6 }));
    let bundle = |count: u32| {
        CrossSection::new(vec![Layer::elements(Part::DataFiber, count, data_fiber())], Measured::default())
    };
    assert!(bundle(7).is_ok());
    assert!(matches!(bundle(8), Err(TetherError::LayerCrowded { most_count: 7, .. })));
    assert!(matches!(bundle(0), Err(TetherError::Layer { number: 1, .. })));
}

#[test]
fn bad_layers_are_refused_by_number() {
    let refused = |layer: Layer| {
        let layers = vec![Layer::solid(Part::Cladding, SILICA, 440e-6), layer];
        CrossSection::new(layers, Measured::default()).unwrap_err()
    };
    assert!(matches!(
        refused(Layer::solid(Part::Coating, ACRYLATE, 440e-6)),
        TetherError::LayerInside { number: 2, .. }
    ));
    assert!(matches!(
        refused(Layer::yarn_within(ARAMID, 0.6e-6, 700e-6)),
        TetherError::LayerOverfull { number: 2, .. }
    ));
    for bad in [
        Layer::solid(Part::Coating, ACRYLATE, 0.21),
        Layer::solid(Part::Coating, Material { density_kg_m3: 0.0, ..ACRYLATE }, 1e-3),
        Layer::yarn(ARAMID, 0.6e-6, 1.01),
        Layer::yarn(ARAMID, 0.0, 0.6),
        Layer::yarn(ARAMID, f64::NAN, 0.6),
    ] {
        assert!(matches!(refused(bad), TetherError::Layer { number: 2, .. }));
    }
    let message = refused(Layer::yarn(ARAMID, 0.6e-6, 2.0)).to_string();
    assert_eq!(message, "layer 2 from the inside: fill of a layer 2 is outside 0.01 to 1");
}

#[test]
fn what_was_measured_overrides_and_says_so() {
    let measured = Measured {
        mass_kg_per_m: Some(0.0040),
        outer_diameter_m: Some(0.0021),
        axial_stiffness_n: Some(45_000.0),
        breaking_load_n: Some(1200.0),
    };
    let plain = computed(power_line());
    let section = CrossSection::new(power_line(), measured).unwrap();
    assert_relative_eq!(section.mass_kg_per_m(), 0.0040);
    assert_relative_eq!(section.outer_diameter_m(), 0.0021);
    assert_relative_eq!(section.breaking_load_n().unwrap(), 1200.0);
    let (stiffness, breaking) = (section.axial_stiffness().unwrap(), section.breaking_load().unwrap());
    for figure in [section.mass(), section.outer_diameter(), stiffness, breaking] {
        assert_eq!(figure.provenance, Provenance::Measured);
    }
    assert_eq!(section.mass().computed, Some(plain.mass_kg_per_m()));
    assert_eq!(plain.mass().provenance, Provenance::Computed);
    assert_relative_eq!(plain.mass().deviation_ratio(), 0.0);
    // A softer line strains its glass more at the same tension.
    let ratio = section.glass_stress_pa(100.0).unwrap() / plain.glass_stress_pa(100.0).unwrap();
    assert_relative_eq!(ratio, plain.axial_stiffness_n().unwrap() / 45_000.0, max_relative = 1e-12);
}

#[test]
fn a_line_without_layers_needs_mass_and_diameter() {
    let measured =
        Measured { mass_kg_per_m: Some(0.01), outer_diameter_m: Some(0.003), ..Measured::default() };
    let section = CrossSection::new(Vec::new(), measured).unwrap();
    assert_eq!(section.axial_stiffness_n(), None);
    assert_eq!(section.breaking_load_n(), None);
    let line = section.line(NormalDrag::constant(1.1).unwrap(), 0.02, true);
    assert_relative_eq!(line.buoyancy_area_m2, 0.25 * PI * 9e-6, max_relative = 1e-12);
    assert!(line.check().is_ok() && line.axial_stiffness_n.is_none());
    let incomplete = Measured { outer_diameter_m: None, ..measured };
    let error = CrossSection::new(Vec::new(), incomplete).unwrap_err();
    assert_eq!(error, TetherError::NeitherMeasuredNorLayered { quantity: "diameter" });
    let nonsense = Measured { breaking_load_n: Some(f64::NAN), ..measured };
    assert!(CrossSection::new(Vec::new(), nonsense).is_err());
}

#[test]
fn nesting_and_number_of_layers_are_bounded() {
    let mut section = data_fiber();
    for depth in 1..=MAX_DEPTH {
        section = CrossSection::new(vec![Layer::elements(Part::DataFiber, 1, section)], Measured::default())
            .unwrap_or_else(|error| panic!("depth {depth}: {error}"));
    }
    assert!(
        CrossSection::new(vec![Layer::elements(Part::DataFiber, 1, section)], Measured::default()).is_err()
    );
    let many = vec![Layer::solid(Part::Coating, ACRYLATE, 1e-3); MAX_LAYERS_COUNT + 1];
    assert!(matches!(CrossSection::new(many, Measured::default()), Err(TetherError::OutOfRange(_))));
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![any::<f64>(), -1.0..1.0f64, 1e-6..1e-2f64, Just(0.0), Just(f64::NAN), Just(f64::INFINITY)]
}

fn any_material() -> impl Strategy<Value = Material> {
    let own = (any_number(), any_number(), any_number()).prop_map(|(density_kg_m3, modulus, strength_pa)| {
        Material { density_kg_m3, youngs_modulus_pa: modulus, strength_pa }
    });
    let known = (0..Handbook::ALL.len()).prop_map(|i| Handbook::ALL[i].material());
    prop_oneof![1 => own, 4 => known]
}

fn any_extent() -> impl Strategy<Value = Extent> {
    prop_oneof![
        any_number().prop_map(Extent::OuterDiameter),
        any_number().prop_map(Extent::Thickness),
        (any_number(), any_number())
            .prop_map(|(area_m2, fill_ratio)| Extent::SolidArea { area_m2, fill_ratio }),
        (any_number(), any_number())
            .prop_map(|(area_m2, outer_diameter_m)| Extent::SolidAreaWithin { area_m2, outer_diameter_m }),
    ]
}

fn any_layer() -> impl Strategy<Value = Layer> {
    let part = prop_oneof![Just(Part::Core), Just(Part::Coating), Just(Part::Strength), Just(Part::Jacket)];
    let ring = (part, any_material(), any_extent(), any_number(), any_number(), any::<bool>()).prop_map(
        |(part, material, extent, lay_angle_rad, strength_realization_ratio, carries_load)| {
            Layer::Ring(Ring {
                part,
                material,
                extent,
                lay_angle_rad,
                strength_realization_ratio,
                carries_load,
            })
        },
    );
    let elements =
        (any::<u32>(), any_number(), any::<bool>()).prop_map(|(count, lay_angle_rad, carries_load)| {
            let section = data_fiber();
            Layer::Elements(Elements {
                part: Part::DataFiber,
                count: count % 9,
                section,
                lay_angle_rad,
                carries_load,
            })
        });
    prop_oneof![4 => ring, 1 => elements]
}

proptest! {
    #[test]
    fn prop_hostile_layers_never_panic(layers in prop::collection::vec(any_layer(), 0..6), tension in any_number()) {
        if let Ok(section) = CrossSection::new(layers, Measured::default()) {
            prop_assert!(section.mass_kg_per_m().is_finite() && section.mass_kg_per_m() > 0.0);
            prop_assert!(section.outer_diameter_m() > 0.0 && section.outer_diameter_m() <= 0.2);
            for value in [section.axial_stiffness_n(), section.breaking_load_n(), section.glass_breaking_load_n()] {
                prop_assert!(value.is_none_or(|v| v.is_finite() && v >= 0.0), "{value:?}");
            }
            let _ = (section.strain(tension), section.glass_stress_pa(tension), section.tension_at_glass_stress_n(tension));
        }
    }

    #[test]
    fn prop_more_layers_more_of_everything(
        areas in prop::collection::vec((1e-8..1e-6f64, 0.3..1.0f64, 0usize..21), 1..8),
        extra in 1e-8..1e-6f64,
    ) {
        let mut layers = vec![Layer::solid(Part::Cladding, SILICA, 440e-6)];
        layers.extend(areas.iter().map(|&(area, fill, i)| Layer::yarn(Handbook::ALL[i].material(), area, fill)));
        let before = computed(layers.clone());
        layers.push(Layer::yarn(ARAMID, extra, 0.6));
        let after = computed(layers);
        prop_assert!(after.mass_kg_per_m() > before.mass_kg_per_m());
        prop_assert!(after.outer_diameter_m() > before.outer_diameter_m());
        prop_assert!(after.axial_stiffness_n() > before.axial_stiffness_n());
        prop_assert!(after.breaking_load_n() >= before.breaking_load_n());
        prop_assert!(after.glass_stress_pa(10.0) < before.glass_stress_pa(10.0));
        let sum: f64 = after.layers().iter().map(|layer| layer.mass_kg_per_m).sum();
        prop_assert!((sum / after.mass_kg_per_m() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn prop_tension_and_glass_stress_invert(stress in 1e6..7e8f64, area in 1e-8..1e-5f64) {
        let section = computed(vec![
            Layer::solid(Part::Cladding, SILICA, 440e-6),
            Layer::yarn(ARAMID, area, 0.6),
        ]);
        let tension = section.tension_at_glass_stress_n(stress).unwrap();
        prop_assert!((section.glass_stress_pa(tension).unwrap() / stress - 1.0).abs() < 1e-12);
    }
}
