use super::*;
use proptest::prelude::*;

fn demand() -> LineDemand {
    LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 }
}

#[test]
fn each_argument_is_checked() {
    for wrong in [
        LineDemand { length_m: 0.0, ..demand() },
        LineDemand { load_w: 0.0, ..demand() },
        LineDemand { conductor_temp_k: 501.0, ..demand() },
        LineDemand { metal: Metal { density_kg_m3: 0.0, ..Metal::COPPER }, ..demand() },
    ] {
        assert!(wrong.area_m2(400.0, 0.1).is_err(), "{wrong:?}");
    }
    assert!(demand().area_m2(400.0, 0.501).is_err() && demand().area_m2(0.9, 0.1).is_err());
    let usual = AreaLimits::usual();
    for wrong in [
        AreaLimits { max_drop_ratio: 0.51, ..usual },
        AreaLimits { max_transfer_ratio: 1.01, ..usual },
        AreaLimits { drum_factor_ratio: 0.0, ..usual },
        AreaLimits { factored_tension_n: f64::NAN, ..usual },
    ] {
        assert!(thinnest_wire(&demand(), 400.0, &wrong).is_err(), "{wrong:?}");
    }
    assert!(priced_source(&demand(), 400.0, -1e-6).is_err());
    assert!(self_lift_limit_m(&Metal::COPPER, 293.15, 400.0, 0.1, 0.5).is_err());
    assert!(best_voltage(&demand(), 0.1, Plastic::ETFE, WallRule::default(), 0.5).is_err());
}

#[test]
fn every_constraint_can_bind() {
    let usual = AreaLimits { max_drop_ratio: 0.5, ..AreaLimits::usual() };
    let binding =
        |voltage_v: f64, limits: AreaLimits| thinnest_wire(&demand(), voltage_v, &limits).unwrap().binding;
    assert_eq!(binding(400.0, AreaLimits::usual()), BindingConstraint::VoltageDrop);
    assert_eq!(binding(400.0, usual), BindingConstraint::PowerTransfer);
    let pulled = AreaLimits { factored_tension_n: 2000.0, ..usual };
    assert_eq!(binding(400.0, pulled), BindingConstraint::Strength);
    let air = Some(Cooling::in_wind(313.15, 0.0).unwrap());
    let hot = AreaLimits { air, drum_factor_ratio: 0.35, plastic: Plastic::XLPE, ..usual };
    assert_eq!(binding(1000.0, hot), BindingConstraint::Heat);
}

#[test]
fn heat_area_is_that_whose_ampacity_is_just_enough() {
    let air = Cooling::in_wind(313.15, 0.0).unwrap();
    let limits = AreaLimits {
        air: Some(air),
        drum_factor_ratio: 0.45,
        plastic: Plastic::XLPE,
        max_drop_ratio: 0.5,
        ..AreaLimits::usual()
    };
    let demand = LineDemand { conductor_temp_k: 363.15, ..demand() };
    let choice = thinnest_wire(&demand, 1000.0, &limits).unwrap();
    let wire = Conductor::new(Metal::COPPER, choice.area_m2, Stranding::SOLID).unwrap();
    let wall = Wall::new(Plastic::XLPE, choice.wall_m).unwrap();
    let allowed_a = 0.45 * ampacity_a(&wire, &wall, &air, 363.15);
    let ohm = 200.0 * wire.resistance_ohm_per_m(363.15);
    let needed_a = constant_power_load(1000.0, ohm, 2000.0).stable.unwrap().current_a;
    assert!((allowed_a / needed_a - 1.0).abs() < 1e-9);
    assert_eq!(ampacity_a(&wire, &wall, &air, 313.15).to_bits(), 0.0f64.to_bits());
}

#[test]
fn air_hotter_than_the_insulation_allows_has_no_wire() {
    let air = Some(Cooling::in_wind(350.0, 0.0).unwrap());
    let plastic = Plastic { max_temp_k: 345.0, ..Plastic::XLPE };
    let limits = AreaLimits { air, plastic, ..AreaLimits::usual() };
    assert!(matches!(
        thinnest_wire(&demand(), 400.0, &limits),
        Err(ElectricalError::NoWireIsCoolEnough { .. })
    ));
}

#[test]
fn the_voltage_optimum_names_its_bound() {
    let best = |load_w: f64, max_v: f64| {
        let demand = LineDemand { load_w, ..demand() };
        best_voltage(&demand, 0.1, Plastic::ETFE, WallRule::default(), max_v).unwrap()
    };
    assert_eq!(best(2000.0, 5000.0).binding, None);
    assert_eq!(best(2000.0, 1000.0).binding, Some(BindingConstraint::VoltageCeiling));
    assert_eq!(best(200.0, 5000.0).binding, Some(BindingConstraint::InsulationMinimum));
    assert_eq!(best(200.0, 400.0).binding, Some(BindingConstraint::VoltageCeiling));
}

#[test]
fn at_the_true_optimum_metal_weighs_as_much_as_the_outer_wall() {
    let best = best_voltage(&demand(), 0.1, Plastic::ETFE, WallRule::default(), 5000.0).unwrap();
    let outer_wall_kg = 200.0 * PI * 1700.0 * best.wall_m * best.wall_m;
    assert!((best.metal_mass_kg - outer_wall_kg).abs() < 1e-12);
}

proptest! {
    #[test]
    fn prop_no_neighbouring_voltage_is_lighter(
        load_w in 50.0..2e4f64, drop in 0.02..0.5f64, length_m in 10.0..1000.0f64, other_v in 50.0..5000.0f64
    ) {
        let demand = LineDemand { load_w, length_m, ..demand() };
        let rule = WallRule::default();
        let best = best_voltage(&demand, drop, Plastic::ETFE, rule, 5000.0).unwrap();
        let other = line_at_voltage(&demand, other_v, drop, Plastic::ETFE, rule).unwrap();
        prop_assert!(best.mass_kg() <= other.mass_kg() * (1.0 + 1e-12));
    }

    #[test]
    fn prop_the_priced_drop_is_the_least(
        load_w in 50.0..2e4f64, price in 0.0..1e-2f64, other in 1e-3..0.5f64
    ) {
        let demand = LineDemand { load_w, ..demand() };
        let best = priced_source(&demand, 400.0, price).unwrap();
        let cost = |drop: f64| {
            demand.metal_mass_kg(demand.area_m2(400.0, drop).unwrap()) + price * load_w / (1.0 - drop)
        };
        let best_cost = best.metal_mass_kg + price * best.source_w;
        prop_assert!(best_cost <= cost(other) * (1.0 + 1e-12));
    }

    #[test]
    fn prop_drop_of_the_chosen_area_is_the_one_asked(load_w in 50.0..2e4f64, drop in 0.01..0.49f64) {
        let demand = LineDemand { load_w, ..demand() };
        let area_m2 = demand.area_m2(600.0, drop).unwrap();
        let ohm = 200.0 * 1.7241e-8 / area_m2;
        let point = constant_power_load(600.0, ohm, load_w).stable.unwrap();
        prop_assert!((1.0 - point.load_voltage_v / 600.0 - drop).abs() < 1e-9);
    }

    #[test]
    fn prop_hostile_numbers_give_errors_or_finite_answers(bits in any::<[u64; 4]>()) {
        let [length_m, load_w, voltage_v, other] = bits.map(f64::from_bits);
        let demand = LineDemand { length_m, load_w, ..demand() };
        if let Ok(choice) = thinnest_wire(&demand, voltage_v, &AreaLimits::usual()) {
            prop_assert!(choice.mass_kg.is_finite() && choice.area_m2 > 0.0);
        }
        if let Ok(best) = best_voltage(&demand, 0.1, Plastic::ETFE, WallRule::default(), other) {
            prop_assert!(best.mass_kg().is_finite());
        }
        if let Ok(limit_m) = self_lift_limit_m(&Metal::COPPER, other, voltage_v, 0.1, 100.0) {
            prop_assert!(limit_m.is_finite());
        }
    }
}
