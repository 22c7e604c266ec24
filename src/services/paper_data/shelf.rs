//! Papers of the shelf: sheets to weigh in on without power, the stocktake's list, the colour card.
use super::Reader;
use super::document::{Block, Cell, Column, Document, Table};
use crate::planning::cloth::Kind;
use crate::planning::colour::{Family, Hex};
use crate::services::{Error, Result};
use crate::store::cloth::shelf::{ShelfFilter, ShelfLine};
use crate::store::cloth::stocktakes::{Counted, Stocktake};
use crate::store::{Read, StocktakeId};
use crate::units::{Mass, dates, isolated};

/// How many bundles fit on a sheet to weigh in on, on Letter and A4.
const BUNDLES: u32 = 12;

/// A sheet to weigh in on by hand.
pub fn blank_weigh_in(reader: &Reader) -> Document {
    let mut document = reader.document(
        "Weigh-in sheet",
        "For an evening without power".into(),
        "/cloth/weigh-in",
        "the scale",
    );
    document.link = document.link.take().map(|(to, _)| (to, "where it is typed in".into()));
    document.across = true;
    document.blocks.push(Block::Text(
        "A line a bundle, with the weight as the scale shows it and its unit. Write the line’s number on masking tape and \
         fasten it to the bundle: it gets its own number when the line is typed in. Keep unwashed cloth apart. Print as many sheets as \
         you may need."
            .into(),
    ));
    let kinds: Vec<&str> = Kind::ALL.iter().map(|kind| kind.facts().title).collect();
    document.blocks.push(Block::Text(format!("Kinds: {}.", kinds.join("; "))));
    let row = |n: u32| {
        let mut cells = vec![Cell::from(n.to_string())];
        cells.extend([
            Cell::ROOM,
            Cell::ROOM,
            Cell::ROOM,
            Cell::ROOM,
            Cell::Tick,
            Cell::ROOM,
            Cell::ROOM,
            Cell::Tick,
        ]);
        cells
    };
    document.blocks.push(Block::Table(Table {
        name: "Bundles as they come".into(),
        columns: vec![
            Column::figures("Line"),
            Column::room("Kind", 44.0),
            Column::room("Colour", 40.0),
            Column::room("Scale shows", 30.0),
            Column::room("Basket", 20.0),
            Column::room("Washed", 14.0),
            Column::room("Sheets: how many, length × width", 46.0),
            Column::room("Place, note", 36.0),
            Column::room("Typed in", 14.0),
        ],
        rows: (1..=BUNDLES).map(row).collect(),
        high: 9.0,
    }));
    document
}

/// What a stocktake counts, in the order in which people walk along the shelf; it doesn't say what anything should weigh.
pub async fn stocktake_list(read: &mut Read, reader: &Reader, id: StocktakeId) -> Result<Document> {
    let stocktake = read.stocktake(id).await?.ok_or(Error::NotFound("stocktake"))?;
    let counted = read.counted(id).await?;
    let shelf = read.shelf(&ShelfFilter { empty: true, ..ShelfFilter::default() }, i64::MAX, 0).await?;
    let place =
        |line: &Counted| shelf.iter().find(|there| there.id == line.bundle_id).map_or("", |b| &b.place);
    let (done, mut left): (Vec<&Counted>, Vec<&Counted>) = counted.iter().partition(|line| line.at.is_some());
    // What has no place is looked for last.
    left.sort_by_key(|line| (place(line).is_empty(), place(line).to_lowercase(), line.tag));
    let under = format!("{}, begun {}", what(&stocktake), dates::moment(stocktake.begun_at, &reader.wall));
    let mut document =
        reader.document("Stocktake list", under, &format!("/cloth/count/{id}"), "where it is typed in");
    let said = match (done.len(), left.len()) {
        (0, 0) => "No washed bundle of this holds anything.".to_owned(),
        (_, 0) => "All are counted.".to_owned(),
        (0, n) => format!("{n} to count."),
        (done, n) => format!("{n} to count; {done} are counted already and not on this list."),
    };
    document.blocks.push(Block::Text(format!(
        "{said} Write the weight as the scale shows it and its unit, the basket’s beside it, or tick what isn’t found. What \
         a bundle should weigh isn’t on the list on purpose."
    )));
    if !left.is_empty() {
        let row = |line: &&Counted| {
            vec![
                Cell::from(line.tag.to_string()),
                isolated(place(line)).into(),
                isolated(&line.colour_name).into(),
                line.kind.facts().title.into(),
                Cell::ROOM,
                Cell::ROOM,
                Cell::Tick,
            ]
        };
        document.blocks.push(Block::Table(Table {
            name: "What is to be counted".into(),
            columns: vec![
                Column::figures("Bundle"),
                Column::words("Place"),
                Column::words("Colour"),
                Column::words("Cloth"),
                Column::room("Scale shows", 32.0),
                Column::room("Basket", 20.0),
                Column::room("Not found", 12.0),
            ],
            rows: left.iter().map(row).collect(),
            high: 8.5,
        }));
    }
    Ok(document)
}

/// What a stocktake counts, in words.
fn what(stocktake: &Stocktake) -> String {
    match (stocktake.kind, stocktake.family) {
        (None, None) => "The whole shelf".to_owned(),
        (Some(kind), None) => kind.facts().title.to_owned(),
        (None, Some(family)) => format!("All {}", family.title().to_lowercase()),
        (Some(kind), Some(family)) => format!("{}, {}", kind.facts().title, family.title().to_lowercase()),
    }
}

/// A colour of the shelf, with all that there is of it.
struct Shade<'a> {
    name: &'a str,
    hex: Hex,
    second: Option<(&'a str, Hex)>,
    family: Family,
    tags: Vec<i64>,
    strip: Mass,
    ready: bool,
}

/// The shelf's colours, as they look and how dark they are, each with its name and what there is of it.
pub async fn colour_card(read: &mut Read, reader: &Reader) -> Result<Document> {
    let shelf = read.shelf(&ShelfFilter::default(), i64::MAX, 0).await?;
    let mut shades: Vec<Shade> = Vec::new();
    for line in &shelf {
        let alike = |shade: &&mut Shade| {
            shade.name == line.colour_name && shade.hex == line.colour_hex && shade.second == line.second()
        };
        if let Some(shade) = shades.iter_mut().find(alike) {
            shade.add(line);
        } else {
            let mut shade = Shade {
                name: &line.colour_name,
                hex: line.colour_hex,
                second: line.second(),
                family: line.colour_family,
                tags: Vec::new(),
                strip: Mass::ZERO,
                ready: false,
            };
            shade.add(line);
            shades.push(shade);
        }
    }
    let light = |shade: &Shade| shade.hex.lab().parts()[0];
    shades
        .sort_by(|a, b| a.family.cmp(&b.family).then(light(b).total_cmp(&light(a))).then(a.name.cmp(b.name)));
    let count = shades.len();
    let under =
        if count == 1 { "1 colour on the shelf".to_owned() } else { format!("{count} colours on the shelf") };
    let mut document = reader.document("Colour card", under, "/cloth", "the shelf");
    document.blocks.push(Block::Text(
        "Left the colour, as near as screen and printer come to it; right how dark it is: two colours with like lines are hard \
         to tell apart in a rug, whatever their hue. Look at the cloth itself before you choose."
            .into(),
    ));
    let row = |shade: &Shade| {
        let second = shade.second.map_or_else(String::new, |(name, _)| format!(" and {}", isolated(name)));
        let mut tags = shade.tags.clone();
        tags.sort_unstable();
        let tags: Vec<String> = tags.iter().map(ToString::to_string).collect();
        let wash = if shade.ready { "" } else { ", to be washed first" };
        vec![
            Cell::from(format!("{}{second}", isolated(shade.name))),
            Cell::Cloth(shade.hex, shade.second.map(|(_, hex)| hex)),
            shade.family.title().into(),
            format!("{}{wash}", shade.strip.show(reader.units)).into(),
            tags.join(", ").into(),
        ]
    };
    if count > 0 {
        document.blocks.push(Block::Table(Table {
            name: "The shelf’s colours".into(),
            columns: vec![
                Column::words("Colour"),
                Column::words("Looks"),
                Column::words("Family"),
                Column::words("As strip"),
                Column::words("Bundles"),
            ],
            rows: shades.iter().map(row).collect(),
            high: 8.0,
        }));
    }
    Ok(document)
}

impl Shade<'_> {
    fn add(&mut self, line: &ShelfLine) {
        self.tags.push(line.tag);
        self.strip += line.strip();
        self.ready |= line.state == crate::store::cloth::bundles::BundleState::Ready;
    }
}
