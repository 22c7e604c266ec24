//! How each sequence begins: with a small class at work, so that what is drawn finds something to act on.
use super::door::Door;
use super::{Act, What, Who, frames, lists, loans, log, people, rods, rugs, share_outs, terms};
use crate::model::state::Role;

/// Two weavers at their own phones, a volunteer, a second instructor; frames, rods, rugs; a term; two frames out; cloth
/// on the shelf, and some of it promised.
pub fn opening() -> Vec<Act> {
    let by = |who, what| Act { who, what, twice: false };
    let staff = |what| by(Who::Fit(0), what);
    let person = |role, name| staff(What::People(people::Act::Add { role, name, passphrase: name }));
    let own = |browser, passphrase| {
        by(Who::Browser(browser), What::People(people::Act::OwnPassphrase { passphrase, known: true }))
    };
    let link = |person| staff(What::People(people::Act::NewLink { person }));
    let enter = |browser, link| by(Who::Browser(browser), What::Door(Door::Enter { link }));
    let frame = |tag, size| staff(What::Frames(frames::Act::Add { tag, size, condition: 0 }));
    let rod = |length, owned| staff(What::Rods(rods::Act::Add { length, owned }));
    let plan = |weaver, size| staff(What::Rugs(rugs::Act::Plan { weaver, size }));
    let feed = |who| by(who, What::Terms(terms::Act::NewFeed));
    let hand_out = |frame, rug, rod, days| {
        let rod = Some(rod);
        staff(What::Loans(loans::Act::HandOut { from_frame: true, frame, rug, rod, rods: 2, days }))
    };
    vec![
        person(Role::Weaver, 6),
        person(Role::Weaver, 7),
        person(Role::Volunteer, 3),
        person(Role::Instructor, 4),
        link(1),
        link(2),
        enter(1, 0),
        enter(2, 1),
        by(Who::Browser(3), What::Door(Door::SignIn { person: 1, right: true })),
        by(Who::Browser(4), What::Door(Door::SignIn { person: 2, right: true })),
        own(3, 1),
        own(4, 2),
        frame(0, 0),
        frame(4, 1),
        frame(6, 0),
        rod(0, 6),
        rod(3, 4),
        plan(0, 0),
        plan(1, 0),
        plan(1, 1),
        staff(What::Terms(terms::Act::Add { days: 1, start: 0, every: 1, count: 3 })),
        staff(What::Terms(terms::Act::Enrol { term: 0, person: 1 })),
        feed(Who::Browser(1)),
        feed(Who::Browser(2)),
        feed(Who::Fit(0)),
        hand_out(0, 0, 0, 3),
        hand_out(1, 2, 1, 1),
        by(Who::Browser(1), What::Log(log::Act::Rows { rug: 0, rows: 40 })),
        staff(What::List(lists::on_the_shelf())),
        staff(What::ShareOuts(share_outs::Act::Begin { rugs: [1, 1], most: 1, off: 1, few: false })),
        staff(What::ShareOuts(share_outs::Act::Accept { share_out: 0, over_newer: false })),
    ]
}
