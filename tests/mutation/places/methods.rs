//! Calls: methods that have an opposite, that can be left out, or whose answer can be turned.
use syn::spanned::Spanned as _;
use syn::{Expr, ExprCall, ExprMethodCall};

use super::{Around, Places};

/// Methods with an opposite that takes and gives the same types.
const OPPOSITES: [(&str, &str); 20] = [
    ("min", "max"),
    ("min_by", "max_by"),
    ("min_by_key", "max_by_key"),
    ("floor", "ceil"),
    ("first", "last"),
    ("any", "all"),
    ("is_some", "is_none"),
    ("is_ok", "is_err"),
    ("is_lt", "is_ge"),
    ("is_gt", "is_le"),
    ("starts_with", "ends_with"),
    ("saturating_sub", "saturating_add"),
    ("checked_sub", "checked_add"),
    ("position", "rposition"),
    ("and", "or"),
    ("next", "last"),
    ("checked_mul", "checked_div"),
    ("div_ceil", "div_euclid"),
    ("trim_start", "trim_end"),
    ("is_some_and", "is_none_or"),
];
/// The other way only: these aren't the opposite of what they are changed into.
const ONE_WAY: [(&str, &str); 3] = [("round", "floor"), ("round_ties_even", "floor"), ("ceil", "round")];
/// Answers that can be turned.
const TURNED: [&str; 4] = ["is_empty", "contains", "contains_key", "eq"];
/// Methods that can be left out where the type stays.
const LEFT_OUT: [&str; 22] = [
    "max",
    "min",
    "clamp",
    "abs",
    "or",
    "or_else",
    "filter_map",
    "reverse",
    "trim",
    "to_lowercase",
    "round",
    "dedup",
    "sqrt",
    "recip",
    "scale",
    "times",
    "round_ties_even",
    "checked_sub",
    "powi",
    "neg",
    "not",
    "saturating_sub",
];
/// Steps of an iterator that can be left out.
const STEPS: [&str; 9] =
    ["rev", "take", "skip", "step_by", "take_while", "skip_while", "chain", "cycle", "fuse"];
/// Methods whose closure says which ones.
const CHOOSING: [&str; 10] = [
    "filter",
    "find",
    "position",
    "retain",
    "take_while",
    "skip_while",
    "is_some_and",
    "is_none_or",
    "any",
    "rposition",
];
/// Comparisons that can be turned round.
const COMPARING: [&str; 3] = ["cmp", "total_cmp", "partial_cmp"];

/// The opposite of a method, one way or the other.
fn opposite(name: &str) -> Option<&'static str> {
    OPPOSITES
        .iter()
        .find_map(|&(a, b)| if a == name { Some(b) } else { (b == name).then_some(a) })
        .or_else(|| ONE_WAY.iter().find_map(|&(a, b)| (a == name).then_some(b)))
}

impl Places<'_> {
    pub(super) fn method(&mut self, call: &ExprMethodCall) {
        let name = call.method.to_string();
        let whole = self.source(call).to_owned();
        let receiver = self.source(&call.receiver).to_owned();
        if let Some(other) = opposite(&name) {
            let start = self.range(call).start;
            let method = call.method.span().byte_range();
            let to = format!("{}{other}{}", &whole[..method.start - start], &whole[method.end - start..]);
            self.instead("method", call, &to);
        }
        if TURNED.contains(&name.as_str()) {
            self.instead("method", call, &format!("!{whole}"));
        }
        if LEFT_OUT.contains(&name.as_str()) {
            self.instead("method left out", call, &receiver);
        }
        if COMPARING.contains(&name.as_str()) {
            let to = if name == "partial_cmp" {
                format!("{whole}.map(std::cmp::Ordering::reverse)")
            } else {
                format!("{whole}.reverse()")
            };
            self.instead("method", call, &to);
        }
        if STEPS.contains(&name.as_str()) {
            self.add("method left out", call.span(), &whole, &receiver, Around::Either(receiver.clone()));
        }
        if let (true, Some(Expr::Closure(closure))) = (CHOOSING.contains(&name.as_str()), call.args.first()) {
            let body = self.source(&closure.body).to_owned();
            let from = format!("{name}(… {body})");
            let to = format!("{name}(… true)");
            self.add("choice", closure.body.span(), &from, &to, Around::Always);
        }
    }

    /// `Some(x)` becomes nothing.
    pub(super) fn call(&mut self, call: &ExprCall) {
        if self.source(&call.func) == "Some" {
            self.instead("Some", call, "None");
        }
    }
}
