//! What must always hold, asked of the database: each question returns the rows that break it, in words.
use super::Error;
use super::tx::{Read, sql};

/// The questions: what is broken, and the SQL that names each breaking row.
const QUESTIONS: [(&str, &str); 23] = [
    (
        "a frame is out more than once",
        "SELECT f.tag FROM loan l JOIN frame f ON f.id = l.frame_id WHERE l.taken_back_at IS NULL
         GROUP BY f.id, f.tag HAVING COUNT(*) > 1",
    ),
    (
        "somebody waits for a term that they are in",
        "SELECT w.person_id FROM waiting w JOIN enrolment e ON e.term_id = w.term_id AND e.person_id = w.person_id",
    ),
    (
        "rods out, bent and in don't add up to those owned",
        "SELECT r.id FROM rod r WHERE r.owned < 0 OR r.out_now < 0 OR r.bent < 0 OR r.out_now + r.bent > r.owned",
    ),
    (
        "the rods marked out are not those on open loans",
        "SELECT r.id FROM rod r WHERE r.out_now <> (
             SELECT CAST(COALESCE(SUM(l.rods), 0) AS BIGINT) FROM loan l
             WHERE l.rod_id = r.id AND l.taken_back_at IS NULL)",
    ),
    (
        "a bundle's balance is not the sum of its entries",
        "SELECT b.id FROM bundle b WHERE b.balance_mg <> (
             SELECT CAST(COALESCE(SUM(e.change_mg), 0) AS BIGINT) FROM cloth_entry e WHERE e.bundle_id = b.id)",
    ),
    (
        "a bundle's balance is negative",
        "SELECT b.id FROM bundle b WHERE b.balance_mg < 0",
    ),
    (
        "a bundle's ledger has a gap",
        "SELECT b.id FROM bundle b WHERE b.entries <> (SELECT COUNT(*) FROM cloth_entry e WHERE e.bundle_id = b.id)
             OR b.entries <> (SELECT COALESCE(MAX(e.seq), 0) FROM cloth_entry e WHERE e.bundle_id = b.id)",
    ),
    (
        "a ledger entry doesn't follow from the one before it",
        "SELECT e.id FROM cloth_entry e LEFT JOIN cloth_entry p ON p.bundle_id = e.bundle_id AND p.seq = e.seq - 1
         WHERE e.after_mg <> e.before_mg + e.change_mg OR e.after_mg < 0
             OR e.before_mg <> COALESCE(p.after_mg, 0)",
    ),
    (
        "a reversal doesn't cancel what it reverses",
        "SELECT e.id FROM cloth_entry e JOIN cloth_entry o ON o.id = e.reverses
         WHERE e.change_mg <> -o.change_mg OR e.bundle_id <> o.bundle_id",
    ),
    (
        "cloth was pulled or cut from a bundle that isn't washed",
        "SELECT b.id FROM bundle b WHERE b.state <> 'ready' AND EXISTS (
             SELECT 1 FROM cloth_entry e WHERE e.bundle_id = b.id AND e.reason IN ('pulled', 'cut')
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id))",
    ),
    (
        "what was cut from a bundle is not what its strips weighed",
        "SELECT e.id FROM cloth_entry e LEFT JOIN cloth_entry c ON c.cut_entry = e.id OR c.id = e.cut_entry
         LEFT JOIN bundle b ON b.id = CASE WHEN e.change_mg > 0 THEN e.bundle_id ELSE c.bundle_id END
         WHERE e.reason = 'cut' AND (c.id IS NULL OR c.reason <> 'cut' OR c.change_mg <> -e.change_mg
             OR b.made_from IS NULL
             OR b.made_from <> CASE WHEN e.change_mg > 0 THEN c.bundle_id ELSE e.bundle_id END)",
    ),
    (
        "a cut is undone on one side alone",
        "SELECT e.id FROM cloth_entry e JOIN cloth_entry c ON c.cut_entry = e.id
         WHERE EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id)
             <> EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = c.id)",
    ),
    (
        "a lot of strips doesn't begin with a cut",
        "SELECT b.id FROM bundle b JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1
         WHERE (b.made_from IS NOT NULL) <> (e.reason = 'cut')",
    ),
    (
        "a frame is lent for a rug of somebody who is no weaver",
        "SELECT l.id FROM loan l JOIN rug r ON r.id = l.rug_id JOIN person p ON p.id = r.weaver_id
         WHERE p.role <> 'weaver'",
    ),
    (
        "an entry of a rug's log says nothing",
        "SELECT l.id FROM rug_log l WHERE l.undoes IS NULL AND l.rows_woven IS NULL AND l.woven_nm IS NULL
             AND l.minutes IS NULL AND NOT EXISTS (SELECT 1 FROM rug_log_left w WHERE w.log_id = l.id)",
    ),
    (
        "an entry of a rug's log undoes an undoing",
        "SELECT l.id FROM rug_log l JOIN rug_log o ON o.id = l.undoes WHERE o.undoes IS NOT NULL",
    ),
    (
        "a promise was pulled from another bundle than its own",
        "SELECT m.id FROM promise m JOIN cloth_entry e ON e.request_key IN (m.pull_key, m.back_key)
         WHERE e.bundle_id <> m.bundle_id",
    ),
    (
        "a proposal's cloth is promised",
        "SELECT m.id FROM promise m JOIN share_out s ON s.id = m.share_out_id
         WHERE m.state = 'standing' AND s.state <> 'accepted'",
    ),
    (
        "a rug's open promises come from more than one share-out",
        "SELECT DISTINCT m.rug_id FROM promise m JOIN promise o ON o.rug_id = m.rug_id AND o.share_out_id > m.share_out_id
         WHERE m.state = 'standing' AND o.state = 'standing' AND m.pull_key IS NULL AND o.pull_key IS NULL",
    ),
    (
        "two rugs have one frame at one time in a timetable",
        "SELECT a.rug_id FROM place a JOIN meeting af ON af.id = a.from_meeting JOIN meeting at ON at.id = a.to_meeting
         JOIN place b ON b.frame_id = a.frame_id AND b.rug_id > a.rug_id
         JOIN meeting bf ON bf.id = b.from_meeting JOIN meeting bt ON bt.id = b.to_meeting
         WHERE af.on_day <= bt.on_day AND bf.on_day <= at.on_day",
    ),
    (
        "a rug has no bands",
        "SELECT r.id FROM rug r WHERE NOT EXISTS (SELECT 1 FROM rug_band b WHERE b.rug_id = r.id)",
    ),
    (
        "how to reach somebody who left is still kept",
        "SELECT p.id FROM person p WHERE p.left_at IS NOT NULL AND p.contact <> ''",
    ),
    (
        "of somebody who was erased more is kept than what they did",
        "SELECT p.id FROM person p WHERE p.erased_at IS NOT NULL AND (
             p.name <> 'Somebody who left' OR p.units IS NOT NULL OR p.passphrase_hash IS NOT NULL
             OR EXISTS (SELECT 1 FROM session s WHERE s.person_id = p.id)
             OR EXISTS (SELECT 1 FROM tablet b WHERE b.opened_by = p.id)
             OR EXISTS (SELECT 1 FROM known_device d WHERE d.person_id = p.id)
             OR EXISTS (SELECT 1 FROM passkey y WHERE y.person_id = p.id)
             OR EXISTS (SELECT 1 FROM one_time_code o WHERE o.person_id = p.id)
             OR EXISTS (SELECT 1 FROM recovery_code r WHERE r.person_id = p.id)
             OR EXISTS (SELECT 1 FROM let_in_link i WHERE i.person_id = p.id)
             OR EXISTS (SELECT 1 FROM entry_link l WHERE l.person_id = p.id)
             OR EXISTS (SELECT 1 FROM calendar_link k WHERE k.person_id = p.id)
             OR EXISTS (SELECT 1 FROM calendar_told t WHERE t.person_id = p.id)
             OR EXISTS (SELECT 1 FROM absence a WHERE a.person_id = p.id)
             OR EXISTS (SELECT 1 FROM waiting w WHERE w.person_id = p.id)
             OR EXISTS (SELECT 1 FROM attendance h WHERE h.person_id = p.id)
             OR EXISTS (SELECT 1 FROM change c WHERE c.noun = 'person' AND c.noun_id = p.id AND c.detail <> '{}'))",
    ),
];

/// What [`Read::broken_invariants`] asks, in words.
pub fn questions() -> impl Iterator<Item = &'static str> {
    QUESTIONS.into_iter().map(|(words, _)| words)
}

impl Read {
    /// Everything that doesn't hold; empty when all is well.
    pub async fn broken_invariants(&mut self) -> Result<Vec<String>, Error> {
        let mut broken = Vec::new();
        for (words, question) in QUESTIONS {
            let rows = sql!(all(String,), self, question)?;
            broken.extend(rows.into_iter().map(|(which,)| format!("{words}: {which}")));
        }
        Ok(broken)
    }
}
