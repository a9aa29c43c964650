//! Tables for a spreadsheet, comma-separated as RFC 4180 has it.

/// A header line, then one line per row.
pub fn csv_text<H: AsRef<[u8]>>(
    header: impl IntoIterator<Item = H>,
    rows: impl IntoIterator<Item = Vec<String>>,
) -> String {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    // Neither can fail: rows of any length go into memory.
    let _ = writer.write_record(header);
    for row in rows {
        let _ = writer.write_record(row);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// A number as it is; nothing for none.
pub fn number(value: Option<f64>) -> String {
    value.map_or(String::new(), |number| number.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_with_commas_are_quoted() {
        let rows = [vec!["1".to_owned(), "wind, then \"gust\"".to_owned()]];
        assert_eq!(csv_text(["a", "b"], rows), "a,b\n1,\"wind, then \"\"gust\"\"\"\n");
        assert_eq!(number(None), "");
        assert_eq!(number(Some(-0.5)), "-0.5");
    }
}
