//! The reading card, read back: the rows of each stretch, its strands, and what shows at the left.
use super::class::{Class, ORIGIN};
use super::{AUCKLAND, is_of_size, pages_are_numbered};
use crate::support::measures::{INCH, mm, shows};

const HEADS: [&str; 6] = ["Rows", "First strand", "Other strand", "At your left", "Reaches", "Done"];

/// Until how many inches, both strands, and what shows at the left.
type Stretch = (f64, &'static str, &'static str, &'static str);

/// Where strands trade places the leftmost unit shows the first strand in odd rows and the other in even ones; where they keep
/// them it shows the first in each.
#[tokio::test]
async fn each_stretch_has_its_rows_its_strands_and_what_shows_at_the_left() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let ana: &[Stretch] =
        &[(12.0, "A White", "B Navy", "odd rows A, even rows B"), (32.0, "A White", "A White", "A White")];
    let bo: &[Stretch] = &[
        (10.0, "A Grey", "A Grey", "A Grey"),
        (30.0, "B Navy", "C Rust", "B Navy"),
        (39.0, "C Rust", "A Grey", "C Rust"),
    ];
    for (n, stretches, places) in [(0, ana, "trade places"), (1, bo, "keep their places")] {
        let (path, plan) = (class.rugs[n].path.clone(), class.rugs[n].plan());
        let rows = plan["weft"]["rows"].as_f64().unwrap();
        let screen = class.staff.get(&format!("{path}/reading")).await.is(200);
        let on_screen = screen.all("article table tbody tr td, article table tbody tr th");
        let paper = class.paper(&format!("{path}/reading.pdf?size=a4")).await;
        is_of_size(&paper, "a4");
        pages_are_numbered(&paper);
        let rug = &class.rugs[n];
        assert_eq!(paper.texts.iter().filter(|text| text.says == rug.name).count(), 1);
        let units = [33, 43][n];
        assert_eq!(
            paper.reads(rug.weaver),
            format!("{} · {rows} rows over {units} units of 2 warp strands", rug.weaver)
        );
        assert!(paper.reads("At the rod the two strands ").contains(places), "{places}");
        let table = paper.table(&HEADS);
        assert_eq!(table.rows.len(), stretches.len(), "{:?}", table.rows);
        let mut first = 1.0;
        for ((until, one, other, left), row) in stretches.iter().zip(&table.rows) {
            let last = (until / [32.0, 39.0][n] * rows).round();
            assert_eq!(row[0], format!("{first}–{last} ({})", last - first + 1.0));
            assert_eq!((row[1].as_str(), row[2].as_str(), row[3].as_str()), (*one, *other, *left), "{row:?}");
            shows(&row[0], &row[4], until * 25.4, mm, INCH);
            for cell in &row[..5] {
                // On the page the names stand beside the letters everywhere.
                let there = on_screen.iter().any(|shown| nameless(shown) == nameless(cell));
                assert!(there, "{cell:?} isn’t on the page: {on_screen:?}");
            }
            first = last + 1.0;
        }
        assert_eq!(paper.foot(0), "Revision 1 of the plan, printed Thursday 8 October 2026.");
        let code = &paper.codes[0].says;
        assert!(code.starts_with(&format!("{ORIGIN}{path}?paper=1.")), "{code}");

        // In large print the same stands, over more lines.
        let large = class.paper(&format!("{path}/reading.pdf?print=large&size=letter")).await;
        is_of_size(&large, "letter");
        let said = large.said().split_whitespace().collect::<Vec<_>>().join(" ");
        for row in &table.rows {
            for cell in &row[..5] {
                for word in cell.split(' ') {
                    assert!(said.contains(word), "{word:?} of {row:?} is lost in large print");
                }
            }
        }
        assert_eq!(large.codes[0].says, *code);
    }
}

/// Colours by their letters alone.
fn nameless(cell: &str) -> String {
    [" White", " Navy", " Grey", " Rust"].iter().fold(cell.to_owned(), |cell, name| cell.replace(name, ""))
}
