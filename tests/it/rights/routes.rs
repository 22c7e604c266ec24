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
}

use Whose::{Instructor, Own, OwnThing, Public, Secret, Staff};

const ROUTES: &[(Whose, &str, &[&str])] = &[
    (Public, "GET", &["/", "/cautions", "/healthz", "/setup/{token}", "/sign-in", "/static/{*path}"]),
    (Public, "POST", &["/setup/{token}", "/sign-in", "/sign-out"]),
    (Secret, "GET", &["/calendar/{token}", "/enter/{token}"]),
    (Own, "GET", &["/cloth", "/me", "/my", "/rugs/any-size", "/rugs/any-size/worked", "/rugs/new"]),
    (Own, "POST", &["/me", "/me/calendar", "/rugs", "/rugs/any-size"]),
    (
        OwnThing,
        "GET",
        &[
            "/loans/{id}",
            "/loans/{id}/slip.pdf",
            "/rugs/{id}",
            "/rugs/{id}/card",
            "/rugs/{id}/card.pdf",
            "/rugs/{id}/care.pdf",
            "/rugs/{id}/cloth",
            "/rugs/{id}/edit",
            "/rugs/{id}/finish",
            "/rugs/{id}/log",
            "/rugs/{id}/reading",
            "/rugs/{id}/reading.pdf",
            "/rugs/{id}/sheets",
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
            "/rugs/{id}/state",
        ],
    ),
    (
        Staff,
        "GET",
        &[
            "/cloth.csv",
            "/cloth/count",
            "/cloth/count/{id}",
            "/cloth/count/{id}/close",
            "/cloth/import",
            "/cloth/import.csv",
            "/cloth/sheets",
            "/cloth/tags",
            "/cloth/tags.pdf",
            "/cloth/weigh-in",
            "/cloth/went",
            "/cloth/went.csv",
            "/cloth/{id}",
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
            "/promises/{id}",
            "/pull",
            "/pull.pdf",
            "/rods",
            "/rods/buy",
            "/rods/{id}",
            "/rugs",
            "/terms/{id}/cards.pdf",
            "/terms/{id}/care.pdf",
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
            "/cloth/{id}/cut",
            "/cloth/{id}/pull",
            "/cloth/{id}/put-back",
            "/cloth/{id}/place",
            "/cloth/{id}/scrap",
            "/cloth/{id}/state",
            "/cloth/{id}/undo",
            "/me/passphrase",
            "/promises/{id}/back",
            "/promises/{id}/pull",
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
            "/notices",
            "/notices/receivers/new",
            "/notices/receivers/{id}",
            "/people",
            "/people/new",
            "/people/{id}",
            "/record",
            "/record.csv",
            "/rods/new",
            "/rugs/{id}/hand-out",
            "/share-out",
            "/share-out/{id}",
            "/share-out/{id}/choose/{number}",
            "/terms",
            "/terms/new",
            "/terms/{id}",
            "/terms/{id}/close",
            "/terms/{id}/edit",
            "/terms/{id}/timetable/new",
            "/terms/{id}/turns",
            "/today",
            "/workroom",
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
            "/notices/deliveries/{id}/again",
            "/notices/deliveries/{id}/told",
            "/notices/receivers",
            "/notices/receivers/{id}",
            "/notices/receivers/{id}/remove",
            "/notices/receivers/{id}/secret",
            "/notices/receivers/{id}/try",
            "/people",
            "/people/{id}",
            "/people/{id}/leave",
            "/people/{id}/link",
            "/people/{id}/passphrase",
            "/promises/{id}/release",
            "/rods",
            "/rods/{id}",
            "/rods/{id}/count",
            "/rugs/{id}/hand-out",
            "/share-out",
            "/share-out/{id}/accept",
            "/share-out/{id}/again",
            "/share-out/{id}/choose/{number}",
            "/share-out/{id}/drop",
            "/share-out/{id}/stop",
            "/terms",
            "/terms/{id}",
            "/terms/{id}/absences",
            "/terms/{id}/close",
            "/terms/{id}/enrol",
            "/terms/{id}/meetings",
            "/terms/{id}/open",
            "/terms/{id}/timetable",
            "/terms/{id}/timetable/lock",
            "/terms/{id}/timetable/told",
            "/terms/{id}/turns",
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
        "share-out" => nobodys(&class.share_out),
        "notices" if route.contains("receivers") => nobodys(&class.receiver),
        "notices" => nobodys(&class.delivery),
        "static" => nobodys("style.css"),
        _ => nobodys("no-such-secret"),
    };
    let fill = |id: &str| {
        route.replace("{id}", id).replace("{token}", id).replace("{*path}", id).replace("{number}", "1")
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
