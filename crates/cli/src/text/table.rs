//! Aligned tables without ruling and folded text: made for 79 columns, and narrower where the terminal is.

use std::{env, sync::OnceLock};

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

/// Columns that all text is made for.
const FULL_COLUMNS: usize = 79;
/// Narrower than this no text is made.
const LEAST_COLUMNS: usize = 30;

/// Columns there are: what `COLUMNS` says, else the terminal, never more than [`FULL_COLUMNS`].
fn columns() -> usize {
    static COLUMNS: OnceLock<usize> = OnceLock::new();
    *COLUMNS.get_or_init(|| {
        let said = env::var("COLUMNS").ok().and_then(|text| text.trim().parse::<usize>().ok());
        let terminal = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
        said.filter(|columns| *columns > 0)
            .or_else(terminal)
            .map_or(FULL_COLUMNS, |columns| columns.clamp(LEAST_COLUMNS, FULL_COLUMNS))
    })
}

/// A table with the first column to the left and the rest to the right; stacked where the terminal is too narrow.
pub fn aligned(header: &[&str], rows: Vec<Vec<String>>, left_columns: &[usize]) -> String {
    aligned_in(columns(), header, rows, left_columns)
}

fn aligned_in(width: usize, header: &[&str], rows: Vec<Vec<String>>, left_columns: &[usize]) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    if !header.is_empty() {
        table.set_header(header.iter().map(|h| (*h).to_owned()).collect::<Vec<String>>());
    }
    for row in &rows {
        table.add_row(row.clone());
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((if index == 0 { 2 } else { 1 }, 1));
        if !left_columns.contains(&index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let text = table.to_string().lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
    if width >= FULL_COLUMNS || text.lines().all(|line| line.chars().count() <= width) {
        return text;
    }
    rows.iter().map(|row| stacked(width, header, row)).collect::<Vec<_>>().join("\n")
}

/// A row one under the other: its name, then its cells with their headings. No number is broken.
fn stacked(width: usize, header: &[&str], row: &[String]) -> String {
    let cells: Vec<String> = row
        .iter()
        .enumerate()
        .skip(1)
        .filter(|(_, cell)| !cell.trim().is_empty())
        .map(|(index, cell)| {
            format!("{} {}", header.get(index).unwrap_or(&""), cell.trim()).trim().to_owned()
        })
        .collect();
    let name = row.first().map_or("", String::as_str);
    let fold = |text: &str, indent: &str| folded_in(FULL_COLUMNS, text, width.saturating_sub(4), indent);
    format!("  {}\n    {}", fold(name, "    "), fold(&cells.join(", "), "      "))
}

/// Text folded at `width` of 79 characters, by as much less as the terminal has less, each further line indented.
pub fn folded(text: &str, width: usize, indent: &str) -> String {
    folded_in(columns(), text, width, indent)
}

fn folded_in(columns: usize, text: &str, width: usize, indent: &str) -> String {
    let width = width.saturating_sub(FULL_COLUMNS - columns).max(LEAST_COLUMNS / 2);
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let length = lines.last().map_or(0, |line| line.chars().count());
        if length > 0 && length + 1 + word.chars().count() > width {
            lines.push(indent.to_owned());
        }
        if let Some(line) = lines.last_mut() {
            if !line.trim().is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folded_lines_keep_their_width() {
        let text = folded_in(79, "one two three four five six", 15, "  ");
        assert_eq!(text, "one two three\n  four five six");
    }

    #[test]
    fn a_narrow_terminal_folds_text_and_cells() {
        let text = folded_in(40, "one two three four five six", 60, "  ");
        assert_eq!(text, "one two three four\n  five six");
        let row = vec!["a name that is rather long".to_owned(), "12.34 N".into(), "56.78 N".into()];
        let table = aligned_in(32, &["", "mean wind", "gust"], vec![row], &[0]);
        assert!(table.lines().all(|line| line.chars().count() <= 32), "{table}");
        assert_eq!(table, "  a name that is rather long\n    mean wind 12.34 N, gust\n      56.78 N");
    }

    #[test]
    fn numbers_stand_to_the_right() {
        let text = aligned_in(
            79,
            &["a", "b"],
            vec![vec!["x".into(), "1".into()], vec!["yy".into(), "100".into()]],
            &[0],
        );
        assert_eq!(text, "  a     b\n  x     1\n  yy  100");
    }
}
