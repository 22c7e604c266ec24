//! Somebody's own words on each paper, one after the other: of what they are written is asked of the fonts before it is printed.
use super::{Label, Reader, RugPaper, Wall};
use crate::store::cloth::promises::Promise;
use crate::store::loans::Loan;

fn together<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    words.into_iter().collect()
}

impl RugPaper {
    /// Of a rug's cards and its tape.
    pub fn said(&self, reader: &Reader) -> String {
        let own = [reader.workroom.as_str(), &self.rug.fields.name, &self.rug.weaver];
        let cloth = self.promises.iter().flat_map(|promise| [promise.place.as_str(), &promise.bundle_colour]);
        let colours = self.known.input.colours.iter().map(|colour| colour.name.as_str());
        together(own.into_iter().chain(colours).chain(cloth))
    }
}

impl Wall {
    /// Of the wall sheet.
    pub fn said(&self, reader: &Reader) -> String {
        let turns = self.turns.iter().map(|turn| turn.label.as_str());
        let others = self.frames.iter().chain(&self.without).map(String::as_str);
        together([reader.workroom.as_str(), &self.term].into_iter().chain(turns).chain(others))
    }
}

impl Label {
    /// Of labels on one sheet.
    pub fn said(labels: &[Self]) -> String {
        let lines = |label: &Self| [label.big.as_str(), label.spare.as_deref().unwrap_or_default()].concat();
        labels.iter().map(|label| lines(label) + &label.lines.concat()).collect()
    }
}

/// Of the pull sheet.
pub fn said_of_promises(promises: &[Promise], reader: &Reader) -> String {
    let words = |promise: &Promise| {
        [promise.rug.as_str(), &promise.weaver, &promise.place, &promise.bundle_colour].concat()
    };
    reader.workroom.clone() + &promises.iter().map(words).collect::<String>()
}

/// Of a loan's slip.
pub fn said_of_loan(loan: &Loan, reader: &Reader) -> String {
    together([reader.workroom.as_str(), &loan.rug, &loan.weaver, &loan.frame_tag, &loan.handed_out_by])
}
