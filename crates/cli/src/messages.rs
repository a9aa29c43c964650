//! Faults as a person reads them: with the line of the file, a mark under the place, and one thing to try; and the
//! same as JSON.

use std::io::IsTerminal;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use beamstay_planner::Diagnostic;
use serde_json::{Value, json};

use crate::input::{InputError, Source};

/// Faults shown at most; the rest is counted.
const SHOWN_COUNT: usize = 20;

/// What went wrong before a plan could be computed.
#[derive(Debug)]
pub enum Failure {
    /// The file could not be read.
    Input(InputError),
    /// The file was read and has faults.
    Faults(Source, Vec<Diagnostic>),
}

impl Failure {
    /// The whole message for a person; with colour only for a terminal that wants it.
    pub fn text(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        match self {
            Self::Input(error) => {
                let title = error.to_string();
                let help = error.help();
                let report =
                    [Level::ERROR.primary_title(&title).id(error.code()).element(Level::HELP.message(&help))];
                renderer.render(&report).to_string()
            }
            Self::Faults(source, faults) => {
                let mut texts: Vec<String> = faults
                    .iter()
                    .take(SHOWN_COUNT)
                    .map(|fault| fault_text(&renderer, source, fault))
                    .collect();
                if faults.len() > SHOWN_COUNT {
                    texts.push(format!("and {} more faults", faults.len() - SHOWN_COUNT));
                }
                texts.join("\n\n")
            }
        }
    }

    /// The same for a program.
    pub fn json(&self) -> Value {
        match self {
            Self::Input(error) => json!({"errors": [{
                "code": error.code(), "message": error.to_string(), "file": error.path(), "help": error.help(),
            }]}),
            Self::Faults(source, faults) => {
                json!({"errors": faults.iter().map(|fault| fault_json(source, fault)).collect::<Vec<_>>()})
            }
        }
    }
}

/// Whether a stream wants colour: a terminal, and `NO_COLOR` unset (no-color.org).
pub fn wants_colour(stream: &impl IsTerminal) -> bool {
    stream.is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

fn fault_text(renderer: &Renderer, source: &Source, fault: &Diagnostic) -> String {
    let title = fault.to_string();
    let help = fault.help();
    let place = match (&fault.span, fault.pointer.as_str()) {
        (Some(_), "") => "here".to_owned(),
        (None, "") => "on the command line".to_owned(),
        (None, pointer) if source.changed(pointer) => format!("at {pointer}, given by --set"),
        (None, pointer) => format!("at {pointer}"),
        (Some(_), pointer) => pointer.to_owned(),
    };
    let start = Level::ERROR.primary_title(&title).id(fault.code());
    let group = match &fault.span {
        Some(span) => start.element(
            Snippet::source(source.text.as_str())
                .path(source.name.as_str())
                .annotation(AnnotationKind::Primary.span(span.clone()).label(&place)),
        ),
        None => start.element(Level::NOTE.message(&place)),
    };
    renderer.render(&[group.element(Level::HELP.message(&help))]).to_string()
}

fn fault_json(source: &Source, fault: &Diagnostic) -> Value {
    let place = fault.span.as_ref().map(|span| line_and_column(&source.text, span.start));
    json!({
        "code": fault.code(),
        "message": fault.to_string(),
        "file": source.name,
        "line": place.map(|p| p.0),
        "column": place.map(|p| p.1),
        "pointer": fault.pointer,
        "help": fault.help(),
    })
}

/// Line and column of a byte, both from 1, columns counted in characters.
fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let before = &text[..byte.min(text.len())];
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters() {
        assert_eq!(line_and_column("a\nñé x", 7), (2, 4));
        assert_eq!(line_and_column("", 0), (1, 1));
    }
}
