//! What a report says, apart from how it looks: chapters of paragraphs, tables and figures. Page, tables as CSV and figures as
//! files are made from the same chapters.

/// A chapter.
#[derive(Debug, Clone, PartialEq)]
pub struct Chapter {
    /// Name of its place in the page, lower case with hyphens.
    pub id: &'static str,
    /// Heading.
    pub heading: String,
    /// What the first screen says of it, under the verdict; none for a chapter that only tells why.
    pub gist: Option<String>,
    /// What stands under it.
    pub blocks: Vec<Block>,
}

/// A part of a chapter.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A paragraph.
    Paragraph(String),
    /// A list.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// A figure.
    Figure(Figure),
    /// What only some readers want: closed until it is opened, open on paper.
    Details {
        /// What is inside.
        summary: String,
        /// The parts.
        blocks: Vec<Block>,
    },
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// File name without ending, unique in a report.
    pub stem: &'static str,
    /// What it shows.
    pub caption: String,
    /// Column headings; with the unit where all of a column have one.
    pub header: Vec<String>,
    /// Cells.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text.
    Text(String),
    /// A number: for a person with its unit and few digits, in a file whole and bare.
    Number {
        /// Value.
        value: f64,
        /// Unit, empty for none.
        unit: String,
    },
    /// A margin as a share, in percent with its sign.
    Margin(Option<f64>),
    /// Whether something holds.
    Verdict(bool),
    /// Nothing to tell.
    Empty,
}

impl Cell {
    /// Text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A number and its unit.
    pub fn number(value: f64, unit: &str) -> Self {
        Self::Number { value, unit: unit.to_owned() }
    }

    /// A number that may be absent.
    pub fn maybe(value: Option<f64>, unit: &str) -> Self {
        value.map_or(Self::Empty, |value| Self::number(value, unit))
    }

    /// As a person reads it.
    pub fn shown(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Number { value, unit } => crate::number::quantity(*value, unit),
            Self::Margin(ratio) => ratio.map_or_else(String::new, crate::number::signed_percent),
            Self::Verdict(holds) => if *holds { "holds" } else { "BROKEN" }.to_owned(),
            Self::Empty => String::new(),
        }
    }

    /// As a program reads it.
    pub fn bare(&self) -> String {
        match self {
            Self::Number { value, .. } => value.to_string(),
            Self::Margin(Some(ratio)) => ratio.to_string(),
            other => other.shown(),
        }
    }
}

/// A figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// File name without ending, unique in a report.
    pub stem: &'static str,
    /// What it shows.
    pub caption: String,
    /// The drawing, with title and description for those who do not see it.
    pub svg: String,
}

impl Chapter {
    /// Every table, those in details too.
    pub fn tables(&self) -> Vec<&Table> {
        let mut found = Vec::new();
        gather(&self.blocks, &mut |block| {
            if let Block::Table(table) = block {
                found.push(table);
            }
        });
        found
    }

    /// Every figure, those in details too.
    pub fn figures(&self) -> Vec<&Figure> {
        let mut found = Vec::new();
        gather(&self.blocks, &mut |block| {
            if let Block::Figure(figure) = block {
                found.push(figure);
            }
        });
        found
    }
}

fn gather<'a>(blocks: &'a [Block], visit: &mut impl FnMut(&'a Block)) {
    for block in blocks {
        visit(block);
        if let Block::Details { blocks, .. } = block {
            gather(blocks, visit);
        }
    }
}

impl Table {
    /// The table as CSV (RFC 4180). A cell that a spreadsheet would take for a formula is quoted with an apostrophe.
    pub fn csv(&self) -> String {
        let mut text = String::new();
        let mut line = |cells: Vec<String>| {
            text.push_str(&cells.join(","));
            text.push_str("\r\n");
        };
        line(self.header.iter().map(|h| quoted(h)).collect());
        for row in &self.rows {
            line(row.iter().map(field).collect());
        }
        text
    }
}

fn field(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => quoted(&format!("'{text}")),
        other => quoted(&other.bare()),
    }
}

fn quoted(text: &str) -> String {
    if text.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_become_csv_that_reads_back() {
        let table = Table {
            stem: "t",
            caption: String::new(),
            header: vec!["a".into(), "b, c".into()],
            rows: vec![
                vec![Cell::text("say \"x\", y"), Cell::number(0.1, "W")],
                vec![Cell::text("=1+1"), Cell::Empty],
            ],
        };
        assert_eq!(table.csv(), "a,\"b, c\"\r\n\"say \"\"x\"\", y\",0.1\r\n'=1+1,\r\n");
    }
}
