//! A page held against what the model says of it.
use scraper::{ElementRef, Html, Selector};

use super::{Part, Seen};
use crate::support::browser::Page;

/// What differs, in words; nothing where all is as it must be.
pub fn compare(seen: &Seen, page: &Page) -> Option<String> {
    let status = page.status.as_u16();
    match seen {
        Seen::To(to) => {
            let there = page.headers.get("location").and_then(|to| to.to_str().ok()).unwrap_or_default();
            (status != 303 || there != to)
                .then(|| format!("the model leads to {to}; the page: {status} {there}"))
        }
        Seen::No(no) => (status != *no).then(|| format!("the model answers {no}, the page {status}")),
        _ if status != 200 => Some(format!("the model shows it, the page answers {status}")),
        Seen::Csv(rows) => csv(rows, &page.text),
        Seen::Feed(events) => unlike("the calendar", events, &super::feeds::read(&page.text)),
        Seen::Html(parts) => {
            let html = Html::parse_document(&page.text);
            parts.iter().find_map(|part| differs(part, &html))
        }
    }
}

/// Blanks folded, as a browser shows them.
fn fold(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text(element: ElementRef) -> String {
    fold(&element.text().collect::<String>())
}

fn find<'a>(html: &'a Html, selector: &str) -> Vec<ElementRef<'a>> {
    html.select(&Selector::parse(selector).unwrap()).collect()
}

fn differs(part: &Part, html: &Html) -> Option<String> {
    match part {
        Part::Texts(selector, texts) => {
            let there: Vec<String> = find(html, selector).into_iter().map(text).collect();
            let texts: Vec<String> = texts.iter().map(|text| fold(text)).collect();
            (there != texts).then(|| format!("`{selector}`: the model says {texts:?}, the page {there:?}"))
        }
        Part::Rows(selector, rows) => cells(selector, "th, td[data-label]", rows, html),
        Part::Cells(selector, within, rows) => cells(selector, within, rows, html),
        Part::Attrs(selector, name, values) => {
            let there: Vec<&str> =
                find(html, selector).into_iter().filter_map(|one| one.attr(name)).collect();
            (there != *values)
                .then(|| format!("`{selector}` [{name}]: the model says {values:?}, the page {there:?}"))
        }
        Part::Count(selector, count) => {
            let there = find(html, selector).len();
            (there != *count)
                .then(|| format!("`{selector}`: the model says {count} of them, the page {there}"))
        }
        Part::Numbers(selector, numbers) => {
            let words = find(html, selector).into_iter().next().map(text).unwrap_or_default();
            let there: Vec<i64> =
                words.split(|c: char| !c.is_ascii_digit()).filter_map(|digits| digits.parse().ok()).collect();
            (there != *numbers)
                .then(|| format!("`{selector}`: the model says {numbers:?}, the page “{words}”"))
        }
    }
}

fn cells(selector: &str, within: &str, rows: &[Vec<String>], html: &Html) -> Option<String> {
    let within = Selector::parse(within).unwrap();
    let there: Vec<Vec<String>> =
        find(html, selector).into_iter().map(|row| row.select(&within).map(text).collect()).collect();
    let rows: Vec<Vec<String>> = rows.iter().map(|row| row.iter().map(|cell| fold(cell)).collect()).collect();
    unlike(selector, &rows, &there)
}

/// The first row in which two tables differ.
fn unlike(what: &str, rows: &[Vec<String>], there: &[Vec<String>]) -> Option<String> {
    let at = (0..rows.len().max(there.len())).find(|&n| rows.get(n) != there.get(n))?;
    let (row, found) = (rows.get(at), there.get(at));
    Some(format!("`{what}`, row {} of {}: the model says {row:?}, the page {found:?}", at + 1, there.len()))
}

/// A cell that a spreadsheet would take for a formula is led by an apostrophe.
fn harmless(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@']) && cell.parse::<f64>().is_err();
    if formula { format!("'{cell}") } else { cell.to_owned() }
}

fn csv(rows: &[Vec<String>], text: &str) -> Option<String> {
    let mut there = Vec::new();
    for record in csv::ReaderBuilder::new().from_reader(text.as_bytes()).records() {
        match record {
            Ok(record) => there.push(record.iter().map(str::to_owned).collect::<Vec<_>>()),
            Err(error) => return Some(format!("the table can't be read: {error}")),
        }
    }
    let rows: Vec<Vec<String>> =
        rows.iter().map(|row| row.iter().map(|cell| harmless(cell)).collect()).collect();
    // The last columns of a table may hold what the model leaves open.
    for (row, found) in rows.iter().zip(&mut there) {
        found.truncate(row.len());
    }
    unlike("the table", &rows, &there)
}
