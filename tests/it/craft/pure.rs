//! `craft` and `class` know no database, web, clock, file, network, environment or chance: their sources say so.
use std::collections::HashMap;

use proc_macro2::TokenTree;
use syn::visit::{self, Visit};

use crate::support::rust::{flat, sources};

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

/// What a file of a room uses that it mustn't; of the program itself it may use these rooms alone.
fn offences(module: &[&str], rooms: &[&str], file: &syn::File) -> Vec<String> {
    let begins = |path: &str, with: &str| {
        path == with || path.strip_prefix(with).is_some_and(|rest| rest.starts_with("::"))
    };
    let inside = |path: &str| rooms.iter().any(|room| begins(path, &format!("crate::{room}")));
    let mut bad: Vec<String> = Paths::of(module, file)
        .into_iter()
        .filter(|path| {
            FORBIDDEN.iter().any(|outside| begins(path, outside))
                || (path.starts_with("crate::") && !inside(path))
        })
        .collect();
    bad.sort();
    bad.dedup();
    bad
}

#[test]
fn craft_and_class_touch_nothing_outside() {
    for (room, rooms) in [("craft", &["craft"][..]), ("class", &["craft", "class"])] {
        let files = sources(room);
        assert!(files.len() > 5, "the sources of {room} were not found");
        for source in files {
            let path = source.path.with_extension("");
            let names = path.iter().map(|name| name.to_str().unwrap()).filter(|name| *name != "mod");
            let module: Vec<&str> = ["crate"].into_iter().chain(names).collect();
            let bad = offences(&module, rooms, &source.file);
            assert!(bad.is_empty(), "{} is impure: {bad:?}", source.path.display());
        }
    }
}

#[test]
fn an_impure_line_is_seen_however_it_is_written_and_words_are_not() {
    let of = |text: &str| offences(&["crate", "craft", "plan"], &["craft"], &syn::parse_file(text).unwrap());
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
        "use std::fmt; use jiff::civil::Date; use super::warp::Warp; use crate::craft::units::Length;",
        "mod tests { use super::*; }",
        "fn f() { let fs = 1; let rand = fs; }",
        "enum Instant { Now }",
    ] {
        assert_eq!(of(text), [""; 0], "{text}");
    }
}
