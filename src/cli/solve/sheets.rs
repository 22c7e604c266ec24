//! `solve sheets`: which sheets to cut, and how, for a wanted length of strip.
use super::{Mm, bad, unlike};
use crate::drawing::cuts::CutPicture;
use crate::optimize::cutting::{Blocked, Sheet, Way};
use crate::optimize::sheets::{Lot, MOST_KEPT, Wish, choose_within};
use crate::units::{Length, Units};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"sheets": [{"id", "along_mm", "across_mm", "count", "hem_mm", "corners_mm",
      "blocked": [{"along_mm": [from, to], "across_mm": [from, to]}]}], "wanted_mm", "strip_mm", "join_mm",
      "least_mm", "ways": ["straight", "continuous"], "draw": true, "keep"}
Out: {"cut": [{"sheet", "turned", "way", "strips": [{"number", "length_mm", "runs": [{"along_mm", "across_mm"}]}],
      "svg"}], "joins", "strips_mm", "spare_mm", "waste_mm", "proven"}
Runs lie on the sheet as it is turned. Keep: how many choices are kept for each number of strips, 1 to 10000, by default 400;
proven says that none was dropped that could be better."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SheetsRequest {
    sheets: Vec<SheetInput>,
    wanted_mm: Mm,
    strip_mm: Mm,
    #[serde(default = "usual_join")]
    join_mm: Mm,
    #[serde(default = "usual_least")]
    least_mm: Mm,
    #[serde(default = "all_ways")]
    ways: Vec<WayInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    draw: bool,
    keep: Option<usize>,
}

/// 2 in for both ends together; common practice: fold ¾ to 1 in at each end.
fn usual_join() -> Mm {
    Mm(Length::inches(2.0))
}

/// 12 in; reasoned estimate: a shorter piece is mostly joins.
fn usual_least() -> Mm {
    Mm(Length::inches(12.0))
}

fn all_ways() -> Vec<WayInput> {
    vec![WayInput::Straight, WayInput::Continuous]
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SheetInput {
    id: String,
    along_mm: Mm,
    across_mm: Mm,
    #[serde(default = "one")]
    count: u32,
    #[serde(default, deserialize_with = "super::or_usual")]
    hem_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    corners_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    blocked: Vec<Rectangle>,
}

fn one() -> u32 {
    1
}

#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Rectangle {
    along_mm: [Mm; 2],
    across_mm: [Mm; 2],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
enum WayInput {
    Straight,
    Continuous,
}

#[derive(Serialize)]
pub(super) struct SheetsResponse<'a> {
    cut: Vec<SheetsSheet<'a>>,
    joins: u32,
    strips_mm: Mm,
    spare_mm: Mm,
    waste_mm: Mm,
    proven: bool,
}

#[derive(Serialize)]
struct SheetsSheet<'a> {
    sheet: &'a str,
    turned: bool,
    way: WayInput,
    strips: Vec<SheetsStrip>,
    #[serde(skip_serializing_if = "Option::is_none")]
    svg: Option<String>,
}

#[derive(Serialize)]
struct SheetsStrip {
    number: u32,
    length_mm: Mm,
    runs: Vec<Rectangle>,
}

pub(super) fn answer(asked: &SheetsRequest) -> anyhow::Result<SheetsResponse<'_>> {
    let wish = Wish {
        length: asked.wanted_mm.0,
        width: asked.strip_mm.0,
        join: asked.join_mm.0,
        least: asked.least_mm.0,
        ways: asked.ways.iter().map(|way| way.way()).collect(),
    };
    let keep = asked.keep.unwrap_or(MOST_KEPT);
    if !(1..=10_000).contains(&keep) {
        return Err(bad("sheets", &"keep: from 1 to 10000 is allowed.").into());
    }
    unlike("sheet", asked.sheets.iter().map(|sheet| &sheet.id)).map_err(|why| bad("sheets", &why))?;
    let lots: Vec<Lot> = asked.sheets.iter().map(SheetInput::lot).collect();
    let choice = choose_within(&lots, &wish, keep).map_err(|e| bad("sheets", &e))?;
    let mut number = 1;
    let mut cut = Vec::new();
    for opened in &choice.opened {
        let name = asked.sheets[opened.lot].id.as_str();
        let picture = CutPicture {
            sheet: &opened.sheet,
            strips: &opened.strips,
            width: wish.width,
            first: number,
            name,
            units: Units::Metric,
            id: &format!("sheet-{}", cut.len() + 1),
        };
        let svg = asked.draw.then(|| picture.svg());
        let strips = opened.strips.iter().zip(number..).map(|(strip, number)| SheetsStrip {
            number,
            length_mm: Mm(strip.length()),
            runs: strip.runs.iter().map(|run| Rectangle::of(run.along, run.across)).collect(),
        });
        let strips: Vec<_> = strips.collect();
        number += strips.len() as u32;
        cut.push(SheetsSheet {
            sheet: name,
            turned: opened.turned,
            way: WayInput::of(opened.way),
            strips,
            svg,
        });
    }
    Ok(SheetsResponse {
        cut,
        joins: choice.joins,
        strips_mm: Mm(choice.total),
        spare_mm: Mm(choice.spare),
        waste_mm: Mm(choice.waste),
        proven: choice.proven,
    })
}

impl SheetInput {
    fn lot(&self) -> Lot {
        let pair = |[from, to]: [Mm; 2]| (from.0, to.0);
        let stains =
            (self.blocked.iter()).map(|r| Blocked { along: pair(r.along_mm), across: pair(r.across_mm) });
        Lot {
            sheet: Sheet {
                along: self.along_mm.0,
                across: self.across_mm.0,
                hem: self.hem_mm.0,
                corners: self.corners_mm.0,
                stains: stains.collect(),
            },
            count: self.count,
        }
    }
}

impl Rectangle {
    fn of(along: (Length, Length), across: (Length, Length)) -> Self {
        Self { along_mm: [Mm(along.0), Mm(along.1)], across_mm: [Mm(across.0), Mm(across.1)] }
    }
}

impl WayInput {
    fn way(self) -> Way {
        match self {
            Self::Straight => Way::Straight,
            Self::Continuous => Way::Continuous,
        }
    }

    fn of(way: Way) -> Self {
        match way {
            Way::Straight => Self::Straight,
            Way::Continuous => Self::Continuous,
        }
    }
}
