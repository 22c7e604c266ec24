//! The table of OWASP ASVS is whole, and the tests and checks that it and the threat model name exist.
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use proc_macro2::TokenTree;
use syn::visit::{self, Visit};

use crate::support::rust::flat;

const VERDICTS: [&str; 3] = ["met", "not applicable", "not met"];

fn read(path: &str) -> Option<String> {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).ok()
}

fn document(name: &str) -> String {
    read(&format!("tests/security/{name}.md")).unwrap_or_else(|| panic!("{name}.md is missing"))
}

/// One requirement as the table has it.
struct Row {
    id: String,
    level: String,
    verdict: String,
    how: String,
}

fn rows(table: &str) -> Vec<Row> {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [_, id, level, asks, verdict, how, _] = cells[..] else {
            panic!("a row has other cells: {line}")
        };
        assert!(!asks.is_empty() && !how.is_empty(), "{id} says nothing");
        let [id, level, verdict, how] = [id, level, verdict, how].map(str::to_owned);
        Row { id, level, verdict, how }
    };
    table.lines().filter(|line| line.starts_with("| V")).map(row).collect()
}

/// The names of the tests in a file.
struct Tests(BTreeSet<String>);

impl<'ast> Visit<'ast> for Tests {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        let is_test = |attribute: &syn::Attribute| {
            attribute.path().segments.last().is_some_and(|segment| segment.ident == "test")
        };
        if item.attrs.iter().any(is_test) {
            self.0.insert(item.sig.ident.to_string());
        }
        visit::visit_item_fn(self, item);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let name = call.path.segments.last().map(|segment| segment.ident.to_string()).unwrap_or_default();
        let idents = |tokens: Vec<TokenTree>| -> Vec<String> {
            let ident = |token: TokenTree| match token {
                TokenTree::Ident(name) => Some(name.to_string()),
                _ => None,
            };
            tokens.into_iter().filter_map(ident).collect()
        };
        match name.as_str() {
            "on_both" | "on_copies" => {
                self.0.extend(idents(call.tokens.clone().into_iter().collect()).into_iter().next());
            }
            "proptest" => {
                let all = idents(flat(&call.tokens));
                self.0.extend(all.windows(2).filter(|two| two[0] == "fn").map(|two| two[1].clone()));
            }
            _ => {}
        }
    }
}

/// What a name in backticks came to.
struct Named {
    /// Whether it shows that something holds; a chapter of a document only says so.
    shows: bool,
    exists: bool,
}

/// Files that were read for their tests.
#[derive(Default)]
struct Sources(BTreeMap<String, BTreeSet<String>>);

impl Sources {
    fn tests(&mut self, path: String) -> &BTreeSet<String> {
        self.0.entry(path).or_insert_with_key(|path| {
            let mut tests = Tests(BTreeSet::new());
            if let Some(text) = read(path) {
                tests.visit_file(&syn::parse_file(&text).unwrap());
            }
            tests.0
        })
    }

    /// What a text in backticks names; `None` where it is no name of a test, walk, outside check, stage, rule or chapter.
    fn look_up(&mut self, name: &str) -> Option<Named> {
        let shows = |exists| Some(Named { shows: true, exists });
        if let Some((file, test)) = name.split_once(".rs::") {
            let folder = if file.starts_with("src/") { "" } else { "tests/it/" };
            return shows(self.tests(format!("{folder}{file}.rs")).contains(test));
        }
        if name.starts_with("walks/") {
            return shows(read(&format!("tests/browser/{name}")).is_some());
        }
        if name.starts_with("outside/") {
            return shows(read(&format!("tests/{name}")).is_some());
        }
        if let Some(stage) = name.strip_prefix(".ci/run: ") {
            return shows(read(".ci/run")?.contains(&format!("\nrun_stage '{stage}' ")));
        }
        if let Some((file, chapter)) = name.split_once(".md#") {
            let anchor = |head: &str| head.to_lowercase().replace(' ', "-");
            let text = read(&format!("tests/security/{file}.md")).unwrap_or_default();
            let exists =
                text.lines().filter_map(|line| line.strip_prefix("## ")).any(|head| anchor(head) == chapter);
            return Some(Named { shows: false, exists });
        }
        let (file, rule) = name.split_once(": ")?;
        shows(read(file).is_some_and(|text| text.contains(rule)))
    }

    /// What a text names in backticks: whether any of it shows something, and what doesn't exist.
    fn named(&mut self, text: &str) -> (bool, Vec<String>) {
        let (mut any, mut missing) = (false, Vec::new());
        for name in text.split('`').skip(1).step_by(2) {
            if let Some(found) = self.look_up(name) {
                any |= found.shows;
                if !found.exists {
                    missing.push(name.to_owned());
                }
            }
        }
        (any, missing)
    }
}

/// Source: OWASP ASVS 5.0.0 has 70 requirements of level 1, 183 of level 2 and 92 of level 3.
#[test]
fn each_requirement_of_the_first_two_levels_is_judged_once() {
    let list = read("tests/it/vectors/asvs-5.0-ids.txt").unwrap();
    let all: Vec<(&str, &str)> = list
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split_once(' ').unwrap())
        .collect();
    let many = |level: &str| all.iter().filter(|(_, of)| *of == level).count();
    assert_eq!((many("1"), many("2"), many("3"), all.len()), (70, 183, 92, 345));
    let wanted: Vec<(&str, &str)> = all.into_iter().filter(|(_, level)| *level != "3").collect();
    let rows = rows(&document("asvs"));
    let found: Vec<(&str, &str)> = rows.iter().map(|row| (row.id.as_str(), row.level.as_str())).collect();
    let missing: Vec<_> = wanted.iter().filter(|one| !found.contains(one)).collect();
    assert!(missing.is_empty(), "no row judges {missing:?}");
    assert_eq!(found, wanted, "rows are in the standard's order, each once");
}

#[test]
fn each_verdict_is_one_of_three_and_whatever_is_met_names_what_shows_it() {
    let table = document("asvs");
    let (mut sources, mut wrong) = (Sources::default(), Vec::new());
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for row in rows(&table) {
        let Some(verdict) = VERDICTS.into_iter().find(|verdict| *verdict == row.verdict) else {
            wrong.push(format!("{} has the verdict {}", row.id, row.verdict));
            continue;
        };
        *counts.entry(verdict).or_default() += 1;
        let (shown, missing) = sources.named(&row.how);
        if verdict == "met" && !shown {
            wrong.push(format!("{} is met and names nothing that shows it", row.id));
        }
        wrong.extend(missing.into_iter().map(|name| format!("{} names {name}, which isn’t there", row.id)));
    }
    for verdict in VERDICTS {
        let told = format!("| {verdict} | {} |", counts.get(verdict).copied().unwrap_or_default());
        if !table.lines().any(|line| line == told) {
            wrong.push(format!("the counts at the top lack the line {told}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_the_threat_model_rests_on_exists() {
    let mut sources = Sources::default();
    let (any, missing) = sources.named(&document("threats"));
    assert!(any, "the threat model names no test");
    assert!(missing.is_empty(), "it names what isn’t there: {missing:?}");
    // Every attacker has an answer: the last cell of each row of the table of attackers says something.
    let text = document("threats");
    let attackers = text.split("## Who may attack").nth(1).unwrap().split("\n## ").next().unwrap();
    let answers: Vec<&str> = attackers
        .lines()
        .filter(|line| line.starts_with("| "))
        .map(|line| line.rsplit('|').nth(1).unwrap().trim())
        .collect();
    assert!(answers.len() > 10 && answers.iter().all(|answer| !answer.is_empty()), "{answers:?}");
}
