//! Limits as rows: what is used, what is allowed, what is left.

use serde::Serialize;

/// Stable name of a limit; each is explained in `docs/limits.md`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum LimitCode {
    /// Power at the bus over the demand with its reserve.
    Power,
    /// Laser setting that meets the demand, against the rating.
    LaserPower,
    /// Most power at the bus under any light, against the demand; told where no laser power meets it.
    LightPeak,
    /// Temperature of the cells.
    CellTemperature,
    /// Irradiance that enters the brightest cell.
    CellIrradiance,
    /// Photon energy against the band edge of the cells.
    BandEdge,
    /// Light that gets past the receiver.
    SpillOver,
    /// Load of the converter on board against its rating.
    ConverterPower,
    /// Thrust left in the gust.
    ThrustReserve,
    /// Tilt in the mean wind.
    Tilt,
    /// Tilt in the gust.
    TiltInGust,
    /// Thrust that is needed against the largest there is.
    Thrust,
    /// Shaft power of the motors in the gust.
    MotorPower,
    /// Voltage before the controllers in the gust, against that of the bus.
    BusVoltage,
    /// Motor current in the gust.
    MotorCurrent,
    /// Winding temperature if the gust lasted.
    WindingTemperature,
    /// What can be held or landed with rotors lost.
    RotorsLost,
    /// Planned descent against the vortex ring state.
    DescentRate,
    /// Lift over weight of a wing.
    LoadFactor,
    /// Air flowing through the rotors from above, not from below.
    AxialInflow,
    /// Shaft power above zero.
    ShaftPower,
    /// Stall of the wing.
    Stall,
    /// Airspeed against the wind.
    Headway,
    /// Drum tension against the least that hangs free.
    DrumTension,
    /// Length against the distance.
    TetherReach,
    /// Largest tension in the gust against the breaking load with its factor.
    BreakingLoad,
    /// Largest strain of the line in the gust.
    Strain,
    /// Largest stress in the glass in the mean wind.
    GlassStress,
    /// Largest stress in the glass in the gust.
    GlassStressInGust,
    /// Stress in the glass on the drum.
    GlassStressOnDrum,
    /// Bend radius against the diameter of the line.
    BendRadius,
    /// Elevation at the drum.
    DrumElevation,
    /// Lowest point over ground.
    Clearance,
    /// Length that lies on the ground.
    LineOnGround,
    /// Length paid out, in mean wind or gust, against the length there is.
    LineLength,
    /// Line against what the drum holds.
    DrumCapacity,
    /// Hottest layer of the drum.
    DrumTemperature,
    /// Light in the fiber against the Raman threshold.
    RamanThreshold,
    /// Light in the fiber against the Brillouin threshold.
    BrillouinThreshold,
    /// Loss of the data link against its budget.
    DataLinkLoss,
    /// Length of the data link against the longest.
    DataLinkLength,
    /// Power over a line against the most it can carry.
    LineTransfer,
    /// Hottest wire of a copper line.
    LineTemperature,
    /// Power for the gust, with the battery's help.
    PowerInGust,
}

/// Which side of the bound is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// The value may not exceed the bound.
    AtMost,
    /// The value may not fall below the bound.
    AtLeast,
}

/// A bound as small as this, in the unit of its limit, counts as 0: a ratio to it would say nothing.
const NO_BOUND: f64 = 1e-9;

/// One limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LimitRow {
    /// Which.
    pub code: LimitCode,
    /// What is, in [`Self::unit`].
    pub value: f64,
    /// What is allowed, in [`Self::unit`].
    pub limit: f64,
    /// Unit of both, empty for a pure number.
    pub unit: &'static str,
    /// Which side is allowed.
    pub sense: Sense,
    /// What is left, in [`Self::unit`]; negative where the limit is broken.
    pub margin: f64,
    /// What is left over the bound; none where the bound is 0.
    pub margin_ratio: Option<f64>,
    /// Whether the limit holds.
    pub ok: bool,
}

impl LimitRow {
    /// A value that may not exceed `limit`.
    pub fn at_most(code: LimitCode, value: f64, limit: f64, unit: &'static str) -> Self {
        Self::new(code, value, limit, unit, Sense::AtMost)
    }

    /// A value that may not fall below `limit`.
    pub fn at_least(code: LimitCode, value: f64, limit: f64, unit: &'static str) -> Self {
        Self::new(code, value, limit, unit, Sense::AtLeast)
    }

    fn new(code: LimitCode, value: f64, limit: f64, unit: &'static str, sense: Sense) -> Self {
        let margin = match sense {
            Sense::AtMost => limit - value,
            Sense::AtLeast => value - limit,
        };
        // What a model could not compute must not look like a margin.
        let margin = if margin.is_nan() { -f64::MAX } else { finite(margin) };
        let margin_ratio = (limit.abs() > NO_BOUND).then(|| finite(margin / limit.abs()));
        Self {
            code,
            value: finite(value),
            limit: finite(limit),
            unit,
            sense,
            margin,
            margin_ratio,
            ok: margin >= 0.0,
        }
    }

    /// How near the limit is, on one scale for all: the margin ratio, or for a bound of 0 the margin itself.
    pub fn closeness(&self) -> f64 {
        self.margin_ratio.unwrap_or(self.margin)
    }
}

/// The largest finite number in place of one that is not.
fn finite(value: f64) -> f64 {
    if value.is_nan() { f64::MAX } else { value.clamp(-f64::MAX, f64::MAX) }
}

/// The limit that is nearest or most broken.
pub fn tightest(rows: &[LimitRow]) -> Option<&LimitRow> {
    rows.iter().min_by(|a, b| {
        (a.ok, a.closeness()).partial_cmp(&(b.ok, b.closeness())).unwrap_or(std::cmp::Ordering::Equal)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn margins_have_the_sign_of_what_is_left() {
        let row = LimitRow::at_most(LimitCode::Tilt, 20.0, 25.0, "°");
        assert!(row.ok && row.margin == 5.0 && row.margin_ratio == Some(0.2));
        let row = LimitRow::at_least(LimitCode::Power, 90.0, 100.0, "W");
        assert!(!row.ok && row.margin == -10.0 && row.margin_ratio == Some(-0.1));
    }

    #[test]
    fn a_bound_of_zero_has_an_absolute_margin() {
        let row = LimitRow::at_least(LimitCode::AxialInflow, 0.5, 0.0, "m/s");
        assert!(row.ok && row.margin_ratio.is_none() && row.closeness() == 0.5);
    }

    #[test]
    fn regress_a_bound_next_to_zero_has_no_ratio() {
        for limit in [1e-9, -1e-9, 6e-268, -5e-324] {
            assert_eq!(LimitRow::at_least(LimitCode::Power, 16.0, limit, "W").margin_ratio, None);
        }
        assert!(LimitRow::at_least(LimitCode::Power, 16.0, 1.1e-9, "W").margin_ratio.is_some());
    }

    #[test]
    fn a_value_on_its_bound_holds() {
        assert!(LimitRow::at_most(LimitCode::Tilt, 25.0, 25.0, "°").ok);
    }

    #[test]
    fn what_is_not_a_number_is_never_ok() {
        for value in [f64::NAN, f64::INFINITY] {
            assert!(!LimitRow::at_most(LimitCode::Tilt, value, 25.0, "°").ok);
        }
        for value in [f64::NAN, f64::NEG_INFINITY] {
            assert!(!LimitRow::at_least(LimitCode::Power, value, 25.0, "W").ok);
        }
    }
}
