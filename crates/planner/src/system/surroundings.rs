//! What the tether hangs in and the vehicle moves through: mean flow and gust.

use beamstay_environment::{
    atmosphere::Atmosphere,
    flow::{AirFlow, Flow, FlowSample, FourSamples, WaterFlow},
    fluid::Fluid,
    gust::GustModel,
    water::Water,
    wind::{Profile, ProfileShape},
};

use crate::{
    error::{At, PlanError},
    scenario::{self, Current, Gust, Site, TurbulenceClass, WaterKind, WindClass, WindProfile},
};

/// Rotor span that the operating gust of IEC 61400-1 averages over, m. A small craft feels nearly all of it.
const GUST_SPAN_M: f64 = 1.0;

/// Air or water in motion.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Stream {
    /// Wind.
    Air(AirFlow),
    /// Current.
    Water(WaterFlow),
}

impl Flow for Stream {
    fn at(&self, z_m: f64) -> FlowSample {
        match self {
            Self::Air(flow) => flow.at(z_m),
            Self::Water(flow) => flow.at(z_m),
        }
    }

    fn at_four(&self, z_m: &[f64; 4]) -> FourSamples {
        match self {
            Self::Air(flow) => flow.at_four(z_m),
            Self::Water(flow) => flow.at_four(z_m),
        }
    }

    fn kink_heights_m(&self) -> &[f64] {
        match self {
            Self::Air(flow) => flow.kink_heights_m(),
            Self::Water(flow) => flow.kink_heights_m(),
        }
    }
}

impl Stream {
    /// State of the fluid at `z_m` above the drum exit.
    pub fn fluid_at(&self, z_m: f64) -> Fluid {
        match self {
            Self::Air(flow) => flow.fluid_at(z_m),
            Self::Water(flow) => *flow.fluid(),
        }
    }

    /// Speed over the ground at `z_m` above the drum exit, m/s.
    pub fn speed_m_s(&self, z_m: f64) -> f64 {
        self.at(z_m).velocity_m_s.norm()
    }
}

/// Mean flow and what is needed to make a gust of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Surroundings {
    /// Mean flow; decides energy.
    pub mean: Stream,
    /// Air over the ground; the same as `mean` in air, still for a vehicle in water.
    pub ground_air: Fluid,
    /// Height of the drum exit above ground, m.
    pub exit_height_m: f64,
    gust: GustModel,
    /// Reference speed of a gust that is known, m/s; otherwise it follows from the model.
    gust_reference_m_s: Option<f64>,
}

impl Surroundings {
    /// Builds the flow of a site for a drum exit at `exit_height_m`.
    pub fn new(site: &Site, exit_height_m: f64) -> Result<Self, PlanError> {
        let mut atmosphere =
            Atmosphere::new(site.elevation_m, site.temperature_offset_k).at("/site/temperature_offset_k")?;
        if let Some(ratio) = site.relative_humidity_ratio {
            atmosphere = atmosphere.with_relative_humidity(ratio).at("/site/relative_humidity_ratio")?;
        }
        let ground_air = atmosphere.at(exit_height_m);
        let gust = gust_model(&site.wind.gust);
        let mean = match &site.water {
            Some(water) => Stream::Water(water_flow(water)?),
            None => Stream::Air(air_flow(atmosphere, &site.wind, exit_height_m)?),
        };
        Ok(Self { mean, ground_air, exit_height_m, gust, gust_reference_m_s: None })
    }

    /// The flow of a gust that reaches its peak at `z_m`: the mean profile scaled as a whole. In calm air a gust
    /// that does not vanish blows evenly at all heights. Water has no gusts.
    pub fn gust_at(&self, z_m: f64) -> Result<Stream, PlanError> {
        let Stream::Air(mean) = &self.mean else { return Ok(self.mean.clone()) };
        if let Some(reference_m_s) = self.gust_reference_m_s {
            return Ok(Stream::Air(mean.clone().with_speed_m_s(reference_m_s).at("/site/wind")?));
        }
        let speed_m_s = mean.at(z_m).velocity_m_s.norm();
        let height_m = (z_m + self.exit_height_m).max(1.0);
        let peak_m_s = self.gust.peak_speed_m_s(speed_m_s, height_m).at("/site/wind/gust")?;
        self.stream_with(z_m, peak_m_s)
    }

    /// The same with another mean wind and a gust that is known, both as speeds of the profile at its reference height, m/s.
    /// Water stays as it is.
    ///
    /// # Errors
    /// [`PlanError::Refused`] for a speed that no profile takes.
    pub fn with_winds(&self, mean_m_s: f64, gust_m_s: f64) -> Result<Self, PlanError> {
        let Stream::Air(mean) = &self.mean else { return Ok(self.clone()) };
        let mean = mean.clone().with_speed_m_s(mean_m_s).at("/site/weather")?;
        Ok(Self { mean: Stream::Air(mean), gust_reference_m_s: Some(gust_m_s), ..self.clone() })
    }

    /// Peak of the gust that the site's rule gives on a mean of `mean_m_s` at `z_m` over the drum exit, m/s.
    ///
    /// # Errors
    /// [`PlanError::Refused`] for a mean that the rule does not take.
    pub fn gust_peak_m_s(&self, z_m: f64, mean_m_s: f64) -> Result<f64, PlanError> {
        let height_m = (z_m + self.exit_height_m).max(1.0);
        self.gust.peak_speed_m_s(mean_m_s, height_m).at("/site/wind/gust")
    }

    /// The flow whose speed is `speed_m_s` at `z_m`: the mean profile scaled as a whole, or in calm air the same at all heights.
    /// Water stays as it is.
    pub fn stream_with(&self, z_m: f64, speed_m_s: f64) -> Result<Stream, PlanError> {
        let Stream::Air(mean) = &self.mean else { return Ok(self.mean.clone()) };
        let mean_m_s = mean.at(z_m).velocity_m_s.norm();
        let flow = if mean_m_s > 1e-6 {
            let scaled = mean.profile().shape.reference_speed_m_s() * speed_m_s / mean_m_s;
            mean.clone().with_speed_m_s(scaled).at("/site/wind")?
        } else {
            let shape = ProfileShape::Uniform { speed_m_s };
            AirFlow::new(*mean.atmosphere(), Profile { shape, ..*mean.profile() }).at("/site/wind")?
        };
        Ok(Stream::Air(flow))
    }
}

fn air_flow(atmosphere: Atmosphere, wind: &scenario::Wind, exit_height_m: f64) -> Result<AirFlow, PlanError> {
    let shape = match wind.profile {
        WindProfile::Uniform { speed_m_s } => ProfileShape::Uniform { speed_m_s },
        WindProfile::PowerLaw { speed_m_s, reference_height_m, exponent } => {
            ProfileShape::PowerLaw { speed_m_s, reference_height_m, exponent }
        }
        WindProfile::Logarithmic { speed_m_s, reference_height_m, roughness_m } => {
            ProfileShape::Logarithmic { speed_m_s, reference_height_m, roughness_m }
        }
    };
    let profile = Profile {
        shape,
        direction_deg: 0.0,
        veer_deg_per_m: wind.veer_deg_per_m,
        floor_height_m: wind.floor_height_m,
        exit_height_m,
    };
    AirFlow::new(atmosphere, profile).at("/site/wind")
}

fn water_flow(water: &scenario::Water) -> Result<WaterFlow, PlanError> {
    let state = match water.kind {
        WaterKind::Fresh => Water::fresh(water.temperature_c),
        WaterKind::Sea => Water::sea(water.temperature_c),
    }
    .at("/site/water/temperature_c")?;
    let shape = match water.current {
        Current::Uniform { speed_m_s } => ProfileShape::Uniform { speed_m_s },
        Current::SurfaceExponential { surface_speed_m_s, decay_depth_m } => {
            ProfileShape::SurfaceExponential { surface_speed_m_s, decay_depth_m }
        }
        Current::DepthPower { surface_speed_m_s, exponent } => {
            ProfileShape::DepthPower { surface_speed_m_s, depth_m: water.depth_m, exponent }
        }
    };
    let mut profile = Profile::new(shape).at("/site/water/current")?;
    profile.veer_deg_per_m = water.veer_deg_per_m;
    WaterFlow::new(state.fluid(0.5 * water.depth_m), profile).at("/site/water/current")
}

fn gust_model(gust: &Gust) -> GustModel {
    match *gust {
        Gust::Factor { ratio } => GustModel::Factor { ratio },
        Gust::ExtremeOperatingGust { wind_class, turbulence_class } => GustModel::ExtremeOperating {
            reference_speed_m_s: match wind_class {
                WindClass::One => 50.0,
                WindClass::Two => 42.5,
                WindClass::Three => 37.5,
            },
            turbulence_intensity_ratio: match turbulence_class {
                TurbulenceClass::A => 0.16,
                TurbulenceClass::B => 0.14,
                TurbulenceClass::C => 0.12,
            },
            span_m: GUST_SPAN_M,
        },
        Gust::Dryden { deviations_count, exponent } => {
            GustModel::Dryden { shear_exponent: exponent, deviations_ratio: deviations_count }
        }
    }
}
