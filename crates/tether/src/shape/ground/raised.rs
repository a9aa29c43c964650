//! A flow as it is seen from the ground.

use beamstay_environment::flow::{Flow, FlowSample};

/// Most kinks of a flow that are passed on; more would only cost accuracy.
const MOST_KINKS: usize = 8;

/// A flow seen from another height.
pub(super) struct Raised<'a, F: Flow> {
    flow: &'a F,
    /// Height of the ground in the flow's own heights, m.
    pub(super) height_m: f64,
    kinks_m: [f64; MOST_KINKS],
    kinks_count: usize,
}

impl<'a, F: Flow> Raised<'a, F> {
    pub(super) fn new(flow: &'a F, height_m: f64) -> Self {
        let mut raised = Self { flow, height_m, kinks_m: [0.0; MOST_KINKS], kinks_count: 0 };
        for (kink_m, from_m) in raised.kinks_m.iter_mut().zip(flow.kink_heights_m()) {
            *kink_m = from_m - height_m;
            raised.kinks_count += 1;
        }
        raised
    }
}

impl<F: Flow> Flow for Raised<'_, F> {
    fn at(&self, z_m: f64) -> FlowSample {
        self.flow.at(z_m + self.height_m)
    }

    fn kink_heights_m(&self) -> &[f64] {
        &self.kinks_m[..self.kinks_count]
    }
}
