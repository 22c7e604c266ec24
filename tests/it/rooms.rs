//! The rooms of the house: who may call whom, what comes from outside, and whose the templates are. Read from the sources'
//! own paths, written out as the compiler would, not by searching text.
use std::collections::{BTreeMap, BTreeSet, HashMap};

use proc_macro2::TokenTree;
use syn::visit::{self, Visit};

use crate::support::rust::{Source, flat, sources, templates};

/// Each room, the rooms that it may call, and whether it is pure: knows no database, web, clock, file, network, environment or
/// chance.
const ROOMS: [(&str, &[&str], bool); 16] = [
    ("units", &[], true),
    ("planning", &["units"], true),
    ("optimize", &["units", "planning"], true),
    ("drawing", &["units", "planning", "optimize"], true),
    ("calendar", &[], true),
    ("tables", &[], false),
    ("clock", &[], false),
    ("secrets", &[], false),
    ("store", &["units", "planning", "clock", "secrets"], false),
    ("backup", &["clock", "store"], false),
    ("pdf", &["units", "planning", "optimize", "drawing", "store", "services"], false),
    ("notify", &["units", "store", "clock", "secrets"], false),
    ("services", &["units", "planning", "optimize", "drawing", "store", "clock", "secrets"], false),
    (
        "web",
        &[
            "units", "planning", "optimize", "drawing", "calendar", "tables", "clock", "secrets", "store",
            "backup", "pdf", "notify", "services",
        ],
        false,
    ),
    ("server", &["clock", "store", "notify", "web"], false),
    (
        "cli",
        &[
            "units", "planning", "optimize", "drawing", "calendar", "tables", "clock", "secrets", "store",
            "backup", "pdf", "notify", "services", "server",
        ],
        false,
    ),
];

/// What begins like one of these comes from outside.
const FORBIDDEN: [&str; 15] = [
    "sqlx",
    "axum",
    "tokio",
    "reqwest",
    "rand",
    "std::fs",
    "std::net",
    "std::env",
    "std::io",
    "std::process",
    "std::time::SystemTime",
    "std::time::Instant",
    "jiff::Timestamp::now",
    "jiff::Zoned::now",
    "uuid",
];

/// Every path of a file, written out: names that `use` brings in are replaced by what they stand for.
struct Paths {
    module: Vec<String>,
    names: HashMap<String, Vec<String>>,
    found: Vec<Vec<String>>,
}

impl Paths {
    fn of(module: &[&str], file: &syn::File) -> Vec<String> {
        let module = module.iter().map(|name| (*name).to_owned()).collect();
        let mut paths = Self { module, names: HashMap::new(), found: Vec::new() };
        // Once for the names, once for what is made of them: a name may be used above its `use`.
        paths.visit_file(file);
        paths.found.clear();
        paths.visit_file(file);
        paths.found.into_iter().map(|path| path.join("::")).collect()
    }

    fn add(&mut self, path: &[String]) {
        let Some(first) = path.first() else { return };
        let mut whole: Vec<String> = match first.as_str() {
            "self" | "super" => self.module.clone(),
            known => self.names.get(known).cloned().unwrap_or_else(|| vec![first.clone()]),
        };
        let mut rest = path.iter().skip(usize::from(first != "super"));
        for name in &mut rest {
            if name == "super" {
                whole.pop();
            } else {
                whole.push(name.clone());
            }
        }
        self.found.push(whole);
    }

    fn bring_in(&mut self, before: &[String], tree: &syn::UseTree) {
        let with = |name: &syn::Ident| [before, &[name.to_string()]].concat();
        match tree {
            syn::UseTree::Path(path) => self.bring_in(&with(&path.ident), &path.tree),
            syn::UseTree::Group(group) => group.items.iter().for_each(|item| self.bring_in(before, item)),
            syn::UseTree::Glob(_) => self.add(before),
            syn::UseTree::Name(name) if name.ident == "self" => {
                self.name(before.last().cloned(), before.to_vec());
            }
            syn::UseTree::Name(name) => self.name(Some(name.ident.to_string()), with(&name.ident)),
            syn::UseTree::Rename(name) => self.name(Some(name.rename.to_string()), with(&name.ident)),
        }
    }

    fn name(&mut self, name: Option<String>, path: Vec<String>) {
        self.add(&path);
        let outside = !matches!(path[0].as_str(), "self" | "super" | "crate");
        if let Some(name) = name.filter(|name| outside && path[0] != *name) {
            self.names.insert(name, path);
        }
    }
}

impl<'ast> Visit<'ast> for Paths {
    fn visit_item_mod(&mut self, module: &'ast syn::ItemMod) {
        self.module.push(module.ident.to_string());
        visit::visit_item_mod(self, module);
        self.module.pop();
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        self.bring_in(&[], &item.tree);
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.add(&path.segments.iter().map(|segment| segment.ident.to_string()).collect::<Vec<_>>());
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let mut path: Vec<String> = Vec::new();
        let mut joined = false;
        for token in flat(&call.tokens) {
            match token {
                TokenTree::Ident(name) => {
                    if !joined && !path.is_empty() {
                        self.add(&std::mem::take(&mut path));
                    }
                    path.push(name.to_string());
                    joined = false;
                }
                TokenTree::Punct(mark) if mark.as_char() == ':' => joined = true,
                _ => {
                    self.add(&std::mem::take(&mut path));
                    joined = false;
                }
            }
        }
        self.add(&path);
        visit::visit_macro(self, call);
    }

    fn visit_attribute(&mut self, _: &'ast syn::Attribute) {}
}

fn begins(path: &str, with: &str) -> bool {
    path == with || path.strip_prefix(with).is_some_and(|rest| rest.starts_with("::"))
}

/// What a file of a room uses that it mustn't: what comes from outside where the room is pure, and other rooms than these.
fn offences(module: &[&str], rooms: &[&str], pure: bool, file: &syn::File) -> Vec<String> {
    let inside = |path: &str| rooms.iter().any(|room| begins(path, &format!("crate::{room}")));
    let mut bad: Vec<String> = Paths::of(module, file)
        .into_iter()
        .filter(|path| {
            (pure && FORBIDDEN.iter().any(|outside| begins(path, outside)))
                || (path.starts_with("crate::") && !inside(path))
        })
        .collect();
    bad.sort();
    bad.dedup();
    bad
}

/// A file's module: `crate::planning::warp::path`.
fn module(source: &Source) -> Vec<String> {
    let path = source.path.with_extension("");
    let names = path.iter().map(|name| name.to_str().unwrap().to_owned()).filter(|name| name != "mod");
    std::iter::once("crate".to_owned()).chain(names).collect()
}

/// The files by room: those of a folder, or one file of its own.
fn by_room() -> BTreeMap<String, Vec<Source>> {
    let mut rooms: BTreeMap<String, Vec<Source>> = BTreeMap::new();
    for source in sources("") {
        let first = source.path.iter().next().and_then(|name| name.to_str()).unwrap_or("");
        let room = first.trim_end_matches(".rs").to_owned();
        rooms.entry(room).or_default().push(source);
    }
    rooms
}

#[test]
fn rooms_call_downwards_only_and_the_pure_ones_touch_nothing_outside() {
    let mut all = by_room();
    for (room, others, pure) in ROOMS {
        let files = all.remove(room).unwrap_or_default();
        assert!(!files.is_empty(), "the sources of {room} were not found");
        for source in &files {
            let names = module(source);
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let bad = offences(&names, &[&[room], others].concat(), pure, &source.file);
            assert!(bad.is_empty(), "{} of {room} uses {bad:?}", source.path.display());
        }
    }
    // The two that hold no room: the library's list and the program's entry.
    assert_eq!(all.into_keys().collect::<Vec<_>>(), ["lib", "main"], "a file belongs to no room");
}

/// The files that each file of a room names, by their modules. A module's own file names those below it by declaring them; only
/// what it uses of them counts.
fn calls(files: &[Source]) -> BTreeMap<String, BTreeSet<String>> {
    let modules: Vec<String> = files.iter().map(|source| module(source).join("::")).collect();
    let home =
        |path: &str| modules.iter().filter(|module| begins(path, module)).max_by_key(|module| module.len());
    let mut calls = BTreeMap::new();
    for (source, name) in files.iter().zip(&modules) {
        let own: Vec<&str> = name.split("::").collect();
        let found = Paths::of(&own, &source.file);
        let others = found.iter().filter_map(|path| home(path)).filter(|other| *other != name);
        calls.insert(name.clone(), others.cloned().collect());
    }
    calls
}

/// The files that lead back to themselves.
fn circles(calls: &BTreeMap<String, BTreeSet<String>>) -> Vec<&String> {
    let reaches = |from: &String| {
        let (mut seen, mut next) = (BTreeSet::new(), vec![from]);
        while let Some(at) = next.pop() {
            for to in calls.get(at).into_iter().flatten() {
                if seen.insert(to) {
                    next.push(to);
                }
            }
        }
        seen
    };
    calls.keys().filter(|name| reaches(name).contains(name)).collect()
}

#[test]
fn no_file_of_a_room_leads_back_to_itself() {
    for (room, files) in by_room() {
        let calls = calls(&files);
        let found = circles(&calls);
        let arrows: Vec<_> = found
            .iter()
            .map(|name| (*name, calls[*name].iter().filter(|to| found.contains(to)).collect::<Vec<_>>()))
            .collect();
        assert!(found.is_empty(), "{room}: {arrows:#?}");
    }
}

/// The texts of a file that name a template, in its attributes.
#[derive(Default)]
struct Named(Vec<String>);

impl<'ast> Visit<'ast> for Named {
    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        if let syn::Meta::List(list) = &attribute.meta
            && list.path.is_ident("template")
        {
            let literals = flat(&list.tokens).into_iter().map(|token| token.to_string());
            self.0.extend(
                literals.filter_map(|text| Some(text.strip_prefix('"')?.strip_suffix('"')?.to_owned())),
            );
        }
    }
}

/// The folder of a path, or its one file.
fn first(path: &str) -> &str {
    path.split_once('/').map_or(path, |(first, _)| first)
}

/// A page's template stands in the folder of its noun; several nouns share only what is in `parts`, and every folder and file is
/// somebody's.
#[test]
fn templates_mirror_the_pages() {
    let all = templates();
    let mut used = BTreeSet::new();
    for source in sources("web") {
        let path = source.path.to_str().unwrap();
        let mut named = Named::default();
        named.visit_file(&source.file);
        for template in named.0 {
            match path.strip_prefix("web/pages/") {
                Some(page) => {
                    let noun = first(page).trim_end_matches(".rs");
                    assert!(template.contains('/') && first(&template) == noun, "{template} in {path}");
                }
                None => assert!(!template.contains('/'), "{template} in {path}: it belongs to a page"),
            }
            used.insert(template);
        }
    }
    for (path, text) in &all {
        let calls = text.split("{%").skip(1).filter_map(|tag| {
            let tag = tag.trim_start_matches(['-', '~', '+']).trim_start();
            let mut words = tag.split_whitespace();
            matches!(words.next(), Some("extends" | "import" | "include")).then(|| tag.split('"').nth(1))?
        });
        for other in calls {
            let shared = !other.contains('/') || first(other) == "parts";
            assert!(shared || first(other) == first(path), "{path} takes {other}");
            used.insert(other.to_owned());
        }
    }
    let there: BTreeSet<String> = all.into_iter().map(|(path, _)| path).collect();
    assert!(there.len() > 60, "the templates were not found: {there:?}");
    let odd: Vec<&String> = used.symmetric_difference(&there).collect();
    assert!(odd.is_empty(), "templates that nobody names, or names of none: {odd:?}");
}

#[test]
fn a_circle_is_seen() {
    let file = |path: &str, text: &str| Source { path: path.into(), file: syn::parse_file(text).unwrap() };
    let files = [
        file("room/a.rs", "use super::b::B;"),
        file("room/b.rs", "use crate::room::c; fn f() { c::g() }"),
        file("room/c.rs", "fn g() { super::a::h() }"),
        file("room/d.rs", "use super::a::A;"),
    ];
    let calls = calls(&files);
    assert_eq!(circles(&calls), ["crate::room::a", "crate::room::b", "crate::room::c"]);
}

#[test]
fn an_impure_line_is_seen_however_it_is_written_and_words_are_not() {
    let of = |text: &str| {
        offences(&["crate", "planning", "plan"], &["planning"], true, &syn::parse_file(text).unwrap())
    };
    for (text, path) in [
        ("use std::fs;", "std::fs"),
        ("use std::{fmt, fs::File};", "std::fs::File"),
        ("use std as core_of; fn f() { core_of::env::args(); }", "std::env::args"),
        ("fn f() { let t = std::time::Instant::now(); }", "std::time::Instant::now"),
        ("fn f() { T::now(); } use jiff::Timestamp as T;", "jiff::Timestamp::now"),
        ("use jiff::Zoned; fn f() { g(Zoned::now()) }", "jiff::Zoned::now"),
        ("fn f() { println!(\"{}\", std::env::args().count()) }", "std::env::args"),
        ("use std::env; fn f() { assert!(env::var(\"A\").is_ok()) }", "std::env::var"),
        ("use crate::store::Store;", "crate::store::Store"),
        ("use super::super::web;", "crate::web"),
        ("mod tests { use super::super::super::store; }", "crate::store"),
        ("fn f() -> rand::Rng { todo() }", "rand::Rng"),
    ] {
        assert!(of(text).contains(&path.to_owned()), "{text}: {:?}", of(text));
    }
    for text in [
        "// never std::fs\n/// nor sqlx\nfn f() { g(\"std::env\") }",
        "use std::fmt; use jiff::civil::Date; use super::warp::Warp; use crate::planning::units::Length;",
        "mod tests { use super::*; }",
        "fn f() { let fs = 1; let rand = fs; }",
        "enum Instant { Now }",
    ] {
        assert_eq!(of(text), [""; 0], "{text}");
    }
}
