//! The share-out's pages: begun, watched, accepted, pulled; and what breaks is shown.
use std::time::Duration;

use thrumhall::planning::Kind;
use thrumhall::planning::colour::Hex;
use thrumhall::store::cloth::bundles::BundleFields;
use thrumhall::store::cloth::ledger::Weighing;
use thrumhall::store::people::Role;
use thrumhall::store::{BundleId, PersonId, RequestKey, RugId, TermId};
use thrumhall::units::{Mass, Units};

use crate::support::browser::{Browser, Page, World};
use crate::support::{actor, loft, share_outs};

pub async fn bundle(
    world: &World,
    who: PersonId,
    name: &str,
    rrggbb: u32,
    pounds: f64,
    washed: bool,
) -> BundleId {
    let id = BundleId::new();
    let fields = BundleFields::plain(Kind::Percale, name, Hex::rgb(rrggbb), washed);
    let gross = Mass::from_pounds(pounds);
    let weighing = Weighing { typed: gross.exact(Units::Inches), gross, tare: Mass::ZERO };
    let mut tx = world.store().write(actor(who)).await.unwrap();
    tx.weigh_in(id, RequestKey::new(), &fields, &weighing).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// A rug in sea and sand, and cloth: sea enough, sand too little and some of it unwashed, white for the warp.
pub async fn world() -> (World, PersonId, Browser, RugId, Browser) {
    let world = World::new().await;
    let (who, instructor) = world.instructor().await;
    let (weaver, weavers) = world.enter(Role::Weaver, "Wanda Probe").await;
    let rug = loft::rug(world.store(), weaver, "Tide", &loft::usual("S1"), None).await;
    bundle(&world, who, "Sea", 0x002b_5f75, 8.0, true).await;
    bundle(&world, who, "Sand", 0x00d9_c9a3, 0.25, true).await;
    bundle(&world, who, "Sand too", 0x00d9_c9a3, 8.0, false).await;
    bundle(&world, who, "White", 0x00f8_f7f2, 8.0, true).await;
    (world, who, instructor, rug, weavers)
}

/// Follows the page that waits until it has an answer.
pub async fn answer(browser: &mut Browser, path: &str) -> Page {
    for _ in 0..100 {
        let page = browser.get(path).await.is(200);
        if !page.headers.contains_key("refresh") {
            return page;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("no answer at {path}");
}

#[tokio::test(flavor = "multi_thread")]
async fn cloth_is_shared_out_accepted_pulled_and_shown_to_the_weaver() {
    let (world, who, mut browser, rug, mut weaver) = world().await;
    let id = rug.to_string();
    let start = browser.get("/share-out").await.is(200);
    assert_eq!(start.all("input[name=rug][checked]").len(), 1, "a rug without cloth is picked at first");
    let to = browser
        .post("/share-out", &[("rug", &id), ("most", "1"), ("seconds", "1"), ("most_off", "12")])
        .await
        .to()
        .to_owned();
    // Washed sand is too little, the rest waits for the wash, and the white is too far off.
    let page = answer(&mut browser, &to).await;
    assert!(page.one(".lead").contains("nothing is promised until you accept it"), "{}", page.text);
    let lacking = page.all("table")[0].clone();
    assert!(page.one("h2").contains("What is lacking"), "{}", page.text);
    assert!(lacking.contains("sand") && lacking.contains("Wash bundle 3"), "{lacking}");
    assert!(lacking.contains("Or buy") && lacking.contains("flat sheet"), "{lacking}");
    assert!(page.text.contains("No share-out is better") || page.text.contains("no share-out is better"));
    assert!(browser.get("/pull").await.is(200).text.contains("Nothing to pull"));

    assert_eq!(browser.post(&format!("{to}/accept"), &[]).await.to(), format!("{to}?said=accepted"));
    browser.post(&format!("{to}/accept"), &[]).await.is(409);
    let mine = weaver.get(&format!("/rugs/{rug}")).await.is(200);
    assert!(mine.one("#promised").contains("Sea"), "{}", mine.one("#promised"));
    let notes = mine.all(".tonight .badge");
    assert!(notes.iter().any(|note| note.starts_with("sand is lacking, ")), "she isn't told: {notes:?}");
    assert!(!notes.iter().any(|note| note.starts_with("sea is lacking")), "{notes:?}");
    assert!(weaver.get(&format!("/rugs/{rug}/card")).await.is(200).text.contains("Bundle 1, sea"));

    let (_, mut volunteer) = world.volunteer().await;
    let sheet = volunteer.get("/pull").await.is(200);
    let tags = sheet.all("tbody th");
    assert!(tags.is_sorted(), "in the order of the shelf: {tags:?}");
    let promise = sheet.attr("td a.button", "href");
    let wrong = volunteer.post(&format!("{promise}/pull"), &[("pull_weight", "much")]).await.is(422);
    assert_eq!(wrong.field("pull_weight"), "much");
    wrong.error("pull_weight");
    let over = volunteer.post(&format!("{promise}/pull"), &[("pull_weight", "99 lb")]).await.is(422);
    assert!(over.error("pull_weight").contains("There is only"));
    assert_eq!(
        volunteer.post(&format!("{promise}/pull"), &[("pull_weight", "1 lb")]).await.to(),
        "/pull?said=pulled"
    );
    let back = volunteer.post(&format!("{promise}/back"), &[("back_weight", "2 lb")]).await.is(422);
    assert!(back.error("back_weight").contains("is out; no more than that can come back"));
    assert_eq!(
        volunteer.post(&format!("{promise}/back"), &[("back_weight", "1 oz")]).await.to(),
        "/pull?said=put-back"
    );

    // The rest of a promised bundle goes: the promise is shown broken, wherever it is shown.
    let open = volunteer.get("/pull").await.is(200);
    let bundle = open.attr("tbody th a", "href");
    let bundle: BundleId = bundle.trim_start_matches("/cloth/").parse().unwrap();
    let mut tx = world.store().write(actor(who)).await.unwrap();
    tx.scrap(bundle, RequestKey::new(), None, "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    assert!(volunteer.get("/pull").await.is(200).text.contains("Broken: nothing of it is left for this."));
    let mut tx = world.store().write(actor(who)).await.unwrap();
    tx.add_term(TermId::new(), "Ebb", "").await.unwrap();
    tx.commit().await.unwrap();
    let today = browser.get("/today").await.is(200);
    assert!(today.all("h3").contains(&"Promised cloth is gone".to_owned()), "{:?}", today.all("h3"));
    assert!(browser.get("/share-out").await.is(200).text.contains("can’t be kept any more"));
    assert!(weaver.get(&format!("/rugs/{rug}")).await.is(200).text.contains("broken: the stock changed"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_locked_stays_and_a_long_search_can_be_stopped() {
    let (_world, _, mut browser, rug, _) = world().await;
    let id = rug.to_string();
    let begun = browser
        .post("/share-out", &[("rug", &id), ("most", "2"), ("seconds", "60"), ("most_off", "25")])
        .await;
    let first = begun.to().to_owned();
    browser.post(&format!("{first}/stop"), &[]).await.is(303);
    let page = answer(&mut browser, &first).await;
    let keep = page.attr("input[name=keep]", "value");
    let to =
        browser.post(&format!("{first}/again"), &[("keep", &keep), ("few", "yes")]).await.to().to_owned();
    assert_ne!(to, first);
    browser.post(&format!("{to}/stop"), &[]).await.is(303);
    let page = answer(&mut browser, &to).await;
    assert_eq!(page.all("input[name=keep][checked]").len(), 1);
    assert_eq!(browser.post(&format!("{to}/drop"), &[]).await.to(), format!("{to}?said=set-aside"));
    assert!(browser.get(&to).await.is(200).one(".lead").contains("set aside"));
}

#[tokio::test]
async fn a_share_out_wants_rugs_and_a_sensible_limit() {
    let (_world, _, mut browser, rug, _) = world().await;
    let page =
        browser.post("/share-out", &[("most", "0"), ("seconds", "3"), ("most_off", "25")]).await.is(422);
    page.error_names("most", &["0", "1", "6"]);
    assert!(page.text.contains("Pick at least one rug."));
    let id = rug.to_string();
    let page = browser
        .post("/share-out", &[("most", "x"), ("seconds", "3"), ("most_off", "25"), ("rug", &id)])
        .await
        .is(422);
    assert_eq!((page.field("most"), page.all("input[name=rug][checked]").len()), ("x".to_owned(), 1));
}

/// A proposal for the rug, with the page that shows it.
async fn proposal(browser: &mut Browser, rug: RugId) -> (String, Page) {
    let id = rug.to_string();
    let asked = [("rug", id.as_str()), ("most", "2"), ("seconds", "1"), ("most_off", "25")];
    let to = browser.post("/share-out", &asked).await.to().to_owned();
    let page = answer(browser, &to).await;
    (to, page)
}

#[tokio::test(flavor = "multi_thread")]
async fn an_older_proposal_takes_a_newer_ones_place_only_on_purpose() {
    let (_world, _, mut ines, rug, _) = world().await;
    let (older, _) = proposal(&mut ines, rug).await;
    let (newer, page) = proposal(&mut ines, rug).await;
    assert!(page.all("[name=over_newer]").is_empty(), "nothing to ask yet");
    ines.post(&format!("{newer}/accept"), &[]).await.is(303);
    let page = ines.post(&format!("{older}/accept"), &[]).await.is(409);
    page.only_error_at("over_newer");
    ines.get("/pull").await.is(200);
    let to = ines.post(&format!("{older}/accept"), &[("over_newer", "yes")]).await;
    assert_eq!(to.to(), format!("{older}?said=accepted"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_is_chosen_by_hand_within_what_is_free() {
    let (_world, _, mut browser, rug, mut weaver) = world().await;
    let (to, page) = proposal(&mut browser, rug).await;
    // Part 1 is the warp; its cloth is white, since the sea is wanted as sea.
    assert!(page.one("#part-1").starts_with("Warp"), "{}", page.one("#part-1"));
    let choose = format!("{to}/choose/1");
    let choices = browser.get(&choose).await.is(200);
    assert_eq!(choices.all("tbody tr").len(), 3, "what isn't washed can't be chosen");
    weaver.get(&choose).await.is(403);

    let wrong = browser.post(&choose, &[("take-1", "lots"), ("take-4", "99 lb")]).await.is(422);
    assert_eq!(wrong.field("take-1"), "lots");
    assert!(wrong.error("take-4").contains("of bundle 4 is free"), "{}", wrong.error("take-4"));

    let kept = browser.post(&choose, &[("take-1", "8 oz"), ("take-4", "4 oz")]).await;
    assert_eq!(kept.to(), format!("{to}?said=chosen#part-1"));
    let page = browser.get(&to).await.is(200);
    let part = page.one("#part-1");
    assert!(part.contains("8 oz of bundle 1") && part.contains("4 oz of bundle 4"), "{part}");
    assert_eq!(page.all("#part-1 input[name=keep][checked]").len(), 2, "what was chosen is locked");
    assert!(page.text.contains("Changed by hand"));
    // Accepted, it can't be changed any more without sharing out again.
    browser.post(&format!("{to}/accept"), &[]).await.is(303);
    assert_eq!(browser.post(&choose, &[("take-1", "1 oz")]).await.to(), to);
    assert!(browser.get("/pull").await.is(200).text.contains("8 oz"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_rug_under_way_asks_only_for_what_it_still_lacks() {
    let (_world, _, mut browser, rug, mut weaver) = world().await;
    let still = |page: &Page| page.all("tbody td[data-label='Still to be found']")[0].clone();
    let whole = still(&browser.get("/share-out").await);
    let log = format!("/rugs/{rug}/log");
    // More than enough in hand of one colour; of the other nothing is known but that a third is woven.
    weaver.post(&log, &[("rows", "40"), ("minutes", "60"), ("left-1", "5 lb")]).await.is(303);
    let (_, page) = proposal(&mut browser, rug).await;
    let parts = page.all("tr[id^=part-]");
    assert!(
        parts[0].starts_with("Warp") && parts[0].contains("nothing more"),
        "the warp is on the frame: {parts:?}"
    );
    let none = parts[1..].iter().filter(|part| part.contains("nothing more")).count();
    assert_eq!(none, 1, "{parts:?}");
    assert_ne!(still(&browser.get("/share-out").await), whole);
}

#[tokio::test(flavor = "multi_thread")]
async fn promised_cloth_is_pulled_by_hand_only_on_purpose() {
    let (_world, _, mut browser, rug, _) = world().await;
    let (to, _) = proposal(&mut browser, rug).await;
    browser.post(&format!("{to}/accept"), &[]).await.is(303);
    let bundle = browser.get("/pull").await.attr("tbody th a", "href");
    let page = browser.get(&bundle).await.is(200);
    assert!(page.one("form .caution").contains("of it is promised to nobody"), "{}", page.text);
    let pull = format!("{bundle}/pull");
    let refused = browser.post(&pull, &[("pull_weight", "8 lb")]).await.is(422);
    assert!(refused.error("pull_weight").contains("promised to nobody"));
    browser.post(&pull, &[("pull_weight", "1 oz")]).await.is(303);
    let cut = pull.replace("/pull", "/cut");
    let refused = browser.post(&cut, &[("cut_weight", "7 lb"), ("cut_width", "1.5 in")]).await.is(422);
    assert!(refused.error("cut_weight").contains("promised to nobody"));
    browser.post(&pull, &[("pull_weight", "7 lb"), ("pull_promised", "yes")]).await.is(303);
    assert!(browser.get("/pull").await.text.contains("Broken"));
}

#[tokio::test(flavor = "multi_thread")]
async fn of_a_share_out_each_weaver_sees_what_is_hers() {
    let (world, _, mut browser, tide, mut wanda) = world().await;
    let (id, mut wilma) = world.enter(Role::Weaver, "Wilma Probe").await;
    let ebb = loft::rug(world.store(), id, "Ebb", &loft::usual("S1"), None).await;
    let begun = share_outs::begin(&mut browser, &[tide, ebb], 2, 12).await;
    browser.post(&format!("{}/stop", begun.path), &[]).await.is(303);
    begun.answer(&mut browser).await;
    begun.accept(&mut browser).await;
    let found = begun.found(&world, &mut browser).await;

    let cloth = ["Sea", "Sand", "Sand too", "White"];
    // As a weaver's page has it: what for, which cloth, how much of it.
    let wanted = |rug: RugId| -> Vec<String> {
        let own = found.iter().filter(|given| given.rug == rug);
        let row = |given: &share_outs::Given| {
            let name = if given.name == "warp" { "Warp" } else { &given.name };
            let weight = Mass::from_grams(given.grams).show(Units::Inches);
            format!("{name} {} {} {weight} promised", cloth[given.bundle as usize - 1], given.bundle)
        };
        own.map(row).collect()
    };
    for (own, other, weaver) in [(tide, ebb, &mut wanda), (ebb, tide, &mut wilma)] {
        let page = weaver.get(&format!("/rugs/{own}")).await.is(200);
        assert!(!wanted(own).is_empty());
        assert_eq!(page.all("#promised tbody tr"), wanted(own));
        for path in [format!("/rugs/{other}"), format!("/rugs/{other}/card")] {
            weaver.get(&path).await.is(404);
        }
        for path in ["/share-out", begun.path.as_str(), "/pull", "/pull.pdf"] {
            weaver.get(path).await.is(403);
        }
    }

    // The staff's sheet has both, and what is pulled for one changes nothing for the other.
    let (_, mut volunteer) = world.volunteer().await;
    let sheet = volunteer.get("/pull").await.is(200);
    let whom = |rug: RugId| if rug == tide { "Wanda Probe, Tide" } else { "Wilma Probe, Ebb" };
    let all = found.iter().map(|given| format!("{}: {}", whom(given.rug), given.name.to_lowercase()));
    assert_eq!(sheet.all("td[data-label=For]"), all.collect::<Vec<_>>());
    let tags: Vec<String> = found.iter().map(|given| given.bundle.to_string()).collect();
    assert_eq!(sheet.all("tbody th"), tags);
    let at = found.iter().position(|given| given.rug == tide && given.name == "warp").unwrap();
    let pull = begun.promises(&world, tide, "warp").await.remove(0);
    volunteer.post(&format!("/promises/{pull}/pull"), &[("pull_weight", "5 oz")]).await.is(303);
    let mine = wanda.get(&format!("/rugs/{tide}")).await.all("#promised tbody tr");
    let row = format!("Warp {0} {1} 5 oz pulled", cloth[found[at].bundle as usize - 1], found[at].bundle);
    assert!(mine.contains(&row), "{row} is not among {mine:?}");
    assert_eq!(wilma.get(&format!("/rugs/{ebb}")).await.all("#promised tbody tr"), wanted(ebb));
    wanda.get(&format!("/promises/{pull}")).await.is(403);
}

#[tokio::test(flavor = "multi_thread")]
async fn promised_cloth_is_free_again_when_its_rug_ends() {
    let (_world, _, mut browser, rug, mut weaver) = world().await;
    let (to, _) = proposal(&mut browser, rug).await;
    let (late, _) = proposal(&mut browser, rug).await;
    browser.post(&format!("{to}/accept"), &[]).await.is(303);
    browser.post(&format!("{to}/drop"), &[]).await.is(409);
    let open = browser.get("/pull").await.all("td[data-label=Take]");
    assert!(open.len() > 1, "{open:?}");
    let promise = browser.get("/pull").await.attr("td a.button", "href");
    browser.post(&format!("{promise}/pull"), &[("pull_weight", "4 oz")]).await.is(303);
    weaver.post(&format!("/rugs/{rug}/state"), &[("state", "given up")]).await.is(303);
    // What was pulled stays out; the rest is nobody's.
    let sheet = browser.get("/pull").await.is(200);
    assert_eq!(
        (sheet.all("td[data-label=Take]").len(), sheet.all("td.num[data-label=Pulled]").len()),
        (0, 1)
    );
    assert_eq!(browser.get(&to).await.all(".given .badge.plain").len(), open.len());
    // A proposal that comes too late promises it nothing; nor can cloth be shared out to it.
    browser.post(&format!("{late}/accept"), &[]).await.is(303);
    assert!(browser.get("/pull").await.all("td[data-label=Take]").is_empty());
    let id = rug.to_string();
    let asked = [("rug", id.as_str()), ("most", "2"), ("seconds", "1"), ("most_off", "25")];
    browser.post("/share-out", &asked).await.is(422);
    // It goes on after all, and wants what it was promised last before it ended.
    weaver.post(&format!("/rugs/{rug}/state"), &[("state", "planned")]).await.is(303);
    assert_eq!(browser.get("/pull").await.all("td[data-label=Take]").len(), open.len() - 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_promised_to_others_is_pulled_for_a_promise_only_on_purpose() {
    let (world, _, mut browser, tide, _) = world().await;
    let (id, _) = world.enter(Role::Weaver, "Wilma Probe").await;
    let ebb = loft::rug(world.store(), id, "Ebb", &loft::usual("S1"), None).await;
    for rug in [tide, ebb] {
        let (to, _) = proposal(&mut browser, rug).await;
        browser.post(&format!("{to}/accept"), &[]).await.is(303);
    }
    // Two promises of one bundle.
    let all = world.store().read().await.unwrap().promises().await.unwrap();
    let one = all.iter().find(|one| one.part.rug_id == tide && one.tag == 1).unwrap();
    let others: Mass = all.iter().filter(|it| it.tag == 1 && it.id != one.id).map(|it| it.promised_mg).sum();
    assert!(others > Mass::ZERO);
    let free = one.balance_mg - others;
    let pull = format!("/promises/{}/pull", one.id);
    let typed = |mass: Mass| format!("{} g", mass.grams());
    let over = typed(free + Mass::from_grams(8.0));
    let page = browser.post(&pull, &[("pull_weight", &over)]).await.is(422);
    assert!(page.error("pull_weight").contains("the rest is promised to others"));
    assert_eq!(page.field("pull_weight"), over);
    assert_eq!(page.all("[name=pull_promised]").len(), 1, "there is nothing to tick");
    let left = world.store().read().await.unwrap().bundle(one.bundle_id).await.unwrap().unwrap().balance_mg;
    assert_eq!(left, one.balance_mg, "what was refused was taken");
    browser.post(&pull, &[("pull_weight", &over), ("pull_promised", "yes")]).await.is(303);
    assert!(browser.get("/pull").await.is(200).text.contains("Broken"));
}

/// A quarter of an ounce is 7.087 g (the avoirdupois ounce: international yard and pound, 1959).
#[tokio::test(flavor = "multi_thread")]
async fn what_a_page_rounds_up_may_be_pulled_and_breaks_no_promise() {
    let (world, _, mut browser, tide, _) = world().await;
    let (id, _) = world.enter(Role::Weaver, "Wilma Probe").await;
    let ebb = loft::rug(world.store(), id, "Ebb", &loft::usual("S1"), None).await;
    for rug in [tide, ebb] {
        let (to, _) = proposal(&mut browser, rug).await;
        browser.post(&format!("{to}/accept"), &[]).await.is(303);
    }
    let all = world.store().read().await.unwrap().promises().await.unwrap();
    let one = all.iter().find(|one| one.part.rug_id == tide && one.tag == 1).unwrap();
    let others: Mass = all.iter().filter(|it| it.tag == 1 && it.id != one.id).map(|it| it.promised_mg).sum();
    let most = one.balance_mg - others;
    let grams = format!("{} g", most.grams() + 7.0);
    browser.post(&format!("/promises/{}/pull", one.id), &[("pull_weight", &grams)]).await.is(303);
    assert!(
        !browser.get("/pull").await.is(200).text.contains("Broken"),
        "the others lack less than anybody is shown"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_proposal_from_before_a_pull_is_refused_after_it() {
    let (world, _, mut browser, rug, _) = world().await;
    let (first, _) = proposal(&mut browser, rug).await;
    browser.post(&format!("{first}/accept"), &[]).await.is(303);
    let (second, _) = proposal(&mut browser, rug).await;
    let promise = world.store().read().await.unwrap().promises().await.unwrap().remove(0);
    let grams = format!("{} g", promise.promised_mg.grams());
    browser.post(&format!("/promises/{}/pull", promise.id), &[("pull_weight", &grams)]).await.is(303);
    let page = browser.post(&format!("{second}/accept"), &[]).await.is(409);
    assert!(page.text.contains("Cloth was pulled for Tide since this was worked out"), "{}", page.text);
    // Asked again, it counts with what was pulled.
    let (third, _) = proposal(&mut browser, rug).await;
    browser.post(&format!("{third}/accept"), &[]).await.is(303);
    let open = world.store().read().await.unwrap().promises_to(rug).await.unwrap();
    let again = open.iter().filter(|one| one.is_open() && one.part == promise.part);
    assert!(again.map(|one| one.promised_mg).sum::<Mass>() < Mass::from_grams(5.0));
}

#[tokio::test(flavor = "multi_thread")]
async fn stopping_what_is_done_asks_for_nothing_and_records_nothing() {
    let (_world, _, mut browser, rug, _) = world().await;
    let (to, _) = proposal(&mut browser, rug).await;
    assert_eq!(browser.post(&format!("{to}/stop"), &[]).await.to(), to);
    assert!(!browser.get("/record").await.is(200).text.contains("asked to stop"));
}
