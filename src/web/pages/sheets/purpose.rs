//! What sheets are cut for: how much strip, how wide, of which cloth.
use crate::planning::cloth::Kind;
use crate::planning::colour::Hex;
use crate::planning::plan::ColourNeed;
use crate::services::rug_plan;
use crate::store::Read;
use crate::store::rugs::Rug;
use crate::units::{Length, Units};
use crate::web::Result;

/// One purpose, with what it leaves open.
pub(super) struct Purpose {
    /// What it is, for the title: `Sheets for the warp of Low tide`.
    pub title: String,
    /// Why so much.
    pub lead: String,
    /// Where the form asks, and where the page leads back to.
    pub action: String,
    pub back: String,
    /// The word of the part that is cut; empty from the shelf.
    pub part: String,
    /// The other parts of the same rug: word, what it is called.
    pub parts: Vec<(String, String)>,
    /// How much strip is wanted, where that is known.
    pub wanted: Option<Length>,
    /// How wide.
    pub strip: Length,
    /// What a join takes.
    pub join: Length,
    /// The cloth that is wanted.
    pub kind: Option<Kind>,
    /// Its colour, where one is wanted.
    pub hex: Option<Hex>,
}

/// What a join takes, both ends together. Common practice: fold ¾ to 1 in at each end.
const JOIN: Length = Length::from_nm(2 * 25_400_000);
const STRIP: Length = Length::from_nm(3 * 25_400_000 / 2);

impl Purpose {
    /// Any length, from the shelf.
    pub(super) fn of_shelf() -> Self {
        Self {
            title: "Sheets to cut".into(),
            lead: "Which sheets of a bundle to cut for a length of strip, and where to cut them.".into(),
            action: "/cloth/sheets".into(),
            back: "/cloth".into(),
            part: String::new(),
            parts: Vec::new(),
            wanted: None,
            strip: STRIP,
            join: JOIN,
            kind: None,
            hex: None,
        }
    }

    /// A rug's warp, or one colour of its weft: `colour-0` is the first. Any other word is the warp.
    pub(super) async fn of_rug(read: &mut Read, rug: &Rug, part: &str, units: Units) -> Result<Self> {
        let (known, _) = rug_plan::load(read, rug, units).await?;
        let (input, plan) = (&known.input, &known.plan);
        let colour_part = |need: &ColourNeed| format!("colour-{}", need.key);
        let needs = plan.weft.colours.iter().map(|need| (need, &input.colours[usize::from(need.colour)]));
        let mut parts = vec![("warp".to_owned(), "Warp".to_owned())];
        parts.retain(|_| plan.warp.yarn.is_none());
        parts.extend(needs.clone().map(|(need, colour)| {
            let strips = if need.strip == plan.weft.strip {
                String::new()
            } else {
                format!(", {} strips", need.strip.show(units))
            };
            (colour_part(need), format!("Weft: {}{strips}", colour.name))
        }));
        let name = &rug.fields.name;
        let common = Self {
            action: format!("/rugs/{}/sheets", rug.id),
            back: format!("/rugs/{}", rug.id),
            strip: rug.fields.strip_width_nm,
            parts,
            ..Self::of_shelf()
        };
        let own = needs.into_iter().find(|(need, _)| colour_part(need) == part);
        Ok(match own {
            Some((need, colour)) => Self {
                title: format!("Sheets for the weft of {name}: {}", colour.name.to_lowercase()),
                lead: format!(
                    "{} of strip is the amount to take; what the joins at the frame use up is in it.",
                    need.cut.p90.show_long(units)
                ),
                part: part.to_owned(),
                wanted: Some(need.cut.p90),
                strip: need.strip,
                // Weft is cut to working lengths whatever the strips' own, so a strip's end costs nothing more.
                join: Length::ZERO,
                kind: Some(rug.fields.weft_kind),
                hex: Hex::parse(&colour.hex).ok(),
                ..common
            },
            None if plan.warp.yarn.is_some() => Self {
                title: format!("Sheets for {name}"),
                lead: "The warp is of bought yarn and takes no sheets. Choose a colour of the weft, or say how much strip is wanted."
                    .into(),
                ..common
            },
            None => Self {
                title: format!("Sheets for the warp of {name}"),
                lead: format!(
                    "The ball is {} long, joined: the amount to take.",
                    plan.warp.length.p90.show_long(units)
                ),
                part: "warp".into(),
                strip: plan.warp.strip_width,
                wanted: Some(plan.warp.length.p90),
                kind: Some(rug.fields.warp_kind),
                ..common
            },
        })
    }
}
