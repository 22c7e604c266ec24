//! The source with its switches put in, and where each of them then stands.
use std::ops::Range;

use crate::places::Mutant;

/// A source with switches.
pub struct Rendered {
    pub text: String,
    /// Of each fault: its number, where its own text stands, and where all of it stands.
    pub switches: Vec<Switch>,
}

pub struct Switch {
    pub id: usize,
    /// What was put before the piece, the changed text in it.
    pub own: Range<usize>,
    /// From there to behind the piece.
    pub whole: Range<usize>,
}

/// What is put in at one position of the source. Pieces lie within each other, so at one position what ends comes before what
/// begins; of those that end the inner one comes first, of those that begin the outer one.
struct Insertion {
    at: usize,
    rank: (u8, usize, usize),
    /// The index of its switch, and whether it stands before its piece.
    switch: (usize, bool),
    text: String,
}

fn insertions(mutants: &[(usize, &Mutant)]) -> Vec<Insertion> {
    let mut found = Vec::new();
    for (i, (id, mutant)) in mutants.iter().enumerate() {
        let (before, behind) = mutant.texts(*id);
        let length = mutant.range.len();
        let begins = if length == 0 { (1, 0, i) } else { (2, usize::MAX - length, i) };
        found.push(Insertion { at: mutant.range.start, rank: begins, switch: (i, true), text: before });
        let ends = if length == 0 { (1, 0, i) } else { (0, length, usize::MAX - i) };
        found.push(Insertion { at: mutant.range.end, rank: ends, switch: (i, false), text: behind });
    }
    found.sort_by_key(|insertion| (insertion.at, insertion.rank));
    found
}

/// Puts these faults' switches into the source.
pub fn render(source: &str, mutants: &[(usize, &Mutant)]) -> Rendered {
    let mut text = String::with_capacity(source.len() * 3);
    let mut switches: Vec<Switch> =
        mutants.iter().map(|(id, _)| Switch { id: *id, own: 0..0, whole: 0..0 }).collect();
    let mut done = 0;
    for insertion in insertions(mutants) {
        text.push_str(&source[done..insertion.at]);
        done = insertion.at;
        let start = text.len();
        text.push_str(&insertion.text);
        let switch = &mut switches[insertion.switch.0];
        if insertion.switch.1 {
            switch.own = start..text.len();
            switch.whole = start..text.len();
        } else {
            switch.whole.end = text.len();
            if switch.own.is_empty() {
                switch.own = start..text.len();
            }
        }
    }
    text.push_str(&source[done..]);
    Rendered { text, switches }
}
