//! What a weaver chooses for a rug, and what is wrong with a choice. What follows from it is in `plan`.
use super::cloth::Kind;
use super::frame::Frame;
use super::pattern::{AtRod, Band, WovenFrom};
use super::settings::{BadEstimate, Estimate, Parameter, Provenance, Sample, Settings};
use super::warp::nail_rows::{NailRows, RowsError};
use super::warp::path::WarpPath;
use super::warp::winding::{Middle, Winding, WindingError};
use crate::units::{Length, Quantity, RangeError, Units};
use thiserror::Error;

/// A rug as chosen.
///
/// # Examples
/// ```
/// use thrumhall::planning::{Band, RugSpec, SpecError};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// let band = |inches: f64, colours: [u16; 2]| Band::plain(Length::inches(inches), colours);
/// let bands = vec![band(4.0, [0, 0]), band(22.0, [1, 2]), band(4.0, [0, 0])];
/// let spec = RugSpec { bands, ..RugSpec::plain(frame) };
/// assert_eq!(spec.check(Units::Inches)?.length, Length::inches(30.0));
/// let long = RugSpec { length: Some(Length::inches(32.0)), ..spec };
/// assert!(matches!(long.check(Units::Inches), Err(SpecError::BandsMisfit { .. })));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RugSpec {
    /// The frame it is woven on.
    pub frame: Frame,
    /// How its nail rows stand to each other.
    pub rows: NailRows,
    /// How the warp is wound over the nails.
    pub winding: Winding,
    /// Woven length; the bands' heights together, or the span less [`RugSpec::ALLOWANCE`], when not chosen.
    pub length: Option<Length>,
    /// Woven width; the frame's width when not chosen.
    pub width: Option<Length>,
    /// Bands from the start; one band of colour 0 when empty.
    pub bands: Vec<Band>,
    /// Width of the strips, warp and weft.
    pub strip_width: Length,
    /// Kind of cloth of the warp.
    pub warp_kind: Kind,
    /// Kind of cloth of the weft.
    pub weft_kind: Kind,
    /// Warp strands that a weft strand passes together, usually two.
    pub unit_size: u32,
    /// What the strands do at the rod.
    pub at_rod: AtRod,
    /// Where the weaving begins.
    pub from: WovenFrom,
    /// Length of fringe at each end, where there is one.
    pub fringe: Option<Length>,
    /// Margin by which a non-slip backing stays inside the rug, where there is one.
    pub backing: Option<Length>,
    /// Rugs that the weaver has finished before.
    pub rugs_before: u32,
    /// Values measured or learnt, which replace defaults.
    pub known: Vec<(Parameter, Estimate)>,
    /// A woven sample, which replaces rows per inch and the weight of a row.
    pub sample: Option<Sample>,
}

/// Why a rug can't be planned. Each names the field, the value and what is allowed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SpecError {
    /// The woven length is out of range.
    #[error("Length: {0}")]
    Length(RangeError),
    /// The woven width is out of range.
    #[error("Width: {0}")]
    Width(RangeError),
    /// The strip width is out of range.
    #[error("Strip width: {0}")]
    StripWidth(RangeError),
    /// A band's height is out of range.
    #[error("Band {number}: {source}")]
    Band {
        /// Which band, counted from 1.
        number: usize,
        /// What is wrong.
        source: RangeError,
    },
    /// Too many bands.
    #[error("{given} bands are too many: {max} are the most.")]
    TooManyBands {
        /// How many were given.
        given: usize,
        /// The most.
        max: usize,
    },
    /// The bands don't fill the length.
    #[error("The bands are {bands} together, but the rug is {length} long: they must be equal.")]
    BandsMisfit {
        /// Their sum.
        bands: String,
        /// The chosen length.
        length: String,
    },
    /// The frame's nail rows can't be.
    #[error(transparent)]
    Rows(#[from] RowsError),
    /// The warp can't be wound so.
    #[error(transparent)]
    Winding(#[from] WindingError),
    /// A band's strip is out of range.
    #[error("Strip of band {number}: {source}")]
    BandStrip {
        /// Which band, counted from 1.
        number: usize,
        /// What is wrong.
        source: RangeError,
    },
    /// The unit size is out of range.
    #[error("Warp unit: {given} strands are out of range: from 1 to 6 is allowed.")]
    UnitSize {
        /// What was given.
        given: u32,
    },
    /// The fringe is out of range.
    #[error("Fringe: {0}")]
    Fringe(RangeError),
    /// The backing's margin is out of range.
    #[error("Backing margin: {0}")]
    Backing(RangeError),
    /// A measured or learnt value can't be used.
    #[error(transparent)]
    Known(#[from] BadEstimate),
    /// A sample's stretch is longer than the rug.
    #[error("Sample: {0}")]
    Sample(RangeError),
    /// Strips no longer than what a join takes.
    #[error(
        "Strips of {strip} are too short: a join takes {join}, and each strip must be longer than two joins."
    )]
    StripTooShort {
        /// The strip's length.
        strip: String,
        /// What a join takes.
        join: String,
    },
}

impl RugSpec {
    /// What the rug is shorter than the span when nobody chose its length: the hooks of the warp round the nails can't be
    /// woven. Common practice, no source.
    pub const ALLOWANCE: Length = Length::from_nm(25_400_000);
    /// The most bands that a rug may have.
    pub const MAX_BANDS: usize = 200;
    const MIN_STRIP: Length = Length::from_nm(25_400_000 / 4);
    const MAX_STRIP: Length = Length::from_nm(6 * 25_400_000);
    const TOLERANCE: Length = Length::from_nm(25_400_000 / 16);

    /// A plain rug of the frame's full size: percale strips 1½ in wide, one colour.
    pub fn plain(frame: Frame) -> Self {
        Self {
            frame,
            rows: NailRows::Facing,
            winding: Winding::default(),
            length: None,
            width: None,
            bands: Vec::new(),
            strip_width: Length::inches(1.5),
            warp_kind: Kind::Percale,
            weft_kind: Kind::Percale,
            unit_size: 2,
            at_rod: AtRod::Trade,
            from: WovenFrom::OneEnd,
            fringe: None,
            backing: None,
            rugs_before: 0,
            known: Vec::new(),
            sample: None,
        }
    }

    /// The rug, with every choice checked and every default filled in.
    ///
    /// # Errors
    /// [`SpecError`] names the first choice that can't be, with the range in the person's units.
    pub fn check(&self, units: Units) -> Result<Rug, SpecError> {
        let frame = self.frame;
        let least = Length::inches(2.0);
        let sum: Length = self.bands.iter().map(|band| band.height).sum();
        let given = self.length.or((!self.bands.is_empty()).then_some(sum));
        if self.bands.len() > Self::MAX_BANDS {
            return Err(SpecError::TooManyBands { given: self.bands.len(), max: Self::MAX_BANDS });
        }
        for (i, band) in self.bands.iter().enumerate() {
            let fits = band.height.within(Length::inches(0.125), frame.span(), units);
            fits.map_err(|source| SpecError::Band { number: i + 1, source })?;
            if let Some(strip) = band.strip {
                let fits = strip.within(Self::MIN_STRIP, Self::MAX_STRIP, units);
                fits.map_err(|source| SpecError::BandStrip { number: i + 1, source })?;
            }
        }
        let length = given.unwrap_or(frame.span() - Self::ALLOWANCE);
        length.within(least, frame.span(), units).map_err(SpecError::Length)?;
        if !self.bands.is_empty() && (sum - length).abs() > Self::TOLERANCE {
            return Err(SpecError::BandsMisfit { bands: sum.exact(units), length: length.exact(units) });
        }
        let width = self.width.unwrap_or(frame.width());
        width.within(least, frame.width(), units).map_err(SpecError::Width)?;
        self.strip_width.within(Self::MIN_STRIP, Self::MAX_STRIP, units).map_err(SpecError::StripWidth)?;
        if !(1..=6).contains(&self.unit_size) {
            return Err(SpecError::UnitSize { given: self.unit_size });
        }
        if let Some(fringe) = self.fringe {
            fringe.within(Length::inches(0.5), Length::inches(18.0), units).map_err(SpecError::Fringe)?;
        }
        if let Some(margin) = self.backing {
            let most = width.min(length).scale(0.4);
            if margin != Length::ZERO {
                margin.within(Length::ZERO, most, units).map_err(SpecError::Backing)?;
            }
        }
        if let Some(sample) = self.sample {
            sample.woven.within(Length::inches(0.5), length, units).map_err(SpecError::Sample)?;
        }
        let settings = self.settings(units)?;
        let join = settings.at().length(Parameter::Join);
        for parameter in [Parameter::SheetStrip, Parameter::WeftPiece] {
            let strip = settings.at().length(parameter);
            if strip <= join * 2 {
                return Err(SpecError::StripTooShort { strip: strip.show(units), join: join.show(units) });
            }
        }
        // Strips said to be as wide as the rug's own are the rug's own.
        let own =
            |band: &Band| Band { strip: band.strip.filter(|strip| *strip != self.strip_width), ..*band };
        let bands = if self.bands.is_empty() {
            vec![Band::plain(length, [0, 0])]
        } else {
            self.bands.iter().map(own).collect()
        };
        let places = self.rows.places(&frame, units)?;
        let middle =
            if width < frame.width() { Middle::Nails(frame.nails_for(width)) } else { Middle::Whole };
        let path = self.winding.path(&places, &middle)?;
        Ok(Rug { spec: self.clone(), length, width, bands, path, settings })
    }

    fn settings(&self, units: Units) -> Result<Settings, SpecError> {
        let mut settings = Settings::default();
        for (parameter, kind) in
            [(Parameter::WarpAreal, self.warp_kind), (Parameter::WeftAreal, self.weft_kind)]
        {
            let facts = kind.facts();
            settings.set(
                parameter,
                Estimate::default_areal([facts.low, facts.typical, facts.high]),
                units,
            )?;
        }
        let stretch = self.warp_kind.facts().stretch;
        settings.set(Parameter::Give, Estimate::default_ratio([0.0, stretch, 2.0 * stretch]), units)?;
        if let Some(diameter) = self.frame.nail_diameter() {
            let value = Quantity::Length(diameter);
            let sure = Estimate { value, low: value, high: value, basis: Provenance::Measured };
            settings.set(Parameter::NailDiameter, sure, units)?;
        }
        // Tapes are read to 1/8 in.
        let eighth = Length::inches(0.125).ratio(self.frame.span());
        settings.set(
            Parameter::SpanError,
            Estimate::default_ratio([1.0 - eighth, 1.0, 1.0 + eighth]),
            units,
        )?;
        for (parameter, setting) in &self.known {
            settings.set(*parameter, *setting, units)?;
        }
        if let Some(sample) = self.sample {
            sample.apply(&mut settings, units)?;
        }
        Ok(settings)
    }
}

/// A rug whose choices are checked: what the computation works on.
#[derive(Debug, Clone, PartialEq)]
pub struct Rug {
    /// As chosen.
    pub spec: RugSpec,
    /// Woven length.
    pub length: Length,
    /// Woven width.
    pub width: Length,
    /// Bands that fill the length; at least one.
    pub bands: Vec<Band>,
    /// The warp's way over the nails.
    pub path: WarpPath,
    /// Every doubtful input.
    pub settings: Settings,
}
