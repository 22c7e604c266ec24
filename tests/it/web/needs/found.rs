//! What the shelf gives: fit cloth that is washed and promised to nobody else, by the rules; and what is lacking then.
use serde_json::Value;
use thrumhall::store::RugId;

use super::{Room, counted, reckoned, room, rug, take, weighed_for};
use crate::support::share_outs::{Given, Part, begin};

/// The rules of a share-out, written apart: nothing overdrawn, nobody gets more than asked, or from more bundles than may be.
/// `free` is what each bundle has to give to these rugs.
#[track_caller]
fn keeps_the_rules(wanted: &[Part], found: &[Given], most: usize, free: &[(i64, f64)]) {
    for part in wanted {
        let own: Vec<&Given> =
            found.iter().filter(|given| given.rug == part.rug && given.name == part.name).collect();
        let given = own.iter().map(|given| given.grams).sum::<f64>() * counted();
        // Strip is given in whole grams, the last one begun.
        assert!(given < part.grams + 1.0, "{given} g of strip for {part:?}");
        assert!(own.len() <= most, "{} bundles for {part:?}", own.len());
        let mut bundles: Vec<i64> = own.iter().map(|given| given.bundle).collect();
        bundles.dedup();
        assert_eq!(bundles.len(), own.len(), "one bundle twice for {part:?}");
    }
    assert!(
        found.iter().all(|given| wanted.iter().any(|part| part.rug == given.rug && part.name == given.name))
    );
    for (bundle, free) in free {
        let given: f64 = found.iter().filter(|given| given.bundle == *bundle).map(|given| given.grams).sum();
        assert!(given <= *free, "bundle {bundle} gives {given} g of {free} g");
    }
    let known = |given: &Given| free.iter().any(|(bundle, _)| *bundle == given.bundle);
    assert!(found.iter().all(known), "a bundle that has nothing to give: {found:?}");
}

fn given_to(found: &[Given], rug: RugId, name: &str) -> f64 {
    found.iter().filter(|given| given.rug == rug && given.name == name).map(|given| given.grams).sum()
}

#[tokio::test]
async fn warp_takes_nothing_that_is_unfit_for_it() {
    let mut room = room(&[("warp_kind", "percale")]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "white", "jersey", 9_000, true).await;
    room.bundle(2, "white", "interlock", 9_000, true).await;
    room.bundle(3, "white", "terry", 9_000, true).await;
    let share_out = begin(&mut room.browser, &[ana], 6, 200).await;
    let found = share_out.found(&room.world, &mut room.browser).await;
    assert_eq!(found, [], "cloth that stretches or sheds is no percale");
    // Jersey is woven as weft where the rug says so, but never wound for a percale warp.
    let weaver = &mut room.ana.clone();
    let soft = rug(weaver, &[("name", "Soft"), ("weft_kind", "jersey")]).await;
    let share_out = begin(&mut room.browser, &[soft], 6, 200).await;
    let found = share_out.found(&room.world, &mut room.browser).await;
    assert!(
        !found.is_empty() && found.iter().all(|given| given.name != "warp" && given.bundle == 1),
        "{found:?}"
    );
}

#[tokio::test]
async fn cloth_promised_to_others_is_not_offered_but_ones_own_is() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, navy] = take(&reckoned(&[])).map(f64::ceil).map(weighed_for);
    // All white there is: enough for Ana's warp and white, and 200 g more.
    let all = (warp + white + 200.0) as u32;
    room.bundle(1, "white", "percale", all, true).await;
    room.bundle(2, "white", "percale", 5_000, false).await;
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    let found = first.found(&room.world, &mut room.browser).await;
    let wanted = first.wanted(&room.world).await;
    keeps_the_rules(&wanted, &found, 2, &[(1, f64::from(all))]);
    assert_eq!(
        ["warp", "White", "Navy"].map(|name| given_to(&found, ana, name)),
        [warp, white, 0.0],
        "{navy} g lack"
    );
    // A proposal promises nothing yet.
    let proposal = begin(&mut room.browser, &[ben], 2, 6).await;
    let found = proposal.found(&room.world, &mut room.browser).await;
    assert_eq!(given_to(&found, ben, "warp") + given_to(&found, ben, "White"), warp + white);
    first.accept(&mut room.browser).await;
    let second = begin(&mut room.browser, &[ben], 2, 6).await;
    let found = second.found(&room.world, &mut room.browser).await;
    keeps_the_rules(&second.wanted(&room.world).await, &found, 2, &[(1, 200.0)]);
    let rest = found.iter().map(|given| given.grams).sum::<f64>();
    // Whole grams of strip may leave one of cloth.
    assert!((198.0..=200.0).contains(&rest), "what Ana wasn't promised: {found:?}");
    // Shared out again, Ana's own promises are hers to give up and to have again.
    let again = first.again(&mut room.browser, &[], false).await;
    let found = again.found(&room.world, &mut room.browser).await;
    assert_eq!(["warp", "White"].map(|name| given_to(&found, ana, name)), [warp, white]);
    // Ben accepts his 200 g; then nothing is left for a third, but washing the other bundle would help.
    second.accept(&mut room.browser).await;
    let spare = rug(&mut room.ben.clone(), &[("name", "Spare")]).await;
    let third = begin(&mut room.browser, &[spare], 2, 6).await;
    assert_eq!(third.found(&room.world, &mut room.browser).await, []);
    assert!(third.answer(&mut room.browser).await.all("table")[0].contains("Wash bundle 2"));
}

#[tokio::test]
async fn what_is_locked_is_kept_and_counted() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    let [_, white, _] = take(&reckoned(&[]));
    room.bundle(1, "white", "percale", 300, true).await;
    room.bundle(2, "white", "percale", 310, true).await;
    room.bundle(3, "white", "percale", 9_000, true).await;
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    first.answer(&mut room.browser).await;
    // Part 2 is white: by hand 290 g of bundle 1, which locks it.
    room.browser.post(&format!("{}/choose/2", first.path), &[("take-1", "290 g")]).await.is(303);
    let keep = first.promises(&room.world, ana, "White").await;
    let second = first.again(&mut room.browser, &keep, false).await;
    let found = second.found(&room.world, &mut room.browser).await;
    let whites: Vec<&Given> = found.iter().filter(|given| given.name == "White").collect();
    let kept: Vec<_> = whites.iter().filter(|given| given.locked).collect();
    assert_eq!(kept.len(), 1, "{found:?}");
    assert_eq!((kept[0].bundle, kept[0].grams), (1, 290.0));
    let wanted = second.wanted(&room.world).await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 300.0), (2, 310.0), (3, 9_000.0)]);
    let rest = white.ceil() - 290.0 * counted();
    assert!(
        (given_to(&found, ana, "White") * counted() - white).abs() < 2.01,
        "{rest} g are found for the rest: {found:?}"
    );
    assert!(whites.len() == 2 && whites.iter().all(|given| given.locked || given.bundle != 1), "{found:?}");
}

/// Shares out for Ana, keeping so much of bundle 1 for her white, chosen by hand.
async fn with_locked(room: &mut Room, locked: &str) -> (Vec<Part>, Vec<Given>) {
    let ana = room.rugs[0];
    let first = begin(&mut room.browser, &[ana], 2, 6).await;
    first.answer(&mut room.browser).await;
    room.browser.post(&format!("{}/choose/2", first.path), &[("take-1", locked)]).await.is(303);
    let keep = first.promises(&room.world, ana, "White").await;
    let second = first.again(&mut room.browser, &keep, false).await;
    let found = second.found(&room.world, &mut room.browser).await;
    (second.wanted(&room.world).await, found)
}

#[tokio::test]
async fn locked_cloth_is_gone_from_its_bundle_and_its_bundle_counts_among_the_most() {
    // Nothing but 300 g: the warp can have no more than what isn't locked.
    let mut room = self::room(&[]).await;
    room.bundle(1, "white", "percale", 300, true).await;
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 300.0)]);
    // Three bundles would be needed for white: the locked one and one more are two.
    let mut room = self::room(&[]).await;
    for number in 1..=4 {
        room.bundle(number, "white", "percale", 300, true).await;
    }
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[1, 2, 3, 4].map(|bundle| (bundle, 300.0)));
    let whites = found.iter().filter(|given| given.name == "White").count();
    assert_eq!(whites, 2, "{found:?}");
    // All comes from one bundle, of which a part is locked: the rest isn't a second promise of it to the same part.
    let mut room = self::room(&[]).await;
    room.bundle(1, "white", "percale", 9_000, true).await;
    let (wanted, found) = with_locked(&mut room, "290 g").await;
    keeps_the_rules(&wanted, &found, 2, &[(1, 9_000.0)]);
}

#[tokio::test]
async fn a_colour_too_far_off_is_left_and_of_two_the_nearer_is_taken() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "red", "percale", 9_000, true).await;
    room.bundle(2, "navy", "percale", 9_000, true).await;
    let strict = begin(&mut room.browser, &[ana], 2, 12).await;
    let found = strict.found(&room.world, &mut room.browser).await;
    assert_eq!(given_to(&found, ana, "White"), 0.0, "neither is white: {found:?}");
    assert!(
        given_to(&found, ana, "Navy") > 0.0 && given_to(&found, ana, "warp") > 0.0,
        "warp may have any: {found:?}"
    );
    assert!(found.iter().filter(|given| given.name == "Navy").all(|given| given.bundle == 2), "{found:?}");
    let loose = begin(&mut room.browser, &[ana], 2, 200).await;
    let found = loose.found(&room.world, &mut room.browser).await;
    assert!(given_to(&found, ana, "White") > 0.0, "any colour rather than none: {found:?}");
}

#[tokio::test]
async fn few_changes_keeps_the_bundle_that_a_rug_was_promised() {
    let mut room = room(&[]).await;
    let [ana, _] = room.rugs;
    room.bundle(1, "cream", "percale", 9_000, true).await;
    let first = begin(&mut room.browser, &[ana], 1, 25).await;
    let found = first.found(&room.world, &mut room.browser).await;
    assert!(given_to(&found, ana, "White") > 0.0, "cream is near enough: {found:?}");
    first.accept(&mut room.browser).await;
    room.bundle(2, "white", "percale", 9_000, true).await;
    let white = |found: &[Given]| -> Vec<i64> {
        found.iter().filter(|given| given.name == "White").map(|given| given.bundle).collect()
    };
    let few = first.again(&mut room.browser, &[], true).await;
    assert_eq!(white(&few.found(&room.world, &mut room.browser).await), [1]);
    let free = first.again(&mut room.browser, &[], false).await;
    assert_eq!(white(&free.found(&room.world, &mut room.browser).await), [2]);
}

#[tokio::test]
async fn by_hand_one_chooses_from_washed_cloth_that_is_promised_to_nobody_else() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, _] = take(&reckoned(&[])).map(f64::ceil).map(weighed_for);
    room.bundle(1, "white", "percale", 4_000, true).await;
    room.bundle(2, "white", "percale", 500, false).await;
    let theirs = begin(&mut room.browser, &[ben], 2, 6).await;
    theirs.answer(&mut room.browser).await;
    theirs.accept(&mut room.browser).await;
    let mine = begin(&mut room.browser, &[ana], 2, 6).await;
    mine.answer(&mut room.browser).await;
    // Ben has his warp and white of it for good, and Ana's own warp is spoken for: the rest is free for her white.
    let free = 4_000.0 - 2.0 * warp - white;
    let page = room.browser.get(&format!("{}/choose/2", mine.path)).await.is(200);
    assert_eq!(
        page.all("tbody tr").len(),
        1,
        "what isn't washed can't be chosen: {:?}",
        page.all("tbody tr")
    );
    assert_eq!(page.one("td[data-label=Free]"), format!("{free} g"));
    let path = format!("{}/choose/2", mine.path);
    room.browser.post(&path, &[("take-1", &format!("{} g", free + 1.0))]).await.is(422);
    room.browser.post(&path, &[("take-1", &format!("{free} g"))]).await.is(303);
    // Accepted and shared out again, what Ana had is hers to choose from again.
    mine.accept(&mut room.browser).await;
    let again = mine.again(&mut room.browser, &[], false).await;
    again.answer(&mut room.browser).await;
    let page = room.browser.get(&format!("{}/choose/2", again.path)).await.is(200);
    assert_eq!(page.one("td[data-label=Free]"), format!("{free} g"));
}

#[tokio::test]
async fn what_is_lacking_is_summed_and_bought_by_kind_and_colour() {
    let mut room = room(&[]).await;
    let [ana, ben] = room.rugs;
    let [warp, white, navy] = take(&reckoned(&[]));
    room.bundle(1, "navy", "percale", 500, false).await;
    room.bundle(2, "red", "percale", 500, false).await;
    room.bundle(3, "navy", "terry", 500, false).await;
    let page = begin(&mut room.browser, &[ana, ben], 2, 25).await.answer(&mut room.browser).await;
    let rows = page.all("tr:has(td[data-label=Lacking])");
    let row = |name: &str| {
        rows.iter().find(|row| row.starts_with(name)).unwrap_or_else(|| panic!("{name}: {rows:?}"))
    };
    for (name, one) in [("Warp", warp), ("White", white), ("Navy", navy)] {
        let both = 2.0 * one;
        let row = row(name);
        assert!(row.contains("for 2 rugs"), "{row}");
        let grams = format!("{} g", both.round());
        assert!(row.contains(&grams), "{grams} in {row}");
        // A twin flat sheet is 66 × 96 in; percale weighs 130 g/m².
        let twin = 66.0 * 96.0 * 0.0254 * 0.0254 * 130.0;
        // What is lacking is strip; sheets have hems.
        let both = both / counted();
        let twins = format!("{:.1}", both / twin);
        assert!(row.contains(&format!(" {twins} ")), "{twins} in {row}");
        // Enough for both is bought, and not a sheet too much.
        let bought = row.split(" g in all").next().unwrap().rsplit(' ').next().unwrap();
        let bought: f64 = bought.parse().unwrap();
        assert!(bought + 3.0 > both && bought < both + twin, "{bought} g for {both} g: {row}");
    }
    assert!(row("Navy").contains("Wash bundle 1") && !row("Navy").contains("bundle 2"), "{}", row("Navy"));
    assert!(!row("Navy").contains("bundle 3") && !row("White").contains("Wash"), "{rows:?}");
    // Washed cloth that is taken for them needs no wash.
    room.bundle(4, "navy", "percale", 50, true).await;
    let page = begin(&mut room.browser, &[ana, ben], 2, 25).await.answer(&mut room.browser).await;
    assert!(!page.all("tr:has(td[data-label=Lacking])").iter().any(|row| row.contains("Wash bundle 4")));
    // Cloth of another kind is lacked by itself.
    let heavy = rug(&mut room.ana.clone(), &[("name", "Heavy"), ("weft_kind", "denim")]).await;
    let page = begin(&mut room.browser, &[ana, heavy], 2, 25).await.answer(&mut room.browser).await;
    let rows = page.all("tr:has(td[data-label=Lacking])");
    let whites: Vec<&String> = rows.iter().filter(|row| row.starts_with("White")).collect();
    assert_eq!(whites.len(), 2, "{rows:?}");
    assert!(whites.iter().all(|row| row.contains("for 1 rug")), "{whites:?}");
    // Denim is 330 g/m².
    let denim = whites.iter().find(|row| row.contains("denim")).unwrap();
    let heavy_white = take(&reckoned_heavy())[1];
    let sheets = format!("{:.1}", heavy_white / counted() / (66.0 * 96.0 * 0.0254 * 0.0254 * 330.0));
    assert!(denim.contains(&format!(" {sheets} ")), "{sheets} in {denim}");
}

fn reckoned_heavy() -> Value {
    reckoned(&["--kind", "denim", "--warp-kind", "percale"])
}
