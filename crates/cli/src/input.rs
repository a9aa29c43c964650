//! Reading a scenario from a file or from standard input, and changing it from the command line.

use std::{
    fmt, fs,
    io::{self, Read},
    path::Path,
};

use beamstay_planner::{Diagnostic, Document, Fault, Loaded, load};
use serde_json::Value;

use crate::messages::Failure;

/// Largest scenario file, bytes.
const LARGEST_FILE: u64 = 4 << 20;

/// A text and the name under which messages speak of it.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path as the user gave it, or `<standard input>`.
    pub name: String,
    /// The text.
    pub text: String,
    /// Pointers that the command line changes.
    pub assigned: Vec<String>,
}

impl Source {
    /// Whether the command line changes the value at `pointer`.
    pub fn changed(&self, pointer: &str) -> bool {
        self.assigned
            .iter()
            .any(|a| pointer.strip_prefix(a.as_str()).is_some_and(|r| r.is_empty() || r.starts_with('/')))
    }
}

/// Why a file could not be read.
#[derive(Debug)]
pub enum InputError {
    /// There is no such file.
    NotFound(String),
    /// The path is a folder.
    IsFolder(String),
    /// The file is larger than a scenario can be.
    TooLarge(String),
    /// The file holds nothing.
    Empty(String),
    /// The file is not UTF-8 text.
    NotText(String, usize),
    /// The system refused to read it.
    Unreadable(String, io::Error),
}

impl InputError {
    /// Stable code, explained in `docs/errors.md`.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotFound(_) => "E0001",
            Self::IsFolder(_) => "E0002",
            Self::TooLarge(_) => "E0003",
            Self::Empty(_) => "E0004",
            Self::NotText(..) => "E0005",
            Self::Unreadable(..) => "E0006",
        }
    }

    /// The path as the user gave it.
    pub fn path(&self) -> &str {
        match self {
            Self::NotFound(path)
            | Self::IsFolder(path)
            | Self::TooLarge(path)
            | Self::Empty(path)
            | Self::NotText(path, _)
            | Self::Unreadable(path, _) => path,
        }
    }

    /// One thing to try.
    pub fn help(&self) -> String {
        match self {
            Self::NotFound(_) => "check the path; `beamstay new` writes a scenario to begin with".into(),
            Self::IsFolder(path) => {
                format!("name a file in it, such as {}", Path::new(path).join("plan.json").display())
            }
            Self::TooLarge(_) => "is this the right file? a scenario is a few kilobytes".into(),
            Self::Empty(_) => "`beamstay new` writes a scenario to begin with".into(),
            Self::NotText(..) => "save the scenario as JSON text in UTF-8".into(),
            Self::Unreadable(..) => "check that you may read it".into(),
        }
    }
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFound(path) => write!(f, "there is no file {path}"),
            Self::IsFolder(path) => write!(f, "{path} is a folder, not a file"),
            Self::TooLarge(path) => write!(f, "{path} is larger than {} MiB", LARGEST_FILE >> 20),
            Self::Empty(path) => write!(f, "{path} is empty"),
            Self::NotText(path, byte) => write!(f, "{path} is not text: byte {byte} is not UTF-8"),
            Self::Unreadable(path, error) => write!(f, "{path} cannot be read: {error}"),
        }
    }
}

/// Reads a scenario, `-` for standard input, applies the assignments and checks it.
///
/// # Errors
/// [`Failure`] with everything that is wrong.
pub fn read_scenario(path: &str, assignments: &[String]) -> Result<(Source, Document, Loaded), Box<Failure>> {
    let mut source = read_source(path).map_err(|error| Box::new(Failure::Input(error)))?;
    source.assigned =
        assignments.iter().filter_map(|a| a.split_once('=').map(|(p, _)| p.to_owned())).collect();
    let fail = |source: &Source, faults| Box::new(Failure::Faults(source.clone(), faults));
    let mut document = Document::parse(&source.text).map_err(|fault| fail(&source, vec![*fault]))?;
    let faults: Vec<Diagnostic> =
        assignments.iter().filter_map(|text| assign(&mut document, text).err()).map(|fault| *fault).collect();
    if !faults.is_empty() {
        return Err(fail(&source, faults));
    }
    let loaded = load(&document).map_err(|faults| fail(&source, faults))?;
    Ok((source, document, loaded))
}

fn read_source(path: &str) -> Result<Source, InputError> {
    if path == "-" {
        let mut bytes = Vec::new();
        let name = "<standard input>".to_owned();
        io::stdin()
            .lock()
            .take(LARGEST_FILE + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| InputError::Unreadable(name.clone(), error))?;
        return to_text(name, bytes);
    }
    let name = path.to_owned();
    let unreadable = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => InputError::NotFound(name.clone()),
        _ => InputError::Unreadable(name.clone(), error),
    };
    let metadata = fs::metadata(path).map_err(unreadable)?;
    if metadata.is_dir() {
        return Err(InputError::IsFolder(name));
    }
    if metadata.len() > LARGEST_FILE {
        return Err(InputError::TooLarge(name));
    }
    let mut bytes = Vec::new();
    fs::File::open(path)
        .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    to_text(name, bytes)
}

fn to_text(name: String, bytes: Vec<u8>) -> Result<Source, InputError> {
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(InputError::TooLarge(name));
    }
    match String::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => Err(InputError::Empty(name)),
        Ok(text) => Ok(Source { name, text, assigned: Vec::new() }),
        Err(error) => Err(InputError::NotText(name, error.utf8_error().valid_up_to())),
    }
}

/// Carries out `/pointer=value`. The value is JSON; what is not JSON is taken as text, so that
/// `--set /title=Evening` needs no quotes.
fn assign(document: &mut Document, text: &str) -> Result<(), Box<Diagnostic>> {
    let parts = text.split_once('=').filter(|(pointer, _)| pointer.starts_with('/'));
    let Some((pointer, value)) = parts else {
        return Err(Box::new(Diagnostic::new("", Fault::BadAssignment { text: text.to_owned() })));
    };
    let value = serde_json::from_str(value).unwrap_or_else(|_| Value::String(value.to_owned()));
    document.set(pointer, value)
}
