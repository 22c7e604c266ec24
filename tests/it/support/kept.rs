//! What was computed before, kept in files: for a rebuilding that must change nothing. What is kept isn't right by being kept; whether
//! it is right is for other tests. `RENEW=1 cargo test --test it kept` writes the files again: look at the difference before it stays.
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use serde_json::Value;

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/vectors/kept").join(name)
}

fn renewed(name: &str, now: &str) -> bool {
    let renew = std::env::var_os("RENEW").is_some();
    if renew {
        fs::create_dir_all(file(name).parent().unwrap()).unwrap();
        fs::write(file(name), now).unwrap();
    }
    renew
}

/// A text, to the letter.
#[track_caller]
pub fn same_text(name: &str, now: &str) {
    if renewed(name, now) {
        return;
    }
    let before = fs::read_to_string(file(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    if let Some(at) = before.bytes().zip(now.bytes()).position(|(a, b)| a != b) {
        let around = |text: &str| {
            let from =
                (0..=at.saturating_sub(60)).rev().find(|from| text.is_char_boundary(*from)).unwrap_or(0);
            text[from..].chars().take(120).collect::<String>()
        };
        panic!("{name} was\n  …{}…\nand is\n  …{}…", around(&before), around(now));
    }
    assert_eq!(before.len(), now.len(), "{name} is shorter or longer than it was");
}

/// Numbers by name, in lines of `case: number number …`; as near as a number of eight digits.
#[track_caller]
pub fn same_numbers(name: &str, now: &[(String, Vec<(String, f64)>)]) {
    let mut text = String::new();
    for (case, numbers) in now {
        write!(text, "{case}:").unwrap();
        for (_, number) in numbers {
            write!(text, " {number:.8e}").unwrap();
        }
        text.push('\n');
    }
    if renewed(name, &text) {
        return;
    }
    let before = fs::read_to_string(file(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    let before: Vec<&str> = before.lines().collect();
    assert_eq!(before.len(), now.len(), "{name}: cases");
    for ((case, numbers), line) in now.iter().zip(before) {
        let (was_case, was) = line.split_once(':').unwrap();
        assert_eq!(was_case, case, "{name}");
        let was: Vec<f64> = was.split_whitespace().map(|number| number.parse().unwrap()).collect();
        for ((what, is), was) in numbers.iter().zip(&was) {
            let near = (is - was).abs() <= 2e-8 * was.abs().max(1e-300);
            assert!(near, "{name}, {case}: {what} was {was} and is {is}");
        }
        assert_eq!(numbers.len(), was.len(), "{name}, {case}: how many numbers");
    }
}

/// The numbers of an answer with the paths that lead to them; yes is 1, no is 0.
pub fn numbers_of(answer: &Value) -> Vec<(String, f64)> {
    fn walk(path: &str, value: &Value, found: &mut Vec<(String, f64)>) {
        match value {
            Value::Number(number) => found.push((path.to_owned(), number.as_f64().unwrap())),
            Value::Bool(is) => found.push((path.to_owned(), f64::from(u8::from(*is)))),
            Value::Array(list) => {
                list.iter().enumerate().for_each(|(at, one)| walk(&format!("{path}/{at}"), one, found));
            }
            Value::Object(map) => {
                map.iter().for_each(|(key, one)| walk(&format!("{path}/{key}"), one, found));
            }
            Value::Null | Value::String(_) => {}
        }
    }
    let mut found = Vec::new();
    walk("", answer, &mut found);
    found
}

/// The numbers in what `{:?}` writes, each with the words before it.
pub fn numbers_in(text: &str) -> Vec<(String, f64)> {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E');
    let mut found: Vec<(String, f64)> = Vec::new();
    let mut word = String::new();
    for token in text
        .split(|c: char| !(c.is_alphanumeric() || is_part(c) || c == '_'))
        .filter(|token| !token.is_empty())
    {
        match token.parse::<f64>() {
            Ok(number) if number.is_finite() && token.contains(|c: char| c.is_ascii_digit()) => {
                found.push((word.clone(), number));
            }
            _ if token == "true" => found.push((word.clone(), 1.0)),
            _ if token == "false" => found.push((word.clone(), 0.0)),
            _ => token.clone_into(&mut word),
        }
    }
    found
}
