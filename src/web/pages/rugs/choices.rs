//! What the form of a rug offers to choose from, and reading what was chosen.
use crate::store::people::Person;
use crate::store::rugs::FrameSize;
use crate::store::terms::Term;
use crate::store::{PersonId, Read, TermId};
use crate::web::{CurrentUser, Form, Result};

/// What the form offers to choose from.
pub(super) struct Choices {
    pub sizes: Vec<FrameSize>,
    pub terms: Vec<Term>,
    weavers: Vec<Person>,
}

impl Choices {
    /// (value, words) of each term that is open.
    pub(super) fn term_words(&self) -> Vec<(String, String)> {
        self.terms.iter().map(|term| (term.id.to_string(), term.name.clone())).collect()
    }

    /// (value, words) of each weaver.
    pub(super) fn weaver_words(&self) -> Vec<(String, String)> {
        self.weavers.iter().map(|p| (p.id.to_string(), p.name.clone())).collect()
    }
}

pub(super) async fn choices(read: &mut Read, me: &CurrentUser) -> Result<Choices> {
    let weavers = if me.is_staff() { read.weavers().await? } else { Vec::new() };
    let terms = read.terms().await?.into_iter().filter(|term| term.closed_at.is_none()).collect();
    Ok(Choices { sizes: read.frame_sizes().await?, terms, weavers })
}

/// Whether the form names no term, an open one, or the one that the rug is in already.
pub(super) fn known_term(form: &mut Form, choices: &Choices, now: Option<TermId>) -> bool {
    // What is no id at all is refused where the form is read.
    let Ok(chosen) = form.value("term").parse::<TermId>() else { return true };
    let known = now == Some(chosen) || choices.terms.iter().any(|term| term.id == chosen);
    if !known {
        form.add_error("term", "This term isn’t open any more. Choose one from the list.");
    }
    known
}

/// A weaver plans for themselves, whatever the form says.
pub(super) fn whose(form: &mut Form, me: &CurrentUser, choices: &Choices) -> Option<PersonId> {
    if !me.is_staff() {
        return Some(me.id());
    }
    let chosen = form.choice::<PersonId>("weaver", "whose rug it is")?;
    let known = choices.weavers.iter().any(|weaver| weaver.id == chosen);
    if !known {
        form.add_error("weaver", "This weaver is not here any more. Choose whose rug it is.");
    }
    known.then_some(chosen)
}
