//! Every page, table and paper, asked for as each visitor.
use super::class::{CONTACT, Class, Weaver, class};
use super::reading::told;
use super::routes::{Whose, addresses, routes};
use crate::support::browser::{Browser, Page};

/// Pages of one rug or loan on which the staff is also shown others who wait for the frame.
const WITH_THE_LINE: &[&str] = &["/loans/{id}"];

/// Those signed out, for whatever reason: they have nothing to look at but what is everybody's.
pub async fn strangers(class: &Class) -> [(&'static str, Browser); 3] {
    [
        ("nobody", class.world.stranger()),
        ("somebody who left", class.cleo.browser.clone()),
        ("a session of a replaced link", class.dora.browser.clone()),
    ]
}

/// Asks for all addresses of all routes.
async fn walk(
    class: &Class,
    browser: &Browser,
    mut judge: impl FnMut(Whose, &'static str, Option<&'static str>, &str, &Page),
) {
    for (whose, route) in routes("GET") {
        for (mark, address) in addresses(class, route) {
            let page = browser.clone().get(&address).await;
            judge(whose, route, mark, &address, &page);
        }
    }
}

#[track_caller]
pub fn holds_nothing_of(others: &[&Weaver], page: &Page, who: &str, address: &str) {
    let told = told(page);
    for other in others {
        for mark in other.marks() {
            let at = told.find(&mark);
            let around = at.map(|at| told[..at].chars().rev().take(60).collect::<String>());
            let around: Option<String> = around.map(|before| before.chars().rev().collect());
            assert!(
                at.is_none(),
                "{who} reads {mark} of {} at {address}, after “{}”",
                other.mark,
                around.unwrap()
            );
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_weaver_reads_what_is_theirs_and_nothing_of_another() {
    let class = class().await;
    let everybody = [&class.ana, &class.bea, &class.cleo, &class.dora];
    for me in [&class.ana, &class.bea] {
        let others: Vec<&Weaver> = everybody.into_iter().filter(|one| one.mark != me.mark).collect();
        let who = format!("{} as a weaver", me.mark);
        walk(&class, &me.browser, |whose, _, mark, address, page| {
            let status = page.status.as_u16();
            holds_nothing_of(&others, page, &who, address);
            match whose {
                Whose::OwnThing if mark == Some(me.mark) => {
                    assert_eq!(status, 200, "{who} at her own {address}: {}", page.text);
                    let mine = me.mark.to_lowercase();
                    let named = told(page).contains(&mine) || address.ends_with("/sheets");
                    assert!(named, "{address} names nothing of hers");
                }
                Whose::OwnThing => assert_eq!(status, 404, "{who} at {mark:?}’s {address}"),
                Whose::Staff | Whose::Instructor | Whose::Tablet => {
                    assert_eq!(status, 403, "{who} at {address}");
                }
                Whose::Own => assert!(matches!(status, 200 | 303), "{who} at {address}: {}", page.text),
                Whose::Public | Whose::Secret => {}
            }
        })
        .await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_is_signed_out_reads_nothing_of_anybody() {
    let class = class().await;
    let everybody = [&class.ana, &class.bea, &class.cleo, &class.dora];
    for (who, browser) in strangers(&class).await {
        walk(&class, &browser, |whose, _, _, address, page| {
            match whose {
                Whose::Public => {}
                Whose::Secret => assert_eq!(page.status, 404, "{who} at {address}"),
                _ => {
                    // The way back after signing in is the address that was asked for, which may name a thing.
                    let led = page.to();
                    assert!(led.starts_with("/sign-in?to="), "{who} at {address} is led to {led}");
                    assert!(page.text.is_empty(), "{who} reads at {address}: {}", page.text);
                    return;
                }
            }
            holds_nothing_of(&everybody, page, who, address);
        })
        .await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn those_who_run_the_class_read_the_thing_they_ask_for_and_volunteers_nobodys_contact() {
    let class = class().await;
    let everybody = [&class.ana, &class.bea, &class.cleo, &class.dora];
    for (who, browser) in [("a volunteer", &class.volunteer), ("an instructor", &class.instructor)] {
        let instructor = who == "an instructor";
        let mut contacts = 0;
        walk(&class, browser, |whose, route, mark, address, page| {
            let (status, told) = (page.status.as_u16(), told(page));
            if whose == Whose::Tablet || (whose == Whose::Instructor && !instructor) {
                assert_eq!(status, 403, "{who} at {address}");
                holds_nothing_of(&everybody, page, who, address);
                return;
            }
            let known = matches!(status, 200 | 303 | 404 | 409 | 422);
            assert!(known, "{who} at {address} got {status}: {}", page.text);
            if told.contains(CONTACT) {
                contacts += 1;
                assert!(instructor, "{who} reads how to reach somebody at {address}");
            }
            let Some(mark) = mark.filter(|_| whose == Whose::OwnThing || route.starts_with("/promises"))
            else {
                return;
            };
            assert_eq!(status, 200, "{who} at {address}: {}", page.text);
            let owner = everybody.into_iter().find(|one| one.mark == mark).unwrap();
            let named = told.contains(&owner.mark.to_lowercase()) || address.ends_with("/sheets");
            assert!(named, "{who} reads nothing of {mark} at {address}");
            if !WITH_THE_LINE.contains(&route) {
                let others: Vec<&Weaver> = everybody.into_iter().filter(|one| one.mark != mark).collect();
                holds_nothing_of(&others, page, who, address);
            }
        })
        .await;
        assert_eq!(contacts > 0, instructor, "{who} read {contacts} contacts");
    }
}

/// A weaver may ask with words and ids of her own choosing: they find nothing that she may not read.
#[tokio::test(flavor = "multi_thread")]
async fn what_is_asked_for_in_the_address_finds_nothing_of_another() {
    let class = class().await;
    let (ana, bea) = (&class.ana, &class.bea);
    let mut browser = ana.browser.clone();
    let rows = async |browser: &mut Browser, query: &str| {
        browser.get(query).await.is(200).all("#bundles ~ div tbody tr, tbody tr").len()
    };
    // The note of a bundle may name people: the staff find it by that, a weaver doesn't.
    let asked = format!("/cloth?q={}", bea.mark);
    assert!(rows(&mut class.volunteer.clone(), &asked).await > 0, "the staff finds no bundle by its note");
    assert_eq!(rows(&mut browser, &asked).await, 0, "a weaver finds bundles by a note about {}", bea.mark);
    let planned = format!("/rugs/{}", ana.rugs[0]);
    for address in [
        format!("/rugs/new?weaver={}", bea.id),
        format!(
            "/rugs/any-size?width=36+in&length=66+in&tolerance=1+in&most=6&strip_width=1.5+in&kind=percale&weaver={}",
            bea.id
        ),
        format!("/rugs/suggest?strip_width=1.5+in&weaver={}", bea.id),
        format!("/rugs/rests?kind=percale&strip_width=1.5+in&weaver={}", bea.id),
        format!("/my?weaver={0}&person={0}&id={0}", bea.id),
        format!("/me?person={0}&id={0}", bea.id),
        format!("{planned}?paper=0.1.1.1&rug={}", bea.rugs[0]),
        format!("{planned}/sheets?bundle={}", class.bundle),
        format!("{planned}/sheets?part=weft-1&bundle={}", class.bundle),
        format!("{planned}/cloth?rug={}", bea.rugs[0]),
        format!("{planned}/log?rug={0}&entry={1}", bea.rugs[1], bea.log_entry),
        format!("{planned}/card.pdf?rug={}", bea.rugs[0]),
        format!("/loans/{}/slip.pdf?loan={}", ana.loans[0], bea.loans[0]),
        "/cloth?empty=yes&state=ready".to_owned(),
    ] {
        let page = browser.get(&address).await;
        let told = told(&page);
        assert!(!told.contains(&bea.mark.to_lowercase()), "a weaver reads of {} at {address}", bea.mark);
        for id in bea.rugs.iter().chain(&bea.loans).chain([&bea.log_entry, &bea.promise]) {
            assert!(!told.contains(id) || address.contains(id), "a weaver reads {id} at {address}");
        }
    }
}
