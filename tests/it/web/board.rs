//! The drawing board: what its buttons do to the bands, and what it says of the shelf.
use crate::support::browser::{Browser, World};
use crate::support::forms;
use crate::support::loft;

use super::rugs::with;

async fn weigh_in(by: &mut Browser, colour: &str, weight: &str) {
    let fields = [("kind", "percale"), ("colour", colour), ("weight", weight), ("washed", "yes")];
    by.post("/cloth/weigh-in", &fields).await.is(303);
}

/// The form that was answered, sent again with one of the board's buttons pressed.
fn pressed<'a>(name: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    with(&[(name, value), ("look", "yes")])
}

#[tokio::test]
async fn a_new_rug_begins_with_what_there_is_most_of() {
    let world = World::new().await;
    let (ines, _) = world.instructor().await;
    loft::frame(world.store(), ines, &loft::usual("S1")).await;
    let (_, mut volunteer) = world.volunteer().await;
    let (_, mut weaver) = world.weaver().await;
    let empty = weaver.get("/rugs/new").await.is(200);
    assert_eq!(empty.field("band-1-height"), "", "there is no cloth to begin with");
    weigh_in(&mut volunteer, "navy", "3 kg").await;
    weigh_in(&mut volunteer, "cream", "2 kg").await;
    let page = weaver.get("/rugs/new").await.is(200);
    assert_eq!(page.field("band-1-height"), "32 in");
    assert_eq!(page.all(".board-band strong"), ["32 in"]);
    assert_eq!(page.all(".board-swatch strong"), ["Cream", "Navy"], "light before dark");
    assert_eq!(page.one(".board-cover h2"), "The shelf covers it");
    assert!(!page.text.contains(" style="), "the content policy forbids inline style");
}

#[tokio::test]
async fn the_boards_buttons_change_the_bands_and_keep_nothing() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    weigh_in(&mut volunteer, "teal", "3 kg").await;
    let (_, mut weaver) = world.weaver().await;
    let page = weaver.post("/rugs", &pressed("board", "mirror")).await.is(200);
    let heights = ["band-1-height", "band-2-height", "band-3-height"].map(|name| page.field(name));
    assert_eq!(heights, ["12 in", "8 in", "12 in"]);
    assert_eq!(page.all(".board-band strong"), ["12 in", "8 in", "12 in"]);
    let page =
        weaver.post("/rugs", &with(&[("band", "2"), ("strand", "other"), ("colour", "teal")])).await.is(200);
    // A select tells what was chosen by its option.
    assert_eq!(page.attr("#band-2-other option[selected]", "value"), "teal");
    assert_eq!(page.attr("#band-2-first option[selected]", "value"), "white");
    assert_eq!(page.attr("#band-1-other option[selected]", "value"), "navy", "another band stays");
    assert_eq!(page.attr("[name=band][checked]", "value"), "2");
    let refused = weaver.post("/rugs", &pressed("board", "nonsense")).await.is(200);
    assert_eq!(refused.field("band-1-height"), "12 in", "what it doesn't know leaves all as it is");
    assert!(weaver.get("/my").await.text.contains("/rugs/new"), "nothing was kept");
}

#[tokio::test]
async fn what_is_lacking_is_said_with_what_helps() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    weigh_in(&mut volunteer, "white", "5 kg").await;
    weigh_in(&mut volunteer, "navy", "60 g").await;
    let (_, mut weaver) = world.weaver().await;
    let page = weaver.post("/rugs", &pressed("more", "yes")).await.is(200);
    assert_eq!(page.one(".board-cover h2"), "The shelf covers it, except navy");
    assert_eq!(page.all(".board-lines .badge.bad").len(), 1);
    assert!(page.all("[name=instead]").is_empty(), "no other colour has enough");
    weigh_in(&mut volunteer, "blue", "3 kg").await;
    let page = weaver.post("/rugs", &pressed("more", "yes")).await.is(200);
    assert_eq!(page.attr("[name=instead]", "value"), "navy|blue");
    let page = weaver.post("/rugs", &pressed("instead", "navy|blue")).await.is(200);
    assert_eq!(page.attr("#band-1-other option[selected]", "value"), "blue");
    assert_eq!(page.one(".board-cover h2"), "The shelf covers it");
}

#[tokio::test]
async fn cloth_promised_to_others_or_unwashed_is_not_offered() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    weigh_in(&mut volunteer, "white", "5 kg").await;
    let unwashed = [("kind", "percale"), ("colour", "navy"), ("weight", "5 kg"), ("washed", "no")];
    volunteer.post("/cloth/weigh-in", &unwashed).await.is(303);
    let (_, mut weaver) = world.weaver().await;
    let form = forms::rug(&forms::with(&[("look", "yes")], &with(&[])));
    let page = weaver.post("/rugs", &form).await.is(200);
    assert_eq!(page.all(".board-swatch strong"), ["White"]);
    assert_eq!(page.one(".board-cover h2"), "The shelf covers it, except navy");
}

#[tokio::test]
async fn a_chart_is_kept_shown_on_every_paper_and_refused_in_words() {
    let world = World::new().await;
    let (ines, _) = world.instructor().await;
    loft::frame(world.store(), ines, &loft::usual("S1")).await;
    let (_, mut weaver) = world.weaver().await;
    // The second band of the form's rug is plain: its chart needs another colour.
    let refused = weaver.post("/rugs", &with(&[("band-1-chart", "xx.\r\n.o.")])).await.is(422);
    assert!(refused.error("band-1-chart").contains("Line 2 of the chart has “o”"));
    assert_eq!(refused.one("#band-1-chart"), "xx. .o.", "what was typed is kept");
    let refused =
        weaver.post("/rugs", &with(&[("band-1-chart", "x."), ("band-1-right", "many")])).await.is(422);
    assert!(!refused.error("band-1-right").is_empty());
    let one = [("band-1-chart", "x."), ("band-1-first", "navy"), ("band-1-other", "navy")];
    let refused = weaver.post("/rugs", &with(&one)).await.is(422);
    assert!(refused.error("band-1-chart").contains("needs two colours"));
    let two = [
        ("band-1-first", "white"),
        ("band-1-other", "navy"),
        ("band-1-chart", "xxx.\r\n.xx."),
        ("band-1-up", "1"),
    ];
    let to = weaver.post("/rugs", &with(&two)).await.to().to_owned();
    let rug = to.split('?').next().unwrap().to_owned();
    let form = weaver.get(&format!("{rug}/edit")).await.is(200);
    assert_eq!(
        (form.one("#band-1-chart"), form.field("band-1-up")),
        ("xxx. .xx.".to_owned(), "1".to_owned())
    );
    // Moved up by a row, the upper line is the first row.
    let card = weaver.get(&format!("{rug}/reading")).await.is(200);
    assert!(card.text.contains("3 Navy, 1 White, 3 Navy, 1 White"), "the first row");
    assert!(card.text.contains("1 White, 2 Navy, 2 White, 2 Navy"), "the second");
    let row = weaver.get(&format!("{rug}/stepper?row=1&step=2")).await.is(200);
    assert!(row.text.contains("Turn the two once more: navy stays in front"), "{}", row.one(".row-words"));
    weaver.get(&format!("{rug}/reading.pdf")).await.is(200);
    weaver.get(&format!("{rug}/tape.pdf")).await.is(200);
}

#[tokio::test]
async fn the_boards_buttons_change_the_chart() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let mut chart = "xx.\n..x".to_owned();
    for (act, wanted) in [
        ("chart-mirror", ".xx\nx.."),
        ("chart-flip", "x..\n.xx"),
        ("chart-swap", ".xx\nx.."),
        ("chart-across", ".xx.xx\nx..x.."),
        ("chart-above", ".xx.xx\nx..x..\n.xx.xx\nx..x.."),
        ("chart-none", ""),
    ] {
        let typed = chart.clone();
        let two =
            [("band-1-first", "white"), ("band-1-other", "navy"), ("band-1-chart", &*typed), ("board", act)];
        let page = weaver.post("/rugs", &with(&two)).await.is(200);
        assert_eq!(page.one("#band-1-chart"), wanted.replace('\n', " "), "{act}");
        wanted.clone_into(&mut chart);
    }
    let two = [("band-1-first", "white"), ("band-1-other", "navy")];
    let pressed = |more: &[(&'static str, &'static str)]| with(&[&two[..], more].concat());
    let sized = [("chart_across", "3"), ("chart_high", "2"), ("board", "chart-size")];
    let page = weaver.post("/rugs", &pressed(&sized)).await.is(200);
    assert_eq!(page.one("#band-1-chart"), "... ...");
    let moved = [("band-1-chart", "xx."), ("board", "chart-left")];
    assert_eq!(weaver.post("/rugs", &pressed(&moved)).await.is(200).field("band-1-right"), "2");
    let letters = [("chart_letters", "it"), ("chart_letter_rows", "1"), ("board", "chart-letters")];
    let page = weaver.post("/rugs", &pressed(&letters)).await.is(200);
    assert!(page.one("#band-1-chart").starts_with("....... .x.xxx."));
    let letters = [("chart_letters", "é"), ("chart_letter_rows", "1"), ("board", "chart-letters")];
    let page = weaver.post("/rugs", &pressed(&letters)).await.is(200);
    assert!(page.one("#chart-letters-error").contains("“é” has no letter"));
    let sized = [("chart_across", "0"), ("chart_high", "2"), ("board", "chart-size")];
    let page = weaver.post("/rugs", &pressed(&sized)).await.is(200);
    assert!(page.one("#chart-size-error").contains("from 1 to 120 units"));
    let flipped = [("band-1-chart", "xx.\n..x"), ("board", "turn")];
    let page = weaver.post("/rugs", &pressed(&flipped)).await.is(200);
    assert!(page.text.contains("..x\nxx."), "end for end its chart is so, too");
}
