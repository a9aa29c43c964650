//! What a map asks: its axes, and the winds.

use serde_json::Value;

use crate::{
    Loaded,
    diagnostic::Diagnostic,
    scenario::{Scenario, WindProfile},
    search::{PAYLOAD, default_free},
    study::{Span, complete},
};

/// Winds at the reference height of the profile, m/s, where the user does not say which.
pub const DEFAULT_WINDS_M_S: [f64; 4] = [0.0, 5.0, 10.0, 15.0];

/// What to map.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionQuestion {
    /// Along the map, by default the height.
    pub x: Span,
    /// Up the map, by default the payload. Work is least where it does not move the tether.
    pub y: Span,
    /// The wind, or what else makes one map after the other; the values are listed.
    pub layers: Span,
}

impl RegionQuestion {
    /// Reads the axes and winds from their texts; what is left out has its default.
    ///
    /// # Errors
    /// Every fault of any text.
    pub fn parse(
        loaded: &Loaded,
        x: Option<&str>,
        y: Option<&str>,
        winds: Option<&str>,
    ) -> Result<Self, Vec<Diagnostic>> {
        let scenario = &loaded.scenario;
        let complete = complete(scenario);
        let mut faults = Vec::new();
        let mut axis = |text: Option<&str>, pointer: &str| {
            let span = match text {
                Some(text) => Span::parse(&complete, text),
                None => default_axis(scenario, &complete, pointer),
            };
            span.map_err(|fault| faults.push(*fault)).ok()
        };
        let x = axis(x, "/station/height_m");
        let y = axis(y, PAYLOAD);
        let winds = match winds {
            Some(text) if text.starts_with('/') => text.to_owned(),
            Some(text) => format!("{}={text}", wind_pointer(scenario)),
            None => {
                let listed = DEFAULT_WINDS_M_S.map(|w| w.to_string()).join(",");
                format!("{}={listed}", wind_pointer(scenario))
            }
        };
        let layers = axis(Some(&winds), "");
        match (x, y, layers) {
            (Some(x), Some(y), Some(layers)) => Ok(Self { x, y, layers }),
            _ => Err(faults),
        }
    }
}

impl RegionQuestion {
    /// Few places, for a reader who waits: the default axes with `x_count` and `y_count` values, in calm air (or still
    /// water) and in the plan's own flow. The boundary between two places is as exact as on a fine map.
    ///
    /// # Errors
    /// As [`RegionQuestion::parse`].
    pub fn coarse(loaded: &Loaded, x_count: usize, y_count: usize) -> Result<Self, Vec<Diagnostic>> {
        let mut question = Self::parse(loaded, None, None, None)?;
        question.x.count = Some(x_count);
        question.y.count = Some(y_count);
        let span = &question.layers;
        if let Some(flow) = span.input.value.filter(|flow| *flow > 0.0) {
            question.layers = Span { lo: 0.0, hi: flow, listed: Some(vec![0.0, flow]), ..span.clone() };
        }
        Ok(question)
    }
}

/// From nearly nothing to what could never close.
fn default_axis(scenario: &Scenario, complete: &Value, pointer: &str) -> Result<Span, Box<Diagnostic>> {
    let mut spans = default_free(scenario, complete, &[pointer])?;
    let span = spans.pop().map_or_else(|| Span::parse(complete, pointer), Ok)?;
    if pointer != PAYLOAD {
        return Ok(span);
    }
    // A payload that the thrust could lift is far more than power allows; four times the plan's fills the map better.
    let value = span.input.value.unwrap_or(0.0);
    let hi = if value > 0.0 { (4.0 * value).min(span.hi) } else { span.hi };
    Span::new(span.input, span.lo, hi)
}

/// Where the speed of the wind stands, or of the current for a vehicle in water.
fn wind_pointer(scenario: &Scenario) -> &'static str {
    use crate::scenario::Current;
    match (&scenario.site.water, &scenario.site.wind.profile) {
        (Some(water), _) => match water.current {
            Current::Uniform { .. } => "/site/water/current/uniform/speed_m_s",
            Current::SurfaceExponential { .. } => "/site/water/current/surface_exponential/surface_speed_m_s",
            Current::DepthPower { .. } => "/site/water/current/depth_power/surface_speed_m_s",
        },
        (None, WindProfile::Uniform { .. }) => "/site/wind/profile/uniform/speed_m_s",
        (None, WindProfile::PowerLaw { .. }) => "/site/wind/profile/power_law/speed_m_s",
        (None, WindProfile::Logarithmic { .. }) => "/site/wind/profile/logarithmic/speed_m_s",
    }
}
