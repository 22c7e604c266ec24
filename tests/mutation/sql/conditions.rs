//! The conditions of an SQL text, and each of them left out or never met.
//!
//! What is left out stays in the text behind `1=1 OR`, so that every placeholder is still used and has its type.
use std::ops::Range;

use super::Change;
use super::tokens::{Kind, Token};

const ENDS: [&str; 16] = [
    "GROUP",
    "ORDER",
    "HAVING",
    "LIMIT",
    "RETURNING",
    "UNION",
    "JOIN",
    "LEFT",
    "INNER",
    "CROSS",
    "WHERE",
    "ON",
    "DO",
    "EXCEPT",
    "OFFSET",
    "SET",
];

/// The token numbers of one condition, and whether rows are chosen by it (WHERE, HAVING, ON).
struct Condition {
    tokens: Range<usize>,
    chooses: bool,
}

/// Where the tokens from `from` leave the depth they begin at, or come to what ends a condition.
fn end(tokens: &[Token], from: usize, depth: usize) -> usize {
    let ends = |token: &Token| {
        token.depth < depth || (token.depth == depth && (token.kind == Kind::Comma || token.is_any(&ENDS)))
    };
    (from..tokens.len()).find(|&i| ends(&tokens[i])).unwrap_or(tokens.len())
}

fn conditions(tokens: &[Token]) -> Vec<Condition> {
    let mut found = Vec::new();
    for (i, token) in tokens.iter().enumerate() {
        let next = tokens.get(i + 1);
        let chooses = token.is_any(&["WHERE", "HAVING"])
            || (token.is("ON") && !next.is_some_and(|next| next.is("CONFLICT")));
        let opens = token.kind == Kind::Open && !next.is_some_and(|next| next.is_any(&["SELECT", "WITH"]));
        if chooses {
            found.push(Condition { tokens: i + 1..end(tokens, i + 1, token.depth), chooses });
        } else if token.is("WHEN") {
            let then = (i + 1..tokens.len())
                .find(|&j| tokens[j].depth == token.depth && tokens[j].is("THEN"))
                .unwrap_or(tokens.len());
            found.push(Condition { tokens: i + 1..then, chooses });
        } else if opens {
            found.push(Condition { tokens: i + 1..end(tokens, i + 1, token.depth + 1), chooses });
        }
    }
    found.retain(|condition| !condition.tokens.is_empty());
    found
}

/// The parts of a condition between one joining word; the AND of BETWEEN joins nothing.
fn split(tokens: &[Token], range: &Range<usize>, word: &str) -> Vec<Range<usize>> {
    let depth = tokens[range.start].depth;
    let mut parts = Vec::new();
    let (mut from, mut between) = (range.start, false);
    for i in range.clone() {
        let here = &tokens[i];
        if here.depth != depth {
            continue;
        }
        if here.is("BETWEEN") {
            between = true;
        } else if here.is("AND") && between {
            between = false;
        } else if here.is(word) {
            parts.push(from..i);
            from = i + 1;
        }
    }
    parts.push(from..range.end);
    parts.retain(|part| !part.is_empty());
    parts
}

pub fn changes(sql: &str, tokens: &[Token]) -> Vec<Change> {
    let mut changes = Vec::new();
    for condition in conditions(tokens) {
        let text_of = |part: &Range<usize>| tokens[part.start].range.start..tokens[part.end - 1].range.end;
        let mut change = |part: &Range<usize>, kind, before: &str| {
            let range = text_of(part);
            let to = format!("({before} ({}))", &sql[range.clone()]);
            changes.push(Change { range, to, kind });
        };
        let alternatives = split(tokens, &condition.tokens, "OR");
        if condition.chooses {
            change(&condition.tokens, "SQL condition never met", "1=0 AND");
        }
        for alternative in &alternatives {
            let parts = split(tokens, alternative, "AND");
            if alternatives.len() > 1 {
                change(alternative, "SQL alternative left out", "1=0 AND");
            }
            if parts.len() > 1 || (condition.chooses && alternatives.len() == 1) {
                for part in &parts {
                    change(part, "SQL condition left out", "1=1 OR");
                }
            }
        }
    }
    changes
}
