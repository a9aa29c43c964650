//! Colours, sizes and type of all figures and of the page: each colour once, for light paper and for dark.
//!
//! A figure is drawn with the colours for light paper. Its style sheet says which colour stands for which on a dark screen,
//! so that one file serves both; a viewer without style sheets, and a printer, show the light one.

use plotters::style::{
    Color, FontFamily, FontStyle, IntoFont, RGBColor, TextStyle,
    text_anchor::{HPos, Pos, VPos},
};

/// Width and height of a wide figure, px.
pub const WIDE: (u32, u32) = (900, 760);
/// Width and height of a figure with one chart, px.
pub const CHART: (u32, u32) = (900, 560);
/// Size of the text of axes and legends, px; nothing is smaller.
pub const TEXT_PX: u32 = 17;
/// Size of a caption, px.
pub const CAPTION_PX: u32 = 20;

/// The drawing library writes sizes divided by this.
const SHRINK: f64 = 1.24;

/// Colours and sizes. Every colour differs from the paper by at least 3 to 1 in contrast (text 4.5 to 1, WCAG 2.2), the
/// faint ones aside, which carry no meaning alone.
#[derive(Debug, Clone, Copy)]
pub struct Theme;

impl Theme {
    /// Paper.
    pub const PAPER: RGBColor = RGBColor(255, 255, 255);
    /// Text and axes.
    pub const INK: RGBColor = RGBColor(28, 34, 42);
    /// Text of less weight.
    pub const MUTED: RGBColor = RGBColor(84, 93, 105);
    /// Grid and secondary lines.
    pub const FAINT: RGBColor = RGBColor(203, 208, 215);
    /// A quiet surface: bars behind bars, the ground.
    pub const GROUND: RGBColor = RGBColor(236, 239, 242);
    /// What holds.
    pub const GOOD: RGBColor = RGBColor(0, 100, 157);
    /// What is broken, and danger.
    pub const BAD: RGBColor = RGBColor(178, 58, 0);
    /// From little to much: five steps that differ in lightness, so that they can be told apart without colour.
    pub const STEPS: [RGBColor; 5] = [
        RGBColor(68, 1, 84),
        RGBColor(64, 67, 135),
        RGBColor(38, 108, 142),
        RGBColor(26, 138, 120),
        RGBColor(98, 158, 32),
    ];
    /// For lines and marks side by side: told apart by people with any kind of colour vision; still, never without a dash,
    /// a mark, a pattern or a label.
    pub const SERIES: [RGBColor; 6] = [
        RGBColor(0, 101, 160),
        RGBColor(186, 76, 0),
        RGBColor(0, 118, 90),
        RGBColor(151, 60, 130),
        RGBColor(122, 96, 0),
        RGBColor(86, 96, 110),
    ];
    /// Pale fills for areas, one for each of [`Self::SERIES`].
    pub const FILLS: [RGBColor; 6] = [
        RGBColor(205, 227, 244),
        RGBColor(250, 219, 196),
        RGBColor(199, 235, 222),
        RGBColor(241, 214, 233),
        RGBColor(240, 228, 184),
        RGBColor(222, 226, 231),
    ];

    /// Text of a size, px.
    pub fn text(size_px: u32) -> TextStyle<'static> {
        Self::lettering(size_px, FontStyle::Normal)
    }

    /// Bold text of a size, px.
    pub fn bold(size_px: u32) -> TextStyle<'static> {
        Self::lettering(size_px, FontStyle::Bold)
    }

    fn lettering(size_px: u32, style: FontStyle) -> TextStyle<'static> {
        (FontFamily::SansSerif, SHRINK * f64::from(size_px), style).into_font().color(&Self::INK.to_rgba())
    }

    /// Text that ends at its place instead of beginning there, centred in height.
    pub fn ending(style: TextStyle<'_>) -> TextStyle<'_> {
        style.pos(Pos::new(HPos::Right, VPos::Center))
    }

    /// Text centred on its place.
    pub fn centred(style: TextStyle<'_>) -> TextStyle<'_> {
        style.pos(Pos::new(HPos::Center, VPos::Center))
    }

    /// Text that begins at its place, centred in height.
    pub fn beginning(style: TextStyle<'_>) -> TextStyle<'_> {
        style.pos(Pos::new(HPos::Left, VPos::Center))
    }

    /// Width that text needs at most, px: an estimate for a sans-serif face, on the safe side.
    pub fn text_width_px(text: &str, size_px: u32) -> i32 {
        let em: f64 =
            text.chars()
                .map(|c| match c {
                    'i' | 'j' | 'l' | 't' | 'f' | 'r' | ' ' | '.' | ',' | ':' | '\'' | '|' | '!' | '('
                    | ')' => 0.36,
                    'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
                    c if c.is_ascii_uppercase() => 0.72,
                    c if c.is_ascii() => 0.58,
                    _ => 0.8,
                })
                .sum();
        (em * f64::from(size_px)).ceil() as i32
    }

    /// Step for a value between two others.
    pub fn step(value: f64, lo: f64, hi: f64) -> usize {
        if hi > lo { ((5.0 * (value - lo) / (hi - lo)) as usize).min(4) } else { 2 }
    }

    /// Every colour: its name, on light paper, on dark.
    pub fn colours() -> Vec<(String, RGBColor, RGBColor)> {
        let mut list: Vec<(String, RGBColor, RGBColor)> =
            PLAIN.iter().map(|(name, light, dark)| ((*name).to_owned(), *light, *dark)).collect();
        let mut numbered = |name: &str, light: &[RGBColor], dark: &[RGBColor]| {
            for (index, (light, dark)) in light.iter().zip(dark).enumerate() {
                list.push((format!("{name}-{}", index + 1), *light, *dark));
            }
        };
        numbered("step", &Self::STEPS, &DARK_STEPS);
        numbered("series", &Self::SERIES, &DARK_SERIES);
        numbered("fill", &Self::FILLS, &DARK_FILLS);
        list
    }

    /// Rules that turn a figure dark on a dark screen.
    pub fn figure_style() -> String {
        let mut rules = String::new();
        for (_, light, dark) in Self::colours() {
            let (light, dark) = (hex(light), hex(dark));
            rules
                .push_str(&format!("[fill=\"{light}\"]{{fill:{dark}}}[stroke=\"{light}\"]{{stroke:{dark}}}"));
        }
        format!("@media screen and (prefers-color-scheme:dark){{{rules}}}")
    }
}

const PLAIN: &[(&str, RGBColor, RGBColor)] = &[
    ("paper", Theme::PAPER, RGBColor(20, 24, 29)),
    ("ink", Theme::INK, RGBColor(232, 236, 241)),
    ("muted", Theme::MUTED, RGBColor(168, 178, 190)),
    ("faint", Theme::FAINT, RGBColor(62, 70, 80)),
    ("ground", Theme::GROUND, RGBColor(35, 41, 49)),
    ("good", Theme::GOOD, RGBColor(106, 184, 240)),
    ("bad", Theme::BAD, RGBColor(255, 150, 96)),
];

const DARK_STEPS: [RGBColor; 5] = [
    RGBColor(132, 112, 206),
    RGBColor(96, 147, 214),
    RGBColor(66, 182, 178),
    RGBColor(134, 216, 124),
    RGBColor(250, 232, 96),
];

const DARK_SERIES: [RGBColor; 6] = [
    RGBColor(98, 182, 242),
    RGBColor(255, 152, 92),
    RGBColor(64, 205, 160),
    RGBColor(232, 152, 208),
    RGBColor(220, 188, 82),
    RGBColor(176, 186, 199),
];

const DARK_FILLS: [RGBColor; 6] = [
    RGBColor(22, 58, 86),
    RGBColor(94, 50, 22),
    RGBColor(14, 72, 57),
    RGBColor(82, 40, 72),
    RGBColor(74, 62, 18),
    RGBColor(54, 61, 70),
];

/// A colour as it stands in a figure.
pub fn hex(colour: RGBColor) -> String {
    format!("#{:02X}{:02X}{:02X}", colour.0, colour.1, colour.2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    /// Relative luminance (WCAG 2.2).
    fn luminance(c: RGBColor) -> f64 {
        let linear = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(c.0) + 0.7152 * linear(c.1) + 0.0722 * linear(c.2)
    }

    fn contrast(a: RGBColor, b: RGBColor) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn no_two_colours_are_the_same() {
        let colours = Theme::colours();
        let light: HashSet<String> = colours.iter().map(|(_, light, _)| hex(*light)).collect();
        assert_eq!(light.len(), colours.len(), "a rule would hit the wrong one");
    }

    #[test]
    fn colours_stand_out_from_the_paper_in_both_themes() {
        let colours = Theme::colours();
        let paper = colours[0].clone();
        for (name, light, dark) in &colours[1..] {
            let floor = match name.as_str() {
                "ink" | "muted" | "good" | "bad" => 4.5,
                "faint" | "ground" => 1.1,
                name if name.starts_with("fill") => 1.1,
                _ => 3.0,
            };
            assert!(contrast(*light, paper.1) >= floor, "{name}, light: {}", contrast(*light, paper.1));
            assert!(contrast(*dark, paper.2) >= floor, "{name}, dark: {}", contrast(*dark, paper.2));
        }
    }

    #[test]
    fn text_is_readable_on_every_fill() {
        let colours = Theme::colours();
        let ink = colours[1].clone();
        for (name, light, dark) in colours.iter().filter(|(n, ..)| n.starts_with("fill") || n == "ground") {
            assert!(contrast(*light, ink.1) >= 4.5 && contrast(*dark, ink.2) >= 4.5, "{name}");
        }
    }

    #[test]
    fn steps_rise_in_lightness_in_both_themes() {
        for steps in [Theme::STEPS, DARK_STEPS] {
            for pair in steps.windows(2) {
                assert!(
                    contrast(pair[0], pair[1]) > 1.2 && luminance(pair[1]) > luminance(pair[0]),
                    "{pair:?}"
                );
            }
        }
    }
}
