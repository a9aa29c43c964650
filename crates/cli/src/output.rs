//! Writing results: to standard output, and to files that are written whole or not at all.

use std::{
    fs::{self, OpenOptions},
    io::{self, Write},
    path::Path,
};

/// Prints `text` and a line end. A reader that has gone away (`beamstay … | head`) is no fault.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// Writes a file that must not be there yet: first beside its place, then moved into it.
///
/// # Errors
/// If the file is there already or cannot be written; nothing is left behind.
pub fn write_new(path: &Path, text: &str) -> io::Result<()> {
    if path.exists() {
        return Err(io::Error::from(io::ErrorKind::AlreadyExists));
    }
    write_whole(path, text)
}

/// Writes a file whole or not at all: first beside its place, then moved into it. A file that is there is replaced; the file
/// behind a link, not the link. A device or a pipe is written to as it is, since nothing can be moved into its place.
///
/// # Errors
/// If the file cannot be written; nothing is left behind.
pub fn write_whole(path: &Path, text: &str) -> io::Result<()> {
    let there = fs::canonicalize(path).ok();
    let path = there.as_deref().unwrap_or(path);
    if there.is_some() && !path.is_file() && !path.is_dir() {
        return OpenOptions::new()
            .write(true)
            .open(path)
            .and_then(|mut file| file.write_all(text.as_bytes()));
    }
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let beside = path.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        // Best effort: the first error is the one worth telling.
        let _ = fs::remove_file(&beside);
    }
    written
}

/// Files that belong together.
#[derive(Debug, Default)]
pub struct Folder {
    files: Vec<(String, String)>,
}

impl Folder {
    /// Adds a file.
    pub fn add(&mut self, name: &str, text: String) {
        self.files.push((name.to_owned(), text));
    }
}

/// File by which a folder is known as a report of ours.
const MARK: &str = "report.html";

/// Writes a folder whole or not at all: first beside its place, then moved into it. An empty folder and an older report are
/// replaced; anything else that is there is left alone.
///
/// # Errors
/// If something else is there or the folder cannot be written; nothing is left behind.
pub fn write_folder(place: &Path, folder: &Folder) -> io::Result<()> {
    let old = holds_report(place)?;
    let name = place.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let beside = place.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let away = place.with_file_name(format!(".{name}.{}.old", std::process::id()));
    let written = fill(&beside, folder).and_then(|()| {
        if old {
            fs::rename(place, &away)?;
        }
        fs::rename(&beside, place).inspect_err(|_| {
            // The old report goes back to its place.
            let _ = fs::rename(&away, place);
        })
    });
    // Best effort: the first error is the one worth telling.
    let _ = fs::remove_dir_all(if written.is_ok() { &away } else { &beside });
    written
}

fn fill(beside: &Path, folder: &Folder) -> io::Result<()> {
    fs::create_dir(beside)?;
    for (name, text) in &folder.files {
        let mut file = OpenOptions::new().write(true).create_new(true).open(beside.join(name))?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
    }
    Ok(())
}

/// Whether an older report is in the way.
fn holds_report(place: &Path) -> io::Result<bool> {
    let taken = |what: &str| Err(io::Error::new(io::ErrorKind::AlreadyExists, what.to_owned()));
    match fs::read_dir(place).map(|mut entries| entries.next().is_none()) {
        Ok(true) => Ok(false),
        Ok(false) if place.join(MARK).is_file() => Ok(true),
        Ok(false) => taken("the folder holds other files; name a new one"),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(_) if place.is_file() => taken("a file of that name is there; name a folder"),
        Err(error) => Err(error),
    }
}
