//! A class in which everything was done once, and much of it undone: it looks broken in many places and is not.
use jiff::civil::date;
use thrumhall::cli::demo::fill;
use thrumhall::planning::Kind;
use thrumhall::store::cloth::bundles::{BundleFields, BundleState};
use thrumhall::store::cloth::cuts::CutFields;
use thrumhall::store::cloth::share_outs::NewPromise;
use thrumhall::store::cloth::share_outs::{Limits, PartNeed, RugPart, Told};
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::{HandOut, TakeBack};
use thrumhall::store::people::Role;
use thrumhall::store::rods::RodAct;
use thrumhall::store::rugs::log::LogFields;
use thrumhall::store::rugs::{Colour, RugState};
use thrumhall::store::terms::Meeting;
use thrumhall::store::timetable::NewPlace;
use thrumhall::store::{
    BundleId, Day, FrameId, LoanId, LogId, MeetingId, PersonId, RequestKey, RugId, ShareOutId, Store, TermId,
    TimeOfDay,
};
use thrumhall::units::{Length, Mass};

use crate::store::cloth::{add, grams, navy};
use crate::support::loft::{self, usual};
use crate::support::{actor, noon};

/// Fills the database.
pub async fn gather(store: &Store) {
    fill(store, noon()).await.unwrap();
    let me = loft::instructor(store).await;
    let wanda = loft::person(store, Role::Weaver, "Wanda Spare").await;
    let mut rugs = Vec::new();
    for n in 0..5 {
        rugs.push(loft::rug(store, wanda, &format!("Spare {n}"), &usual(""), None).await);
    }
    let frames = [loft::frame(store, me, &usual("Z1")).await, loft::frame(store, me, &usual("Z2")).await];
    loans(store, me, frames, &rugs).await;
    cloth(store, me).await;
    cuts(store, me).await;
    logs(store, wanda, rugs[0]).await;
    promises(store, me, &rugs).await;
    turns(store, me, frames, rugs).await;
}

/// A frame that came back and went out again; rods that are all bent, and rods that nobody has.
async fn loans(store: &Store, me: PersonId, frames: [FrameId; 2], rugs: &[RugId]) {
    loft::rods(store, me, 99.0, 4).await;
    let bent = loft::rods(store, me, 98.0, 2).await;
    loft::rods(store, me, 97.0, 0).await;
    let rod = loft::rods(store, me, 35.0, 3).await;
    let due_on = Day(date(2026, 11, 25));
    let how = TakeBack {
        condition: Condition::Sound,
        rug: RugState::Planned,
        rods_bent: 1,
        rods_missing: 1,
        note: String::new(),
    };
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.count_rods(bent, RodAct::FoundBent, 2).await.unwrap();
    for rug in [rugs[0], rugs[1]] {
        let loan = LoanId::new();
        let what = HandOut { frame: frames[0], rug, rods: Some((rod, 2)), due_on };
        tx.hand_out(loan, &what).await.unwrap();
        tx.take_back(loan, &how).await.unwrap();
        tx.count_rods(rod, RodAct::Bought, 2).await.unwrap();
    }
    let what = HandOut { frame: frames[0], rug: rugs[1], rods: None, due_on };
    tx.hand_out(LoanId::new(), &what).await.unwrap();
    tx.commit().await.unwrap();
}

async fn bundle(store: &Store, me: PersonId, note: &str, washed: bool) -> BundleId {
    add(store, me, &BundleFields { note: note.into(), ..navy(washed) }, &grams(1000.0)).await
}

async fn cloth(store: &Store, me: PersonId) {
    let key = RequestKey::new;
    let washing = (BundleState::Ready, BundleState::Washing);
    let undone = bundle(store, me, "pulled by mistake", true).await;
    let counted = bundle(store, me, "counted as it came", false).await;
    let back = bundle(store, me, "put back", true).await;
    let gone = bundle(store, me, "all gone", false).await;
    let washed = bundle(store, me, "washed since", false).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.pull(undone, key(), &grams(300.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
    let pull = store.read().await.unwrap().ledger(undone).await.unwrap()[1].id;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.undo_entry(undone, pull, key()).await.unwrap().unwrap();
    tx.move_bundle(undone, key(), washing, None).await.unwrap().unwrap();
    tx.count_bundle(counted, key(), &grams(990.0), "").await.unwrap().unwrap();
    tx.scrap(counted, key(), Some(&grams(90.0)), "stained").await.unwrap().unwrap();
    tx.pull(back, key(), &grams(300.0), "").await.unwrap().unwrap();
    tx.put_back(back, key(), &grams(100.0), "").await.unwrap().unwrap();
    tx.scrap(gone, key(), None, "mould").await.unwrap().unwrap();
    for (from, to, weighed) in [
        (BundleState::Arrived, BundleState::Washing, None),
        (BundleState::Washing, BundleState::Ready, Some(grams(985.0))),
    ] {
        tx.move_bundle(washed, key(), (from, to), weighed.as_ref()).await.unwrap().unwrap();
    }
    tx.pull(washed, key(), &grams(85.0), "").await.unwrap().unwrap();
    tx.commit().await.unwrap();
}

/// One cut that stays; two that are undone, from either side, and whose cloth went back to the wash.
async fn cuts(store: &Store, me: PersonId) {
    for (note, side) in [("cut", None), ("cut by mistake", Some(0)), ("cut by mistake too", Some(1))] {
        let (from, lot) = (bundle(store, me, note, true).await, BundleId::new());
        let strips = CutFields {
            weighing: grams(400.0),
            width: Length::inches(1.5),
            note: side.map_or("strips", |_| "no strips").into(),
            scrap_rest: false,
        };
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.cut(from, lot, RequestKey::new(), &strips).await.unwrap().unwrap();
        tx.commit().await.unwrap();
        let Some(side) = side else { continue };
        let asked = [from, lot][side];
        let ledger = store.read().await.unwrap().ledger(asked).await.unwrap();
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.undo_entry(asked, ledger.last().unwrap().id, RequestKey::new()).await.unwrap().unwrap();
        let washing = (BundleState::Ready, BundleState::Washing);
        tx.move_bundle(from, RequestKey::new(), washing, None).await.unwrap().unwrap();
        tx.commit().await.unwrap();
    }
}

/// Entries that say one thing each, and one that is undone.
async fn logs(store: &Store, wanda: PersonId, rug: RugId) {
    let sea = Colour { name: "sea".into(), hex: "#2b5f75".into() };
    let entries = [
        LogFields { rows: Some(0), ..LogFields::default() },
        LogFields { woven: Some(Length::inches(2.0)), ..LogFields::default() },
        LogFields { minutes: Some(40), ..LogFields::default() },
        LogFields { left: vec![(sea, Mass::ZERO)], ..LogFields::default() },
    ];
    let mut tx = store.write(actor(wanda)).await.unwrap();
    let mut last = LogId::new();
    for entry in entries {
        last = LogId::new();
        tx.log_rug(last, rug, &entry).await.unwrap();
    }
    assert!(tx.undo_log(LogId::new(), rug, last).await.unwrap());
    tx.commit().await.unwrap();
}

/// Share-outs in every state: accepted and pulled, accepted and replaced, proposed, set aside, still working.
async fn promises(store: &Store, me: PersonId, rugs: &[RugId]) {
    let (own, other) =
        (bundle(store, me, "promised", true).await, bundle(store, me, "promised too", true).await);
    let told = Told { spent: 1_000, cost: 2_000, bound: 1_900 };
    let mut tx = store.write(actor(me)).await.unwrap();
    let plans = [
        (own, 0, "accepted"),
        (other, 2, "accepted"),
        (other, 2, "accepted"),
        (other, 3, "proposed"),
        (other, 3, "dropped"),
        (other, 4, "working"),
    ];
    for (bundle, rug, state) in plans {
        let id = ShareOutId::new();
        let part = RugPart {
            rug_id: rugs[rug],
            warp: false,
            colour_name: "sea".into(),
            colour_hex: "#2b5f75".into(),
        };
        let promised = Mass::from_grams(300.0);
        let need = PartNeed { part: part.clone(), kind: Kind::Percale, wanted_mg: promised };
        let limits = Limits { most: 2, seconds: 3, most_off: 25 };
        tx.begin_share_out(id, limits, &[need], &[]).await.unwrap();
        if state == "working" {
            continue;
        }
        tx.finish_share_out(id, told, &[NewPromise { part, bundle, promised }]).await.unwrap();
        match state {
            "accepted" => tx.accept_share_out(id, false).await.unwrap().unwrap(),
            "dropped" => assert!(tx.drop_share_out(id).await.unwrap()),
            _ => {}
        }
    }
    tx.commit().await.unwrap();
    let promise = store.read().await.unwrap().promises_from(own).await.unwrap()[0].id;
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.pull_promise(promise, RequestKey::new(), &grams(310.0)).await.unwrap().unwrap();
    tx.put_promise_back(promise, RequestKey::new(), &grams(10.0)).await.unwrap().unwrap();
    tx.commit().await.unwrap();
}

/// Two frames, on each one rug after the other; on the second the later rug is the one with the smaller id. Meetings start
/// at as many hours as there were meetings before.
async fn turns(store: &Store, me: PersonId, frames: [FrameId; 2], mut rugs: Vec<RugId>) {
    rugs.sort_by_key(ToString::to_string);
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Turns", "").await.unwrap();
    let mut meetings = Vec::new();
    for week in 0..6_i8 {
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: Day(date(2026, 11, 2 + 4 * week)),
            starts_at: TimeOfDay(jiff::civil::time(week, 0, 0, 0)),
            minutes: 120,
            called_off: false,
        };
        tx.add_meeting(&meeting).await.unwrap();
        meetings.push(meeting.id);
    }
    let place = |rug: usize, frame: usize, from: usize, to: usize| NewPlace {
        rug: rugs[rug],
        frame: frames[frame],
        from: meetings[from],
        to: meetings[to],
    };
    let places = [place(0, 0, 0, 1), place(1, 0, 2, 3), place(2, 1, 2, 3), place(3, 1, 0, 1)];
    tx.accept_timetable(term, 0, &places).await.unwrap();
    tx.commit().await.unwrap();
}
