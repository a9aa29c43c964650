//! How the tether is cut into elements.

use super::gauss::{MAX_ORDER, rule};

/// Most elements of a mesh.
pub(super) const MAX_ELEMENTS: usize = 32;

/// Why an element ends where it does.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) enum Boundary {
    /// Nothing special is there.
    #[default]
    Free,
    /// The flow has a kink at this height, m.
    Height(f64),
    /// The flow along the tether changes its sign.
    Crosswise,
    /// The flow across the tether changes its side.
    Alongside,
}

/// How the nodes of an element are spread.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) enum Crowding {
    /// Evenly.
    #[default]
    Even,
    /// Towards the lower end, where shear is strongest: the place is (ξ + κξ²)/(1 + κ).
    Lower(f64),
    /// At a bend: places grow with sinh(η), η running from the first to the second number, as s does along a catenary on
    /// which the tangent turns evenly with η.
    Bend(f64, f64),
}

impl Crowding {
    /// For many places of one element.
    fn spread(self) -> Spread {
        let (lower, half) = match self {
            Self::Even | Self::Lower(_) => (0.0, 0.0),
            Self::Bend(lower, upper) => (lower, 0.5 * (upper - lower)),
        };
        let (start, grown) = (lower.exp(), half.exp_m1());
        let whole = sinh(grown) * cosh(start * (1.0 + grown));
        Spread { crowding: self, half, start, whole }
    }

    /// Inner coordinate of a share from 0 to 1.
    fn inner(self, share: f64) -> f64 {
        match self {
            Self::Even => share,
            Self::Lower(k) => 2.0 * (1.0 + k) * share / (1.0 + (1.0 + 4.0 * k * (1.0 + k) * share).sqrt()),
            Self::Bend(lower, upper) => {
                let (start, end) = (lower.sinh(), upper.sinh());
                (((start + share * (end - start)).asinh() - lower) / (upper - lower)).clamp(0.0, 1.0)
            }
        }
    }

    /// Of the part between two inner coordinates.
    fn cut(self, lower: f64, upper: f64) -> Self {
        match self {
            Self::Even => Self::Even,
            Self::Lower(k) => Self::Lower(k * (upper - lower) / (1.0 + 2.0 * k * lower)),
            Self::Bend(a, b) => Self::Bend(a + lower * (b - a), a + upper * (b - a)),
        }
    }
}

/// Places of the nodes of one element, for its crowding; a bend asks for exponentials.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spread {
    crowding: Crowding,
    /// Of a bend: half the range of η, e^η at its lower end, and what the whole element grows by.
    half: f64,
    start: f64,
    whole: f64,
}

impl Spread {
    /// Share of the element below its inner coordinate `xi` in 0..1, and the slope of that share.
    pub(super) fn share(&self, xi: f64) -> (f64, f64) {
        match self.crowding {
            Crowding::Even => (xi, 1.0),
            Crowding::Lower(k) => (xi * (1.0 + k * xi) / (1.0 + k), (1.0 + 2.0 * k * xi) / (1.0 + k)),
            Crowding::Bend(..) => {
                // sinh a − sinh b = 2 sinh((a − b)/2) cosh((a + b)/2) keeps the digits of a short element far out.
                let grown = (self.half * xi).exp_m1();
                let middle = self.start * (1.0 + grown);
                let here = middle * (1.0 + grown);
                (sinh(grown) * cosh(middle) / self.whole, self.half * cosh(here) / self.whole)
            }
        }
    }
}

/// sinh x from eˣ − 1.
fn sinh(grown: f64) -> f64 {
    0.5 * (grown + grown / (1.0 + grown))
}

/// cosh x from eˣ.
fn cosh(exponential: f64) -> f64 {
    0.5 * (exponential + 1.0 / exponential)
}

/// A piece of tether on which the load is one polynomial. Places are shares of the unstretched length.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Element {
    /// Where it starts, 0 at the drum.
    pub start_ratio: f64,
    /// How long it is.
    pub span_ratio: f64,
    /// How its nodes crowd.
    pub crowding: Crowding,
    /// Number of its first node.
    pub first: usize,
    /// How many nodes it has.
    pub order: usize,
    /// Why its upper end is where it is.
    pub boundary: Boundary,
}

impl Element {
    /// An element with evenly spread nodes.
    pub(super) fn even(start_ratio: f64, end_ratio: f64, order: usize) -> Self {
        Self { start_ratio, span_ratio: end_ratio - start_ratio, order, ..Self::default() }
    }

    /// Numbers of its nodes.
    pub(super) fn nodes(&self) -> std::ops::Range<usize> {
        self.first..self.first + self.order
    }

    /// Share of the element below its inner coordinate `xi` in 0..1, and the slope of that share.
    pub(super) fn share(&self, xi: f64) -> (f64, f64) {
        self.spread().share(xi)
    }

    /// The same for many places.
    pub(super) fn spread(&self) -> Spread {
        self.crowding.spread()
    }

    /// Inner coordinate from 0 to 1 of a place.
    pub(super) fn inner(&self, place_ratio: f64) -> f64 {
        let share = (place_ratio - self.start_ratio) / self.span_ratio;
        let share = if share > 0.0 { share.min(1.0) } else { 0.0 };
        self.crowding.inner(share)
    }

    /// The part of the element between two inner coordinates.
    pub(super) fn cut(&self, lower: f64, upper: f64) -> Self {
        let start = self.share(lower).0;
        Self {
            start_ratio: self.start_ratio + self.span_ratio * start,
            span_ratio: self.span_ratio * (self.share(upper).0 - start),
            crowding: self.crowding.cut(lower, upper),
            ..*self
        }
    }

    /// Place of its node `i`, counted from 0 within the element.
    pub(super) fn place_ratio(&self, i: usize) -> f64 {
        self.start_ratio + self.span_ratio * self.share(rule(self.order).nodes[i]).0
    }
}

/// Elements from the drum to the vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mesh {
    elements: [Element; MAX_ELEMENTS],
    elements_count: usize,
    nodes_count: usize,
}

impl Mesh {
    /// A mesh without elements.
    pub(super) fn empty() -> Self {
        Self { elements: [Element::default(); MAX_ELEMENTS], elements_count: 0, nodes_count: 0 }
    }

    /// Adds an element at the end; `false` if it does not fit into the mesh or into `nodes_limit`.
    pub(super) fn push(&mut self, element: Element, nodes_limit: usize) -> bool {
        let order = element.order.clamp(2, MAX_ORDER);
        if self.elements_count == MAX_ELEMENTS || self.nodes_count + order > nodes_limit {
            return false;
        }
        self.elements[self.elements_count] = Element { first: self.nodes_count, order, ..element };
        self.elements_count += 1;
        self.nodes_count += order;
        true
    }

    pub(super) fn elements(&self) -> &[Element] {
        &self.elements[..self.elements_count]
    }

    pub(super) fn elements_mut(&mut self) -> &mut [Element] {
        &mut self.elements[..self.elements_count]
    }

    pub(super) fn nodes_count(&self) -> usize {
        self.nodes_count
    }

    /// Element that holds a place, and the inner coordinate there.
    pub(super) fn locate(&self, place_ratio: f64) -> (usize, f64) {
        let index = self.elements().partition_point(|e| e.start_ratio <= place_ratio).max(1) - 1;
        (index, self.elements()[index].inner(place_ratio))
    }
}
