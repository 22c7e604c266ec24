//! Every list that is asked for by term, by person, by day or by state, in a class that has two of each: what belongs to
//! the other never slips in.
use jiff::civil::{date, time};
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::{HandOut, Loan, TakeBack};
use thrumhall::store::people::Role;
use thrumhall::store::rugs::log::LogFields;
use thrumhall::store::rugs::results::ResultFields;
use thrumhall::store::rugs::{Rug, RugState};
use thrumhall::store::terms::Meeting;
use thrumhall::store::{Day, FrameId, LoanId, LogId, MeetingId, PersonId, RugId, Store, TermId, TimeOfDay};
use thrumhall::units::{Length, Units};

use crate::support::loft::{self, large, usual};
use crate::support::{actor, on_both};

/// Ebb and Slack are open, Flood is closed. Ana weaves in Ebb, Bo in Flood and Slack, Cleo left.
struct Class {
    me: PersonId,
    ana: PersonId,
    bo: PersonId,
    cleo: PersonId,
    ebb: TermId,
    flood: TermId,
    slack: TermId,
    frames: [FrameId; 3],
    rugs: Vec<(&'static str, RugId)>,
    loans: Vec<LoanId>,
    meetings: Vec<MeetingId>,
}

impl Class {
    fn rug(&self, name: &str) -> RugId {
        self.rugs.iter().find(|(known, _)| *known == name).unwrap().1
    }
}

const fn day(n: i8) -> Day {
    Day(date(2026, 10, n))
}

async fn class(store: &Store) -> Class {
    let me = loft::instructor(store).await;
    let ana = loft::person(store, Role::Weaver, "ana").await;
    let bo = loft::person(store, Role::Weaver, "Bo").await;
    let cleo = loft::person(store, Role::Weaver, "Cleo").await;
    let [ebb, flood, slack] = [TermId::new(), TermId::new(), TermId::new()];
    let mut meetings = Vec::new();
    let mut tx = store.write(actor(me)).await.unwrap();
    tx.found_workroom("Loft", "UTC", Units::Inches).await.unwrap();
    for (id, name) in [(ebb, "Ebb"), (flood, "Flood"), (slack, "Slack")] {
        tx.add_term(id, name, "").await.unwrap();
    }
    // Not in the order of their days.
    for (term_id, on, hour) in [(ebb, 21, 18), (ebb, 14, 18), (ebb, 7, 18), (ebb, 7, 9), (flood, 8, 18)] {
        let id = MeetingId::new();
        let starts_at = TimeOfDay(time(hour, 0, 0, 0));
        tx.add_meeting(&Meeting { id, term_id, on_day: day(on), starts_at, minutes: 120, called_off: false })
            .await
            .unwrap();
        meetings.push(id);
    }
    tx.call_off(meetings[0], true).await.unwrap();
    for (term, person) in [(ebb, ana), (flood, bo), (slack, bo), (ebb, cleo), (slack, cleo)] {
        tx.enrol(term, person).await.unwrap();
    }
    tx.commit().await.unwrap();
    let frames = [
        loft::frame(store, me, &usual("K-2")).await,
        loft::frame(store, me, &usual("K-1")).await,
        loft::frame(store, me, &large("L-1")).await,
    ];
    let mut rugs = Vec::new();
    for (weaver, name, term) in [
        (ana, "Old", Some(ebb)),
        (ana, "Tide", Some(ebb)),
        (ana, "Dropped", Some(ebb)),
        (ana, "Loose", None),
        (ana, "Gift", None),
        (bo, "Reef", Some(flood)),
        (bo, "Wrack", Some(slack)),
        (cleo, "Spray", Some(ebb)),
    ] {
        rugs.push((name, loft::rug(store, weaver, name, &usual(""), term).await));
    }
    let mut class = Class { me, ana, bo, cleo, ebb, flood, slack, frames, rugs, loans: Vec::new(), meetings };
    lend(store, &mut class).await;
    class
}

/// Tide is on K-1 until today, where Old was before; Reef is on K-2 until yesterday.
async fn lend(store: &Store, class: &mut Class) {
    let mut tx = store.write(actor(class.me)).await.unwrap();
    for (frame, rug, due_on) in [(1, "Old", day(1)), (1, "Tide", day(7)), (0, "Reef", day(6))] {
        let loan = LoanId::new();
        let what = HandOut { frame: class.frames[frame], rug: class.rug(rug), rods: None, due_on };
        tx.hand_out(loan, &what).await.unwrap();
        class.loans.push(loan);
        if rug == "Old" {
            let how = TakeBack {
                condition: Condition::Worn,
                rug: RugState::Finished,
                rods_bent: 0,
                rods_missing: 0,
                note: String::new(),
            };
            tx.take_back(loan, &how).await.unwrap();
        }
    }
    tx.set_rug_state(class.rug("Dropped"), RugState::GivenUp).await.unwrap();
    tx.set_rug_state(class.rug("Gift"), RugState::Finished).await.unwrap();
    tx.person_leaves(class.cleo).await.unwrap();
    tx.close_term(class.flood, true).await.unwrap();
    tx.commit().await.unwrap();
}

on_both!(terms_count_their_own, |store| async move {
    let class = class(&store).await;
    let mut read = store.read().await.unwrap();
    let terms = read.terms().await.unwrap();
    let seen: Vec<_> = terms
        .iter()
        .map(|t| (t.name.as_str(), t.meetings, t.weavers, t.first_day, t.last_day, t.closed_at.is_some()))
        .collect();
    assert_eq!(
        seen,
        [
            ("Slack", 0, 1, None, None, false),
            ("Ebb", 3, 1, Some(day(7)), Some(day(14)), false),
            ("Flood", 1, 1, Some(day(8)), Some(day(8)), true),
        ],
        "open ones first, the newest first; meetings that are off and weavers who left don't count"
    );
    let running = read.running_terms().await.unwrap();
    let names: Vec<_> = running.iter().map(|term| (term.name.as_str(), term.meetings.len())).collect();
    assert_eq!(names, [("Slack", 0), ("Ebb", 4)]);
    let days = |meetings: &[Meeting]| -> Vec<(Day, i8)> {
        meetings.iter().map(|meeting| (meeting.on_day, meeting.starts_at.0.hour())).collect()
    };
    let in_order = [(day(7), 9), (day(7), 18), (day(14), 18), (day(21), 18)];
    assert_eq!(days(&running[1].meetings), in_order);
    assert_eq!(days(&read.meetings(class.ebb).await.unwrap()), in_order);
    assert_eq!(days(&read.meetings(class.flood).await.unwrap()), [(day(8), 18)]);
    for (term, has) in [(class.ebb, true), (class.flood, true), (class.slack, true), (TermId::new(), false)] {
        assert_eq!(read.has_rugs_to_make(term).await.unwrap(), has);
    }
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.set_rug_state(class.rug("Wrack"), RugState::GivenUp).await.unwrap();
    tx.finish_rug(class.rug("Reef"), &ResultFields::default()).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert!(!read.has_rugs_to_make(class.slack).await.unwrap(), "given up");
    assert!(!read.has_rugs_to_make(class.flood).await.unwrap(), "finished");
});

on_both!(people_are_listed_by_role_and_name_and_those_who_left_are_not, |store| async move {
    let class = class(&store).await;
    loft::person(&store, Role::Volunteer, "Viggo").await;
    let mut read = store.read().await.unwrap();
    let people = read.people().await.unwrap();
    let names: Vec<&str> = people.iter().map(|person| person.name.as_str()).collect();
    assert_eq!(names, ["Ines Probe", "Viggo", "ana", "Bo"]);
    let weavers = read.weavers().await.unwrap();
    assert_eq!(weavers.iter().map(|w| w.id).collect::<Vec<_>>(), [class.ana, class.bo]);
    let cleo = read.person(class.cleo).await.unwrap().unwrap();
    assert!(cleo.left_at.is_some());
    let ids = |list: Vec<thrumhall::store::terms::Enrolled>| -> Vec<PersonId> {
        list.into_iter().map(|one| one.person_id).collect()
    };
    assert_eq!(ids(read.enrolled(class.ebb).await.unwrap()), [class.ana], "Cleo left");
    assert_eq!(ids(read.not_enrolled(class.ebb).await.unwrap()), [class.bo], "Cleo left");
    assert_eq!(ids(read.enrolled(class.slack).await.unwrap()), [class.bo]);
    assert_eq!(ids(read.not_enrolled(class.slack).await.unwrap()), [class.ana]);
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.enrol(class.slack, class.cleo).await.unwrap();
    tx.withdraw(class.slack, class.bo).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert_eq!(ids(read.enrolled(class.slack).await.unwrap()), []);
    assert_eq!(ids(read.enrolled(class.flood).await.unwrap()), [class.bo], "withdrawn from one term alone");
});

on_both!(whom_a_term_expects_and_with_which_rugs, |store| async move {
    let class = class(&store).await;
    let mut read = store.read().await.unwrap();
    let mut expected = async |term| {
        let lines = read.expected(term).await.unwrap();
        let line = |it: thrumhall::store::today::Expected| {
            (it.weaver, it.rug.unwrap_or_default(), it.frame_tag.unwrap_or_default())
        };
        lines.into_iter().map(line).collect::<Vec<_>>()
    };
    let of = |lines: &[(&str, &str, &str)]| -> Vec<(String, String, String)> {
        lines.iter().map(|(a, b, c)| ((*a).into(), (*b).into(), (*c).into())).collect()
    };
    assert_eq!(
        expected(class.ebb).await,
        of(&[("ana", "Tide", "K-1"), ("ana", "Loose", ""), ("ana", "Old", "")]),
        "under way, planned, finished; neither given up, nor finished outside the term, nor anybody else's"
    );
    assert_eq!(expected(class.slack).await, of(&[("Bo", "Wrack", "")]));
    assert_eq!(expected(class.flood).await, of(&[("Bo", "Reef", "K-2")]));
});

on_both!(loans_by_frame_by_weaver_by_term_and_by_day, |store| async move {
    let class = class(&store).await;
    let mut read = store.read().await.unwrap();
    let ids = |loans: &[Loan]| -> Vec<LoanId> { loans.iter().map(|loan| loan.id).collect() };
    let [old, tide, reef] = class.loans[..] else { unreachable!() };
    assert_eq!(ids(&read.loans_out().await.unwrap()), [reef, tide], "the longest overdue first");
    assert_eq!(ids(&read.loans_back(9).await.unwrap()), [old]);
    assert_eq!(ids(&read.loans_of_frame(class.frames[1]).await.unwrap()), [tide, old], "the newest first");
    assert_eq!(ids(&read.loans_of_frame(class.frames[0]).await.unwrap()), [reef]);
    assert_eq!(ids(&read.loans_of_frame(class.frames[2]).await.unwrap()), []);
    assert_eq!(read.loan(old).await.unwrap().unwrap().weaver_id, class.ana);
    let mut due = async |by| {
        let lines = read.frames_due(by).await.unwrap();
        lines.into_iter().map(|due| due.loan_id).collect::<Vec<_>>()
    };
    assert_eq!(due(day(5)).await, [], "the day before");
    assert_eq!(due(day(6)).await, [reef]);
    assert_eq!(due(day(7)).await, [reef, tide]);
    let dated = |loans: Vec<thrumhall::store::calendar::DatedLoan>| -> Vec<LoanId> {
        loans.into_iter().map(|loan| loan.id).collect()
    };
    assert_eq!(dated(read.dated_loans(None).await.unwrap()), [reef, tide]);
    assert_eq!(dated(read.dated_loans(Some(class.ana)).await.unwrap()), [tide]);
    assert_eq!(dated(read.dated_loans(Some(class.bo)).await.unwrap()), [reef]);
    assert_eq!(dated(read.dated_loans(Some(class.cleo)).await.unwrap()), []);
    assert_eq!(dated(read.term_loans(class.ebb).await.unwrap()), [tide]);
    assert_eq!(dated(read.term_loans(class.flood).await.unwrap()), [reef]);
    assert_eq!(dated(read.term_loans(class.slack).await.unwrap()), []);
    let meetings = async |weaver| {
        let mut read = store.read().await.unwrap();
        let list = read.dated_meetings(weaver).await.unwrap();
        list.into_iter().map(|meeting| meeting.id).collect::<Vec<_>>()
    };
    let ebb = [class.meetings[3], class.meetings[2], class.meetings[1], class.meetings[0]];
    assert_eq!(meetings(None).await, ebb, "of terms that run, those called off too");
    assert_eq!(meetings(Some(class.ana)).await, ebb);
    assert_eq!(meetings(Some(class.bo)).await, [], "his term is closed, his other has no meetings");
    let counts = read.counts().await.unwrap();
    assert_eq!((counts.weavers, counts.terms, counts.enrolled), (2, 3, true));
    assert_eq!((counts.frames, counts.frames_out, counts.lent, counts.rugs), (3, 2, true, true));
});

on_both!(frames_say_who_has_them_and_which_are_gone, |store| async move {
    let class = class(&store).await;
    let broken = thrumhall::store::frames::FrameFields { condition: Condition::Broken, ..usual("K-3") };
    loft::frame(&store, class.me, &broken).await;
    let spare = loft::frame(&store, class.me, &large("L-2")).await;
    let mut tx = store.write(actor(class.me)).await.unwrap();
    assert!(tx.retire_frame(spare, 1).await.unwrap());
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let frames = read.frames().await.unwrap();
    let seen: Vec<_> =
        frames.iter().map(|f| (f.fields.tag.as_str(), f.weaver.as_deref(), f.due_on, f.usable())).collect();
    assert_eq!(
        seen,
        [
            ("K-1", Some("ana"), Some(day(7)), true),
            ("K-2", Some("Bo"), Some(day(6)), true),
            ("K-3", None, None, false),
            ("L-1", None, None, true),
            ("L-2", None, None, false),
        ]
    );
    let sizes = read.frame_sizes().await.unwrap();
    let seen: Vec<_> = sizes.iter().map(|size| (size.span_nm, size.frames)).collect();
    assert_eq!(seen, [(Length::inches(33.0), 2), (Length::inches(44.0), 1)], "neither broken nor retired");
    assert_eq!(read.counts().await.unwrap().frames, 4, "a broken frame is there, a retired one isn't");
    let line = read.rugs_in_line().await.unwrap();
    let names: Vec<&str> = line.iter().map(|rug| rug.rug.as_str()).collect();
    assert_eq!(names, ["Loose", "Wrack"], "without a frame, to be woven, and the weaver is there");
    assert_eq!(line[0].last_meeting, None);
    let tide = read.rug_in_line(class.rug("Tide")).await.unwrap().unwrap();
    assert_eq!((tide.last_meeting, tide.frame_tag.as_deref()), (Some(day(14)), Some("K-1")));
});

on_both!(rugs_and_their_logs_by_weaver_and_term, |store| async move {
    let class = class(&store).await;
    let names = |rugs: &[Rug]| -> Vec<String> { rugs.iter().map(|rug| rug.fields.name.clone()).collect() };
    let mut read = store.read().await.unwrap();
    let all = read.rugs(None, None).await.unwrap();
    assert_eq!(names(&all), ["Spray", "Wrack", "Reef", "Gift", "Loose", "Dropped", "Tide", "Old"]);
    assert_eq!(names(&read.rugs(Some(class.bo), None).await.unwrap()), ["Wrack", "Reef"]);
    assert_eq!(names(&read.rugs(None, Some(class.slack)).await.unwrap()), ["Wrack"]);
    assert_eq!(
        names(&read.rugs(Some(class.ana), Some(class.ebb)).await.unwrap()),
        ["Dropped", "Tide", "Old"]
    );
    let tag = |name: &str| all.iter().find(|rug| rug.fields.name == name).unwrap().frame_tag.clone();
    assert_eq!(
        (tag("Tide").as_deref(), tag("Old"), tag("Reef").as_deref()),
        (Some("K-1"), None, Some("K-2"))
    );
    drop(read);
    let mut entries = Vec::new();
    for (weaver, rug, rows) in [
        (class.ana, "Tide", 4),
        (class.bo, "Reef", 5),
        (class.ana, "Old", 6),
        (class.bo, "Wrack", 0),
        (class.ana, "Tide", 8),
    ] {
        let id = LogId::new();
        let mut tx = store.write(actor(weaver)).await.unwrap();
        tx.log_rug(id, class.rug(rug), &LogFields { rows: Some(rows), ..LogFields::default() })
            .await
            .unwrap();
        tx.commit().await.unwrap();
        entries.push(id);
    }
    let undoing = LogId::new();
    let mut tx = store.write(actor(class.ana)).await.unwrap();
    assert!(!tx.undo_log(LogId::new(), class.rug("Tide"), entries[1]).await.unwrap(), "another rug's entry");
    assert!(tx.undo_log(undoing, class.rug("Tide"), entries[4]).await.unwrap());
    assert!(!tx.undo_log(LogId::new(), class.rug("Tide"), entries[4]).await.unwrap(), "undone already");
    assert!(!tx.undo_log(LogId::new(), class.rug("Tide"), undoing).await.unwrap(), "an undoing stays");
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let ids = |log: Vec<thrumhall::store::rugs::log::LogEntry>| -> Vec<(LogId, bool)> {
        log.iter().map(|entry| (entry.id, entry.counts())).collect()
    };
    let [tide, reef, old, wrack, again] = entries[..] else { unreachable!() };
    let of_tide = [(tide, true), (again, false), (undoing, false)];
    assert_eq!(ids(read.rug_log(class.rug("Tide")).await.unwrap()), of_tide);
    assert_eq!(
        ids(read.rug_log(class.rug("Old")).await.unwrap()),
        [(old, true)],
        "a finished rug keeps its own"
    );
    let under_way = [(tide, true), (reef, true), (wrack, true), (again, false), (undoing, false)];
    assert_eq!(ids(read.logs().await.unwrap()), under_way, "of rugs that are still woven");
    assert_eq!(ids(read.term_log(class.ebb).await.unwrap()), of_tide);
    assert_eq!(ids(read.term_log(class.slack).await.unwrap()), [(wrack, true)]);
    let state = |rugs: &[Rug], name: &str| rugs.iter().find(|rug| rug.fields.name == name).unwrap().state;
    let rugs = read.rugs(None, None).await.unwrap();
    assert_eq!(state(&rugs, "Wrack"), RugState::Planned, "nothing of it is woven yet");
    assert_eq!(state(&rugs, "Old"), RugState::Finished, "a log doesn't begin a rug anew");
});

on_both!(what_rugs_took_counts_once_they_are_finished, |store| async move {
    let class = class(&store).await;
    let took = |rows| ResultFields { rows_woven: Some(rows), ..ResultFields::default() };
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.finish_rug(class.rug("Old"), &took(200)).await.unwrap();
    tx.finish_rug(class.rug("Reef"), &took(100)).await.unwrap();
    tx.finish_rug(class.rug("Reef"), &took(110)).await.unwrap();
    tx.finish_rug(class.rug("Gift"), &ResultFields::default()).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    let results = read.rug_results().await.unwrap();
    let mut rows: Vec<_> = results.iter().map(|one| (one.weaver_id, one.result.rows_woven)).collect();
    rows.sort_by_key(|one| one.1);
    assert_eq!(rows, [(class.bo, Some(110)), (class.ana, Some(200))]);
    assert_eq!(read.rug_result(class.rug("Old")).await.unwrap(), Some(took(200)));
    assert_eq!(read.rug_result(class.rug("Gift")).await.unwrap(), None);
    drop(read);
    let mut tx = store.write(actor(class.me)).await.unwrap();
    tx.set_rug_state(class.rug("Old"), RugState::Weaving).await.unwrap();
    tx.commit().await.unwrap();
    let mut read = store.read().await.unwrap();
    assert_eq!(read.rug_results().await.unwrap().len(), 1, "taken up again: not finished");
});
