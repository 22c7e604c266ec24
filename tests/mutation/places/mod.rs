//! The places of a Rust source where a fault can be switched on, found by its syntax tree; the text between stays as it is.
mod arms;
mod functions;
mod macros;
mod methods;
mod operators;
mod rewritten;
mod visit;

use std::collections::HashMap;
use std::ops::Range;

use proc_macro2::Span;
use syn::spanned::Spanned;
use syn::visit::Visit as _;

pub use rewritten::rewritten;

/// One fault: what is put before and behind a piece of the source, so that it can be switched on at run time.
#[derive(Clone, Debug)]
pub struct Mutant {
    pub file: String,
    pub line: usize,
    /// The function it stands in, with its type or module.
    pub function: String,
    pub kind: &'static str,
    /// What stands there, and what would stand there.
    pub from: String,
    pub to: String,
    /// The piece of the source that the switch goes around.
    pub range: Range<usize>,
    pub around: Around,
    /// Which of those with the same file, function and texts it is.
    pub ordinal: usize,
}

/// How the switch goes around its piece.
#[derive(Clone, Debug)]
pub enum Around {
    /// `if on { this } else { piece }`.
    Instead(String),
    /// The same for iterators of different types.
    Either(String),
    /// True when on.
    Always,
    /// False when on.
    Never,
    /// Behind a condition with `let`: false when on.
    AndNot,
    /// A statement that isn't run when on.
    Skip,
    /// At the beginning of a function: returns this when on.
    Return(String),
    /// A match arm that isn't there when on; whether it has a guard, around which this goes.
    NoArm { guarded: bool },
}

impl Mutant {
    /// What stays the same when lines move.
    pub fn key(&self) -> String {
        let one_line = |text: &str| shortened(&text.split_whitespace().collect::<Vec<_>>().join(" "));
        let ordinal = if self.ordinal == 0 { String::new() } else { format!(" #{}", self.ordinal + 1) };
        let (from, to) = (one_line(&self.from), one_line(&self.to));
        format!("{} {}: {from} -> {to}{ordinal}", self.file, self.function)
    }

    /// The texts before and behind the piece, for a switch of this number.
    pub fn texts(&self, id: usize) -> (String, String) {
        let on = format!("crate::mutant::on({id})");
        match &self.around {
            Around::Instead(to) => (format!("(if {on} {{ {to} }} else {{ "), " })".to_owned()),
            Around::Either(to) => (
                format!(
                    "(if {on} {{ crate::mutant::Either::Left({to}) }} else {{ crate::mutant::Either::Right("
                ),
                ") })".to_owned(),
            ),
            Around::Always => (format!("({on} || ("), "))".to_owned()),
            Around::Never => (format!("(!{on} && ("), "))".to_owned()),
            Around::AndNot => (String::new(), format!(" && !{on}")),
            Around::Skip => (format!("if !{on} {{ "), " }".to_owned()),
            Around::Return(to) => (format!(" if {on} {{ return {to}; }} "), String::new()),
            Around::NoArm { guarded: true } => (format!("!{on} && ("), ")".to_owned()),
            Around::NoArm { guarded: false } => (format!(" if !{on} "), String::new()),
        }
    }
}

/// Long texts without their middle.
fn shortened(text: &str) -> String {
    let count = text.chars().count();
    if count <= 160 {
        return text.to_owned();
    }
    let (head, tail): (String, String) =
        (text.chars().take(110).collect(), text.chars().skip(count - 40).collect());
    format!("{head} … {tail}")
}

/// A value by which a named constant is changed where it is used: factors for decimals, one more for whole numbers.
pub type Constants = HashMap<String, &'static str>;

/// The constants of a file whose use can be changed, by name, each with what is put behind it.
pub fn constants(text: &str, found: &mut Constants) {
    for line in text.lines() {
        let Some((_, rest)) = line.split_once("const ") else { continue };
        let Some((name, kind)) = rest.split_once(": ") else { continue };
        let change = match kind.split([' ', '=']).next().unwrap_or("") {
            "f64" => "* 1.1",
            "i64" | "u64" | "u32" | "i32" | "usize" | "u8" | "u16" => "+ 1",
            _ => continue,
        };
        if name.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_') {
            found.insert(name.to_owned(), change);
        }
    }
}

/// Every fault of one source.
pub fn mutants(file: &str, text: &str, constants: &Constants) -> Result<Vec<Mutant>, syn::Error> {
    let tree = syn::parse_file(text)?;
    let mut places = Places { file, text, constants, scope: Vec::new(), found: Vec::new() };
    places.visit_file(&tree);
    let mut seen: HashMap<String, usize> = HashMap::new();
    for mutant in &mut places.found {
        let count = seen.entry(mutant.key()).or_default();
        mutant.ordinal = *count;
        *count += 1;
    }
    Ok(places.found)
}

/// Walks a source and collects.
struct Places<'a> {
    file: &'a str,
    text: &'a str,
    constants: &'a Constants,
    scope: Vec<String>,
    found: Vec<Mutant>,
}

impl Places<'_> {
    fn range(&self, node: &impl Spanned) -> Range<usize> {
        let range = node.span().byte_range();
        debug_assert!(range.end <= self.text.len());
        range
    }

    fn source(&self, node: &impl Spanned) -> &str {
        &self.text[self.range(node)]
    }

    fn add(&mut self, kind: &'static str, span: Span, from: &str, to: &str, around: Around) {
        let range = span.byte_range();
        self.add_at(kind, range, (from, to), around);
    }

    fn add_at(&mut self, kind: &'static str, range: Range<usize>, (from, to): (&str, &str), around: Around) {
        let line = self.text[..range.start].matches('\n').count() + 1;
        self.found.push(Mutant {
            file: self.file.to_owned(),
            line,
            function: self.scope.join("::"),
            kind,
            from: from.to_owned(),
            to: to.to_owned(),
            range,
            around,
            ordinal: 0,
        });
    }

    /// This instead of the whole expression.
    fn instead(&mut self, kind: &'static str, node: &impl Spanned, to: &str) {
        let from = self.source(node).to_owned();
        self.add(kind, node.span(), &from, to, Around::Instead(to.to_owned()));
    }
}

#[cfg(test)]
mod tests;
