//! The part of a form that says what designs should be like, and reading it.
use super::common::{Offer, rug_fields, size_choices};
use crate::optimize::design::{self, KeptBand, Mood, Wishes};
use crate::planning::Kind;
use crate::planning::colour::Hex;
use crate::services::free_cloth::{FreeCloth, FreeColour};
use crate::store::rugs::{FrameSize, RugFields};
use crate::units::Mass;
use crate::web::Form;

/// The most colours that are offered to build on.
const OFFERED: usize = 24;
/// The most times that others are asked for.
const MOST_AGAIN: u64 = 1_000;

const MOODS: [(&str, &str); 4] =
    [("calm", "Calm"), ("lively", "Lively"), ("light", "Light"), ("dark", "Dark")];

/// What the form offers.
pub(super) struct WishForm {
    pub sizes: Vec<(String, String)>,
    pub kinds: Vec<(&'static str, &'static str)>,
    pub avoid: Vec<(String, String)>,
    pub colours: Vec<ColourChoice>,
    /// Its word, its name, and whether it is ticked.
    pub moods: Vec<(&'static str, &'static str, bool)>,
    /// Bands that are kept: as the address has them, and in words.
    pub kept: Vec<(String, String)>,
}

/// A colour that can be built on.
pub(super) struct ColourChoice {
    pub hex: Hex,
    pub name: String,
    /// What is free of it; nothing where the shelf has none.
    pub free: Option<Mass>,
    pub chosen: bool,
}

impl WishForm {
    pub(super) fn of(offer: &Offer, form: &Form) -> Self {
        let free = &offer.free;
        let avoid = free.colours().into_iter().map(|colour| (colour.hex.to_string(), colour.name.to_owned()));
        let ticked = |key: &str| form.values("mood").any(|mood| mood == key);
        Self {
            sizes: size_choices(&offer.choices, form.units()),
            kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
            avoid: avoid.collect(),
            colours: colour_choices(free, form),
            moods: MOODS.iter().map(|(key, name)| (*key, *name, ticked(key))).collect(),
            kept: kept_words(free, form),
        }
    }
}

/// The kept bands in words: `4 in of Navy with cream at 8 in`.
fn kept_words(free: &FreeCloth, form: &Form) -> Vec<(String, String)> {
    let units = form.units();
    let words = |text: &str| {
        let kept: KeptBand = text.parse().ok()?;
        let [first, other] = kept.band.colours.map(|hex| free.names(&[hex]).concat());
        let colours = if first == other { first } else { format!("{first} with {}", other.to_lowercase()) };
        let (height, from) = (kept.band.height.show(units), kept.from.show(units));
        let place = if kept.from.nm() == 0 { "at the start".to_owned() } else { format!("at {from}") };
        Some((text.to_owned(), format!("{height} of {colours} {place}")))
    };
    form.values("keep").filter_map(words).collect()
}

/// What is asked, read.
pub(super) struct Asked {
    pub fields: RugFields,
    pub wishes: Wishes,
    pub seed: u64,
}

pub(super) fn read(form: &mut Form, sizes: &[FrameSize]) -> Option<Asked> {
    let colours = form.optional("colours", None, |form| {
        let most = design::MOST_COLOURS as i64;
        form.count("colours", "The number of colours", 1..=most)
            .and_then(|n| usize::try_from(n).ok())
            .map(Some)
    });
    let weft_kind = form.optional("kind", None, |form| form.choice::<Kind>("kind", "the cloth").map(Some));
    let hexes = |form: &mut Form, name: &str| {
        let mut hexes: Vec<Hex> = Vec::new();
        for text in form.values(name).filter(|text| !text.is_empty()).map(str::to_owned).collect::<Vec<_>>() {
            match text.parse::<Hex>() {
                Ok(hex) if !hexes.contains(&hex) => hexes.push(hex),
                Ok(_) => {}
                Err(why) => form.add_error(name, why),
            }
        }
        if hexes.len() > design::MOST_COLOURS {
            form.add_error(name, format!("Choose {} colours at most.", design::MOST_COLOURS));
        }
        hexes
    };
    let (build_on, avoid) = (hexes(form, "build"), hexes(form, "avoid"));
    let mut moods = Vec::new();
    for mood in form.values("mood").filter(|mood| !mood.is_empty()).map(str::to_owned).collect::<Vec<_>>() {
        match mood.parse::<Mood>() {
            Ok(mood) => moods.push(mood),
            Err(why) => form.add_error("mood", why),
        }
    }
    let symmetrical = match form.value("halves") {
        "alike" => Some(true),
        "unlike" => Some(false),
        _ => None,
    };
    let keep = read_keep(form);
    let fields = rug_fields(form, sizes);
    let wishes =
        Wishes { colours: colours?, build_on, keep, avoid, moods, symmetrical, weft_kind: weft_kind? };
    // An address that says it otherwise asks for the first ones.
    let seed = form.value("again").parse().unwrap_or(0_u64).min(MOST_AGAIN) + 1;
    Some(Asked { fields: fields?, wishes, seed }).filter(|_| form.is_ok())
}

fn read_keep(form: &mut Form) -> Vec<KeptBand> {
    let mut keep: Vec<KeptBand> = Vec::new();
    for text in form.values("keep").filter(|text| !text.is_empty()).map(str::to_owned).collect::<Vec<_>>() {
        match text.parse::<KeptBand>() {
            Ok(kept) if !keep.contains(&kept) => keep.push(kept),
            Ok(_) => {}
            Err(why) => form.add_error("keep", why),
        }
    }
    if keep.len() > design::MOST_KEPT {
        form.add_error("keep", format!("Keep {} bands at most.", design::MOST_KEPT));
    }
    keep
}

fn colour_choices(free: &FreeCloth, form: &Form) -> Vec<ColourChoice> {
    let chosen: Vec<Hex> = form.values("build").filter_map(|text| text.parse().ok()).collect();
    let choice = |colour: FreeColour| ColourChoice {
        hex: colour.hex,
        name: colour.name.to_owned(),
        free: Some(colour.strip),
        chosen: chosen.contains(&colour.hex),
    };
    let mut choices: Vec<ColourChoice> = free.colours().into_iter().take(OFFERED).map(choice).collect();
    // What was kept of a design stays ticked, whatever is offered.
    for hex in chosen {
        if choices.iter().all(|known| known.hex != hex) {
            let name = free.names(&[hex]).concat();
            choices.push(ColourChoice { hex, name, free: None, chosen: true });
        }
    }
    choices
}
