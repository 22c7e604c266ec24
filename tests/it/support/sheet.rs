//! Spreadsheets' own files, written part by part: Office Open XML, ECMA-376 part 1, of which 18 is about workbooks, 9 about how the
//! parts name one another (ECMA-376 part 2).
use std::io::{Cursor, Write as _};

use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>"#;
const ROOT: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str = r#"<?xml version="1.0" encoding="UTF-8"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Empty" sheetId="1" r:id="rId1"/><sheet name="Cloth" sheetId="2" r:id="rId2"/></sheets></workbook>"#;
const PARTS: &str = r#"<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet2.xml"/><Relationship Id="rId3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#;
pub const MAIN: &str = r#"xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main""#;

/// A workbook whose first sheet is empty and whose second has these rows, with these shared strings.
pub fn book(rows: &str, strings: &str) -> Vec<u8> {
    with(&[], rows, strings)
}

/// The same with more parts.
pub fn with(more: &[(&str, &[u8])], rows: &str, strings: &str) -> Vec<u8> {
    let sheet = |rows: &str| {
        format!(
            r#"<?xml version="1.0" encoding="UTF-8"?><worksheet {MAIN}><sheetData>{rows}</sheetData></worksheet>"#
        )
    };
    let (empty, sheet, strings) = (sheet(""), sheet(rows), strings.to_owned());
    let mut parts: Vec<(&str, &[u8])> = vec![
        ("[Content_Types].xml", TYPES.as_bytes()),
        ("_rels/.rels", ROOT.as_bytes()),
        ("xl/workbook.xml", BOOK.as_bytes()),
        ("xl/_rels/workbook.xml.rels", PARTS.as_bytes()),
        ("xl/worksheets/sheet1.xml", empty.as_bytes()),
        ("xl/worksheets/sheet2.xml", sheet.as_bytes()),
        ("xl/sharedStrings.xml", strings.as_bytes()),
    ];
    parts.extend(more);
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        out.start_file(name, SimpleFileOptions::default()).unwrap();
        out.write_all(bytes).unwrap();
    }
    out.finish().unwrap().into_inner()
}

/// Shared strings as they stand in their part.
pub fn strings(all: &[&str]) -> String {
    let each: String = all.iter().flat_map(|text| ["<si><t>", text, "</t></si>"]).collect();
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><sst {MAIN} count="{n}" uniqueCount="{n}">{each}</sst>"#,
        n = all.len()
    )
}
