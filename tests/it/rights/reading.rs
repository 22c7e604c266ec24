//! What an answer says, wherever it says it: headers, page, table, feed or paper.
use std::process::Command;

use axum::http::{HeaderName, HeaderValue};

use crate::support::browser::Page;

/// Whether papers can be read. Said plainly where they can't; a failure where they have to be (CI).
pub fn papers_can_be_read() -> bool {
    let there = Command::new("pdftotext").arg("-v").output().is_ok();
    assert!(there || std::env::var_os("CI").is_none(), "pdftotext has to be there in CI");
    if !there {
        eprintln!("SKIPPED: no pdftotext, so that nobody reads what stands on papers");
    }
    there
}

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
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("paper.pdf");
    std::fs::write(&file, pdf).unwrap();
    let read = Command::new("pdftotext").args(["-htmlmeta", "-q"]).arg(&file).arg("-").output();
    read.map_or_else(|_| String::new(), |read| String::from_utf8_lossy(&read.stdout).into_owned())
}
