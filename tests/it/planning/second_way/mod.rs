//! Every formula of one rug a second time, written apart from the program: by hand, by simulation, by counting. The program
//! is asked by what it prints (`reckon --json`, `solve`) where it prints the number, and else through `contact` alone.
#![allow(
    clippy::unreadable_literal,
    clippy::too_many_lines,
    clippy::manual_midpoint,
    clippy::needless_for_each,
    clippy::needless_range_loop,
    clippy::single_match_else,
    clippy::format_push_string,
    clippy::redundant_closure_for_method_calls,
    clippy::similar_names,
    clippy::single_match,
    reason = "formulas and figures are written as a book or a tape has them"
)]

mod book;
mod cloth_cut;
mod contact;
mod contact_build;
mod contact_class;
mod contact_figures;
mod contact_log;
mod explained;
mod kept;
mod learning;
mod limits;
mod meetings;
mod named;
mod notes;
mod pieced_rugs;
mod plans;
mod ranges;
mod reading_lengths;
mod rods_and_balls;
mod rug;
mod standing;
mod sufficiency;
mod twining;
mod wound;

use crate::support::named::names;

#[track_caller]
fn close(what: &str, got: f64, wanted: f64, part: f64) {
    let within = part * wanted.abs().max(1e-9);
    assert!(
        (got - wanted).abs() <= within,
        "{what}: the program says {got}, worked out apart it is {wanted}"
    );
}

/// Which of these entries a refusal is about: it names the entry. Nothing where it is about something else, or there is none.
fn refused_for<'a>(told: &str, entries: &[&'a str]) -> Option<&'a str> {
    entries.iter().copied().find(|entry| names(told, &[entry]))
}
