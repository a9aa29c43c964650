//! The command line.

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Plans aircraft that are held on a light tether, or over a beam, and powered from the ground.
#[derive(Debug, Parser)]
#[command(
    name = "beamstay",
    version,
    about,
    long_about = "Plans aircraft that are powered from the ground with laser light: through an optical fiber that is also the tether, \
or through free air. One scenario file in; whether the plan closes, with what margin, and what binds out.\n\n\
Planning figures only: the laser safety officer, the aviation authority and local codes decide.",
    after_help = "Exit codes: 0 closes, 1 does not close, 2 bad input, 3 not converged.",
    subcommand_required = true,
    arg_required_else_help = true
)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// The coupled operating point: verdict, power from wall to rotor, forces, limits
    Point(PointArguments),
    /// The tether alone: shape, forces, strength, drum
    Tether(PlotArguments),
    /// The rotors and the vehicle alone: mean wind and gust, launch, descent, rotors lost
    Rotor(PlotArguments),
    /// The light alone: laser to bus, stage by stage
    Light(PartArguments),
    /// The receiver's mass against its power, and the mass that leaves most
    Receiver(TableArguments),
    /// What would close the plan, or how far each number may drift before it does not
    Remedy(StudyArguments),
    /// How sure the plan is, with the numbers that the scenario calls uncertain
    Risk(RiskArguments),
    /// The best plan: which values of the free inputs make a goal best while every limit holds
    Search(SearchArguments),
    /// Where the plan closes over height and payload, for several winds, with the station chosen anew
    Region(RegionArguments),
    /// Any results over one or two inputs
    Sweep(SweepArguments),
    /// The hazard of the light to eye and skin: exposure limits, class, distances, working area
    Hazard(PlotArguments),
    /// The same aircraft on fiber, free beam, copper and battery alone, and who wins where
    Compare(CompareArguments),
    /// Through a year of weather: hours on station, stays and outages, energy, fuel
    Endurance(EnduranceArguments),
    /// The drill for the loss of light: ride on the battery, descent, where things come down
    Lightloss(PlotArguments),
    /// Writes a report: a page that opens from disk, with its figures, its tables and everything as JSON
    Report(ReportArguments),
    /// Writes a scenario to begin with
    New(NewArguments),
    /// Prints the JSON Schema of a scenario
    Schema,
    /// Prints the completions for a shell
    Completions(ShellArguments),
    /// Prints the manual page (roff)
    Manual,
}

/// A scenario and changes to it.
#[derive(Debug, Args)]
pub struct ScenarioArguments {
    /// Scenario file, - for standard input
    pub file: String,
    /// Change one value first, by JSON Pointer; may be repeated, and values may be negative
    #[arg(long = "set", value_name = "/POINTER=VALUE", allow_hyphen_values = true)]
    pub assignments: Vec<String>,
}

/// A scenario, and text or JSON out.
#[derive(Debug, Args)]
pub struct PartArguments {
    /// The scenario.
    #[command(flatten)]
    pub scenario: ScenarioArguments,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// As [`PartArguments`], with reasons.
#[derive(Debug, Args)]
pub struct PointArguments {
    /// The scenario.
    #[command(flatten)]
    pub part: PartArguments,
    /// Also list every default that was used and the source of every formula
    #[arg(long)]
    pub explain: bool,
}

/// Where a figure goes.
#[derive(Debug, Args)]
pub struct FigureArguments {
    /// Also draw the result into this SVG file, which is written whole or not at all
    #[arg(long, value_name = "FILE.svg")]
    pub plot: Option<String>,
}

/// As [`PartArguments`], with a figure.
#[derive(Debug, Args)]
pub struct PlotArguments {
    /// The scenario.
    #[command(flatten)]
    pub part: PartArguments,
    /// Where the figure goes.
    #[command(flatten)]
    pub figure: FigureArguments,
}

/// With how many threads.
#[derive(Debug, Args)]
pub struct ThreadArguments {
    /// Threads to work with; the result does not depend on it. Default: one for each core
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

/// As [`PartArguments`], for what takes a while.
#[derive(Debug, Args)]
pub struct StudyArguments {
    /// The scenario.
    #[command(flatten)]
    pub part: PartArguments,
    /// With how many threads.
    #[command(flatten)]
    pub threads: ThreadArguments,
}

/// As [`StudyArguments`], with draws.
#[derive(Debug, Args)]
pub struct RiskArguments {
    /// The study.
    #[command(flatten)]
    pub study: StudyArguments,
    /// Draws for the probability and the percentiles
    #[arg(long, value_name = "COUNT", default_value_t = 4096, value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
    pub draws: u32,
    /// Base samples for the sensitivities, each of two more points than there are uncertain numbers; 0 leaves them out
    #[arg(long, value_name = "COUNT", default_value_t = 1024, value_parser = clap::value_parser!(u32).range(0..=1_000_000))]
    pub samples: u32,
    /// Seed of the draws: the same seed gives the same result
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// Where the figure goes.
    #[command(flatten)]
    pub figure: FigureArguments,
}

/// A scenario for what takes a while and also comes as a table for a spreadsheet.
#[derive(Debug, Args)]
pub struct TableArguments {
    /// The scenario.
    #[command(flatten)]
    pub scenario: ScenarioArguments,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    pub format: TableFormat,
    /// Where the figure goes.
    #[command(flatten)]
    pub figure: FigureArguments,
    /// With how many threads.
    #[command(flatten)]
    pub threads: ThreadArguments,
}

/// What to search.
#[derive(Debug, Args)]
pub struct SearchArguments {
    /// The study.
    #[command(flatten)]
    pub study: StudyArguments,
    /// What is to be best: max: or min: and an input by pointer, a result by name, or a product of two joined by *.
    /// Left out, the greatest height, the heaviest payload, both together, and the largest margin
    #[arg(long, value_name = "max:NAME|min:NAME")]
    pub goal: Option<String>,
    /// An input that may be changed, and between which bounds; may be repeated. Left out, the goal's own input with
    /// downwind offset and winch
    #[arg(long = "free", value_name = "/POINTER=LO..HI", allow_hyphen_values = true, requires = "goal")]
    pub free: Vec<String>,
    /// Seed of the samples from which the search starts
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

/// What to map.
#[derive(Debug, Args)]
pub struct RegionArguments {
    /// The scenario and the form of the table.
    #[command(flatten)]
    pub table: TableArguments,
    /// Input along the map with its values. Default: the height
    #[arg(long, value_name = "/POINTER=LO..HI:N", allow_hyphen_values = true)]
    pub x: Option<String>,
    /// Input up the map with its values. Default: the payload
    #[arg(long, value_name = "/POINTER=LO..HI:N", allow_hyphen_values = true)]
    pub y: Option<String>,
    /// Winds at the reference height in m/s, or another input with its values, a map for each. Default: 0,5,10,15
    #[arg(long, value_name = "A,B,C|/POINTER=A,B,C", allow_hyphen_values = true)]
    pub winds: Option<String>,
}

/// What to sweep.
#[derive(Debug, Args)]
#[command(mut_arg("file", |arg| arg.required(false).required_unless_present("outputs").default_value("-")))]
pub struct SweepArguments {
    /// The scenario and the form of the table.
    #[command(flatten)]
    pub table: TableArguments,
    /// An input and its values: from, to and how many, or the values themselves; once or twice
    #[arg(long, value_name = "/POINTER=LO..HI:N|A,B,C", allow_hyphen_values = true)]
    pub vary: Vec<String>,
    /// Results to show, by name; the first is drawn
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',', default_value = "margin_w,margin_ratio")]
    pub show: Vec<String>,
    /// List every result by name, and end
    #[arg(long)]
    pub outputs: bool,
}

/// As [`PlotArguments`], with the length of the mission.
#[derive(Debug, Args)]
pub struct CompareArguments {
    /// The scenario and its figure.
    #[command(flatten)]
    pub plot: PlotArguments,
    /// How long the mission lasts; a battery that ends sooner does not win
    #[arg(long, value_name = "HOURS", default_value_t = 8.0, value_parser = hours)]
    pub mission_h: f64,
}

/// Hours of a mission.
fn hours(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(hours) if (0.01..=100_000.0).contains(&hours) => Ok(hours),
        _ => Err("a number of hours from 0.01 to 100000".into()),
    }
}

/// Which files may be read.
#[derive(Debug, Args)]
pub struct WeatherArguments {
    /// Read a weather file that lies outside the scenario's folder too
    #[arg(long)]
    pub allow_outside: bool,
}

/// A scenario and its weather.
#[derive(Debug, Args)]
pub struct EnduranceArguments {
    /// The scenario and the form of the table: hour by hour for a spreadsheet.
    #[command(flatten)]
    pub table: TableArguments,
    /// Which files may be read.
    #[command(flatten)]
    pub weather: WeatherArguments,
}

/// As [`StudyArguments`], with a folder.
#[derive(Debug, Args)]
pub struct ReportArguments {
    /// The study.
    #[command(flatten)]
    pub study: StudyArguments,
    /// Folder to write, whole or not at all; an older report in it is replaced, anything else is left alone
    #[arg(short, long, value_name = "FOLDER")]
    pub output: String,
    /// Which files may be read.
    #[command(flatten)]
    pub weather: WeatherArguments,
}

/// Where a new scenario goes.
#[derive(Debug, Args)]
pub struct NewArguments {
    /// File to write; left out, standard output. An existing file is never overwritten
    pub file: Option<String>,
    /// What is held up there
    #[arg(long, value_enum, default_value_t = Kind::Multirotor)]
    pub kind: Kind,
    /// The way of the power. Default: the one that suits the vehicle, a beam for a wing, else a fiber
    #[arg(long, value_enum)]
    pub delivery: Option<Way>,
}

impl NewArguments {
    /// The way of the power, or the one that suits the vehicle.
    pub fn way(&self) -> Way {
        self.delivery.unwrap_or(match self.kind {
            Kind::FixedWing => Way::Beam,
            Kind::Multirotor | Kind::Underwater | Kind::Load => Way::Fiber,
        })
    }
}

/// Kind of vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// Hovers on rotors
    Multirotor,
    /// Circles on a wing
    FixedWing,
    /// Swims
    Underwater,
    /// Stands, and only draws power
    Load,
}

/// Way of the power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Way {
    /// Light through a fiber
    Fiber,
    /// Light through the air
    Beam,
    /// Current through a pair of wires
    Copper,
    /// Nothing: the battery on board
    None,
}

/// Which shell.
#[derive(Debug, Args)]
pub struct ShellArguments {
    /// Shell to complete for
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Form of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For a person
    Text,
    /// For a program
    Json,
}

/// Form of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TableFormat {
    /// For a person
    Text,
    /// For a program
    Json,
    /// For a spreadsheet (RFC 4180); the header names result and unit
    Csv,
}

impl TableFormat {
    /// How faults are told.
    pub fn of_faults(self) -> Format {
        match self {
            Self::Json => Format::Json,
            Self::Text | Self::Csv => Format::Text,
        }
    }
}

impl From<Format> for TableFormat {
    fn from(format: Format) -> Self {
        match format {
            Format::Text => Self::Text,
            Format::Json => Self::Json,
        }
    }
}
