//! The drawing board: the rug as the form has it, large, with what the shelf has for it. The bands are the form's own fields; what
//! the board's buttons do to them is in [`acts`].
pub(super) mod acts;
mod charts;

use super::typed;
use crate::drawing::ruler::Ruler;
use crate::optimize::design::{DesignBand, KeptBand};
use crate::planning::chart::Chart;
use crate::planning::colour::{self, Family, Hex, SERVES};
use crate::planning::{Kind, Plan};
use crate::services::free_cloth::free_weight;
use crate::services::rug_input::RugInput;
use crate::services::share_out::cover::{Covered, cover};
use crate::services::share_out::needs::{could_serve, needs_in_all};
use crate::services::share_out::touching::Touching;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::{PartNeed, RugPart};
use crate::store::rugs::{Colour, FrameSize, RugBand, RugFields};
use crate::store::{Read, RugId};
use crate::units::{Length, Mass, Units};
use crate::web::{Form, Result};

/// Colours nearer to each other than this, by CIEDE2000, are one swatch: beside each other on the shelf one can't tell them apart.
const ONE_SWATCH: f64 = 3.0;
/// Less than this lies about as a rest, and makes no band: an ounce.
const REST: f64 = 28.35;
/// Swatches grow by the strip that lies there: as large as [`LARGEST`] from this weight on.
const FULL_SIZE: f64 = 2500.0;
const LARGEST: u32 = 5;

/// The cloth that lies on the shelf, and what of it is promised.
pub(super) struct Shelf {
    offered: Vec<Offered>,
    standing: Vec<Promise>,
}

impl Shelf {
    /// As it is now.
    pub(super) async fn load(read: &mut Read) -> Result<Self> {
        let standing = read.promises().await?;
        Ok(Self { offered: read.offered_beside(&standing).await?, standing })
    }

    /// The colours that there is free, washed cloth of for the weft: light before dark within a family, with the strip they make.
    fn swatches(&self, kind: Kind) -> Vec<Swatch> {
        let part = RugPart {
            rug_id: RugId::new(),
            warp: false,
            colour_name: String::new(),
            colour_hex: String::new(),
        };
        let need = PartNeed { part, kind, wanted_mg: Mass::ZERO };
        let free = |one: &Offered| one.usable.0.net(free_weight(one));
        let mut lying: Vec<(&Offered, Mass)> = (self.offered.iter())
            .filter(|one| one.state == BundleState::Ready && could_serve(one, &need))
            .map(|one| (one, free(one)))
            .filter(|(_, free)| free.grams() > 0.0)
            .collect();
        // The largest gives a swatch its name.
        lying.sort_by_key(|(one, free)| (std::cmp::Reverse(*free), one.tag));
        let mut swatches: Vec<Swatch> = Vec::new();
        for (one, free) in lying {
            let same = |swatch: &&mut Swatch| swatch.hex.difference(one.colour_hex) <= ONE_SWATCH;
            if let Some(swatch) = swatches.iter_mut().find(same) {
                swatch.free += free;
            } else {
                let (name, hex) = (one.colour_name.clone(), one.colour_hex);
                swatches.push(Swatch { name, hex, free, size: 1 });
            }
        }
        swatches.retain(|swatch| swatch.free.grams() >= REST);
        for swatch in &mut swatches {
            let share = (swatch.free.grams() / FULL_SIZE).min(1.0).sqrt();
            swatch.size = (share * f64::from(LARGEST)).ceil().max(1.0) as u32;
        }
        let place = |hex: Hex| Family::ALL.iter().position(|one| *one == hex.family());
        swatches.sort_by(|a, b| {
            let dark = |swatch: &Swatch| swatch.hex.difference(colour::NAMED[0].hex);
            (place(a.hex).cmp(&place(b.hex))).then(dark(a).total_cmp(&dark(b)))
        });
        swatches
    }

    /// A plain rug to begin with: one band, in the colour that there is most of.
    pub(super) fn begin(&self, form: &mut Form, span: Length) {
        let units = form.units();
        let kind = form.value("weft_kind").parse().unwrap_or(Kind::Percale);
        let Some(most) = self.swatches(kind).into_iter().max_by_key(|swatch| swatch.free) else { return };
        let length = span - acts::step(units).scale(4.0);
        form.set("band-1-height", length.exact(units));
        for strand in ["first", "other"] {
            form.set(&format!("band-1-{strand}"), most.word());
        }
    }
}

/// A colour of the shelf.
#[derive(Clone, Debug)]
pub(super) struct Swatch {
    pub name: String,
    pub hex: Hex,
    /// Strip that free, washed bundles of it make.
    pub free: Mass,
    /// How large it is shown, from 1 to [`LARGEST`].
    pub size: u32,
}

impl Swatch {
    /// What the form calls the colour.
    pub(super) fn word(&self) -> String {
        typed::colour_word(&Colour { name: self.name.clone(), hex: self.hex.to_string() })
    }
}

/// Swatches of one hue.
pub(super) struct Hue<'a> {
    family: Family,
    pub swatches: Vec<&'a Swatch>,
    pub open: bool,
}

impl Hue<'_> {
    pub(super) fn name(&self) -> &'static str {
        self.family.title()
    }
}

/// The address of designs that keep a band of the rug where it is.
fn around(drawn: &Drawn<'_>, at: usize, units: Units) -> String {
    let from: Length = drawn.bands.iter().take(at).map(|band| band.height).sum();
    let kept = drawn.bands.get(at).and_then(|band| {
        let hex = |colour: &Colour| Hex::parse(&colour.hex).ok();
        let colours = [hex(&band.first)?, hex(&band.other)?];
        Some(KeptBand { from, band: DesignBand { height: band.height, colours } })
    });
    let mut query = form_urlencoded::Serializer::new(String::new());
    query.append_pair("size", &typed::size_word(&FrameSize::of(drawn.fields)));
    query.append_pair("strip_width", &drawn.fields.strip_width_nm.exact(units));
    query.extend_pairs(kept.map(|kept| ("keep", kept.to_string())));
    format!("/rugs/suggest?{}#designs", query.finish())
}

/// A band as the board lists it.
pub(super) struct Band {
    /// Counted from the start of the weaving.
    pub number: usize,
    pub height: Length,
    pub first: Colour,
    pub other: Colour,
    pub at_hand: bool,
    pub charted: bool,
}

/// What the chart of the band at hand is drawn with.
pub(super) struct ChartDesk {
    /// The number of the band's fields in the form.
    pub field: usize,
    /// The units of the rug, and the rows of the band.
    pub units: u32,
    pub rows: u32,
    /// How wide and how high the chart is, or is to be.
    pub size: [u32; 2],
    /// How many times as wide as high a cell is.
    pub ratio: f64,
    pub is_there: bool,
    /// What is typed for letters, with what is wrong with it.
    pub letters: (String, String),
    /// What is wrong with the size.
    pub wrong_size: String,
}

impl ChartDesk {
    fn of(form: &Form, drawn: &Drawn<'_>, at: usize) -> Option<Self> {
        let (band, rows) = (drawn.bands.get(at)?, drawn.plan.pattern.bands.get(at)?);
        let units = drawn.plan.pattern.units;
        let (most_across, most_high) = (Chart::MOST_ACROSS as u32, Chart::MOST_ROWS as u32);
        let whole = [units.min(most_across), rows.rows().clamp(1, most_high)];
        let unit = drawn.plan.width.ratio(drawn.plan.length) / f64::from(units.max(1));
        let row = (rows.end - rows.start).ratio(drawn.plan.length) / f64::from(rows.rows().max(1));
        let value = |name: &str| form.value(name).to_owned();
        Some(Self {
            field: acts::row_at_hand(form),
            units,
            rows: rows.rows(),
            size: band.chart.as_ref().map_or(whole, |chart| [chart.across(), chart.high()]),
            ratio: (unit / row.max(f64::EPSILON)).clamp(0.25, 6.0),
            is_there: band.chart.is_some(),
            letters: (value(charts::LETTERS), value(charts::WRONG_LETTERS)),
            wrong_size: value(charts::WRONG_SIZE),
        })
    }

    /// How many rows a line of a letter takes, so that letters look as they are drawn.
    pub(super) fn letter_rows(&self) -> u32 {
        self.ratio.round().clamp(1.0, 4.0) as u32
    }

    /// The proportion as a stylesheet takes it.
    pub(super) fn proportion(&self) -> String {
        format!("{:.3}", self.ratio)
    }
}

impl Band {
    pub(super) fn words(&self) -> String {
        if self.first == self.other {
            self.first.name.clone()
        } else if self.charted {
            format!("{} with {}, by a chart", self.first.name, self.other.name)
        } else {
            format!("{} with {}", self.first.name, self.other.name)
        }
    }
}

/// What a part of the rug takes, and what there is for it.
pub(super) struct Line {
    pub covered: Covered,
    /// What helps where cloth is lacking: so much less woven of it; or another colour that there is enough of.
    pub less: Option<Length>,
    pub instead: Option<Swatch>,
}

impl Line {
    fn part(&self) -> &RugPart {
        &self.covered.need.part
    }

    pub(super) fn is_warp(&self) -> bool {
        self.part().warp
    }

    pub(super) fn name(&self) -> &str {
        if self.is_warp() { "Warp" } else { &self.part().colour_name }
    }

    pub(super) fn hex(&self) -> &str {
        &self.part().colour_hex
    }

    /// What the form calls its colour.
    pub(super) fn word(&self) -> String {
        typed::colour_word(&Colour { name: self.name().to_owned(), hex: self.hex().to_owned() })
    }

    pub(super) fn is_short(&self) -> bool {
        self.covered.lacking > Mass::ZERO
    }

    pub(super) fn takes(&self) -> Mass {
        self.covered.need.wanted_mg
    }

    /// How full the bar of what is free gets, in per mille.
    pub(super) fn share(&self) -> u32 {
        let free = self.covered.free.max(Mass::from_grams(1.0));
        (self.takes().ratio(free) * 1e3).round().clamp(0.0, 1e3) as u32
    }
}

/// The board of one rug.
pub(super) struct Board {
    /// The drawing, with its ruler.
    pub picture: String,
    /// From the start up.
    pub bands: Vec<Band>,
    /// How long the rug can be.
    pub span: Length,
    pub length: Length,
    pub swatches: Vec<Swatch>,
    pub lines: Vec<Line>,
    /// The address of designs around the band at hand.
    pub around: String,
    /// What a tap on a colour is for: `both`, `first` or `other`.
    pub strand: String,
    pub step: Length,
    pub units: Units,
    /// The chart of the band at hand, where it has two colours.
    pub chart: Option<ChartDesk>,
}

/// A rug that the board draws: as the form has it, and as it was planned.
pub(super) struct Drawn<'a> {
    pub rug: Option<RugId>,
    pub fields: &'a RugFields,
    pub bands: &'a [RugBand],
    pub colours: &'a [Colour],
    pub plan: &'a Plan,
}

impl Board {
    /// The drawing of a rug with its ruler, where its bands meet and the one at hand.
    pub(super) fn picture(planned: &RugInput, plan: &Plan, form: &Form, id: &str) -> Result<String> {
        let at = acts::at_hand(form);
        let mut ends = Vec::new();
        let mut from = Length::ZERO;
        for band in &planned.spec.bands {
            ends.push((from, from + band.height));
            from += band.height;
        }
        let bounds: Vec<Length> = ends.iter().skip(1).map(|(from, _)| *from).collect();
        let ruler = Ruler { units: form.units(), bounds: &bounds, at_hand: ends.get(at).copied() };
        Ok(planned.picture_ruled(plan, &ruler, id)?)
    }

    /// The board of a rug: `picture` is its drawing.
    pub(super) fn of(form: &Form, drawn: &Drawn<'_>, shelf: &Shelf, picture: String) -> Self {
        let units = form.units();
        let at = acts::at_hand(form);
        let band = |(n, band): (usize, &RugBand)| Band {
            number: n + 1,
            height: band.height,
            first: band.first.clone(),
            other: band.other.clone(),
            at_hand: n == at,
            charted: band.chart.is_some(),
        };
        let rug = drawn.rug.unwrap_or_else(RugId::new);
        let swatches = shelf.swatches(drawn.fields.weft_kind);
        let needs = needs_in_all(rug, drawn.fields, drawn.plan, drawn.colours);
        let touching = Touching::of_bands(rug, drawn.bands);
        let lines = cover(needs, &shelf.offered, &shelf.standing, &touching);
        let lines = lines.into_iter().map(|covered| helped(covered, drawn.bands, &swatches, units));
        let strand = form.value(acts::STRAND);
        Self {
            picture,
            bands: drawn.bands.iter().enumerate().map(band).collect(),
            span: drawn.fields.span_nm,
            length: drawn.plan.length,
            lines: lines.collect(),
            swatches,
            around: around(drawn, at, units),
            strand: if ["first", "other"].contains(&strand) { strand } else { "both" }.to_owned(),
            step: acts::step(units),
            units,
            chart: ChartDesk::of(form, drawn, at)
                .filter(|_| drawn.bands.get(at).is_some_and(|band| band.first != band.other)),
        }
    }

    /// The band at hand.
    pub(super) fn at_hand(&self) -> &Band {
        self.bands.iter().find(|band| band.at_hand).unwrap_or(&self.bands[0])
    }

    /// The swatches by the name of their hue; those of the band at hand are open.
    pub(super) fn hues(&self) -> Vec<Hue<'_>> {
        let band = self.at_hand();
        let own = [&band.first, &band.other].map(|one| Hex::parse(&one.hex).ok().map(Hex::family));
        let mut hues: Vec<Hue> = Vec::new();
        for swatch in &self.swatches {
            let family = swatch.hex.family();
            match hues.last_mut().filter(|hue| hue.family == family) {
                Some(hue) => hue.swatches.push(swatch),
                None => {
                    hues.push(Hue { family, swatches: vec![swatch], open: own.contains(&Some(family)) });
                }
            }
        }
        hues
    }

    /// Whether what is left of a colour, over what the rug takes of it already, is enough for the band at hand.
    pub(super) fn suffices(&self, swatch: &Swatch) -> bool {
        let near = |line: &&Line| {
            !line.is_warp()
                && Hex::parse(line.hex()).is_ok_and(|hex| hex.difference(swatch.hex) <= SERVES as f64)
        };
        let taken: Mass = self.lines.iter().filter(near).map(Line::takes).sum();
        let band = self.at_hand();
        let weft: Mass = self.lines.iter().filter(|line| !line.is_warp()).map(Line::takes).sum();
        let strands = if self.strand == "both" { 1.0 } else { 0.5 };
        let wanted = weft.scale(band.height.ratio(self.length).min(1.0) * strands);
        let has = [&band.first, &band.other].iter().any(|one| one.hex == swatch.hex.to_string());
        has || swatch.free >= taken + wanted
    }

    /// The names of the parts for which cloth is lacking.
    pub(super) fn short(&self) -> Vec<String> {
        let short = self.lines.iter().filter(|line| line.is_short());
        short
            .map(|line| if line.is_warp() { "the warp".to_owned() } else { line.name().to_lowercase() })
            .collect()
    }
}

/// What helps where cloth of a colour is lacking.
fn helped(covered: Covered, bands: &[RugBand], swatches: &[Swatch], units: Units) -> Line {
    let mut line = Line { covered, less: None, instead: None };
    if !line.is_short() || line.is_warp() {
        return line;
    }
    let is = |colour: &Colour| colour.name == line.part().colour_name && colour.hex == line.part().colour_hex;
    let woven: Length =
        bands.iter().filter(|band| is(&band.first) || is(&band.other)).map(|band| band.height).sum();
    let step = acts::step(units);
    let less = woven.scale(line.covered.lacking.ratio(line.takes().max(Mass::from_grams(1.0))));
    let less = step.scale(less.ratio(step).ceil());
    let hex = Hex::parse(line.hex()).ok();
    let used = |swatch: &Swatch| {
        bands.iter().flat_map(|band| [&band.first, &band.other]).any(|one| one.hex == swatch.hex.to_string())
    };
    let enough = swatches.iter().filter(|swatch| swatch.free >= line.takes() && !used(swatch));
    let instead = hex.and_then(|hex| {
        let off = |swatch: &Swatch| hex.difference(swatch.hex);
        enough.min_by(|a, b| off(a).total_cmp(&off(b)))
    });
    let instead = instead.cloned();
    line.less = (less < woven).then_some(less);
    line.instead = instead;
    line
}
