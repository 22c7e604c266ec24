//! The arms of a `match`.
use syn::spanned::Spanned as _;
use syn::{ExprMatch, Pat};

use super::operators::has_let;
use super::{Around, Places};

/// Whether an arm takes whatever comes.
fn takes_all(arm: &syn::Arm) -> bool {
    arm.guard.is_none() && matches!(arm.pat, Pat::Wild(_) | Pat::Ident(syn::PatIdent { subpat: None, .. }))
}

impl Places<'_> {
    /// Guards left out; and, where a last arm takes whatever comes, each arm before it.
    pub(super) fn arms(&mut self, choice: &ExprMatch) {
        let catches = choice.arms.last().is_some_and(takes_all)
            && !matches!(choice.arms.last().map(|arm| &arm.pat), Some(Pat::Ident(name)) if name.ident.to_string().starts_with(char::is_uppercase));
        let count = choice.arms.len();
        for (i, arm) in choice.arms.iter().enumerate() {
            let pattern = self.source(&arm.pat).to_owned();
            match &arm.guard {
                Some((_, guard)) if !has_let(guard) => {
                    let from = format!("{pattern} if {}", self.source(guard));
                    self.add("guard left out", guard.span(), &from, &pattern, Around::Always);
                    if catches {
                        let around = Around::NoArm { guarded: true };
                        self.add("arm left out", guard.span(), &from, "", around);
                    }
                }
                None if catches && i + 1 < count => {
                    let end = self.range(&arm.pat).end;
                    let around = Around::NoArm { guarded: false };
                    self.add_at("arm left out", end..end, (&pattern, ""), around);
                }
                _ => {}
            }
        }
    }
}
