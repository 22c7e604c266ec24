//! SQL text cut into tokens, each with how deep in brackets (or CASE … END) it stands.
use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Word,
    Number,
    Text,
    Parameter,
    Operator,
    Open,
    Close,
    Comma,
}

#[derive(Clone, Debug)]
pub struct Token {
    pub kind: Kind,
    pub range: Range<usize>,
    pub depth: usize,
    /// As written, words in capitals.
    pub text: String,
}

impl Token {
    pub fn is(&self, text: &str) -> bool {
        self.text == text && self.kind != Kind::Text
    }

    pub fn is_any(&self, texts: &[&str]) -> bool {
        texts.iter().any(|text| self.is(text))
    }
}

fn length_while(text: &str, is_part: impl Fn(char) -> bool) -> usize {
    text.find(|c| !is_part(c)).unwrap_or(text.len())
}

/// What comes next in the text, and how long it is; `None` for white space and whatever SQL doesn't know.
fn next(rest: &str) -> (Option<Kind>, usize) {
    let first = rest.chars().next().unwrap_or(' ');
    match first {
        '(' => (Some(Kind::Open), 1),
        ')' => (Some(Kind::Close), 1),
        ',' => (Some(Kind::Comma), 1),
        '\'' => (Some(Kind::Text), rest[1..].find('\'').map_or(rest.len(), |end| end + 2)),
        '$' => (Some(Kind::Parameter), 1 + length_while(&rest[1..], |c| c.is_ascii_digit())),
        c if c.is_ascii_digit() => {
            (Some(Kind::Number), length_while(rest, |c| c.is_ascii_digit() || c == '.'))
        }
        c if c.is_alphabetic() || c == '_' => {
            (Some(Kind::Word), length_while(rest, |c| c.is_alphanumeric() || c == '_' || c == '.'))
        }
        '<' | '>' | '=' | '!' | '|' => {
            (Some(Kind::Operator), length_while(rest, |c| matches!(c, '<' | '>' | '=' | '!' | '|')))
        }
        '+' | '-' | '*' | '/' | '%' => (Some(Kind::Operator), 1),
        c => (None, c.len_utf8()),
    }
}

pub fn tokens(sql: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let (mut at, mut depth) = (0, 0_usize);
    while at < sql.len() {
        let (kind, length) = next(&sql[at..]);
        let range = at..(at + length).min(sql.len());
        at = range.end;
        let Some(kind) = kind else { continue };
        let text = match kind {
            Kind::Word => sql[range.clone()].to_uppercase(),
            _ => sql[range.clone()].to_owned(),
        };
        let ends = kind == Kind::Close || (kind == Kind::Word && text == "END");
        let begins = kind == Kind::Open || (kind == Kind::Word && text == "CASE");
        depth = depth.saturating_sub(usize::from(ends));
        found.push(Token { kind, range, depth, text });
        depth += usize::from(begins);
    }
    found
}
