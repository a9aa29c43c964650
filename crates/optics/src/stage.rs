//! The light's way, item by item: what enters each item, what leaves it and what it costs.

use std::fmt;

use crate::decibel;

/// An item on the light's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum StageKind {
    /// Rays of the source that miss the core or its acceptance cone.
    LaunchMatch,
    /// Reflection where light enters the fiber.
    InputFacet,
    /// Connector.
    Connector,
    /// Splice.
    Splice,
    /// Rotary joint.
    RotaryJoint,
    /// Light that the tightest layer on the drum cannot hold; once, not per turn.
    DrumBend,
    /// Attenuation in the fiber on the drum.
    DrumFiber,
    /// Attenuation in the fiber that is paid out.
    PaidOutFiber,
    /// Reflection where light leaves the fiber.
    OutputFacet,
    /// Mirrors, lenses and windows of the beam director.
    DirectorOptics,
    /// Edge of the launch aperture.
    LaunchTruncation,
    /// Scattering and absorption in the air.
    AirExtinction,
    /// Light that passes beside the receiver.
    SpillOver,
}

impl fmt::Display for StageKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::LaunchMatch => "launch match",
            Self::InputFacet => "input facet",
            Self::Connector => "connector",
            Self::Splice => "splice",
            Self::RotaryJoint => "rotary joint",
            Self::DrumBend => "bend on the drum",
            Self::DrumFiber => "fiber on the drum",
            Self::PaidOutFiber => "fiber paid out",
            Self::OutputFacet => "output facet",
            Self::DirectorOptics => "beam director optics",
            Self::LaunchTruncation => "launch aperture",
            Self::AirExtinction => "air",
            Self::SpillOver => "beside the receiver",
        })
    }
}

/// One item with the light that enters it, leaves it and is lost in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Which item.
    pub kind: StageKind,
    /// Light in, W.
    pub in_w: f64,
    /// Light out, W.
    pub out_w: f64,
    /// `in_w − out_w`, W.
    pub loss_w: f64,
    /// Loss, dB.
    pub loss_db: f64,
}

/// All items in the order in which light meets them.
#[derive(Debug, Clone, PartialEq)]
pub struct Itemised {
    /// Light that the laser gives, W.
    pub source_w: f64,
    /// Light that arrives behind the last item, W.
    pub arriving_w: f64,
    /// The items.
    pub stages: Vec<Stage>,
}

impl Itemised {
    /// A way with `source_w` at its start and no item yet.
    pub(crate) fn start(source_w: f64, capacity_count: usize) -> Self {
        Self { source_w, arriving_w: source_w, stages: Vec::with_capacity(capacity_count) }
    }

    /// Adds an item that transmits `transmission_ratio`.
    pub(crate) fn pass(&mut self, kind: StageKind, transmission_ratio: f64) {
        self.push(kind, transmission_ratio, decibel::loss_of_ratio(transmission_ratio));
    }

    /// Adds an item with a loss in dB.
    pub(crate) fn pass_db(&mut self, kind: StageKind, loss_db: f64) {
        self.push(kind, decibel::ratio_of_loss(loss_db), loss_db);
    }

    fn push(&mut self, kind: StageKind, transmission_ratio: f64, loss_db: f64) {
        let in_w = self.arriving_w;
        let out_w = in_w * transmission_ratio;
        self.stages.push(Stage { kind, in_w, out_w, loss_w: in_w - out_w, loss_db });
        self.arriving_w = out_w;
    }

    /// Loss of all items of a kind together, W.
    pub fn loss_w_of(&self, kind: StageKind) -> f64 {
        self.stages.iter().filter(|stage| stage.kind == kind).map(|stage| stage.loss_w).sum()
    }

    /// Light behind the last item of a kind, W; `None` if there is no such item.
    pub fn power_after_w(&self, kind: StageKind) -> Option<f64> {
        self.stages.iter().rev().find(|stage| stage.kind == kind).map(|stage| stage.out_w)
    }

    /// Sum of all losses, W.
    pub fn total_loss_w(&self) -> f64 {
        self.stages.iter().map(|stage| stage.loss_w).sum()
    }

    /// Sum of all losses, dB.
    pub fn total_loss_db(&self) -> f64 {
        self.stages.iter().map(|stage| stage.loss_db).sum()
    }
}
