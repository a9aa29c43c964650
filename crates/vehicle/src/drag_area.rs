//! Drag area of a body that meets the flow at an angle to its rotor plane.

use beamstay_numerics::{
    domain::{OutOfRange, in_range},
    interpolate::MonotoneCubic,
};

use crate::error::VehicleError;

/// Largest drag area that a constructor accepts, m²: a flat plate of ten metres by ten.
const LARGEST_AREA_M2: f64 = 120.0;

/// Drag area (drag coefficient × reference area, m²) of a body as a function of its incidence: the angle between
/// the relative wind and the rotor plane, positive when the wind meets the top of the body.
///
/// # Examples
/// ```
/// use beamstay_vehicle::DragArea;
/// let body = DragArea::spheroid(0.02, 0.05)?;
/// assert_eq!(body.at_sin_incidence(0.0), 0.02);
/// assert_eq!(body.at_sin_incidence(1.0), 0.05);
/// # Ok::<(), beamstay_vehicle::VehicleError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum DragArea {
    /// Projected area of a spheroid with a constant drag coefficient. Build it with [`DragArea::spheroid`].
    Spheroid(Spheroid),
    /// A measured curve. Build it with [`DragArea::table`].
    Table(IncidenceTable),
}

/// See [`DragArea::spheroid`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spheroid {
    level_m2: f64,
    plan_m2: f64,
}

/// See [`DragArea::table`].
#[derive(Debug, Clone, PartialEq)]
pub struct IncidenceTable {
    area_m2_of_sin: MonotoneCubic,
    sin_min: f64,
    sin_max: f64,
}

impl DragArea {
    /// Drag area from its value with the wind in the rotor plane (`level_m2`) and along the rotor axis (`plan_m2`),
    /// both in m², 0 to 120.
    ///
    /// Between them √(level² cos² i + plan² sin² i), the projected area of a spheroid at incidence i (exact for that
    /// shape, elementary geometry). Against the tilt measurements of Russell et al. (AHS Forum 72, paper 374, 2016,
    /// Fig. 30) the curve through 0° and 40° passes within 11 % of the point at 20° for three of four airframes; the
    /// fourth does not change with tilt. Smooth at i = 0, the same from above and below.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn spheroid(level_m2: f64, plan_m2: f64) -> Result<Self, VehicleError> {
        let level_m2 = in_range("level drag area", "m²", level_m2, 0.0, LARGEST_AREA_M2)?;
        let plan_m2 = in_range("plan drag area", "m²", plan_m2, 0.0, LARGEST_AREA_M2)?;
        Ok(Self::Spheroid(Spheroid { level_m2, plan_m2 }))
    }

    /// Drag area from measurements: `incidence_deg` rising between −90 and 90, `area_m2` each 0 to 120 m². Monotone
    /// cubic in sin i between the points, constant outside them.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`] or [`VehicleError::Table`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::DragArea;
    /// let body = DragArea::table(&[0.0, 20.0, 40.0], &[0.0209, 0.0274, 0.0321])?;
    /// assert_eq!(body.at_sin_incidence(-1.0), 0.0209);
    /// assert!((body.at_sin_incidence(20f64.to_radians().sin()) - 0.0274).abs() < 1e-12);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn table(incidence_deg: &[f64], area_m2: &[f64]) -> Result<Self, VehicleError> {
        let sin: Result<Vec<f64>, OutOfRange> = incidence_deg
            .iter()
            .map(|&i| in_range("incidence", "°", i, -90.0, 90.0).map(|i| i.to_radians().sin()))
            .collect();
        let area: Result<Vec<f64>, OutOfRange> =
            area_m2.iter().map(|&a| in_range("drag area", "m²", a, 0.0, LARGEST_AREA_M2)).collect();
        let sin = sin?;
        let (sin_min, sin_max) =
            (sin.first().copied().unwrap_or_default(), sin.last().copied().unwrap_or_default());
        let area_m2_of_sin = MonotoneCubic::new(sin, area?)?;
        Ok(Self::Table(IncidenceTable { area_m2_of_sin, sin_min, sin_max }))
    }

    /// Drag area, m², at the sine of the incidence (−1 to 1; beyond by rounding only).
    pub fn at_sin_incidence(&self, sin_incidence: f64) -> f64 {
        match self {
            Self::Spheroid(spheroid) => spheroid.at(sin_incidence),
            Self::Table(table) => table.area_m2_of_sin.at(sin_incidence.clamp(table.sin_min, table.sin_max)),
        }
    }
}

impl Spheroid {
    /// √(level² (1 − s²) + plan² s²) at s = `sin_incidence`.
    pub(crate) fn at(self, sin_incidence: f64) -> f64 {
        let sin_squared = (sin_incidence * sin_incidence).min(1.0);
        (self.level_m2 * self.level_m2 * (1.0 - sin_squared) + self.plan_m2 * self.plan_m2 * sin_squared)
            .sqrt()
    }
}

/// A ring around a rotor that keeps fingers and rope out of it. Only its drag counts here: what a close-fitting
/// duct gives in thrust, and what the ring takes from the inflow, is left to the rotor's own figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuardRing {
    /// Diameter of the ring, m, 0.01 to 20.
    pub diameter_m: f64,
    /// Height of the ring along the rotor axis, m, 0 to 2.
    pub height_m: f64,
    /// Width of the ring in the rotor plane, m, 0 to 2.
    pub width_m: f64,
    /// Drag coefficient on the projected area, 0 to 3: about 1.2 for a round tube below its drag crisis (handbook
    /// value for a circular cylinder at Reynolds numbers of 1e3 to 2e5), about 2 for a flat strip.
    pub drag_coefficient: f64,
}

impl GuardRing {
    /// Drag area of one ring, m²: edge-on its windward and its leeward arc both count in full (2 × diameter × height,
    /// no shelter, which is the safe side), from above the annulus π × diameter × width.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::GuardRing;
    /// let ring = GuardRing { diameter_m: 0.4, height_m: 0.01, width_m: 0.01, drag_coefficient: 1.2 };
    /// assert!((ring.drag_area()?.at_sin_incidence(0.0) - 1.2 * 2.0 * 0.4 * 0.01).abs() < 1e-15);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn drag_area(&self) -> Result<DragArea, VehicleError> {
        let diameter_m = in_range("guard ring diameter", "m", self.diameter_m, 0.01, 20.0)?;
        let height_m = in_range("guard ring height", "m", self.height_m, 0.0, 2.0)?;
        let width_m = in_range("guard ring width", "m", self.width_m, 0.0, 2.0)?;
        let coefficient = in_range("guard ring drag coefficient", "", self.drag_coefficient, 0.0, 3.0)?;
        let edge_on_m2 = coefficient * 2.0 * diameter_m * height_m;
        let plan_m2 = coefficient * std::f64::consts::PI * diameter_m * width_m;
        Ok(DragArea::Spheroid(Spheroid { level_m2: edge_on_m2, plan_m2 }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_outside_the_range_are_refused() {
        assert!(DragArea::spheroid(0.0, 120.0).is_ok());
        for area_m2 in [-1e-9, 120.000_001, f64::NAN, f64::INFINITY] {
            assert!(DragArea::spheroid(area_m2, 0.1).is_err(), "{area_m2}");
            assert!(DragArea::spheroid(0.1, area_m2).is_err(), "{area_m2}");
            assert!(DragArea::table(&[0.0, 10.0], &[0.1, area_m2]).is_err(), "{area_m2}");
        }
        assert!(DragArea::table(&[0.0, 90.1], &[0.1, 0.2]).is_err());
        assert!(DragArea::table(&[10.0, 0.0], &[0.1, 0.2]).is_err());
        assert!(DragArea::table(&[0.0], &[0.1]).is_err());
        assert!(DragArea::table(&[], &[]).is_err());
    }

    #[test]
    fn spheroid_follows_the_measured_airframes() {
        // Russell et al. 2016, Fig. 30: level and 40° read in, 20° predicted.
        for (level, at_20, at_40) in
            [(0.0209, 0.0274, 0.0321), (0.0279, 0.0386, 0.0576), (0.0167, 0.0237, 0.0311)]
        {
            let (s20, s40) = (20f64.to_radians().sin(), 40f64.to_radians().sin());
            let plan: f64 = ((at_40 * at_40 - level * level * (1.0 - s40 * s40)) / (s40 * s40)).sqrt();
            let body = DragArea::spheroid(level, plan).unwrap();
            assert!((body.at_sin_incidence(s40) - at_40).abs() < 1e-12);
            assert!((body.at_sin_incidence(s20) / at_20 - 1.0).abs() < 0.11);
        }
    }

    #[test]
    fn guard_ring_refuses_nonsense() {
        let ring = GuardRing { diameter_m: 0.4, height_m: 0.01, width_m: 0.02, drag_coefficient: 1.2 };
        assert!(ring.drag_area().is_ok());
        assert!(GuardRing { diameter_m: 0.0, ..ring }.drag_area().is_err());
        assert!(GuardRing { height_m: -0.1, ..ring }.drag_area().is_err());
        assert!(GuardRing { width_m: f64::NAN, ..ring }.drag_area().is_err());
        assert!(GuardRing { drag_coefficient: 3.1, ..ring }.drag_area().is_err());
    }
}
