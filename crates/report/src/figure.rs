//! Figures as SVG: one theme, one way to make them readable for those who do not see them or see no colour.

pub mod tether;
mod theme;

use std::fmt;

pub use theme::{Theme, WIDE};

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

/// Adds to an SVG what the drawing library leaves out: role, title and description for screen readers, and scaling to the
/// room there is. All text of the user is escaped here and nowhere else.
pub(crate) fn accessible(svg: &str, title: &str, description: &str) -> String {
    let Some(end) = svg.find('>') else { return svg.to_owned() };
    let Some(start) = svg.find("<svg") else { return svg.to_owned() };
    let (head, body) = svg.split_at(svg[start..].find('>').map_or(end, |i| start + i));
    let head = head.replacen("<svg", "<svg role=\"img\" style=\"max-width:100%;height:auto\"", 1);
    format!("{head}>\n<title>{}</title>\n<desc>{}</desc>{}", escape(title), escape(description), &body[1..])
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
            // Other control characters may not stand in XML 1.0 at all.
            c if c.is_control() && !matches!(c, '\t' | '\n' | '\r') => escaped.push('\u{fffd}'),
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
        assert!(svg.contains("<desc>a &amp; b\u{fffd}</desc><g/></svg>"), "{svg}");
        assert!(svg.starts_with("<svg role=\"img\""), "{svg}");
    }
}
