//! Every SQL text in the store's sources is prepared on both databases, which catches a wrong table or column even in a
//! statement that no other test runs.
use proc_macro2::TokenTree;
use sqlx::{Executor as _, SqlSafeStr as _};
use syn::visit::{self, Visit};
use thrumhall::store::Store;

use crate::support::on_both;
use crate::support::rust::{flat, sources};

/// The string literals of a file that begin with a verb of SQL, also within macros; and how many calls of `sql!` hold none.
#[derive(Default)]
struct Statements {
    found: Vec<String>,
    calls: usize,
    without: usize,
}

fn is_sql(text: &str) -> bool {
    let verb = text.split_whitespace().next().unwrap_or("");
    ["SELECT", "INSERT", "UPDATE", "DELETE", "WITH"].contains(&verb)
}

impl<'ast> Visit<'ast> for Statements {
    fn visit_lit_str(&mut self, literal: &'ast syn::LitStr) {
        self.found.extend(Some(literal.value()).filter(|text| is_sql(text)));
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let literal = |token: TokenTree| match syn::parse2::<syn::LitStr>(token.into()) {
            Ok(literal) => Some(literal.value()).filter(|text| is_sql(text)),
            Err(_) => None,
        };
        let found: Vec<String> = flat(&call.tokens).into_iter().filter_map(literal).collect();
        if call.path.segments.last().is_some_and(|name| name.ident == "sql") {
            self.calls += 1;
            self.without += usize::from(found.is_empty());
        }
        self.found.extend(found);
        visit::visit_macro(self, call);
    }

    fn visit_attribute(&mut self, _: &'ast syn::Attribute) {}
}

fn read(file: &syn::File) -> Statements {
    let mut statements = Statements::default();
    statements.visit_file(file);
    statements
}

/// Every SQL text in the store's sources but the questions of `check`, which ask of everything.
pub fn texts() -> Vec<String> {
    let asked = |source: &crate::support::rust::Source| !source.path.ends_with("invariants.rs");
    sources("store")
        .iter()
        .filter(|source| asked(source))
        .flat_map(|source| read(&source.file).found)
        .collect()
}

#[test]
fn statements_are_found_wherever_they_stand() {
    let text = r##"
        /// "SELECT of a comment"
        const A: &str = "SELECT 1";
        const B: [(&str, &str); 1] = [("quoted \" before", r#"WITH a AS (SELECT 2) SELECT "x" FROM a"#)];
        async fn f() {
            sql!(all (String,), self, "UPDATE a
                 SET b = '\\'", c.map(|it| sql!(exec self, "DELETE FROM a")))?;
            sql!(all Row, self, question)?;
            let no = ("select", "Update the row");
        }
    "##;
    let read = read(&syn::parse_file(text).unwrap());
    let verbs: Vec<&str> = read.found.iter().map(|text| text.split(' ').next().unwrap()).collect();
    assert_eq!(verbs, ["SELECT", "WITH", "UPDATE", "DELETE"]);
    assert_eq!((read.calls, read.without), (2, 1));
}

on_both!(every_statement_can_be_prepared, |store| async move {
    let (mut calls, mut prepared) = (0, 0);
    let mut without = Vec::new();
    for source in sources("store") {
        let statements = read(&source.file);
        calls += statements.calls;
        for _ in 0..statements.without {
            without.push(source.path.display().to_string());
        }
        for text in statements.found {
            let sql = sqlx::AssertSqlSafe(text.clone()).into_sql_str();
            let outcome = match &store {
                Store::Sqlite(pool) => pool.acquire().await.unwrap().prepare(sql).await.map(|_| ()),
                Store::Pg(pool) => pool.acquire().await.unwrap().prepare(sql).await.map(|_| ()),
            };
            outcome.unwrap_or_else(|error| panic!("{}: {error}\n{text}", source.path.display()));
            prepared += 1;
        }
    }
    // The questions of `check` stand in a list; everything else stands in its call.
    assert_eq!(without, ["store/invariants.rs"], "calls whose text isn't in them");
    assert!(prepared >= calls && calls > 100, "{calls} calls, {prepared} texts");
});
