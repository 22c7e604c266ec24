//! Backups: everything goes out and comes in again, on both databases and from one to the other; what is damaged doesn't.
mod commands;
mod opening;
mod rows;
mod schedule;

use std::io::{Read as _, Write as _};
use std::path::Path;

use thrumhall::backup::{Error, Manifest, Secrets, restore, write};
use thrumhall::cli::demo::fill;
use thrumhall::store::notices::receivers::ReceiverFields;
use thrumhall::store::{FILE_NAME, Filling, OpenError, Place, ReceiverId, Store, schema_version};
use zip::write::SimpleFileOptions;

use self::rows::all_rows;
use crate::support::{Database, actor, noon, on_both};

fn secret() -> String {
    "whsec_new".into()
}

/// A filled class with a receiver, whose secret is `whsec_old`; and texts that are easily spoiled on the way.
async fn filled(store: &Store) {
    fill(store, noon()).await.unwrap();
    let someone = store.read().await.unwrap().people().await.unwrap()[0].id;
    let mut tx = store.write(actor(someone)).await.unwrap();
    for name in [r"\N", "=1+1", "'tis", "two\r\nlines, \"quoted\"", "-", " né\u{301} "] {
        let fields = ReceiverFields {
            name: name.into(),
            url: "https://bridge.example/rugs".into(),
            contacts: false,
            paused: false,
        };
        tx.add_receiver(ReceiverId::new(), &fields, "whsec_old").await.unwrap();
    }
    tx.commit().await.unwrap();
}

on_both!(what_is_restored_on_either_database_is_what_was_there, |store| async move {
    filled(&store).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.zip");
    let written = write(&store, &file, noon(), Secrets::Included).await.unwrap();
    let before = all_rows(&store).await;
    let in_archive: Vec<(String, u64)> =
        written.manifest.tables.iter().map(|it| (it.table.name.clone(), it.rows)).collect();
    let there: Vec<(String, u64)> =
        before.iter().map(|(name, rows)| (name.clone(), rows.len() as u64)).collect();
    assert_eq!(in_archive, there, "every table with all its rows");
    assert!(
        there.iter().filter(|(_, rows)| *rows > 0).count() > 15,
        "the demo fills what rugs need: {there:?}"
    );

    let bare = Database::bare().await;
    let places =
        [Some(Place::Dir(folder.path().join("lite"))), bare.as_ref().map(|(_, place)| place.clone())];
    for place in places.into_iter().flatten() {
        let manifest = restore(&file, &place, noon(), secret).await.unwrap();
        assert_eq!(manifest, written.manifest);
        let other = Store::connect(&place).await.unwrap();
        assert_eq!(all_rows(&other).await, before, "{place}");
        let mut read = other.read().await.unwrap();
        assert_eq!(read.damage().await.unwrap(), Vec::<String>::new());
        assert_eq!(read.broken_invariants().await.unwrap(), Vec::<String>::new());
        drop(read);
        // What came in is as good as what went out: the same archive comes of it again.
        let again = folder.path().join(format!("{}.zip", matches!(place, Place::Dir(_))));
        let again = write(&other, &again, noon(), Secrets::Included).await.unwrap();
        assert_eq!(again.manifest, written.manifest);
        other.close().await;
        let error = restore(&file, &place, noon(), secret).await.unwrap_err();
        assert!(matches!(error, Error::Open(OpenError::Taken(_))), "{error}");
    }
});

on_both!(without_its_secrets_each_receiver_gets_a_new_one_and_is_paused, |store| async move {
    filled(&store).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.zip");
    write(&store, &file, noon(), Secrets::LeftOut).await.unwrap();
    let text = entry(&file, "tables/receiver.csv");
    assert!(text.contains("bridge.example") && !text.contains("whsec"), "{text}");
    let place = Place::Dir(folder.path().join("new"));
    restore(&file, &place, noon(), secret).await.unwrap();
    let other = Store::connect(&place).await.unwrap();
    let receivers = other.read().await.unwrap().receivers().await.unwrap();
    assert_eq!(receivers.len(), 6);
    assert!(receivers.iter().all(|it| it.paused && it.secret == "whsec_new"));
});

/// The text of a file in an archive.
fn entry(file: &Path, name: &str) -> String {
    let mut zip = zip::ZipArchive::new(std::fs::File::open(file).unwrap()).unwrap();
    let mut text = String::new();
    zip.by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

/// The same archive with one file's text changed.
fn altered(from: &Path, to: &Path, which: &str, change: impl Fn(&str) -> String) {
    let mut old = zip::ZipArchive::new(std::fs::File::open(from).unwrap()).unwrap();
    let mut new = zip::ZipWriter::new(std::fs::File::create(to).unwrap());
    for i in 0..old.len() {
        let mut file = old.by_index(i).unwrap();
        let (name, mut text) = (file.name().unwrap().into_owned(), String::new());
        file.read_to_string(&mut text).unwrap();
        let text = if name == which { change(&text) } else { text };
        new.start_file(name, SimpleFileOptions::default()).unwrap();
        new.write_all(text.as_bytes()).unwrap();
    }
    new.finish().unwrap();
}

/// Where the middle of a file's bytes stands in an archive: after the 30 bytes of its local header, its name and what else is said
/// there (PKWARE APPNOTE 6.3.10, 4.3.7).
fn middle_of(archive: &[u8], name: &str) -> usize {
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(archive)).unwrap();
    let file = zip.by_name(name).unwrap();
    let header = file.header_start() as usize;
    let length =
        |at: usize| usize::from(u16::from_le_bytes([archive[header + at], archive[header + at + 1]]));
    header + 30 + length(26) + length(28) + file.compressed_size() as usize / 2
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_whole_leaves_nothing_behind() {
    let database = Database::lite().await;
    filled(&database.store).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.zip");
    write(&database.store, &file, noon(), Secrets::Included).await.unwrap();
    let error = write(&database.store, &file, noon(), Secrets::Included).await.unwrap_err();
    assert!(matches!(error, Error::Exists(_)), "{error}");
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|it| it.unwrap().file_name()).collect();
    assert_eq!(left, ["all.zip"], "nothing passing stays");

    let bytes = std::fs::read(&file).unwrap();
    let bad = |name: &str| folder.path().join(name);
    std::fs::write(bad("short.zip"), &bytes[..bytes.len() / 2]).unwrap();
    std::fs::write(bad("other.zip"), "no archive at all").unwrap();
    std::fs::write(bad("empty.zip"), "").unwrap();
    // A flipped bit in the middle of a table.
    let mut flipped = bytes.clone();
    flipped[middle_of(&bytes, "tables/cloth_entry.csv")] ^= 1;
    std::fs::write(bad("flipped.zip"), flipped).unwrap();
    altered(&file, &bad("changed.zip"), "tables/frame.csv", |text| text.replace("\"S2\"", "\"S9\""));
    altered(&file, &bad("less.zip"), "tables/rug_log_left.csv", |text| {
        text.lines().next().unwrap().to_owned() + "\r\n"
    });
    altered(&file, &bad("lost.zip"), "tables/person.csv", |text| {
        text.split_inclusive("\r\n").take(2).collect::<String>()
    });
    altered(&file, &bad("word.zip"), "tables/rod.csv", |text| text.replace("\"1\"", "\"one\""));
    for name in ["short", "other", "empty", "flipped", "changed", "less", "lost", "word"] {
        let dir = folder.path().join(name);
        let place = Place::Dir(dir.clone());
        let error = restore(&bad(&format!("{name}.zip")), &place, noon(), secret).await.unwrap_err();
        assert!(!error.to_string().is_empty());
        assert!(!dir.exists() || std::fs::read_dir(&dir).unwrap().next().is_none(), "{name}: {error}");
    }

    altered(&file, &bad("newer.zip"), "contents.json", |text| {
        text.replace(&format!("\"schema\": {}", schema_version()), "\"schema\": 9999")
    });
    let place = Place::Dir(folder.path().join("newer"));
    let error = restore(&bad("newer.zip"), &place, noon(), secret).await.unwrap_err();
    assert!(matches!(error, Error::Newer { .. }), "{error}");
    database.drop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_backup_of_an_older_version_comes_in_and_is_brought_up_to_date() {
    let folder = tempfile::tempdir().unwrap();
    let old = Filling::begin(&Place::Dir(folder.path().join("old")), 14).await.unwrap();
    let file = folder.path().join("old.zip");
    let Store::Sqlite(pool) = old.store() else { unreachable!() };
    sqlx::query("INSERT INTO workroom (id, name, time_zone, units, made_at) VALUES ('workroom', 'Loft', 'UTC', 'inches', 0)")
        .execute(pool)
        .await
        .unwrap();
    let written = write(old.store(), &file, noon(), Secrets::LeftOut).await.unwrap();
    assert_eq!(written.manifest.schema, 14);
    assert!(!entry(&file, "schema.sql").contains("backup_run"));
    let place = Place::Dir(folder.path().join("new"));
    let Manifest { schema, .. } = restore(&file, &place, noon(), secret).await.unwrap();
    assert_eq!(schema, 14);
    let new = Store::connect(&place).await.unwrap();
    assert_eq!(new.read().await.unwrap().workroom().await.unwrap().unwrap().name, "Loft");
    new.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_crash_left_beside_a_lost_file_does_not_get_into_the_restored_one() {
    let database = Database::lite().await;
    filled(&database.store).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.zip");
    write(&database.store, &file, noon(), Secrets::Included).await.unwrap();
    let before = all_rows(&database.store).await;
    // The log of changes as it is while the program runs, without the file that it belongs to.
    let dir = folder.path().join("crashed");
    std::fs::create_dir(&dir).unwrap();
    let running = database.file().unwrap();
    for end in ["-wal", "-shm"] {
        let name = |file: &Path| format!("{}{end}", file.display());
        let from = name(&running);
        assert!(Path::new(&from).metadata().unwrap().len() > 0, "{from} is there while the program runs");
        std::fs::copy(from, name(&dir.join(FILE_NAME))).unwrap();
    }
    let place = Place::Dir(dir.clone());
    restore(&file, &place, noon(), secret).await.unwrap();
    let store = Store::connect(&place).await.unwrap();
    assert_eq!(store.read().await.unwrap().damage().await.unwrap(), Vec::<String>::new());
    assert_eq!(all_rows(&store).await, before);
    store.close().await;
    database.drop().await;
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread")]
async fn nobody_else_can_read_the_files() {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("deep/data");
    let store = Store::open(&Place::Dir(dir.clone())).await.unwrap();
    fill(&store, noon()).await.unwrap();
    let file = folder.path().join("all.zip");
    write(&store, &file, noon(), Secrets::LeftOut).await.unwrap();
    assert_eq!((mode(&dir), mode(&dir.join("..")), mode(&file)), (0o700, 0o700, 0o600));
    let all: Vec<_> = std::fs::read_dir(&dir).unwrap().map(|it| it.unwrap().path()).collect();
    assert!(all.len() >= 3, "the log of changes is there: {all:?}");
    assert!(all.iter().all(|path| mode(path) == 0o600), "{all:?}");
    store.close().await;
    // What an older version left open is closed.
    for (path, open) in [(dir.clone(), 0o755), (dir.join(FILE_NAME), 0o644)] {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(open)).unwrap();
    }
    Store::open(&Place::Dir(dir.clone())).await.unwrap().close().await;
    assert_eq!((mode(&dir), mode(&dir.join(FILE_NAME))), (0o700, 0o600));
}

/// A large workroom takes longer than a page may: the limit for those doesn't end its backup.
#[tokio::test(flavor = "multi_thread")]
async fn the_time_that_a_statement_of_a_page_may_take_ends_no_backup() {
    let Some(database) = Database::pg().await else { return };
    filled(&database.store).await;
    let Store::Pg(pool) = &database.store else { panic!("it is PostgreSQL") };
    let hurried = (*pool.connect_options()).clone().options([("statement_timeout", "1ms")]);
    let pool = sqlx::postgres::PgPoolOptions::new().max_connections(1).connect_with(hurried).await.unwrap();
    let store = Store::Pg(pool);
    let folder = tempfile::tempdir().unwrap();
    write(&store, &folder.path().join("all.zip"), noon(), Secrets::LeftOut).await.unwrap();
    store.close().await;
}
