//! Heat of the fiber that is wound on the drum: power, attenuation and winding in; hottest layer out.

use std::{f64::consts::PI, sync::LazyLock};

use beamstay_numerics::{domain::in_range, quadrature::GaussLegendre};

use crate::{OpticsError, decibel};

use super::check_length;

/// Quadrature over the radius; the integrand is smooth.
static RADIAL: LazyLock<GaussLegendre<24>> = LazyLock::new(GaussLegendre::new);

/// How neighbouring turns lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Packing {
    /// Each turn on top of another: a cell of `d²` per metre.
    Square,
    /// Each turn in the groove between two others: a cell of `d² √3/2` per metre. Denser, therefore hotter.
    Hexagonal,
}

/// A line wound on a drum: a hollow cylinder with an insulated bore and ends, cooled at its outer face. The end of
/// the line that comes from the laser lies innermost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WoundPack {
    /// Radius of the bare drum, m; 1 mm to 10 m.
    pub inner_radius_m: f64,
    /// Width of the winding, m; 1 mm to 10 m.
    pub width_m: f64,
    /// Outer diameter of the line, jacket included, m; 10 µm to 0.2 m.
    pub line_diameter_m: f64,
    /// How neighbouring turns lie.
    pub packing: Packing,
    /// Thermal conductivity of the pack across the turns, W/(m·K); 0.2 to 0.3 is an estimate for coated glass with
    /// air between.
    pub conductivity_w_per_m_k: f64,
    /// Heat transfer at the outer face, W/(m²·K); 5 to 10 in still air, radiation included.
    pub surface_coefficient_w_per_m2_k: f64,
    /// Temperature of the air round the drum, K.
    pub ambient_temp_k: f64,
}

/// Where the heat of a wound drum comes from and how hot it makes the fiber. Steady state.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct DrumHeat {
    /// Light that bends cost, all taken as heat at the innermost layer, W.
    pub bend_loss_w: f64,
    /// Light that attenuation costs on the drum, all taken as heat, W.
    pub attenuation_w: f64,
    /// Radius of the wound drum, m.
    pub outer_radius_m: f64,
    /// Temperature of the outermost layer, K.
    pub surface_temp_k: f64,
    /// Temperature of the innermost layer, the hottest, K.
    pub hottest_temp_k: f64,
}

impl DrumHeat {
    /// All heat in the drum, W.
    pub fn total_w(&self) -> f64 {
        self.bend_loss_w + self.attenuation_w
    }
}

impl WoundPack {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("drum radius", "m", self.inner_radius_m, 1e-3, 10.0)?;
        in_range("width of the winding", "m", self.width_m, 1e-3, 10.0)?;
        in_range("line diameter", "m", self.line_diameter_m, 1e-5, 0.2)?;
        in_range("conductivity of the pack", "W/(m·K)", self.conductivity_w_per_m_k, 1e-3, 500.0)?;
        in_range("heat transfer at the drum", "W/(m²·K)", self.surface_coefficient_w_per_m2_k, 0.1, 1e5)?;
        in_range("air temperature at the drum", "K", self.ambient_temp_k, 180.0, 350.0)?;
        Ok(())
    }

    /// Volume that one metre of line takes, m³/m.
    pub fn cell_area_m2(&self) -> f64 {
        let square = self.line_diameter_m * self.line_diameter_m;
        match self.packing {
            Packing::Square => square,
            Packing::Hexagonal => square * (0.5 * 3.0_f64.sqrt()),
        }
    }

    /// Radius of the drum with `wound_length_m` on it, m.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::fiber::{Packing, WoundPack};
    /// let pack = WoundPack { inner_radius_m: 0.05, width_m: 0.1, line_diameter_m: 0.5e-3, packing: Packing::Square,
    ///     conductivity_w_per_m_k: 0.25, surface_coefficient_w_per_m2_k: 10.0, ambient_temp_k: 298.15 };
    /// assert!((pack.outer_radius_m(500.0)? - 0.053_832_03).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn outer_radius_m(&self, wound_length_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        let volume_m3 = check_length("wound length", wound_length_m)? * self.cell_area_m2();
        Ok((self.inner_radius_m.powi(2) + volume_m3 / (PI * self.width_m)).sqrt())
    }

    /// Heat and hottest layer with `bend_loss_w` lost at the innermost layer and `input_w` of light entering
    /// `wound_length_m` of line of the given attenuation behind it.
    ///
    /// The heat flows outwards only, `T(r_i) = T_a + Q/(2π r_o w h) + ∫ Q(r)/(2π r w k) dr`, where `Q(r)` is all heat
    /// inside r: the light dies away exponentially along the line, so the inner layers are heated most. For little
    /// attenuation this is the textbook cylinder of [`uniform_cylinder_rise_k`]. Cooling through the flanges and the
    /// drum is left out: the answer is on the hot side. All lost light counts as heat, as none escapes from a pack.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::fiber::{Packing, WoundPack};
    /// let pack = WoundPack { inner_radius_m: 0.05, width_m: 0.1, line_diameter_m: 0.5e-3, packing: Packing::Square,
    ///     conductivity_w_per_m_k: 0.25, surface_coefficient_w_per_m2_k: 10.0, ambient_temp_k: 298.15 };
    /// let heat = pack.heat(500.0, 500.0, 3.0, 0.0)?;
    /// assert!((heat.attenuation_w - 146.027).abs() < 1e-3);
    /// assert!(heat.hottest_temp_k > heat.surface_temp_k);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn heat(
        &self,
        input_w: f64,
        wound_length_m: f64,
        attenuation_db_per_km: f64,
        bend_loss_w: f64,
    ) -> Result<DrumHeat, OpticsError> {
        let outer_radius_m = self.outer_radius_m(wound_length_m)?;
        in_range("power", "W", input_w, 0.0, 1e9)?;
        in_range("bend loss", "W", bend_loss_w, 0.0, 1e9)?;
        in_range("attenuation", "dB/km", attenuation_db_per_km, 0.0, 1e6)?;
        let attenuation_per_m = decibel::per_m_of_db_per_km(attenuation_db_per_km);
        let absorbed_w = |length_m: f64| -input_w * (-attenuation_per_m * length_m).exp_m1();
        let attenuation_w = absorbed_w(wound_length_m);
        let length_per_m2 = PI * self.width_m / self.cell_area_m2();
        let inner_squared = self.inner_radius_m * self.inner_radius_m;
        let heat_per_radius = |radius_m: f64| {
            let inside_m = (radius_m * radius_m - inner_squared) * length_per_m2;
            (bend_loss_w + absorbed_w(inside_m)) / radius_m
        };
        let around_m = 2.0 * PI * self.width_m;
        let inside_rise_k = RADIAL.integrate(heat_per_radius, self.inner_radius_m, outer_radius_m)
            / (around_m * self.conductivity_w_per_m_k);
        let surface_rise_k =
            (bend_loss_w + attenuation_w) / (around_m * outer_radius_m * self.surface_coefficient_w_per_m2_k);
        let surface_temp_k = self.ambient_temp_k + surface_rise_k;
        Ok(DrumHeat {
            bend_loss_w,
            attenuation_w,
            outer_radius_m,
            surface_temp_k,
            hottest_temp_k: surface_temp_k + inside_rise_k,
        })
    }
}

/// Rise of an evenly heated hollow cylinder with an insulated bore: of its outer face above the air, and of its bore
/// above its outer face, K.
///
/// `S(r_o² − r_i²)/(2 r_o h)` and `S(r_o² − r_i²)/(4k) − (S r_i²/(2k)) ln(r_o/r_i)` (heat conduction in every
/// textbook).
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_optics::fiber::winding::uniform_cylinder_rise_k;
/// let (surface_k, inside_k) = uniform_cylinder_rise_k(1e5, 0.05, 0.08, 0.25, 10.0)?;
/// assert!((surface_k - 243.75).abs() < 1e-9 && (inside_k - 154.998_185).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn uniform_cylinder_rise_k(
    source_w_per_m3: f64,
    inner_radius_m: f64,
    outer_radius_m: f64,
    conductivity_w_per_m_k: f64,
    surface_coefficient_w_per_m2_k: f64,
) -> Result<(f64, f64), OpticsError> {
    in_range("heat source", "W/m³", source_w_per_m3, 0.0, 1e12)?;
    in_range("drum radius", "m", inner_radius_m, 1e-3, 10.0)?;
    in_range("outer radius", "m", outer_radius_m, inner_radius_m, 100.0)?;
    in_range("conductivity of the pack", "W/(m·K)", conductivity_w_per_m_k, 1e-3, 500.0)?;
    in_range("heat transfer at the drum", "W/(m²·K)", surface_coefficient_w_per_m2_k, 0.1, 1e5)?;
    let ring_m2 = outer_radius_m.powi(2) - inner_radius_m.powi(2);
    let surface_k = source_w_per_m3 * ring_m2 / (2.0 * outer_radius_m * surface_coefficient_w_per_m2_k);
    let inside_k = source_w_per_m3 / conductivity_w_per_m_k
        * (0.25 * ring_m2 - 0.5 * inner_radius_m.powi(2) * (outer_radius_m / inner_radius_m).ln());
    Ok((surface_k, inside_k.max(0.0)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn pack() -> WoundPack {
        WoundPack {
            inner_radius_m: 0.05,
            width_m: 0.1,
            line_diameter_m: 0.5e-3,
            packing: Packing::Square,
            conductivity_w_per_m_k: 0.25,
            surface_coefficient_w_per_m2_k: 10.0,
            ambient_temp_k: 298.15,
        }
    }

    #[test]
    fn little_attenuation_is_the_textbook_cylinder() {
        let (input_w, length_m, attenuation_db_per_km) = (1e6, 2000.0, 1e-6);
        let heat = pack().heat(input_w, length_m, attenuation_db_per_km, 0.0).unwrap();
        let volume_m3 = length_m * pack().cell_area_m2();
        let (surface_k, inside_k) =
            uniform_cylinder_rise_k(heat.attenuation_w / volume_m3, 0.05, heat.outer_radius_m, 0.25, 10.0)
                .unwrap();
        assert!((heat.surface_temp_k - 298.15 - surface_k).abs() < 1e-9 * surface_k + 1e-10);
        assert!((heat.hottest_temp_k - heat.surface_temp_k - inside_k).abs() < 1e-6 * inside_k + 1e-10);
    }

    #[test]
    fn an_empty_drum_is_as_warm_as_the_air() {
        let heat = pack().heat(1000.0, 0.0, 3.0, 0.0).unwrap();
        assert_eq!((heat.total_w(), heat.hottest_temp_k), (0.0, 298.15));
    }

    #[test]
    fn heat_at_the_bore_warms_more_than_the_same_heat_spread() {
        let spread = pack().heat(500.0, 500.0, 3.0, 0.0).unwrap();
        let at_bore = pack().heat(0.0, 500.0, 3.0, spread.total_w()).unwrap();
        assert!((at_bore.surface_temp_k - spread.surface_temp_k).abs() < 1e-9);
        assert!(at_bore.hottest_temp_k > spread.hottest_temp_k);
    }

    #[test]
    fn denser_winding_is_hotter() {
        let dense = WoundPack { packing: Packing::Hexagonal, ..pack() };
        let at = |pack: WoundPack| pack.heat(500.0, 1000.0, 3.0, 0.0).unwrap();
        assert!(at(dense).outer_radius_m < at(pack()).outer_radius_m);
        assert!(at(dense).surface_temp_k > at(pack()).surface_temp_k);
    }

    #[test]
    fn each_figure_out_of_range_is_refused() {
        let good = pack();
        for bad in [
            WoundPack { inner_radius_m: 0.0, ..good },
            WoundPack { width_m: 0.0, ..good },
            WoundPack { line_diameter_m: f64::NAN, ..good },
            WoundPack { conductivity_w_per_m_k: 0.0, ..good },
            WoundPack { surface_coefficient_w_per_m2_k: 0.0, ..good },
            WoundPack { ambient_temp_k: 25.0, ..good },
        ] {
            assert!(bad.heat(100.0, 100.0, 3.0, 0.0).is_err(), "{bad:?}");
        }
        for (input_w, length_m, attenuation, bend_w) in
            [(-1.0, 1.0, 1.0, 0.0), (1.0, -1.0, 1.0, 0.0), (1.0, 1.0, -1.0, 0.0), (1.0, 1.0, 1.0, f64::NAN)]
        {
            assert!(good.heat(input_w, length_m, attenuation, bend_w).is_err());
        }
        assert!(uniform_cylinder_rise_k(1.0, 0.1, 0.05, 0.25, 10.0).is_err());
        assert!(uniform_cylinder_rise_k(-1.0, 0.05, 0.1, 0.25, 10.0).is_err());
    }

    proptest! {
        #[test]
        fn prop_more_light_is_more_heat(
            input_w in 1.0..2000.0_f64,
            more_w in 1.0..100.0_f64,
            length_m in 1.0..3000.0_f64,
            attenuation_db_per_km in 0.2..50.0_f64,
            bend_w in 0.0..100.0_f64,
        ) {
            let less = pack().heat(input_w, length_m, attenuation_db_per_km, bend_w).unwrap();
            let more = pack().heat(input_w + more_w, length_m, attenuation_db_per_km, bend_w).unwrap();
            prop_assert!(more.hottest_temp_k > less.hottest_temp_k);
            prop_assert!(less.attenuation_w <= input_w);
            prop_assert!(less.hottest_temp_k >= less.surface_temp_k && less.surface_temp_k >= 298.15);
        }
    }
}
