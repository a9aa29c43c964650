//! The light that a receiver needs for a power at the bus, and the most that light can give.

use std::cell::Cell;

use beamstay_numerics::{
    domain::in_range,
    minimum,
    root::{Tolerance, bracketed_from},
};

use super::{CooledSink, Draw, Receiver, ReceiverOperation, operate::MOST_LIGHT_W};
use crate::OpticsError;

/// Arriving light for a power at the bus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ArrivingForBus {
    /// The least light that gives it.
    Found {
        /// Arriving light, W.
        arriving_w: f64,
        /// The receiver at that light.
        operation: ReceiverOperation,
    },
    /// No light up to the ceiling gives it; series resistance and heat make the power peak.
    NoneCloses {
        /// Largest power at the bus, W.
        best_bus_w: f64,
        /// The light that gives it, W.
        at_arriving_w: f64,
    },
}

/// Where coming up to a power led.
enum Climb<T> {
    /// To this light, W, with what was told there.
    Reached(f64, T),
    /// To more light than there may be.
    Beyond,
    /// Nowhere, or past the peak.
    Lost,
}

impl Receiver {
    /// The least light that gives `bus_w` (0 to 1e6 W) at the bus, up to `ceiling_w` (0 to 1e6 W), at maximum power.
    ///
    /// Power at the bus rises from no light to one peak and falls behind it, as series resistance and heat take more than
    /// the light brings: two settings give the same power, or none does. The lower is taken. Below the peak power per
    /// light falls with light, so light in proportion to what is missing comes up to the answer from below; that is tried
    /// first, and the peak is sought only where it fails.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`]; [`OpticsError::Root`] if the light is not found in 200 evaluations.
    pub fn arriving_for_bus(
        &self,
        bus_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        ceiling_w: f64,
    ) -> Result<ArrivingForBus, OpticsError> {
        in_range("power at the bus", "W", bus_w, 0.0, 1e6)?;
        in_range("ceiling of the light", "W", ceiling_w, 0.0, MOST_LIGHT_W)?;
        let at = |arriving_w: f64| self.operate(arriving_w, wavelength_m, cooling, Draw::MaximumPower);
        if bus_w <= 0.0 {
            return Ok(ArrivingForBus::Found { arriving_w: 0.0, operation: at(0.0)? });
        }
        if let Some(operation) = self.climb(bus_w, wavelength_m, cooling, ceiling_w)? {
            return Ok(ArrivingForBus::Found { arriving_w: operation.arriving_w, operation });
        }
        let full = at(ceiling_w)?;
        let peak = self.peak_below(&full, wavelength_m, cooling)?;
        let top = if full.bus_w > peak.bus_w { full } else { peak };
        if top.bus_w < bus_w {
            return Ok(ArrivingForBus::NoneCloses { best_bus_w: top.bus_w, at_arriving_w: top.arriving_w });
        }
        let short_w = |arriving_w: f64| at(arriving_w).map_or(f64::NAN, |o| o.bus_w - bus_w);
        let tolerance = Tolerance { x_rel: 1e-12, ..Tolerance::default() };
        let high = (top.arriving_w, top.bus_w - bus_w);
        let root = bracketed_from(short_w, (0.0, -bus_w), high, tolerance)?;
        Ok(ArrivingForBus::Found { arriving_w: root.x, operation: at(root.x)? })
    }

    /// Comes up to the light for `bus_w` from below; none if that does not lead there on the rising side.
    ///
    /// Each light is tried at the temperature that the cells have once `bus_w` is drawn: at the answer that is theirs. There
    /// the receiver is worked out as everywhere. If it then gives another power, because it has a hotter temperature too,
    /// every light is tried at the temperature of its own most power.
    fn climb(
        &self,
        bus_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        ceiling_w: f64,
    ) -> Result<Option<ReceiverOperation>, OpticsError> {
        let needed_w = self.spec().converter.input_w(bus_w);
        let at = |arriving_w: f64| self.operate(arriving_w, wavelength_m, cooling, Draw::MaximumPower);
        let below = Cell::new(f64::NAN);
        let while_drawn = |arriving_w: f64| {
            let (cells_w, by_light) =
                self.most_while_drawn_w(arriving_w, wavelength_m, cooling, needed_w, &below);
            Ok((cells_w, by_light, ()))
        };
        match self.come_up(needed_w, ceiling_w, while_drawn)? {
            Climb::Reached(arriving_w, ()) => {
                let operation = at(arriving_w)?;
                if (operation.cells_w - needed_w).abs() <= 1e-10 * needed_w {
                    return Ok(Some(operation));
                }
            }
            Climb::Beyond => return Ok(None),
            Climb::Lost => {}
        }
        let settled =
            |arriving_w: f64| at(arriving_w).map(|operation| (operation.cells_w, f64::NAN, operation));
        Ok(match self.come_up(needed_w, ceiling_w, settled)? {
            Climb::Reached(_, operation) => Some(operation),
            Climb::Beyond | Climb::Lost => None,
        })
    }

    /// The light at which the cells give `needed_w`, with what else `cells` tells there besides power and its derivative by
    /// light, which may be not a number.
    ///
    /// The start is below the answer because no receiver gives more than all the light; power per light that falls with
    /// light keeps each tangent, each secant through the origin, and each through two points, below it too.
    fn come_up<T>(
        &self,
        needed_w: f64,
        ceiling_w: f64,
        cells: impl Fn(f64) -> Result<(f64, f64, T), OpticsError>,
    ) -> Result<Climb<T>, OpticsError> {
        let mut arriving_w = needed_w / (1.0 - self.spec().reflection_ratio).max(1e-6);
        let mut before: Option<(f64, f64)> = None;
        for _ in 0..12 {
            if arriving_w.is_nan() {
                return Ok(Climb::Lost);
            }
            if arriving_w > ceiling_w {
                return Ok(Climb::Beyond);
            }
            let (cells_w, by_light, told) = cells(arriving_w)?;
            let missing_w = needed_w - cells_w;
            let slope = match before {
                _ if by_light.is_finite() => by_light,
                None => cells_w / arriving_w,
                Some((last_w, last_cells_w)) => (cells_w - last_cells_w) / (arriving_w - last_w),
            };
            if missing_w.abs() <= 1e-11 * needed_w {
                let rises = slope > 1e-3 || before.is_none();
                return Ok(if rises { Climb::Reached(arriving_w, told) } else { Climb::Lost });
            }
            // Past the answer by more than rounding, or near the peak: leave it to the bracket.
            if slope <= 1e-3 || missing_w < -1e-3 * needed_w {
                return Ok(Climb::Lost);
            }
            before = Some((arriving_w, cells_w));
            arriving_w += missing_w / slope;
        }
        Ok(Climb::Lost)
    }

    /// The light up to `ceiling_w` that gives the most power of the cells, W.
    pub fn peak(&self, wavelength_m: f64, cooling: &CooledSink, ceiling_w: f64) -> f64 {
        self.operate(ceiling_w, wavelength_m, cooling, Draw::MaximumPower)
            .and_then(|full| self.peak_below(&full, wavelength_m, cooling))
            .map_or(ceiling_w, |peak| peak.arriving_w)
    }

    /// The receiver under the light up to that of `full`, which is at maximum power, that gives the most power of the cells.
    /// Sought by halves from the ceiling down, since far beyond the peak the cells are so hot that their power is flat at
    /// nothing, then by Brent's method.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn peak_below(
        &self,
        full: &ReceiverOperation,
        wavelength_m: f64,
        cooling: &CooledSink,
    ) -> Result<ReceiverOperation, OpticsError> {
        // There is one peak: where power still rises, that is at the ceiling.
        if full.arriving_w <= 0.0 || self.dimmed(full, 0.999, wavelength_m, cooling)?.cells_w < full.cells_w {
            return Ok(*full);
        }
        let at = |arriving_w: f64| self.operate(arriving_w, wavelength_m, cooling, Draw::MaximumPower);
        let cells_w = |arriving_w: f64| at(arriving_w).map_or(0.0, |o| o.cells_w);
        let ceiling_w = full.arriving_w;
        let (mut best_w, mut best_cells_w, mut arriving_w) = (ceiling_w, full.cells_w, ceiling_w);
        for _ in 0..60 {
            arriving_w *= 0.5;
            let here_w = cells_w(arriving_w);
            if here_w >= best_cells_w {
                (best_w, best_cells_w) = (arriving_w, here_w);
            }
            // Less light than that cannot give more power.
            if arriving_w <= best_cells_w {
                break;
            }
        }
        let highest_w = (2.0 * best_w).min(ceiling_w);
        let refined = minimum::brent(|w| -cells_w(w), 0.5 * best_w, highest_w, 1e-8 * best_w);
        at(if -refined.f >= best_cells_w { refined.x } else { best_w })
    }

    /// The light up to `ceiling_w` at which the hottest cell reaches `cell_temp_k` with `draw`, W; the ceiling if it never
    /// does, 0 if the air alone is as hot.
    ///
    /// # Errors
    /// As [`Self::operate`]; [`OpticsError::Root`] if the light is not found in 200 evaluations.
    pub fn arriving_at_temperature(
        &self,
        cell_temp_k: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        draw: Draw,
        ceiling_w: f64,
    ) -> Result<f64, OpticsError> {
        let full = self.operate(ceiling_w, wavelength_m, cooling, draw)?;
        Ok(self.at_temperature(cell_temp_k, &full, wavelength_m, cooling, draw)?.arriving_w)
    }

    /// The receiver under the light of [`Self::arriving_at_temperature`], where it is known under the light of the ceiling,
    /// `full`, with the same draw.
    ///
    /// # Errors
    /// As [`Self::arriving_at_temperature`].
    pub fn at_temperature(
        &self,
        cell_temp_k: f64,
        full: &ReceiverOperation,
        wavelength_m: f64,
        cooling: &CooledSink,
        draw: Draw,
    ) -> Result<ReceiverOperation, OpticsError> {
        in_range("cell temperature", "K", cell_temp_k, 0.0, 1e4)?;
        let at = |arriving_w: f64| self.operate(arriving_w, wavelength_m, cooling, draw);
        if full.hottest_cell_temp_k <= cell_temp_k {
            return Ok(*full);
        }
        let at_none_k = cooling.ambient_k() - cell_temp_k;
        if at_none_k >= 0.0 {
            return at(0.0);
        }
        if draw == Draw::MaximumPower
            && let Some(arriving_w) = self.arriving_while_at_w(cell_temp_k, wavelength_m, cooling)
            && arriving_w <= full.arriving_w
        {
            let operation = at(arriving_w)?;
            if (operation.hottest_cell_temp_k - cell_temp_k).abs() <= 1e-8 * cell_temp_k {
                return Ok(operation);
            }
        }
        let excess =
            |arriving_w: f64| at(arriving_w).map_or(f64::NAN, |o| o.hottest_cell_temp_k - cell_temp_k);
        let high = (full.arriving_w, full.hottest_cell_temp_k - cell_temp_k);
        let tolerance = Tolerance { x_rel: 1e-9, ..Tolerance::default() };
        let root = bracketed_from(excess, (0.0, at_none_k), high, tolerance)?;
        at(root.x)
    }
}
