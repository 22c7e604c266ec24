//! The names of fields: what a template sends its page reads, and what a page reads somebody sends. The two are texts, one in
//! a template and one in a handler; this holds them together, and a misspelt one has no chance to be read as empty.
use std::collections::{BTreeMap, BTreeSet};

use scraper::{Html, Selector};
use syn::visit::{self, Visit};

use crate::support::rust::{flat, sources, templates};

/// The ways a `Form` reads a field, by name.
const READS: [&str; 12] = [
    "text",
    "optional_text",
    "count",
    "length",
    "mass",
    "choice",
    "day",
    "time",
    "optional",
    "ticked",
    "value",
    "values",
];
/// What pages elsewhere and scanned codes send in an address.
const BY_ADDRESS: [&str; 7] = ["frame", "rug", "bundle", "paper", "print", "anyway", "step"];

/// The texts of a file: those that a form is asked for by, and all.
#[derive(Default)]
struct Names {
    read: BTreeSet<String>,
    all: BTreeSet<String>,
}

impl<'ast> Visit<'ast> for Names {
    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        if let (true, Some(syn::Expr::Lit(syn::ExprLit { lit: syn::Lit::Str(name), .. }))) =
            (READS.contains(&call.method.to_string().as_str()), call.args.first())
        {
            self.read.insert(name.value());
        }
        visit::visit_expr_method_call(self, call);
    }

    fn visit_lit_str(&mut self, text: &'ast syn::LitStr) {
        self.all.insert(text.value());
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let texts = flat(&call.tokens)
            .into_iter()
            .filter_map(|token| syn::parse_str::<syn::LitStr>(&token.to_string()).ok());
        self.all.extend(texts.map(|text| text.value()));
    }
}

impl Names {
    /// Whether a field of this name may be read here: by its name, or by a stem that ends in `_` put before one of these rests.
    fn know(&self, field: &str, rests: &BTreeSet<String>) -> bool {
        let joined = |(at, _)| {
            let (stem, rest): (&str, &str) = field.split_at(at + 1);
            self.all.contains(stem) && rests.contains(rest)
        };
        self.all.contains(field) || field.match_indices('_').any(joined)
    }
}

/// The fields that a template writes by a name that is in it: by the parts of forms, and by tags of its own.
fn sent(text: &str) -> BTreeSet<String> {
    let calls = text.split("f::").skip(1).filter_map(|call| {
        let name = call.split_once("(form, \"")?.1.split('"').next()?;
        call.split_once('(')?.0.chars().all(|c| c.is_ascii_lowercase() || c == '_').then(|| name.to_owned())
    });
    let html = Html::parse_fragment(text);
    let fields = Selector::parse("input, select, textarea, button").unwrap();
    let tags = html.select(&fields).filter_map(|field| field.attr("name").map(str::to_owned));
    // Some parts of forms have a name of their own and are given their label.
    let name = |text: &String| {
        text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-".contains(c))
    };
    calls.chain(tags).filter(name).collect()
}

#[test]
fn what_a_template_sends_is_read_and_what_is_read_is_sent() {
    let mut nouns: BTreeMap<String, Names> = BTreeMap::new();
    let mut shared = Names::default();
    for source in sources("web") {
        let path = source.path.to_str().unwrap().to_owned();
        match path.strip_prefix("web/pages/") {
            Some(page) => {
                let noun = page.split('/').next().unwrap().trim_end_matches(".rs");
                nouns.entry(noun.to_owned()).or_default().visit_file(&source.file);
            }
            None => shared.visit_file(&source.file),
        }
    }
    let mut fields: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (path, text) in templates() {
        let noun = path.split('/').next().unwrap().trim_end_matches(".html").to_owned();
        fields.entry(noun).or_default().extend(sent(&text));
    }
    // Nouns without a folder of templates lend their reading to others, and so does the scale.
    let lent = |noun: &str| !fields.contains_key(noun);
    let rests: BTreeSet<String> = nouns
        .values()
        .flat_map(|names| &names.all)
        .filter_map(|text| text.strip_prefix("{prefix}").map(str::to_owned))
        .collect();
    let reads = |noun: &str, field: &str| {
        let lenders = nouns.iter().filter(|(other, _)| lent(other)).map(|(_, names)| names);
        nouns.get(noun).into_iter().chain(lenders).chain([&shared]).any(|names| names.know(field, &rests))
    };
    let mut odd = Vec::new();
    for (noun, fields) in fields.iter().filter(|(noun, _)| nouns.contains_key(*noun)) {
        let unread = fields.iter().filter(|field| !reads(noun, field));
        odd.extend(unread.map(|field| format!("{noun}: {field} is sent, and nobody reads it")));
    }
    let parts = &fields["parts"];
    for (noun, names) in &nouns {
        let written = |field: &String| match fields.get(noun) {
            Some(own) => own.contains(field) || parts.contains(field),
            None => fields.values().any(|one| one.contains(field)),
        };
        let unsent =
            names.read.iter().filter(|field| !written(field) && !BY_ADDRESS.contains(&field.as_str()));
        odd.extend(unsent.map(|field| format!("{noun}: {field} is read, and no template of it sends it")));
    }
    let (read, written) = (
        nouns.values().map(|names| names.read.len()).sum::<usize>(),
        fields.values().map(BTreeSet::len).sum::<usize>(),
    );
    assert!(read > 150 && written > 150, "the fields were not found: {read} read, {written} sent");
    assert!(odd.is_empty(), "{}", odd.join("\n"));
}
