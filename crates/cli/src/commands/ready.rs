//! A scenario as it was read, ready for a study whose command line needs it: ranges, goals and results by name.

use beamstay_planner::{Diagnostic, Document, Loaded, PlanError, study::Watch};

use super::{End, failed, refuse, tell};
use crate::{
    args::Format,
    input::{Source, read_scenario},
    messages::Failure,
    progress::Progress,
};

/// A scenario as it was read.
pub struct Ready {
    source: Source,
    /// The text.
    pub document: Document,
    /// The scenario.
    pub loaded: Loaded,
    format: Format,
}

/// Reads a scenario; what is wrong with it is told.
pub fn read(file: &str, assignments: &[String], format: Format) -> Result<Ready, End> {
    let (source, document, loaded) =
        read_scenario(file, assignments).map_err(|failure| refuse(format, &failure))?;
    Ok(Ready { source, document, loaded, format })
}

impl Ready {
    /// The text and its name.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// Tells why a plan cannot be computed.
    pub fn tell(&self, error: PlanError) -> End {
        tell(self.format, self.source.clone(), &self.document, error)
    }

    /// Tells faults of the command line.
    pub fn refuse(&self, faults: Vec<Diagnostic>) -> End {
        refuse(self.format, &Failure::Faults(self.source.clone(), faults))
    }

    /// Computes on as many threads as were asked for; what goes wrong is told.
    pub fn compute<R: Send>(
        &self,
        threads: Option<u16>,
        compute: impl FnOnce(Watch<'_>) -> Result<R, PlanError> + Send,
    ) -> Result<R, End> {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.map_or(0, usize::from))
            .build()
            .map_err(|error| failed(self.format, &format!("the threads cannot be started: {error}")))?;
        let progress = Progress::new();
        let result = pool.install(|| compute(&|done, all| progress.tell(done, all)));
        drop(progress);
        result.map_err(|error| self.tell(error))
    }
}
