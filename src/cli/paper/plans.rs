//! Papers for which more is asked than what is kept: the cutting plan, and the sewing plan of a rug of any size.
use anyhow::Context as _;
use clap::Args;

use super::asked::Alone;
use crate::cli::reckon::{BadInput, length};
use crate::optimize::cutting::{Sheet, Way};
use crate::optimize::panels::sewing::alike;
use crate::optimize::panels::{MOST_PANELS, Size, USUAL_EASE, Wanted};
use crate::optimize::sheets::{Lot, MOST_SHEETS, Wish, choose};
use crate::services::paper_data::{Cuttings, Document, Reader, SheetCut, cutting, sewing};
use crate::services::pieced::{makes, nearest, usable};
use crate::services::rug_plan;
use crate::store::{Read, RugId};
use crate::units::{Length, isolated};

#[derive(Args)]
#[group(id = "what", required = true, multiple = false, args = ["rug", "wanted"])]
pub(super) struct OfCutting {
    /// A rug’s warp: the plan then also says how it is wound; by the id in its page's address
    #[arg(long, value_name = "ID")]
    rug: Option<RugId>,
    /// Or any length of strip, joined: "60 yd"
    #[arg(long, value_name = "LENGTH")]
    wanted: Option<String>,
    /// How wide that strip is
    #[arg(long, default_value = "1 1/2 in", conflicts_with = "rug")]
    strip: String,
    /// Sheets to cut, once for each size: how many, length and width, "3 x 96 in x 66 in"; a rug's plan without any says how
    /// much strip is wanted
    #[arg(long, value_name = "SHEETS")]
    sheets: Vec<String>,
    /// How wide the sheets' hems are
    #[arg(long, default_value = "1 in")]
    hem: String,
    #[command(flatten)]
    pub(super) common: Alone,
}

/// A shorter piece isn't joined in: it is mostly joins. Reasoned estimate.
const LEAST: Length = Length::from_nm(12 * 25_400_000);
/// What a join takes, both ends together. Common practice: fold ¾ to 1 in at each end.
const JOIN: Length = Length::from_nm(2 * 25_400_000);

impl OfCutting {
    pub(super) async fn document(&self, read: &mut Read, reader: &Reader) -> anyhow::Result<Document> {
        let lots = self.lots(reader)?;
        let rug = match self.rug {
            Some(id) => {
                let rug = read.rug(id).await?.context("there is no such rug")?;
                let (known, _) = rug_plan::load(read, &rug, reader.units).await?;
                Some((rug, known))
            }
            None => None,
        };
        let refused = |why: String| BadInput { flag: "--sheets", why };
        let ways = vec![Way::Straight, Way::Continuous];
        let wish = if let Some((_, known)) = &rug {
            let warp = &known.plan.warp;
            if !lots.is_empty() && warp.yarn.is_some() {
                return Err(refused("the warp is of bought yarn and takes no sheets".into()).into());
            }
            Wish { length: warp.length.p90, width: warp.strip_width, join: warp.join, least: LEAST, ways }
        } else {
            if lots.is_empty() {
                return Err(refused("say which there are: 3 x 96 in x 66 in".into()).into());
            }
            let wanted = self.wanted.as_deref().unwrap_or_default();
            let wanted = length("--wanted", wanted, reader.units)?;
            let width = length("--strip", &self.strip, reader.units)?;
            Wish { length: wanted, width, join: JOIN, least: LEAST, ways }
        };
        let choice = (!lots.is_empty()).then(|| choose(&lots, &wish)).transpose();
        let choice = choice.map_err(|e| refused(e.to_string()))?;
        let names: Vec<String> = (1..=lots.len()).map(|n| format!("Sheets {n}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let cuts = choice
            .as_ref()
            .map_or_else(Vec::new, |choice| SheetCut::all(choice, &names, wish.width, false, reader.units));
        let made = choice.as_ref().map(|choice| Cuttings {
            strips: choice.opened.iter().map(|opened| opened.strips.len()).sum(),
            joins: choice.joins,
        });
        let (title, under, path) = match &rug {
            Some((rug, _)) => (
                "Winding and cutting plan",
                format!("{}: {}, the warp", isolated(&rug.weaver), isolated(&rug.fields.name)),
                format!("/rugs/{}/sheets?part=warp", rug.id),
            ),
            None => (
                "Cutting plan",
                format!(
                    "{} of strip, {} wide",
                    wish.length.show_long(reader.units),
                    wish.width.show(reader.units)
                ),
                "/cloth/sheets".to_owned(),
            ),
        };
        let rug = rug.as_ref().map(|(rug, known)| (rug, &**known));
        Ok(cutting(reader, (title, under), &path, (&[], &cuts, made), rug))
    }

    fn lots(&self, reader: &Reader) -> Result<Vec<Lot>, BadInput> {
        let side = |text: &str| length("--sheets", text.trim(), reader.units);
        let hem = length("--hem", &self.hem, reader.units)?;
        let one = |text: &String| {
            let wrong = || BadInput {
                flag: "--sheets",
                why: format!(
                    "“{text}” isn’t a number of sheets, their length and their width: 3 x 96 in x 66 in"
                ),
            };
            let parts: Vec<&str> = text.split(['x', '×']).collect();
            let [count, along, across] = parts[..] else { return Err(wrong()) };
            let count: u32 = count.trim().parse().map_err(|_| wrong())?;
            if count == 0 || count as usize > MOST_SHEETS {
                return Err(wrong());
            }
            Ok(Lot { sheet: Sheet::flat(side(along)?, side(across)?, hem), count })
        };
        self.sheets.iter().map(one).collect()
    }
}

#[derive(Args)]
pub(super) struct OfPanels {
    /// How wide the whole rug should be
    #[arg(long)]
    width: String,
    /// How long it should be
    #[arg(long)]
    length: String,
    /// How far each side may be off
    #[arg(long, default_value = "1 in")]
    tolerance: String,
    /// The most panels
    #[arg(long, default_value_t = 12, value_parser = clap::value_parser!(u32).range(1..=MOST_PANELS as i64))]
    most: u32,
    /// Panels may be woven narrower than their frame
    #[arg(long)]
    narrower: bool,
    #[command(flatten)]
    pub(super) common: Alone,
}

impl OfPanels {
    pub(super) async fn document(&self, read: &mut Read, reader: &Reader) -> anyhow::Result<Document> {
        let side = |flag, text: &str| length(flag, text, reader.units);
        let wanted = Wanted {
            size: Size { width: side("--width", &self.width)?, length: side("--length", &self.length)? },
            tolerance: side("--tolerance", &self.tolerance)?,
            ease: USUAL_EASE,
            most: self.most as usize,
            narrower: self.narrower,
        };
        let frames = usable(&read.frame_sizes().await?);
        anyhow::ensure!(!frames.is_empty(), "there is no frame in use to weave panels on");
        let sizes: Vec<Size> = frames.iter().map(makes).collect();
        let found = nearest(&sizes, &wanted, reader.units)
            .map_err(|e| BadInput { flag: "the rug", why: e.to_string() })?;
        let query = format!(
            "width={}&length={}&tolerance={}&most={}{}&strip_width=1.5+in&kind=percale",
            typed(wanted.size.width, reader),
            typed(wanted.size.length, reader),
            typed(wanted.tolerance, reader),
            self.most,
            if self.narrower { "&narrower=yes" } else { "" }
        );
        Ok(sewing(reader, &found, &alike(&found, &sizes, wanted.ease), &query))
    }
}

/// A length as a form sends it.
fn typed(length: Length, reader: &Reader) -> String {
    form_urlencoded::byte_serialize(length.exact(reader.units).as_bytes()).collect()
}
