//! Lists of bundles: looked at first, then taken in, with the rows that are wrong left out when that is said.
use proptest::prelude::*;

use super::{Answer, For, Learn, Pick, Step};
use crate::model::cloth::{Bundle, COLOURS, KINDS, SOURCES, WEIGHTS, Weighing, pounds};
use crate::model::state::{State, Thing};
use crate::model::views::{Part, View};

/// A row, and which of its cells is wrong, if one is.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    weight: Pick,
    colour: Pick,
    source: Pick,
    kind: Pick,
    washed: bool,
    wrong: Option<Pick>,
}

#[derive(Clone, Debug)]
pub struct Act {
    pub rows: Vec<Row>,
    /// Whether the wrong rows are said to be left out.
    pub leave_out: bool,
    /// Whether a column is missing.
    pub headless: bool,
    /// Whether it stays at looking.
    pub look: bool,
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let said = (any::<Pick>(), any::<Pick>(), any::<Pick>(), any::<Pick>(), any::<bool>());
    let row = (said, prop::option::weighted(0.2, any::<Pick>())).prop_map(
        |((weight, colour, source, kind, washed), wrong)| Row { weight, colour, source, kind, washed, wrong },
    );
    let rows = prop::collection::vec(row, 0..4);
    (rows, prop::bool::weighted(0.6), prop::bool::weighted(0.05), prop::bool::weighted(0.1))
        .prop_map(|(rows, leave_out, headless, look)| Act { rows, leave_out, headless, look })
}

/// Washed sheets of two colours, all but the last of the kind that rugs are planned in.
pub fn on_the_shelf() -> Act {
    let row = |weight, colour, kind| Row { weight, colour, source: 1, kind, washed: true, wrong: None };
    let rows = vec![row(0, 0, 0), row(5, 1, 0), row(4, 1, 0), row(0, 2, 1)];
    Act { rows, leave_out: false, headless: false, look: false }
}

impl Row {
    fn typed(self) -> (&'static str, i64) {
        WEIGHTS[usize::from(self.weight) % WEIGHTS.len()]
    }

    fn colour(self) -> usize {
        usize::from(self.colour) % COLOURS.len()
    }

    fn kind(self) -> &'static str {
        KINDS[usize::from(self.kind) % KINDS.len()]
    }

    fn source(self) -> &'static str {
        SOURCES[usize::from(self.source) % SOURCES.len()]
    }

    fn line(self) -> String {
        let mut cells = [
            self.kind(),
            COLOURS[self.colour()].1,
            self.typed().0,
            if self.washed { "yes" } else { "no" },
            self.source(),
        ];
        if let Some(wrong) = self.wrong {
            let at = usize::from(wrong) % 4;
            cells[at] = ["velvet", "plaid", "much", "perhaps"][at];
        }
        cells.join(",")
    }
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Step {
        let head =
            if self.headless { "kind,colour,weight,source" } else { "kind,colour,weight,washed,source" };
        let lines = self.rows.iter().map(|row| row.line());
        let list = std::iter::once(head.to_owned()).chain(lines).collect::<Vec<_>>().join("\r\n");
        let look = Step::post("/cloth/import", &[("list", &list)]);
        let who = match For::Staff.gate(state, who) {
            Ok(who) => who,
            Err(answer) => return look.answers(answer),
        };
        if self.headless || self.rows.is_empty() {
            return look.wrong(422, &["list"]);
        }
        let good: Vec<Row> = self.rows.iter().copied().filter(|row| row.wrong.is_none()).collect();
        let wrong = self.rows.len() - good.len();
        let weight = good.iter().map(|row| row.typed().1).sum();
        let figures = vec![good.len().to_string(), pounds(weight), wrong.to_string()];
        let look = look.answers(Answer::Shows(vec![Part::Texts(".stat b", figures)]));
        if self.look {
            return look;
        }
        let mut fields = vec![("list", list.as_str()), ("do", "take")];
        if self.leave_out {
            fields.push(("leave_out", "yes"));
        }
        let take = Step { first: Some(Box::new(look)), ..Step::post("/cloth/import", &fields) }.keyed();
        if good.is_empty() {
            return take.wrong(422, &[""]);
        }
        if wrong > 0 && !self.leave_out {
            return take.wrong(422, &["leave_out"]);
        }
        taken(state, who, take, &good)
    }
}

/// Each row is a bundle with a tag of its own, in the list's order; the record has one line for the list.
fn taken(state: &mut State, who: usize, take: Step, rows: &[Row]) -> Step {
    let (list, first) = (state.lists.len(), state.bundles.len());
    for row in rows {
        let (typed, gross) = row.typed();
        let bundle = Bundle {
            id: String::new(),
            tag: state.bundles.len() + 1,
            kind: row.kind(),
            colour: row.colour(),
            source: row.source(),
            state: if row.washed { "ready" } else { "arrived" },
            from: None,
            entries: Vec::new(),
        };
        state.bundles.push(bundle);
        let weighing = Weighing { typed: typed.into(), gross, basket: 0 };
        let new = state.bundles.len() - 1;
        super::cloth::add_entry(state, new, "weighed in", gross, Some(weighing));
    }
    state.lists.push(String::new());
    state.note(Some(who), Thing::List(list), "list taken in");
    let new = (first..state.bundles.len()).map(View::Bundle);
    let touched = [View::Shelf, View::Went, View::Record].into_iter().chain(new);
    take.to("/cloth?said=list-in").learns(Learn::List(list, first)).touches(touched)
}
