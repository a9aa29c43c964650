//! One number, or four side by side: what a formula must be able to do to be written once for both.

use std::ops::{Add, Mul, Sub};

use wide::f64x4;

/// A number or four of them. The same formula gives the same bits for both.
pub(crate) trait Lane: Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> {
    /// One number in every lane.
    fn of(x: f64) -> Self;
}

impl Lane for f64 {
    #[inline]
    fn of(x: f64) -> Self {
        x
    }
}

impl Lane for f64x4 {
    #[inline]
    fn of(x: f64) -> Self {
        Self::splat(x)
    }
}
