//! The material of one laser-power cell: band edge, quantum efficiency, saturation current and resistances, each
//! with its temperature, per unit of area.

use super::balance::{photon_energy_ev, radiative_saturation_a_per_m2};
use super::diode::{Diode, Junction, thermal_voltage_v};
use super::peak::Warming;
use crate::OpticsError;
use beamstay_numerics::domain::in_range;

/// Coldest and hottest cell the material laws are carried to, K.
pub(super) const CELL_TEMPERATURE_K: (f64, f64) = (50.0, 2000.0);

/// A band gap that shrinks with temperature and the roll-off of absorption at it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandEdge {
    /// Gap at 0 K, eV; 0.2 to 6.
    pub gap_at_zero_ev: f64,
    /// Varshni α, eV/K; 0 to 0.002.
    pub varshni_alpha_ev_per_k: f64,
    /// Varshni β, K; 0 to 2000.
    pub varshni_beta_k: f64,
    /// How far above the gap the quantum efficiency has risen to half, eV; −0.1 to 0.5. 0 for a direct gap; more
    /// for an indirect gap in a thin wafer.
    pub absorption_offset_ev: f64,
    /// Width of the edge, eV; 1e-4 to 0.2: e-fold of the exponential tail (Urbach) below it.
    pub edge_width_ev: f64,
}

impl BandEdge {
    /// Gallium arsenide: 1.519 eV, 5.405e-4 eV/K, 204 K (Y. P. Varshni, Physica 34, 1967, form; coefficients of
    /// M. B. Panish and H. C. Casey 1969 as commonly tabulated). The edge width of 7.5 meV is a judgement.
    pub const GALLIUM_ARSENIDE: Self = Self {
        gap_at_zero_ev: 1.519,
        varshni_alpha_ev_per_k: 5.405e-4,
        varshni_beta_k: 204.0,
        absorption_offset_ev: 0.0,
        edge_width_ev: 0.0075,
    };
    /// Silicon: 1.170 eV, 4.73e-4 eV/K, 636 K (C. D. Thurmond 1975, from memory). The gap is indirect: half quantum
    /// efficiency 35 meV above it, near 1.07 µm at room temperature, is a judgement for a wafer of 0.15 to 0.2 mm.
    pub const SILICON: Self = Self {
        gap_at_zero_ev: 1.170,
        varshni_alpha_ev_per_k: 4.73e-4,
        varshni_beta_k: 636.0,
        absorption_offset_ev: 0.035,
        edge_width_ev: 0.020,
    };
    /// Indium gallium arsenide lattice-matched to indium phosphide, for 1.3 to 1.6 µm: 0.8161 eV, 3.78e-4 eV/K, 294 K
    /// (S. Paul and others 1991, from memory). The edge width is a judgement.
    pub const INDIUM_GALLIUM_ARSENIDE: Self = Self {
        gap_at_zero_ev: 0.8161,
        varshni_alpha_ev_per_k: 3.78e-4,
        varshni_beta_k: 294.0,
        absorption_offset_ev: 0.0,
        edge_width_ev: 0.0075,
    };

    /// A direct-gap alloy with gap `gap_ev` at 298.15 K that shifts with temperature like gallium arsenide. Composition
    /// is chosen so for 0.9 to 1.2 µm; the shift of real alloys differs by some 10 %.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::cell::BandEdge;
    /// assert!((BandEdge::direct_alloy(1.15).gap_ev(298.15) - 1.15).abs() < 1e-12);
    /// ```
    pub fn direct_alloy(gap_ev: f64) -> Self {
        let model = Self::GALLIUM_ARSENIDE;
        Self { gap_at_zero_ev: model.gap_at_zero_ev + gap_ev - model.gap_ev(298.15), ..model }
    }

    /// Gap at `temperature_k`, eV: `E_g0 − α·T²/(T + β)` (Y. P. Varshni, Physica 34, 149, 1967), not below 0.05 eV.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::{balance::photon_energy_ev, cell::BandEdge};
    /// let edge_nm = 1e9 * photon_energy_ev(1.0) / BandEdge::GALLIUM_ARSENIDE.gap_ev(253.15);
    /// assert!((edge_nm - 859.07).abs() < 0.01);
    /// ```
    pub fn gap_ev(&self, temperature_k: f64) -> f64 {
        let t = temperature_k;
        (self.gap_at_zero_ev - self.varshni_alpha_ev_per_k * t * t / (t + self.varshni_beta_k)).max(0.05)
    }

    /// Its derivative by temperature, eV/K.
    fn gap_ev_per_k(&self, temperature_k: f64) -> f64 {
        let sum_k = temperature_k + self.varshni_beta_k;
        -self.varshni_alpha_ev_per_k * temperature_k * (sum_k + self.varshni_beta_k) / (sum_k * sum_k)
    }

    /// Share of the plateau of quantum efficiency that is left at photon energy `energy_ev`:
    /// `1/(1 + exp(−(E − E_g − offset)/width))`, the exponential tail of absorption below the gap (F. Urbach,
    /// Phys. Rev. 92, 1953) joined to saturation above it.
    pub fn absorbed_ratio(&self, energy_ev: f64, temperature_k: f64) -> f64 {
        let above_ev = energy_ev - self.gap_ev(temperature_k) - self.absorption_offset_ev;
        1.0 / (1.0 + (-above_ev / self.edge_width_ev).exp())
    }

    fn check(&self) -> Result<(), OpticsError> {
        in_range("band gap at 0 K", "eV", self.gap_at_zero_ev, 0.2, 6.0)?;
        in_range("Varshni alpha", "eV/K", self.varshni_alpha_ev_per_k, 0.0, 0.002)?;
        in_range("Varshni beta", "K", self.varshni_beta_k, 0.0, 2000.0)?;
        in_range("absorption offset", "eV", self.absorption_offset_ev, -0.1, 0.5)?;
        in_range("absorption edge width", "eV", self.edge_width_ev, 1e-4, 0.2)?;
        Ok(())
    }
}

/// What is known of one cell; [`Cell::new`] checks it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellSpec {
    /// Lit area of one cell, m²; 1e-10 to 10.
    pub area_m2: f64,
    /// Gap and absorption edge.
    pub band: BandEdge,
    /// Photon energy above which the window layer takes half of the light, eV; 0.2 to 20.
    pub window_ev: f64,
    /// Electrons out per photon that enters the cell, on the plateau between edge and window; 0 to 1.
    pub quantum_efficiency_ratio: f64,
    /// Temperature at which the values below hold, K; 200 to 400.
    pub reference_temperature_k: f64,
    /// Saturation current density at the reference, A/m²; 1e-40 to 1e3.
    pub saturation_a_per_m2: f64,
    /// Ideality factor; 0.5 to 3.
    pub ideality: f64,
    /// Series resistance times area at the reference, Ω·m²; 0 to 1.
    pub series_ohm_m2: f64,
    /// Its relative change, 1/K; −0.02 to 0.02.
    pub series_change_per_k: f64,
    /// Shunt resistance times area at the reference, Ω·m²; 1e-9 to 1e12.
    pub shunt_ohm_m2: f64,
    /// Its relative change, 1/K; −0.02 to 0.02.
    pub shunt_change_per_k: f64,
    /// Irradiance up to which the values hold, W/m²; 1 to 1e9. Compared with, not enforced.
    pub irradiance_limit_w_per_m2: f64,
    /// Mass of cell, carrier and wiring per lit area, kg/m²; 0 to 1000.
    pub mass_kg_per_m2: f64,
}

impl CellSpec {
    /// A direct-gap cell on `band`: saturation current from detailed balance over `external_radiative_ratio` (1e-9 to
    /// 1). The other values are judgements for a good laser-power cell, not data of one: quantum efficiency 0.90
    /// (reflection not counted), 2e-7 Ω·m² (2 mΩ·cm²) series, 5e-3 Ω·m² shunt, resistances +0.2 %/K and −0.4 %/K,
    /// 1.5 MW/m² and 3 kg/m² (0.35 mm of semiconductor on half a millimetre of ceramic).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn direct_gap(
        area_m2: f64,
        band: BandEdge,
        external_radiative_ratio: f64,
    ) -> Result<Self, OpticsError> {
        in_range("external radiative efficiency", "", external_radiative_ratio, 1e-9, 1.0)?;
        let usual = Self::gallium_arsenide(area_m2);
        let gap_ev = band.gap_ev(usual.reference_temperature_k);
        let radiative_a_per_m2 = radiative_saturation_a_per_m2(gap_ev, usual.reference_temperature_k)?;
        let saturation_a_per_m2 = (radiative_a_per_m2 / external_radiative_ratio).max(1e-40);
        Ok(Self { band, saturation_a_per_m2, ..usual })
    }

    /// Gallium arsenide, for 780 to 860 nm: 9.3e-16 A/m², which is 1.235 V at 70 A/cm² as published for micro cells
    /// under 808 nm (transfer-print study); the rest as [`Self::direct_gap`].
    pub fn gallium_arsenide(area_m2: f64) -> Self {
        Self {
            area_m2,
            band: BandEdge::GALLIUM_ARSENIDE,
            window_ev: 2.0,
            quantum_efficiency_ratio: 0.90,
            reference_temperature_k: 298.15,
            saturation_a_per_m2: 9.3e-16,
            ideality: 1.0,
            series_ohm_m2: 2e-7,
            series_change_per_k: 0.002,
            shunt_ohm_m2: 5e-3,
            shunt_change_per_k: -0.004,
            irradiance_limit_w_per_m2: 1.5e6,
            mass_kg_per_m2: 3.0,
        }
    }

    /// Silicon, for 850 to 1000 nm at moderate intensity: saturation 1e-9 A/m² (100 fA/cm², common practice, no source),
    /// series 5e-5 Ω·m², shunt 1 Ω·m², 20 kW/m², 1 kg/m² (bare wafer 0.16 mm with interconnects and cover film).
    pub fn silicon(area_m2: f64) -> Self {
        Self {
            band: BandEdge::SILICON,
            window_ev: 6.0,
            quantum_efficiency_ratio: 0.95,
            saturation_a_per_m2: 1e-9,
            series_ohm_m2: 5e-5,
            shunt_ohm_m2: 1.0,
            irradiance_limit_w_per_m2: 2e4,
            mass_kg_per_m2: 1.0,
            ..Self::gallium_arsenide(area_m2)
        }
    }
}

/// Light of one wavelength on a cell far from its absorption edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plateau {
    /// Energy of a photon, eV.
    energy_ev: f64,
    /// Photocurrent per power that enters, A/W.
    a_per_w: f64,
}

/// A checked cell. The temperature laws are carried from 50 to 2000 K and held at the ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    spec: CellSpec,
}

impl Cell {
    /// Checks the cell.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside the ranges of [`CellSpec`] and [`BandEdge`];
    /// [`OpticsError::VoltageAboveDetailedBalance`] if saturation current and ideality together promise more voltage than
    /// radiative recombination allows at 1 A/cm².
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::cell::{Cell, CellSpec};
    /// let cell = Cell::new(CellSpec::gallium_arsenide(1e-4))?;
    /// let warm_laser = cell.quantum_efficiency_ratio(864e-9, 253.15);
    /// assert!(warm_laser < 0.3, "a laser 20 K warm misses a cell at −20 °C: {warm_laser}");
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn new(spec: CellSpec) -> Result<Self, OpticsError> {
        spec.band.check()?;
        in_range("cell area", "m²", spec.area_m2, 1e-10, 10.0)?;
        in_range("window edge", "eV", spec.window_ev, 0.2, 20.0)?;
        in_range("quantum efficiency", "", spec.quantum_efficiency_ratio, 0.0, 1.0)?;
        in_range("cell reference temperature", "K", spec.reference_temperature_k, 200.0, 400.0)?;
        in_range("saturation current density", "A/m²", spec.saturation_a_per_m2, 1e-40, 1e3)?;
        in_range("ideality factor", "", spec.ideality, 0.5, 3.0)?;
        in_range("series resistance times area", "Ω·m²", spec.series_ohm_m2, 0.0, 1.0)?;
        in_range("change of series resistance", "1/K", spec.series_change_per_k, -0.02, 0.02)?;
        in_range("shunt resistance times area", "Ω·m²", spec.shunt_ohm_m2, 1e-9, 1e12)?;
        in_range("change of shunt resistance", "1/K", spec.shunt_change_per_k, -0.02, 0.02)?;
        in_range("cell irradiance limit", "W/m²", spec.irradiance_limit_w_per_m2, 1.0, 1e9)?;
        in_range("cell mass per area", "kg/m²", spec.mass_kg_per_m2, 0.0, 1000.0)?;
        check_detailed_balance(&spec)?;
        Ok(Self { spec })
    }

    /// The values it was built from.
    pub fn spec(&self) -> &CellSpec {
        &self.spec
    }

    /// Electrons out per photon that enters the cell, at `wavelength_m` and cell temperature.
    pub fn quantum_efficiency_ratio(&self, wavelength_m: f64, temperature_k: f64) -> f64 {
        self.responsivity_a_per_w(wavelength_m, temperature_k) * photon_energy_ev(wavelength_m)
    }

    /// Photocurrent per power that enters the cell, A/W.
    pub fn responsivity_a_per_w(&self, wavelength_m: f64, temperature_k: f64) -> f64 {
        self.responsivity_on(&self.plateau(wavelength_m), temperature_k)
    }

    /// What of the responsivity does not change with temperature.
    pub(super) fn plateau(&self, wavelength_m: f64) -> Plateau {
        let energy_ev = photon_energy_ev(wavelength_m);
        let window_ratio =
            1.0 / (1.0 + ((energy_ev - self.spec.window_ev) / self.spec.band.edge_width_ev).exp());
        let a_per_w = self.spec.quantum_efficiency_ratio * window_ratio / energy_ev;
        Plateau { energy_ev, a_per_w }
    }

    /// As [`Self::responsivity_a_per_w`].
    pub(super) fn responsivity_on(&self, plateau: &Plateau, temperature_k: f64) -> f64 {
        let a_per_w = plateau.a_per_w * self.spec.band.absorbed_ratio(plateau.energy_ev, temperature_k);
        if a_per_w.is_nan() { 0.0 } else { a_per_w }
    }

    /// How the laws below change with temperature where the responsivity is `a_per_w`; nothing where they are held.
    pub(super) fn warming(&self, plateau: &Plateau, a_per_w: f64, temperature_k: f64) -> Warming {
        let (t, spec) = (held(temperature_k), &self.spec);
        let gap_ev_per_k = spec.band.gap_ev_per_k(t);
        let missing_ratio = if plateau.a_per_w > 0.0 { 1.0 - a_per_w / plateau.a_per_w } else { 0.0 };
        let varies = if (t - temperature_k).abs() > 0.0 { 0.0 } else { 1.0 };
        let change = |per_k: f64| {
            let x = per_k * (t - spec.reference_temperature_k);
            varies * per_k / (1.0 + x.abs())
        };
        let thermal_v = thermal_voltage_v(t);
        let by_gap_per_k = (spec.band.gap_ev(t) / t - gap_ev_per_k) / thermal_v;
        Warming {
            photocurrent_per_k: -missing_ratio * gap_ev_per_k / spec.band.edge_width_ev,
            saturation_per_k: varies * (3.0 / t + by_gap_per_k),
            slope_per_k: varies / t,
            series_per_k: change(spec.series_change_per_k),
            shunt_per_k: -change(spec.shunt_change_per_k),
        }
    }

    /// Saturation current density at `temperature_k`, A/m²:
    /// `J_ref·(T/T_ref)³·exp(E_g(T_ref)/kT_ref − E_g(T)/kT)` (De Soto, Klein and Beckman 2006, eq. 4, with the Varshni
    /// gap). For an ideality above 1 this lowers the voltage faster than the law with E_g/(n·kT) does; the pessimistic
    /// of the two is kept.
    pub fn saturation_a_per_m2(&self, temperature_k: f64) -> f64 {
        let spec = &self.spec;
        let (t, t_ref) = (held(temperature_k), spec.reference_temperature_k);
        let exponent =
            spec.band.gap_ev(t_ref) / thermal_voltage_v(t_ref) - spec.band.gap_ev(t) / thermal_voltage_v(t);
        spec.saturation_a_per_m2 * (t / t_ref).powi(3) * exponent.exp()
    }

    /// Series resistance times area at `temperature_k`, Ω·m²: with x = change·(T − T_ref), the reference times 1 + x where
    /// that rises and 1/(1 − x) where it falls, so that it never reaches zero and has no kink.
    pub fn series_ohm_m2(&self, temperature_k: f64) -> f64 {
        self.spec.series_ohm_m2 * self.change(self.spec.series_change_per_k, temperature_k)
    }

    /// Shunt resistance times area at `temperature_k`, Ω·m², by the same law.
    pub fn shunt_ohm_m2(&self, temperature_k: f64) -> f64 {
        self.spec.shunt_ohm_m2 * self.change(self.spec.shunt_change_per_k, temperature_k)
    }

    fn change(&self, per_k: f64, temperature_k: f64) -> f64 {
        let x = per_k * (held(temperature_k) - self.spec.reference_temperature_k);
        if x > 0.0 { 1.0 + x } else { 1.0 / (1.0 - x) }
    }

    /// The junction of `in_series` × `in_parallel` equal cells at `temperature_k`.
    pub(super) fn junction(&self, in_series: f64, in_parallel: f64, temperature_k: f64) -> Junction {
        let area_m2 = self.spec.area_m2 * in_parallel;
        Junction::new(
            self.saturation_a_per_m2(temperature_k) * area_m2,
            self.spec.ideality * in_series * thermal_voltage_v(held(temperature_k)),
            self.series_ohm_m2(temperature_k) * in_series / area_m2,
            self.shunt_ohm_m2(temperature_k) * in_series / area_m2,
        )
    }

    /// The current-voltage curve of one cell that `entering_w` of light (W, 0 to 1e6) enters, at `wavelength_m` (m, 1e-7 to 2e-5) and
    /// `temperature_k`.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges or the temperatures of a cell.
    pub fn diode(
        &self,
        entering_w: f64,
        wavelength_m: f64,
        temperature_k: f64,
    ) -> Result<Diode, OpticsError> {
        in_range("light that enters a cell", "W", entering_w, 0.0, 1e6)?;
        in_range("wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        in_range("cell temperature", "K", temperature_k, CELL_TEMPERATURE_K.0, CELL_TEMPERATURE_K.1)?;
        let photocurrent_a = entering_w * self.responsivity_a_per_w(wavelength_m, temperature_k);
        Ok(Diode { photocurrent_a, junction: self.junction(1.0, 1.0, temperature_k) })
    }
}

/// Current density at which a cell's voltage is held against detailed balance, A/m²: that of about 1.5 W/cm².
const BALANCE_CURRENT_A_PER_M2: f64 = 1e4;

/// No junction gives more voltage than radiative recombination alone leaves it.
fn check_detailed_balance(spec: &CellSpec) -> Result<(), OpticsError> {
    let t_k = spec.reference_temperature_k;
    let radiative_a_per_m2 = radiative_saturation_a_per_m2(spec.band.gap_ev(t_k), t_k)?;
    let voltage_v = |ideality: f64, saturation_a_per_m2: f64| {
        ideality * thermal_voltage_v(t_k) * (BALANCE_CURRENT_A_PER_M2 / saturation_a_per_m2).ln_1p()
    };
    let open_circuit_v = voltage_v(spec.ideality, spec.saturation_a_per_m2);
    let limit_v = voltage_v(1.0, radiative_a_per_m2);
    // 1 mV for rounded constants of a cell that is taken to be ideal.
    if open_circuit_v > limit_v + 1e-3 {
        return Err(OpticsError::VoltageAboveDetailedBalance { open_circuit_v, limit_v });
    }
    Ok(())
}

fn held(temperature_k: f64) -> f64 {
    temperature_k.clamp(CELL_TEMPERATURE_K.0, CELL_TEMPERATURE_K.1)
}
