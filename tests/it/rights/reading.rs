//! What an answer says, wherever it says it: headers, page, table, feed or paper.
use axum::http::{HeaderName, HeaderValue};

use crate::support::browser::Page;
use crate::support::pdf::Paper;

/// Everything that an answer tells, in small letters: its headers, and its body as text. A paper's title counts.
pub fn told(page: &Page) -> String {
    let line = |(name, value): (&HeaderName, &HeaderValue)| {
        format!("{name}: {}\n", String::from_utf8_lossy(value.as_bytes()))
    };
    let mut told: String = page.headers.iter().map(line).collect();
    let kind = page.headers.get("content-type").map_or("", |kind| kind.to_str().unwrap());
    told += &match kind {
        "application/pdf" => paper(&page.bytes),
        // Long lines of a feed are folded wherever they reach the edge.
        kind if kind.starts_with("text/calendar") => page.text.replace("\r\n ", ""),
        _ => page.text.clone(),
    };
    told.to_lowercase()
}

fn paper(pdf: &[u8]) -> String {
    let paper = Paper::read(pdf);
    let codes = paper.codes.iter().map(|code| code.says.clone());
    [paper.title.clone(), paper.said()]
        .into_iter()
        .chain(paper.told.clone())
        .chain(codes)
        .collect::<Vec<_>>()
        .join("\n")
}
