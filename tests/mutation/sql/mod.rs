//! Faults in SQL texts: one change each of a condition, an operator, an order, a sum.
mod conditions;
mod tokens;

use std::ops::Range;

use tokens::{Kind, Token};

/// One change of an SQL text: this range becomes that text.
#[derive(Clone, Debug)]
pub struct Change {
    pub range: Range<usize>,
    pub to: String,
    pub kind: &'static str,
}

/// Whether a string literal is SQL: it begins with one of its verbs.
pub fn is_sql(text: &str) -> bool {
    text.split_whitespace()
        .next()
        .is_some_and(|verb| ["SELECT", "INSERT", "UPDATE", "DELETE", "WITH"].contains(&verb))
}

/// Every change of this text.
pub fn changes(sql: &str) -> Vec<Change> {
    let tokens = tokens::tokens(sql);
    let mut changes = conditions::changes(sql, &tokens);
    for i in 0..tokens.len() {
        at(sql, &tokens, i, &mut changes);
    }
    changes.extend(orders(&tokens));
    changes.extend(assignments(sql, &tokens));
    changes
}

/// The text with one change made.
pub fn apply(sql: &str, change: &Change) -> String {
    format!("{}{}{}", &sql[..change.range.start], change.to, &sql[change.range.end..])
}

/// The changes of one token, with a look at its neighbours.
fn at(sql: &str, tokens: &[Token], i: usize, changes: &mut Vec<Change>) {
    let token = &tokens[i];
    let is = |offset: usize, text: &str| tokens.get(i + offset).is_some_and(|t| t.is(text));
    let was = |text: &str| i > 0 && tokens[i - 1].is(text);
    let mut change = |until: usize, to: &str, kind| {
        let range = token.range.start..tokens[until].range.end;
        changes.push(Change { range, to: to.to_owned(), kind });
    };
    match token.text.as_str() {
        "=" if !sets(tokens, i) => change(i, "<>", "SQL comparison"),
        "<>" => change(i, "=", "SQL comparison"),
        "<" => change(i, "<=", "SQL comparison"),
        "<=" => change(i, "<", "SQL comparison"),
        ">" => change(i, ">=", "SQL comparison"),
        ">=" => change(i, ">", "SQL comparison"),
        "+" => change(i, "-", "SQL arithmetic"),
        "-" => change(i, "+", "SQL arithmetic"),
        "IS" if is(1, "NULL") => change(i + 1, "IS NOT NULL", "SQL null"),
        "IS" if is(1, "NOT") && is(2, "NULL") => change(i + 2, "IS NULL", "SQL null"),
        "NOT" if is(1, "EXISTS") || is(1, "IN") => {
            change(i + 1, &tokens[i + 1].text, "SQL NOT");
        }
        "EXISTS" if !was("NOT") && !was("IF") => change(i, "NOT EXISTS", "SQL NOT"),
        "IN" if !was("NOT") => change(i, "NOT IN", "SQL NOT"),
        "LEFT" if is(1, "JOIN") => change(i + 1, "JOIN", "SQL join"),
        "DISTINCT" if i + 1 < tokens.len() => change(i, "", "SQL DISTINCT"),
        "MIN" if is(1, "(") => change(i, "MAX", "SQL aggregate"),
        "MAX" if is(1, "(") => change(i, "MIN", "SQL aggregate"),
        "SUM" if is(1, "(") => change(i + 1, "SUM( - ", "SQL aggregate"),
        "COUNT" if is(1, "(") => change(i, "1 + COUNT", "SQL aggregate"),
        "LOWER" if is(1, "(") => change(i, "", "SQL lower"),
        "LIMIT" if i + 1 < tokens.len() && !is(1, "1") => {
            let more = format!("{} + 1", &sql[token.range.start..tokens[i + 1].range.end]);
            change(i + 1, &more, "SQL limit");
        }
        "ON" if is(1, "CONFLICT") => {
            if let Some(end) = (i..tokens.len()).find(|&j| tokens[j].is("NOTHING")) {
                change(end, "", "SQL conflict");
            }
        }
        _ if token.kind == Kind::Number && !was("LIMIT") => {
            let to = if token.text == "0" { "1" } else { "0" };
            change(i, to, "SQL number");
        }
        _ if token.kind == Kind::Text && in_list(tokens, i) => {
            change(i, "'no such word'", "SQL list");
        }
        _ => {}
    }
}

/// Whether this text stands in a list of several behind IN.
fn in_list(tokens: &[Token], i: usize) -> bool {
    let depth = tokens[i].depth;
    let before = tokens[..i].iter().rev().take_while(|t| t.depth >= depth).count();
    let several = tokens[i - before..].iter().take_while(|t| t.depth >= depth).any(|t| t.kind == Kind::Comma);
    several && i >= before + 2 && tokens[i - before - 2].is("IN")
}

/// Whether this `=` assigns: it stands behind SET with no WHERE between.
fn sets(tokens: &[Token], i: usize) -> bool {
    let depth = tokens[i].depth;
    let opener = tokens[..i]
        .iter()
        .rev()
        .take_while(|t| t.depth >= depth)
        .find(|t| t.depth == depth && t.is_any(&["SET", "WHERE", "ON", "HAVING", "SELECT"]));
    opener.is_some_and(|token| token.is("SET"))
}

/// Each item of each ORDER BY the other way round.
fn orders(tokens: &[Token]) -> Vec<Change> {
    let mut changes = Vec::new();
    for (i, token) in tokens.iter().enumerate() {
        if !token.is("ORDER") {
            continue;
        }
        let ends = |t: &Token| {
            t.depth < token.depth
                || (t.depth == token.depth && t.is_any(&["LIMIT", "OFFSET", "ROWS", "RANGE"]))
        };
        let end = (i + 2..tokens.len()).find(|&j| ends(&tokens[j])).unwrap_or(tokens.len());
        for j in i + 2..end {
            let last =
                j + 1 == end || (tokens[j + 1].kind == Kind::Comma && tokens[j + 1].depth == token.depth);
            if !last || tokens[j].depth != token.depth {
                continue;
            }
            let (range, to) = match tokens[j].text.as_str() {
                "DESC" => (tokens[j].range.clone(), "ASC"),
                "ASC" => (tokens[j].range.clone(), "DESC"),
                _ => (tokens[j].range.end..tokens[j].range.end, " DESC"),
            };
            changes.push(Change { range, to: to.to_owned(), kind: "SQL order" });
        }
    }
    changes
}

/// Each assignment of an UPDATE left out: the column keeps what it has, and placeholders stay in use.
fn assignments(sql: &str, tokens: &[Token]) -> Vec<Change> {
    let mut changes = Vec::new();
    for i in 1..tokens.len() {
        if !(tokens[i].is("=") && sets(tokens, i)) || tokens[i - 1].kind != Kind::Word {
            continue;
        }
        let depth = tokens[i].depth;
        let ends = |t: &Token| {
            t.depth < depth
                || (t.depth == depth && (t.kind == Kind::Comma || t.is_any(&["WHERE", "RETURNING", "FROM"])))
        };
        let end = (i + 1..tokens.len()).find(|&j| ends(&tokens[j])).unwrap_or(tokens.len());
        let Some(last) = tokens[i + 1..end].last() else { continue };
        let range = tokens[i + 1].range.start..last.range.end;
        // In DO UPDATE a bare column could be that of the row that is there or of the one that came.
        let table = match tokens[0].text.as_str() {
            "INSERT" => format!("{}.", &sql[tokens[2].range.clone()]),
            _ => String::new(),
        };
        let column = &sql[tokens[i - 1].range.clone()];
        let to = format!("CASE WHEN 1=0 THEN {} ELSE {table}{column} END", &sql[range.clone()]);
        changes.push(Change { range, to, kind: "SQL assignment" });
    }
    changes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mutated(sql: &str, kind: &str) -> Vec<String> {
        changes(sql).iter().filter(|change| change.kind == kind).map(|change| apply(sql, change)).collect()
    }

    #[test]
    fn a_condition_is_left_out_and_its_placeholder_stays() {
        let sql = "SELECT id FROM loan WHERE rug_id = $1 AND day BETWEEN $2 AND $3 ORDER BY id";
        assert_eq!(
            mutated(sql, "SQL condition left out"),
            [
                "SELECT id FROM loan WHERE (1=1 OR (rug_id = $1)) AND day BETWEEN $2 AND $3 ORDER BY id",
                "SELECT id FROM loan WHERE rug_id = $1 AND (1=1 OR (day BETWEEN $2 AND $3)) ORDER BY id",
            ]
        );
        assert_eq!(
            mutated(sql, "SQL condition never met"),
            ["SELECT id FROM loan WHERE (1=0 AND (rug_id = $1 AND day BETWEEN $2 AND $3)) ORDER BY id"]
        );
    }

    #[test]
    fn brackets_and_cases_have_conditions_of_their_own() {
        let sql = "SELECT a FROM b WHERE x = 1 AND (y = 2 OR EXISTS (SELECT 1 FROM c WHERE c.z = b.z))";
        let left_out = mutated(sql, "SQL alternative left out");
        assert_eq!(left_out.len(), 2, "{left_out:?}");
        assert!(left_out[0].contains("(1=0 AND (y = 2)) OR EXISTS"));
        let sql = "SELECT CASE WHEN p AND q THEN 1 ELSE 0 END FROM t";
        assert_eq!(mutated(sql, "SQL condition left out").len(), 2);
    }

    #[test]
    fn an_assignment_is_no_comparison() {
        let sql = "UPDATE rug SET state = $2, revision = revision + 1 WHERE id = $1";
        assert_eq!(
            mutated(sql, "SQL comparison"),
            ["UPDATE rug SET state = $2, revision = revision + 1 WHERE id <> $1"]
        );
        assert_eq!(
            mutated(sql, "SQL assignment")[0],
            "UPDATE rug SET state = CASE WHEN 1=0 THEN $2 ELSE state END, revision = revision + 1 WHERE id = $1"
        );
    }

    #[test]
    fn orders_turn_item_by_item() {
        let sql = "SELECT a FROM b ORDER BY lower(x), y DESC LIMIT 5";
        assert_eq!(
            mutated(sql, "SQL order"),
            [
                "SELECT a FROM b ORDER BY lower(x) DESC, y DESC LIMIT 5",
                "SELECT a FROM b ORDER BY lower(x), y ASC LIMIT 5",
            ]
        );
        assert_eq!(mutated(sql, "SQL limit"), ["SELECT a FROM b ORDER BY lower(x), y DESC LIMIT 5 + 1"]);
    }

    #[test]
    fn a_word_of_a_list_is_taken_out() {
        let sql = "SELECT a FROM b WHERE c IN ('pulled', 'cut') AND d = 'ready'";
        assert_eq!(mutated(sql, "SQL list").len(), 2);
    }
}
