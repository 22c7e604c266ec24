//! What stands in macro calls: SQL texts wherever they are, arguments of formats and lists, patterns of `matches!`.
use std::ops::Range;

use proc_macro2::{TokenStream, TokenTree};
use syn::parse::Parser as _;
use syn::punctuated::Punctuated;
use syn::spanned::Spanned as _;
use syn::visit::Visit as _;
use syn::{Expr, Macro, Token};

use super::{Around, Places};
use crate::sql;

/// Macros whose arguments are expressions, the first ones perhaps a place to write to and a text.
const LISTS: [&str; 9] = ["format", "write", "writeln", "vec", "print", "println", "concat", "max", "min"];

impl Places<'_> {
    pub(super) fn macro_call(&mut self, mac: &Macro) {
        let name = mac.path.segments.last().map(|segment| segment.ident.to_string()).unwrap_or_default();
        if name == "matches" {
            // The whole call is only known here by the macro: its path up to the closing bracket.
            let range = mac.path.span().byte_range().start..mac.delimiter.span().close().byte_range().end;
            let from = self.text[range.clone()].to_owned();
            let to = format!("!{from}");
            self.add_at("matches", range, (&from, &to), Around::Instead(to.clone()));
        } else if LISTS.contains(&name.as_str()) {
            self.arguments(&mac.tokens);
        } else if name == "sql" {
            self.texts(&mac.tokens);
            self.behind_text(&mac.tokens);
        } else if !name.starts_with("assert") && !name.starts_with("debug") {
            self.texts(&mac.tokens);
        }
    }

    /// The expressions of a list; what is no list of expressions is left alone.
    fn arguments(&mut self, tokens: &TokenStream) {
        let parser = Punctuated::<Expr, Token![,]>::parse_terminated;
        let Ok(expressions) = parser.parse2(tokens.clone()) else { return };
        for expression in &expressions {
            match expression {
                Expr::Assign(named) => self.visit_expr(&named.right),
                other => self.visit_expr(other),
            }
        }
    }

    /// What is bound behind the text of a query.
    fn behind_text(&mut self, tokens: &TokenStream) {
        let mut rest = tokens.clone().into_iter();
        if rest.by_ref().any(|token| as_sql(&token).is_some()) {
            rest.next();
            self.arguments(&rest.collect());
        }
    }

    /// The SQL texts among these tokens and within their brackets.
    fn texts(&mut self, tokens: &TokenStream) {
        for token in tokens.clone() {
            if let TokenTree::Group(group) = &token {
                self.texts(&group.stream());
            } else if let Some(literal) = as_sql(&token) {
                self.text_changes(&literal, token.span().byte_range());
            }
        }
    }

    /// The changes of one SQL text, which stands in this literal.
    fn text_changes(&mut self, literal: &str, range: Range<usize>) {
        let quote = literal.find('"').unwrap_or(0) + 1;
        let text = &literal[quote..literal.len() - quote];
        for change in sql::changes(text) {
            let (head, tail) = (&literal[..quote], &literal[quote + text.len()..]);
            let to = format!("{head}{}{tail}", sql::apply(text, &change));
            let from = match &text[change.range.clone()] {
                "" => text[..change.range.start].rsplit([' ', ',']).next().unwrap_or(""),
                there => there,
            };
            let shown = change.shown.unwrap_or(change.to.trim());
            self.add_at(change.kind, range.clone(), (from, shown), Around::Instead(to));
            if let Some(added) = self.found.last_mut() {
                added.line += text[..change.range.start].matches('\n').count();
            }
        }
    }
}

/// The source of a string literal that is SQL.
fn as_sql(token: &TokenTree) -> Option<String> {
    let TokenTree::Literal(literal) = token else { return None };
    let text = literal.span().source_text()?;
    let inner = text.trim_start_matches(['r', '#']).strip_prefix('"')?;
    sql::is_sql(inner).then_some(text)
}
