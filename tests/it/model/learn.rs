//! What only the service knows, read off its pages. What a search found isn't foreseen, but whatever it is must be something
//! that may be promised.
use scraper::{ElementRef, Html, Selector};

use super::cloth::COLOURS;
use super::promises::{Holds, Promise};
use super::state::State;
use crate::support::browser::{Browser, Page};

/// The ids of so many bundles, the newest first, from the shelf.
pub fn newest_bundles(shelf: &Page, count: usize) -> Vec<String> {
    let html = Html::parse_document(&shelf.text);
    let links = Selector::parse("section[aria-labelledby=bundles] tbody th a").unwrap();
    let ids = html.select(&links).filter_map(|link| link.attr("href")?.rsplit('/').next().map(str::to_owned));
    ids.take(count).collect()
}

/// Waits for what a share-out finds, and takes it over; what is wrong with it, if anything.
pub async fn proposal(
    model: &mut State,
    browser: &mut Browser,
    share_out: usize,
    kept: &[usize],
) -> Result<(), String> {
    let path = format!("/share-out/{}", model.share_outs[share_out].id);
    let mut page = browser.get(&path).await;
    while page.headers.contains_key("refresh") {
        tokio::task::yield_now().await;
        page = browser.get(&path).await;
    }
    let mut found = read(model, share_out, &page)?;
    for promise in &mut found {
        // The page rounds; where it is chosen by hand the weight stands as it is.
        let (choose, tag) = (format!("{path}/choose/{}", promise.part.0), model.bundles[promise.bundle].tag);
        let text = browser.get(&choose).await.attr(&format!("[name=take-{tag}]"), "value");
        promise.mg = whole_grams(&text).ok_or_else(|| format!("“{text}” at {choose} is no weight"))?;
    }
    may_be(model, share_out, &found, kept)?;
    model.promises.extend(found);
    Ok(())
}

/// Promises as a share-out's page has them; what each weighs isn't known yet.
fn read(model: &State, share_out: usize, page: &Page) -> Result<Vec<Promise>, String> {
    let [rug, part, given, link, head, keep] =
        [".rug-cloth", "tr[id^=part-]", ".given", "a", "th", "[name=keep]"]
            .map(|selector| Selector::parse(selector).unwrap());
    let last = |link: Option<ElementRef>| {
        link.and_then(|link| link.attr("href")?.rsplit('/').next().map(str::to_owned)).unwrap_or_default()
    };
    let html = Html::parse_document(&page.text);
    let mut found = Vec::new();
    for section in html.select(&rug) {
        let id = last(section.select(&link).next());
        let rug = model.rugs.iter().position(|rug| rug.id == id).ok_or("a rug that isn't known")?;
        for row in section.select(&part) {
            let number = row.attr("id").and_then(|id| id.strip_prefix("part-")?.parse().ok());
            let name = row.select(&head).next().map(|head| head.text().collect::<String>());
            let name = name.unwrap_or_default().trim().to_owned();
            let colour = if name.starts_with("Warp") { String::new() } else { name };
            for one in row.select(&given) {
                let bundle = last(one.select(&link).next());
                let bundle = model.bundles.iter().position(|known| known.id == bundle);
                let keep = one.select(&keep).next().ok_or("a promise that can't be kept")?;
                found.push(Promise {
                    id: keep.attr("value").unwrap_or_default().to_owned(),
                    share_out,
                    rug,
                    part: (number.ok_or("a part without a number")?, colour.clone()),
                    bundle: bundle.ok_or("a bundle that isn't known")?,
                    mg: 0,
                    kept: keep.attr("checked").is_some(),
                    holds: Holds::Proposed,
                    pull: None,
                    back: None,
                });
            }
        }
    }
    Ok(found)
}

/// Milligrams of a weight that is known to be whole grams, written in grams or in pounds and ounces.
fn whole_grams(text: &str) -> Option<i64> {
    let words: Vec<&str> = text.split(' ').collect();
    let mut mg = 0.0;
    for pair in words.chunks(2) {
        let [number, unit] = pair else { return None };
        let each = match *unit {
            "g" => 1_000.0,
            "oz" => 28_349.523_125,
            "lb" => 453_592.37,
            _ => return None,
        };
        mg += number.parse::<f64>().ok()? * each;
    }
    Some((mg / 1_000.0).round() as i64 * 1_000)
}

/// Whether a proposal is one: for its rugs, of washed cloth of their kind, near enough in colour, from no more bundles than
/// were asked for, and no more of any than others leave; and all that was to be kept is there.
fn may_be(model: &State, share_out: usize, found: &[Promise], kept: &[usize]) -> Result<(), String> {
    let it = &model.share_outs[share_out];
    for (n, promise) in found.iter().enumerate() {
        let bundle = &model.bundles[promise.bundle];
        let tell = |what: &str| {
            let (grams, rug) = (promise.mg / 1_000, &model.rugs[promise.rug].name);
            Err(format!("{grams} g of bundle {} for {rug}, {:?}: {what}", bundle.tag, promise.part))
        };
        if !it.rugs.contains(&promise.rug) {
            return tell("nobody asked for that rug");
        }
        if promise.mg <= 0 {
            return tell("that is nothing");
        }
        if promise.kept {
            continue;
        }
        if bundle.state != "ready" || bundle.kind != "percale" {
            return tell("that cloth doesn't serve");
        }
        if it.most_off == 6 && !promise.part.1.is_empty() && COLOURS[bundle.colour].1 != promise.part.1 {
            return tell("it is another colour");
        }
        let same = |other: &&Promise| other.part == promise.part && other.rug == promise.rug;
        if found.iter().filter(same).count() > it.most {
            return tell("it takes more bundles than it may");
        }
        if found[..n].iter().filter(same).any(|other| other.bundle == promise.bundle) {
            return tell("the same cloth twice");
        }
        // What the same rugs wait for is free for them.
        let others = model.waiting_of(promise.bundle).into_iter();
        let others = others.filter(|&n| !it.rugs.contains(&model.promises[n].rug));
        let others: i64 = others.map(|n| model.promises[n].mg).sum();
        let given: i64 =
            found.iter().filter(|other| other.bundle == promise.bundle).map(|other| other.mg).sum();
        if given + others > bundle.balance() {
            return tell("that much isn't there");
        }
    }
    let what = |promise: &Promise| (promise.rug, promise.part.1.clone(), promise.bundle, promise.mg);
    let mut wanted: Vec<_> = kept.iter().map(|&n| what(&model.promises[n])).collect();
    let mut there: Vec<_> = found.iter().filter(|promise| promise.kept).map(what).collect();
    wanted.sort_unstable();
    there.sort_unstable();
    (wanted == there).then_some(()).ok_or_else(|| format!("{wanted:?} was to be kept, and {there:?} was"))
}
