//! Share-outs as a test asks for them: what a share-out wants for each part of a rug, and which cloth it finds. The one place
//! that knows where these numbers stand.
use std::time::{Duration, Instant};

use thrumhall::store::{RugId, ShareOutId};

use super::browser::{Browser, Page, World};

/// What a part of a rug is to be given.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    pub rug: RugId,
    /// The colour's name, or `warp`.
    pub name: String,
    pub kind: String,
    pub grams: f64,
}

/// Cloth that a share-out found for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    pub rug: RugId,
    /// As in [`Part`].
    pub name: String,
    /// The bundle's number.
    pub bundle: i64,
    pub grams: f64,
    pub locked: bool,
}

/// A share-out that was begun.
pub struct Begun {
    pub path: String,
    id: ShareOutId,
}

/// Begins a share-out for these rugs: from so many bundles for each part, colours so far off at most.
pub async fn begin(browser: &mut Browser, rugs: &[RugId], most: u32, most_off: u32) -> Begun {
    let rugs: Vec<String> = rugs.iter().map(RugId::to_string).collect();
    let (most, most_off) = (most.to_string(), most_off.to_string());
    let mut fields: Vec<(&str, &str)> = rugs.iter().map(|rug| ("rug", rug.as_str())).collect();
    fields.extend([("most", most.as_str()), ("most_off", most_off.as_str()), ("seconds", "3")]);
    sent(browser, "/share-out", &fields).await
}

/// One search at a time is somebody's: the one before may still be going.
async fn sent(browser: &mut Browser, path: &str, fields: &[(&str, &str)]) -> Begun {
    loop {
        let page = browser.post(path, fields).await;
        if page.status.as_u16() != 429 {
            return begun(&page);
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
}

impl Begun {
    /// Shares out again for the same rugs; the promises of these ids stay.
    pub async fn again(&self, browser: &mut Browser, keep: &[String], few_changes: bool) -> Self {
        let mut fields: Vec<(&str, &str)> = keep.iter().map(|id| ("keep", id.as_str())).collect();
        if few_changes {
            fields.push(("few", "yes"));
        }
        sent(browser, &format!("{}/again", self.path), &fields).await
    }

    /// What is wanted, part by part; whatever is found for it.
    pub async fn wanted(&self, world: &World) -> Vec<Part> {
        let rows = world.store().read().await.unwrap().share_out_needs(self.id).await.unwrap();
        let part = |warp: bool, name: &str| if warp { "warp".to_owned() } else { name.to_owned() };
        let parts = rows.into_iter().map(|row| Part {
            rug: row.need.part.rug_id,
            name: part(row.need.part.warp, &row.need.part.colour_name),
            kind: row.need.kind.key().to_owned(),
            grams: row.need.wanted_mg.grams(),
        });
        parts.collect()
    }

    /// The page with the answer. The work is on a thread of its own, so the page is asked until it has it.
    pub async fn answer(&self, browser: &mut Browser) -> Page {
        let began = Instant::now();
        loop {
            let page = browser.get(&self.path).await.is(200);
            if !page.headers.contains_key("refresh") {
                return page;
            }
            assert!(began.elapsed() < Duration::from_mins(1), "no answer at {}", self.path);
            tokio::task::yield_now().await;
        }
    }

    /// What was found, once there is an answer.
    pub async fn found(&self, world: &World, browser: &mut Browser) -> Vec<Given> {
        self.answer(browser).await;
        let promises = world.store().read().await.unwrap().promises_of(self.id).await.unwrap();
        let given = promises.into_iter().map(|promise| Given {
            rug: promise.part.rug_id,
            name: if promise.part.warp { "warp".to_owned() } else { promise.part.colour_name },
            bundle: promise.tag,
            grams: promise.promised_mg.grams(),
            locked: promise.locked,
        });
        given.collect()
    }

    /// The ids of what was found for a part, to keep them or to pull them.
    pub async fn promises(&self, world: &World, rug: RugId, name: &str) -> Vec<String> {
        let promises = world.store().read().await.unwrap().promises_of(self.id).await.unwrap();
        let own = promises.into_iter().filter(|one| {
            one.part.rug_id == rug
                && if name == "warp" { one.part.warp } else { one.part.colour_name == name }
        });
        own.map(|one| one.id.to_string()).collect()
    }

    pub async fn accept(&self, browser: &mut Browser) {
        browser.post(&format!("{}/accept", self.path), &[]).await.is(303);
    }
}

#[track_caller]
fn begun(page: &Page) -> Begun {
    let path = page.to().split('?').next().unwrap().to_owned();
    let id = path.rsplit('/').next().unwrap().parse().unwrap();
    Begun { path, id }
}
