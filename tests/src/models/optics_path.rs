//! Models of the area `optics_path`.

use beamstay_optics::{
    OpticsError,
    beam::{Air, Aperture, Beam, Focus, Spot, SpreadModel, Turbulence, VisibilityModel, extinction, gas},
    connector::{Connection, ConnectionKind, total_loss_db},
    decibel,
    fiber::{
        Attenuation, ComposedAttenuation, CoreProfile, Fiber, Packing, PowerLimits, WoundPack, bend, limits,
        rayleigh_scattering_db_per_km, winding,
    },
    laser::{Conversion, Diodes, Laser, WallPlug, quantum_limit_w_per_a},
    launch::Source,
    silica,
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (part, output) = model.split_once('.')?;
    match part {
        "silica" => of_silica(output, inputs),
        "laser" => of_laser(output, inputs),
        "attenuation" => of_attenuation(output, inputs),
        "fiber" => of_fiber(output, inputs),
        "launch" => of_launch(output, inputs),
        "connector" => of_connector(output, inputs),
        "bend" => of_bend(output, inputs),
        "limits" => of_limits(output, inputs),
        "drum" => of_drum(output, inputs),
        "beam" => of_beam(output, inputs),
        "capture" => of_capture(output, inputs),
        "turbulence" => of_turbulence(output, inputs),
        "extinction" => of_extinction(output, inputs),
        _ => None,
    }
}

fn of_silica(output: &str, inputs: &Value) -> Option<f64> {
    if output == "fresnel_reflectance_ratio" {
        return Some(silica::fresnel_reflectance_ratio(number(inputs, "refractive_index")?));
    }
    if output == "facets_loss_db" {
        let reflectance = silica::fresnel_reflectance_ratio(number(inputs, "refractive_index")?);
        return Some(number(inputs, "facets_count")? * decibel::loss_of_ratio(1.0 - reflectance));
    }
    let wavelength_m = number(inputs, "wavelength_m")?;
    match output {
        "refractive_index" => silica::refractive_index(wavelength_m),
        "group_index" => silica::group_index(wavelength_m),
        "facet_reflectance_ratio" => silica::facet_reflectance_ratio(wavelength_m),
        "facet_loss_db" => {
            silica::facet_reflectance_ratio(wavelength_m).map(|r| decibel::loss_of_ratio(1.0 - r))
        }
        "air_gap_loss_db" => silica::air_gap_transmission_ratio(wavelength_m).map(decibel::loss_of_ratio),
        "rayleigh_floor_db_per_km" => silica::rayleigh_floor_db_per_km(wavelength_m),
        _ => return None,
    }
    .ok()
}

fn of_laser(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "quantum_limit_w_per_a" => quantum_limit_w_per_a(number(inputs, "wavelength_m")?).ok(),
        "external_quantum_efficiency_ratio" => {
            let limit_w_per_a = quantum_limit_w_per_a(number(inputs, "wavelength_m")?).ok()?;
            let above_threshold_a = number(inputs, "current_a")? - number(inputs, "threshold_a")?;
            Some(number(inputs, "optical_w")? / above_threshold_a / limit_w_per_a)
        }
        "drifted_wavelength_nm" => {
            let mut laser =
                laser(Conversion::WallPlug(WallPlug { efficiency_ratio: 0.5, efficiency_loss_per_k: 0.0 }));
            laser.wavelength_m = number(inputs, "wavelength_m")?;
            laser.wavelength_drift_nm_per_k = number(inputs, "drift_nm_per_k")?;
            let state = laser.operate(10.0, 298.15 + number(inputs, "warming_k")?).ok()?;
            Some(1e9 * state.wavelength_m)
        }
        "wall_plug_efficiency_ratio" => {
            let laser = laser(Conversion::WallPlug(WallPlug {
                efficiency_ratio: number(inputs, "reference_efficiency_ratio")?,
                efficiency_loss_per_k: number(inputs, "efficiency_loss_per_k")?,
            }));
            let state = laser.operate(10.0, 298.15 + number(inputs, "warming_k")?).ok()?;
            Some(state.optical_w / state.electrical_w)
        }
        _ => of_diodes(output, inputs),
    }
}

fn of_diodes(output: &str, inputs: &Value) -> Option<f64> {
    let diodes = Diodes {
        emitters_in_series_count: 1,
        threshold_a: number(inputs, "threshold_a")?,
        threshold_characteristic_temp_k: number(inputs, "threshold_characteristic_temp_k")?,
        slope_w_per_a: number(inputs, "slope_w_per_a")?,
        slope_characteristic_temp_k: number(inputs, "slope_characteristic_temp_k")?,
        turn_on_voltage_v: number(inputs, "turn_on_voltage_v").unwrap_or(1.7),
        series_resistance_ohm: number(inputs, "series_resistance_ohm").unwrap_or(0.01),
        rated_current_a: 100.0,
    };
    let warming_k = number(inputs, "warming_k")?;
    match output {
        "threshold_a" => Some(diodes.threshold_a_at(warming_k)),
        "slope_w_per_a" => Some(diodes.slope_w_per_a_at(warming_k)),
        "optical_w" => Some(diodes.optical_w(number(inputs, "current_a")?, warming_k)),
        "current_a" => {
            let laser = laser(Conversion::Diodes(diodes));
            laser.operate(number(inputs, "optical_w")?, 298.15 + warming_k).ok()?.current_a
        }
        "diode_efficiency_ratio" => {
            let laser = laser(Conversion::Diodes(diodes));
            let state = laser.operate(number(inputs, "optical_w")?, 298.15 + warming_k).ok()?;
            Some(state.optical_w / state.electrical_w)
        }
        _ => None,
    }
}

fn laser(conversion: Conversion) -> Laser {
    Laser {
        rated_optical_w: 100.0,
        wavelength_m: 808e-9,
        wavelength_drift_nm_per_k: 0.0,
        linewidth_m: 2e-9,
        reference_coolant_temp_k: 298.15,
        conversion,
        driver_efficiency_ratio: 1.0,
    }
}

fn of_attenuation(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "rayleigh_scattering_db_per_km" => rayleigh_scattering_db_per_km(
            number(inputs, "wavelength_m")?,
            number(inputs, "refractive_index")?,
            number(inputs, "photoelastic_coefficient")?,
            number(inputs, "compressibility_m2_per_n")?,
            number(inputs, "fictive_temp_k")?,
        )
        .ok(),
        "composed_db_per_km" => composed(inputs).at_db_per_km(number(inputs, "wavelength_m")?).ok(),
        "infrared_edge_db_per_km" => {
            // What the edge adds to a fiber that has no other absorption.
            let wavelength_m = number(inputs, "wavelength_m")?;
            let with = composed(inputs).at_db_per_km(wavelength_m).ok()?;
            let without = composed(&Value::Null).at_db_per_km(wavelength_m).ok()?;
            Some(with - without)
        }
        _ => None,
    }
}

/// A composed attenuation of the named parts; what is not named is nothing.
fn composed(inputs: &Value) -> Attenuation {
    let or = |key: &str, default: f64| number(inputs, key).unwrap_or(default);
    Attenuation::Composed(ComposedAttenuation {
        rayleigh_db_um4_per_km: or("rayleigh_db_um4_per_km", 0.7),
        constant_db_per_km: or("constant_db_per_km", 0.0),
        ultraviolet_db_per_km: or("ultraviolet_db_per_km", 0.0),
        ultraviolet_slope_um: or("ultraviolet_slope_um", 4.67),
        infrared_db_per_km: or("infrared_db_per_km", 0.0),
        infrared_slope_um: or("infrared_slope_um", 48.48),
        hydroxyl_db_per_km: or("hydroxyl_db_per_km", 0.0),
        hydroxyl_centre_um: or("hydroxyl_centre_um", 1.38),
        hydroxyl_half_width_um: or("hydroxyl_half_width_um", 0.016),
    })
}

fn fiber(inputs: &Value) -> Option<Fiber> {
    let core_diameter_m = number(inputs, "core_diameter_m")?;
    Some(Fiber {
        core_diameter_m,
        cladding_diameter_m: 1.1 * core_diameter_m,
        numerical_aperture: number(inputs, "numerical_aperture")?,
        profile: CoreProfile::Step,
        attenuation: Attenuation::Measured {
            attenuation_db_per_km: number(inputs, "attenuation_db_per_km").unwrap_or(3.0),
        },
        coating_temp_limit_k: 358.15,
    })
}

fn of_fiber(output: &str, inputs: &Value) -> Option<f64> {
    let (fiber, wavelength_m) = (fiber(inputs)?, number(inputs, "wavelength_m")?);
    match output {
        "v_number" => fiber.v_number(wavelength_m),
        "modes_count" => fiber.modes_count(wavelength_m),
        "etendue_mm2_sr" => Ok(1e6 * fiber.etendue_m2_sr()),
        "filling_beam_quality_m2_ratio" => fiber.filling_beam_quality_m2_ratio(wavelength_m),
        "transmission_ratio" => fiber.transmission_ratio(number(inputs, "length_m")?, wavelength_m),
        "mean_intensity_w_per_m2" => fiber.mean_intensity_w_per_m2(number(inputs, "power_w")?, wavelength_m),
        "heat_w_per_m" => fiber.heat_w_per_m(number(inputs, "power_w")?, wavelength_m),
        _ => return None,
    }
    .ok()
}

fn of_launch(output: &str, inputs: &Value) -> Option<f64> {
    let spot_diameter_m = number(inputs, "spot_diameter_m")?;
    let source = match number(inputs, "source_numerical_aperture") {
        Some(numerical_aperture) => Source::Uniform { spot_diameter_m, numerical_aperture },
        None => Source::Gaussian {
            spot_diameter_m,
            beam_quality_m2_ratio: number(inputs, "beam_quality_m2_ratio")?,
        },
    };
    let ratio = source.match_ratio(&fiber(inputs)?, number(inputs, "wavelength_m")?).ok()?;
    match output {
        "match_ratio" => Some(ratio),
        "match_loss_db" => Some(decibel::loss_of_ratio(ratio)),
        _ => None,
    }
}

fn of_connector(output: &str, inputs: &Value) -> Option<f64> {
    if output != "channel_loss_db" {
        return None;
    }
    let joints = |key: &str| number(inputs, key).map(|count| count as usize);
    let mut connections = vec![Connection::worst_connector(); joints("connectors_count")?];
    connections.extend(vec![Connection::worst_splice(); joints("splices_count")?]);
    let other_db = number(inputs, "other_db").unwrap_or(0.0);
    connections.push(Connection::new(ConnectionKind::Connector, other_db).ok()?);
    let fiber_db = number(inputs, "attenuation_db_per_km")? * 1e-3 * number(inputs, "length_m")?;
    Some(fiber_db + total_loss_db(&connections))
}

fn of_bend(output: &str, inputs: &Value) -> Option<f64> {
    let radius_m = number(inputs, "bend_radius_m")?;
    let wavelength_m = number(inputs, "wavelength_m")?;
    if output == "graded_kept_modes_ratio" {
        return bend::gloge_kept_modes_ratio(
            CoreProfile::Graded { exponent: number(inputs, "profile_exponent")? },
            number(inputs, "core_radius_m")?,
            number(inputs, "cladding_index")?,
            number(inputs, "index_contrast")?,
            radius_m,
            wavelength_m,
        )
        .ok();
    }
    let fiber = fiber(inputs)?;
    let kept = bend::kept_modes_ratio(&fiber, radius_m, wavelength_m);
    match output {
        "kept_modes_ratio" => kept.ok(),
        "loss_db" => kept.ok().map(decibel::loss_of_ratio),
        "bent_numerical_aperture" => bend::bent_numerical_aperture(&fiber, radius_m, wavelength_m).ok(),
        "geometric_limit_m" => match kept {
            Err(OpticsError::BendGuidesNothing { limit_m, .. }) => Some(limit_m),
            _ => None,
        },
        _ => None,
    }
}

fn of_limits(output: &str, inputs: &Value) -> Option<f64> {
    let gain = |key: &str, default: f64| number(inputs, key).unwrap_or(default);
    match output {
        "effective_length_m" => {
            limits::effective_length_m(number(inputs, "attenuation_db_per_km")?, number(inputs, "length_m")?)
                .ok()
        }
        "raman_threshold_w" => {
            let wavelength_m = number(inputs, "wavelength_m")?;
            let gain_m_per_w = gain("gain_m_per_w", limits::raman_gain_m_per_w(wavelength_m).ok()?);
            let (area_m2, length_m) = area_and_length(inputs)?;
            limits::raman_threshold_w(area_m2, length_m, gain_m_per_w).ok()
        }
        "brillouin_threshold_w" => {
            let (area_m2, length_m) = area_and_length(inputs)?;
            let gain_m_per_w = gain("gain_m_per_w", limits::BRILLOUIN_GAIN_M_PER_W);
            let width_hz = gain("linewidth_hz", 0.0);
            let gain_width_hz = gain("gain_width_hz", limits::BRILLOUIN_WIDTH_HZ);
            limits::brillouin_threshold_w(area_m2, length_m, gain_m_per_w, width_hz, gain_width_hz).ok()
        }
        "fuse_caution_w" => {
            let at = PowerLimits::of(&fiber(inputs)?, 100.0, number(inputs, "wavelength_m")?, 0.0);
            at.ok().map(|limits| limits.fuse_caution_w)
        }
        "linewidth_hz" => {
            limits::linewidth_hz(number(inputs, "linewidth_m")?, number(inputs, "wavelength_m")?).ok()
        }
        "line_factor_ratio" => {
            // How much a broad line raises the Brillouin threshold of one and the same fiber.
            let (fiber, wavelength_m) = (fiber(inputs)?, number(inputs, "wavelength_m")?);
            let at = |linewidth_m| PowerLimits::of(&fiber, 100.0, wavelength_m, linewidth_m);
            let broad = at(number(inputs, "linewidth_m")?).ok()?;
            Some(broad.brillouin_threshold_w / at(0.0).ok()?.brillouin_threshold_w)
        }
        _ => None,
    }
}

fn area_and_length(inputs: &Value) -> Option<(f64, f64)> {
    let length_m =
        limits::effective_length_m(number(inputs, "attenuation_db_per_km")?, number(inputs, "length_m")?)
            .ok()?;
    Some((number(inputs, "area_m2")?, length_m))
}

fn of_drum(output: &str, inputs: &Value) -> Option<f64> {
    if let "uniform_surface_rise_k" | "uniform_inside_rise_k" | "uniform_rise_k" = output {
        let (surface_k, inside_k) = winding::uniform_cylinder_rise_k(
            number(inputs, "source_w_per_m3")?,
            number(inputs, "inner_radius_m")?,
            number(inputs, "outer_radius_m")?,
            number(inputs, "conductivity_w_per_m_k")?,
            number(inputs, "surface_coefficient_w_per_m2_k")?,
        )
        .ok()?;
        return Some(match output {
            "uniform_surface_rise_k" => surface_k,
            "uniform_inside_rise_k" => inside_k,
            _ => surface_k + inside_k,
        });
    }
    let pack = WoundPack {
        inner_radius_m: number(inputs, "inner_radius_m")?,
        width_m: number(inputs, "width_m")?,
        line_diameter_m: number(inputs, "line_diameter_m")?,
        packing: if inputs.get("hexagonal").is_some() { Packing::Hexagonal } else { Packing::Square },
        conductivity_w_per_m_k: 0.25,
        surface_coefficient_w_per_m2_k: 10.0,
        ambient_temp_k: 298.15,
    };
    let length_m = number(inputs, "wound_length_m")?;
    if output == "outer_radius_m" {
        return pack.outer_radius_m(length_m).ok();
    }
    let heat = pack
        .heat(
            number(inputs, "power_w")?,
            length_m,
            number(inputs, "attenuation_db_per_km")?,
            number(inputs, "bend_loss_w").unwrap_or(0.0),
        )
        .ok()?;
    match output {
        "attenuation_w" => Some(heat.attenuation_w),
        "surface_rise_k" => Some(heat.surface_temp_k - 298.15),
        "inside_rise_k" => Some(heat.hottest_temp_k - heat.surface_temp_k),
        _ => None,
    }
}

fn of_beam(output: &str, inputs: &Value) -> Option<f64> {
    let beam = Beam {
        launch_radius_m: number(inputs, "launch_radius_m")?,
        beam_quality_m2_ratio: number(inputs, "beam_quality_m2_ratio").unwrap_or(1.0),
        focus: if inputs.get("focused").is_some() { Focus::AtReceiver } else { Focus::Collimated },
        aperture_radius_m: number(inputs, "aperture_radius_m"),
    };
    match output {
        "radius_m" => beam.radius_m(number(inputs, "range_m")?, number(inputs, "wavelength_m")?).ok(),
        "truncation_ratio" => Some(beam.truncation_ratio()),
        "truncation_loss_db" => Some(decibel::loss_of_ratio(beam.truncation_ratio())),
        _ => None,
    }
}

fn of_capture(output: &str, inputs: &Value) -> Option<f64> {
    let or = |key: &str, default: f64| number(inputs, key).unwrap_or(default);
    let aperture = match output {
        "round_ratio" => Aperture::Round { radius_m: number(inputs, "aperture_radius_m")? },
        "rectangle_ratio" => Aperture::Rectangle {
            half_width_m: number(inputs, "half_width_m")?,
            half_height_m: number(inputs, "half_height_m")?,
        },
        "ring_ratio" => Aperture::Ring {
            inner_radius_m: number(inputs, "inner_radius_m")?,
            outer_radius_m: number(inputs, "outer_radius_m")?,
        },
        _ => return None,
    };
    let spot = Spot {
        radius_m: number(inputs, "spot_radius_m")?,
        offset_along_m: or("offset_along_m", 0.0),
        offset_across_m: or("offset_across_m", 0.0),
        incidence_rad: or("incidence_rad", 0.0),
    };
    aperture.capture_ratio(&spot.with_jitter(or("jitter_m", 0.0))).ok()
}

fn of_turbulence(output: &str, inputs: &Value) -> Option<f64> {
    let spread = match inputs.get("spread").and_then(Value::as_str) {
        Some("andrews_phillips") => SpreadModel::AndrewsPhillips,
        Some("coherence_length") => SpreadModel::CoherenceLength,
        _ => SpreadModel::Larger,
    };
    let turbulence =
        Turbulence { structure_constant_m_2_3: number(inputs, "structure_constant_m_2_3")?, spread };
    let (range_m, wavelength_m) = (number(inputs, "range_m")?, number(inputs, "wavelength_m")?);
    let radius_m = || {
        let beam = Beam {
            launch_radius_m: number(inputs, "launch_radius_m")?,
            beam_quality_m2_ratio: number(inputs, "beam_quality_m2_ratio")?,
            focus: Focus::Collimated,
            aperture_radius_m: None,
        };
        let vacuum_m = beam.radius_m(range_m, wavelength_m).ok()?;
        turbulence.long_term_radius_m(vacuum_m, range_m, wavelength_m).ok()
    };
    match output {
        "spherical_over_plane_ratio" => {
            let plane_m = turbulence.plane_coherence_m(range_m, wavelength_m).ok()??;
            Some(turbulence.spherical_coherence_m(range_m, wavelength_m).ok()?? / plane_m)
        }
        "plane_coherence_m" => turbulence.plane_coherence_m(range_m, wavelength_m).ok()?,
        "spherical_coherence_m" => turbulence.spherical_coherence_m(range_m, wavelength_m).ok()?,
        "rytov_variance" => turbulence.rytov_variance(range_m, wavelength_m).ok(),
        "long_term_radius_m" => radius_m(),
        "capture_ratio" => {
            let aperture = Aperture::Round { radius_m: number(inputs, "aperture_radius_m")? };
            aperture.capture_ratio(&Spot::centred(radius_m()?)).ok()
        }
        _ => None,
    }
}

fn of_extinction(output: &str, inputs: &Value) -> Option<f64> {
    let wavelength_m = number(inputs, "wavelength_m")?;
    if output == "gas_db_per_km" {
        return gas::absorption_db_per_km(wavelength_m).ok();
    }
    let visibility_m = number(inputs, "visibility_m")?;
    match output {
        "kruse_db_per_km" => extinction::haze_db_per_km(visibility_m, wavelength_m, VisibilityModel::Kruse),
        "kim_db_per_km" => extinction::haze_db_per_km(visibility_m, wavelength_m, VisibilityModel::Kim),
        "air_db_per_km" => {
            Air::of_visibility(visibility_m).and_then(|air| air.extinction_db_per_km(wavelength_m))
        }
        _ => return None,
    }
    .ok()
}
