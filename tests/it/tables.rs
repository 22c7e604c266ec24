//! Tables that come in.
use thrumhall::tables::{NoTable, Table, text};

fn lines(written: &str) -> Vec<(u64, String)> {
    let table = Table::read(written).unwrap();
    table.rows.into_iter().map(|row| (row.line, row.cells.join("|"))).collect()
}

#[test]
fn rows_know_the_line_they_begin_on() {
    for end in ["\n", "\r\n"] {
        let written = ["", "a,b", "", "", "1,\"two", "lines\"", " , ", "3,4", "", "5"].join(end);
        let found = lines(&written);
        let wanted = [(5, format!("1|two{end}lines")), (8, "3|4".into()), (10, "5".into())];
        assert_eq!(found, wanted, "{end:?}");
    }
}

// RFC 4180, 2.5 to 2.7: cells in quotes may hold commas, and a quote twice.
#[test]
fn quoted_cells_hold_what_parts_the_others() {
    assert_eq!(lines("a,b\r\n\"x, y\",\"say \"\"so\"\"\"\r\n"), [(2, "x, y|say \"so\"".into())]);
}

#[test]
fn a_cell_guarded_from_spreadsheets_is_itself_again() {
    assert_eq!(lines("a\n'=1+1\n'tis\n"), [(2, "=1+1".into()), (3, "'tis".into())]);
}

#[test]
fn what_is_no_text_and_what_is_empty_are_told_apart() {
    assert_eq!(text(b"caf\xe9"), Err(NoTable::NotText));
    assert_eq!(text(b"PK\x03\x04\0\0"), Err(NoTable::NotText));
    assert_eq!(text(b"\xef\xbb\xbfkind"), Ok("kind"));
    assert_eq!(Table::read(""), Err(NoTable::Empty));
    assert_eq!(Table::read("\r\n , ,\r\n"), Err(NoTable::Empty));
}
