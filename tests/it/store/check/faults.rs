//! Faults in frames, rods, rugs, their logs and turns; the class they are put into is in `class`.
use super::Fault;

fn fault(question: &'static str, what: &'static str, done: &[&str], rows: &'static str) -> Fault {
    let done = done.iter().map(|statement| (*statement).to_owned()).collect();
    Fault { question, what, done, rows, also: None }
}

const RODS: &str = "rods out, bent and in don't add up to those owned";
const ROD: &str = "SELECT id FROM rod WHERE length_nm = 2514600000";
const OUT: &str = "the rods marked out are not those on open loans";
const WEAVER: &str = "a frame is lent for a rug of somebody who is no weaver";
const LENT: &str = "SELECT l.id FROM loan l JOIN frame f ON f.id = l.frame_id WHERE f.tag = 'Z1'";
const PROPOSAL: &str = "a proposal's cloth is promised";
const TURNS: &str = "two rugs have one frame at one time in a timetable";

/// A loan that the program never made: of a frame, for a rug, with so many rods of 99 in.
fn lend(tag: &str, rug: &str, rods: i64) -> String {
    let rod = if rods == 0 { "NULL" } else { "(SELECT id FROM rod WHERE length_nm = 2514600000)" };
    format!(
        "INSERT INTO loan (id, frame_id, rug_id, rod_id, rods, due_on, condition_out, handed_out_at, handed_out_by)
         SELECT 'lent', f.id, r.id, {rod}, {rods}, '2026-11-25', 'sound', 1, (SELECT MIN(id) FROM person)
         FROM frame f CROSS JOIN rug r WHERE f.tag = '{tag}' AND r.name = '{rug}'"
    )
}

fn log(columns: &str, values: &str) -> String {
    format!(
        "INSERT INTO rug_log (id, rug_id, at, person_id{columns})
         SELECT 'logged', r.id, 1, r.weaver_id{values} FROM rug r WHERE r.name = 'Spare 0'"
    )
}

pub fn faults() -> Vec<Fault> {
    let mut all = frames_and_rods();
    all.extend(rugs());
    all.extend(promises());
    all.extend(turns());
    all.extend(people());
    all
}

/// Somebody who is erased, but for what a statement leaves of them.
fn people() -> Vec<Fault> {
    let reached = "how to reach somebody who left is still kept";
    let kept = "of somebody who was erased more is kept than what they did";
    let which = "SELECT id FROM person WHERE name_key = 'erased'";
    let erased = "UPDATE person SET name = 'Somebody who left', name_key = 'erased', contact = '', left_at = 1, erased_at = 1
         WHERE name = 'Wanda Spare'";
    let unsaid = "UPDATE change SET detail = '{}' WHERE noun = 'person'
         AND noun_id = (SELECT id FROM person WHERE name_key = 'erased')";
    let hold = |table: &str, columns: &str, values: &str| {
        format!(
            "INSERT INTO {table} (person_id, {columns}) SELECT id, {values} FROM person WHERE name_key = 'erased'"
        )
    };
    let left = [
        ("a name", "UPDATE person SET name = 'Wanda' WHERE name_key = 'erased'".to_owned()),
        ("units", "UPDATE person SET units = 'metric' WHERE name_key = 'erased'".to_owned()),
        ("a passphrase", "UPDATE person SET passphrase_hash = 'x' WHERE name_key = 'erased'".to_owned()),
        ("a session", hold("session", "token_hash, made_at, expires_at", "'held', 1, 2")),
        ("a link", hold("entry_link", "token_hash, made_at", "'held', 1")),
        ("a calendar link", hold("calendar_link", "token_hash, made_at", "'held', 1")),
        ("what a calendar was told", hold("calendar_told", "entries, revision", "'{}', 1")),
        ("a wait", hold("waiting", "term_id, position, made_at", "(SELECT MIN(id) FROM term), 1, 1")),
        ("an absence", hold("absence", "meeting_id", "(SELECT MIN(id) FROM meeting)")),
        (
            "a name in the record",
            "UPDATE change SET detail = 'Wanda' WHERE noun = 'person'
                 AND noun_id = (SELECT id FROM person WHERE name_key = 'erased')"
                .to_owned(),
        ),
    ];
    let mut all = vec![fault(
        reached,
        "a contact",
        &[
            "UPDATE person SET left_at = 1, contact = 'by the quay', name_key = 'erased' WHERE name = 'Wanda Spare'",
        ],
        which,
    )];
    all.push(fault(
        "somebody waits for a term that they are in",
        "enrolled and waiting",
        &[
            "INSERT INTO enrolment (term_id, person_id, made_at)
                 SELECT t.id, p.id, 1 FROM term t CROSS JOIN person p WHERE t.name = 'Turns' AND p.name = 'Wanda Spare'",
            "INSERT INTO waiting (term_id, person_id, position, made_at)
                 SELECT t.id, p.id, 1, 1 FROM term t CROSS JOIN person p WHERE t.name = 'Turns' AND p.name = 'Wanda Spare'",
        ],
        "SELECT id FROM person WHERE name = 'Wanda Spare'",
    ));
    all.extend(left.iter().map(|(what, done)| fault(kept, what, &[erased, unsaid, done], which)));
    all
}

fn frames_and_rods() -> Vec<Fault> {
    let twice = "a frame is out more than once";
    let minus = &lend("Z2", "Spare 3", -1);
    vec![
        fault(twice, "to two rugs", &[&lend("Z1", "Spare 3", 0)], "SELECT tag FROM frame WHERE tag = 'Z1'"),
        fault(
            RODS,
            "fewer than none owned",
            &["UPDATE rod SET owned = -1 WHERE length_nm = 2514600000"],
            ROD,
        ),
        fault(
            RODS,
            "fewer than none out",
            &[minus, "UPDATE rod SET out_now = -1 WHERE length_nm = 2514600000"],
            ROD,
        ),
        fault(RODS, "fewer than none bent", &["UPDATE rod SET bent = -1 WHERE length_nm = 2514600000"], ROD),
        fault(RODS, "more bent than owned", &["UPDATE rod SET bent = 5 WHERE length_nm = 2514600000"], ROD),
        fault(
            RODS,
            "out and bent together more than owned",
            &[&lend("Z2", "Spare 3", 2), "UPDATE rod SET out_now = 2, bent = 3 WHERE length_nm = 2514600000"],
            ROD,
        ),
        fault(OUT, "out on no loan", &["UPDATE rod SET out_now = 1 WHERE length_nm = 2514600000"], ROD),
        fault(OUT, "on a loan and not out", &[&lend("Z2", "Spare 3", 2)], ROD),
        fault(
            OUT,
            "one more out than on loans",
            &["UPDATE rod SET out_now = out_now + 1 WHERE length_nm = 914400000"],
            "SELECT id FROM rod WHERE length_nm = 914400000",
        ),
        fault(
            WEAVER,
            "by now a volunteer",
            &["UPDATE person SET role = 'volunteer' WHERE name = 'Wanda Spare'"],
            LENT,
        ),
        fault(
            WEAVER,
            "by now an instructor",
            &["UPDATE person SET role = 'instructor' WHERE name = 'Wanda Spare'"],
            LENT,
        ),
    ]
}

fn rugs() -> Vec<Fault> {
    let logged = "SELECT id FROM rug_log WHERE id = 'logged'";
    vec![
        fault("an entry of a rug's log says nothing", "all empty", &[&log("", "")], logged),
        fault(
            "an entry of a rug's log undoes an undoing",
            "of an entry undone",
            &[&log(", undoes", ", (SELECT id FROM rug_log WHERE undoes IS NOT NULL)")],
            logged,
        ),
        fault(
            "a rug has no bands",
            "all gone",
            &["DELETE FROM rug_band WHERE rug_id = (SELECT id FROM rug WHERE name = 'Spare 2')"],
            "SELECT id FROM rug WHERE name = 'Spare 2'",
        ),
    ]
}

fn promises() -> Vec<Fault> {
    let other = "a promise was pulled from another bundle than its own";
    let pulled = "SELECT m.id FROM promise m JOIN bundle b ON b.id = m.bundle_id WHERE b.note = 'promised' AND m.pull_key IS NOT NULL";
    let mut all = vec![
        fault(
            other,
            "the pull",
            &["UPDATE promise SET pull_key = (SELECT e.request_key FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id
                   WHERE b.note = 'put back' AND e.reason = 'pulled')
               WHERE pull_key IS NOT NULL AND bundle_id = (SELECT id FROM bundle WHERE note = 'promised')"],
            pulled,
        ),
        fault(
            other,
            "what came back",
            &["UPDATE promise SET back_key = (SELECT e.request_key FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id
                   WHERE b.note = 'put back' AND e.reason = 'put back')
               WHERE pull_key IS NOT NULL AND bundle_id = (SELECT id FROM bundle WHERE note = 'promised')"],
            pulled,
        ),
    ];
    for state in ["working", "proposed", "dropped"] {
        let statement = format!(
            "UPDATE share_out SET state = '{state}' WHERE id = (SELECT m.share_out_id FROM promise m
                 JOIN bundle b ON b.id = m.bundle_id WHERE b.note = 'promised' AND m.state = 'standing')"
        );
        let rows = "SELECT m.id FROM promise m JOIN bundle b ON b.id = m.bundle_id
                    WHERE b.note = 'promised' AND m.state = 'standing'";
        all.push(fault(PROPOSAL, "of a share-out that nobody accepted", &[&statement], rows));
    }
    all.push(fault(
        "a rug's open promises come from more than one share-out",
        "one that was replaced stands again",
        &["UPDATE promise SET state = 'standing' WHERE state = 'released'"],
        "SELECT DISTINCT m.rug_id FROM promise m JOIN bundle b ON b.id = m.bundle_id
         WHERE b.note = 'promised too' AND m.state = 'standing'",
    ));
    all
}

fn turns() -> Vec<Fault> {
    let meeting = |n: usize| format!("(SELECT id FROM meeting WHERE starts_at = '0{n}:00')");
    let until = |tag: &str, from: usize, to: usize| {
        format!(
            "UPDATE place SET to_meeting = {} WHERE from_meeting = {} AND frame_id = (SELECT id FROM frame WHERE tag = '{tag}')",
            meeting(to),
            meeting(from)
        )
    };
    let first = "SELECT MIN(c.rug_id) FROM place c JOIN frame f ON f.id = c.frame_id WHERE f.tag = 'Z1'";
    let second = "SELECT MIN(c.rug_id) FROM place c JOIN frame f ON f.id = c.frame_id WHERE f.tag = 'Z2'";
    let moved = format!(
        "UPDATE place SET frame_id = (SELECT id FROM frame WHERE tag = 'Z1')
         WHERE from_meeting = {} AND frame_id = (SELECT id FROM frame WHERE tag = 'Z2')",
        meeting(0)
    );
    vec![
        fault(TURNS, "the earlier rug still there that day", &[&until("Z1", 0, 2)], first),
        fault(TURNS, "the later rug still there that day", &[&until("Z2", 0, 2)], second),
        fault(TURNS, "one within the other", &[&until("Z1", 0, 5)], first),
        fault(TURNS, "the other within the one", &[&until("Z2", 0, 5)], second),
        fault(TURNS, "at the same time", &[&moved], first),
    ]
}
