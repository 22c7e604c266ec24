//! Faults in the ledger of cloth. Most are bundles that the program never made, so that only one thing is wrong with each.
use super::Fault;

const SUM: &str = "a bundle's balance is not the sum of its entries";
const NEGATIVE: &str = "a bundle's balance is negative";
const GAP: &str = "a bundle's ledger has a gap";
const CHAIN: &str = "a ledger entry doesn't follow from the one before it";
const REVERSAL: &str = "a reversal doesn't cancel what it reverses";
const UNWASHED: &str = "cloth was pulled or cut from a bundle that isn't washed";
const CUT: &str = "what was cut from a bundle is not what its strips weighed";
const ONE_SIDE: &str = "a cut is undone on one side alone";
const BEGINS: &str = "a lot of strips doesn't begin with a cut";

fn bundle(id: &str, state: &str, made_from: &str, (entries, balance): (i64, i64)) -> String {
    format!(
        "INSERT INTO bundle (id, tag, kind, colour_name, colour_hex, colour_family, state, words, note_words, balance_mg,
             entries, made_at, made_from)
         VALUES ('{id}', -1, 'percale', 'Navy', '#22305a', 'blue', '{state}', '', '', {balance}, {entries}, 1, {made_from})"
    )
}

/// The entry `a2` of the bundle `a`: before, by how much, after.
fn entry(id: &str, [before, change, after]: [i64; 3], reason: &str, names: &str) -> String {
    let (bundle, seq) = id.split_at(1);
    let before_it = seq.parse::<i64>().unwrap() - 1;
    let (also, value) = match names.split_once(' ') {
        None => (String::new(), String::new()),
        Some((column, other)) => (format!(", {column}"), format!(", '{other}'")),
    };
    format!(
        "INSERT INTO cloth_entry (id, bundle_id, seq, prev_seq, before_mg, change_mg, after_mg, reason, at, person_id,
             request_key{also})
         VALUES ('{id}', '{bundle}', {seq}, NULLIF({before_it}, 0), {before}, {change}, {after}, '{reason}', 1,
             (SELECT MIN(id) FROM person), '{id}'{value})"
    )
}

fn fault(question: &'static str, what: &'static str, done: &[String], rows: &'static str) -> Fault {
    Fault { question, what, done: done.to_vec(), rows, also: None }
}

const A: &str = "SELECT id FROM bundle WHERE id = 'a'";

fn weighed(id: &str) -> String {
    entry(id, [0, 1000, 1000], "weighed in", "")
}

pub fn faults() -> Vec<Fault> {
    let mut all = balances();
    all.extend(chains());
    all.extend(reversals());
    all.extend(unwashed());
    all.extend(cuts());
    all.extend(cuts_of_one_side());
    all
}

fn balances() -> Vec<Fault> {
    let (sound, ready) = ("NULL", "ready");
    let tampered =
        |by: &str| vec![format!("UPDATE bundle SET balance_mg = balance_mg {by} WHERE note = 'put back'")];
    let row = "SELECT id FROM bundle WHERE note = 'put back'";
    let scrapped = entry("a2", [1000, -1001, -1], "scrap", "");
    vec![
        fault(SUM, "a milligram too much", &tampered("+ 1"), row),
        fault(SUM, "a milligram too little", &tampered("- 1"), row),
        fault(SUM, "cloth that never came in", &[bundle("a", ready, sound, (0, 5))], A),
        // The sum of entries that follow from each other is the weight after the last: a negative one breaks the chain too.
        Fault {
            also: Some(CHAIN),
            ..fault(
                NEGATIVE,
                "by the entries",
                &[bundle("a", ready, sound, (2, -1)), weighed("a1"), scrapped],
                A,
            )
        },
        fault(
            GAP,
            "the first is gone, the last has the right number",
            &[bundle("a", ready, sound, (2, 1000)), entry("a2", [0, 1000, 1000], "weighed in", "")],
            A,
        ),
        fault(
            GAP,
            "as many as there should be, one in the middle is gone",
            &[bundle("a", ready, sound, (2, 1500)), weighed("a1"), entry("a3", [0, 500, 500], "count", "")],
            A,
        ),
        fault(
            GAP,
            "one more is counted than there is",
            &[bundle("a", ready, sound, (2, 1000)), weighed("a1")],
            A,
        ),
        fault(
            GAP,
            "one fewer is counted than there is",
            &[bundle("a", ready, sound, (0, 1000)), weighed("a1")],
            A,
        ),
        fault(GAP, "one is counted and none there", &[bundle("a", ready, sound, (1, 0))], A),
    ]
}

fn chains() -> Vec<Fault> {
    let (first, second) =
        ("SELECT id FROM cloth_entry WHERE id = 'a1'", "SELECT id FROM cloth_entry WHERE id = 'a2'");
    let begins = |entries, balance| bundle("a", "ready", "NULL", (entries, balance));
    vec![
        fault(
            CHAIN,
            "the sum is wrong",
            &[begins(1, 1000), entry("a1", [0, 1000, 900], "weighed in", "")],
            first,
        ),
        fault(
            CHAIN,
            "less than nothing was left for a while",
            &[begins(2, 0), entry("a1", [0, -5, -5], "scrap", ""), entry("a2", [-5, 5, 0], "count", "")],
            first,
        ),
        fault(
            CHAIN,
            "not what was left before",
            &[begins(2, 900), weighed("a1"), entry("a2", [900, -100, 800], "scrap", "")],
            second,
        ),
        fault(
            CHAIN,
            "the first begins with something",
            &[begins(1, 1000), entry("a1", [5, 1000, 1005], "weighed in", "")],
            first,
        ),
    ]
}

fn reversals() -> Vec<Fault> {
    let scrapped = entry("a2", [1000, -300, 700], "scrap", "");
    let begins = |entries, balance| {
        [bundle("a", "ready", "NULL", (entries, balance)), weighed("a1"), scrapped.clone()]
    };
    let less = entry("a3", [700, 200, 900], "reversal", "reverses a2");
    let more = entry("a3", [700, 400, 1100], "reversal", "reverses a2");
    let third = "SELECT id FROM cloth_entry WHERE id = 'a3'";
    let elsewhere = [
        bundle("b", "ready", "NULL", (2, 1300)),
        weighed("b1"),
        entry("b2", [1000, 300, 1300], "reversal", "reverses a2"),
    ];
    vec![
        fault(REVERSAL, "too little comes back", &[&begins(3, 900)[..], &[less]].concat(), third),
        fault(REVERSAL, "too much comes back", &[&begins(3, 1100)[..], &[more]].concat(), third),
        fault(
            REVERSAL,
            "in another bundle",
            &[&begins(2, 700)[..], &elsewhere].concat(),
            "SELECT id FROM cloth_entry WHERE id = 'b2'",
        ),
    ]
}

fn unwashed() -> Vec<Fault> {
    let pulled = |state| {
        [bundle("a", state, "NULL", (2, 700)), weighed("a1"), entry("a2", [1000, -300, 700], "pulled", "")]
    };
    let one_of_two = [
        bundle("a", "washing", "NULL", (4, 900)),
        weighed("a1"),
        entry("a2", [1000, -300, 700], "pulled", ""),
        entry("a3", [700, 300, 1000], "reversal", "reverses a2"),
        entry("a4", [1000, -100, 900], "pulled", ""),
    ];
    let cut = vec!["UPDATE bundle SET state = 'washing' WHERE note = 'cut'".to_owned()];
    let strips = vec!["UPDATE bundle SET state = 'arrived' WHERE note = 'strips'".to_owned()];
    vec![
        fault(UNWASHED, "pulled as it came", &pulled("arrived"), A),
        fault(UNWASHED, "pulled in the wash", &pulled("washing"), A),
        fault(UNWASHED, "of two pulls one is undone", &one_of_two, A),
        fault(UNWASHED, "cut in the wash", &cut, "SELECT id FROM bundle WHERE note = 'cut'"),
        fault(UNWASHED, "strips of it not washed", &strips, "SELECT id FROM bundle WHERE note = 'strips'"),
    ]
}

/// A bundle of 1000 of which 400 were taken, and a lot of strips made from something.
fn taken(reason: &str, made_from: &str, lot: (i64, i64)) -> [String; 4] {
    [
        bundle("a", "ready", "NULL", (2, 600)),
        weighed("a1"),
        entry("a2", [1000, -400, 600], reason, ""),
        bundle("s", "ready", made_from, lot),
    ]
}

fn cuts() -> Vec<Fault> {
    let strips = |id: &str, change| entry(id, [0, change, change], "cut", "cut_entry a2");
    let both = "SELECT id FROM cloth_entry WHERE id IN ('a2', 's1')";
    let lot = "SELECT id FROM cloth_entry WHERE id = 's1'";
    let alone = [bundle("s", "ready", "'a'", (1, 400)), entry("s1", [0, 400, 400], "cut", "")];
    vec![
        fault(
            CUT,
            "no strips came of it",
            &taken("cut", "'a'", (0, 0))[..3],
            "SELECT id FROM cloth_entry WHERE id = 'a2'",
        ),
        fault(CUT, "strips of nothing", &alone, lot),
        fault(
            CUT,
            "strips of what was scrapped",
            &[&taken("scrap", "'a'", (1, 400))[..], &[strips("s1", 400)]].concat(),
            lot,
        ),
        fault(
            CUT,
            "strips weigh less",
            &[&taken("cut", "'a'", (1, 399))[..], &[strips("s1", 399)]].concat(),
            both,
        ),
        fault(
            CUT,
            "strips weigh more",
            &[&taken("cut", "'a'", (1, 401))[..], &[strips("s1", 401)]].concat(),
            both,
        ),
        fault(
            CUT,
            "made from nothing",
            &[
                &taken("cut", "NULL", (2, 500))[..],
                &[
                    entry("s1", [0, 100, 100], "weighed in", ""),
                    entry("s2", [100, 400, 500], "cut", "cut_entry a2"),
                ],
            ]
            .concat(),
            "SELECT id FROM cloth_entry WHERE id IN ('a2', 's2')",
        ),
        fault(
            CUT,
            "made from another bundle",
            &[
                &taken("cut", "(SELECT id FROM bundle WHERE note = 'cut')", (1, 400))[..],
                &[strips("s1", 400)],
            ]
            .concat(),
            both,
        ),
        fault(
            BEGINS,
            "with a weigh-in",
            &[bundle("s", "ready", "'a'", (1, 1000)), weighed("s1")],
            "SELECT id FROM bundle WHERE id = 's'",
        ),
        // What begins with a cut and was made from nothing isn't what its strips weighed, either: a first entry adds, and
        // the bundle that a cut adds to is the one that must say what it was made from.
        Fault {
            also: Some(CUT),
            ..fault(
                BEGINS,
                "a bundle begins with a cut",
                &[&taken("cut", "NULL", (1, 400))[..], &[strips("s1", 400)]].concat(),
                "SELECT id FROM bundle WHERE id = 's'",
            )
        },
    ]
}

fn cuts_of_one_side() -> Vec<Fault> {
    let cut = [
        weighed("a1"),
        entry("a2", [1000, -400, 600], "cut", ""),
        entry("s1", [0, 400, 400], "cut", "cut_entry a2"),
    ];
    let first = "SELECT id FROM cloth_entry WHERE id = 'a2'";
    let ends = |a, s| [bundle("a", "ready", "NULL", a), bundle("s", "ready", "'a'", s)];
    let back = entry("a3", [600, 400, 1000], "reversal", "reverses a2");
    let gone = entry("s2", [400, -400, 0], "reversal", "reverses s1");
    vec![
        fault(
            ONE_SIDE,
            "the cloth is back, the strips are there",
            &[&ends((3, 1000), (1, 400))[..], &cut, &[back]].concat(),
            first,
        ),
        fault(
            ONE_SIDE,
            "the strips are gone, the cloth isn't back",
            &[&ends((2, 600), (2, 0))[..], &cut, &[gone]].concat(),
            first,
        ),
    ]
}
