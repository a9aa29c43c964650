//! What would close a plan, as text.

use beamstay_planner::{
    limit::LimitCode,
    remedy::{Drift, DriftEnd, Group, Lever, NoRemedy, PairRemedy, Remedy, RemedyReport},
};
use beamstay_report::number::{quantity, signed_percent};

use super::{
    point::{Style, WIDTH, section},
    table::{aligned, folded},
};

/// Rows of a table that are shown.
const SHOWN_COUNT: usize = 12;
/// Columns of [`closing_row`].
const CLOSING_HEADINGS: [&str; 4] = ["", "now", "closes at", "change"];

/// The whole screen.
pub fn remedy_text(report: &RemedyReport, style: Style) -> String {
    let mut parts = vec![folded(&report.provenance.title, WIDTH, "")];
    if report.closes {
        parts.push(folded(
            &format!(
                "{}, and stops closing when one of these numbers alone drifts past its end:",
                style.good("CLOSES")
            ),
            WIDTH,
            "",
        ));
        parts.push(section(
            style,
            "How far each number may drift, the nearest end first",
            drifts(&report.drifts),
        ));
        parts.push("Every other number may take any value that a scenario allows.".to_owned());
    } else {
        parts.push(broken(report, style));
        parts.extend(remedies(&report.remedies, style));
        if let Some(pair) = &report.pair {
            parts.push(section(style, "Two changes together", pair_text(pair)));
        }
        if !report.no_remedy.is_empty() {
            parts.push(section(style, "No value of these alone closes it", no_remedies(&report.no_remedy)));
        }
    }
    parts.push(format!(
        "{} points computed   scenario {}   beamstay {}",
        report.evaluations_count, report.provenance.digest, report.provenance.version
    ));
    parts.join("\n\n")
}

fn broken(report: &RemedyReport, style: Style) -> String {
    let names: Vec<&str> = report.broken.iter().map(|code| code.words().name).collect();
    folded(&format!("{}: broken are {}.", style.bad("DOES NOT CLOSE"), names.join(", ")), WIDTH, "  ")
}

/// Remedies by who decides them: to relax a limit or to hope for a better site is no repair.
fn remedies(remedies: &[Remedy], style: Style) -> Vec<String> {
    let groups: [(&str, &[Group]); 3] = [
        ("One change alone that closes it, the smallest first", &[Group::Design, Group::Station]),
        ("Not yours to choose: the site would have to be", &[Group::Site]),
        ("Caution given away: it closes the sum, and makes no plan safer", &[Group::Allowance]),
    ];
    let mut parts = Vec::new();
    for (heading, members) in groups {
        let rows: Vec<&Remedy> = remedies.iter().filter(|r| members.contains(&r.lever.group)).collect();
        if !rows.is_empty() {
            parts.push(section(style, heading, remedy_rows(&rows)));
        } else if members.contains(&Group::Design) {
            parts.push("No single number of the design or the station closes it.".to_owned());
        }
    }
    parts
}

fn remedy_rows(rows: &[&Remedy]) -> String {
    let shown = rows.iter().take(SHOWN_COUNT);
    let table = shown.map(|row| closing_row(&row.lever, row.closes_at, row.change_ratio)).collect();
    with_rest(aligned(&CLOSING_HEADINGS, table, &[0]), rows.len())
}

fn closing_row(lever: &Lever, closes_at: f64, change_ratio: Option<f64>) -> Vec<String> {
    vec![
        lever.pointer.clone(),
        quantity(lever.from, &lever.unit),
        exact(closes_at, lever),
        change(change_ratio),
    ]
}

fn no_remedies(rows: &[NoRemedy]) -> String {
    let cells = |row: &NoRemedy| {
        vec![row.lever.pointer.clone(), quantity(row.nearest_at, &row.lever.unit), limit(row.still_breaks)]
    };
    let table = rows.iter().take(SHOWN_COUNT).map(cells).collect();
    with_rest(aligned(&["", "nearest at", "still breaks"], table, &[0, 2]), rows.len())
}

fn drifts(rows: &[Drift]) -> String {
    let ending: Vec<&Drift> = rows.iter().filter(|row| row.down.is_some() || row.up.is_some()).collect();
    let lines = ending.iter().take(SHOWN_COUNT).flat_map(|row| {
        let first = format!("  {}, now {}", row.lever.pointer, quantity(row.lever.from, &row.lever.unit));
        let side = |word: &str, end: &Option<DriftEnd>| end.map(|end| drift_line(word, &end, &row.lever));
        [Some(first), side("down", &row.down), side("up", &row.up)].into_iter().flatten().collect::<Vec<_>>()
    });
    with_rest(lines.collect::<Vec<_>>().join("\n"), ending.len())
}

fn drift_line(word: &str, end: &DriftEnd, lever: &Lever) -> String {
    format!(
        "      {word:<4} to {} ({}); then {}",
        exact(end.closes_to, lever),
        change(end.change_ratio),
        limit(end.limit)
    )
}

fn pair_text(pair: &PairRemedy) -> String {
    let row = |lever: &Lever, value: f64| closing_row(lever, value, lever.change_ratio(value));
    let rows = vec![row(&pair.first, pair.first_closes_at), row(&pair.second, pair.second_closes_at)];
    format!(
        "{}\n  together {:.1} % of change",
        aligned(&CLOSING_HEADINGS, rows, &[0]),
        100.0 * pair.change_ratio
    )
}

/// All the digits that were tried: a rounded one might stand on the wrong side.
fn exact(value: f64, lever: &Lever) -> String {
    beamstay_report::number::with_unit(&value.to_string(), &lever.unit)
}

fn change(ratio: Option<f64>) -> String {
    ratio.map_or_else(|| "from 0".to_owned(), signed_percent)
}

fn limit(code: Option<LimitCode>) -> String {
    code.map_or("nothing can be computed", |code| code.words().name).to_owned()
}

fn with_rest(table: String, count: usize) -> String {
    if count > SHOWN_COUNT {
        format!("{table}\n  and {} more (--format json)", count - SHOWN_COUNT)
    } else {
        table
    }
}
