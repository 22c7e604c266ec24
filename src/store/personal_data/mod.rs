//! Everything that is kept of one person, as they may take it away: who they are, what is theirs, what they did. What is
//! said of others stays out of it, but for the things that they handled.
mod terms;

use serde_json::{Value, json};
use sqlx::FromRow;

use crate::planning::chart::Chart;
use crate::planning::colour::Hex;
use crate::store::columns::{Day, Instant};
use crate::store::rugs::RugState;
use crate::store::rugs::results::ResultFields;
use crate::store::tx::{Read, sql};
use crate::store::{Error, PersonId, RugId, units_word};
use crate::units::{Length, Mass, Units};

#[derive(FromRow)]
struct RugRow {
    id: RugId,
    name: String,
    term: Option<String>,
    state: RugState,
    made_at: Instant,
    span_nm: Length,
    width_nm: Length,
    nails: i64,
    strip_width_nm: Length,
    warp_strip_nm: Option<Length>,
    warp_yarn: Option<crate::planning::warp::yarn::Yarn>,
    warp_kind: String,
    weft_kind: String,
    fringe_nm: Length,
    backing: bool,
    rugs_before: i64,
    home_minutes: i64,
    note: String,
}

#[derive(FromRow)]
struct BandRow {
    rug_id: RugId,
    height_nm: Length,
    first_name: String,
    first_hex: Hex,
    other_name: String,
    other_hex: Hex,
    chart: Option<Chart>,
}

#[derive(FromRow)]
struct LoanRow {
    frame: String,
    rug: String,
    rods: i64,
    handed_out_at: Instant,
    due_on: Day,
    taken_back_at: Option<Instant>,
    note: String,
}

#[derive(FromRow)]
struct LogRow {
    rug: String,
    at: Instant,
    rows_woven: Option<i64>,
    woven_nm: Option<Length>,
    minutes: Option<i64>,
    undoing: bool,
}

#[derive(FromRow)]
struct ResultRow {
    rug: String,
    at: Instant,
    #[sqlx(flatten)]
    took: ResultFields,
}

#[derive(FromRow)]
struct EntryRow {
    bundle: i64,
    at: Instant,
    reason: String,
    change_mg: Mass,
    typed: String,
    note: String,
}

#[derive(FromRow)]
struct RecordRow {
    at: Instant,
    theirs: bool,
    entity: String,
    entity_id: String,
    act: String,
    detail: String,
}

#[derive(FromRow)]
struct NoticeRow {
    at: Instant,
    event: String,
    mail: Option<String>,
    tried_at: Option<Instant>,
}

fn when(at: Instant) -> String {
    at.0.to_string()
}

fn mm(length: Length) -> f64 {
    length.nm() as f64 / 1e6
}

/// A text of ours that is JSON, as such.
fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|_| json!(text))
}

impl Read {
    /// Everything that is kept of one person; `None` where there is no such person. Instants are in UTC, lengths in
    /// millimetres, weights in grams.
    pub async fn personal_data(&mut self, id: PersonId) -> Result<Option<Value>, Error> {
        let Some(person) = self.person(id).await? else { return Ok(None) };
        let (made_at, passphrase) = sql!(
            one(Instant, bool),
            self,
            "SELECT made_at, passphrase_hash IS NOT NULL FROM person WHERE id = $1",
            id
        )?;
        Ok(Some(json!({
            "person": {
                "id": id.to_string(),
                "name": person.name,
                "role": person.role.word(),
                "contact": person.contact,
                "note": person.note,
                "units": person.units.map(units_word),
                "has_passphrase": passphrase,
                "added": when(made_at),
                "left": person.left_at.map(when),
            },
            "ways_in": self.ways_in(id).await?,
            "terms": self.terms_of(id).await?,
            "rugs": self.rugs_of(id).await?,
            "rug_log": self.log_of(id).await?,
            "rug_results": self.results_of(id).await?,
            "loans": self.lent_to(id).await?,
            "cloth_entries": self.entries_of(id).await?,
            "record": self.record_of(id).await?,
            "notices": self.notices_of(id).await?,
        })))
    }

    async fn ways_in(&mut self, id: PersonId) -> Result<Value, Error> {
        let sessions = sql!(
            all(Instant, Instant),
            self,
            "SELECT made_at, expires_at FROM session WHERE person_id = $1 ORDER BY made_at, token_hash",
            id
        )?;
        let tablets = sql!(
            all(Instant, Instant),
            self,
            "SELECT opened_at, ends_at FROM tablet WHERE opened_by = $1 ORDER BY opened_at, id",
            id
        )?;
        let links = sql!(
            all (String, Instant, Option<Instant>), self,
            "SELECT 'personal', made_at, replaced_at FROM entry_link WHERE person_id = $1
             UNION ALL SELECT 'calendar', made_at, replaced_at FROM calendar_link WHERE person_id = $1 ORDER BY 2",
            id
        )?;
        let devices = sql!(
            all(Instant,),
            self,
            "SELECT seen_at FROM known_device WHERE person_id = $1 ORDER BY seen_at, token_hash",
            id
        )?;
        let passkeys = sql!(
            all(String, Instant, Option<Instant>),
            self,
            "SELECT name, made_at, used_at FROM passkey WHERE person_id = $1 ORDER BY made_at, id",
            id
        )?;
        let (codes, recovery) = sql!(
            one(i64, i64), self,
            "SELECT (SELECT COUNT(*) FROM one_time_code o WHERE o.person_id = p.id AND o.confirmed_at IS NOT NULL),
                 (SELECT COUNT(*) FROM recovery_code c WHERE c.person_id = p.id AND c.used_at IS NULL)
             FROM person p WHERE p.id = $1",
            id
        )?;
        let passkey = |(name, made, used): (String, _, Option<_>)| json!({ "name": name, "made": when(made), "used": used.map(when) });
        let session = |(made, ends)| json!({ "opened": when(made), "ends": when(ends) });
        let link = |(kind, made, replaced): (String, _, Option<_>)| json!({ "kind": kind, "made": when(made), "replaced": replaced.map(when) });
        Ok(json!({
            "sessions": sessions.into_iter().map(session).collect::<Vec<_>>(),
            "tablets_opened": tablets.into_iter().map(session).collect::<Vec<_>>(),
            "links": links.into_iter().map(link).collect::<Vec<_>>(),
            "known_devices_last_used": devices.into_iter().map(|(at,)| when(at)).collect::<Vec<_>>(),
            "passkeys": passkeys.into_iter().map(passkey).collect::<Vec<_>>(),
            "codes_of_an_app": codes > 0,
            "recovery_codes_left": recovery,
        }))
    }

    async fn rugs_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let rugs = sql!(
            all RugRow, self,
            "SELECT r.id, r.name, t.name AS term, r.state, r.made_at, r.span_nm, r.width_nm, r.nails, r.strip_width_nm, r.warp_strip_nm,
                 r.warp_yarn, r.warp_kind, r.weft_kind, r.fringe_nm, r.backing, r.rugs_before, r.home_minutes, r.note
             FROM rug r LEFT JOIN term t ON t.id = r.term_id WHERE r.weaver_id = $1 ORDER BY r.made_at, r.id",
            id
        )?;
        let bands = sql!(
            all BandRow, self,
            "SELECT b.rug_id, b.height_nm, b.first_name, b.first_hex, b.other_name, b.other_hex, b.chart
             FROM rug_band b JOIN rug r ON r.id = b.rug_id WHERE r.weaver_id = $1 ORDER BY b.rug_id, b.position",
            id
        )?;
        let band = |band: &BandRow| {
            json!({
                "height_mm": mm(band.height_nm),
                "colours": [
                    { "name": band.first_name, "looks": band.first_hex.to_string() },
                    { "name": band.other_name, "looks": band.other_hex.to_string() },
                ],
                "chart": band.chart,
            })
        };
        let rug = |rug: RugRow| {
            json!({
                "name": rug.name,
                "term": rug.term,
                "state": rug.state.word(),
                "planned": when(rug.made_at),
                "span_mm": mm(rug.span_nm),
                "width_mm": mm(rug.width_nm),
                "nails": rug.nails,
                "strips_mm": mm(rug.strip_width_nm),
                "strips_of_the_warp_mm": rug.warp_strip_nm.map(mm),
                "warp_yarn": rug.warp_yarn.map(|yarn| yarn.show(Units::Metric)),
                "warp": rug.warp_kind,
                "weft": rug.weft_kind,
                "fringe_mm": mm(rug.fringe_nm),
                "backing": rug.backing,
                "rugs_before": rug.rugs_before,
                "minutes_at_home": rug.home_minutes,
                "note": rug.note,
                "bands": bands.iter().filter(|band| band.rug_id == rug.id).map(band).collect::<Vec<_>>(),
            })
        };
        Ok(rugs.into_iter().map(rug).collect())
    }

    /// What was logged of their rugs, and what they logged of others'.
    async fn log_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let log = sql!(
            all LogRow, self,
            "SELECT r.name AS rug, l.at, l.rows_woven, l.woven_nm, l.minutes, l.undoes IS NOT NULL AS undoing
             FROM rug_log l JOIN rug r ON r.id = l.rug_id WHERE r.weaver_id = $1 OR l.person_id = $1 ORDER BY l.at, l.id",
            id
        )?;
        let entry = |one: LogRow| {
            json!({
                "rug": one.rug,
                "at": when(one.at),
                "rows": one.rows_woven,
                "woven_mm": one.woven_nm.map(mm),
                "minutes": one.minutes,
                "undoes_another": one.undoing,
            })
        };
        Ok(log.into_iter().map(entry).collect())
    }

    async fn results_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let results = sql!(
            all ResultRow, self,
            "SELECT r.name AS rug, s.at, s.rows_woven, s.woven_nm, s.weft_mg, s.weave_minutes, s.prepare_minutes, s.warp_nm,
                 s.finished_length_nm, s.finished_width_nm
             FROM rug_result s JOIN rug r ON r.id = s.rug_id WHERE r.weaver_id = $1 OR s.person_id = $1
             ORDER BY s.at, s.rug_id",
            id
        )?;
        let result = |one: ResultRow| {
            json!({
                "rug": one.rug,
                "at": when(one.at),
                "rows": one.took.rows_woven,
                "woven_mm": one.took.woven_nm.map(mm),
                "weft_g": one.took.weft_mg.map(Mass::grams),
                "minutes_weaving": one.took.weave_minutes,
                "minutes_preparing": one.took.prepare_minutes,
                "warp_mm": one.took.warp_nm.map(mm),
                "finished_length_mm": one.took.finished_length_nm.map(mm),
                "finished_width_mm": one.took.finished_width_nm.map(mm),
            })
        };
        Ok(results.into_iter().map(result).collect())
    }

    async fn lent_to(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let loans = sql!(
            all LoanRow, self,
            "SELECT f.tag AS frame, r.name AS rug, l.rods, l.handed_out_at, l.due_on, l.taken_back_at, l.note
             FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id
             WHERE r.weaver_id = $1 ORDER BY l.handed_out_at, l.id",
            id
        )?;
        let loan = |one: LoanRow| {
            json!({
                "frame": one.frame,
                "rug": one.rug,
                "rods": one.rods,
                "handed_out": when(one.handed_out_at),
                "due": one.due_on.0.to_string(),
                "taken_back": one.taken_back_at.map(when),
                "note": one.note,
            })
        };
        Ok(loans.into_iter().map(loan).collect())
    }

    async fn entries_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let entries = sql!(
            all EntryRow, self,
            "SELECT b.tag AS bundle, e.at, e.reason, e.change_mg, e.typed, e.note
             FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id WHERE e.person_id = $1 ORDER BY e.at, e.id",
            id
        )?;
        let entry = |one: EntryRow| {
            json!({
                "bundle": one.bundle,
                "at": when(one.at),
                "reason": one.reason,
                "change_g": one.change_mg.grams(),
                "typed": one.typed,
                "note": one.note,
            })
        };
        Ok(entries.into_iter().map(entry).collect())
    }

    /// The lines of the record that they wrote, and those about them; of the latter not who wrote them.
    async fn record_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let lines = sql!(
            all RecordRow, self,
            "SELECT c.at, COALESCE(c.person_id = $1, FALSE) AS theirs, c.noun AS entity, c.noun_id AS entity_id, c.act, c.detail FROM change c
             WHERE c.person_id = $1 OR (c.noun = 'person' AND c.noun_id = $1) ORDER BY c.id",
            id
        )?;
        let line = |one: RecordRow| {
            // What somebody did to another person is that one's.
            let about = one.entity != "person" || one.entity_id == id.to_string();
            json!({
                "at": when(one.at),
                "by": if one.theirs { "this person" } else { "somebody else" },
                "what": one.entity,
                "did": one.act,
                "particulars": about.then(|| parsed(&one.detail)),
            })
        };
        Ok(lines.into_iter().map(line).collect())
    }

    async fn notices_of(&mut self, id: PersonId) -> Result<Vec<Value>, Error> {
        let notices = sql!(
            all NoticeRow, self,
            "SELECT n.at, n.happening AS event, d.state AS mail, d.tried_at FROM notice_person c JOIN notice n ON n.id = c.notice_id
             LEFT JOIN delivery d ON d.notice_id = n.id AND d.person_id = c.person_id
             WHERE c.person_id = $1 ORDER BY n.at, n.id",
            id
        )?;
        let notice = |one: NoticeRow| {
            json!({
                "at": when(one.at),
                "event": parsed(&one.event),
                "mail": one.mail,
                "mail_tried": one.tried_at.map(when),
            })
        };
        Ok(notices.into_iter().map(notice).collect())
    }
}
