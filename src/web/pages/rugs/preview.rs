//! What a rug as typed would need, beside its form; and two variants of it beside each other.
use super::board::{Board, Drawn, Shelf};
use super::typed;
use crate::drawing::rug_face::Ink;
use crate::planning::pattern::Face;
use crate::planning::{ColourId, Plan};
use crate::services::learning::Learning;
use crate::services::rug_input::{RugInput, measured};
use crate::store::rugs::cloth::MeasuredCloth;
use crate::store::rugs::{Colour, FrameSize};
use crate::store::{PersonId, RugId};
use crate::units::Units;
use crate::web::Form;

/// What the rug as typed would need.
pub(super) struct Preview {
    pub plan: Plan,
    colours: Vec<Colour>,
    pub picture: String,
    pub units: Units,
    /// Where it is drawn and changed; none for a variant that was set aside.
    pub board: Option<Board>,
}

/// What a preview is made from, besides its form.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub sizes: &'a [FrameSize],
    pub learning: &'a Learning,
    /// At whose figures, where that is known.
    pub weaver: Option<PersonId>,
    /// The rug that is changed, and the bundles that its cloth is measured from.
    pub rug: Option<RugId>,
    pub cloth: &'a [MeasuredCloth],
}

impl Preview {
    /// The rug of a form; or why it can't be told yet. `id` names its picture; with a shelf it is on the drawing board.
    pub(super) fn of(form: &Form, known: Known<'_>, id: &str, shelf: Option<&Shelf>) -> Result<Self, String> {
        let mut tried = form.clone();
        let units = form.units();
        // Which rug it is and what it is called matter to keeping it, not to what it needs.
        if tried.is_empty("name") {
            tried.set("name", "-");
        }
        let first_error =
            |form: &Form| form.errors().first().map_or_else(String::new, |(_, message)| message.clone());
        let Some((fields, bands)) = typed::read(&mut tried, known.sizes) else {
            return Err(first_error(&tried));
        };
        let mut planned = RugInput::of(&fields, &bands, units).map_err(|e| e.to_string())?;
        if let Some(weaver) = known.weaver {
            known.learning.apply_learned(&mut planned, weaver, units);
        }
        planned.spec.known.extend(measured(&fields, known.cloth, units));
        let plan = planned.plan(units).map_err(|e| e.to_string())?;
        let picture = planned.picture(&plan, Face::Front, Ink::Colour, id).map_err(|e| e.to_string())?;
        let board = shelf.map(|shelf| {
            let ruled = Board::picture(&planned, &plan, form, id).map_err(|e| e.to_string())?;
            let drawn = Drawn {
                rug: known.rug,
                fields: &fields,
                bands: &bands,
                colours: &planned.colours,
                plan: &plan,
            };
            Ok::<_, String>(Board::of(form, &drawn, shelf, ruled))
        });
        let board = board.transpose()?;
        Ok(Self { plan, colours: planned.colours, picture, units, board })
    }

    pub(super) fn colour(&self, id: &ColourId) -> &Colour {
        &self.colours[usize::from(*id)]
    }

    /// The numbers that one compares variants by, in words.
    fn figures(&self) -> Vec<(&'static str, String)> {
        let (plan, units) = (&self.plan, self.units);
        let (warp, weft, minutes) = (&plan.warp, &plan.weft, &plan.minutes);
        let between = |range: crate::planning::Range<crate::units::Minutes>| {
            format!("{} to {}", range.low.show(), range.p90.show())
        };
        let colours = weft
            .colours
            .iter()
            .map(|need| format!("{} {}", self.colour(&need.colour).name, need.mass.p90.show(units)));
        vec![
            ("Woven size", format!("{} × {}", plan.width.show(units), plan.length.show(units))),
            ("Finished size, washed", plan.finished.show(units)),
            ("Warp ball, take", warp.length.p90.show_long(units)),
            if warp.yarn.is_some() {
                ("Balls of warp yarn", warp.strips.to_string())
            } else {
                ("Warp strips", warp.strips.to_string())
            },
            ("Warp strands", warp.strands.to_string()),
            ("Rows", weft.rows.to_string()),
            ("Weft to cut, take", weft.cut.p90.show_long(units)),
            ("Weft by colour, take", colours.collect::<Vec<_>>().join(", ")),
            ("Cloth in all, take", plan.cloth.total.p90.show(units)),
            ("Prepare", minutes.prepare.expected.show()),
            ("Weave", between(minutes.weave)),
            ("Finish", minutes.finish.expected.show()),
        ]
    }

    /// The figures of two variants: what it is, as held, as it is now, and whether they differ.
    pub(super) fn beside(&self, held: &Self) -> Vec<(&'static str, String, String, bool)> {
        let pairs = held.figures().into_iter().zip(self.figures());
        pairs.map(|((what, held), (_, now))| (what, held.clone(), now.clone(), held != now)).collect()
    }
}
