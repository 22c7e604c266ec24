//! What a weaver may wish of a design.
use super::bands::KeptBand;
use crate::planning::Kind;
use crate::planning::colour::Hex;
use std::str::FromStr;
use thiserror::Error;

/// How a design should feel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mood {
    /// Neighbours differ little, colours are quiet.
    Calm,
    /// Neighbours differ much, colours are strong.
    Lively,
    /// Light in all.
    Light,
    /// Dark in all.
    Dark,
}

impl Mood {
    /// Every mood.
    pub const ALL: [Self; 4] = [Self::Calm, Self::Lively, Self::Light, Self::Dark];

    /// The word in files and addresses.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Calm => "calm",
            Self::Lively => "lively",
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }
}

/// A word that is no mood.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” isn't a mood: calm, lively, light or dark is allowed.")]
pub struct UnknownMood(String);

impl FromStr for Mood {
    type Err = UnknownMood;

    fn from_str(text: &str) -> Result<Self, UnknownMood> {
        let short = || UnknownMood(text.chars().take(24).filter(|c| !c.is_control()).collect());
        Self::ALL.into_iter().find(|mood| mood.key() == text).ok_or_else(short)
    }
}

/// What a design should be like; nothing of it is needed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wishes {
    /// So many colours of weft.
    pub colours: Option<usize>,
    /// Colours that every design has, or the shelf's nearest to them.
    pub build_on: Vec<Hex>,
    /// Bands that every design has, where they are; where both halves are alike, in both.
    pub keep: Vec<KeptBand>,
    /// Colours from which to stay away.
    pub avoid: Vec<Hex>,
    /// How it should feel.
    pub moods: Vec<Mood>,
    /// Both halves alike, or not.
    pub symmetrical: Option<bool>,
    /// The kind of cloth of the weft.
    pub weft_kind: Option<Kind>,
}

impl Wishes {
    /// The colours that a design is to have: those to build on, then those of kept bands.
    pub(super) fn wanted(&self) -> Vec<Hex> {
        let mut wanted = self.build_on.clone();
        for hex in self.keep.iter().flat_map(|kept| kept.band.colours) {
            if !wanted.contains(&hex) {
                wanted.push(hex);
            }
        }
        wanted
    }

    pub(super) fn wants(&self, mood: Mood) -> bool {
        self.moods.contains(&mood)
    }
}

/// A wish that a design doesn't keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Miss {
    /// It has another number of colours.
    Colours,
    /// It has nothing near that colour.
    BuildOn(Hex),
}
