//! Figures as SVG: one theme, one way to make them readable for those who do not see them or see no colour.

pub mod axes;
pub mod bars;
pub mod compare;
mod contour;
pub mod endurance;
mod forces;
pub mod hazard;
mod label;
pub mod levers;
pub mod lightloss;
pub mod margins;
pub mod mark;
pub mod power;
pub mod receiver;
pub mod region;
pub mod risk;
pub mod rotor;
pub mod sweep;
pub mod tether;
pub mod theme;

use std::fmt;

use plotters::{backend::SVGBackend, drawing::IntoDrawingArea};

pub use theme::{CHART, Theme, WIDE};

/// A figure that could not be drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FigureError {
    /// Words of the drawing library.
    pub detail: String,
}

impl fmt::Display for FigureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the figure cannot be drawn: {}", self.detail)
    }
}

impl std::error::Error for FigureError {}

/// Turns an error of the drawing library into ours.
pub(crate) fn fault(error: impl fmt::Display) -> FigureError {
    FigureError { detail: error.to_string() }
}

/// Makes a figure: draws it with `draw` and adds what the drawing library leaves out: role, title and description for
/// screen readers, scaling to the room there is, and the colours of a dark screen. Title and description are escaped here.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn figure(
    size_px: (u32, u32),
    title: &str,
    description: &str,
    draw: impl FnOnce(&axes::Area<'_>) -> Result<(), FigureError>,
) -> Result<String, FigureError> {
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, size_px).into_drawing_area();
        root.fill(&Theme::PAPER).map_err(fault)?;
        draw(&root)?;
        root.present().map_err(fault)?;
    }
    Ok(accessible(&svg, title, description))
}

/// Adds role, title, description, scaling and dark colours to an SVG.
pub(crate) fn accessible(svg: &str, title: &str, description: &str) -> String {
    let Some(start) = svg.find("<svg") else { return svg.to_owned() };
    let Some(end) = svg[start..].find('>').map(|i| start + i) else { return svg.to_owned() };
    let (head, body) = svg.split_at(end);
    let head = head.replacen("<svg", "<svg role=\"img\" style=\"max-width:100%;height:auto\"", 1);
    let (title, description, style) = (escape(title), escape(description), Theme::figure_style());
    // Text of the user can carry characters that XML forbids; the drawing library lets them through.
    let body: String = body[1..].chars().map(|c| if forbidden(c) { '\u{fffd}' } else { c }).collect();
    format!("{head}>\n<title>{title}</title>\n<desc>{description}</desc><style>{style}</style>{body}")
}

/// Characters that may not stand in XML 1.0 at all.
fn forbidden(c: char) -> bool {
    (c.is_control() && !matches!(c, '\t' | '\n' | '\r')) || matches!(c, '\u{fffe}' | '\u{ffff}')
}

/// Text as it may stand in XML.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            c if forbidden(c) => escaped.push('\u{fffd}'),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_of_the_user_stays_text() {
        let svg = accessible("<svg width=\"1\"><g/></svg>", "<script>\"x\"</script>", "a & b\u{0}");
        assert!(svg.contains("<title>&lt;script&gt;&quot;x&quot;&lt;/script&gt;</title>"), "{svg}");
        assert!(
            svg.contains("<desc>a &amp; b\u{fffd}</desc><style>") && svg.ends_with("</style><g/></svg>"),
            "{svg}"
        );
        assert!(svg.starts_with("<svg role=\"img\""), "{svg}");
    }
}
