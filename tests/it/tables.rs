//! Tables that come in.
use thrumhall::tables::{NoTable, Table, text};

use crate::support::sheet;

fn lines(written: &str) -> Vec<(u64, String)> {
    let table = Table::read(written).unwrap();
    table.rows.into_iter().map(|row| (row.line, row.cells.join("|"))).collect()
}

#[test]
fn rows_know_the_line_they_begin_on() {
    for end in ["\n", "\r\n", "\r"] {
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
fn marks_within_quotes_dont_say_what_parts_the_cells() {
    for (written, head) in [
        ("\"weight; oz; lb\",colour\n2,navy\n", ["weight; oz; lb", "colour"]),
        ("\"weight, \"\"oz\"\", lb\";colour\n2;navy\n", ["weight, \"oz\", lb", "colour"]),
        ("\"two\nlines; and; more\",colour\n2,navy\n", ["two\nlines; and; more", "colour"]),
        // A quote within a cell is one, as for inches.
        ("12\" wide; 1,5\"; x\n", ["12\" wide", "1,5\""]),
    ] {
        assert_eq!(Table::read(written).unwrap().head[..2], head, "{written}");
    }
}

#[test]
fn a_cell_guarded_from_spreadsheets_is_itself_again() {
    assert_eq!(lines("a\n'=1+1\n'tis\n"), [(2, "=1+1".into()), (3, "'tis".into())]);
}

#[test]
fn what_is_no_text_and_what_is_empty_are_told_apart() {
    assert_eq!(text(b"caf\xe9\0"), Err(NoTable::NotText));
    assert_eq!(text(b"caf\xe9\x81"), Err(NoTable::NotText));
    assert_eq!(text(b"\xff\xfek\0i"), Err(NoTable::NotText));
    assert_eq!(text(b"PK\x03\x04\0\0"), Err(NoTable::Spreadsheet));
    assert_eq!(text(b"\xd0\xcf\x11\xe0\0\0"), Err(NoTable::Spreadsheet));
    assert_eq!(text(b"\xef\xbb\xbfkind").unwrap(), "kind");
    assert_eq!(Table::read("sep=;\r\n"), Err(NoTable::Empty));
    assert_eq!(Table::read(""), Err(NoTable::Empty));
    assert_eq!(Table::read("\r\n , ,\r\n"), Err(NoTable::Empty));
}

#[test]
fn files_are_read_in_the_encodings_that_spreadsheets_save() {
    // U+20AC is 0x80, U+2019 0x92 and U+00E9 0xE9 in Windows-1252 (Encoding Standard, index windows-1252); from memory.
    assert_eq!(text(b"Andr\xe9\x92s \x80").unwrap(), "André’s €");
    // RFC 2781: the mark says which byte of a pair comes first.
    let wide =
        |order: fn(u16) -> [u8; 2]| "\u{feff}rosé €".encode_utf16().flat_map(order).collect::<Vec<u8>>();
    assert_eq!(text(&wide(u16::to_le_bytes)).unwrap(), "rosé €");
    assert_eq!(text(&wide(u16::to_be_bytes)).unwrap(), "rosé €");
}

#[test]
fn a_first_line_may_say_what_parts_the_cells() {
    for (written, commas) in [("sep=;\na;b,c\n1;2\n", true), ("SEP=,\r\na,b;c\r\n1,2\r\n", false)] {
        let table = Table::read(written).unwrap();
        assert_eq!((table.head.len(), table.rows[0].line, table.decimal_commas), (2, 3, commas), "{written}");
    }
}

/// Cells of every kind that ECMA-376 part 1, 18.18.11 has; a row and a column left out; the formula's cached value is read.
const ROWS: &str = r#"<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>colour</t></is></c><c r="C1" t="s"><v>1</v></c></row><row r="3"><c r="A3" t="s"><v>2</v></c><c r="C3"><v>0.30000000000000004</v></c><c r="D3" t="b"><v>1</v></c><c r="E3" t="str"><f>A3</f><v>navy, "soft"</v></c><c r="F3" t="e"><v>#N/A</v></c><c r="G3"><v>2</v></c></row>"#;

#[test]
fn a_spreadsheets_own_file_is_its_first_sheet_that_holds_anything() {
    let file = sheet::book(ROWS, &sheet::strings(&["kind", "weight &amp; unit", "percale\nsheet"]));
    let table = Table::read(&text(&file).unwrap()).unwrap();
    assert_eq!(table.head, ["kind", "colour", "weight & unit"]);
    assert_eq!(table.rows.len(), 1);
    assert_eq!(table.rows[0].line, 3, "rows have the numbers that the spreadsheet shows");
    assert_eq!(table.rows[0].cells, ["percale sheet", "", "0.3", "TRUE", "navy, \"soft\"", "", "2"]);
    assert_eq!(text(&sheet::book("", &sheet::strings(&[]))), Err(NoTable::Empty));
}

#[test]
fn a_spreadsheet_that_is_a_bomb_is_refused_before_it_is_unpacked_whole() {
    let kind = sheet::strings(&["kind"]);
    let refused = |file: Vec<u8>| (text(&file), file.len());
    // 40 MB of blanks in a file of some 40 kB.
    let blanks = " ".repeat(40 << 20);
    let (answer, size) = refused(sheet::book(&blanks, &kind));
    assert!(size < 100_000 && answer == Err(NoTable::TooLarge), "{size} bytes: {answer:?}");
    // What is neither a sheet nor its words may have 1 MB.
    let styles = vec![b' '; 2 << 20];
    assert_eq!(text(&sheet::with(&[("xl/styles.xml", &styles)], ROWS, &kind)), Err(NoTable::TooLarge));
    let parts: Vec<String> = (0..600).map(|n| format!("xl/media/{n}")).collect();
    let many: Vec<(&str, &[u8])> = parts.iter().map(|name| (name.as_str(), &b"x"[..])).collect();
    assert_eq!(text(&sheet::with(&many, ROWS, &kind)), Err(NoTable::TooLarge));
    // Room is made for as many shared strings as are named; here there is one.
    let named = kind.replace("uniqueCount=\"1\"", "uniqueCount = '9000000000'");
    assert_eq!(text(&sheet::book(ROWS, &named)), Err(NoTable::TooLarge));
    // A cell in the far corner is no table of a billion cells.
    let far = r#"<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>"#;
    assert_eq!(text(&sheet::book(far, &kind)), Err(NoTable::TooLarge));
    // An encoding in which none of this could be seen.
    let wide: Vec<u8> = kind.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let other = kind.replace("UTF-8", "ISO-2022-JP");
    assert_eq!(text(&sheet::with(&[("xl/more.xml", &wide)], ROWS, &kind)), Err(NoTable::Spreadsheet));
    assert_eq!(text(&sheet::book(ROWS, &other)), Err(NoTable::Spreadsheet));
}
