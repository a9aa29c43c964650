//! Models of the area `environment`.

use std::{fs, path::PathBuf, sync::LazyLock};

use beamstay_environment::{
    AirFlow, Atmosphere, Flow, Fluid, GustModel, Profile, ProfileShape, Terrain, Water, WeatherHour,
    WeatherSeries, Weibull,
    atmosphere::{air, air_with_humidity, density_altitude_m},
    beaufort,
    gust::{OperatingGust, dryden},
    weather::{Summary, percentile},
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (group, output) = model.split_once('.')?;
    let n = |key| number(inputs, key);
    match group {
        "standard_atmosphere" => {
            let air = Atmosphere::new(0.0, n("temperature_offset_k").unwrap_or(0.0)).ok()?;
            property(&air.at(n("altitude_m")?), output)
        }
        "air" => property(&measured_air(inputs)?, output),
        "density_altitude" => density_altitude_m(measured_air(inputs)?.density_kg_m3).ok(),
        "air_flow" => air_flow(output, inputs),
        "water" => {
            let water = Water::new(n("temperature_c")?, n("practical_salinity")?).ok()?;
            property(&water.fluid(n("depth_m").unwrap_or(0.0)), output)
        }
        "profile" => profile(output, inputs),
        "roughness" => terrain(output),
        "operating_gust" => operating_gust(output, inputs),
        "gust_peak" => gust_peak(output, inputs),
        "dryden" => turbulence(output, inputs),
        "beaufort" => beaufort(output, inputs),
        "weibull" => weibull(output, inputs),
        "weather" => weather(output, inputs),
        _ => None,
    }
}

fn property(fluid: &Fluid, output: &str) -> Option<f64> {
    Some(match output {
        "temperature_k" => fluid.temperature_k,
        "pressure_pa" => fluid.pressure_pa,
        "density_kg_m3" => fluid.density_kg_m3,
        "dynamic_viscosity_pa_s" => fluid.dynamic_viscosity_pa_s,
        "kinematic_viscosity_m2_s" => fluid.kinematic_viscosity_m2_s(),
        "speed_of_sound_m_s" => fluid.speed_of_sound_m_s,
        "thermal_conductivity_w_per_m_k" => fluid.thermal_conductivity_w_per_m_k,
        "specific_heat_j_per_kg_k" => fluid.specific_heat_j_per_kg_k,
        "prandtl" => fluid.prandtl(),
        _ => return None,
    })
}

fn measured_air(inputs: &Value) -> Option<Fluid> {
    let temperature_k = number(inputs, "temperature_c")? + 273.15;
    let pressure_pa = number(inputs, "pressure_pa")?;
    match number(inputs, "relative_humidity_ratio") {
        Some(humidity) => air_with_humidity(temperature_k, pressure_pa, humidity).ok(),
        None => air(temperature_k, pressure_pa).ok(),
    }
}

/// The fitted air that the tether hangs in, at a geometric altitude.
fn air_flow(output: &str, inputs: &Value) -> Option<f64> {
    let calm = Profile::new(ProfileShape::Uniform { speed_m_s: 0.0 }).ok()?;
    let flow = AirFlow::new(Atmosphere::new(0.0, 0.0).ok()?, calm).ok()?;
    let sample = flow.at(number(inputs, "altitude_m")?);
    match output {
        "density_kg_m3" => Some(sample.density_kg_m3),
        "dynamic_viscosity_pa_s" => Some(sample.dynamic_viscosity_pa_s),
        _ => None,
    }
}

fn profile(shape: &str, inputs: &Value) -> Option<f64> {
    let n = |key| number(inputs, key);
    let speed_m_s = n("speed_m_s")?;
    let shape = match shape {
        "power_law" => ProfileShape::PowerLaw {
            speed_m_s,
            reference_height_m: n("reference_height_m")?,
            exponent: n("exponent")?,
        },
        "logarithmic" => ProfileShape::Logarithmic {
            speed_m_s,
            reference_height_m: n("reference_height_m")?,
            roughness_m: n("roughness_m")?,
        },
        _ => return None,
    };
    let profile = Profile::new(shape).ok()?;
    Some(profile.velocity_m_s(n("height_m")?).norm())
}

fn terrain(name: &str) -> Option<f64> {
    let names = ["sea", "smooth", "open", "roughly_open", "rough", "very_rough", "skimming", "chaotic"];
    let index = names.iter().position(|known| *known == name)?;
    Some(Terrain::ALL.get(index)?.roughness_m())
}

fn operating_gust(output: &str, inputs: &Value) -> Option<f64> {
    let n = |key| number(inputs, key);
    let gust = OperatingGust::new(
        n("mean_speed_m_s")?,
        n("height_m")?,
        n("reference_speed_m_s")?,
        n("turbulence_intensity_ratio")?,
        n("span_m")?,
    )
    .ok()?;
    Some(match output {
        "deviation_m_s" => gust.deviation_m_s,
        "one_year_extreme_m_s" => gust.one_year_extreme_m_s,
        "magnitude_m_s" => gust.magnitude_m_s,
        "peak_speed_m_s" => gust.peak_speed_m_s(),
        "speed_m_s" => gust.speed_m_s(n("time_s")?),
        _ => return None,
    })
}

fn gust_peak(model: &str, inputs: &Value) -> Option<f64> {
    let n = |key| number(inputs, key);
    let model = match model {
        "factor" => GustModel::Factor { ratio: n("ratio")? },
        "extreme_operating" => GustModel::ExtremeOperating {
            reference_speed_m_s: n("reference_speed_m_s")?,
            turbulence_intensity_ratio: n("turbulence_intensity_ratio")?,
            span_m: n("span_m")?,
        },
        "dryden" => GustModel::Dryden {
            shear_exponent: n("shear_exponent")?,
            deviations_ratio: n("deviations_ratio")?,
        },
        _ => return None,
    };
    model.peak_speed_m_s(n("mean_speed_m_s")?, n("height_m")?).ok()
}

fn turbulence(output: &str, inputs: &Value) -> Option<f64> {
    let speed_m_s = number(inputs, "speed_at_20_ft_kt")? * 1852.0 / 3600.0;
    let turbulence = dryden(speed_m_s, number(inputs, "height_m")?).ok()?;
    Some(match output {
        "deviation_along_m_s" => turbulence.deviation_along_m_s,
        "deviation_vertical_m_s" => turbulence.deviation_vertical_m_s,
        "deviation_ratio" => turbulence.deviation_along_m_s / turbulence.deviation_vertical_m_s,
        "length_along_m" => turbulence.length_along_m,
        "length_vertical_m" => turbulence.length_vertical_m,
        _ => return None,
    })
}

fn beaufort(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "force" => beaufort::force(number(inputs, "speed_m_s")?).ok().map(f64::from),
        "middle_speed_m_s" => beaufort::middle_speed_m_s(number(inputs, "force")? as u8).ok(),
        _ => None,
    }
}

fn weibull(output: &str, inputs: &Value) -> Option<f64> {
    let n = |key| number(inputs, key);
    let mut wind = Weibull::new(n("shape")?, n("scale_m_s")?).ok()?;
    if let (Some(from_m), Some(to_m), Some(exponent)) =
        (n("from_height_m"), n("to_height_m"), n("shear_exponent"))
    {
        wind = wind.scaled((to_m / from_m).powf(exponent)).ok()?;
    }
    Some(match output {
        "mean_m_s" => wind.mean_m_s(),
        "median_m_s" => wind.median_m_s(),
        "deviation_m_s" => wind.deviation_m_s(),
        "scale_m_s" => wind.scale_m_s(),
        "energy_pattern_factor" => wind.energy_pattern_factor(),
        "exceedance" => wind.exceedance(n("speed_m_s")?),
        "availability" => 1.0 - wind.exceedance(n("speed_m_s")?),
        "hours_above" => wind.exceedance(n("speed_m_s")?) * n("year_h")?,
        "quantile_m_s" => wind.quantile_m_s(n("probability")?).ok()?,
        _ => return None,
    })
}

/// The year of airport weather that the tests carry.
static YEAR: LazyLock<Option<WeatherSeries>> = LazyLock::new(|| {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenarios/weather/jfk-2013-hourly.csv");
    WeatherSeries::from_csv_reader(fs::File::open(path).ok()?).ok()
});

fn weather(output: &str, inputs: &Value) -> Option<f64> {
    let series = YEAR.as_ref()?;
    let n = |key| number(inputs, key);
    let winds: Vec<f64> = series.winds_m_s().collect();
    let above_zero_share = 1.0 - series.calm()?.1;
    Some(match output {
        "rows_count" => (series.hours.len() - series.missing_rows_count) as f64,
        "missing_rows_count" => series.missing_rows_count as f64,
        "wind_percentile_m_s" => series.wind_percentile_m_s(n("percent")?).ok()??,
        "calm_count" => series.calm()?.0 as f64,
        "share_above" => series.exceedance(n("limit_m_s")?, |hour| hour.wind_m_s)?.1,
        "hours_above" => series.exceedance(n("limit_m_s")?, |hour| hour.wind_m_s)?.0 as f64,
        "gust_hours_above" => series.exceedance(n("limit_m_s")?, WeatherHour::highest_wind_m_s)?.0 as f64,
        "weibull_likelihood_shape" => Weibull::from_speeds(&winds).ok()?.shape(),
        "weibull_likelihood_scale_m_s" => Weibull::from_speeds(&winds).ok()?.scale_m_s(),
        "weibull_likelihood_share_above" => {
            Weibull::from_speeds(&winds).ok()?.exceedance(n("limit_m_s")?) * above_zero_share
        }
        "weibull_moments_shape" => by_moments(&winds)?.shape(),
        "weibull_moments_scale_m_s" => by_moments(&winds)?.scale_m_s(),
        "weibull_moments_share_above" => by_moments(&winds)?.exceedance(n("limit_m_s")?),
        "persistence_share" => stay(series, inputs)?.0,
        "persistence_windows_count" => stay(series, inputs)?.1,
        "gust_ratio_percentile" => {
            percentile(&mut series.gust_ratios().collect::<Vec<_>>(), n("percent")?).ok()??
        }
        _ => return summary(series, output),
    })
}

fn by_moments(winds_m_s: &[f64]) -> Option<Weibull> {
    let summary = Summary::of(winds_m_s.iter().copied())?;
    Weibull::from_moments(summary.mean, summary.deviation).ok()
}

fn stay(series: &WeatherSeries, inputs: &Value) -> Option<(f64, f64)> {
    let (limit_m_s, window_h) = (number(inputs, "limit_m_s")?, number(inputs, "window_h")?);
    let within = |hour: &WeatherHour| hour.wind_m_s.map(|speed| speed <= limit_m_s);
    let stay = series.persistence(window_h as usize, within)?;
    Some((stay.share, stay.windows_count as f64))
}

/// `wind_mean`, `temperature_max`, … of the recorded hours.
fn summary(series: &WeatherSeries, output: &str) -> Option<f64> {
    let (quantity, statistic) = output.split_once('_')?;
    let values: Vec<f64> = match quantity {
        "wind" => series.winds_m_s().collect(),
        "gust" => series.hours.iter().filter_map(|hour| hour.wind_gust_m_s).collect(),
        "gustratio" => series.gust_ratios().collect(),
        "temperature" => series.hours.iter().filter_map(|hour| hour.temperature_c).collect(),
        "pressure" => series.hours.iter().filter_map(|hour| hour.pressure_pa).collect(),
        _ => return None,
    };
    let summary = Summary::of(values)?;
    Some(match statistic {
        "count" => summary.count as f64,
        "mean" => summary.mean,
        "deviation" => summary.deviation,
        "min" => summary.min,
        "max" => summary.max,
        _ => return None,
    })
}
