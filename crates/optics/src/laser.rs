//! Ground laser: optical power and coolant temperature in; electrical power, heat, current and wavelength out.

use beamstay_numerics::{
    constants::{ELEMENTARY_CHARGE_C, PLANCK_J_S, SPEED_OF_LIGHT_M_S},
    domain::in_range,
};

use crate::{OpticsError, silica::check_wavelength};

/// Coldest coolant for which the temperature laws are meant, K.
pub const COLDEST_COOLANT_K: f64 = 223.0;

/// Warmest coolant for which the temperature laws are meant, K.
pub const WARMEST_COOLANT_K: f64 = 353.0;

/// A laser with its driver and its temperature laws. Figures hold where its light leaves it: at the end of its
/// pigtail or at its output window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laser {
    /// Rated optical power, W; 1 µW to 10 MW.
    pub rated_optical_w: f64,
    /// Vacuum wavelength at the reference coolant temperature, m.
    pub wavelength_m: f64,
    /// Change of wavelength with coolant temperature, nm/K; about 0.3 for a free-running diode, 0.07 when locked by
    /// a grating (common practice, no source).
    pub wavelength_drift_nm_per_k: f64,
    /// Full width of the spectrum at half its peak, m; 0 to 50 nm. Decides the Brillouin threshold.
    pub linewidth_m: f64,
    /// Coolant temperature at which the figures hold, K.
    pub reference_coolant_temp_k: f64,
    /// How electricity becomes light.
    pub conversion: Conversion,
    /// Electrical power into the laser head per electrical power into its driver; 1 if the driver is in the
    /// conversion already.
    pub driver_efficiency_ratio: f64,
}

/// How electricity becomes light.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Conversion {
    /// One efficiency for all powers.
    WallPlug(WallPlug),
    /// Diodes with threshold, slope, voltage and resistance.
    Diodes(Diodes),
}

/// Light per electrical power, `η = η₀ exp(−c·ΔT)`. Part load is not better or worse than full load in this law;
/// give [`Diodes`] where that matters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPlug {
    /// Light out per electrical power into the laser head at the reference coolant temperature.
    pub efficiency_ratio: f64,
    /// Relative loss of efficiency per kelvin of coolant temperature, 1/K; 0 to 0.05. Wang et al. (Opt. Lett. 47,
    /// 3231, 2022) measured 81.10 % at 0 °C and 75.36 % at 25 °C: 0.00294.
    pub efficiency_loss_per_k: f64,
}

/// Diode emitters in series: `P = N η (I − I_th)`, `I_th = I_th0 exp(ΔT/T₀)`, `η = η₀ exp(−ΔT/T₁)`,
/// `V = N (V₀ + R I)`. Self-heating is inside the figures, as in a data sheet at constant coolant temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diodes {
    /// Emitters in series in each string; strings in parallel count as one emitter of larger current.
    pub emitters_in_series_count: u32,
    /// Threshold current at the reference coolant temperature, A.
    pub threshold_a: f64,
    /// Characteristic temperature T₀ of the threshold, K; 120 to 250 is usual.
    pub threshold_characteristic_temp_k: f64,
    /// Slope of one emitter at the reference coolant temperature, W/A, losses up to the laser's output included.
    pub slope_w_per_a: f64,
    /// Characteristic temperature T₁ of the slope, K; 400 to 1000 is usual.
    pub slope_characteristic_temp_k: f64,
    /// Voltage of one emitter extrapolated to no current, V.
    pub turn_on_voltage_v: f64,
    /// Series resistance of one emitter, Ω.
    pub series_resistance_ohm: f64,
    /// Largest current, A.
    pub rated_current_a: f64,
}

/// State of a laser that gives a certain light. `optical_w + heat_w` is `electrical_w` exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LaserOperation {
    /// Light out, W.
    pub optical_w: f64,
    /// Electrical power into the driver, W.
    pub electrical_w: f64,
    /// All heat, driver included, W.
    pub heat_w: f64,
    /// Heat of the driver, W; the rest of the heat goes into the coolant.
    pub driver_loss_w: f64,
    /// Diode current, A; `None` for a wall-plug law.
    pub current_a: Option<f64>,
    /// Vacuum wavelength at this coolant temperature, m.
    pub wavelength_m: f64,
}

impl LaserOperation {
    /// Heat that the coolant carries away, W.
    pub fn coolant_heat_w(&self) -> f64 {
        self.heat_w - self.driver_loss_w
    }
}

impl Laser {
    /// Whether every figure is finite, in range and physically possible at the reference temperature.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`]; [`OpticsError::SlopeAboveQuantumLimit`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("rated laser power", "W", self.rated_optical_w, 1e-6, 1e7)?;
        check_wavelength(self.wavelength_m)?;
        in_range("wavelength drift", "nm/K", self.wavelength_drift_nm_per_k, -2.0, 2.0)?;
        in_range("laser linewidth", "m", self.linewidth_m, 0.0, 50e-9)?;
        check_coolant_temp(self.reference_coolant_temp_k)?;
        in_range("driver efficiency", "", self.driver_efficiency_ratio, 0.01, 1.0)?;
        match &self.conversion {
            Conversion::WallPlug(wall_plug) => wall_plug.check(),
            Conversion::Diodes(diodes) => diodes.check(self.wavelength_m),
        }
    }

    /// Electrical power, heat, current and wavelength for `optical_w` of light with coolant at `coolant_temp_k`.
    ///
    /// No light takes no current: the driver's standing draw, if it matters, belongs to the ground supply.
    ///
    /// # Errors
    /// [`OpticsError::AboveRatedPower`], [`OpticsError::AboveRatedCurrent`] above a rating;
    /// [`OpticsError::SlopeAboveQuantumLimit`], [`OpticsError::EfficiencyAboveOne`] if the temperature law leads to
    /// the impossible; [`OpticsError::OutOfRange`] for the arguments (0 W and more; 223 to 353 K) and the figures.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::laser::{Conversion, Laser, WallPlug};
    /// let laser = Laser {
    ///     rated_optical_w: 500.0,
    ///     wavelength_m: 808e-9,
    ///     wavelength_drift_nm_per_k: 0.28,
    ///     linewidth_m: 3e-9,
    ///     reference_coolant_temp_k: 298.15,
    ///     conversion: Conversion::WallPlug(WallPlug { efficiency_ratio: 0.5, efficiency_loss_per_k: 0.003 }),
    ///     driver_efficiency_ratio: 0.9,
    /// };
    /// let state = laser.operate(450.0, 298.15)?;
    /// assert!((state.electrical_w - 1000.0).abs() < 1e-9);
    /// assert!((state.driver_loss_w - 100.0).abs() < 1e-9);
    /// assert_eq!(state.optical_w + state.heat_w, state.electrical_w);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn operate(&self, optical_w: f64, coolant_temp_k: f64) -> Result<LaserOperation, OpticsError> {
        self.check()?;
        check_coolant_temp(coolant_temp_k)?;
        in_range("laser power", "W", optical_w, 0.0, 1e9)?;
        if optical_w > self.rated_optical_w {
            return Err(OpticsError::AboveRatedPower {
                requested_w: optical_w,
                rated_w: self.rated_optical_w,
            });
        }
        let warming_k = coolant_temp_k - self.reference_coolant_temp_k;
        let wavelength_m = check_wavelength(self.wavelength_at(coolant_temp_k))?;
        let (head_w, current_a) = self.head_power(optical_w, warming_k, wavelength_m)?;
        if head_w < optical_w {
            return Err(OpticsError::EfficiencyAboveOne { optical_w, electrical_w: head_w });
        }
        let driver_loss_w = head_w * (1.0 / self.driver_efficiency_ratio - 1.0);
        let heat_w = (head_w - optical_w) + driver_loss_w;
        let electrical_w = optical_w + heat_w;
        Ok(LaserOperation { optical_w, electrical_w, heat_w, driver_loss_w, current_a, wavelength_m })
    }

    /// Vacuum wavelength at a coolant temperature, m.
    fn wavelength_at(&self, coolant_temp_k: f64) -> f64 {
        self.wavelength_m
            + 1e-9 * self.wavelength_drift_nm_per_k * (coolant_temp_k - self.reference_coolant_temp_k)
    }

    /// Electrical power into the laser head, W, and the diode current, A.
    fn head_power(
        &self,
        optical_w: f64,
        warming_k: f64,
        wavelength_m: f64,
    ) -> Result<(f64, Option<f64>), OpticsError> {
        match &self.conversion {
            Conversion::WallPlug(wall_plug) => {
                Ok((optical_w / wall_plug.efficiency_ratio_at(warming_k), None))
            }
            Conversion::Diodes(diodes) => {
                let current_a = diodes.current_a(optical_w, warming_k, wavelength_m)?;
                Ok((diodes.voltage_v(current_a) * current_a, Some(current_a)))
            }
        }
    }
}

impl WallPlug {
    fn check(&self) -> Result<(), OpticsError> {
        in_range("wall-plug efficiency", "", self.efficiency_ratio, 0.001, 1.0)?;
        in_range("loss of efficiency with temperature", "1/K", self.efficiency_loss_per_k, 0.0, 0.05)?;
        Ok(())
    }

    /// Light per electrical power into the head, `warming_k` above the reference temperature.
    fn efficiency_ratio_at(&self, warming_k: f64) -> f64 {
        self.efficiency_ratio * (-self.efficiency_loss_per_k * warming_k).exp()
    }
}

impl Diodes {
    fn check(&self, wavelength_m: f64) -> Result<(), OpticsError> {
        in_range("emitters in series", "", f64::from(self.emitters_in_series_count), 1.0, 1e5)?;
        in_range("threshold current", "A", self.threshold_a, 0.0, 1e4)?;
        in_range("T0 of the threshold", "K", self.threshold_characteristic_temp_k, 20.0, 1e6)?;
        in_range("slope of an emitter", "W/A", self.slope_w_per_a, 1e-3, 10.0)?;
        in_range("T1 of the slope", "K", self.slope_characteristic_temp_k, 20.0, 1e6)?;
        in_range("turn-on voltage", "V", self.turn_on_voltage_v, 0.1, 10.0)?;
        in_range("series resistance of an emitter", "ohm", self.series_resistance_ohm, 0.0, 1e3)?;
        in_range("rated laser current", "A", self.rated_current_a, 1e-6, 1e5)?;
        check_slope(self.slope_w_per_a, wavelength_m)
    }

    /// Threshold current `I_th0 exp(ΔT/T₀)`, A, `warming_k` above the reference temperature.
    pub fn threshold_a_at(&self, warming_k: f64) -> f64 {
        self.threshold_a * (warming_k / self.threshold_characteristic_temp_k).exp()
    }

    /// Slope of one emitter `η₀ exp(−ΔT/T₁)`, W/A, `warming_k` above the reference temperature.
    pub fn slope_w_per_a_at(&self, warming_k: f64) -> f64 {
        self.slope_w_per_a * (-warming_k / self.slope_characteristic_temp_k).exp()
    }

    /// Light of all emitters at a current, W; none below threshold.
    pub fn optical_w(&self, current_a: f64, warming_k: f64) -> f64 {
        f64::from(self.emitters_in_series_count)
            * self.slope_w_per_a_at(warming_k)
            * (current_a - self.threshold_a_at(warming_k)).max(0.0)
    }

    /// Voltage of the string at a current, V.
    fn voltage_v(&self, current_a: f64) -> f64 {
        f64::from(self.emitters_in_series_count)
            * (self.turn_on_voltage_v + self.series_resistance_ohm * current_a)
    }

    /// Current for the light, A; 0 for no light.
    fn current_a(&self, optical_w: f64, warming_k: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        let slope_w_per_a = self.slope_w_per_a_at(warming_k);
        check_slope(slope_w_per_a, wavelength_m)?;
        if optical_w == 0.0 {
            return Ok(0.0);
        }
        let required_a = self.threshold_a_at(warming_k)
            + optical_w / (f64::from(self.emitters_in_series_count) * slope_w_per_a);
        if required_a > self.rated_current_a {
            return Err(OpticsError::AboveRatedCurrent { required_a, rated_a: self.rated_current_a });
        }
        Ok(required_a)
    }
}

/// Slope of a diode that turns every electron into a photon, `h·c/(q·λ)`, W/A.
///
/// # Errors
/// [`OpticsError::OutOfRange`] if the wavelength is not in 0.21 to 3.71 µm.
///
/// # Examples
/// ```
/// let limit = beamstay_optics::laser::quantum_limit_w_per_a(808e-9)?;
/// assert!((limit - 1.534_457_9).abs() < 1e-7);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn quantum_limit_w_per_a(wavelength_m: f64) -> Result<f64, OpticsError> {
    Ok(PLANCK_J_S * SPEED_OF_LIGHT_M_S / (ELEMENTARY_CHARGE_C * check_wavelength(wavelength_m)?))
}

fn check_slope(slope_w_per_a: f64, wavelength_m: f64) -> Result<(), OpticsError> {
    let limit_w_per_a = quantum_limit_w_per_a(wavelength_m)?;
    if slope_w_per_a <= limit_w_per_a {
        Ok(())
    } else {
        Err(OpticsError::SlopeAboveQuantumLimit { slope_w_per_a, limit_w_per_a })
    }
}

fn check_coolant_temp(coolant_temp_k: f64) -> Result<f64, OpticsError> {
    Ok(in_range("coolant temperature", "K", coolant_temp_k, COLDEST_COOLANT_K, WARMEST_COOLANT_K)?)
}

#[cfg(test)]
mod tests;
