//! Aligned tables without ruling, narrow enough for 80 columns.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

/// A table with the first column to the left and the rest to the right.
pub fn aligned(header: &[&str], rows: Vec<Vec<String>>, left_columns: &[usize]) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    if !header.is_empty() {
        table.set_header(header.iter().map(|h| (*h).to_owned()).collect::<Vec<String>>());
    }
    for row in rows {
        table.add_row(row);
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((if index == 0 { 2 } else { 1 }, 1));
        if !left_columns.contains(&index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.to_string().lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// Text folded at `width` characters, each further line indented.
pub fn folded(text: &str, width: usize, indent: &str) -> String {
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
        let text = folded("one two three four five", 9, "  ");
        assert_eq!(text, "one two\n  three\n  four\n  five");
    }

    #[test]
    fn numbers_stand_to_the_right() {
        let text =
            aligned(&["a", "b"], vec![vec!["x".into(), "1".into()], vec!["yy".into(), "100".into()]], &[0]);
        assert_eq!(text, "  a     b\n  x     1\n  yy  100");
    }
}
