//! Reading the weather file that a scenario names.

use std::{
    fs::{self, File},
    io::{self, BufReader, Read},
    path::{Path, PathBuf},
};

use beamstay_planner::{Diagnostic, Fault, Loaded, PlanError, WeatherSeries, scenario::Weather};

use super::{End, ready::Ready};
use crate::{args::WeatherArguments, input::Source};

/// Largest weather file, bytes: fifty years of EPW fit.
const LARGEST_WEATHER: u64 = 64 << 20;
/// Where the path of the weather file stands.
const POINTER: &str = "/site/weather/file/path";

/// Reads the record that the scenario names; none if it names none. Why it cannot be read is told at its place.
pub fn weather(ready: &Ready, arguments: &WeatherArguments) -> Result<Option<WeatherSeries>, End> {
    record(ready.source(), &ready.loaded, arguments.allow_outside).map_err(|detail| {
        ready.tell(PlanError::Refused(Box::new(Diagnostic::new(POINTER, Fault::Model { detail }))))
    })
}

fn record(source: &Source, loaded: &Loaded, allow_outside: bool) -> Result<Option<WeatherSeries>, String> {
    let Some(Weather::File { path, .. }) = &loaded.scenario.site.weather else { return Ok(None) };
    let file = find(source, path, allow_outside)?;
    let told = |error: io::Error| format!("weather file {path} cannot be read: {}", error.kind());
    let about = fs::metadata(&file).map_err(told)?;
    if !about.is_file() {
        // A pipe would be waited for, a device read for ever.
        return Err(format!("weather file {path} is not a file"));
    }
    if about.len() > LARGEST_WEATHER {
        return Err(format!("weather file {path} is larger than {} MiB", LARGEST_WEATHER >> 20));
    }
    let reader = BufReader::new(File::open(&file).map_err(told)?).take(LARGEST_WEATHER);
    let epw = Path::new(path).extension().is_some_and(|end| end.eq_ignore_ascii_case("epw"));
    let series =
        if epw { WeatherSeries::from_epw_reader(reader) } else { WeatherSeries::from_csv_reader(reader) };
    series.map(Some).map_err(|error| format!("weather file {path}, {error}"))
}

/// The file that a path from the scenario's folder means. A scenario from someone else must not read what its folder does
/// not hold.
fn find(source: &Source, path: &str, allow_outside: bool) -> Result<PathBuf, String> {
    let folder = match Path::new(&source.name).parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !source.name.starts_with('<') => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let told = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => format!("there is no weather file {path} in the scenario's folder"),
        kind => format!("weather file {path} cannot be read: {kind}"),
    };
    let file = fs::canonicalize(folder.join(path)).map_err(told)?;
    let folder = fs::canonicalize(&folder).map_err(told)?;
    if !allow_outside && !file.starts_with(&folder) {
        return Err(format!(
            "weather file {path} lies outside the scenario's folder; --allow-outside reads it all the same"
        ));
    }
    Ok(file)
}
