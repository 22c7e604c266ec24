//! What a rug as typed would need, beside its form; and two variants of it beside each other.
use super::typed;
use crate::drawing::rug_face::Ink;
use crate::planning::pattern::Face;
use crate::planning::{ColourId, Plan};
use crate::services::learning::Learning;
use crate::services::rug_input::{RugInput, measured};
use crate::store::PersonId;
use crate::store::rugs::cloth::MeasuredCloth;
use crate::store::rugs::{Colour, FrameSize};
use crate::units::Units;
use crate::web::Form;

/// What the rug as typed would need.
pub(super) struct Preview {
    pub plan: Plan,
    colours: Vec<Colour>,
    pub picture: String,
    pub units: Units,
}

impl Preview {
    /// The rug of a form; or why it can't be told yet. With a weaver, at the figures learnt for them, and with the bundles
    /// that its cloth is measured from; `id` names its picture.
    pub(super) fn of(
        form: &Form,
        sizes: &[FrameSize],
        learning: &Learning,
        weaver: Option<PersonId>,
        cloth: &[MeasuredCloth],
        id: &str,
    ) -> Result<Self, String> {
        let mut tried = form.clone();
        let units = form.units();
        // Which rug it is and what it is called matter to keeping it, not to what it needs.
        if tried.is_empty("name") {
            tried.set("name", "-");
        }
        let first_error =
            |form: &Form| form.errors().first().map_or_else(String::new, |(_, message)| message.clone());
        let Some((fields, bands)) = typed::read(&mut tried, sizes) else {
            return Err(first_error(&tried));
        };
        let mut planned = RugInput::of(&fields, &bands, units).map_err(|e| e.to_string())?;
        if let Some(weaver) = weaver {
            learning.apply_learned(&mut planned, weaver, units);
        }
        planned.spec.known.extend(measured(&fields, cloth, units));
        let plan = planned.plan(units).map_err(|e| e.to_string())?;
        let picture = planned.picture(&plan, Face::Front, Ink::Colour, id).map_err(|e| e.to_string())?;
        Ok(Self { plan, colours: planned.colours, picture, units })
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
            ("Warp ball, take", warp.length.p90.show_long(units)),
            ("Warp strips", warp.strips.to_string()),
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
