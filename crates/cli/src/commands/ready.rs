//! What every command does around its own work: read the scenario, compute, draw, print, and tell what went wrong.

use std::path::Path;

use beamstay_planner::{Diagnostic, Document, Loaded, PlanError, study::Watch};
use beamstay_report::figure::FigureError;
use serde::Serialize;

use super::{End, failed, print, print_json, refuse};
use crate::{
    args::{FigureArguments, Format, ScenarioArguments, TableFormat, ThreadArguments},
    input::{Source, read_scenario},
    messages::{Failure, wants_colour},
    output::write_whole,
    progress::Progress,
    text::point::Style,
};

/// A scenario as it was read, and how its results are wanted.
pub struct Ready {
    source: Source,
    /// The text.
    pub document: Document,
    /// The scenario.
    pub loaded: Loaded,
    format: TableFormat,
}

impl Ready {
    /// Reads a scenario; what is wrong with it is told.
    pub fn read(arguments: &ScenarioArguments, format: impl Into<TableFormat>) -> Result<Self, End> {
        let format = format.into();
        let (source, document, loaded) = read_scenario(&arguments.file, &arguments.assignments)
            .map_err(|failure| refuse(format.of_faults(), &failure))?;
        Ok(Self { source, document, loaded, format })
    }

    /// The text and its name.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// Tells why a plan cannot be computed: what is wrong in the scenario with its place, or that a solver did not converge.
    pub fn tell(&self, error: PlanError) -> End {
        match error {
            PlanError::Refused(mut fault) => {
                // The whole document would fill the screen: its opening bracket will do.
                fault.span = self
                    .document
                    .span(&fault.pointer)
                    .map(|span| if fault.pointer.is_empty() { span.start..span.start + 1 } else { span });
                self.refuse(vec![*fault])
            }
            other => self.fail(&other.to_string()),
        }
    }

    /// Tells faults of the command line.
    pub fn refuse(&self, faults: Vec<Diagnostic>) -> End {
        refuse(self.format.of_faults(), &Failure::Faults(self.source.clone(), faults))
    }

    /// Tells why there is no result.
    pub fn fail(&self, message: &str) -> End {
        failed(self.format.of_faults(), message)
    }

    /// Computes; what goes wrong is told.
    pub fn compute<R>(
        &self,
        compute: impl FnOnce(&Document, &Loaded) -> Result<R, PlanError>,
    ) -> Result<R, End> {
        compute(&self.document, &self.loaded).map_err(|error| self.tell(error))
    }

    /// Computes what takes a while, on as many threads as were asked for; what goes wrong is told.
    pub fn study<R: Send>(
        &self,
        threads: &ThreadArguments,
        compute: impl FnOnce(&Document, &Loaded, Watch<'_>) -> Result<R, PlanError> + Send,
    ) -> Result<R, End> {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.threads.map_or(0, usize::from))
            .build()
            .map_err(|error| self.fail(&format!("the threads cannot be started: {error}")))?;
        let progress = Progress::new();
        let watch = |done, all| progress.tell(done, all);
        let result = pool.install(|| compute(&self.document, &self.loaded, &watch));
        drop(progress);
        result.map_err(|error| self.tell(error))
    }

    /// Writes a figure, where one is wanted, whole or not at all.
    pub fn draw(
        &self,
        arguments: &FigureArguments,
        figure: impl FnOnce() -> Result<String, FigureError>,
    ) -> Result<(), End> {
        let Some(file) = &arguments.plot else { return Ok(()) };
        let svg = figure().map_err(|error| self.fail(&error.to_string()))?;
        write_whole(Path::new(file), &svg)
            .map_err(|error| self.fail(&format!("{file} cannot be written: {error}")))
    }

    /// Prints a result as text or as JSON.
    pub fn show(&self, result: &impl Serialize, text: impl FnOnce(Style) -> String) -> End {
        match self.format.of_faults() {
            Format::Text => print(&text(Style { colour: wants_colour(&std::io::stdout()) })),
            Format::Json => match serde_json::to_value(result) {
                Ok(value) => print_json(&value),
                Err(error) => self.fail(&error.to_string()),
            },
        }
    }

    /// Prints a result as text, as JSON or as a table for a spreadsheet.
    pub fn show_table(
        &self,
        result: &impl Serialize,
        text: impl FnOnce(Style) -> String,
        csv: impl FnOnce() -> String,
    ) -> End {
        match self.format {
            TableFormat::Csv => print(&csv()),
            TableFormat::Text | TableFormat::Json => self.show(result, text),
        }
    }
}
