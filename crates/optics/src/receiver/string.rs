//! Equal cells under uneven light: the real current-voltage curve of the strings, each cell at the common current and
//! each string at the common voltage, not the weakest cell alone.

use beamstay_numerics::domain::in_range;

use super::diode::{Diode, Junction, PowerPoint};
use super::pie::pie_fractions;
use super::{parallel::Parallel, series::OneString};
use crate::OpticsError;

/// Most cells under uneven light.
pub const MAX_UNEVEN_CELLS: usize = 64;

/// How the light is shared among cells; the shares sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    share_ratio: [f64; MAX_UNEVEN_CELLS],
    cells_count: usize,
}

impl Shares {
    /// Shares in proportion to `weights` (1 to 64 of them, 0 to 1e9 each, not all 0).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for a count or a weight outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::string::Shares;
    /// let shares = Shares::in_proportion(&[1.0, 1.0, 2.0])?;
    /// assert_eq!(shares.ratios(), &[0.25, 0.25, 0.5]);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn in_proportion(weights: &[f64]) -> Result<Self, OpticsError> {
        in_range("cells of an uneven string", "", weights.len() as f64, 1.0, MAX_UNEVEN_CELLS as f64)?;
        for weight in weights {
            in_range("share of the light", "", *weight, 0.0, 1e9)?;
        }
        let sum = in_range("sum of the shares of the light", "", weights.iter().sum(), 1e-9, 1e12)?;
        let mut share_ratio = [0.0; MAX_UNEVEN_CELLS];
        for (share, weight) in share_ratio.iter_mut().zip(weights) {
            *share = weight / sum;
        }
        Ok(Self { share_ratio, cells_count: weights.len() })
    }

    /// Sectors of a round cell under an offset Gaussian spot; arguments as [`pie_fractions`]. Light beside the cell is not
    /// counted: the shares are those of the light that the cell catches.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`], also if the cell catches less than 1e-9 of the beam.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::receiver::string::Shares;
    /// let shares = Shares::pie_sectors(4, 1.5e-3, 1e-3, 0.1e-3)?;
    /// assert!((4.0 * shares.weakest_ratio() - 0.781_698 / 0.988_0).abs() < 1e-3);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn pie_sectors(
        sectors_count: usize,
        cell_radius_m: f64,
        spot_radius_m: f64,
        offset_m: f64,
    ) -> Result<Self, OpticsError> {
        let fractions = pie_fractions(sectors_count, cell_radius_m, spot_radius_m, offset_m)?;
        Self::in_proportion(&fractions[..sectors_count])
    }

    /// The shares.
    pub fn ratios(&self) -> &[f64] {
        &self.share_ratio[..self.cells_count]
    }

    /// Share of the weakest cell.
    pub fn weakest_ratio(&self) -> f64 {
        self.ratios().iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Share of the brightest cell.
    pub fn brightest_ratio(&self) -> f64 {
        self.ratios().iter().copied().fold(0.0, f64::max)
    }
}

/// Equal cells at one temperature, wired as strings of cells in series, the strings in parallel, each cell with its own light.
/// Nothing is on the heap.
#[derive(Debug, Clone, Copy)]
pub struct UnevenArray<'a> {
    /// One cell.
    pub(super) cell: Junction,
    /// Photocurrent of one cell that gets all the light, A.
    pub(super) photocurrent_a: f64,
    /// Share of each cell, string by string.
    pub(super) shares: &'a [f64],
    /// Cells in series in one string; divides the number of shares.
    pub(super) series_count: usize,
    /// Forward voltage of a bypass diode across each cell, V; none if absent.
    pub(super) bypass_v: Option<f64>,
}

/// What is known of uneven cells from a temperature near by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near {
    /// Their point of largest power.
    pub(super) point: Option<PowerPoint>,
    /// Junction voltage of the weakest cell of each string there, V.
    pub(super) junction_v: [f64; MAX_UNEVEN_CELLS],
}

impl Default for Near {
    fn default() -> Self {
        Self { point: None, junction_v: [0.0; MAX_UNEVEN_CELLS] }
    }
}

impl<'a> UnevenArray<'a> {
    /// Cells like `cell`, whose photocurrent is that of one cell that gets all the light, in strings of `series_count` (1 to
    /// 64, a divisor of the number of shares), with bypass diodes of `bypass_forward_v` (0 to 2 V) or without.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// Four segments, one with 0.9 of the light of the others; mpmath gives 3.79978587 W:
    /// ```
    /// use beamstay_optics::receiver::{Diode, DiodeSpec, Shares, string::UnevenArray};
    /// let cell = Diode::new(DiodeSpec {
    ///     photocurrent_a: 3.9,
    ///     saturation_current_a: 2e-19,
    ///     ideality: 1.05,
    ///     series_resistance_ohm: 0.02,
    ///     shunt_resistance_ohm: 1000.0,
    ///     cells_in_series: 1,
    ///     temperature_k: 298.15,
    /// })?;
    /// let shares = Shares::in_proportion(&[1.0, 1.0, 1.0, 0.9])?;
    /// let array = UnevenArray::new(&cell, &shares, 4, None)?;
    /// assert!((array.maximum_power().power_w - 3.799_785_87).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn new(
        cell: &Diode,
        shares: &'a Shares,
        series_count: usize,
        bypass_forward_v: Option<f64>,
    ) -> Result<Self, OpticsError> {
        let all = shares.ratios().len();
        in_range("cells in series", "", series_count as f64, 1.0, all as f64)?;
        in_range("cells left over by the strings", "", (all % series_count) as f64, 0.0, 0.0)?;
        if let Some(forward_v) = bypass_forward_v {
            in_range("forward voltage of a bypass diode", "V", forward_v, 0.0, 2.0)?;
        }
        Ok(Self {
            cell: cell.junction,
            photocurrent_a: cell.photocurrent_a,
            shares: shares.ratios(),
            series_count,
            bypass_v: bypass_forward_v,
        })
    }

    pub(super) fn strings(&self) -> impl Iterator<Item = OneString<'_>> {
        self.shares.chunks(self.series_count.max(1)).map(|shares| OneString {
            cell: &self.cell,
            photocurrent_a: self.photocurrent_a,
            shares,
            bypass_v: self.bypass_v,
        })
    }

    fn only_string(&self) -> Option<OneString<'_>> {
        if self.shares.len() <= self.series_count { self.strings().next() } else { None }
    }

    /// The point of largest power: current of all strings together.
    pub fn maximum_power(&self) -> PowerPoint {
        self.maximum_power_near(&mut Near::default())
    }

    /// The same with what is known from a temperature near by.
    pub(super) fn maximum_power_near(&self, near: &mut Near) -> PowerPoint {
        let best = match self.only_string() {
            Some(string) => string.maximum_power(),
            None => Parallel::near(self, near).maximum_power(),
        };
        near.point = Some(best).filter(|best| best.power_w > 0.0);
        best
    }

    /// The point on the high-voltage side of the maximum that gives `power_w`; the maximum itself if that is less, and open
    /// circuit for zero or less.
    pub fn point_at_power(&self, power_w: f64) -> PowerPoint {
        self.point_at_most(|_| power_w, &mut Near::default())
    }

    /// The point on the high-voltage side of the maximum that gives what `wanted_w` makes of the maximum.
    pub(super) fn point_at_most(&self, wanted_w: impl Fn(PowerPoint) -> f64, near: &mut Near) -> PowerPoint {
        let Some(string) = self.only_string() else {
            return Parallel::near(self, near).point_at_most(wanted_w);
        };
        let best = self.maximum_power_near(near);
        let wanted_w = wanted_w(best).max(0.0);
        if best.power_w.is_nan() || wanted_w >= best.power_w {
            return best;
        }
        if wanted_w <= 0.0 {
            return self.open_circuit();
        }
        string.point_at_power(wanted_w, best)
    }

    /// The point without current: of strings that differ, near the highest, where the bright ones just feed the dim.
    pub fn open_circuit(&self) -> PowerPoint {
        match self.only_string() {
            Some(string) => PowerPoint { voltage_v: string.voltage(0.0).v, ..PowerPoint::default() },
            None => Parallel::near(self, &mut Near::default()).open_circuit(),
        }
    }

    /// Heat of the hottest cell, W: the largest `light − current·voltage` over the cells, for light `entering_w` on the
    /// whole array at terminal voltage and current `point`.
    pub(super) fn hottest_cell_heat_w(&self, entering_w: f64, point: PowerPoint, near: &mut Near) -> f64 {
        let mut hottest_w: f64 = 0.0;
        let mut visit = |string: &OneString<'_>, current_a: f64| {
            for share in string.shares {
                let voltage_v = string.cell_voltage(*share, current_a).v;
                hottest_w = hottest_w.max(entering_w * share - current_a * voltage_v);
            }
        };
        match self.only_string() {
            Some(string) => visit(&string, point.current_a),
            None => Parallel::near(self, near).currents(point.voltage_v, visit),
        }
        hottest_w
    }
}
