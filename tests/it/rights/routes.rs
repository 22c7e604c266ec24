//! Whose each route is: a new one fails the test until it stands here.
use thrumhall::web::table;

use super::class::Class;

/// To whom a route shows what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// The same for everybody, and nobody's.
    Public,
    /// Anyone who has the secret in its address.
    Secret,
    /// Anyone who is signed in, and then only what is theirs or the shelf.
    Own,
    /// A rug or a loan: its weaver, and those who run the class.
    OwnThing,
    /// Volunteers and instructors.
    Staff,
    /// Instructors.
    Instructor,
    /// Whoever stands before a tablet at the scale, and nobody who is signed in: `web::tablets`.
    Tablet,
}

use Whose::{Instructor, Own, OwnThing, Public, Secret, Staff, Tablet};

const ROUTES: &[(Whose, &str, &[&str])] = &[
    (
        Public,
        "GET",
        &[
            "/",
            "/cautions",
            "/healthz",
            "/readyz",
            "/setup/{token}",
            "/sign-in",
            "/static/{*path}",
            "/what-is-kept",
        ],
    ),
    (Public, "POST", &["/setup/{token}", "/setup/{token}/strength", "/sign-in", "/sign-out"]),
    // The second step has nobody behind it but the half-way sign-in in its own cookie.
    (Public, "GET", &["/let-in/{token}", "/sign-in/second-step"]),
    (Public, "POST", &["/let-in/{token}", "/sign-in/passkey", "/sign-in/passkey/begin"]),
    (Public, "POST", &["/sign-in/second-step", "/sign-in/second-step/passkey"]),
    (Tablet, "GET", &["/cloth/weigh-in/names"]),
    (Tablet, "POST", &["/cloth/weigh-in/names/end"]),
    (Secret, "GET", &["/calendar/{token}", "/enter/{token}"]),
    (Secret, "POST", &["/enter/{token}"]),
    (
        Own,
        "GET",
        &[
            "/cloth",
            "/cloth/colours",
            "/cloth/colours.pdf",
            "/find",
            "/guide/stepper",
            "/me",
            "/me/data.json",
            "/my",
            "/rugs/any-size",
            "/rugs/any-size/sewing",
            "/rugs/any-size/sewing.pdf",
            "/rugs/any-size/worked",
            "/rugs/new",
            "/rugs/rests",
            "/rugs/suggest",
        ],
    ),
    (
        Own,
        "POST",
        &[
            "/me",
            "/me/calendar",
            "/me/sessions/end",
            "/me/sessions/end-all",
            "/my/coming",
            "/rugs",
            "/rugs/any-size",
        ],
    ),
    (
        OwnThing,
        "GET",
        &[
            "/loans/{id}",
            "/loans/{id}/slip.pdf",
            "/rugs/{id}",
            "/rugs/{id}/booklet",
            "/rugs/{id}/booklet.pdf",
            "/rugs/{id}/card",
            "/rugs/{id}/card.pdf",
            "/rugs/{id}/care.pdf",
            "/rugs/{id}/cloth",
            "/rugs/{id}/count",
            "/rugs/{id}/edit",
            "/rugs/{id}/exhibition",
            "/rugs/{id}/exhibition.pdf",
            "/rugs/{id}/finish",
            "/rugs/{id}/first-row",
            "/rugs/{id}/first-row.pdf",
            "/rugs/{id}/guide",
            "/rugs/{id}/log",
            "/rugs/{id}/reading",
            "/rugs/{id}/reading.pdf",
            "/rugs/{id}/sheets",
            "/rugs/{id}/sheets.pdf",
            "/rugs/{id}/stepper",
            "/rugs/{id}/tally",
            "/rugs/{id}/tally.pdf",
            "/rugs/{id}/tape.pdf",
            "/rugs/{id}/way",
            "/rugs/{id}/worked",
        ],
    ),
    (
        OwnThing,
        "POST",
        &[
            "/rugs/{id}",
            "/rugs/{id}/cloth",
            "/rugs/{id}/finish",
            "/rugs/{id}/log",
            "/rugs/{id}/log/undo",
            "/rugs/{id}/note",
            "/rugs/{id}/rows",
            "/rugs/{id}/state",
        ],
    ),
    (
        Staff,
        "GET",
        &[
            "/b/{tag}",
            "/cloth.csv",
            "/cloth/count",
            "/cloth/count/{id}",
            "/cloth/count/{id}/close",
            "/cloth/count/{id}/list",
            "/cloth/count/{id}/list.pdf",
            "/cloth/import",
            "/cloth/import.csv",
            "/cloth/sheets",
            "/cloth/sheets.pdf",
            "/cloth/tags",
            "/cloth/tags.pdf",
            "/cloth/weigh-in",
            "/cloth/weigh-in/sheet",
            "/cloth/weigh-in/sheet.pdf",
            "/cloth/went",
            "/cloth/went.csv",
            "/cloth/{id}",
            "/cloth/{id}/correct",
            "/frames",
            "/frames.csv",
            "/frames/build",
            "/frames/build/template.pdf",
            "/frames/tags",
            "/frames/tags.pdf",
            "/frames/{id}",
            "/frames/{id}/template.pdf",
            "/loans",
            "/loans.csv",
            "/meetings/{id}/attendance",
            "/me/passphrase",
            "/me/second-factor",
            "/me/second-factor/codes",
            "/promises/{id}",
            "/pull",
            "/pull.pdf",
            "/rods",
            "/rods/buy",
            "/rods/{id}",
            "/rugs",
            "/terms/{id}/attendance",
            "/terms/{id}/attendance.pdf",
            "/terms/{id}/cards.pdf",
            "/terms/{id}/care.pdf",
            "/terms/{id}/exhibition",
            "/terms/{id}/exhibition.pdf",
            "/terms/{id}/log-sheet",
            "/terms/{id}/log-sheet.pdf",
            "/terms/{id}/timetable",
            "/terms/{id}/wall.pdf",
        ],
    ),
    (
        Staff,
        "POST",
        &[
            "/cloth/count",
            "/cloth/count/{id}/close",
            "/cloth/count/{id}/line",
            "/cloth/import",
            "/cloth/weigh-in",
            "/cloth/{id}/count",
            "/cloth/{id}/correct",
            "/cloth/{id}/cut",
            "/cloth/{id}/pull",
            "/cloth/{id}/put-back",
            "/cloth/{id}/place",
            "/cloth/{id}/scrap",
            "/cloth/{id}/state",
            "/cloth/{id}/undo",
            "/meetings/{id}/attendance",
            "/me/passphrase",
            "/me/passphrase/strength",
            "/me/second-factor/codes",
            "/me/second-factor/codes/confirm",
            "/me/second-factor/codes/remove",
            "/me/second-factor/passkeys",
            "/me/second-factor/passkeys/begin",
            "/me/second-factor/passkeys/{id}/remove",
            "/me/second-factor/recovery",
            "/promises/{id}/back",
            "/promises/{id}/pull",
            "/pull",
        ],
    ),
    (
        Instructor,
        "GET",
        &[
            "/frames/new",
            "/frames/{id}/edit",
            "/frames/{id}/hand-out",
            "/loans/{id}/take-back",
            "/look",
            "/messages",
            "/notices",
            "/notices/receivers/new",
            "/notices/receivers/{id}",
            "/people",
            "/people/links",
            "/people/many",
            "/people/new",
            "/people/{id}",
            "/people/{id}/data.json",
            "/people/{id}/erase",
            "/people/{id}/second-factor",
            "/record",
            "/record.csv",
            "/rods/new",
            "/rugs/{id}/hand-out",
            "/share-out",
            "/share-out/{id}",
            "/share-out/{id}/choose/{number}",
            "/tablets",
            "/terms",
            "/terms/new",
            "/terms/{id}",
            "/terms/{id}/close",
            "/terms/{id}/designs",
            "/terms/{id}/edit",
            "/terms/{id}/timetable/new",
            "/terms/{id}/turns",
            "/today",
            "/tonight",
            "/tonight.pdf",
            "/workroom",
            "/workroom/backups",
        ],
    ),
    (
        Instructor,
        "POST",
        &[
            "/frames",
            "/frames/{id}",
            "/frames/{id}/hand-out",
            "/frames/{id}/restore",
            "/frames/{id}/retire",
            "/loans/{id}/due",
            "/loans/{id}/take-back",
            "/meetings/{id}/off",
            "/meetings/{id}/on",
            "/messages/told",
            "/notices/deliveries/{id}/again",
            "/notices/deliveries/{id}/told",
            "/notices/receivers",
            "/notices/receivers/{id}",
            "/notices/receivers/{id}/remove",
            "/notices/receivers/{id}/secret",
            "/notices/receivers/{id}/try",
            "/people",
            "/people/links",
            "/people/many",
            "/people/{id}",
            "/people/{id}/enrol",
            "/people/{id}/erase",
            "/people/{id}/note",
            "/people/{id}/leave",
            "/people/{id}/link",
            "/people/{id}/passphrase",
            "/people/{id}/second-factor/remove",
            "/promises/{id}/release",
            "/rods",
            "/rods/{id}",
            "/rods/{id}/count",
            "/rugs/{id}/hand-out",
            "/rugs/{id}/pattern",
            "/share-out",
            "/share-out/{id}/accept",
            "/share-out/{id}/again",
            "/share-out/{id}/choose/{number}",
            "/share-out/{id}/drop",
            "/share-out/{id}/stop",
            "/tablets",
            "/tablets/{id}/end",
            "/terms",
            "/terms/{id}",
            "/terms/{id}/absences",
            "/terms/{id}/close",
            "/terms/{id}/designs",
            "/terms/{id}/enrol",
            "/terms/{id}/go-on",
            "/terms/{id}/meetings",
            "/terms/{id}/open",
            "/terms/{id}/timetable",
            "/terms/{id}/timetable/lock",
            "/terms/{id}/timetable/told",
            "/terms/{id}/turns",
            "/terms/{id}/waiting",
            "/terms/{id}/withdraw",
            "/workroom",
        ],
    ),
];

/// Every route with one method, and whose it is.
pub fn routes(method: &str) -> impl Iterator<Item = (Whose, &'static str)> {
    let of_method = ROUTES.iter().filter(move |(_, known, _)| *known == method);
    of_method.flat_map(|(whose, _, paths)| paths.iter().map(|path| (*whose, *path)))
}

/// Whose the route is that an address leads to.
pub fn whose(method: &str, address: &str) -> Option<Whose> {
    let path = address.split(['?', '#']).next().unwrap();
    let fits = |route: &&str| {
        let (mut known, mut asked) = (route.split('/'), path.split('/'));
        loop {
            match (known.next(), asked.next()) {
                (None, None) => return true,
                (Some("{*path}"), Some(_)) => return true,
                (Some(a), Some(b)) if a == b || a.starts_with('{') => {}
                _ => return false,
            }
        }
    };
    // A path written out goes before one with a place in it, as in the router.
    let found =
        routes(method).filter(|(_, route)| fits(route)).min_by_key(|(_, route)| route.matches('{').count());
    found.map(|(whose, _)| whose)
}

/// The addresses of a route in this class: one for each thing it could be asked for, with the mark of whose that is.
pub fn addresses(class: &Class, route: &str) -> Vec<(Option<&'static str>, String)> {
    if !route.contains('{') {
        return vec![(None, route.to_owned())];
    }
    let nobodys = |id: &str| vec![(None, id.to_owned())];
    let weavers = [&class.ana, &class.bea, &class.cleo, &class.dora];
    let all = |ids: fn(&super::class::Weaver) -> &[String]| {
        let of = weavers.iter().flat_map(|one| ids(one).iter().map(|id| (Some(one.mark), id.clone())));
        of.collect::<Vec<_>>()
    };
    let things = match route.split('/').nth(1).unwrap() {
        "rugs" => all(|one| &one.rugs),
        "loans" => all(|one| &one.loans),
        "people" => all(|one| std::slice::from_ref(&one.id)),
        "promises" => [&class.ana, &class.bea].map(|one| (Some(one.mark), one.promise.clone())).to_vec(),
        "terms" => nobodys(&class.term),
        "meetings" => nobodys(&class.meeting),
        "frames" => nobodys(&class.frame),
        "rods" => nobodys(&class.rod),
        "cloth" if route.starts_with("/cloth/count") => nobodys(&class.count),
        "cloth" => nobodys(&class.bundle),
        "b" => nobodys("1"),
        "share-out" => nobodys(&class.share_out),
        "notices" if route.contains("receivers") => nobodys(&class.receiver),
        "notices" => nobodys(&class.delivery),
        "tablets" => nobodys(&class.tablet),
        "static" => nobodys("style.css"),
        _ => nobodys("no-such-secret"),
    };
    let fill = |id: &str| {
        let route = route.replace("{id}", id).replace("{token}", id).replace("{*path}", id);
        route.replace("{number}", "1").replace("{tag}", id)
    };
    things.into_iter().map(|(whose, id)| (whose, fill(&id))).collect()
}

#[test]
fn every_route_says_whose_it_is() {
    let mut there: Vec<String> =
        table().iter().map(|route| format!("{} {}", route.method, route.path)).collect();
    let mut said: Vec<String> = ["GET", "POST"]
        .into_iter()
        .flat_map(|method| routes(method).map(move |(_, path)| format!("{method} {path}")))
        .collect();
    there.sort();
    said.sort();
    let missing: Vec<_> = there.iter().filter(|route| !said.contains(route)).collect();
    assert!(missing.is_empty(), "whose is {missing:?}? Say so in ROUTES");
    let gone: Vec<_> = said.iter().filter(|route| !there.contains(route)).collect();
    assert!(gone.is_empty(), "no such route: {gone:?}");
    assert_eq!(there.len(), said.len(), "a route stands twice in ROUTES");
}
