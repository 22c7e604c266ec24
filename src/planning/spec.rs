//! What a weaver chooses for a rug, and what is wrong with a choice. What follows from it is in `plan`.
use super::chart::Chart;
use super::cloth::Kind;
use super::frame::Frame;
use super::locking::Locking;
use super::pace::pace_reach;
use super::pattern::{AtRod, Band, WovenFrom};
use super::room::Room;
use super::settings::{Estimate, Evaluation, Parameter, Provenance, Sample, Settings};
use super::warp::nail_rows::NailRows;
use super::warp::path::WarpPath;
use super::warp::winding::{Middle, Winding};
use super::warp::yarn::Yarn;
use super::weft;
use crate::units::{Areal, Length, Quantity, Units};

pub use super::spec_error::SpecError;

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
    /// The charts that bands are woven by, by [`super::chart::ChartId`].
    pub charts: Vec<Chart>,
    /// Width of the strips; of the warp's too, where none of its own is chosen.
    pub strip_width: Length,
    /// Width of the warp's strips, where they are cut wider or narrower than the weft's.
    pub warp_strip_width: Option<Length>,
    /// Bought yarn or cord, where the warp is of that and takes no cloth.
    pub warp_yarn: Option<Yarn>,
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
    /// Rugs that the weaver has finished before; where nobody says, the times are those of a practised weaver.
    pub rugs_before: Option<u32>,
    /// Values measured or learnt, which replace defaults.
    pub known: Vec<(Parameter, Estimate)>,
    /// A woven sample, which replaces rows per inch and the weight of a row.
    pub sample: Option<Sample>,
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
            charts: Vec::new(),
            strip_width: Length::inches(1.5),
            warp_strip_width: None,
            warp_yarn: None,
            warp_kind: Kind::Percale,
            weft_kind: Kind::Percale,
            unit_size: 2,
            at_rod: AtRod::Trade,
            from: WovenFrom::OneEnd,
            fringe: None,
            backing: None,
            rugs_before: None,
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
            self.chart_fits(i + 1, band)?;
        }
        let length = given.unwrap_or(frame.span() - Self::ALLOWANCE);
        length.within(least, frame.span(), units).map_err(SpecError::Length)?;
        if !self.bands.is_empty() && (sum - length).abs() > Self::TOLERANCE {
            return Err(SpecError::BandsMisfit { bands: sum.exact(units), length: length.exact(units) });
        }
        let width = self.width.unwrap_or(frame.width());
        width.within(least, frame.width(), units).map_err(SpecError::Width)?;
        self.strip_width.within(Self::MIN_STRIP, Self::MAX_STRIP, units).map_err(SpecError::StripWidth)?;
        if let Some(strip) = self.warp_strip_width {
            strip.within(Self::MIN_STRIP, Self::MAX_STRIP, units).map_err(SpecError::WarpStrip)?;
        }
        if let Some(yarn) = self.warp_yarn {
            yarn.check(units)?;
        }
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
        let settings = self.settings(length, units)?;
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
        let locking = Locking::of(&path, self.unit_size);
        let rug = Rug { spec: self.clone(), length, width, bands, path, locking, settings };
        rug.room().check(Self::MIN_STRIP, units)?;
        Ok(rug)
    }

    /// That a band's chart can be woven.
    fn chart_fits(&self, number: usize, band: &Band) -> Result<(), SpecError> {
        let Some(chart) = band.chart.map(usize::from) else { return Ok(()) };
        let known = self.charts.len();
        if chart >= known {
            return Err(SpecError::NoSuchChart { number, chart: chart + 1, known });
        }
        if band.colours[0] == band.colours[1] {
            return Err(SpecError::ChartInOneColour { number });
        }
        Ok(())
    }

    /// The same rug without its charts.
    pub(super) fn without_charts(&self) -> Self {
        let bands = self.bands.iter().map(|band| Band { chart: None, ..*band }).collect();
        Self { bands, charts: Vec::new(), ..self.clone() }
    }

    /// Width of the warp's strips: their own, or as all others.
    pub fn warp_strip(&self) -> Length {
        self.warp_strip_width.unwrap_or(self.strip_width)
    }

    fn settings(&self, length: Length, units: Units) -> Result<Settings, SpecError> {
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
        // Yarn gives half as much as sheeting; reasoned estimate, no source.
        let stretch = if self.warp_yarn.is_some() { 0.01 } else { self.warp_kind.facts().stretch };
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
        let reach = pace_reach(self.rugs_before);
        let pace = Estimate::default_ratio([1.0 / reach, 1.0, reach]);
        settings.set(Parameter::WeavingPace, pace, units)?;
        for (parameter, setting) in &self.known {
            settings.set(*parameter, *setting, units)?;
        }
        if let Some(sample) = self.sample {
            // A sample of somebody of whom nothing is said may be a first rug's, which leaves more doubt.
            let first_rug = self.rugs_before.unwrap_or(0) == 0;
            sample.apply(&mut settings, length, first_rug, units)?;
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
    /// How the rows at both ends hold its loops.
    pub locking: Locking,
    /// Every doubtful input.
    pub settings: Settings,
}

impl Rug {
    /// How thick bundles of strips of that width and cloth are.
    pub(super) fn bundle(at: &Evaluation, strip: Length, areal: Areal) -> Length {
        weft::bundle_thickness(strip, areal).scale(at.number(Parameter::StripThickness))
    }

    /// How thick a wound warp strand is.
    pub(super) fn warp_thickness(&self, at: &Evaluation) -> Length {
        if let Some(yarn) = self.spec.warp_yarn {
            return yarn.thickness();
        }
        Self::bundle(at, self.spec.warp_strip(), at.areal(Parameter::WarpAreal))
    }

    /// The room that its warp has.
    pub(super) fn room(&self) -> Room {
        Room {
            width: self.width,
            strands: self.path.strands(),
            unit_size: self.spec.unit_size,
            strip: self.spec.warp_yarn.is_none().then(|| self.spec.warp_strip()),
            thickness: self.warp_thickness(&self.settings.at()),
        }
    }

    /// The share of the rug that no sample speaks for, from a twentieth to 1. A sample's doubt is all of the rest's, so
    /// that what is doubtful of the whole is more so of the rest by one over this.
    pub(super) fn unsampled(&self) -> f64 {
        1.0 - self.spec.sample.map_or(0.0, |sample| sample.share(self.length)).min(0.95)
    }
}
