//! The pull sheet: which bundles, how much of each, and for whom, in the order of the shelf.
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::table::{Column, TICK};
use crate::pdf::layout::text::Weight;
use crate::store::cloth::promises::Promise;
use crate::units::{Units, isolated};

/// What the sheet is made of.
pub struct PullSheet<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// What is to be pulled, in the order of the shelf.
    pub promises: &'a [Promise],
    /// Where the live page is.
    pub link: &'a str,
    /// The day it is printed, written out.
    pub printed: &'a str,
    /// How weights are written.
    pub units: Units,
}

impl PullSheet<'_> {
    /// The sheet as PDF.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.finish()
    }

    /// The sheet before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        let text = format!("{}, {}.", isolated(self.workroom), self.printed);
        let mut paper = Paper::new("Pull sheet", size, false, 10.5, Foot { text, bars: false });
        let bundles = self.promises.iter().map(|p| p.tag).collect::<std::collections::BTreeSet<_>>().len();
        paper.head(
            &isolated(self.workroom),
            "Pull sheet",
            &format!("{} pieces from {bundles} bundles, in the order of the shelf", self.promises.len()),
            Some((self.link, "the live sheet")),
        )?;
        paper.paragraph(
            "Weigh what you cut off, write its weight beside, and confirm it on the live sheet. Only washed cloth is pulled. \
             Shears are sharp: cut away from the hand, close them when put down.",
            1.0,
            Weight::Regular,
        );
        paper.gap(0.8);
        let columns = [
            Column::figures("Bundle").strong(),
            Column::words("Place"),
            Column::words("Colour"),
            Column::words("Cloth"),
            Column::figures("Take").strong(),
            Column::words("For"),
            Column::words("Weighed"),
            Column::words("Done"),
        ];
        let row = |p: &Promise| {
            let part =
                if p.part.warp { "warp".to_owned() } else { isolated(&p.part.colour_name.to_lowercase()) };
            let broken = if p.broken().is_some() { ". Not there any more: ask first" } else { "" };
            vec![
                p.tag.to_string(),
                isolated(&p.place),
                isolated(&p.bundle_colour),
                p.kind.facts().title.to_owned(),
                p.promised_mg.show(self.units),
                format!("{}, {}: {part}{broken}", isolated(&p.weaver), isolated(&p.rug)),
                String::new(),
                TICK.to_owned(),
            ]
        };
        paper.table(&columns, &self.promises.iter().map(row).collect::<Vec<_>>());
        Ok(paper)
    }
}
