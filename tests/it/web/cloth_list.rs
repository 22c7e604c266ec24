//! A list of cloth is looked at, and comes in when that is confirmed.
use axum::body::Body;
use axum::http::header;
use thrumhall::store::RequestKey;

use crate::support::browser::{Browser, Page, World};
use crate::support::named::assert_names;
use crate::support::sheet;

const HEAD: &str = "kind,colour,weight,washed";

async fn look(browser: &mut Browser, list: &str) -> Page {
    browser.post("/cloth/import", &[("list", list)]).await
}

/// Confirms what a page shows.
async fn take(browser: &mut Browser, page: &Page, over: &[(&str, &str)]) -> Page {
    let (key, list) = (page.field("key"), page.field("list"));
    let mut fields = vec![("do", "take"), ("key", key.as_str()), ("list", list.as_str())];
    fields.extend(over);
    browser.post("/cloth/import", &fields).await
}

/// Sends a file as browsers do (RFC 7578).
async fn send_file(browser: &mut Browser, bytes: &[u8]) -> Page {
    let mut body =
        b"--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"stock.csv\"\r\n".to_vec();
    body.extend(b"Content-Type: text/csv\r\n\r\n");
    body.extend(bytes);
    body.extend(b"\r\n--edge\r\nContent-Disposition: form-data; name=\"list\"\r\n\r\n\r\n--edge--\r\n");
    let request = browser
        .request("POST", "/cloth/import")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_LENGTH, body.len())
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge");
    let request = request.body(Body::from(body)).unwrap();
    browser.send(request).await
}

#[tokio::test]
async fn a_spreadsheets_own_file_comes_in_like_a_list() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let rows = r#"<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c><c r="D1" t="s"><v>3</v></c></row><row r="4"><c r="A4" t="s"><v>4</v></c><c r="B4" t="s"><v>5</v></c><c r="C4" t="s"><v>6</v></c><c r="D4" t="b"><v>1</v></c></row>"#;
    let strings = sheet::strings(&["kind", "colour", "weight", "washed", "percale", "navy", "1006.5 g"]);
    let page = send_file(&mut browser, &sheet::book(rows, &strings)).await.is(200);
    assert_eq!(page.all("section[aria-labelledby=good] tbody th"), ["Line 4"]);
    let to = take(&mut browser, &page, &[]).await.to().to_owned();
    browser.get(&to).await.is(200);
    let table = browser.get("/cloth.csv").await.table();
    assert!(
        table.lines().nth(1).unwrap().starts_with("1,percale,Navy,#22305a,blue,ready,1006.5,"),
        "{table}"
    );
    let old = send_file(&mut browser, b"\xd0\xcf\x11\xe0old").await.is(422);
    assert!(old.error("file").contains(".xlsx"), "{}", old.error("file"));
}

fn wrong(page: &Page) -> Vec<String> {
    page.all("section[aria-labelledby=wrong] tbody tr")
}

#[tokio::test]
async fn a_file_is_looked_at_and_comes_in_once() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = "\u{feff}Weight,Note,Washed,Colour,Kind,Hex,Sheets,Sheet length,Sheet width,Tag\r\n\
        2 lb 3.5 oz,\"grey, from the quay\",yes,navy,percale,,2,96 in,66 in,K12\r\n\
        1.006 kg,,no,Old rose,Denim or other bottom-weight,b0487c,,,,\r\n";
    let page = send_file(&mut browser, list.as_bytes()).await.is(200);
    assert_eq!(page.all(".stat b"), ["2", "4 lb 7 oz", "0"]);
    assert_eq!(page.all("section[aria-labelledby=good] tbody th"), ["Line 2", "Line 3"]);
    assert!(browser.get("/cloth").await.text.contains("The shelf is empty"), "nothing is kept yet");

    let to = take(&mut browser, &page, &[]).await.to().to_owned();
    assert_eq!(take(&mut browser, &page, &[]).await.to(), to, "a second press adds nothing");
    let shelf = browser.get(&to).await.is(200);
    assert!(shelf.one(".notice").contains("The list is taken in"));
    let table = browser.get("/cloth.csv").await.table();
    let rows: Vec<&str> = table.lines().skip(1).collect();
    assert_eq!(rows.len(), 2);
    // 35.5 oz of 28.349523125 g (international pound, 1959).
    assert!(rows[1].starts_with("1,percale,Navy,#22305a,blue,ready,1006.408,1006.408,2,"), "{}", rows[1]);
    assert!(rows[1].contains("\"Tag before: K12. grey, from the quay\""), "{}", rows[1]);
    assert!(rows[0].starts_with("2,denim,Old rose,#b0487c,"), "{}", rows[0]);
    let broken = world.store().read().await.unwrap().broken_invariants().await.unwrap();
    assert_eq!(broken, Vec::<String>::new());
}

#[tokio::test]
async fn rows_that_are_wrong_stay_out_only_when_that_is_said() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = format!(
        "{HEAD},sheets,note,second_colour,second_hex\n\
        percale,navy,500 g,yes,,\n\
        \n\
        velvet,plaid,\"1,006 kg\",perhaps,0,\n\
        percale,navy,1006,yes,,\n\
        percale,navy,900 lb,,,\n\
        ,,,,,\n\
        percale,navy,500 g,yes,,a,,,b\n\
        percale,,500 g,no,,{}\n\
        percale,navy,500 g,no,,,tartan\n\
        percale,navy,500 g,no,,,rose,12345g\n",
        "x".repeat(2001)
    );
    let page = look(&mut browser, &list).await.is(200);
    assert_eq!(page.all(".stat b"), ["1", "1 lb 1 1/2 oz", "7"]);
    let wanted: &[(&str, &[&str])] = &[
        ("4, kind", &["velvet", "percale"]),
        ("4, colour", &["plaid"]),
        ("4, washed", &["perhaps"]),
        ("4, sheets", &["0"]),
        ("4, weight", &["1.006 kg", "1006 kg"]),
        ("5, weight", &["1006", "unit"]),
        // Nothing stands there: what could is named.
        ("6, washed", &["yes", "no"]),
        ("6, weight", &["900 lb"]),
        ("8", &["9", "8"]),
        ("9, colour", &[]),
        ("9, note", &["2000"]),
        ("10, second_colour", &["tartan"]),
        ("11, second_hex", &["colour"]),
    ];
    let rows = wrong(&page);
    assert_eq!(rows.len(), wanted.len(), "{rows:#?}");
    for (row, (place, values)) in rows.iter().zip(wanted) {
        let why = row.strip_prefix(&format!("Line {place} "));
        assert_names(why.unwrap_or_else(|| panic!("{row} isn’t about {place}")), values);
    }
    let again = take(&mut browser, &page, &[]).await.is(422);
    assert!(again.error("leave_out").starts_with("Some rows are wrong."));
    assert_eq!((again.field("key"), again.field("list")), (page.field("key"), page.field("list")));
    take(&mut browser, &again, &[("leave_out", "yes")]).await.is(303);
    assert_eq!(browser.get("/cloth.csv").await.table().lines().count(), 2);
}

#[tokio::test]
async fn what_is_no_list_comes_back_at_its_field_with_what_was_typed() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let long = "x".repeat(2 * 1024 * 1024 + 1);
    let many = format!("{HEAD}\n{}", "percale,navy,1 lb,yes\n".repeat(10_001));
    let cases: &[(&str, &[&str])] = &[
        ("", &["file", "list"]),
        (" \n\n", &["file", "list"]),
        ("percale,navy,1 lb,yes\n", &["columns"]),
        ("kind,colour,weight,washed,shape\n", &["5", "shape"]),
        ("kind,colour,weight,washed,balance_g\n", &["weight", "balance_g"]),
        ("kind,colour\npercale,navy\n", &["weight", "washed"]),
        (HEAD, &["rows"]),
        (&many, &["10001", "10000"]),
    ];
    for &(list, values) in cases {
        let page = send_pasted(&mut browser, list).await.is(422);
        page.only_error_at("list");
        page.error_names("list", values);
        assert_eq!(page.one("textarea").split_whitespace().count(), list.split_whitespace().count());
    }
    let page = send_pasted(&mut browser, &long).await.is(422);
    assert!(page.error("list").contains("longer than 2 MB"));
    // UTF-16 that breaks off, a byte that Windows-1252 has no letter for, and the first bytes of a zipped spreadsheet.
    for (bytes, words) in [
        (&b"\xff\xfek\0i\0n\0d"[..], "isn’t a table"),
        (b"kind,colour\npercale,caf\xe9\x81\n", "isn’t a table"),
        (b"PK\x03\x04\x14\0\x06\0", "This spreadsheet can’t be read"),
    ] {
        let page = send_file(&mut browser, bytes).await.is(422);
        assert!(page.error("file").contains(words), "{bytes:?}");
    }
    let page = send_file(&mut browser, b"\n").await.is(422);
    assert_eq!(page.error("file"), "There is nothing in it.");
    let page = send_file(&mut browser, &vec![b'x'; 3 * 1024 * 1024]).await.is(413);
    assert_eq!(page.one("h1"), "That is too large");
    // A hand-made request for a list of nothing but wrong rows.
    let list = format!("{HEAD}\nvelvet,navy,1 lb,yes\n");
    let page = browser.post("/cloth/import", &[("do", "take"), ("list", &list), ("leave_out", "yes")]).await;
    assert!(page.is(422).one(".error-summary").contains("No row of this list can come in"));
    assert!(browser.get("/cloth").await.text.contains("The shelf is empty"));
}

/// Pasted text as our own page sends it.
async fn send_pasted(browser: &mut Browser, list: &str) -> Page {
    let body = format!(
        "--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"\"\r\n\r\n\r\n\
         --edge\r\nContent-Disposition: form-data; name=\"list\"\r\n\r\n{list}\r\n--edge--\r\n"
    );
    let request = browser
        .request("POST", "/cloth/import")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge");
    browser.send(request.body(Body::from(body)).unwrap()).await
}

#[tokio::test]
async fn spreadsheets_part_cells_as_they_please() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for mark in [",", ";", "\t"] {
        let list = format!("{HEAD},,\nflannel,Navy,1.5 lb,no,,\n").replace(',', mark);
        let page = look(&mut browser, &list).await.is(200);
        assert_eq!(page.all(".stat b"), ["1", "1 lb 8 oz", "0"], "{mark:?}");
    }
}

#[tokio::test]
async fn the_shelfs_own_table_comes_in_again() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for (weight, over) in [
        (
            "2 lb 3.5 oz",
            [("washed", "yes"), ("colour", "navy"), ("note", "=1+1, said \"so\""), ("sheets", "2")],
        ),
        (
            "1.234567 kg",
            [("washed", "no"), ("colour", "own"), ("own_hex", "#b0487c"), ("own_name", "Old rose")],
        ),
    ] {
        let mut fields = vec![("kind", "percale"), ("weight", weight)];
        fields.extend(over);
        if over[3].0 == "sheets" {
            fields.extend([("sheet_length", "96 in"), ("sheet_width", "66 1/4 in"), ("second", "white")]);
        }
        browser.post("/cloth/weigh-in", &fields).await.is(303);
    }
    let before = browser.get("/cloth.csv").await.table();
    let other = World::new().await;
    let (_, mut browser) = other.volunteer().await;
    let page = send_file(&mut browser, before.as_bytes()).await.is(200);
    assert_eq!(wrong(&page), [""; 0]);
    take(&mut browser, &page, &[]).await.is(303);
    let after = browser.get("/cloth.csv").await.table();
    // The newest stands first in a table, so each list turns the order round; the tags are new and the notes name the old.
    let rows = |table: &str| table.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
    let (before, mut after) = (rows(&before), rows(&after));
    after.reverse();
    assert_eq!(before.len(), after.len());
    for (before, after) in before.iter().zip(&after) {
        let (old, facts) = before.split_once(',').unwrap();
        let (_, again) = after.split_once(',').unwrap();
        let again =
            again.replace(&format!("Tag before: {old}. "), "").replace(&format!("Tag before: {old}."), "");
        assert_eq!(again, facts.replace('\'', ""));
    }
}

#[tokio::test]
async fn sheets_of_a_bundle_that_is_partly_used_are_not_counted() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = "kind,colour,balance_g,weighed_in_g,state,sheets\n\
        percale,navy,400,1000,ready,2\npercale,navy,1000,1000,washing,2\n";
    let page = look(&mut browser, list).await.is(200);
    let rows = page.all("section[aria-labelledby=good] tbody tr");
    assert!(rows[0].contains("Some of it is used up") && !rows[0].contains("2 sheets"), "{}", rows[0]);
    assert!(rows[1].contains("2 sheets") && rows[1].contains("It was in the wash"), "{}", rows[1]);
}

#[tokio::test]
async fn the_table_to_fill_in_can_be_taken_in() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let table = browser.get("/cloth/import.csv").await.is(200);
    assert!(table.headers[header::CONTENT_DISPOSITION].to_str().unwrap().contains("cloth-list.csv"));
    let page = look(&mut browser, &table.text).await.is(200);
    assert_eq!(page.all(".stat b"), ["1", "2 lb 3 1/2 oz", "0"]);
}

#[tokio::test]
async fn a_long_list_comes_in_whole() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = format!("{HEAD}\n{}", "percale,navy,1006 g,yes\n".repeat(5000));
    let page = look(&mut browser, &list).await.is(200);
    assert_eq!(page.all("section[aria-labelledby=good] tbody tr").len(), 100);
    assert!(page.text.contains("And 4900 more."));
    take(&mut browser, &page, &[]).await.is(303);
    assert_eq!(browser.get("/cloth").await.all(".stat b")[2], "5000");
    let station = browser.get("/cloth/weigh-in").await.is(200);
    assert!(station.all("#evening").is_empty(), "the evening at the scale is another matter");
    // Nothing stops another list with a key of its own.
    let other = RequestKey::new().to_string();
    let page = look(&mut browser, &format!("{HEAD}\npercale,navy,1 lb,no\n")).await.is(200);
    assert_ne!(page.field("key"), other);
    take(&mut browser, &page, &[("key", &other)]).await.is(303);
    assert_eq!(browser.get("/cloth").await.all(".stat b")[2], "5001");
}

#[tokio::test]
async fn the_shelfs_own_table_comes_in_again_as_a_spreadsheet_with_decimal_commas_saves_it() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = "kind,colour,weight,washed,sheets,sheet length,sheet width\npercale,navy,1006.408 g,yes,2,96 in,66 in\n\
                flannel,white,2.5 lb,no,,,\n";
    let page = look(&mut browser, list).await.is(200);
    take(&mut browser, &page, &[]).await.is(303);
    let table = browser.get("/cloth.csv").await.table();
    let rows = || table.lines().map(|row| row.split(',').collect::<Vec<_>>());
    assert!(rows().all(|row| row.len() == rows().next().unwrap().len()), "a cell holds a comma: {table}");
    // As such a spreadsheet does: points become commas, commas semicolons, in Windows-1252.
    let saved = format!("sep=;\r\n{}", table.replace('.', "\u{1}").replace(',', ";").replace('\u{1}', ","));
    let page = send_file(&mut browser, saved.as_bytes()).await.is(200);
    assert_eq!(wrong(&page), [""; 0]);
    assert_eq!(page.all(".stat b")[0], "2");
    take(&mut browser, &page, &[]).await.is(303);
    let again = browser.get("/cloth.csv").await.table();
    let mut weights: Vec<&str> = again.lines().skip(1).map(|row| row.split(',').nth(6).unwrap()).collect();
    weights.sort_unstable();
    // 2.5 lb is 1133.980925 g (international pound, 1959).
    assert_eq!(weights, ["1006.408", "1006.408", "1133.981", "1133.981"]);
}

#[tokio::test]
async fn crosses_and_whole_numbers_with_decimals_are_read_and_a_heavy_sheet_is_asked_about() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let list = "kind;colour;weight;washed;sheets\npercale;navy;1,5 kg;x;2,0\npercale;navy;2 lb;;1.0\npercale;navy;200 lb;TRUE;1\n\
                percale;navy;2 lb;y;\npercale;navy;2 lb;1;\n";
    let page = look(&mut browser, list).await.is(200);
    assert_eq!(wrong(&page), [""; 0]);
    let good = page.all("section[aria-labelledby=good] tbody tr");
    assert!(good[0].contains("3 lb 5") && good[0].contains("washed, ready"), "{good:?}");
    assert!(good[1].contains("not washed"), "an empty cell beside crosses says no: {good:?}");
    let asked: Vec<bool> = good.iter().map(|row| row.contains("is the weight right?")).collect();
    assert_eq!(asked, [false, false, true, false, false], "{good:?}");
    // Without crosses an empty cell says nothing.
    let page = look(&mut browser, "kind,colour,weight,washed\npercale,navy,2 lb,\n").await.is(200);
    assert_eq!(wrong(&page).len(), 1);
    // Half a spreadsheet.
    let page = send_file(&mut browser, b"PK\x03\x04\x14\0").await.is(422);
    assert!(page.error("file").contains("Save it as .xlsx or CSV"));
}
