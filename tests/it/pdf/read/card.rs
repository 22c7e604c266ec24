//! The warp card, read back: each figure under its own heading, for the right rug, its weaver and its cloth.
use std::collections::BTreeMap;

use serde_json::Value;

use super::class::{Class, ORIGIN, OneRug};
use super::{AUCKLAND, LOS_ANGELES, is_of_size, pages_are_numbered};
use crate::support::measures::{INCH, OUNCE, STRIP, TIME, grams, minutes, mm, shows};
use crate::support::pdf::Paper;
use crate::support::pdf::lanes::bars;
use crate::support::{days, forms};

const WEFT: [&str; 6] = ["Colour", "Strip to cut", "Low", "Expected", "Take", "Joins, about"];
const BANDS: [&str; 6] = ["Band", "From", "To", "First strand", "Other strand", "Rows"];

fn number(plan: &Value, path: &str) -> f64 {
    plan.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} in {plan}"))
}

/// The code's address: revision, warp, weft and rows.
fn link(rug: &OneRug, plan: &Value, revision: u32) -> String {
    format!(
        "{ORIGIN}{}?paper={revision}.{:.0}.{:.0}.{}",
        rug.path,
        number(plan, "/warp/length_mm/take"),
        number(plan, "/cloth/weft_g/take"),
        plan["weft"]["rows"]
    )
}

/// What stands in the boxes.
fn boxes(paper: &Paper, plan: &Value) {
    let of = |path: &str| number(plan, path);
    let (warp, remark) = paper.boxed("Warp, joined in one ball");
    shows("warp", &warp, of("/warp/length_mm/take"), mm, STRIP);
    let (expected, rule) = remark.strip_prefix("expected ").unwrap().split_once("; rule of thumb ").unwrap();
    shows("expected warp", expected, of("/warp/length_mm/expected"), mm, STRIP);
    shows("rule of thumb", rule, of("/warp/rule_of_thumb_mm"), mm, STRIP);
    let (strips, remark) = paper.boxed("Strips and joins");
    assert_eq!(strips, format!("{} strips", plan["warp"]["strips"]));
    let wanted = format!("{} joins; strips 90 in long, 1 1/2 in wide, percale sheet", plan["warp"]["joins"]);
    assert_eq!(remark, wanted);
    let (time, remark) = paper.boxed("Time, expected");
    let whole = ["prepare", "weave", "finish"].map(|step| of(&format!("/minutes_range/{step}/expected")));
    shows("time", &time, whole.iter().sum(), minutes, TIME);
    let parts: Vec<&str> = remark.split(", ").collect();
    let part = |n: usize, begins: &str| parts[n].strip_prefix(begins).unwrap_or_else(|| panic!("{remark}"));
    shows("prepare", part(0, "prepare "), whole[0], minutes, TIME);
    shows("finish", part(2, "finish "), whole[2], minutes, TIME);
    let (low, take) = part(1, "weave ").split_once(" to ").unwrap();
    shows("quickest weaving", low, of("/minutes_range/weave/low"), minutes, TIME);
    shows("slowest weaving", take, of("/minutes_range/weave/take"), minutes, TIME);
}

/// The weft by colour.
fn weft(paper: &Paper, plan: &Value, colours: &[&str]) {
    let table = paper.table(&WEFT);
    assert_eq!(table.column("Colour"), colours);
    for (n, colour) in colours.iter().enumerate() {
        let of = |path: &str| number(plan, &format!("/weft/colours/{n}/{path}"));
        shows(&format!("{colour}, strip"), table.cell(colour, "Strip to cut"), of("cut_mm/take"), mm, STRIP);
        for (head, end) in [("Low", "low"), ("Expected", "expected"), ("Take", "take")] {
            let what = format!("{colour}, {head}");
            shows(&what, table.cell(colour, head), of(&format!("mass_g/{end}")), grams, OUNCE);
        }
        assert_eq!(table.cell(colour, "Joins, about"), of("joins").to_string(), "{colour}, joins");
    }
}

/// The bands, from what was typed: heights in inches and both strands; rows are spread evenly.
fn bands(paper: &Paper, plan: &Value, bands: &[(f64, &str, &str)]) {
    let table = paper.table(&BANDS);
    let whole: f64 = bands.iter().map(|band| band.0).sum();
    let rows = number(plan, "/weft/rows");
    assert_eq!(table.rows.len(), bands.len(), "{:?}", table.rows);
    let (mut from, mut row) = (0.0, 1.0);
    for (n, (high, first, other)) in bands.iter().enumerate() {
        let band = (n + 1).to_string();
        let to = from + high;
        let last = (to / whole * rows).round();
        shows(&format!("band {band}, from"), table.cell(&band, "From"), from * 25.4, mm, INCH);
        shows(&format!("band {band}, to"), table.cell(&band, "To"), to * 25.4, mm, INCH);
        assert_eq!(table.cell(&band, "First strand"), *first, "band {band}");
        assert_eq!(table.cell(&band, "Other strand"), *other, "band {band}");
        assert_eq!(table.cell(&band, "Rows"), format!("{row}–{last}"), "band {band}");
        (from, row) = (to, last + 1.0);
    }
}

/// The face of the rug: its start at the bottom, and from the middle of each band a line to its number and letters.
fn face(paper: &Paper, bands: &[(f64, &str, &str)]) {
    let whole: f64 = bands.iter().map(|band| band.0).sum();
    let mut from = 0.0;
    for (n, (high, first, other)) in bands.iter().enumerate() {
        let letters =
            if first == other { first[..1].to_owned() } else { format!("{}/{}", &first[..1], &other[..1]) };
        let says = format!("{} {letters}", n + 1);
        let label = paper
            .texts
            .iter()
            .find(|text| text.says == says)
            .unwrap_or_else(|| panic!("no {says} on the face"));
        let ends_at = |line: &&crate::support::pdf::Stroke| {
            (line.ends[2] - label.x + 1.0).abs() < 0.05 && (line.ends[3] - label.y).abs() < 2.0
        };
        let second = paper.strokes.iter().find(ends_at).unwrap();
        let mut before = paper.strokes.iter().filter(|line| {
            (line.ends[2] - second.ends[0]).abs() < 0.01 && (line.ends[3] - second.ends[1]).abs() < 0.01
        });
        let [right, middle, ..] = before.next().unwrap().ends;
        let edges = paper.fills.iter().filter(|fill| fill.areas.len() == 4);
        let mut edges = edges.filter(|fill| {
            let [x, y, wide, _] = fill.areas[0];
            (x + wide - right).abs() < 0.01 && (y..y + fill.areas[2][3]).contains(&middle)
        });
        let edge = edges.next().unwrap_or_else(|| panic!("{says} leads nowhere"));
        let share = 1.0 - (middle - edge.areas[0][1]) / edge.areas[2][3];
        let wanted = (from + high / 2.0) / whole;
        assert!((share - wanted).abs() < 0.01, "{says} leads to {share:.2} of the face, not {wanted:.2}");
        from += high;
    }
}

/// When and what, in reading order.
pub(super) fn steps(paper: &Paper) -> Vec<String> {
    let head = paper.texts.iter().find(|text| text.says == "Steps").unwrap();
    let end = paper.texts.iter().find(|text| text.says == "Take care").unwrap();
    let place = |text: &crate::support::pdf::Text| (text.page, text.y);
    let mut whens: Vec<_> = paper
        .texts
        .iter()
        .filter(|text| text.bold && place(text) > place(head) && place(text) < place(end))
        .filter(|text| (text.points - head.points / 1.1).abs() < 0.01)
        .collect();
    whens.sort_by(|a, b| (a.page, a.x, a.y).partial_cmp(&(b.page, b.x, b.y)).unwrap());
    let what = |when: &&crate::support::pdf::Text| {
        let beside = paper.texts.iter().find(|text| {
            text.page == when.page && (text.y - when.y).abs() < 0.01 && text.x > when.right && !text.bold
        });
        format!("{} {}", when.says, paper.paragraph(beside.unwrap()))
    };
    whens.iter().map(what).collect()
}

/// How often each word stands on a paper, feet left out.
fn counted(paper: &Paper) -> BTreeMap<String, usize> {
    let feet: String = (0..paper.pages.len()).map(|page| paper.foot(page)).collect::<Vec<_>>().join(" ");
    let mut words = BTreeMap::new();
    for word in paper.words() {
        *words.entry(word.text).or_default() += 1;
    }
    for word in feet.split(' ') {
        if let Some(times) = words.get_mut(word) {
            *times -= 1;
        }
    }
    words
}

const OF_ANA: [(f64, &str, &str); 2] = [(12.0, "A White", "B Navy"), (20.0, "A White", "A White")];
const OF_BO: [(f64, &str, &str); 3] =
    [(10.0, "A Grey", "A Grey"), (20.0, "B Navy", "C Rust"), (9.0, "C Rust", "A Grey")];

#[tokio::test]
async fn a_card_says_of_its_rug_what_the_plan_says_each_under_its_own_heading() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for (n, under, first_row, own) in [
        (
            0,
            "18 in × 32 in woven, span 33 in, 33 nails per end, 2 rods of 36 in or more",
            ("33 crossings", "trade places"),
            "Bundle 1, navy, for navy: 700 g; Bundle 2, white, for white: 311 g.",
        ),
        (
            1,
            "24 in × 39 in woven, span 44 in, 43 nails per end, 2 rods of 47 in or more",
            ("43 crossings", "keep their places"),
            "Bundle 1, navy, for navy: 423 g; Bundle 3, grey, for the warp: 250 g.",
        ),
    ] {
        let (path, plan) = (class.rugs[n].path.clone(), class.rugs[n].plan());
        let screen = class.staff.get(&format!("{path}/card")).await.is(200);
        for size in ["a4", "letter"] {
            let paper = class.paper(&format!("{path}/card.pdf?size={size}")).await;
            let rug = &class.rugs[n];
            is_of_size(&paper, size);
            assert_eq!(paper.title, format!("Warp card, {}", rug.name));
            assert_eq!(paper.texts.iter().filter(|text| text.says == rug.name).count(), 1);
            paper.only("Tern Loft · Warp card");
            assert_eq!(paper.reads(rug.weaver), format!("{} · {under}", rug.weaver));
            boxes(&paper, &plan);
            let first = paper.reads("First row. ");
            assert!(first.contains(first_row.0) && first.contains(first_row.1), "{first}");
            assert!(first.contains("the first 2 warp strands"), "{first}");
            let weft_of = if n == 0 { "percale sheet" } else { "flannel sheet" };
            let head =
                format!("Weft by colour, two strands together, {weft_of}, {} rows", plan["weft"]["rows"]);
            assert_eq!(paper.reads("Weft by colour"), head);
            let (colours, of): (&[&str], &[_]) = if n == 0 {
                (&["A White", "B Navy"], &OF_ANA)
            } else {
                (&["A Grey", "B Navy", "C Rust"], &OF_BO)
            };
            weft(&paper, &plan, colours);
            bands(&paper, &plan, of);
            face(&paper, of);
            let promised = paper.reads("Bundle ");
            for (found, wanted) in promised.split("; ").zip(own.split("; ")) {
                let (what, mass) = found.trim_end_matches('.').rsplit_once(": ").unwrap();
                let (wanted, wanted_mass) = wanted.trim_end_matches('.').rsplit_once(": ").unwrap();
                assert_eq!(what, wanted, "{promised}");
                shows(what, mass, grams(wanted_mass), grams, OUNCE);
            }
            assert_eq!(promised.matches("Bundle").count(), 2, "only what is for this rug: {promised}");
            assert_eq!(steps(&paper), super::class::steps(&screen), "steps with their days");
            let first = format!("{} ", days::short("2026-10-14"));
            assert!(steps(&paper)[0].starts_with(&first), "the seventh is over: {:?}", steps(&paper));
            assert_eq!(
                paper.codes.iter().map(|code| code.says.clone()).collect::<Vec<_>>(),
                [link(rug, &plan, 1)]
            );
            let foot = "Tern Loft. Revision 1 of the plan, printed Thursday 8 October 2026.";
            assert!(paper.foot(0).starts_with(foot), "{}", paper.foot(0));
            assert!(
                paper.told.iter().any(|told| told.starts_with("The face of the rug, from the start: band 1"))
            );
            bars(&paper);
            pages_are_numbered(&paper);
        }
    }
}

#[tokio::test]
async fn large_print_says_all_that_the_card_says() {
    let mut class = Class::new(LOS_ANGELES.0, LOS_ANGELES.1).await;
    for n in 0..2 {
        let path = class.rugs[n].path.clone();
        let plain = class.paper(&format!("{path}/card.pdf?size=a4")).await;
        let large = class.paper(&format!("{path}/card.pdf?print=large&size=a4")).await;
        is_of_size(&large, "a4");
        assert!(large.pages.len() > plain.pages.len());
        pages_are_numbered(&large);
        bars(&large);
        boxes(&large, &class.rugs[n].plan());
        assert_eq!(large.codes.iter().map(|code| &code.says).collect::<Vec<_>>(), [&plain.codes[0].says]);
        let (plain, enlarged) = (counted(&plain), counted(&large));
        for (word, times) in &plain {
            let found = enlarged.get(word).copied().unwrap_or(0);
            assert!(found >= *times, "{word:?} stands {found} times in large print, {times} on the card");
        }
        let smallest = large.texts.iter().map(|text| text.points).fold(f64::MAX, f64::min);
        let said = |text: &&crate::support::pdf::Text| text.points < 11.9;
        assert!(smallest > 7.0 && large.texts.iter().filter(said).count() < 12, "large print is large");
        assert!(
            large.foot(0).starts_with("Tern Loft. Revision 1 of the plan, printed Tuesday 6 October 2026.")
        );
    }
}

#[tokio::test]
async fn the_cards_of_a_class_are_each_its_own_rugs() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = format!("{}/cards.pdf", class.term);
    let paper = class.paper(&path).await;
    is_of_size(&paper, "letter");
    assert_eq!((paper.pages.len(), paper.codes.len()), (3, 3));
    for rug in &class.rugs {
        let name =
            paper.texts.iter().find(|text| text.says == rug.name).unwrap_or_else(|| panic!("{}", rug.name));
        let weaver = paper.only(rug.weaver);
        let code = paper.codes.iter().find(|code| code.page == name.page).unwrap();
        assert_eq!(weaver.page, name.page);
        assert_eq!(code.says, link(rug, &rug.plan(), 1), "{}", rug.name);
        let (warp, _) = one_page(&paper, name.page).boxed("Warp, joined in one ball");
        shows("warp", &warp, number(&rug.plan(), "/warp/length_mm/take"), mm, STRIP);
    }
    let promised: Vec<_> = paper.all("Bundle ").iter().map(|text| (text.page, text.says.clone())).collect();
    let navy = |page_of: &str| {
        let page = paper.texts.iter().find(|text| text.says == page_of).unwrap().page;
        promised
            .iter()
            .filter(|(at, _)| *at == page)
            .map(|(_, says)| says.clone())
            .collect::<Vec<_>>()
            .join(" ")
    };
    shows("Ana’s navy", part(&navy("Low tide"), "for navy: "), 700.0, grams, OUNCE);
    shows("Bo’s navy", part(&navy("High water"), "for navy: "), 423.0, grams, OUNCE);
    assert!(navy("Slack water").is_empty());
}

/// What stands between these words and the next mark.
fn part<'a>(text: &'a str, after: &str) -> &'a str {
    text.split(after)
        .nth(1)
        .unwrap_or_else(|| panic!("{after:?} in {text:?}"))
        .split([';', '.'])
        .next()
        .unwrap()
}

fn one_page(paper: &Paper, page: usize) -> Paper {
    let texts = paper.texts.iter().filter(|text| text.page == page).cloned().collect();
    Paper {
        title: paper.title.clone(),
        pages: paper.pages.clone(),
        texts,
        fills: Vec::new(),
        strokes: Vec::new(),
        circles: Vec::new(),
        codes: Vec::new(),
        told: Vec::new(),
    }
}

#[tokio::test]
async fn a_changed_plan_prints_its_own_revision() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = class.rugs[2].path.clone();
    let page = class.staff.get(&format!("{path}/edit")).await.is(200);
    let mut fields = vec![("revision", page.field("revision")), ("term", class.term[7..].to_owned())];
    let typed = [
        ("name", "Slack water"),
        ("band-1-height", "24 in"),
        ("band-1-first", "teal"),
        ("band-1-other", "pink"),
    ];
    fields.extend(forms::rug(&typed).into_iter().map(|(name, value)| (name, value.to_owned())));
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    class.staff.post(&path, &fields).await.is(303);
    let plan = super::class::reckon(&[
        "--span",
        "33 in",
        "--width",
        "18 in",
        "--nails",
        "33",
        "--band",
        "24 in: teal/pink",
    ]);
    for paper in ["card.pdf", "tape.pdf", "reading.pdf"] {
        let read = class.paper(&format!("{path}/{paper}")).await;
        assert!(read.foot(0).contains("Revision 2 of the plan, printed Thursday 8 October 2026."), "{paper}");
        let wanted = link(&class.rugs[2], &plan, 2);
        assert!(read.codes.iter().all(|code| code.says == wanted) && !read.codes.is_empty(), "{paper}");
    }
}
