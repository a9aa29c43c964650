//! Colours, sizes and type of all figures.

use plotters::style::{Color, FontFamily, FontStyle, IntoFont, RGBColor, TextStyle};

/// Width and height of a wide figure, px.
pub const WIDE: (u32, u32) = (900, 760);

/// Colours and sizes. Plain white paper: it prints, and it is readable on a dark page too.
#[derive(Debug, Clone, Copy)]
pub struct Theme;

impl Theme {
    /// Paper.
    pub const PAPER: RGBColor = RGBColor(255, 255, 255);
    /// Text and axes.
    pub const INK: RGBColor = RGBColor(32, 38, 46);
    /// Grid and secondary lines.
    pub const FAINT: RGBColor = RGBColor(200, 205, 212);
    /// From little to much: five steps that differ in lightness, so that they can be told apart without colour (after the
    /// perceptually even map "viridis" of S. van der Walt and N. Smith, CC0).
    pub const STEPS: [RGBColor; 5] = [
        RGBColor(68, 1, 84),
        RGBColor(59, 82, 139),
        RGBColor(33, 145, 140),
        RGBColor(94, 201, 98),
        RGBColor(220, 190, 20),
    ];

    /// Text of a size, px.
    pub fn text(size_px: u32) -> TextStyle<'static> {
        (FontFamily::SansSerif, f64::from(size_px), FontStyle::Normal).into_font().color(&Self::INK.to_rgba())
    }

    /// Step for a value between two others.
    pub fn step(value: f64, lo: f64, hi: f64) -> usize {
        if hi > lo { ((5.0 * (value - lo) / (hi - lo)) as usize).min(4) } else { 2 }
    }
}
