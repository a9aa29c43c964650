//! `beamstay endurance`.

use std::{
    fs::{self, File},
    io::{self, BufReader, Read},
    path::{Path, PathBuf},
};

use beamstay_planner::{
    Diagnostic, Fault, Loaded, PlanError, WeatherSeries, endurance::endurance_report, scenario::Weather,
};
use beamstay_report::figure::endurance::endurance_figure;

use super::{
    End,
    drill::{answer, read, refuse_plan, write_figure},
    print,
};
use crate::{
    args::{EnduranceArguments, EnduranceForm, Format, PartArguments},
    input::Source,
    text::endurance::{hours_csv, render},
};

/// Largest weather file, bytes: fifty years of EPW fit.
const LARGEST_WEATHER: u64 = 64 << 20;
/// Where the path of the weather file stands.
const POINTER: &str = "/site/weather/file/path";

/// Flies the plan through its weather.
pub fn run(arguments: &EnduranceArguments) -> End {
    let format = match arguments.format {
        EnduranceForm::Json => Format::Json,
        EnduranceForm::Text | EnduranceForm::Csv => Format::Text,
    };
    let inner =
        PartArguments { file: arguments.file.clone(), assignments: arguments.assignments.clone(), format };
    let (source, document, loaded) = match read(&inner) {
        Ok(read) => read,
        Err(end) => return end,
    };
    let series = match weather(&source, &loaded, arguments.allow_outside) {
        Ok(series) => series,
        Err(detail) => {
            return refuse_plan(format, source, &document, no_weather(detail));
        }
    };
    let report = match endurance_report(&document, &loaded, series.as_ref()) {
        Ok(report) => report,
        Err(error) => return refuse_plan(format, source, &document, error),
    };
    if let Some(end) = write_figure(format, arguments.plot.as_deref(), || endurance_figure(&report)) {
        return end;
    }
    let end = match arguments.format {
        EnduranceForm::Csv => print(&hours_csv(&report)),
        _ => answer(format, &report, |style| render(&report, style)),
    };
    if end == End::Done && !report.flies() { End::NotFeasible } else { end }
}

/// Why the record could not be read, at its place in the scenario.
pub fn no_weather(detail: String) -> PlanError {
    PlanError::Refused(Box::new(Diagnostic::new(POINTER, Fault::Model { detail })))
}

/// Reads the record that the scenario names; none if it names none.
///
/// # Errors
/// Why it cannot be read, in words.
pub fn weather(
    source: &Source,
    loaded: &Loaded,
    allow_outside: bool,
) -> Result<Option<WeatherSeries>, String> {
    let Some(Weather::File { path, .. }) = &loaded.scenario.site.weather else { return Ok(None) };
    let file = find(source, path, allow_outside)?;
    let told = |error: io::Error| format!("weather file {path} cannot be read: {}", error.kind());
    if fs::metadata(&file).map_err(told)?.len() > LARGEST_WEATHER {
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
