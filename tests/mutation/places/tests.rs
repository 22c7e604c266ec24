//! What the walk finds in small sources, and that a switch within a switch is text that parses.
use super::*;
use crate::render::render;

fn of(body: &str) -> (String, Vec<Mutant>) {
    let text = format!("const LIMIT: f64 = 2.0;\nfn f() {{\n{body}\n}}\n");
    let mut named = Constants::new();
    constants(&text, &mut named);
    let found = mutants("f.rs", &text, &named).unwrap();
    (text, found)
}

fn changes(body: &str, kind: &str) -> Vec<String> {
    let (_, found) = of(body);
    found.iter().filter(|m| m.kind == kind).map(|m| format!("{} -> {}", m.from, m.to)).collect()
}

#[test]
fn switches_stand_within_each_other_and_parse() {
    let (text, found) =
        of("let x = if a.max(b) + 1 > LIMIT && !c { Some(d[1..n].len() * 2) } else { None };");
    let numbered: Vec<(usize, &Mutant)> = found.iter().enumerate().collect();
    let rendered = render(&text, &numbered);
    syn::parse_file(&rendered.text).unwrap();
    assert_eq!(rendered.text.matches("crate::mutant::on").count(), found.len());
    assert!(found.len() > 12, "{}", found.len());
}

#[test]
fn patterns_lengths_and_constants_are_passed_over() {
    assert!(
        changes("let [0, y] = x else { panic!() }; let z: [u8; 3] = [u; 3]; match z { 4 => {} }", "literal")
            .is_empty()
    );
    assert_eq!(changes("let x = LIMIT;", "constant"), ["LIMIT -> LIMIT * 1.1"]);
}

#[test]
fn a_let_chain_keeps_its_shape() {
    let (text, found) = of("if let Some(x) = y && x > 1 { g(); }");
    let numbered: Vec<(usize, &Mutant)> = found.iter().enumerate().collect();
    syn::parse_file(&render(&text, &numbered).text).unwrap();
    assert_eq!(changes("if let Some(x) = y && x > 1 { g(); }", "operand left out"), ["x > 1 -> true"]);
}

#[test]
fn sql_is_found_in_any_macro() {
    let body = r#"ask!(all Row, tx, "SELECT a FROM b WHERE c = $1 AND d IS NULL", x)?;"#;
    assert_eq!(changes(body, "SQL null"), ["IS NULL -> IS NOT NULL"]);
    assert_eq!(changes(body, "SQL condition left out").len(), 2);
}

#[test]
fn a_statement_and_an_arm_are_left_out() {
    assert_eq!(changes("list.push(1);", "statement left out").len(), 1);
    assert_eq!(changes("match a { B => 1, C if d => 2, _ => 3 };", "arm left out"), ["B -> ", "C if d -> "]);
}
