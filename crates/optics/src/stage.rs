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

/// Where the light that an item costs goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fate {
    /// Heat on the ground.
    Heat,
    /// Back, as light.
    Reflected,
    /// Out to the sides as light, or absorbed on the way; the models do not part the two.
    Scattered,
    /// On, past the receiver.
    Past,
}

impl StageKind {
    /// Where the light goes that this item costs. Attenuation on the drum is heat, since the winding absorbs what scatters.
    pub fn fate(self) -> Fate {
        match self {
            Self::LaunchMatch
            | Self::Connector
            | Self::Splice
            | Self::RotaryJoint
            | Self::DrumBend
            | Self::DrumFiber
            | Self::DirectorOptics
            | Self::LaunchTruncation => Fate::Heat,
            Self::InputFacet | Self::OutputFacet => Fate::Reflected,
            Self::PaidOutFiber | Self::AirExtinction => Fate::Scattered,
            Self::SpillOver => Fate::Past,
        }
    }
}

impl StageKind {
    /// What it is, in words.
    pub fn name(self) -> &'static str {
        match self {
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
        }
    }
}

impl fmt::Display for StageKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One item with the light that enters it, leaves it and is lost in it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
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

    /// Loss of all items whose light goes one way, W.
    pub fn loss_w_to(&self, fate: Fate) -> f64 {
        self.stages.iter().filter(|stage| stage.kind.fate() == fate).map(|stage| stage.loss_w).sum()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn losses_and_light_that_arrives_make_up_the_source() {
        let mut way = Itemised::start(100.0, 3);
        way.pass(StageKind::LaunchMatch, 0.9);
        way.pass_db(StageKind::Connector, 0.5);
        way.pass_db(StageKind::Connector, 0.5);
        assert!((way.arriving_w + way.total_loss_w() - way.source_w).abs() < 1e-12);
        assert!((way.arriving_w - 90.0 * 10_f64.powf(-0.1)).abs() < 1e-12);
        assert!((way.total_loss_db() - decibel::loss_of_ratio(way.arriving_w / 100.0)).abs() < 1e-12);
    }

    #[test]
    fn items_are_found_by_kind() {
        let mut way = Itemised::start(100.0, 3);
        way.pass(StageKind::InputFacet, 0.5);
        way.pass(StageKind::Splice, 0.5);
        way.pass(StageKind::Splice, 0.5);
        assert!((way.loss_w_of(StageKind::Splice) - 37.5).abs() < 1e-12);
        assert_eq!(way.power_after_w(StageKind::InputFacet), Some(50.0));
        assert_eq!(way.power_after_w(StageKind::Splice), Some(12.5));
        assert_eq!(way.power_after_w(StageKind::RotaryJoint), None);
    }

    #[test]
    fn every_kind_has_its_own_words() {
        let kinds = [
            StageKind::LaunchMatch,
            StageKind::InputFacet,
            StageKind::Connector,
            StageKind::Splice,
            StageKind::RotaryJoint,
            StageKind::DrumBend,
            StageKind::DrumFiber,
            StageKind::PaidOutFiber,
            StageKind::OutputFacet,
            StageKind::DirectorOptics,
            StageKind::LaunchTruncation,
            StageKind::AirExtinction,
            StageKind::SpillOver,
        ];
        let words: std::collections::BTreeSet<String> = kinds.iter().map(StageKind::to_string).collect();
        assert_eq!(words.len(), kinds.len());
    }
}
