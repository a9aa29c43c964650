//! What can be wrong with the numbers that describe air, water, wind and weather.

use beamstay_numerics::domain::OutOfRange;
use thiserror::Error;

/// Why a model of air, water, wind or weather was refused.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum EnvironmentError {
    /// A number is not finite or outside the range of its model.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A logarithmic profile whose reference lies in the roughness itself.
    #[error(
        "reference height {reference_height_m} m does not lie above the roughness length {roughness_m} m"
    )]
    ReferenceInRoughness {
        /// Reference height, m.
        reference_height_m: f64,
        /// Roughness length, m.
        roughness_m: f64,
    },
    /// A record of wind speeds that no Weibull distribution of shape 0.5 to 20 fits.
    #[error(
        "no Weibull distribution of shape 0.5 to 20 fits: two different speeds above 0 are needed at least"
    )]
    NoWeibullFit,
    /// A weather file without any hour.
    #[error("the weather file holds no hours")]
    NoHours,
    /// The reader of a weather file failed.
    #[error("the weather file cannot be read: {kind}")]
    Unreadable {
        /// Kind of the failure.
        kind: std::io::ErrorKind,
    },
    /// A line of a weather file is not UTF-8 text.
    #[error("line {line}: not UTF-8 text")]
    NotUtf8 {
        /// Line, from 1.
        line: u64,
    },
    /// A column that a weather file needs is not there.
    #[error("line 1: column {name} is missing")]
    MissingColumn {
        /// Name of the column.
        name: &'static str,
    },
    /// A column of a weather file whose name is not known.
    #[error("line 1, column {column}: unknown column `{name}`")]
    UnknownColumn {
        /// Column, from 1.
        column: usize,
        /// The name found.
        name: String,
    },
    /// A quantity of a weather file stands in two columns.
    #[error("line 1, column {column}: `{name}` repeats an earlier column")]
    DoubleColumn {
        /// Column, from 1.
        column: usize,
        /// The name found.
        name: String,
    },
    /// A row of a weather file with the wrong number of fields.
    #[error("line {line}: {found_count} fields where {expected_count} are needed")]
    FieldsCount {
        /// Line, from 1.
        line: u64,
        /// Fields needed.
        expected_count: usize,
        /// Fields found.
        found_count: usize,
    },
    /// A field of a weather file that should be a number.
    #[error("line {line}, column {column}: {field} `{text}` is not a number")]
    NotANumber {
        /// Line, from 1.
        line: u64,
        /// Column, from 1.
        column: usize,
        /// Name of the field.
        field: &'static str,
        /// What was found.
        text: String,
    },
    /// A field of a weather file that should be a time.
    #[error("line {line}, column {column}: `{text}` is not a time")]
    NotATime {
        /// Line, from 1.
        line: u64,
        /// Column, from 1.
        column: usize,
        /// What was found.
        text: String,
    },
    /// A number of a weather file outside its range.
    #[error("line {line}, column {column}: {range}")]
    WeatherOutOfRange {
        /// Line, from 1.
        line: u64,
        /// Column, from 1.
        column: usize,
        /// Field, value and range.
        range: OutOfRange,
    },
    /// Times with and without an offset to universal time in one file.
    #[error("line {line}: universal and local times are mixed")]
    MixedTimes {
        /// Line, from 1.
        line: u64,
    },
    /// A row that is not at least one hour after the row before.
    #[error("line {line}: the hour does not come after that of the row before")]
    TimeDoesNotRise {
        /// Line, from 1.
        line: u64,
    },
    /// A record that spans too many hours.
    #[error("line {line}: the record spans more than {most_count} hours")]
    SeriesTooLong {
        /// Line, from 1.
        line: u64,
        /// Most hours allowed.
        most_count: usize,
    },
    /// A header line of an EPW file that is not there.
    #[error("line {line}: an EPW file has the header `{expected}` here")]
    EpwHeader {
        /// Line, from 1.
        line: u64,
        /// Header expected.
        expected: &'static str,
    },
}
