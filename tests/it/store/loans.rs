//! Handing out and taking back, also by many at once.
use jiff::civil::date;
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::loans::{HandOut, Refused, TakeBack};
use thrumhall::store::people::Role;
use thrumhall::store::rugs::RugState;
use thrumhall::store::terms::Meeting;
use thrumhall::store::{
    Day, Error, FrameId, LoanId, MeetingId, PersonId, RodId, RugId, Store, TermId, TimeOfDay,
};

use crate::support::loft::{self, large, usual};
use crate::support::{actor, on_both};

const DUE: Day = Day(date(2026, 11, 25));

async fn hand_out(store: &Store, me: PersonId, id: LoanId, what: HandOut) -> Result<(), Refused> {
    let mut tx = store.write(actor(me)).await?;
    tx.hand_out(id, &what).await?;
    Ok(tx.commit().await?)
}

fn sound() -> TakeBack {
    TakeBack {
        condition: Condition::Sound,
        rug: RugState::Finished,
        rods_bent: 0,
        rods_missing: 0,
        note: String::new(),
    }
}

async fn take_back(store: &Store, me: PersonId, id: LoanId, how: &TakeBack) -> Result<(), Error> {
    let mut tx = store.write(actor(me)).await?;
    tx.take_back(id, how).await?;
    tx.commit().await
}

/// So many weavers, each with a rug for the usual frame.
async fn rugs(store: &Store, number: usize) -> Vec<(String, RugId)> {
    loft::weavers_with_rugs(store, number, &usual("")).await
}

async fn counts(store: &Store, id: RodId) -> (i64, i64, i64) {
    let rod = store.read().await.unwrap().rod(id).await.unwrap().unwrap();
    (rod.owned, rod.out_now, rod.bent)
}

async fn nothing_is_broken(store: &Store) {
    let broken = store.read().await.unwrap().broken_invariants().await.unwrap();
    assert_eq!(broken, Vec::<String>::new());
}

on_both!(fifty_hand_out_one_frame_at_once_and_one_of_them_does, |store| async move {
    let me = loft::instructor(&store).await;
    let frame = loft::frame(&store, me, &usual("K-1")).await;
    let rod = loft::rods(&store, me, 36.0, 200).await;
    let rugs = rugs(&store, 50).await;
    let tasks: Vec<_> = rugs
        .iter()
        .map(|(name, rug)| {
            let (store, name) = (store.clone(), name.clone());
            let what = HandOut { frame, rug: *rug, rods: Some((rod, 2)), due_on: DUE };
            tokio::spawn(async move { (name, hand_out(&store, me, LoanId::new(), what).await) })
        })
        .collect();
    let (mut winners, mut told) = (Vec::new(), Vec::new());
    for task in tasks {
        match task.await.unwrap() {
            (name, Ok(())) => winners.push(name),
            (_, Err(Refused::FrameOut { weaver, due_on })) => told.push((weaver, due_on)),
            (name, Err(other)) => panic!("{name}: {other}"),
        }
    }
    assert_eq!(winners.len(), 1, "{winners:?}");
    assert_eq!(told, vec![(winners[0].clone(), DUE); 49]);
    assert_eq!(counts(&store, rod).await, (200, 2, 0), "only the loan that was made took rods");
    let out = store.read().await.unwrap().loans_out().await.unwrap();
    assert_eq!((out.len(), out[0].weaver.as_str()), (1, winners[0].as_str()));
    nothing_is_broken(&store).await;
});

on_both!(rods_never_run_below_none, |store| async move {
    let me = loft::instructor(&store).await;
    let rod = loft::rods(&store, me, 36.0, 11).await;
    let mut tasks = Vec::new();
    for (n, (_, rug)) in rugs(&store, 12).await.into_iter().enumerate() {
        let frame = loft::frame(&store, me, &usual(&format!("K-{n}"))).await;
        let what = HandOut { frame, rug, rods: Some((rod, 2)), due_on: DUE };
        let store = store.clone();
        tasks.push(tokio::spawn(async move { hand_out(&store, me, LoanId::new(), what).await }));
    }
    let mut made = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(()) => made += 1,
            Err(refused) => assert!(matches!(refused, Refused::RodsShort), "{refused}"),
        }
    }
    assert_eq!((made, counts(&store, rod).await), (5, (11, 10, 0)));
    nothing_is_broken(&store).await;
});

on_both!(hand_outs_and_take_backs_at_once_never_lock_each_other_out, |store| async move {
    let me = loft::instructor(&store).await;
    let rod = loft::rods(&store, me, 36.0, 100).await;
    let frames = [loft::frame(&store, me, &usual("K-1")).await, loft::frame(&store, me, &usual("K-2")).await];
    let rugs = rugs(&store, 4).await;
    let tasks: Vec<_> = (0..32)
        .map(|n| {
            let store = store.clone();
            let what = HandOut {
                frame: frames[n % 2],
                rug: rugs[n % 3 + n % 2].1,
                rods: Some((rod, 2)),
                due_on: DUE,
            };
            tokio::spawn(async move {
                match hand_out(&store, me, LoanId::new(), what).await {
                    Ok(()) | Err(Refused::FrameOut { .. } | Refused::RugOnFrame) => {}
                    Err(other) => panic!("{other}"),
                }
                let out = store.read().await.unwrap().loans_out().await.unwrap();
                for loan in out {
                    let again = TakeBack { rug: RugState::Planned, ..sound() };
                    match take_back(&store, me, loan.id, &again).await {
                        Ok(()) | Err(Error::Stale) => {}
                        Err(other) => panic!("{other}"),
                    }
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(counts(&store, rod).await, (100, 0, 0));
    nothing_is_broken(&store).await;
});

/// A loan to look at; a frame is out with another weaver, too.
async fn one_loan(store: &Store) -> (PersonId, FrameId, RugId, RodId, LoanId) {
    let me = loft::instructor(store).await;
    let others = loft::frame(store, me, &large("A-1")).await;
    let frame = loft::frame(store, me, &usual("K-1")).await;
    let (long, rod) = (loft::rods(store, me, 48.0, 4).await, loft::rods(store, me, 36.0, 10).await);
    let [(_, other), (_, rug)] = rugs(store, 2).await.try_into().unwrap();
    let what = HandOut { frame: others, rug: other, rods: Some((long, 2)), due_on: DUE };
    hand_out(store, me, LoanId::new(), what).await.unwrap();
    let id = LoanId::new();
    hand_out(store, me, id, HandOut { frame, rug, rods: Some((rod, 2)), due_on: DUE }).await.unwrap();
    (me, frame, rug, rod, id)
}

/// What [`one_loan`] gave to the other weaver is as it was.
async fn the_other_is_out_still(store: &Store) {
    let mut read = store.read().await.unwrap();
    let out = read.loans_out().await.unwrap();
    let other = out.iter().find(|loan| loan.frame_tag == "A-1").expect("the other weaver has the frame");
    assert_eq!((other.weaver.as_str(), other.rods, other.due_on), ("Weaver 0", 2, DUE));
    assert_eq!(read.rug(other.rug_id).await.unwrap().unwrap().state, RugState::Weaving);
    let rods = read.rods().await.unwrap();
    assert_eq!((rods[1].owned, rods[1].out_now, rods[1].bent), (4, 2, 0), "their rods");
}

on_both!(taking_back_restores_the_counts_with_bent_and_missing_rods, |store| async move {
    let (me, frame, rug, rod, loan) = one_loan(&store).await;
    assert_eq!(store.read().await.unwrap().rug(rug).await.unwrap().unwrap().state, RugState::Weaving);
    let how = TakeBack {
        condition: Condition::Worn,
        rods_bent: 1,
        rods_missing: 1,
        note: "a nail is loose".into(),
        ..sound()
    };
    take_back(&store, me, loan, &how).await.unwrap();
    assert_eq!(counts(&store, rod).await, (9, 0, 1));
    let mut read = store.read().await.unwrap();
    assert_eq!(read.frame(frame).await.unwrap().unwrap().fields.condition, Condition::Worn);
    assert_eq!(read.rug(rug).await.unwrap().unwrap().state, RugState::Finished);
    let loan = read.loan(loan).await.unwrap().unwrap();
    assert_eq!((loan.condition_back, loan.note.as_str()), (Some(Condition::Worn), "a nail is loose"));
    drop(read);
    the_other_is_out_still(&store).await;
    nothing_is_broken(&store).await;
});

on_both!(a_loan_is_taken_back_once, |store| async move {
    let (me, _, _, rod, loan) = one_loan(&store).await;
    let tasks: Vec<_> = (0..8)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move { take_back(&store, me, loan, &sound()).await })
        })
        .collect();
    let mut back = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(()) => back += 1,
            Err(refused) => assert!(matches!(refused, Error::Stale), "{refused}"),
        }
    }
    assert_eq!((back, counts(&store, rod).await), (1, (10, 0, 0)));
    the_other_is_out_still(&store).await;
});

on_both!(more_rods_than_went_out_dont_come_back, |store| async move {
    let (me, _, _, rod, loan) = one_loan(&store).await;
    let refused = take_back(&store, me, loan, &TakeBack { rods_bent: 2, rods_missing: 1, ..sound() })
        .await
        .unwrap_err();
    assert!(refused.violates("ck_loan__rods"), "{refused}");
    assert_eq!(counts(&store, rod).await, (10, 2, 0), "nothing was written");
    the_other_is_out_still(&store).await;
});

on_both!(what_stands_in_the_way_is_told_apart, |store| async move {
    let (me, frame, rug, rod, _) = one_loan(&store).await;
    let broken = FrameFields { condition: Condition::Broken, ..usual("K-2") };
    let broken = loft::frame(&store, me, &broken).await;
    let good = loft::frame(&store, me, &usual("K-3")).await;
    let (_, fresh) = rugs(&store, 1).await.remove(0);
    let what = |frame, rug, rods| HandOut { frame, rug, rods, due_on: DUE };
    let lent = &store;
    let refused = |what| async move { hand_out(lent, me, LoanId::new(), what).await.unwrap_err() };
    assert!(matches!(refused(what(broken, fresh, None)).await, Refused::FrameUnfit));
    assert!(matches!(refused(what(good, rug, None)).await, Refused::RugOnFrame));
    assert!(matches!(refused(what(good, fresh, Some((rod, 9)))).await, Refused::RodsShort));
    assert!(matches!(refused(what(frame, fresh, None)).await, Refused::FrameOut { .. }));
    assert!(matches!(refused(what(FrameId::new(), fresh, None)).await, Refused::FrameUnfit));
    assert!(matches!(refused(what(good, RugId::new(), None)).await, Refused::RugClosed));
    let mut tx = store.write(actor(me)).await.unwrap();
    let weaver = store.read().await.unwrap().rug(fresh).await.unwrap().unwrap().weaver_id;
    tx.person_leaves(weaver).await.unwrap();
    tx.commit().await.unwrap();
    assert!(matches!(refused(what(good, fresh, None)).await, Refused::RugClosed), "its weaver left");
});

on_both!(a_frame_that_is_out_is_not_retired, |store| async move {
    let (me, frame, _, _, loan) = one_loan(&store).await;
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(!tx.retire_frame(frame, 1).await.unwrap());
    assert!(matches!(tx.commit().await, Err(Error::Unrecorded)), "and nothing of it is kept");
    take_back(&store, me, loan, &sound()).await.unwrap();
    let mut tx = store.write(actor(me)).await.unwrap();
    assert!(tx.retire_frame(frame, 2).await.unwrap());
});

on_both!(the_day_is_moved_by_whoever_saw_it_last, |store| async move {
    let (me, _, _, _, loan) = one_loan(&store).await;
    let (sooner, later) = (Day(date(2026, 11, 18)), Day(date(2026, 12, 2)));
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.move_due(loan, DUE, later).await.unwrap();
    assert!(matches!(tx.move_due(loan, DUE, sooner).await, Err(Error::Stale)));
    tx.commit().await.unwrap();
    assert_eq!(store.read().await.unwrap().loan(loan).await.unwrap().unwrap().due_on, later);
    the_other_is_out_still(&store).await;
});

on_both!(rugs_wait_in_line_until_they_have_a_frame, |store| async move {
    let me = loft::instructor(&store).await;
    let frame = loft::frame(&store, me, &usual("K-1")).await;
    let weaver = loft::person(&store, Role::Weaver, "Wanda").await;
    let term = TermId::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.add_term(term, "Ebb", "").await.unwrap();
    for (day, called_off) in [(11, false), (18, false), (25, true)] {
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: Day(date(2026, 11, day)),
            starts_at: TimeOfDay("18:30".parse().unwrap()),
            minutes: 120,
            called_off,
        };
        tx.add_meeting(&meeting).await.unwrap();
        tx.call_off(meeting.id, called_off).await.unwrap();
    }
    tx.commit().await.unwrap();
    let first = loft::rug(&store, weaver, "First", &large(""), Some(term)).await;
    let second = loft::rug(&store, weaver, "Second", &usual(""), None).await;
    let line = store.read().await.unwrap().rugs_in_line().await.unwrap();
    let seen: Vec<_> = line.iter().map(|rug| (rug.rug.as_str(), rug.last_meeting)).collect();
    assert_eq!(seen, [("First", Some(Day(date(2026, 11, 18)))), ("Second", None)]);
    let what = HandOut { frame, rug: first, rods: None, due_on: DUE };
    hand_out(&store, me, LoanId::new(), what).await.unwrap();
    let mut read = store.read().await.unwrap();
    let line = read.rugs_in_line().await.unwrap();
    assert_eq!(line.iter().map(|rug| rug.rug_id).collect::<Vec<_>>(), [second]);
    let first = read.rug_in_line(first).await.unwrap().unwrap();
    assert_eq!((first.frame_tag.as_deref(), first.state), (Some("K-1"), RugState::Weaving));
});
