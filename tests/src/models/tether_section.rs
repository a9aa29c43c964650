//! Models of the area `tether_section`: drag of a round line, cross-section, limits, ice, drum and cut tether.

use beamstay_tether::{
    CrossSection, DragCurve, Handbook, Layer, Line, Material, Measured, NormalDrag, Part,
    cross_section::{Extent, Ring},
    cut, drag,
    drum::{self, Drum, Lay, Winding},
    ice::{self, GlazeClass, IceSleeve, IcingFlow, RimeClass},
    limits::{self, BendPlace, LoadDuration},
    material, strumming,
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (group, rest) = model.split_once('.')?;
    match group {
        "drag" => drag_model(rest, inputs),
        "strumming" => strumming_model(rest, inputs),
        "material" => material_model(rest, inputs),
        "section" => section_model(rest, inputs),
        "limits" => limits_model(rest, inputs),
        "ice" => ice_model(rest, inputs),
        "drum" => drum_model(rest, inputs),
        "cut" => cut_model(rest, inputs),
        _ => None,
    }
}

fn text<'a>(inputs: &'a Value, key: &str) -> Option<&'a str> {
    inputs.get(key)?.as_str()
}

fn curve(inputs: &Value) -> Option<DragCurve> {
    Some(match text(inputs, "curve")? {
        "white" => DragCurve::White,
        "sucker_brauer" => DragCurve::SuckerBrauer,
        "cheng" => DragCurve::Cheng,
        "sharpe" => DragCurve::Sharpe,
        "constant" => DragCurve::Constant(number(inputs, "coefficient")?),
        _ => return None,
    })
}

fn drag_model(model: &str, inputs: &Value) -> Option<f64> {
    let yawed = || {
        let angle_rad = number(inputs, "angle_deg")?.to_radians();
        let (cn, ct) = (number(inputs, "normal_coefficient")?, number(inputs, "tangential_coefficient")?);
        drag::yawed_coefficients(cn, ct, angle_rad).ok()
    };
    match model {
        "coefficient" => Some(curve(inputs)?.coefficient(number(inputs, "reynolds")?)),
        "yawed_drag" => Some(yawed()?.0),
        "yawed_lift" => Some(yawed()?.1),
        _ => None,
    }
}

fn strumming_model(model: &str, inputs: &Value) -> Option<f64> {
    match model {
        "vandiver" => strumming::vandiver_amplification(number(inputs, "rms_amplitude_ratio")?).ok(),
        "blevins" => strumming::blevins_amplification(number(inputs, "peak_amplitude_ratio")?).ok(),
        "strouhal" => strumming::strouhal_number(number(inputs, "reynolds")?).ok(),
        "frequency_hz" => strumming::shedding_frequency_hz(
            number(inputs, "strouhal")?,
            number(inputs, "normal_speed_m_s")?,
            1e-3 * number(inputs, "diameter_mm")?,
        )
        .ok(),
        // Coefficient of a strumming line: a curve at a Reynolds number times the larger amplification.
        "strumming_coefficient" => {
            let amplification =
                strumming::cautious_amplification(number(inputs, "peak_amplitude_ratio")?).ok()?;
            let drag = NormalDrag::new(curve(inputs)?, amplification).ok()?;
            Some(drag.coefficient(number(inputs, "reynolds")?))
        }
        _ => None,
    }
}

fn material_model(model: &str, inputs: &Value) -> Option<f64> {
    let material = Handbook::named(text(inputs, "material")?)?.material();
    match model {
        "density_kg_m3" => Some(material.density_kg_m3),
        "modulus_gpa" => Some(1e-9 * material.youngs_modulus_pa),
        "strength_gpa" => Some(1e-9 * material.strength_pa),
        "failure_strain" => Some(material.failure_strain()),
        _ => None,
    }
}

/// Layers as the cases write them: a handbook name, with its numbers replaced where the case gives its own.
fn layer(inputs: &Value) -> Option<Layer> {
    let handbook = Handbook::named(text(inputs, "material")?)?.material();
    let material = Material {
        density_kg_m3: number(inputs, "density_kg_m3").unwrap_or(handbook.density_kg_m3),
        youngs_modulus_pa: number(inputs, "modulus_gpa").map_or(handbook.youngs_modulus_pa, |gpa| 1e9 * gpa),
        ..handbook
    };
    let part = match text(inputs, "part")? {
        "core" => Part::Core,
        "cladding" => Part::Cladding,
        "coating" => Part::Coating,
        "buffer" => Part::Buffer,
        "strength" => Part::Strength,
        "jacket" => Part::Jacket,
        "conductor" => Part::Conductor,
        _ => return None,
    };
    let outer_diameter_m = number(inputs, "outer_diameter_mm").map(|mm| 1e-3 * mm);
    let area_m2 = number(inputs, "solid_area_mm2").map(|mm2| 1e-6 * mm2);
    let extent = match (area_m2, outer_diameter_m) {
        (Some(area_m2), Some(outer_diameter_m)) => Extent::SolidAreaWithin { area_m2, outer_diameter_m },
        (Some(area_m2), None) => Extent::SolidArea { area_m2, fill_ratio: number(inputs, "fill_ratio")? },
        (None, outer) => Extent::OuterDiameter(outer?),
    };
    Some(Layer::Ring(Ring {
        part,
        material,
        extent,
        lay_angle_rad: 0.0,
        strength_realization_ratio: number(inputs, "strength_realization_ratio").unwrap_or(1.0),
        carries_load: part.carries_load(),
    }))
}

fn section_model(model: &str, inputs: &Value) -> Option<f64> {
    let layers: Option<Vec<Layer>> = inputs.get("layers")?.as_array()?.iter().map(layer).collect();
    let section = CrossSection::new(layers?, Measured::default()).ok()?;
    let stress_pa = || Some(1e6 * number(inputs, "glass_stress_mpa")?);
    match model {
        "mass_g_per_m" => Some(1e3 * section.mass_kg_per_m()),
        "last_layer_mass_g_per_m" => Some(1e3 * section.layers().last()?.mass_kg_per_m),
        "outer_diameter_mm" => Some(1e3 * section.outer_diameter_m()),
        "axial_stiffness_n" => section.axial_stiffness_n(),
        "glass_area_mm2" => Some(1e6 * section.layers().first()?.solid_area_m2),
        "breaking_load_n" => section.breaking_load_n(),
        "tension_at_glass_stress_n" => section.tension_at_glass_stress_n(stress_pa()?),
        "strain_percent_at_glass_stress" => {
            Some(100.0 * section.strain(section.tension_at_glass_stress_n(stress_pa()?)?)?)
        }
        "glass_share_n_at_glass_stress" => {
            let share: f64 = section
                .layers()
                .iter()
                .filter(|layer| layer.part.is_glass())
                .map(|layer| layer.load_share_ratio)
                .sum();
            Some(share * section.tension_at_glass_stress_n(stress_pa()?)?)
        }
        _ => None,
    }
}

fn duration(inputs: &Value) -> Option<LoadDuration> {
    Some(match text(inputs, "duration")? {
        "seconds" => LoadDuration::Seconds,
        "hours" => LoadDuration::Hours,
        "years" => LoadDuration::Years,
        _ => return None,
    })
}

fn limits_model(model: &str, inputs: &Value) -> Option<f64> {
    const PROOF_PA: f64 = material::PROOF_STRESS_100_KPSI_PA;
    const PA_PER_KPSI: f64 = PROOF_PA / 100.0;
    let glass_m = || Some(1e-6 * number(inputs, "glass_um")?);
    let bend_pa = || limits::bend_stress_pa(glass_m()?, 1e-3 * number(inputs, "bend_radius_mm")?).ok();
    match model {
        "proof_stress_mpa" => Some(1e-6 * PROOF_PA),
        "allowed_stress_mpa" => {
            let limit =
                limits::glass_stress_limit(0.0, 125e-6, f64::INFINITY, PROOF_PA, duration(inputs)?).ok()?;
            Some(1e-6 * limit.limit)
        }
        "bend_stress_mpa" => Some(1e-6 * bend_pa()?),
        "bend_stress_kpsi" => Some(bend_pa()? / PA_PER_KPSI),
        "least_bend_radius_mm" => {
            let axial_pa = 1e6 * number(inputs, "axial_stress_mpa").unwrap_or(0.0);
            let radius =
                limits::least_glass_bend_radius_m(axial_pa, glass_m()?, PROOF_PA, duration(inputs)?).ok()?;
            Some(1e3 * radius?)
        }
        "life_days" => Some(life_s(inputs)? / 86_400.0),
        "life_years" => Some(life_s(inputs)? / (365.25 * 86_400.0)),
        "cable_bend_radius_mm" => {
            let place = match text(inputs, "place")? {
                "drum" => BendPlace::Drum,
                "sheave" => BendPlace::Sheave,
                "vehicle_outlet" => BendPlace::VehicleOutlet,
                "at_rest" => BendPlace::AtRest,
                _ => return None,
            };
            let jacket_m = 1e-3 * number(inputs, "jacket_mm")?;
            let check =
                limits::bend_check(place, 1.0, 0.0, 125e-6, jacket_m, PROOF_PA, LoadDuration::Years).ok()?;
            Some(1e3 * check.cable_radius_m.limit)
        }
        _ => None,
    }
}

fn life_s(inputs: &Value) -> Option<f64> {
    let ratio = number(inputs, "stress_over_proof_ratio")?;
    limits::life_at_stress_s(ratio, number(inputs, "fatigue_parameter")?).ok()
}

fn glaze_class(name: &str) -> Option<GlazeClass> {
    use GlazeClass::{G1, G2, G3, G4, G5};
    Some(match name {
        "G1" => G1,
        "G2" => G2,
        "G3" => G3,
        "G4" => G4,
        "G5" => G5,
        _ => return None,
    })
}

fn rime_class(name: &str) -> Option<RimeClass> {
    use RimeClass::{R1, R2, R3, R4, R5, R6, R7, R8, R9};
    let index = name.strip_prefix('R')?.parse::<usize>().ok()?.checked_sub(1)?;
    [R1, R2, R3, R4, R5, R6, R7, R8, R9].get(index).copied()
}

const INCH_M: f64 = 0.0254;
const POUND_PER_FOOT_KG_PER_M: f64 = 0.453_592_37 / 0.3048;

/// NESC loading in the units of the handbook: ice by our sleeve, wind on the iced diameter, resultant plus constant.
fn nesc(model: &str, inputs: &Value) -> Option<f64> {
    let bare_lb_per_ft = number(inputs, "bare_lb_per_ft")?;
    let ice = IceSleeve::of_thickness(
        number(inputs, "diameter_in")? * INCH_M,
        number(inputs, "ice_in")? * INCH_M,
        number(inputs, "ice_density_kg_m3")?,
    )
    .ok()?;
    let iced_lb_per_ft = bare_lb_per_ft + ice.mass_kg_per_m() / POUND_PER_FOOT_KG_PER_M;
    let wind_lb_per_ft = number(inputs, "wind_lb_per_ft2")? * ice.outer_diameter_m() / 0.3048;
    match model {
        "nesc_ice_lb_per_ft" => Some(iced_lb_per_ft - bare_lb_per_ft),
        "nesc_iced_lb_per_ft" => Some(iced_lb_per_ft),
        "nesc_wind_lb_per_ft" => Some(wind_lb_per_ft),
        "nesc_total_lb_per_ft" => {
            Some(iced_lb_per_ft.hypot(wind_lb_per_ft) + number(inputs, "constant_lb_per_ft")?)
        }
        _ => None,
    }
}

fn ice_model(model: &str, inputs: &Value) -> Option<f64> {
    if model.starts_with("nesc_") {
        return nesc(model, inputs);
    }
    let diameter_m = 1e-3 * number(inputs, "diameter_mm")?;
    let flow = || {
        Some(IcingFlow {
            drop_diameter_m: 1e-6 * number(inputs, "drop_um")?,
            speed_m_s: number(inputs, "speed_m_s")?,
            line_diameter_m: diameter_m,
            air_density_kg_m3: number(inputs, "air_density_kg_m3")?,
            dynamic_viscosity_pa_s: number(inputs, "dynamic_viscosity_pa_s")?,
        })
    };
    match model {
        "glaze_mass_g_per_m" => {
            let thickness_m = 1e-3 * number(inputs, "thickness_mm")?;
            let density = number(inputs, "density_kg_m3")?;
            Some(1e3 * IceSleeve::of_thickness(diameter_m, thickness_m, density).ok()?.mass_kg_per_m())
        }
        "glaze_class_mass_kg_per_m" => {
            Some(IceSleeve::glaze(diameter_m, glaze_class(text(inputs, "class")?)?).ok()?.mass_kg_per_m())
        }
        "rime_class_diameter_mm" => {
            let mass_kg_per_m = rime_class(text(inputs, "class")?)?.mass_kg_per_m();
            let rime =
                IceSleeve::of_mass(diameter_m, mass_kg_per_m, number(inputs, "density_kg_m3")?).ok()?;
            Some(1e3 * rime.outer_diameter_m())
        }
        "inertia_parameter" => Some(flow()?.inertia_parameter()),
        "langmuir_parameter" => Some(flow()?.langmuir_parameter()),
        "collision_ratio" => flow()?.collision_ratio().ok(),
        "thin_line_collision_ratio" => flow()?.thin_line_collision_ratio().ok(),
        "thin_line_rate_g_per_m_h" => {
            let water_kg_m3 = 1e-3 * number(inputs, "water_g_m3")?;
            let collision_ratio = flow()?.thin_line_collision_ratio().ok()?;
            let speed_m_s = number(inputs, "speed_m_s")?;
            ice::accretion_rate_kg_per_m_s(collision_ratio, 1.0, 1.0, water_kg_m3, speed_m_s, diameter_m)
                .map(|rate| 3.6e6 * rate)
                .ok()
        }
        _ => None,
    }
}

fn drum_model(model: &str, inputs: &Value) -> Option<f64> {
    if model == "capstan_ratio" {
        let wrap_rad = number(inputs, "turns")? * std::f64::consts::TAU;
        return drum::capstan_ratio(number(inputs, "friction_coefficient")?, wrap_rad).ok();
    }
    let drum = Drum {
        core_diameter_m: number(inputs, "core_diameter_m")?,
        full_diameter_m: number(inputs, "full_diameter_m")?,
        width_m: number(inputs, "width_m")?,
    };
    let lay = match text(inputs, "lay")? {
        "square" => Lay::Square,
        "nested" => Lay::Nested,
        _ => return None,
    };
    let winding = Winding::new(drum, number(inputs, "line_diameter_m")?, lay, 0.0).ok()?;
    let layer_number = || inputs.get("layer")?.as_u64();
    match model {
        "capacity_m" => Some(winding.capacity_m()),
        "capacity_ft" => Some(winding.capacity_m() / 0.3048),
        "layers" => Some(winding.layers_count() as f64),
        "turns" => Some(winding.layer(layer_number()?)?.turns_count as f64),
        "line_pull_ratio" => winding.line_pull_ratio(layer_number()?),
        "innermost_bend_radius_m" => Some(winding.innermost_bend_radius_m()),
        _ => None,
    }
}

fn cut_model(model: &str, inputs: &Value) -> Option<f64> {
    let density_kg_m3 = number(inputs, "density_kg_m3")?;
    let diameter_m = 1e-3 * number(inputs, "diameter_mm")?;
    let displaced = number(inputs, "buoyant").unwrap_or(0.0) * std::f64::consts::FRAC_PI_4;
    let line = Line {
        mass_kg_per_m: 1e-3 * number(inputs, "mass_g_per_m")?,
        diameter_m,
        buoyancy_area_m2: displaced * diameter_m * diameter_m,
        axial_stiffness_n: None,
        normal_drag: NormalDrag::new(curve(inputs)?, 1.0).ok()?,
        tangential_coefficient: number(inputs, "tangential_coefficient").unwrap_or(0.02),
    };
    let viscosity_pa_s = number(inputs, "dynamic_viscosity_pa_s").unwrap_or(1.7894e-5);
    let broadside = || cut::broadside_speed_m_s(&line, density_kg_m3, viscosity_pa_s).ok();
    match model {
        "broadside_speed_m_s" => broadside(),
        "end_on_speed_m_s" => cut::end_on_speed_m_s(&line, density_kg_m3).ok(),
        "broadside_energy_j_per_m" => cut::kinetic_energy_j_per_m(line.mass_kg_per_m, broadside()?).ok(),
        _ => None,
    }
}
