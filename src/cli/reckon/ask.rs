//! The flags of `reckon` read into a rug.
use super::{AtRodArg, BadInput, FrameArgs, FromArg, OneRug, PriceArgs, RugArgs};
use crate::planning::chart::{Chart, ChartId};
use crate::planning::cost::{Cost, Money, Price, Prices};
use crate::planning::settings::{Estimate, Parameter, Sample};
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::warp::winding::{Nail, Winding};
use crate::planning::warp::yarn::Yarn;
use crate::planning::warp::{self, BallOfStrips};
use crate::planning::{AtRod, Band, ColourId, Frame, FrameSizes, Kind, Plan, RugSpec, WovenFrom};
use crate::units::{Areal, Length, Mass, Units};
use std::fmt::Display;

/// A rug as asked for, with its plan.
pub(in crate::cli) struct PlanRequest {
    pub(in crate::cli) plan: Plan,
    /// The colours' names, by their number.
    pub(in crate::cli) colours: Vec<String>,
    /// What of it is paid for, where prices are given.
    pub(super) cost: Option<Cost>,
    /// The ball from strips that are cut already.
    pub(super) ball: Option<BallOfStrips>,
}

fn bad(flag: &'static str) -> impl Fn(&dyn Display) -> BadInput {
    move |why| BadInput { flag, why: why.to_string() }
}

/// The plan that is asked for.
pub(in crate::cli) fn plan_of(args: &OneRug) -> Result<Plan, BadInput> {
    asked(args).map(|asked| asked.plan)
}

pub(in crate::cli) fn asked(args: &OneRug) -> Result<PlanRequest, BadInput> {
    let units = args.units.units();
    let read = Reader { units };
    let nails = args.nails.trim().parse().map_err(|_| {
        let shown: String = args.nails.chars().take(24).collect();
        let (min, max) = (Frame::MIN_NAILS, Frame::MAX_NAILS);
        bad("--nails")(&format!("“{shown}” isn't a whole number: from {min} to {max} is allowed."))
    })?;
    let sizes = FrameSizes {
        span: read.length("--span", &args.span)?,
        width: read.length("--width", &args.width)?,
        nails,
        pitch: read.optional("--pitch", args.pitch.as_ref())?,
        nail_diameter: read.optional("--nail-diameter", args.frame.nail_diameter.as_ref())?,
    };
    let kind: Kind = args.kind.parse().map_err(|e| bad("--kind")(&e))?;
    let frame = Frame::new(sizes, units).map_err(|e| bad("frame")(&e))?;
    let rug = &args.rug;
    let (mut bands, colours) = read.bands(rug)?;
    let charts = charts(rug, &mut bands)?;
    let warp_kind = rug.warp_kind.as_deref().map_or(Ok(kind), str::parse);
    let spec = RugSpec {
        rows: read.rows(&args.frame, frame.nails())?,
        winding: winding(&args.frame)?,
        strip_width: read.length("--strip", &args.strip)?,
        warp_strip_width: read.optional("--warp-strip", rug.warp_strip.as_ref())?,
        warp_yarn: rug.warp_yarn.as_deref().map(|text| read.yarn(text)).transpose()?,
        length: read.optional("--length", args.length.as_ref())?,
        width: read.optional("--rug-width", rug.rug_width.as_ref())?,
        bands,
        charts,
        warp_kind: warp_kind.map_err(|e| bad("--warp-kind")(&e))?,
        weft_kind: kind,
        unit_size: rug.unit,
        at_rod: if rug.at_rod == AtRodArg::Trade { AtRod::Trade } else { AtRod::Keep },
        from: match rug.from {
            FromArg::OneEnd => WovenFrom::OneEnd,
            FromArg::BothEnds => WovenFrom::BothEnds,
            FromArg::BothEndsOtherFirst => WovenFrom::BothEndsOtherFirst,
        },
        fringe: read.optional("--fringe", rug.fringe.as_ref())?,
        backing: read.optional("--backing", rug.backing.as_ref())?,
        rugs_before: rug.rugs_before,
        known: known(rug),
        sample: rug.sample.as_deref().map(|text| read.sample(text)).transpose()?,
        ..RugSpec::plain(frame)
    };
    let plan = Plan::of(&spec, units).map_err(|e| bad("rug")(&e))?;
    let ball = rug.strips.as_deref().map(|text| read.strips(text)).transpose()?;
    let ball = ball.map(|strips| warp::ball_of_strips(&strips, plan.warp.length.p90, plan.warp.join));
    let prices = read.prices(&args.prices)?;
    let cost = (!prices.is_empty()).then(|| Cost::of(&plan, spec.backing, &prices));
    Ok(PlanRequest { plan, colours, cost, ball })
}

fn known(rug: &RugArgs) -> Vec<(Parameter, Estimate)> {
    let measured = [(Parameter::WarpAreal, rug.warp_gsm), (Parameter::WeftAreal, rug.weft_gsm)];
    let setting = |gsm| Estimate::measured_areal(Areal::from_gsm(gsm));
    measured.into_iter().filter_map(|(dial, gsm)| Some((dial, setting(gsm?)))).collect()
}

/// Charts such as `2: xx../.xx., 3 right, 2 up`, given to their bands.
fn charts(rug: &RugArgs, bands: &mut [Band]) -> Result<Vec<Chart>, BadInput> {
    let mut charts = Vec::new();
    for text in &rug.chart {
        let wrong = bad("--chart");
        let shown: String = text.chars().take(40).collect();
        let (band, rest) = text.split_once(':').ok_or_else(|| {
            wrong(&format!("“{shown}” isn't a band's number, a colon and a picture: 2: xx../.xx."))
        })?;
        let known = bands.len();
        let band = band.trim().parse::<usize>().ok().filter(|number| (1..=known).contains(number));
        let band = band
            .and_then(|number| bands.get_mut(number - 1))
            .ok_or_else(|| wrong(&format!("“{shown}” names no band: there are {known}, given by --band.")))?;
        if band.chart.is_some() {
            return Err(wrong(&format!("“{shown}”: this band has a chart already.")));
        }
        let mut parts = rest.split(',').map(str::trim);
        let picture = parts.next().unwrap_or_default().replace('/', "\n");
        let mut chart = Chart::parse(&picture).map_err(|e| wrong(&e))?;
        for part in parts {
            let way = part.split_once(' ').and_then(|(by, way)| Some((by.parse::<u16>().ok()?, way.trim())));
            chart = match way {
                Some((by, "right")) => chart.moved(by.into(), 0),
                Some((by, "up")) => chart.moved(0, by.into()),
                _ => {
                    return Err(wrong(&format!("“{part}” doesn't say how far to move it: 3 right, or 2 up")));
                }
            };
        }
        band.chart = ChartId::try_from(charts.len()).ok();
        charts.push(chart);
    }
    Ok(charts)
}

fn winding(args: &FrameArgs) -> Result<Winding, BadInput> {
    let named = args.leave_out.as_deref().unwrap_or_default().split([',', ';']).map(str::trim);
    let left_out = named.filter(|nail| !nail.is_empty()).map(str::parse::<Nail>).collect::<Result<_, _>>();
    Ok(Winding {
        doubled: args.doubled,
        every: args.every,
        left_out: left_out.map_err(|e| bad("--leave-out")(&e))?,
        extra_wraps: args.extra_wraps,
    })
}

/// The length that a flag gives.
pub(in crate::cli) fn length(flag: &'static str, text: &str, units: Units) -> Result<Length, BadInput> {
    Length::parse(text, units).map_err(|e| bad(flag)(&e))
}

/// `4.50, 72 in`: what is paid, and for how much. An amount may have a comma of its own.
fn price<T>(
    flag: &'static str,
    text: Option<&str>,
    per: impl FnOnce(&'static str, &str) -> Result<T, BadInput>,
) -> Result<Option<Price<T>>, BadInput> {
    let Some(text) = text else { return Ok(None) };
    let (price, of) = text
        .rsplit_once(',')
        .ok_or_else(|| bad(flag)(&format!("“{text}” isn't a price and for how much it is: 4.50, 72 in")))?;
    let price = Money::parse(price.trim()).ok_or_else(|| {
        let most = Money::MOST.plain();
        bad(flag)(&format!("“{}” isn't an amount such as 4.50, from 0 to {most}.", price.trim()))
    })?;
    Ok(Some(Price { price, per: per(flag, of.trim())? }))
}

/// Reads what is typed with bare numbers in somebody's units.
struct Reader {
    units: Units,
}

impl Reader {
    fn length(&self, flag: &'static str, text: &str) -> Result<Length, BadInput> {
        length(flag, text, self.units)
    }

    fn optional(&self, flag: &'static str, text: Option<&String>) -> Result<Option<Length>, BadInput> {
        text.map(|text| self.length(flag, text)).transpose()
    }

    fn rows(&self, args: &FrameArgs, nails: u32) -> Result<NailRows, BadInput> {
        let places = |flag, text: &str| {
            let places = text.split(';').map(str::trim).filter(|place| !place.is_empty());
            places.map(|place| self.length(flag, place)).collect::<Result<Vec<_>, _>>()
        };
        if let (Some(near), Some(far)) = (&args.near_places, &args.far_places) {
            let (near, far) = (places("--near-places", near)?, places("--far-places", far)?);
            return Ok(NailRows::Measured { near, far });
        }
        if args.far_nails.is_none() && args.set_off.is_none() {
            return Ok(NailRows::Facing);
        }
        let by = self.optional("--set-off", args.set_off.as_ref())?;
        Ok(NailRows::SetOff { far_nails: args.far_nails.unwrap_or(nails), by })
    }

    /// Bands such as `12 in: cream/rust` or `1 in: cream, 3/4 in strips`, and the names of their colours.
    fn bands(&self, rug: &RugArgs) -> Result<(Vec<Band>, Vec<String>), BadInput> {
        let mut colours: Vec<String> = Vec::new();
        let mut bands = Vec::new();
        for text in &rug.band {
            let wrong = bad("--band");
            let (height, rest) = text.split_once(':').ok_or_else(|| {
                wrong(&format!("“{text}” isn't a height, a colon and colours: 12 in: cream/rust"))
            })?;
            let (names, strip) = match rest.split_once(',') {
                Some((names, strip)) => {
                    let strip = strip.trim().trim_end_matches("strips").trim();
                    (names, Some(self.length("--band", strip)?))
                }
                None => (rest, None),
            };
            let (first, other) = names.split_once('/').unwrap_or((names, names));
            if first.trim().is_empty() || other.trim().is_empty() {
                return Err(wrong(&format!("“{text}” names no colour: 12 in: cream/rust")));
            }
            let mut id = |name: &str| {
                let name = name.trim();
                let known = colours.iter().position(|colour| colour == name);
                known.unwrap_or_else(|| {
                    colours.push(name.to_owned());
                    colours.len() - 1
                }) as ColourId
            };
            let colours = [id(first), id(other)];
            bands.push(Band { height: self.length("--band", height)?, colours, strip, chart: None });
        }
        if colours.is_empty() {
            colours.push("one colour".to_owned());
        }
        Ok((bands, colours))
    }

    /// `4 in, 17 rows` or `4 in, 17 rows, 98 g`.
    fn sample(&self, text: &str) -> Result<Sample, BadInput> {
        let wrong = || {
            bad("--sample")(&format!(
                "“{text}” isn't a length, rows and perhaps a weight: 4 in, 17 rows, 98 g"
            ))
        };
        let parts: Vec<&str> = text.split(',').map(str::trim).collect();
        let (woven, rows, mass) = match parts[..] {
            [woven, rows] => (woven, rows, None),
            [woven, rows, mass] => (woven, rows, Some(mass)),
            _ => return Err(wrong()),
        };
        let rows = rows.trim_end_matches("rows").trim().parse().map_err(|_| wrong())?;
        let mass = mass.map(|mass| Mass::parse(mass, self.units)).transpose();
        Ok(Sample {
            woven: self.length("--sample", woven)?,
            rows,
            mass: mass.map_err(|e| bad("--sample")(&e))?,
        })
    }

    /// `125 m, 200 g` or `125 m, 200 g, 2 mm`.
    fn yarn(&self, text: &str) -> Result<Yarn, BadInput> {
        let parts: Vec<&str> = text.split(',').map(str::trim).collect();
        let (length, mass, thickness) = match parts[..] {
            [length, mass] => (length, mass, None),
            [length, mass, thickness] => (length, mass, Some(thickness)),
            _ => {
                return Err(bad("--warp-yarn")(&format!(
                    "“{text}” isn't a ball's length and weight, and perhaps a thickness: 125 m, 200 g, 2 mm"
                )));
            }
        };
        Ok(Yarn {
            length: self.length("--warp-yarn", length)?,
            mass: Mass::parse(mass, self.units).map_err(|e| bad("--warp-yarn")(&e))?,
            thickness: thickness.map(|thickness| self.length("--warp-yarn", thickness)).transpose()?,
        })
    }

    fn prices(&self, args: &PriceArgs) -> Result<Prices, BadInput> {
        // From an inch to a spool of 20 km.
        let length = |flag, per: &str| {
            let (least, most) = (Length::inches(1.0), Length::millimetres(20_000_000.0));
            self.length(flag, per)?.within(least, most, self.units).map_err(|e| bad(flag)(&e))
        };
        Ok(Prices {
            currency: String::new(),
            rod: price("--rod-price", args.rod_price.as_deref(), length)?,
            liner: price("--liner-price", args.liner_price.as_deref(), |flag, per| {
                let (width, long) = per.split_once(['x', '×']).ok_or_else(|| {
                    bad(flag)(&format!("“{per}” isn't a width and a length: 24 in x 60 in"))
                })?;
                Ok((length(flag, width)?, length(flag, long)?))
            })?,
            thread: price("--thread-price", args.thread_price.as_deref(), length)?,
            yarn: price("--yarn-price", args.yarn_price.as_deref(), |flag, per| {
                let mass = Mass::parse(per, self.units).map_err(|e| bad(flag)(&e))?;
                let (least, most) = (Mass::from_grams(1.0), Mass::from_grams(100_000.0));
                mass.within(least, most, self.units).map_err(|e| bad(flag)(&e))
            })?,
        })
    }

    /// `20 x 90 in, 8 x 66 in`: how many strips of which length.
    fn strips(&self, text: &str) -> Result<Vec<Length>, BadInput> {
        let mut strips = Vec::new();
        for lot in text.split(',').map(str::trim).filter(|lot| !lot.is_empty()) {
            let wrong =
                || bad("--strips")(&format!("“{lot}” isn't a number of strips and their length: 20 x 90 in"));
            let (count, length) = lot.split_once(['x', '×']).ok_or_else(wrong)?;
            let count: usize = count.trim().parse().map_err(|_| wrong())?;
            if !(1..=10_000).contains(&count) {
                return Err(wrong());
            }
            strips.extend(std::iter::repeat_n(self.length("--strips", length)?, count));
        }
        Ok(strips)
    }
}
