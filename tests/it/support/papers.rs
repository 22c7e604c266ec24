//! Made-up rugs for papers, also for the benchmarks: any bands, any names.
#![allow(dead_code, reason = "not every user needs all of it")]
use thrumhall::pdf::{Standing, WarpCard};
use thrumhall::planning::cloth::Kind;
use thrumhall::planning::{Band, ColourId, Frame, FrameSizes, Plan, RugSpec};
use thrumhall::store::rugs::{Colour, Making, Rug, RugBand, RugFields, RugState};
use thrumhall::store::{Instant, PersonId, RugId};
use thrumhall::units::{Length, Units};

/// A rug with its plan and the names of its colours.
pub struct Sample {
    pub rug: Rug,
    pub plan: Plan,
    pub colours: Vec<String>,
    pub steps: Vec<(String, String)>,
    pub standing: Standing,
}

/// A rug on a frame of so many inches, with bands of so many inches in two colours each, by their place in the list.
pub fn sample(
    (name, weaver): (&str, &str),
    (width, span, nails): (f64, f64, u32),
    bands: &[(f64, [ColourId; 2])],
    colours: &[&str],
) -> Sample {
    let inches = Length::inches;
    let sizes =
        FrameSizes { span: inches(span), width: inches(width), nails, pitch: None, nail_diameter: None };
    let frame = Frame::new(sizes, Units::Inches).unwrap();
    let spec = RugSpec {
        bands: bands.iter().map(|(height, colours)| Band::plain(inches(*height), *colours)).collect(),
        ..RugSpec::plain(frame)
    };
    let plan = Plan::of(&spec, Units::Inches).unwrap();
    let colour = |id: ColourId| Colour { name: colours[usize::from(id)].into(), hex: "#808080".into() };
    let rug = Rug {
        id: "01a2182c-006c-758c-9350-0024192536ab".parse::<RugId>().unwrap(),
        weaver_id: PersonId::new(),
        weaver: weaver.into(),
        term: None,
        state: RugState::Planned,
        revision: 3,
        made_at: Instant("2026-10-07T12:00:00Z".parse().unwrap()),
        frame_tag: Some("S2".into()),
        on_frame_since: None,
        frame_due: None,
        pattern: false,
        note: String::new(),
        fields: RugFields {
            name: name.into(),
            term_id: None,
            span_nm: inches(span),
            width_nm: inches(width),
            nails: i64::from(nails),
            pitch_nm: None,
            making: Making::default(),
            strip_width_nm: inches(1.5),
            warp_strip_nm: None,
            warp_yarn: None,
            warp_kind: Kind::Percale,
            weft_kind: Kind::Percale,
            fringe_nm: Length::ZERO,
            backing: false,
            strands_trade: true,
            unit_size: 2,
            rugs_before: 0,
            home_minutes: 0,
            sample_length_nm: None,
            sample_rows: None,
            sample_mass_mg: None,
        },
        bands: bands
            .iter()
            .map(|(height, ids)| RugBand {
                height: inches(*height),
                first: colour(ids[0]),
                other: colour(ids[1]),
                strip: None,
                chart: None,
            })
            .collect(),
        measured: Vec::new(),
    };
    let steps = (1..=6).map(|n| {
        let what = format!("weave band {n} to {n} in (row {}) (48 min), weave to {n} 5/8 in (row 9)", 17 * n);
        (format!("Wed {n} Oct"), what)
    });
    let next = ("Wed 1 Oct".to_owned(), "cut or tear the strips (1 h 25 min)".to_owned());
    Sample {
        rug,
        plan,
        colours: colours.iter().map(|name| (*name).to_owned()).collect(),
        standing: Standing { next: Some(next), ..Standing::default() },
        steps: steps.collect(),
    }
}

/// The usual small frame, 18 × 33 in with 33 nails: common practice, no source.
pub const USUAL: (f64, f64, u32) = (18.0, 33.0, 33);

/// A rug like those of a class: five bands in three colours.
pub fn usual(n: u32) -> Sample {
    sample(
        (&format!("Rug {n}"), "Nessa Thole"),
        USUAL,
        &[(6.0, [0, 1]), (4.0, [1, 1]), (12.0, [1, 2]), (4.0, [1, 1]), (6.0, [0, 1])],
        &["cream", "rust", "navy"],
    )
}

impl Sample {
    pub fn card(&self) -> WarpCard<'_> {
        WarpCard {
            workroom: "Saltern Row Workroom",
            rug: &self.rug,
            plan: &self.plan,
            colours: &self.colours,
            hatches: &[],
            standing: &self.standing,
            steps: &self.steps,
            promises: &[],
            link: "https://rugs.example/rugs/01a2182c-006c-758c-9350-0024192536ab?paper=3.54590.1200.135",
            printed: "Wednesday 7 October 2026",
            units: Units::Inches,
        }
    }
}
