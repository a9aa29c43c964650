//! The lines of one wind past the heights of a map: followed from the drum once for all columns that share the wind, or for one
//! column alone.

use beamstay_environment::Flow;
use beamstay_tether::Ascending;
use rayon::prelude::*;

use super::{
    lines::{Follow, Forces, LINE, load_n},
    net::Net,
};
use crate::{
    System,
    hang::{EXIT_FREE_M, Touch},
    search::Free,
    system::{line::TetherLine, surroundings::Stream},
};

/// Elevations in the mean wind beyond the least that a plan allows, °.
const BEYOND_DEG: f64 = 12.0;
/// Lowest elevation in the gust, °: a pull at the drum that fades in it may turn round.
const LOWEST_IN_GUST_DEG: f64 = -100.0;
/// Least drum tension of a net, of the load on a straight line.
const LEAST: f64 = 0.001;
/// Largest drum tension of a map, of that load, without which no line of the net reaches.
const MOST: f64 = 0.01;
/// Largest drum tension in the gust, of that in the mean wind, and least.
const IN_GUST: (f64, f64) = (4.0, 0.2);
/// Longest line that is followed, of what is on the drum, and depth under the ground, of the height, at which one is given up: what lies
/// between lines is read from those around it, also from some that no plan may have.
const LONGEST: f64 = 4.0;
const DEEP: f64 = 1.0;
/// Most lines that a thread follows before it looks whether another has nothing to do.
const LINES: usize = 16;
/// Lowest height of a column whose tethers are followed, m.
const LOWEST_M: f64 = 0.1;
/// Speed by which two winds may differ that are the same, of itself.
const SAME: f64 = 1e-9;

/// The lines of one wind past some heights.
#[derive(Debug, Clone)]
pub(super) struct Bundle {
    nets: Vec<(f64, Forces, Net<LINE>)>,
}

impl Bundle {
    /// The lines past a height, and the drum forces of their net.
    pub(super) fn past(&self, height_m: f64) -> Option<(Forces, Net<LINE>)> {
        let (_, forces, net) = self.nets.iter().find(|(height, ..)| *height == height_m)?;
        Some((*forces, net.clone()))
    }
}

/// How the tethers of some columns are followed.
pub(super) struct Bundles<'a> {
    system: &'a System,
    line: &'a TetherLine,
    /// Largest drum tension of the map, N.
    most_n: f64,
    heights_m: &'a [f64],
    crosswind_m: f64,
    strain_ratio: f64,
}

impl<'a> Bundles<'a> {
    /// For heights that rise; `free` are the payload, the offset and the drum tension. None for a line that may lie, for a vehicle that
    /// is not over ground, and where no drum tension reaches.
    pub(super) fn new(
        system: &'a System,
        free: &[Free],
        heights_m: &'a [f64],
        crosswind_m: f64,
    ) -> Option<Self> {
        let line = system.line.as_deref()?;
        let may_lie = system.limits.max_length_on_ground_m > 0.0;
        let rise = heights_m.windows(2).all(|pair| pair[0] < pair[1]);
        let first_m = *heights_m.first()?;
        if may_lie || !rise || first_m < LOWEST_M || system.under(Touch::Through).is_none() {
            return None;
        }
        let most_n = free.get(2)?.span.hi.min(line.breaking_load_n);
        let strain_ratio = 1e-6 + IN_GUST.0 * most_n / line.axial_stiffness_n;
        Some(Self { system, line, most_n, heights_m, crosswind_m, strain_ratio })
    }

    /// Strain that is added to a slack before its logarithm is taken.
    pub(super) fn strain_ratio(&self) -> f64 {
        self.strain_ratio
    }

    /// The lines in the mean wind; `gust` sets the scale of their tensions.
    pub(super) fn in_mean(&self, gust: &Stream) -> Option<Bundle> {
        let lowest_deg = (self.system.limits.min_drum_elevation_deg - BEYOND_DEG).clamp(-30.0, 60.0);
        self.bundle(&self.system.surroundings.mean, gust, (1.0, 1.0), lowest_deg)
    }

    /// The lines in the gust.
    pub(super) fn in_gust(&self, gust: &Stream) -> Option<Bundle> {
        self.bundle(gust, gust, (IN_GUST.1, IN_GUST.0), LOWEST_IN_GUST_DEG)
    }

    /// The gust of all heights, if it is the same.
    pub(super) fn common_gust(&self) -> Option<Stream> {
        let (lowest_m, highest_m) = (*self.heights_m.first()?, *self.heights_m.last()?);
        let gusts = [lowest_m, highest_m].map(|height_m| self.system.surroundings.gust_at(height_m).ok());
        let [low, high] = gusts;
        let (low, high) = (low?, high?);
        let same = |height_m: f64| {
            let [a, b] = [&low, &high].map(|gust| gust.at(height_m).velocity_m_s);
            (a - b).norm() <= SAME * a.norm()
        };
        (same(lowest_m) && same(highest_m)).then_some(low)
    }

    /// Whether all lines stay in one plane, so that one of them passes many heights.
    pub(super) fn is_plane(&self) -> bool {
        let across = |height_m: &f64| self.system.surroundings.mean.at(*height_m).velocity_m_s.y != 0.0;
        self.crosswind_m == 0.0 && !self.heights_m.iter().any(across)
    }

    fn bundle(
        &self,
        stream: &Stream,
        gust: &Stream,
        tensions: (f64, f64),
        lowest_deg: f64,
    ) -> Option<Bundle> {
        let load_n = |height_m: f64| load_n(self.line, gust, height_m);
        let (lowest_m, highest_m) = (*self.heights_m.first()?, *self.heights_m.last()?);
        if self.most_n <= MOST * load_n(highest_m) {
            return None;
        }
        let least_n = tensions.0 * LEAST * load_n(lowest_m);
        let forces = Forces::new(lowest_deg, (least_n, tensions.1 * self.most_n), load_n(lowest_m));
        let follow = Follow {
            line: self.line,
            asked: Ascending {
                longest_m: LONGEST * self.line.total_length_m,
                counted_from_m: EXIT_FREE_M.min(0.5 * lowest_m),
                deepest_m: -self.system.surroundings.exit_height_m - DEEP * highest_m,
            },
            crosswind_m: self.crosswind_m,
            strain_ratio: self.strain_ratio,
        };
        let places: Vec<[usize; 2]> = forces.places().collect();
        let lines: Vec<Vec<[f64; LINE]>> = places
            .par_iter()
            .with_max_len(LINES)
            .map(|at| follow.past(stream, &forces, *at, self.heights_m))
            .collect();
        let nets = self.heights_m.par_iter().enumerate().map(|(index, height_m)| {
            let first = forces.row_below(tensions.0 * LEAST * load_n(*height_m));
            let counts = [forces.counts[0], forces.counts[1] - first];
            let net = Net::new(counts, |[u, v]| lines[u * forces.counts[1] + first + v].get(index).copied());
            (*height_m, forces.above_row(first), net)
        });
        Some(Bundle { nets: nets.collect() })
    }
}

/// Lines that the columns of a layer share: in the mean wind and, where it is the same for all, in the gust.
#[derive(Debug, Default)]
pub(super) struct Shared {
    pub mean: Option<Bundle>,
    pub gust: Option<Bundle>,
}

impl Shared {
    /// Follows them. Nothing is shared by columns whose lines leave the plane of the wind.
    pub(super) fn new(system: &System, free: &[Free], heights_m: &[f64], crosswind_m: f64) -> Self {
        let shared = || {
            let bundles = Bundles::new(system, free, heights_m, crosswind_m)?;
            let gust = bundles.common_gust().filter(|_| bundles.is_plane())?;
            Some(Self { mean: bundles.in_mean(&gust), gust: bundles.in_gust(&gust) })
        };
        shared().unwrap_or_default()
    }
}
