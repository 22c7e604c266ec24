//! What stands in macro calls: SQL texts wherever they are, arguments of formats and lists, patterns of `matches!`.
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
                let range = token.span().byte_range();
                let quote = literal.find('"').unwrap_or(0) + 1;
                let text = &literal[quote..literal.len() - quote];
                for change in sql::changes(text) {
                    let before = literal[quote..][change.range.clone()].to_owned();
                    let to = format!(
                        "{}{}{}",
                        &literal[..quote],
                        sql::apply(text, &change),
                        &literal[quote + text.len()..]
                    );
                    let shown = if before.is_empty() {
                        text[..change.range.start].rsplit([' ', ',']).next().unwrap_or("").to_owned()
                    } else {
                        before
                    };
                    let line = self.text[..range.start].matches('\n').count();
                    let inside = self.text[range.start..range.start + quote + change.range.start]
                        .matches('\n')
                        .count();
                    self.add_at(change.kind, range.clone(), (&shown, change.to.trim()), Around::Instead(to));
                    if let Some(last) = self.found.last_mut() {
                        last.line = line + inside + 1;
                    }
                }
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
