//! The strand stepper: one row, crossing by crossing.
use askama_web::WebTemplate;

use super::begin::begin_at;
use crate::drawing::rug_face::Swatch;
use crate::drawing::stepper::RowPicture;
use crate::planning::colour::{Hex, nearest};
use crate::planning::locking::Locking;
use crate::planning::locking::stepping::{BeginAt, LastCrossing, RowSteps, place, row, small_piece};
use crate::planning::pattern::{AtRod, Pattern};
use crate::services::guide::palette;
use crate::services::row_counter::Counted;
use crate::services::rug_plan;
use crate::store::{Read, RugId};
use crate::web::http::id::Id;
use crate::web::pages::rugs;
use crate::web::{CurrentUser, Error, Form, Layout, QueryData, Result};

/// Pictures in the strip, and how many strands of the warp each shows; the large picture shows more.
const STRIP: usize = 12;
const NARROW: u32 = 7;
const WIDE: u32 = 12;
/// More nails than this are no small piece.
const MOST_NAILS: i64 = 60;

#[derive(askama::Template, WebTemplate)]
#[template(path = "guide/stepper.html")]
pub(super) struct StepperPage {
    layout: Layout,
    /// The rug's id and name; nothing for a small piece.
    rug: Option<(RugId, String)>,
    /// The page's address, and what of its query stays when the row changes.
    address: String,
    query: String,
    form: Form,
    steps: RowSteps,
    /// The row, counted from 1 as it is woven, and all rows.
    woven: u32,
    rows: u32,
    made: usize,
    begin: BeginAt,
    strands: [Swatch; 2],
    picture: String,
    strip: Vec<StripPicture>,
    /// What is done at each step, from lying ready at the rod.
    words: Vec<String>,
    /// Whether the row and the crossing are those that the weaver described; nothing where nobody asked.
    found: Option<bool>,
}

/// One crossing of the strip.
struct StripPicture {
    number: usize,
    address: String,
    picture: String,
    /// Whether it is the one that is shown large.
    current: bool,
}

/// What is woven.
struct Woven<'a> {
    pattern: &'a Pattern,
    locking: &'a Locking,
    palette: Vec<Swatch>,
    /// Rows that are counted.
    counted: u32,
}

impl StepperPage {
    fn of(
        me: &CurrentUser,
        rug: Option<(RugId, String)>,
        kept: &str,
        woven: &Woven,
        form: Form,
    ) -> Result<Self> {
        let none = Error::NotFound("row to weave");
        let rows = woven.pattern.rows();
        let number = |name: &str| form.value(name).trim().parse::<u32>().ok();
        let begin = begin_at(Some(&form));
        let thought =
            number("row").map_or(woven.counted, |row| row.saturating_sub(1)).min(rows.saturating_sub(1));
        let described = number("unit").map(|unit| LastCrossing {
            colour: number("colour").and_then(|id| id.try_into().ok()).unwrap_or_default(),
            unit,
            to_right: form.value("going") != "left",
        });
        let placed = described.map(|last| place(woven.pattern, woven.locking, thought, begin, last));
        let (at, made) = placed.flatten().unwrap_or((thought, number("step").unwrap_or(1)));
        let Some(steps) = row(woven.pattern, woven.locking, at, begin) else { return Err(none) };
        let made = (made as usize).min(steps.crossings.len());
        let swatch = |id: u16| woven.palette.get(usize::from(id)).cloned();
        let [Some(first), Some(other)] = steps.colours.map(swatch) else { return Err(none) };
        let strands = [first, other];
        let below = at.checked_sub(1).and_then(|before| row(woven.pattern, woven.locking, before, begin));
        // The frame turned, what was woven lies at the other end.
        let below = below.filter(|below| below.turned == steps.turned);
        let of_below =
            below.as_ref().and_then(|row| match row.colours.map(|id| woven.palette.get(usize::from(id))) {
                [Some(first), Some(other)] => Some((row, [first, other])),
                _ => None,
            });
        let next = row(woven.pattern, woven.locking, at + 1, begin);
        let changes = next.is_some_and(|next| next.before.is_some());
        let picture = |made: usize, wide, whole, id: &str| {
            RowPicture {
                row: &steps,
                strands: [&strands[0], &strands[1]],
                below: of_below,
                made,
                wide,
                whole,
                id,
            }
            .svg()
        };
        // The strip begins with the crossing that is made, and is full as long as there are so many.
        let from = made.min(steps.crossings.len().saturating_sub(STRIP - 1)).max(1);
        let strip: Vec<(usize, String)> = (from..=steps.crossings.len())
            .take(STRIP)
            .map(|n| (n, picture(n, NARROW, false, &format!("step-{n}"))))
            .collect();
        let mut page = Self {
            layout: me.layout(),
            address: rug
                .as_ref()
                .map_or_else(|| "/guide/stepper".into(), |(id, _)| format!("/rugs/{id}/stepper")),
            rug,
            query: kept.to_owned(),
            woven: at + 1,
            rows,
            made,
            begin,
            picture: picture(made, WIDE, true, "row"),
            strip: Vec::new(),
            words: words(&steps, &strands, changes),
            found: placed.map(|placed| placed.is_some()),
            form,
            steps,
            strands,
        };
        let shown = |(number, picture): (usize, String)| StripPicture {
            number,
            address: page.step(number),
            picture,
            current: number == made,
        };
        page.strip = strip.into_iter().map(shown).collect();
        Ok(page)
    }

    /// Whether the row before is to be seen below.
    fn lies_on_another(&self) -> bool {
        self.picture.contains("data-part=\"below\"")
    }

    fn lies_ready(&self) -> bool {
        self.made == 0
    }

    fn says(&self) -> &str {
        &self.words[self.made]
    }

    /// Each step's address and words.
    fn spoken(&self) -> Vec<(String, &str)> {
        self.words.iter().enumerate().map(|(step, says)| (self.step(step), says.as_str())).collect()
    }

    fn placed(&self) -> bool {
        self.found == Some(true)
    }

    fn strip_begins(&self) -> usize {
        self.strip.first().map_or(1, |one| one.number)
    }

    /// The address of another row and step.
    fn to(&self, row: u32, step: usize, begin: BeginAt) -> String {
        let begin = if begin == BeginAt::Right { "&begin=right" } else { "" };
        format!("{}?row={row}&step={step}{begin}{}", self.address, self.query)
    }

    fn step(&self, step: usize) -> String {
        self.to(self.woven, step, self.begin)
    }

    /// Forward: the next crossing, or the next row after the last.
    fn forward(&self) -> Option<(String, &'static str)> {
        if self.made < self.steps.crossings.len() {
            return Some((self.step(self.made + 1), "Next crossing"));
        }
        self.row_after().map(|after| (after, "Next row"))
    }

    fn back(&self) -> Option<String> {
        self.made.checked_sub(1).map(|step| self.step(step)).or_else(|| self.row_before())
    }

    /// The row after, its strands ready as they came round the rod.
    fn row_after(&self) -> Option<String> {
        (self.woven < self.rows).then(|| self.to(self.woven + 1, 0, self.begin))
    }

    /// The row before with all its crossings.
    fn row_before(&self) -> Option<String> {
        (self.woven > 1).then(|| self.to(self.woven - 1, usize::from(u16::MAX), self.begin))
    }

    fn other_begin(&self) -> String {
        let other = if self.begins_right() { BeginAt::Left } else { BeginAt::Right };
        self.to(self.woven, 1, other)
    }

    fn begins_right(&self) -> bool {
        self.begin == BeginAt::Right
    }

    fn count(&self) -> usize {
        self.steps.crossings.len()
    }

    /// `Row 5, to the right`.
    fn row_name(&self) -> String {
        let number = self.steps.number.to_string();
        format!("R{}, to the {}", &number[1..], if self.steps.to_right { "right" } else { "left" })
    }

    /// Whether this row locks loops, so that its crossings go through them.
    fn locks(&self) -> bool {
        self.steps.crossings.iter().any(|crossing| !crossing.through.is_empty())
    }

    /// What to mind before the row is begun.
    fn before(&self) -> Vec<String> {
        let steps = &self.steps;
        let mut told = Vec::new();
        if steps.turned && steps.number.number == 1 {
            told.push("Turn the frame half round first: the far end lies before you now.".to_owned());
        } else if steps.shifted {
            let count =
                steps.crossings.first().map_or(1, |crossing| crossing.strands[1] - crossing.strands[0] + 1);
            let strands = if count == 1 { "strand" } else { "strands" };
            told.push(format!(
                "This row takes the warp’s strands aside of the row before: its first unit has {count} {strands}. So it goes through \
                 the loops of the nails."
            ));
        }
        if !steps.open.is_empty() {
            let nails: Vec<String> = steps.open.iter().map(|held| held.nail.number.to_string()).collect();
            told.push(format!(
                "Units of this size hold both legs of a loop at the nails {}. Split the unit between these legs, one crossing more \
                 each time, or the loop slides out.",
                nails.join(", ")
            ));
        }
        if steps.before.is_some() {
            told.push("A new colour begins with this row: join it on before you go on.".to_owned());
        }
        told
    }

    /// The lean of the row, by its direction. A published source says that work to and fro leans right and left in turn; which way
    /// first follows from the strand in front going down behind.
    fn lean(&self) -> &'static str {
        if self.steps.to_right {
            "Seen from the front, the strands of this row fall to the right; those of the next, woven back, fall to the left."
        } else {
            "Seen from the front, the strands of this row fall to the left; those of the next, woven back, fall to the right."
        }
    }

    /// The strands' colours with their numbers among the rug's, to choose from.
    fn colours(&self) -> Vec<(u16, &str)> {
        let mut both: Vec<_> =
            self.steps.colours.into_iter().zip(self.strands.iter().map(|s| s.name.as_str())).collect();
        both.dedup_by_key(|colour| colour.0);
        both
    }
}

/// What is done at each step, the first lying ready at the rod; `changes` says whether the next row has other colours.
fn words(steps: &RowSteps, strands: &[Swatch; 2], changes: bool) -> Vec<String> {
    let names = [0, 1].map(|i| strands[i].name.as_str());
    let rod = if steps.to_right { "left" } else { "right" };
    let called = |strand: usize| {
        if names[0] == names[1] { ["the first strand", "the other strand"][strand] } else { names[strand] }
    };
    let front = steps.crossings.first().map_or(0, |crossing| crossing.front);
    let mut words = vec![format!(
        "Both strands lie ready at the {rod} rod: {} above, to go in front, {} below, to go behind.",
        called(front),
        called(1 - front)
    )];
    words.extend(steps.crossings.iter().enumerate().map(|(i, crossing)| crossing.text(names, i == 0)));
    if let (Some(said), Some(last)) = (words.last_mut(), steps.crossings.last()) {
        // Where the colours change, the strand of that place goes on in another.
        let begins = |strand: usize| {
            if !changes {
                called(strand)
            } else if strand == last.front {
                "the strand"
            } else {
                "the other strand"
            }
        };
        let then = match steps.then {
            Some(AtRod::Trade) => format!(
                " Then both go round the rod and trade places: {}, behind now, begins the next row in front.",
                begins(1 - last.front)
            ),
            Some(AtRod::Keep) => format!(
                " Then both go round the rod and keep their places: {}, in front now, begins the next row in front.",
                begins(last.front)
            ),
            None => " The row is done, and so is this part of the weaving.".to_owned(),
        };
        said.push_str(&then);
    }
    words
}

pub(super) async fn of_rug(
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<StepperPage> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let (known, log) = rug_plan::load(&mut read, &rug, me.units()).await?;
    drop(read);
    let woven = Woven {
        pattern: &known.plan.pattern,
        locking: &known.plan.warp.locking,
        palette: palette(&known),
        counted: u32::try_from(Counted::of(&log, &known).rows).unwrap_or_default(),
    };
    let form = asked.form_of(&me).unwrap_or_else(|| Form::blank(me.units()));
    StepperPage::of(&me, Some((rug.id, rug.fields.name)), "", &woven, form)
}

/// A small piece: its nails, strands of a unit, what the strands do at the rod, and two colours stand in the address.
pub(super) async fn piece(me: CurrentUser, asked: QueryData) -> Result<StepperPage> {
    let mut form = asked.form_of(&me).unwrap_or_else(|| Form::blank(me.units()));
    for (name, usual) in [("nails", "9"), ("strands", "2"), ("first", "#e9dcc3"), ("other", "#22305a")] {
        if form.is_empty(name) {
            form.set(name, usual);
        }
    }
    let nails = form.count("nails", "Nails in a row", 3..=MOST_NAILS).unwrap_or(9) as u32;
    let unit = form.count("strands", "Strands of a unit", 1..=6).unwrap_or(2) as u32;
    let at_rod = if form.value("at_rod") == "keep" { AtRod::Keep } else { AtRod::Trade };
    let colour = |name: &str, usual| Hex::parse(form.value(name)).unwrap_or(Hex::rgb(usual));
    let hexes = [colour("first", 0xe9_dcc3), colour("other", 0x22_305a)];
    let palette = hexes.map(|hex| Swatch { name: nearest(hex).name.to_lowercase(), hex }).to_vec();
    let (pattern, locking) =
        small_piece(nails, unit, at_rod).ok_or(Error::NotFound("piece of so many nails"))?;
    let keep = if at_rod == AtRod::Keep { "&at_rod=keep" } else { "" };
    let [first, other] = hexes.map(|hex| hex.to_string().replace('#', "%23"));
    let kept = format!("&nails={nails}&strands={unit}&first={first}&other={other}{keep}");
    let woven = Woven { pattern: &pattern, locking: &locking, palette, counted: 0 };
    StepperPage::of(&me, None, &kept, &woven, form)
}
