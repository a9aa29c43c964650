//! How the tether is cut into elements.

use super::gauss::{MAX_ORDER, rule};

/// Most elements of a mesh.
pub(super) const MAX_ELEMENTS: usize = 32;

/// A piece of tether on which the load is one polynomial. Places are shares of the unstretched length.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Element {
    /// Where it starts, 0 at the drum.
    pub start_ratio: f64,
    /// How long it is.
    pub span_ratio: f64,
    /// Number of its first node.
    pub first: usize,
    /// How many nodes it has.
    pub order: usize,
    /// Height at which its upper end must lie, because the flow has a kink there, m.
    pub end_height_m: Option<f64>,
}

impl Element {
    /// Numbers of its nodes.
    pub(super) fn nodes(&self) -> std::ops::Range<usize> {
        self.first..self.first + self.order
    }

    /// Place of its node `i`, counted from 0 within the element.
    pub(super) fn place_ratio(&self, i: usize) -> f64 {
        self.start_ratio + self.span_ratio * rule(self.order).nodes[i]
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
}
