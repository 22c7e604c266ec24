//! The answer of `reckon`, as JSON and as a table.
use super::ask::PlanRequest;
use super::{ReckonArgs, Show};
use crate::planning::Plan;
use crate::planning::cost::{Cost, Money};
use crate::planning::locking::EndLocking;
use crate::planning::pattern::Face;
use crate::planning::reading;
use crate::planning::uncertainty::estimate::Range;
use crate::planning::workings::Origin;
use crate::units::{Length, Mass, Minutes, Units};
use anyhow::Context as _;
use serde_json::{Value, json};
use std::io::Write;

/// Writes what was asked for.
pub(super) fn write(asked: &PlanRequest, args: &ReckonArgs, out: &mut dyn Write) -> anyhow::Result<()> {
    let (plan, units) = (&asked.plan, args.one.units.units());
    if args.json {
        let mut told = as_json(plan, units);
        for show in &args.show {
            let (name, value) = shown_as_json(*show, asked)?;
            told[name] = value;
        }
        if let Some(cost) = &asked.cost {
            told["cost"] = cost_as_json(cost);
        }
        if let Some(ball) = asked.ball {
            told["ball"] = json!({
                "strips": ball.strips,
                "joins": ball.joins,
                "length_mm": ball.length.mm(),
                "left_over_mm": (ball.length - plan.warp.length.p90).mm(),
            });
        }
        serde_json::to_writer_pretty(&mut *out, &told)?;
        writeln!(out)?;
        return Ok(());
    }
    table(asked, units, out).context("writing the table")?;
    for show in &args.show {
        writeln!(out)?;
        shown(*show, asked, units, out)?;
    }
    Ok(())
}

/// What is paid for and all together, in what the prices were in.
fn cost_as_json(cost: &Cost) -> Value {
    let amount = |money: Money| json!(money.0 as f64 / 100.0);
    let mut told = serde_json::Map::new();
    for (paid, money) in &cost.parts {
        told.insert(paid.key().to_owned(), amount(*money));
    }
    told.insert("total".into(), amount(cost.total));
    Value::Object(told)
}

fn shown_as_json(show: Show, asked: &PlanRequest) -> anyhow::Result<(&'static str, Value)> {
    let plan = &asked.plan;
    Ok(match show {
        Show::Way => {
            let lengths = strands(plan).into_iter().map(Length::mm).collect::<Vec<_>>();
            let named = |nails: Vec<String>| json!(nails);
            let way = &plan.warp.way;
            let turns = named(way.turns.iter().map(|turn| turn.nail.to_string()).collect());
            let idle = named(way.idle.iter().map(ToString::to_string).collect());
            let locking = locking(plan);
            ("way", json!({ "nails": turns, "strands_mm": lengths, "empty": idle, "locking": locking }))
        }
        Show::Reading => ("reading", serde_json::to_value(reading::lines(&plan.pattern))?),
        Show::Face => {
            let [front, back] = [Face::Front, Face::Back].map(|face| cells(plan, face));
            ("face", json!({ "colours": asked.colours, "front": front, "back": back }))
        }
        Show::Worked => ("worked", serde_json::to_value(&plan.workings)?),
    })
}

fn strands(plan: &Plan) -> Vec<Length> {
    plan.warp.way.strand_lengths(plan.warp.span, &plan.warp.wrap)
}

fn shown(show: Show, asked: &PlanRequest, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
    let plan = &asked.plan;
    match show {
        Show::Way => {
            writeln!(out, "The way of the warp, nail to nail:")?;
            let lengths = strands(plan);
            for (i, (pair, length)) in plan.warp.way.turns.windows(2).zip(lengths).enumerate() {
                let (from, to) = (pair[0].nail.to_string(), pair[1].nail.to_string());
                writeln!(out, "{:>5}  {from:<9} to {to:<9} {}", i + 1, length.show(units))?;
            }
            for words in locking(plan) {
                writeln!(out, "{words}")?;
            }
            Ok(())
        }
        Show::Reading => {
            writeln!(out, "Rows to read off:")?;
            let name = |id: u16| asked.colours[usize::from(id)].as_str();
            for line in reading::lines(&plan.pattern) {
                let end = if line.from_far_end { ", from the far end" } else { "" };
                let strip =
                    line.strip.map_or(String::new(), |strip| format!(", strips of {}", strip.show(units)));
                let left = match line.colours_at_left() {
                    Some([odd, even]) if odd != even => {
                        format!(", at the left {} in odd rows and {} in even ones", name(odd), name(even))
                    }
                    Some([odd, _]) => format!(", at the left {}", name(odd)),
                    None => String::new(),
                };
                let [first, other] = line.colours.map(name);
                let until = line.until.show(units);
                let left = match line.read_across(|id| name(id).to_owned()) {
                    Some(across) => format!(", from the left {across}"),
                    None => left,
                };
                let rows = if line.first == line.last { "row" } else { "rows" };
                writeln!(out, "  {rows} {}{end}: {first}/{other}{strip}{left}; to {until}", line.numbers())?;
            }
            Ok(())
        }
        Show::Face => {
            for (face, title) in [(Face::Front, "The front"), (Face::Back, "The back, seen from behind")] {
                writeln!(out, "{title}:")?;
                for row in cells(plan, face) {
                    writeln!(out, "  {row}")?;
                }
            }
            for (letter, colour) in asked.colours.iter().enumerate().map(|(id, name)| (letter(id), name)) {
                writeln!(out, "{letter} is {colour}.")?;
            }
            Ok(())
        }
        Show::Worked => {
            writeln!(out, "How it was worked out:")?;
            for working in &plan.workings {
                let result = working.result.show(units);
                writeln!(out, "  {} = {result}: {}", working.title, working.formula)?;
                for input in &working.inputs {
                    let from = match &input.origin {
                        Origin::Chosen => "chosen",
                        Origin::Logged => "logged",
                        Origin::Measured { .. } => "measured",
                        Origin::Learnt { .. } => "learnt",
                        Origin::Default { .. } => "a default",
                        Origin::Worked { .. } => "worked out",
                    };
                    writeln!(out, "      {} {} ({from})", input.name, input.value.show(units))?;
                }
            }
            Ok(())
        }
    }
}

/// A face, from the row that is woven last: a letter for each cell's colour.
fn cells(plan: &Plan, face: Face) -> Vec<String> {
    let pattern = &plan.pattern;
    let row = |row: u32| {
        let units = 0..pattern.row_units(row).units();
        units.filter_map(|unit| pattern.colour(row, unit, face)).map(|id| letter(usize::from(id))).collect()
    };
    (0..pattern.rows()).rev().map(row).collect()
}

/// A, B, C … for the colours of a rug; the letters again for those after Z.
fn letter(id: usize) -> char {
    char::from(b'A' + (id % 26) as u8)
}

/// What holds the loops at both ends, in words.
fn locking(plan: &Plan) -> Vec<String> {
    let (locking, from) = (&plan.warp.locking, plan.pattern.from);
    [false, true].into_iter().map(|far| locking.text(far, from)).chain(locking.change(from)).collect()
}

fn locked(end: &EndLocking) -> Value {
    let open = end.open().iter().map(|held| held.nail.number).collect::<Vec<_>>();
    json!({ "shift": end.row().shift, "open": open, "units": end.row().units() })
}

/// A plan in millimetres, grams and minutes; what there is to say of it in the reader's units.
pub(in crate::cli) fn as_json(plan: &Plan, units: Units) -> Value {
    let lengths =
        |r: Range<Length>| json!({"low": r.low.mm(), "expected": r.expected.mm(), "take": r.p90.mm()});
    let masses =
        |r: Range<Mass>| json!({"low": r.low.grams(), "expected": r.expected.grams(), "take": r.p90.grams()});
    let times =
        |r: Range<Minutes>| json!({"low": r.low.get(), "expected": r.expected.get(), "take": r.p90.get()});
    let (warp, weft, cloth, minutes) = (&plan.warp, &plan.weft, &plan.cloth, &plan.minutes);
    json!({
        "warp": {
            "strands": warp.strands,
            "units": warp.units,
            "path_mm": warp.path.mm(),
            "strip_width_mm": warp.strip_width.mm(),
            "strip_thickness_mm": warp.wrap.strip_thickness.mm(),
            "rule_of_thumb_mm": warp.rule_of_thumb.mm(),
            "take_mm": warp.length.p90.mm(),
            "length_mm": lengths(warp.length),
            "strips": if warp.yarn.is_some() { 0 } else { warp.strips },
            "joins": warp.joins,
            "yarn": warp.yarn.map(|yarn| json!({
                "tex": yarn.of.tex(),
                "thickness_mm": yarn.of.thickness().mm(),
                "ball_mm": yarn.of.length.mm(),
                "balls": warp.strips,
                "mass_g": masses(yarn.mass),
            })),
            "nails": warp.way.nails(),
            "empty_nails": warp.way.idle.len(),
            "locking": { "near": locked(&warp.locking.near), "far": locked(&warp.locking.far) },
        },
        "weft": {
            "rows": weft.rows,
            "twists": weft.twists,
            "extra_turns": weft.extra_turns,
            "extra_turn_mm": weft.extra_turn.mm(),
            "length_mm": lengths(weft.length),
            "cut_mm": lengths(weft.cut),
            "joins": weft.joins,
            "rows_per_inch": weft.rows_per_inch,
            "take_up": weft.take_up,
            "strand_mm": weft.strand.mm(),
            "colours": weft.colours.iter().map(|need| json!({
                "colour": need.colour,
                "strip_mm": need.strip.mm(),
                "cut_mm": lengths(need.cut),
                "mass_g": masses(need.mass),
                "joins": need.joins,
            })).collect::<Vec<_>>(),
        },
        "halves_match": plan.pattern.joint().map(|joint| joint.matches),
        "finished": {
            "length_mm": lengths(plan.finished.length),
            "width_mm": lengths(plan.finished.width),
        },
        "finishing": {
            "fringe_mm": lengths(plan.finish.fringe),
            "backing_edge_mm": plan.finish.backing_edge.mm(),
            "thread_mm": lengths(plan.finish.thread),
        },
        "cloth": {
            "mass_g": masses(cloth.total),
            "warp_g": masses(cloth.warp),
            "weft_g": masses(cloth.weft),
        },
        "minutes": {
            "prepare": minutes.prepare.expected.get(),
            "weave": minutes.weave.expected.get(),
            "finish": minutes.finish.expected.get(),
        },
        "minutes_range": {
            "prepare": times(minutes.prepare),
            "weave": times(minutes.weave),
            "finish": times(minutes.finish),
        },
        "rods": {
            "count": plan.rods.count,
            "least_mm": plan.rods.least.mm(),
            "tie_every_mm": plan.rods.tie_every.mm(),
        },
        "notices": plan.notices.iter().map(|notice| notice.text(units)).collect::<Vec<_>>(),
    })
}

fn table(asked: &PlanRequest, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
    let plan = &asked.plan;
    let (warp, weft, cloth, minutes) = (&plan.warp, &plan.weft, &plan.cloth, &plan.minutes);
    let size = format!("{} × {}", plan.width.show(units), plan.length.show(units));
    writeln!(out, "Rug of {size}: {} warp strands, {} rows", warp.strands, weft.rows)?;
    writeln!(out)?;
    writeln!(out, "{:<22}{:>14}{:>14}{:>14}", "", "low", "expected", "take")?;
    let mut row = |name: &str, [low, expected, take]: [String; 3]| {
        writeln!(out, "{name:<22}{low:>14}{expected:>14}{take:>14}")
    };
    let long = |r: Range<Length>| [r.low, r.expected, r.p90].map(|l| l.show_long(units));
    let mass = |r: Range<Mass>| [r.low, r.expected, r.p90].map(|m| m.show(units));
    let time = |r: Range<Minutes>| [r.low, r.expected, r.p90].map(Minutes::show);
    row("Warp ball", long(warp.length))?;
    row("Weft strip", long(weft.length))?;
    row("Weft strip to cut", long(weft.cut))?;
    match warp.yarn {
        Some(yarn) => row("Warp yarn", mass(yarn.mass))?,
        None => row("Warp cloth", mass(cloth.warp))?,
    }
    row("Weft cloth", mass(cloth.weft))?;
    row("All cloth, as strip", mass(cloth.total))?;
    row("Preparing", time(minutes.prepare))?;
    row("Weaving", time(minutes.weave))?;
    row("Finishing", time(minutes.finish))?;
    let short = |r: Range<Length>| [r.low, r.expected, r.p90].map(|l| l.show(units));
    row("Finished length", short(plan.finished.length))?;
    row("Finished width", short(plan.finished.width))?;
    writeln!(out)?;
    let [path, thumb, strip] = [warp.path, warp.rule_of_thumb, warp.strip].map(|l| l.show_long(units));
    let wide = if warp.strip_width == weft.strip {
        String::new()
    } else {
        format!(", {} wide", warp.strip_width.show(units))
    };
    writeln!(out, "Warp path {path} before the strip gives (rule of thumb {thumb}).")?;
    let pieces = match warp.yarn {
        Some(yarn) => format!("{}, each {}", warp.pieces(), yarn.of.show(units)),
        None => format!("{} strips of {strip}{wide}", warp.strips),
    };
    writeln!(out, "Warp: {pieces}, {} joins. Weft: {} joins.", warp.joins, weft.joins)?;
    if weft.colours.len() > 1 {
        let name = |id: u16| asked.colours[usize::from(id)].as_str();
        for need in &weft.colours {
            let strips = if need.strip == weft.strip {
                String::new()
            } else {
                format!(" in strips of {}", need.strip.show(units))
            };
            let (take, cut) = (need.mass.p90.show(units), need.cut.p90.show_long(units));
            writeln!(out, "Weft, {}{strips}: take {take}, {cut} of strip.", name(need.colour))?;
        }
    }
    if weft.extra_turns > 0 {
        let one = weft.extra_turn.show(units);
        let turns = weft.extra_turns;
        writeln!(
            out,
            "By the charts the strands turn {turns} times more; each takes {one} of both strands."
        )?;
    }
    if let Some(ball) = asked.ball {
        let (length, take) = (ball.length.show_long(units), warp.length.p90);
        let (strips, joins) = (ball.strips, ball.joins);
        if ball.length >= take {
            let rest = (ball.length - take).show(units);
            writeln!(
                out,
                "From the strips there are: {strips} strips, {joins} joins, {length}; {rest} left over."
            )?;
        } else {
            let lacking = (take - ball.length).show_long(units);
            writeln!(out, "The strips there are make {length}: {lacking} too little for the warp.")?;
        }
    }
    if let Some(joint) = plan.pattern.joint() {
        let far = weft.rows - joint.row;
        writeln!(out, "Woven from both ends: {} rows from the start, {far} from the far end.", joint.row)?;
    }
    let [shortest, every] = [plan.rods.least, plan.rods.tie_every].map(|l| l.show(units));
    writeln!(
        out,
        "Rods: {} of at least {shortest}, tied to the frame every {every} or closer.",
        plan.rods.count
    )?;
    if let Some(cost) = &asked.cost {
        let parts: Vec<String> =
            cost.parts.iter().map(|(paid, money)| format!("{} {}", paid.name(), money.plain())).collect();
        let parts = if parts.is_empty() { "nothing of it is paid for".to_owned() } else { parts.join(", ") };
        writeln!(out, "Cost: {parts}; together {}.", cost.total.plain())?;
    }
    writeln!(out, "Take is enough nine times in ten; measured cloth and a woven sample narrow the ranges.")?;
    for notice in &plan.notices {
        writeln!(out, "Note: {}", notice.text(units))?;
    }
    Ok(())
}
