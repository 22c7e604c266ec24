//! What a question for a design and one for a rug from rests have in common: a size of frame, a width of strip, and the form of
//! *Plan a rug* that the answer fills.
use crate::planning::RugSpec;
use crate::planning::colour::NAMED;
use crate::planning::frame::size_words;
use crate::services::free_cloth::FreeCloth;
use crate::services::learning::Learning;
use crate::store::Read;
use crate::store::rugs::{FrameSize, RugBand, RugFields};
use crate::units::{Length, Units};
use crate::web::pages::rugs::choices::{Choices, choices};
use crate::web::pages::rugs::typed;
use crate::web::{CurrentUser, Error, Form, Result};

/// What there is to choose from and to weave with, in one view.
pub(super) struct Offer {
    pub choices: Choices,
    pub free: FreeCloth,
    pub learning: Learning,
}

impl Offer {
    pub(super) async fn load(mut read: Read, me: &CurrentUser) -> Result<Self> {
        Self::load_of(&mut read, me).await
    }

    /// The same where more is read in the view.
    pub(super) async fn load_of(read: &mut Read, me: &CurrentUser) -> Result<Self> {
        let choices = choices(read, me).await?;
        Ok(Self { choices, free: FreeCloth::load(read).await?, learning: Learning::load(read).await? })
    }
}

/// A question with the first size of frame that there is, and the usual strips.
pub(super) fn blank(choices: &Choices, units: Units) -> Form {
    let size = choices.sizes.first().map_or_else(String::new, typed::size_word);
    Form::blank(units).with("size", size).with("strip_width", Length::inches(1.5).exact(units))
}

/// (value, words) of each size of frame.
pub(super) fn size_choices(choices: &Choices, units: Units) -> Vec<(String, String)> {
    let words = |size: &FrameSize| size_words(size.width_nm, size.span_nm, size.nails, units);
    choices.sizes.iter().map(|size| (typed::size_word(size), words(size))).collect()
}

/// A plain rug of the size and strip that are asked for, read as the form of *Plan a rug* reads it.
pub(super) fn rug_fields(form: &mut Form, sizes: &[FrameSize]) -> Option<RugFields> {
    let units = form.units();
    let strip = form.length("strip_width", Length::inches(0.25), Length::inches(6.0));
    let chosen = form.value("size").to_owned();
    let Some(size) = sizes.iter().find(|size| typed::size_word(size) == chosen) else {
        form.add_error("size", "Choose a frame’s size.");
        return None;
    };
    let mut rug = typed::blank(units)
        .with("name", "-")
        .with("size", &chosen)
        .with("strip_width", strip?.exact(units))
        .with("band-1-height", (size.span_nm - RugSpec::ALLOWANCE).exact(units))
        .with("band-1-first", NAMED[0].key)
        .with("band-1-other", NAMED[0].key);
    let read = typed::read(&mut rug, sizes);
    if read.is_none() {
        let why = rug.errors().first().map_or_else(String::new, |(_, message)| message.clone());
        form.add_error("strip_width", why);
    }
    read.map(|(fields, _)| fields)
}

/// The fields of the form of *Plan a rug*, filled in.
pub(super) fn filled(fields: &RugFields, bands: &[RugBand], units: Units) -> Vec<(String, String)> {
    let filled = typed::fill(fields, bands, 0, units).serialize(&["revision"]);
    form_urlencoded::parse(filled.as_bytes()).into_owned().collect()
}

/// A rug that was read and can't be planned after all.
pub(super) fn fault(why: &dyn std::fmt::Display) -> Error {
    crate::services::Error::Fault(why.to_string()).into()
}
