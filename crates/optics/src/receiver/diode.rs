//! One junction, or a string of equal ones, by the single-diode equation at one temperature.
//!
//! `I = I_L − I_0·(exp((V + I·R_s)/a) − 1) − (V + I·R_s)/R_sh`, `a = n·N_s·k·T/q`
//! (for example A. De Soto, S. A. Klein, W. A. Beckman, *Improvement and validation of a model for photovoltaic array
//! performance*, Solar Energy 80, 2006, eq. 1). Everything is computed along the junction voltage `V_d = V + I·R_s`,
//! of which current and voltage are explicit functions (J. W. Bishop, *Computer simulation of the effects of
//! electrical mismatches in photovoltaic cell interconnection circuits*, Solar Cells 25, 1988), so that no step can
//! overflow and every root is bracketed.

use std::cell::Cell;

use crate::OpticsError;
use beamstay_numerics::constants::{BOLTZMANN_J_PER_K, ELEMENTARY_CHARGE_C};
use beamstay_numerics::domain::in_range;

/// Smallest saturation current the exponentials are carried to, A.
pub(super) const SMALLEST_SATURATION_A: f64 = 1e-300;
/// Largest saturation current, A.
pub(super) const LARGEST_SATURATION_A: f64 = 1e9;

/// Parameters of the single-diode equation; [`Diode::new`] checks them. Resistances are those of the whole string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiodeSpec {
    /// Light-generated current `I_L`, A; 0 to 1e6.
    pub photocurrent_a: f64,
    /// Saturation current `I_0` at [`Self::temperature_k`], A; 1e-300 to 1e9.
    pub saturation_current_a: f64,
    /// Ideality factor `n` of one junction; 0.5 to 10.
    pub ideality: f64,
    /// Series resistance of the whole string, Ω; 0 to 1e9.
    pub series_resistance_ohm: f64,
    /// Shunt resistance of the whole string, Ω; 1e-9 to 1e18.
    pub shunt_resistance_ohm: f64,
    /// Junctions in series; 1 to 100,000.
    pub cells_in_series: u32,
    /// Junction temperature, K; 20 to 3000.
    pub temperature_k: f64,
}

/// One point of a current-voltage curve.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub struct PowerPoint {
    /// Terminal voltage, V.
    pub voltage_v: f64,
    /// Terminal current, A, positive out of the lit cell.
    pub current_a: f64,
    /// Their product, W.
    pub power_w: f64,
}

/// A single-diode current-voltage curve with checked parameters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diode {
    pub(super) photocurrent_a: f64,
    pub(super) junction: Junction,
}

/// The part of a diode that does not depend on the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Junction {
    saturation_a: f64,
    ln_saturation: f64,
    /// `n·N_s·k·T/q`, V.
    slope_v: f64,
    per_slope_v: f64,
    pub(super) series_ohm: f64,
    pub(super) shunt_s: f64,
}

/// Dark current through junction and shunt at one junction voltage, with derivatives.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Dark {
    /// Current, A.
    pub(super) current_a: f64,
    /// Its first derivative, S.
    pub(super) slope_s: f64,
    /// Its second derivative, S/V.
    pub(super) curvature_s_per_v: f64,
}

impl Junction {
    /// Parameters outside the range of [`DiodeSpec`] are held at its ends.
    pub(super) fn new(saturation_a: f64, slope_v: f64, series_ohm: f64, shunt_ohm: f64) -> Self {
        let saturation_a = saturation_a.clamp(SMALLEST_SATURATION_A, LARGEST_SATURATION_A);
        Self {
            saturation_a,
            ln_saturation: saturation_a.ln(),
            slope_v,
            per_slope_v: 1.0 / slope_v,
            series_ohm,
            shunt_s: 1.0 / shunt_ohm,
        }
    }

    pub(super) fn saturation_a(&self) -> f64 {
        self.saturation_a
    }

    pub(super) fn slope_v(&self) -> f64 {
        self.slope_v
    }

    pub(super) fn dark(&self, junction_v: f64) -> Dark {
        let x = junction_v * self.per_slope_v;
        // Below x = 1 the difference needs expm1; above, one exponential of the sum cannot overflow early.
        if x < 1.0 {
            let diode_a = self.saturation_a * x.exp_m1();
            self.dark_of(junction_v, diode_a, diode_a + self.saturation_a)
        } else {
            let rising_a = (x + self.ln_saturation).exp();
            self.dark_of(junction_v, rising_a - self.saturation_a, rising_a)
        }
    }

    /// Dark current from the current of the diode and the same without its constant part.
    fn dark_of(&self, junction_v: f64, diode_a: f64, rising_a: f64) -> Dark {
        let rising_s = rising_a * self.per_slope_v;
        Dark {
            current_a: diode_a + junction_v * self.shunt_s,
            slope_s: rising_s + self.shunt_s,
            curvature_s_per_v: rising_s * self.per_slope_v,
        }
    }

    /// Junction voltage at which the diode alone would carry `current_a`, V.
    fn by_diode_v(&self, current_a: f64) -> f64 {
        self.slope_v * ln_1p_ratio(current_a, self.saturation_a, self.ln_saturation)
    }

    /// Junction voltage that a dark current of `current_a` does not reach, V: diode or shunt alone would carry it there.
    pub(super) fn ceiling_v(&self, current_a: f64) -> f64 {
        if current_a > 0.0 { self.by_diode_v(current_a).min(current_a / self.shunt_s) } else { 0.0 }
    }

    /// Junction voltage at which the dark current is `current_a`, with the derivatives there. The dark current is
    /// convex, so Newton's method from the right is monotone. It starts where the diode alone would carry the current,
    /// where the exponential is known without being worked out, and small steps take it along by its series.
    pub(super) fn voltage_for_dark(&self, current_a: f64) -> (f64, Dark) {
        let (mut junction_v, mut diode_a) = (0.0, 0.0);
        if current_a > 0.0 {
            let by_diode_v = self.by_diode_v(current_a);
            let by_shunt_v = current_a / self.shunt_s;
            if by_diode_v <= by_shunt_v {
                (junction_v, diode_a) = (by_diode_v, current_a);
            } else {
                junction_v = by_shunt_v;
                let dark = self.dark(junction_v);
                diode_a = dark.current_a - junction_v * self.shunt_s;
            }
        }
        let mut dark = self.dark_of(junction_v, diode_a, diode_a + self.saturation_a);
        for _ in 0..80 {
            let step_v = (dark.current_a - current_a) / dark.slope_s;
            let next_v = junction_v - step_v;
            if !next_v.is_finite() {
                break;
            }
            junction_v = next_v;
            let step = -step_v * self.per_slope_v;
            dark = if step.abs() < 0.01 {
                // exp(x + step) − exp(x), seven terms: below 1e-17 of exp(x).
                let rising_a = diode_a + self.saturation_a;
                diode_a += rising_a * small_exp_m1(step);
                self.dark_of(junction_v, diode_a, diode_a + self.saturation_a)
            } else {
                let exact = self.dark(junction_v);
                diode_a = exact.current_a - junction_v * self.shunt_s;
                exact
            };
            // What a Newton step leaves is half its square over the slope: 5e-14 of the voltage.
            let enough_v2 = 1e-13 * self.slope_v.min(junction_v.abs()) * junction_v.abs();
            if step_v * step_v <= enough_v2 || step_v.abs() <= 4.0 * f64::EPSILON * junction_v.abs() {
                break;
            }
        }
        (junction_v, dark)
    }
}

/// exp(x) − 1 for |x| below 0.01.
fn small_exp_m1(x: f64) -> f64 {
    const C: [f64; 6] = [1.0 / 2.0, 1.0 / 6.0, 1.0 / 24.0, 1.0 / 120.0, 1.0 / 720.0, 1.0 / 5040.0];
    x + x * x * (C[0] + x * (C[1] + x * (C[2] + x * (C[3] + x * (C[4] + x * C[5])))))
}

/// ln(1 + a/b) without overflow of the quotient.
fn ln_1p_ratio(a: f64, b: f64, ln_b: f64) -> f64 {
    let ratio = a / b;
    if ratio < 1e15 { ratio.ln_1p() } else { a.ln() - ln_b }
}

impl Diode {
    /// Checks the parameters.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside the ranges of [`DiodeSpec`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::diode::{Diode, DiodeSpec};
    /// let cell = Diode::new(DiodeSpec {
    ///     photocurrent_a: 0.619,
    ///     saturation_current_a: 2e-19,
    ///     ideality: 1.05,
    ///     series_resistance_ohm: 0.020,
    ///     shunt_resistance_ohm: 500.0,
    ///     cells_in_series: 1,
    ///     temperature_k: 298.15,
    /// })?;
    /// // pvlib 0.16.1 and mpmath give 1.1484899 V and 0.62371014 W.
    /// assert!((cell.open_circuit_v() - 1.148_489_9).abs() < 1e-7);
    /// assert!((cell.maximum_power().power_w - 0.623_710_14).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn new(spec: DiodeSpec) -> Result<Self, OpticsError> {
        in_range("photocurrent", "A", spec.photocurrent_a, 0.0, 1e6)?;
        in_range(
            "saturation current",
            "A",
            spec.saturation_current_a,
            SMALLEST_SATURATION_A,
            LARGEST_SATURATION_A,
        )?;
        in_range("ideality factor", "", spec.ideality, 0.5, 10.0)?;
        in_range("series resistance", "Ω", spec.series_resistance_ohm, 0.0, 1e9)?;
        in_range("shunt resistance", "Ω", spec.shunt_resistance_ohm, 1e-9, 1e18)?;
        in_range("cells in series", "", f64::from(spec.cells_in_series), 1.0, 1e5)?;
        in_range("cell temperature", "K", spec.temperature_k, 20.0, 3000.0)?;
        let slope_v = spec.ideality * f64::from(spec.cells_in_series) * thermal_voltage_v(spec.temperature_k);
        Ok(Self {
            photocurrent_a: spec.photocurrent_a,
            junction: Junction::new(
                spec.saturation_current_a,
                slope_v,
                spec.series_resistance_ohm,
                spec.shunt_resistance_ohm,
            ),
        })
    }

    /// Voltage at zero current, V.
    pub fn open_circuit_v(&self) -> f64 {
        self.junction.voltage_for_dark(self.photocurrent_a).0
    }

    /// Current at zero voltage, A.
    pub fn short_circuit_a(&self) -> f64 {
        self.current_at(0.0)
    }

    /// Current at terminal voltage `voltage_v` (−1e9 to 1e9 V), A; negative above the open-circuit voltage.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the voltage is outside its range or so far above the open circuit that the
    /// current of a diode without series resistance cannot be written as a number.
    pub fn current_a(&self, voltage_v: f64) -> Result<f64, OpticsError> {
        in_range("cell voltage", "V", voltage_v, -1e9, 1e9)?;
        let current_a = self.current_at(voltage_v);
        if !current_a.is_finite() {
            let largest_v = self.junction.voltage_for_dark(1e12).0;
            in_range("cell voltage", "V", voltage_v, -1e9, largest_v)?;
        }
        Ok(current_a)
    }

    /// Terminal voltage at current `current_a` (−1e6 to 1e6 A), V; far below zero beyond the short-circuit current,
    /// where only the shunt conducts (reverse breakdown is not in the model).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the current is outside its range.
    pub fn voltage_v(&self, current_a: f64) -> Result<f64, OpticsError> {
        in_range("cell current", "A", current_a, -1e6, 1e6)?;
        let junction_v = self.junction.voltage_for_dark(self.photocurrent_a - current_a).0;
        Ok(junction_v - current_a * self.junction.series_ohm)
    }

    /// The point of largest power.
    pub fn maximum_power(&self) -> PowerPoint {
        self.maximum_power_near(&Cell::new(f64::NAN)).1
    }

    /// The point above the maximum-power voltage at which the curve gives `power_w`; the maximum itself if that is
    /// less than `power_w`, and open circuit for zero or less. This is where a regulating converter settles.
    pub fn point_at_power(&self, power_w: f64) -> PowerPoint {
        self.point_at_most(|_| power_w, &Cell::new(f64::NAN))
    }

    /// The point above the maximum-power voltage that gives what `wanted_w` makes of the maximum; `below` as
    /// [`Self::peak_near`] has it.
    pub(super) fn point_at_most(
        &self,
        wanted_w: impl Fn(PowerPoint) -> f64,
        below: &Cell<f64>,
    ) -> PowerPoint {
        let (best_v, best) = self.maximum_power_near(below);
        let power_w = wanted_w(best);
        if power_w <= 0.0 {
            return PowerPoint { voltage_v: self.open_circuit_v(), ..PowerPoint::default() };
        }
        if best.power_w.is_nan() || power_w >= best.power_w {
            return best;
        }
        let open_v = self.open_circuit_v();
        // Near open circuit power is linear in the voltage, near the maximum a parabola.
        let missing = (1.0 - power_w / best.power_w).clamp(0.0, 1.0);
        let junction_v = bracketed_newton(
            |junction_v| {
                let dark = self.junction.dark(junction_v);
                let current_a = self.photocurrent_a - dark.current_a;
                let voltage_v = junction_v - current_a * self.junction.series_ohm;
                let slope = current_a - dark.slope_s * (voltage_v - current_a * self.junction.series_ohm);
                (power_w.max(0.0) - voltage_v * current_a, -slope)
            },
            best_v,
            open_v,
            best_v + (open_v - best_v) * missing.sqrt(),
            1e-9 * self.junction.slope_v.min(open_v),
        );
        self.point_at(junction_v)
    }

    pub(super) fn point_at(&self, junction_v: f64) -> PowerPoint {
        let current_a = self.photocurrent_a - self.junction.dark(junction_v).current_a;
        let voltage_v = junction_v - current_a * self.junction.series_ohm;
        PowerPoint { voltage_v, current_a, power_w: voltage_v * current_a }
    }

    fn current_at(&self, voltage_v: f64) -> f64 {
        let series_ohm = self.junction.series_ohm;
        if series_ohm <= 0.0 {
            return self.photocurrent_a - self.junction.dark(voltage_v).current_a;
        }
        // Junction voltage less terminal voltage less the series drop: rising and convex.
        let residual = |junction_v: f64| {
            let dark = self.junction.dark(junction_v);
            let current_a = self.photocurrent_a - dark.current_a;
            (junction_v - voltage_v - current_a * series_ohm, 1.0 + series_ohm * dark.slope_s)
        };
        let drop_v = self.photocurrent_a * series_ohm;
        let open_v = self.open_circuit_v();
        // Left of this both terms of the residual are negative, right of it positive.
        let (lo, hi) = if voltage_v <= open_v {
            (voltage_v, open_v.min(voltage_v.max(0.0) + drop_v))
        } else {
            let by_diode = self.junction.voltage_for_dark(voltage_v / series_ohm + self.photocurrent_a).0;
            (open_v, by_diode.min(voltage_v))
        };
        let scale_v = self.junction.slope_v.min(hi.abs().max(voltage_v.abs()));
        let junction_v = bracketed_newton(residual, lo, hi.max(lo), hi, 1e-9 * scale_v);
        let dark_a = self.junction.dark(junction_v).current_a;
        // Of two equal expressions take the one that does not cancel.
        if drop_v + dark_a.abs() * series_ohm < junction_v.abs() + voltage_v.abs() {
            self.photocurrent_a - dark_a
        } else {
            (junction_v - voltage_v) / series_ohm
        }
    }
}

/// k·T/q, V.
pub(super) fn thermal_voltage_v(temperature_k: f64) -> f64 {
    BOLTZMANN_J_PER_K * temperature_k / ELEMENTARY_CHARGE_C
}

/// Root of a rising function given with its derivative, by Newton's method kept inside `lo..=hi`; where Newton would
/// leave the bracket or not halve it in time, bisection. Ends after a step below `tolerance`; at most 120 steps.
pub(super) fn bracketed_newton(
    mut f: impl FnMut(f64) -> (f64, f64),
    mut lo: f64,
    mut hi: f64,
    guess: f64,
    tolerance: f64,
) -> f64 {
    let mut x = if guess > lo && guess < hi { guess } else { 0.5 * (lo + hi) };
    let mut width_before = f64::INFINITY;
    for round in 0..120 {
        let (value, slope) = f(x);
        if value > 0.0 {
            hi = x;
        } else {
            lo = x;
        }
        let newton = x - value / slope;
        let stuck = round % 8 == 7 && hi - lo > 0.5 * width_before;
        if round % 8 == 7 {
            width_before = hi - lo;
        }
        let next = if newton >= lo && newton <= hi && !stuck { newton } else { 0.5 * (lo + hi) };
        let step = (next - x).abs();
        x = next;
        if step <= tolerance || hi - lo <= 4.0 * f64::EPSILON * x.abs() {
            break;
        }
    }
    x
}
