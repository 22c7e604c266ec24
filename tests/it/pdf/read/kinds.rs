//! Each paper that a page offers is also a kind of the `paper` command; and what no font draws is said before it is printed, by
//! pages and by the command.
use std::collections::BTreeSet;

use thrumhall::web::table;

use super::AUCKLAND;
use super::class::Class;
use crate::support::pdf::Paper;
use crate::support::program::{Ran, database, thrumhall};

/// The one table of papers: where each is a file, and which kind it is.
const PAPERS: [(&str, &str); 27] = [
    ("/cloth/colours.pdf", "colour-card"),
    ("/cloth/count/{id}/list.pdf", "stocktake-list"),
    ("/cloth/sheets.pdf", "cutting-plan"),
    ("/cloth/tags.pdf", "bundle-tags"),
    ("/cloth/weigh-in/sheet.pdf", "weigh-in-sheet"),
    ("/frames/build/template.pdf", "nail-template"),
    ("/frames/tags.pdf", "frame-tags"),
    ("/frames/{id}/template.pdf", "nail-template"),
    ("/loans/{id}/slip.pdf", "loan-slip"),
    ("/pull.pdf", "pull-sheet"),
    ("/rugs/any-size/sewing.pdf", "sewing-plan"),
    ("/rugs/{id}/booklet.pdf", "guide-booklet"),
    ("/rugs/{id}/card.pdf", "warp-card"),
    ("/rugs/{id}/care.pdf", "care-labels"),
    ("/rugs/{id}/exhibition.pdf", "exhibition-labels"),
    ("/rugs/{id}/first-row.pdf", "first-row"),
    ("/rugs/{id}/reading.pdf", "reading-card"),
    ("/rugs/{id}/sheets.pdf", "cutting-plan"),
    ("/rugs/{id}/tally.pdf", "row-tally"),
    ("/rugs/{id}/tape.pdf", "change-tape"),
    ("/terms/{id}/attendance.pdf", "attendance"),
    ("/terms/{id}/cards.pdf", "warp-card"),
    ("/terms/{id}/care.pdf", "care-labels"),
    ("/terms/{id}/exhibition.pdf", "exhibition-labels"),
    ("/terms/{id}/log-sheet.pdf", "log-sheet"),
    ("/terms/{id}/wall.pdf", "wall-sheet"),
    ("/tonight.pdf", "tonight"),
];

#[test]
fn each_paper_of_a_page_is_a_kind_of_the_command_and_each_kind_a_paper() {
    let there: BTreeSet<&str> =
        table().iter().map(|route| route.path).filter(|path| path.strip_suffix(".pdf").is_some()).collect();
    assert_eq!(there, PAPERS.iter().map(|(path, _)| *path).collect());
    let help = thrumhall(&["paper", "--help"]).out;
    let lines = help.lines().skip_while(|line| !line.starts_with("Commands:")).skip(1);
    let kinds: BTreeSet<&str> = lines
        .take_while(|line| line.starts_with("  "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|kind| *kind != "help")
        .collect();
    assert_eq!(kinds, PAPERS.iter().map(|(_, kind)| *kind).collect());
}

/// What a kind is asked, beside the database and the file.
fn asked(kind: &str, rug: &str, term: &str, loan: &str, stocktake: &str) -> Vec<String> {
    let flags: &[&str] = match kind {
        "colour-card" | "bundle-tags" | "weigh-in-sheet" | "frame-tags" | "pull-sheet" | "tonight" => &[],
        "stocktake-list" => &["--stocktake", stocktake],
        "cutting-plan" => &["--wanted", "40 yd", "--sheets", "3 x 96 in x 66 in"],
        "loan-slip" => &["--loan", loan],
        "sewing-plan" => &["--width", "36 in", "--length", "64 in"],
        "row-tally" | "reading-card" | "guide-booklet" | "first-row" => &["--rug", rug],
        "attendance" | "log-sheet" | "wall-sheet" | "warp-card" | "care-labels" | "exhibition-labels" => {
            &["--term", term]
        }
        "nail-template" => &["--span", "33", "--width", "18", "--nails", "33"],
        "change-tape" => &["--span", "33", "--width", "18", "--nails", "33", "--name", "Low tide"],
        other => panic!("nothing is said of {other}"),
    };
    flags.iter().map(ToString::to_string).collect()
}

/// A class with a loan and a stocktake, and what the command makes of it.
struct Printing {
    class: Class,
    database: [String; 2],
    folder: tempfile::TempDir,
    loan: String,
    stocktake: String,
}

impl Printing {
    async fn new() -> Self {
        let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
        let loan = class.hand_out(0, "2026-10-21").await;
        let counts = class.staff.get("/cloth/count").await.is(200);
        let fields = [("key", counts.field("key")), ("kind", String::new()), ("family", String::new())];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let begun = class.staff.post("/cloth/count", &fields).await.to().to_owned();
        let stocktake = begun.split('?').next().unwrap().rsplit('/').next().unwrap().to_owned();
        let loan = loan.rsplit('/').next().unwrap().to_owned();
        let database = database(class.world.store());
        Self { class, database, folder: tempfile::tempdir().unwrap(), loan, stocktake }
    }

    fn print(&self, kind: &str, flags: &[String]) -> (Ran, Vec<u8>) {
        let out = self.folder.path().join(format!("{kind}.pdf")).display().to_string();
        let mut line = vec!["paper", kind, "--size", "letter", "--out", &out];
        if !["nail-template", "change-tape"].contains(&kind) {
            line.extend(self.database.iter().map(String::as_str));
            line.extend(["--public-url", super::class::ORIGIN]);
        }
        line.extend(flags.iter().map(String::as_str));
        let mut ran = thrumhall(&line);
        // Which database it is of is told each time.
        ran.err =
            ran.err.lines().filter(|line| !line.starts_with("database: ")).collect::<Vec<_>>().join("\n");
        (ran, std::fs::read(&out).unwrap_or_default())
    }

    fn asked(&self, kind: &str) -> Vec<String> {
        let id = |path: &str| path.rsplit('/').next().unwrap().to_owned();
        asked(kind, &id(&self.class.rugs[0].path), &id(&self.class.term), &self.loan, &self.stocktake)
    }
}

/// The same paper as the page gives, where the page asks nothing that the command doesn't know.
#[tokio::test(flavor = "multi_thread")]
async fn each_kind_makes_its_paper_and_it_is_the_pages_own() {
    let mut printing = Printing::new().await;
    let id = |path: &str| path.rsplit('/').next().unwrap().to_owned();
    let (rug, term) = (id(&printing.class.rugs[0].path), id(&printing.class.term));
    for (path, kind) in PAPERS {
        let (ran, file) = printing.print(kind, &printing.asked(kind));
        assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{kind}");
        let printed = Paper::read(&file);
        let of = if path.starts_with("/rugs") {
            &rug
        } else if path.starts_with("/loans") {
            &printing.loan
        } else if path.contains("count") {
            &printing.stocktake
        } else {
            &term
        };
        let alike = !path.contains("sheets.pdf")
            && !path.contains("tags")
            && !path.contains("template")
            && !["tonight", "wall-sheet", "warp-card"].contains(&kind)
            && !["/rugs/any-size/sewing.pdf", "/rugs/{id}/tape.pdf"].contains(&path)
            && (!path.starts_with("/rugs") || kind == "row-tally");
        if alike {
            let page = printing.class.paper(&format!("{}?size=letter", path.replace("{id}", of))).await;
            // The command's day is today, the page's is the class's.
            let without_days = |paper: &Paper| {
                let said = paper.said();
                said.lines()
                    .filter(|line| !line.contains("printed ") && !line.contains(" 2026."))
                    .collect::<Vec<_>>()
                    .join("\n")
            };
            assert_eq!(without_days(&printed), without_days(&page), "{kind}");
            assert_eq!(printed.pages, page.pages, "{kind}");
        } else {
            assert!(printed.said().len() > 20, "{kind}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_guide_on_paper_begins_at_the_rod_that_is_asked() {
    let mut printing = Printing::new().await;
    for kind in ["first-row", "guide-booklet"] {
        let page = if kind == "first-row" { kind } else { "booklet" };
        for begin in ["left", "right"] {
            let mut flags = printing.asked(kind);
            flags.extend(["--begin", begin].map(str::to_owned));
            let (ran, file) = printing.print(kind, &flags);
            assert_eq!(ran.code, Some(0), "{kind}: {ran:?}");
            let path = printing.class.rugs[0].path.clone();
            let other = if begin == "left" { "right" } else { "left" };
            let [same, turned] =
                [begin, other].map(|begin| format!("{path}/{page}.pdf?size=letter&begin={begin}"));
            let rows = |paper: &Paper| {
                let said = paper.said();
                said.lines().filter(|line| line.contains(" rod")).map(str::to_owned).collect::<Vec<_>>()
            };
            let told = rows(&Paper::read(&file));
            assert_eq!(told, rows(&printing.class.paper(&same).await), "{kind} {begin}");
            assert_ne!(told, rows(&printing.class.paper(&turned).await), "{kind} {begin}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cutting_plan_of_a_rug_and_what_is_refused() {
    let printing = Printing::new().await;
    let rug = printing.class.rugs[0].path.rsplit('/').next().unwrap().to_owned();
    let flags =
        |flags: &[&str]| -> Vec<String> { flags.iter().map(|flag| flag.replace("RUG", &rug)).collect() };
    let (ran, file) =
        printing.print("cutting-plan", &flags(&["--rug", "RUG", "--sheets", "4 x 96 in x 66 in"]));
    assert_eq!(ran.code, Some(0), "{ran:?}");
    let paper = Paper::read(&file);
    paper.only("Ana Reed: Low tide, the warp");
    assert!(paper.said().contains("Sheets 1: "), "{}", paper.said());
    for (wrong, why) in [
        (&["--rug", "RUG", "--sheets", "many"][..], "isn’t a number of sheets"),
        (&["--rug", "RUG", "--sheets", "1 x 20 in x 20 in"], "give at most"),
        (&["--wanted", "40 yd"], "say which there are"),
        (&["--wanted", "soon", "--sheets", "4 x 96 in x 66 in"], "--wanted"),
    ] {
        let (ran, _) = printing.print("cutting-plan", &flags(wrong));
        assert!(ran.code != Some(0) && ran.err.contains(why), "{wrong:?}: {ran:?}");
    }
    let narrow = flags(&["--width", "5 in", "--length", "5 in", "--most", "1"]);
    let (ran, _) = printing.print("sewing-plan", &narrow);
    assert!(ran.code != Some(0) && ran.err.contains("panels of these sizes"), "{ran:?}");
}

/// A character of a private area, which no font has: what it stands for is agreed between two parties and nobody else.
/// Source: The Unicode Standard, 23.5, Private-Use Characters.
const NOBODYS: char = '\u{f8f17}';

#[tokio::test(flavor = "multi_thread")]
async fn what_no_font_draws_is_said_before_it_is_printed() {
    let mut printing = Printing::new().await;
    let name = format!("Tide {NOBODYS}");
    let path = printing.class.rugs[0].path.clone();
    let page = printing.class.staff.get(&format!("{path}/edit")).await.is(200);
    let revision = page.field("revision");
    let term = printing.class.term[7..].to_owned();
    let typed = [("name", name.as_str()), ("band-1-height", "32 in"), ("band-1-first", "white")];
    let mut fields = crate::support::forms::rug(&typed);
    fields.push(("band-1-other", "white"));
    fields.extend([("revision", revision.as_str()), ("term", term.as_str())]);
    printing.class.staff.post(&path, &fields).await.is(303);
    let loan = format!("/loans/{}", printing.loan);
    let term = printing.class.term.clone();
    for (paper, screen) in [
        (format!("{path}/card.pdf?size=a4"), true),
        (format!("{path}/tape.pdf"), true),
        (format!("{path}/reading.pdf"), true),
        (format!("{path}/care.pdf"), false),
        (format!("{path}/tally.pdf"), true),
        (format!("{path}/exhibition.pdf"), true),
        (format!("{path}/sheets.pdf?part=warp"), true),
        (format!("{term}/cards.pdf"), false),
        (format!("{term}/care.pdf?size=a4"), false),
        (format!("{term}/exhibition.pdf"), true),
        (format!("{term}/log-sheet.pdf"), true),
        (format!("{loan}/slip.pdf"), true),
        ("/tonight.pdf".to_owned(), true),
        ("/pull.pdf".to_owned(), true),
    ] {
        let warned = printing.class.staff.get(&paper).await.is(200);
        assert_eq!(warned.one("h1"), "A script without a font", "{paper}");
        assert!(warned.one(".lead").contains(NOBODYS), "{paper}");
        let ways: Vec<String> = warned.all("main .actions a");
        assert_eq!(ways.len(), if screen { 2 } else { 1 }, "{paper}: {ways:?}");
        let anyway = warned.attr("main .actions a[href*='anyway=yes']", "href");
        let size = if paper.contains("size=a4") { "[0 0 595.27" } else { "612" };
        let made = printing.class.staff.get(&anyway).await.is(200);
        assert!(made.text.starts_with("%PDF-1.7") && made.text.contains(size), "{anyway}");
        if screen {
            let shown = warned.attr("main .actions a:first-child", "href");
            let shown = printing.class.staff.get(&shown).await.is(200);
            assert!(shown.text.contains(NOBODYS), "{paper} is shown without the name");
        }
    }
    // A page of a paper says it itself, and its buttons don't say it again.
    let page = printing.class.staff.get(&format!("{path}/exhibition")).await.is(200);
    assert!(page.one(".notice.warn").contains(NOBODYS));
    let pdf = page.attr("a[href$='size=letter']", "href");
    assert!(printing.class.staff.get(&pdf).await.text.starts_with("%PDF-1.7"), "{pdf}");
    for kind in ["warp-card", "care-labels", "exhibition-labels", "log-sheet", "loan-slip", "tonight"] {
        let (ran, file) = printing.print(kind, &printing.asked(kind));
        assert_eq!(ran.code, Some(0), "{kind}");
        assert!(ran.err.contains(NOBODYS) && ran.err.lines().count() == 1, "{kind}: {}", ran.err);
        assert!(file.starts_with(b"%PDF-1.7"), "{kind} is made all the same");
    }
    // Tags name no rug, but a frame.
    let tags = "across=3&down=7&wide=60+mm&high=30+mm&left=10+mm&top=10+mm&between=0&below=0&skip=0&size=a4";
    let plain = printing.class.staff.get(&format!("/frames/tags.pdf?{tags}")).await.is(200);
    assert!(plain.text.starts_with("%PDF-1.7"));
    let tag = format!("Q{NOBODYS}");
    let (store, me) = (printing.class.world.store(), printing.class.me);
    let frame = crate::support::loft::frame(store, me, &crate::support::loft::usual(&tag)).await;
    for paper in [format!("/frames/tags.pdf?{tags}"), format!("/frames/{frame}/template.pdf")] {
        let warned = printing.class.staff.get(&paper).await.is(200);
        assert!(warned.one(".lead").contains(NOBODYS), "{paper}");
        let anyway = warned.attr("main .actions a[href*='anyway=yes']", "href");
        assert!(printing.class.staff.get(&anyway).await.text.starts_with("%PDF-1.7"), "{anyway}");
    }
    let (ran, _) = printing.print("frame-tags", &[]);
    assert!(ran.code == Some(0) && ran.err.contains(NOBODYS), "{ran:?}");
    let (ran, _) = printing.print("bundle-tags", &[]);
    assert_eq!(ran.err, "", "no bundle's tag names the frame");
}
