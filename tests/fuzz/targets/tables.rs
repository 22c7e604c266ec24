//! Tables that come in: what is read goes out as CSV that reads back as the same, and no cell of that is a formula.
use thrumhall::tables::{self, Table};

pub fn read(input: &[u8]) {
    let Ok(text) = tables::text(input) else { return };
    let Ok(table) = Table::read(&text) else { return };
    let lines = text.split('\n').count() as u64;
    let mut last = 0;
    for row in &table.rows {
        assert!(
            row.line > last && row.line <= lines + text.matches('\r').count() as u64,
            "line {}",
            row.line
        );
        last = row.line;
        assert!(row.cells.iter().any(|cell| !cell.is_empty()), "an empty row");
    }
    // Rows of other lengths than the head's can be read, but not written.
    let width = table.head.len();
    let rows: Vec<Vec<String>> =
        table.rows.iter().map(|row| row.cells.clone()).filter(|cells| cells.len() == width).collect();
    let head: Vec<&str> = table.head.iter().map(String::as_str).collect();
    let written = tables::csv(&head, rows.iter()).unwrap_or_else(|error| panic!("{error}"));
    let mut plain = csv::ReaderBuilder::new().has_headers(false).from_reader(&written[3..]);
    for (number, record) in plain.records().enumerate().skip(1) {
        for cell in &record.unwrap_or_else(|error| panic!("row {number}: {error}")) {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(!formula || cell.parse::<f64>().is_ok(), "{cell:?} is a formula");
        }
    }
    let back =
        tables::text(&written).and_then(|text| Table::read(&text)).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(back.head, table.head, "the head reads back otherwise");
    let back: Vec<Vec<String>> = back.rows.into_iter().map(|row| row.cells).collect();
    assert_eq!(back, rows, "the rows read back otherwise");
}
