//! A timetable's proposal as a test reads it. The one place that knows where it stands on its page.
use super::browser::Page;
use super::days::read_short;

/// A turn: frame, weaver, first and last day such as `2026-10-14`, or `now` for who has the frame already.
pub type Turn = [String; 4];

/// The turns of a proposal, by frame and day.
pub fn turns(page: &Page) -> Vec<Turn> {
    let [weavers, from, to] = ["Weaver", "From", "To"]
        .map(|what| page.all(&format!("tr:has(td[data-label=From]) td[data-label={what}]")));
    let frames = page.all("tr:has(td[data-label=From]) th");
    assert!(
        frames.len() == from.len() && weavers.len() == to.len() && from.len() == to.len(),
        "{}",
        page.text
    );
    let day = |shown: String| if shown == "now" { shown } else { read_short(&shown) };
    let days = from.into_iter().map(day).zip(to.into_iter().map(day));
    let rows = frames.into_iter().zip(weavers).zip(days);
    rows.map(|((frame, weaver), (from, to))| [frame, weaver, from, to]).collect()
}

/// Who gets no turn, and why.
pub fn without(page: &Page) -> Vec<(String, String)> {
    let who = page.all("tr:has(td[data-label=Why]) th");
    who.into_iter().zip(page.all("td[data-label=Why]")).collect()
}

/// What would help: the first words of each line, and how many more rugs it gets a turn.
pub fn help(page: &Page) -> Vec<(String, u32)> {
    let gained = |line: &str| match line.rsplit_once(": ").unwrap().1.split(' ').next().unwrap() {
        "no" => 0,
        "one" => 1,
        number => number.parse().unwrap(),
    };
    page.all("li")
        .into_iter()
        .filter(|line| line.starts_with("With one more"))
        .map(|line| (line.split(':').next().unwrap().to_owned(), gained(&line)))
        .collect()
}
