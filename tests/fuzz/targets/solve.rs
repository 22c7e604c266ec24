//! `solve`, each of its questions: an answer is JSON without a number that isn't one, and the same when it is asked again; whatever
//! can't be answered is refused in words.
use clap::Parser;
use serde_json::Value;
use thrumhall::cli::reckon::BadInput;
use thrumhall::cli::solve::{SolveArgs, run};

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    args: SolveArgs,
}

const QUESTIONS: [&str; 13] = [
    "cutting",
    "rods",
    "sheets",
    "panels",
    "frame",
    "share-out",
    "timetable",
    "rugs",
    "colours",
    "areal",
    "pace",
    "design",
    "using-up",
];

/// Where a question says how long may be computed, and how much of it is asked for here.
const BOUNDS: [(&str, &str, u64); 7] = [
    ("cutting", "steps", 2_000),
    ("rods", "steps", 2_000),
    ("panels", "tries", 2_000),
    ("sheets", "keep", 10),
    ("share-out", "rounds", 10),
    ("timetable", "nodes", 10),
    ("design", "effort", 10_000),
];

/// The question, asking for no long computation; what is wrong stays wrong.
fn bounded(what: &str, text: &str) -> String {
    let Some((_, field, most)) = BOUNDS.iter().find(|(known, ..)| *known == what) else {
        return text.to_owned();
    };
    let Ok(Value::Object(mut asked)) = serde_json::from_str(text) else { return text.to_owned() };
    match asked.get(*field) {
        None => drop(asked.insert((*field).to_owned(), Value::from(*most))),
        Some(number) if number.as_u64().is_some_and(|number| number > *most && number <= 1_000_000_000) => {
            drop(asked.insert((*field).to_owned(), Value::from(*most)));
        }
        Some(_) => {}
    }
    Value::Object(asked).to_string()
}

pub fn target() -> impl FnMut(&[u8]) {
    let file = tempfile::NamedTempFile::new().unwrap_or_else(|error| panic!("{error}"));
    move |input| {
        let text = String::from_utf8_lossy(input);
        let (what, asked) = text.split_once(' ').unwrap_or((&text, ""));
        if !QUESTIONS.contains(&what) {
            return;
        }
        std::fs::write(file.path(), bounded(what, asked)).unwrap_or_else(|error| panic!("{error}"));
        let ask = || {
            let path = file.path().to_str().unwrap_or_default();
            let line = Line::try_parse_from(["solve", what, path]).unwrap_or_else(|error| panic!("{error}"));
            let mut out = Vec::new();
            run(&line.args, &mut out)
                .map(|()| String::from_utf8(out).unwrap_or_else(|error| panic!("{error}")))
        };
        match ask() {
            Ok(told) => {
                let lines: Vec<Value> = told
                    .lines()
                    .map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}")))
                    .collect();
                assert!(what == "rugs" || what == "areal" || lines.len() == 1, "{told}");
                if lines.iter().all(|line| line.get("milliseconds").is_none()) {
                    assert_eq!(ask().ok().as_ref(), Some(&told), "asked again it says something else");
                }
            }
            Err(error) => {
                let told = error.to_string();
                let refused = error.downcast::<BadInput>().unwrap_or_else(|_| panic!("no refusal: {told}"));
                assert!(!refused.why.is_empty() && told.starts_with(what), "{told}");
            }
        }
    }
}
