//! Every act, tried by those who may not, with a form that would do it: nothing changes.
use super::class::{Class, Weaver, class, pairs, rug_form};
use super::kept::{difference, kept};
use super::looks::strangers;
use super::routes::{Whose, addresses, routes};
use crate::support::browser::Browser;

/// A form that does the act when somebody who may sends it.
pub fn form(class: &Class, route: &str, mark: Option<&str>) -> Vec<(String, String)> {
    let weavers = [&class.ana, &class.bea, &class.cleo, &class.dora];
    let owner = weavers.into_iter().find(|one| Some(one.mark) == mark).unwrap_or(&class.ana);
    let own = |fields: &[(&str, &str)]| -> Vec<(String, String)> {
        fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
    };
    let phrase = [("passphrase", "five words of wool here"), ("again", "five words of wool here")];
    let times = [("day", "2026-12-24"), ("starts", "18:30"), ("minutes", "90")];
    let frame =
        [("span", "33 in"), ("width", "18 in"), ("nails", "33"), ("condition", "worn"), ("note", "no")];
    match route {
        "/me" => own(&[("name", "Somebody"), ("contact", "elsewhere"), ("units", ""), ("revision", "1")]),
        "/rugs" => rug_form("Stray", "tide", &class.term),
        "/rugs/{id}" => [rug_form("Stray", "tide", &class.term), own(&[("revision", "1")])].concat(),
        "/rugs/any-size" => own(&[
            ("width", "36 in"),
            ("length", "33 in"),
            ("tolerance", "3 in"),
            ("most", "4"),
            ("strip_width", "1.5 in"),
            ("kind", "percale"),
            ("name", "Stray tide"),
            ("first", "white"),
            ("other", "navy"),
        ]),
        "/rugs/{id}/cloth" => own(&[("warp", &class.bundle), ("weft", &class.bundle)]),
        "/rugs/{id}/finish" => own(&[("rows", "99"), ("woven", "31 in")]),
        "/rugs/{id}/log" => own(&[("rows", "50"), ("minutes", "60")]),
        "/rugs/{id}/log/undo" => own(&[("entry", &owner.log_entry)]),
        "/rugs/{id}/rows" => own(&[("to", "40")]),
        "/rugs/{id}/state" => own(&[("state", "given up")]),
        "/cloth/weigh-in" => {
            own(&[("kind", "percale"), ("colour", "navy"), ("weight", "2 lb"), ("washed", "yes")])
        }
        "/cloth/{id}/state" => own(&[("from", "ready"), ("to", "washing")]),
        "/cloth/{id}/pull" => own(&[("pull_weight", "1 lb")]),
        "/cloth/{id}/place" => own(&[("was", ""), ("place", "B 3")]),
        "/cloth/{id}/correct" => own(&[("kind", "flannel"), ("colour", "navy"), ("source", "hotel")]),
        "/cloth/{id}/scrap" => own(&[("scrap_all", "yes")]),
        "/cloth/count/{id}/line" => own(&[("bundle", &class.bundle), ("weight", "1 lb")]),
        "/me/passphrase" => own(&phrase),
        "/meetings/{id}/attendance" => own(&[("shown", &class.dora.id), ("here", &class.ana.id)]),
        "/my/coming" => own(&[("meeting", &class.meeting), ("coming", "away")]),
        "/frames" => [own(&frame), own(&[("tag", "NEW-1")])].concat(),
        "/frames/{id}" => [own(&frame), own(&[("tag", "NEW-1"), ("revision", "1")])].concat(),
        "/frames/{id}/hand-out" | "/rugs/{id}/hand-out" => own(&[
            ("frame", &class.frame),
            ("rug", &owner.rugs[0]),
            ("rod", &class.rod),
            ("rods", "2"),
            ("due_on", "2026-10-20"),
            ("against", "yes"),
        ]),
        "/frames/{id}/retire" | "/frames/{id}/restore" => own(&[("revision", "1")]),
        "/loans/{id}/due" => own(&[("due_on", "2026-10-20"), ("due_was", "2026-10-12")]),
        "/loans/{id}/take-back" => own(&[
            ("condition", "worn"),
            ("rug", "weaving"),
            ("rods_bent", "0"),
            ("rods_missing", "0"),
            ("note", "stray"),
        ]),
        "/notices/receivers" => own(&[("name", "Stray"), ("url", "https://stray.example/")]),
        "/notices/receivers/{id}" => {
            own(&[("name", "Stray"), ("url", "https://stray.example/"), ("revision", "1")])
        }
        "/people" => own(&[("role", "weaver"), ("name", "Stray"), ("contact", "")]),
        "/people/many" => own(&[("list", "Stray"), ("twins", "yes")]),
        "/people/{id}/enrol" => own(&[("term", &class.term)]),
        "/people/{id}/note" | "/rugs/{id}/note" => own(&[("was", ""), ("note", "stray")]),
        "/rugs/{id}/pattern" => own(&[("pattern", "yes")]),
        "/people/{id}/erase" => own(&[("sure", "yes")]),
        "/people/{id}" => own(&[("name", "Stray"), ("contact", ""), ("revision", "1")]),
        "/people/{id}/passphrase" => own(&phrase),
        "/rods" => own(&[("length", "48 in"), ("diameter", "1/8 in"), ("owned", "4")]),
        "/rods/{id}/count" => own(&[("act", "bought"), ("rods", "3")]),
        "/tablets" => own(&[("until", "09:00")]),
        "/terms" => [own(&times), own(&[("name", "Stray"), ("count", "2"), ("every", "1")])].concat(),
        "/terms/{id}" => own(&[("name", "Stray"), ("note", ""), ("revision", "1")]),
        "/terms/{id}/meetings" => own(&times),
        "/terms/{id}/enrol" => own(&[("weaver", &class.dora.id)]),
        "/terms/{id}/waiting" => own(&[("person", &class.dora.id), ("do", "off")]),
        "/messages/told" => own(&[("person", &class.ana.id), ("about", "overdue")]),
        "/terms/{id}/withdraw" => own(&[("person", &class.ana.id)]),
        "/workroom" => own(&[
            ("workroom", "Stray"),
            ("time_zone", "UTC"),
            ("units", "metric"),
            ("scale", "5 g"),
            ("tape", "5 mm"),
            ("revision", "1"),
        ]),
        _ => Vec::new(),
    }
}

/// Who may not, and how they are refused.
async fn refused<'a>(class: &'a Class, whose: Whose, mark: Option<&str>) -> Vec<(String, Browser, u16)> {
    let mut tried: Vec<(String, Browser, u16)> = Vec::new();
    if whose == Whose::Public {
        return tried;
    }
    // A secret that nobody has opens nothing, to anybody.
    let status = if whose == Whose::Secret { 404 } else { 401 };
    for (who, browser) in strangers(class).await {
        tried.push((who.to_owned(), browser, status));
    }
    let weaver = |one: &'a Weaver, status| (format!("{} as a weaver", one.mark), one.browser.clone(), status);
    match whose {
        Whose::OwnThing => {
            let others = [&class.ana, &class.bea].into_iter().filter(|one| Some(one.mark) != mark);
            tried.extend(others.map(|one| weaver(one, 404)));
        }
        Whose::Staff => tried.push(weaver(&class.ana, 403)),
        Whose::Instructor => {
            tried.push(weaver(&class.ana, 403));
            tried.push(("a volunteer".into(), class.volunteer.clone(), 403));
        }
        Whose::Tablet => {
            tried.push(weaver(&class.ana, 403));
            tried.push(("a volunteer".into(), class.volunteer.clone(), 403));
            tried.push(("an instructor".into(), class.instructor.clone(), 403));
        }
        Whose::Public | Whose::Secret | Whose::Own => {}
    }
    tried
}

#[tokio::test(flavor = "multi_thread")]
async fn an_act_by_somebody_who_may_not_changes_nothing() {
    let class = class().await;
    let mut before = kept(&class.world.database).await;
    for (whose, route) in routes("POST") {
        // A thing of each kind of owner is enough: somebody's who is there, and somebody's who left.
        let things = addresses(&class, route).into_iter();
        let things = things
            .filter(|(mark, _)| mark.is_none_or(|mark| [class.bea.mark, class.cleo.mark].contains(&mark)));
        for (mark, address) in things {
            let form = form(&class, route, mark);
            for (who, mut browser, status) in refused(&class, whose, mark).await {
                let page = browser.post(&address, &pairs(&form)).await;
                assert_eq!(page.status.as_u16(), status, "{who} posts to {address}: {}", page.text);
            }
        }
        let after = kept(&class.world.database).await;
        assert_eq!(difference(&before, &after), [""; 0], "somebody who may not changed something by {route}");
        before = after;
    }
}

/// The same forms do the acts when somebody who may sends them: or the test before could not fail.
#[tokio::test(flavor = "multi_thread")]
async fn the_same_acts_by_those_who_may_change_something() {
    let class = class().await;
    let last = [
        "/people/{id}/erase",
        "/people/{id}/leave",
        "/people/{id}/passphrase",
        "/me/passphrase",
        "/me/sessions/end",
        "/me/sessions/end-all",
        "/tablets",
    ];
    let mut acts: Vec<_> = routes("POST").filter(|(_, route)| !last.contains(route)).collect();
    // What ends a rug, a receiver or a session comes after what is done with it.
    acts.sort_by_key(|(_, route)| {
        ["/finish", "/state", "/remove", "/link"].iter().any(|end| route.ends_with(end))
    });
    for (whose, route) in acts {
        let of = addresses(&class, route)
            .into_iter()
            .find(|(mark, _)| mark.is_none_or(|mark| mark == class.ana.mark));
        let (mark, mut address) = of.unwrap();
        if route.starts_with("/rugs/{id}/") {
            address = address.replace(&class.ana.rugs[0], &class.ana.rugs[1]);
        }
        let form = form(&class, route, mark);
        let mut browser = match whose {
            Whose::Own | Whose::OwnThing => class.ana.browser.clone(),
            Whose::Staff => class.volunteer.clone(),
            Whose::Instructor => class.instructor.clone(),
            Whose::Public | Whose::Secret | Whose::Tablet => continue,
        };
        let before = kept(&class.world.database).await;
        let page = browser.post(&address, &pairs(&form)).await;
        let status = page.status.as_u16();
        assert!(!matches!(status, 401 | 403 | 500), "{address} got {status}: {}", page.text);
        if matches!(whose, Whose::Own | Whose::OwnThing) {
            assert!(status < 400, "{address} got {status}: {}", page.text);
            let after = kept(&class.world.database).await;
            assert!(!difference(&before, &after).is_empty(), "{address} changed nothing");
        }
    }
}
