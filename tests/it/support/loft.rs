//! A loft to lend from: frames, rods, and weavers with a rug planned for the usual frame.
use thrumhall::planning::cloth::Kind;
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::people::{PersonFields, Role};
use thrumhall::store::rugs::{Colour, Making, RugBand, RugFields};
use thrumhall::store::{Actor, FrameId, PersonId, RodId, RugId, Store, TermId, Write};
use thrumhall::units::Length;

use super::{actor, noon};

/// 18 × 33 in with 33 nails, which takes a 36 in rod: common practice, no source.
pub fn usual(tag: &str) -> FrameFields {
    FrameFields {
        tag: tag.into(),
        span_nm: Length::inches(33.0),
        width_nm: Length::inches(18.0),
        nails: 33,
        pitch_nm: None,
        nail_rows: NailRows::Facing,
        condition: Condition::Sound,
        note: String::new(),
    }
}

/// The other usual size, 24 × 44 in: common practice, no source.
pub fn large(tag: &str) -> FrameFields {
    FrameFields { span_nm: Length::inches(44.0), width_nm: Length::inches(24.0), nails: 43, ..usual(tag) }
}

/// Somebody who may hand out.
pub async fn instructor(store: &Store) -> PersonId {
    person(store, Role::Instructor, "Ines Probe").await
}

pub async fn person(store: &Store, role: Role, name: &str) -> PersonId {
    let id = PersonId::new();
    let fields = PersonFields { name: name.into(), contact: String::new(), units: None };
    let mut tx = store.write(actor(id)).await.unwrap();
    // The person is there before the record says that they added themselves.
    tx.add_person(id, role, &fields, None).await.unwrap();
    tx.commit().await.unwrap();
    id
}

pub async fn frame(store: &Store, by: PersonId, fields: &FrameFields) -> FrameId {
    let id = FrameId::new();
    let mut tx = store.write(actor(by)).await.unwrap();
    tx.add_frame(id, fields).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// Rods of 1/8 in, so many inches long.
pub async fn rods(store: &Store, by: PersonId, inches: f64, owned: i64) -> RodId {
    let id = RodId::new();
    let mut tx = store.write(actor(by)).await.unwrap();
    tx.add_rod(id, Length::inches(inches), Length::inches(0.125), owned).await.unwrap();
    tx.commit().await.unwrap();
    id
}

/// A rug of this weaver's for a frame of that size.
pub async fn rug(
    store: &Store,
    weaver: PersonId,
    name: &str,
    size: &FrameFields,
    term: Option<TermId>,
) -> RugId {
    let id = RugId::new();
    let mut tx = store.write(actor(weaver)).await.unwrap();
    add_rug(&mut tx, id, weaver, name, size, term).await;
    tx.commit().await.unwrap();
    id
}

/// So many weavers, each with a rug for a frame of that size, by name.
pub async fn weavers_with_rugs(store: &Store, number: usize, size: &FrameFields) -> Vec<(String, RugId)> {
    let mut made = Vec::new();
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    for n in 0..number {
        let (weaver, rug, name) = (PersonId::new(), RugId::new(), format!("Weaver {n}"));
        let fields = PersonFields { name: name.clone(), contact: String::new(), units: None };
        tx.add_person(weaver, Role::Weaver, &fields, None).await.unwrap();
        add_rug(&mut tx, rug, weaver, "Tide", size, None).await;
        made.push((name, rug));
    }
    tx.commit().await.unwrap();
    made
}

async fn add_rug(
    tx: &mut Write,
    id: RugId,
    weaver: PersonId,
    name: &str,
    size: &FrameFields,
    term: Option<TermId>,
) {
    let fields = RugFields {
        name: name.into(),
        term_id: term,
        span_nm: size.span_nm,
        width_nm: size.width_nm,
        nails: size.nails,
        pitch_nm: size.pitch_nm,
        making: Making::default(),
        strip_width_nm: Length::inches(1.5),
        warp_strip_nm: None,
        warp_yarn: None,
        warp_kind: Kind::Percale,
        weft_kind: Kind::Percale,
        fringe_nm: Length::ZERO,
        backing: false,
        strands_trade: false,
        unit_size: 2,
        // As the usual times are for: two meetings of four hours for the small rug.
        rugs_before: 7,
        home_minutes: 0,
        sample_length_nm: None,
        sample_rows: None,
        sample_mass_mg: None,
    };
    let colour = |name: &str, hex: &str| Colour { name: name.into(), hex: hex.into() };
    let band = RugBand {
        height: size.span_nm,
        first: colour("sea", "#2b5f75"),
        other: colour("sand", "#d9c9a3"),
        strip: None,
        chart: None,
    };
    tx.add_rug(id, weaver, &fields, &[band]).await.unwrap();
}
