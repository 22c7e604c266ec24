//! Which fault an error of the compiler is due to.
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use serde_json::Value;

use crate::places::Mutant;
use crate::render::Switch;

/// A place that an error names.
pub struct Place {
    file: String,
    range: Range<usize>,
    primary: bool,
}

/// The faults that can't stay, and the errors that none of them explains.
#[derive(Default)]
pub struct Culprits {
    pub errors: usize,
    pub ids: BTreeSet<usize>,
    pub unexplained: Vec<String>,
}

/// Every place of an error: where it is, what else it points to, and where a macro that it is in was called.
pub fn spans(message: &Value) -> Vec<Place> {
    let mut found = Vec::new();
    let children = message["children"].as_array().cloned().unwrap_or_default();
    for part in std::iter::once(message).chain(&children) {
        for span in part["spans"].as_array().into_iter().flatten() {
            let mut here = span;
            while here.is_object() {
                let at = |name: &str| here[name].as_u64().unwrap_or(0) as usize;
                found.push(Place {
                    file: here["file_name"].as_str().unwrap_or("").to_owned(),
                    range: at("byte_start")..at("byte_end"),
                    primary: span["is_primary"] == true && part["level"] == "error",
                });
                here = &here["expansion"]["span"];
            }
        }
    }
    found
}

fn within(inner: &Range<usize>, outer: &Range<usize>) -> bool {
    outer.start <= inner.start && inner.end <= outer.end
}

impl Culprits {
    /// Lays an error at somebody's door: the fault whose own text it points into; else the innermost one around the
    /// place; else those within the place; else all of the function.
    pub fn blame<'a>(
        &mut self,
        message: &Value,
        places: &[Place],
        switches: impl Fn(&str) -> Option<(&'a [Switch], &'a BTreeMap<usize, Mutant>)>,
    ) {
        self.errors += 1;
        let dropped_early = matches!(message["code"]["code"].as_str(), Some("E0716" | "E0597" | "E0515"));
        let mut found = BTreeSet::new();
        for stage in if dropped_early { [0, 2, 1, 3] } else { [0, 1, 2, 3] } {
            for place in places.iter().filter(|place| stage == 0 || place.primary) {
                let Some((switches, alive)) = switches(&place.file) else { continue };
                let here = switches.iter().filter(|switch| alive.contains_key(&switch.id));
                match stage {
                    0 => {
                        let own = here.filter(|s| within(&place.range, &s.own));
                        found.extend(own.min_by_key(|s| s.own.len()).map(|s| s.id));
                    }
                    1 => {
                        let around = here.filter(|s| within(&place.range, &s.whole));
                        found.extend(around.min_by_key(|s| s.whole.len()).map(|s| s.id));
                    }
                    2 => found.extend(here.filter(|s| within(&s.whole, &place.range)).map(|s| s.id)),
                    _ => {
                        let near =
                            here.min_by_key(|s| s.whole.start.abs_diff(place.range.start)).map(|s| s.id);
                        if let Some(function) = near.and_then(|id| alive.get(&id)) {
                            let same =
                                |m: &Mutant| m.file == function.file && m.function == function.function;
                            found.extend(alive.iter().filter(|(_, m)| same(m)).map(|(id, _)| *id));
                        }
                    }
                }
            }
            if !found.is_empty() {
                break;
            }
        }
        if found.is_empty() {
            self.unexplained.push(message["rendered"].as_str().unwrap_or("").to_owned());
        }
        self.ids.extend(found);
    }
}
