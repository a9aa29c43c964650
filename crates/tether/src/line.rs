//! What the shape of a tether depends on, per unstretched metre.

use beamstay_numerics::domain::in_range;

use crate::{drag::NormalDrag, error::TetherError};

/// A tether as the shape solver sees it: weight, drag and stiffness, no bending stiffness.
///
/// # Examples
/// ```
/// use beamstay_tether::{Line, NormalDrag};
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: Some(90e3),
///     normal_drag: NormalDrag::constant(1.1).unwrap(),
///     tangential_coefficient: 0.02,
/// };
/// assert!(line.check().is_ok());
/// assert!(Line { diameter_m: f64::NAN, ..line }.check().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mass per unstretched metre, kg/m.
    pub mass_kg_per_m: f64,
    /// Diameter that the flow sees, m; it does not shrink as the line stretches.
    pub diameter_m: f64,
    /// Displaced cross-section that is counted for buoyancy, m²; 0 in air by convention.
    pub buoyancy_area_m2: f64,
    /// Force for a strain of 1, N; `None` for a line that does not stretch.
    pub axial_stiffness_n: Option<f64>,
    /// Drag across the line.
    pub normal_drag: NormalDrag,
    /// Drag coefficient along the line on the projected area d·l; π times one on the wetted area.
    pub tangential_coefficient: f64,
}

impl Line {
    /// Checks every number.
    ///
    /// # Errors
    /// [`TetherError::OutOfRange`] names the first that is not finite or outside: mass 0 to 100 kg/m, diameter
    /// 1 µm to 1 m, buoyancy area 0 to 1 m², stiffness 10⁻³ to 10¹² N, tangential coefficient 0 to 5.
    pub fn check(&self) -> Result<(), TetherError> {
        in_range("tether mass per metre", "kg/m", self.mass_kg_per_m, 0.0, 100.0)?;
        in_range("tether diameter", "m", self.diameter_m, 1e-6, 1.0)?;
        in_range("tether buoyancy area", "m²", self.buoyancy_area_m2, 0.0, 1.0)?;
        if let Some(stiffness_n) = self.axial_stiffness_n {
            in_range("tether axial stiffness", "N", stiffness_n, 1e-3, 1e12)?;
        }
        in_range("tangential drag coefficient", "", self.tangential_coefficient, 0.0, 5.0)?;
        Ok(())
    }

    /// 1/EA in 1/N, 0 if the line does not stretch.
    pub(crate) fn compliance_per_n(&self) -> f64 {
        self.axial_stiffness_n.map_or(0.0, f64::recip)
    }
}
