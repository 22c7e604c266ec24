//! Calendar feeds as text. Reading them back with another library is in `tests/outside/calendar.py`.
use jiff::civil;
use proptest::prelude::*;
use thrumhall::calendar::{Event, When, feed};

fn event(title: &str, text: &str) -> Event {
    Event {
        uid: "meeting-1@thrumhall".into(),
        sequence: 2,
        changed: "2026-10-01T08:00:00Z".parse().unwrap(),
        when: When::Between("2026-10-07T18:30:00Z".parse().unwrap(), "2026-10-07T21:00:00Z".parse().unwrap()),
        title: title.into(),
        text: text.into(),
        cancelled: false,
    }
}

/// The lines as they were before folding. Source: RFC 5545, 3.1.
fn unfolded(feed: &str) -> Vec<String> {
    feed.replace("\r\n ", "").replace("\r\n\t", "").split_terminator("\r\n").map(str::to_owned).collect()
}

/// What a TEXT says, if it is one. Source: RFC 5545, 3.3.11: a backslash, a semicolon and a comma stand behind a backslash,
/// a line break is `\n` or `\N`, nothing else does, and no control character but the tabulator stands anywhere.
fn unescaped(text: &str) -> Result<String, String> {
    let mut out = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        out.push(match c {
            '\\' => match chars.next() {
                Some('n' | 'N') => '\n',
                Some(it @ ('\\' | ';' | ',')) => it,
                other => return Err(format!("{other:?} behind a backslash")),
            },
            ';' | ',' => return Err(format!("{c} without a backslash")),
            c if c.is_ascii_control() && c != '\t' => return Err(format!("{c:?}")),
            c => c,
        });
    }
    Ok(out)
}

/// Source: RFC 5545, 3.3.11, the example; and what its grammar leaves out.
#[test]
fn the_reader_takes_what_the_grammar_takes() {
    let example = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared.";
    assert_eq!(unescaped(example).unwrap(), "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.");
    assert_eq!(unescaped(r#"a\;b\,c\\d: "e"\N"#).unwrap(), "a;b,c\\d: \"e\"\n");
    for bad in ["a;b", "a,b", r"a\:b", r"a\tb", "a\\", "a\u{7}"] {
        assert!(unescaped(bad).is_err(), "{bad}");
    }
}

fn value<'a>(lines: &'a [String], name: &str) -> &'a str {
    let found: Vec<_> = lines.iter().filter_map(|line| line.strip_prefix(name)).collect();
    assert_eq!(found.len(), 1, "{name} in {lines:?}");
    found[0]
}

/// Source: RFC 5545, 3.4 and 3.6.1: what a calendar and an event must have, each once; 3.6.1: the end of a day is the next.
#[test]
fn an_event_has_what_it_must_have_once() {
    let day = Event {
        uid: "loan-1@thrumhall".into(),
        when: When::Day(civil::date(2026, 12, 31)),
        cancelled: true,
        ..event("Frame S1 is due back", "")
    };
    let lines = unfolded(&feed("Test Loft: Wanda", &[event("Ebb to Flood", ""), day]));
    assert_eq!(lines.first().unwrap(), "BEGIN:VCALENDAR");
    assert_eq!(lines.last().unwrap(), "END:VCALENDAR");
    value(&lines, "PRODID:-//Thrumhall");
    value(&lines, "VERSION:2.0");
    let events: Vec<&[String]> = lines.split(|line| line == "BEGIN:VEVENT").skip(1).collect();
    assert_eq!(events.len(), 2);
    let [meeting, loan] = [events[0], events[1]];
    for (name, wanted) in [
        ("UID:", "meeting-1@thrumhall"),
        ("DTSTAMP:", "20261001T080000Z"),
        ("DTSTART:", "20261007T183000Z"),
        ("DTEND:", "20261007T210000Z"),
        ("SEQUENCE:", "2"),
        ("STATUS:", "CONFIRMED"),
    ] {
        assert_eq!(value(meeting, name), wanted);
    }
    assert_eq!(value(loan, "DTSTART;VALUE=DATE:"), "20261231");
    assert_eq!(value(loan, "DTEND;VALUE=DATE:"), "20270101");
    assert_eq!(value(loan, "STATUS:"), "CANCELLED");
}

proptest! {
    /// Source: RFC 5545, 3.1 (75 octets, CR LF, no character torn apart) and 3.3.11 (escapes).
    #[test]
    fn whatever_is_said_is_read_back(title in "[ -~äöé水,;:\\\\\"]{1,120}", text in "[ -~äöé水,;\\\\\n]{1,300}") {
        let written = feed("Test Loft", &[event(&title, &text)]);
        for line in written.split_terminator("\r\n") {
            prop_assert!(line.len() <= 75, "{} octets: {line}", line.len());
            prop_assert!(!line.contains(['\n', '\r']));
        }
        let lines = unfolded(&written);
        prop_assert_eq!(unescaped(value(&lines, "SUMMARY:")), Ok(title));
        prop_assert_eq!(unescaped(value(&lines, "DESCRIPTION:")), Ok(text));
    }
}
