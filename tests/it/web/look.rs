//! The page that shows every part.
use std::collections::BTreeMap;

use crate::support::browser::World;

/// The colours that a block of a stylesheet sets.
fn colours(css: &str, after: &str, nth: usize) -> BTreeMap<String, String> {
    let block = css.split(after).nth(nth).unwrap().split('}').next().unwrap();
    let pairs = block.split([';', '{']).filter_map(|one| one.trim().split_once(": #"));
    pairs.map(|(name, colour)| (name.trim().to_owned(), colour.to_owned())).collect()
}

#[test]
fn its_two_palettes_are_those_of_all_pages() {
    let (style, look) = (include_str!("../../../static/style.css"), include_str!("../../../static/look.css"));
    let (light, dark) = (colours(style, ":root {", 1), colours(style, ":root {", 2));
    assert!(light.len() > 20 && dark.len() > 15, "{light:?} {dark:?}");
    assert_eq!(colours(look, ".as-light {", 1), light);
    assert_eq!(colours(look, ".as-dark {", 1), dark);
}

#[tokio::test]
async fn it_shows_the_parts_twice_and_each_field_has_an_id_of_its_own() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let page = browser.get("/look").await.is(200);
    for part in [
        ".button.danger",
        ".badge.warn",
        ".swatch-named",
        ".caution",
        ".empty",
        ".range",
        "table",
        ".rug-small",
    ] {
        let of = |side: &str| page.all(&format!("{side} {part}")).len();
        assert!(of(".as-light") > 0 && of(".as-light") == of(".as-dark"), "{part}");
    }
    let mut ids = page.attrs("[id]", "id");
    let all = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), all, "an id stands twice");
    let (_, mut weaver) = world.weaver().await;
    weaver.get("/look").await.is(403);
}
