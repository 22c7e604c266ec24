//! What every page has around it: the shell with its way around, and the words said after an act.
use crate::store::auth::Visitor;
use crate::store::people::Role;

/// The header and footer of a page.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The workroom's name.
    pub workroom: String,
    /// Who is signed in.
    pub person: Option<LayoutPerson>,
    /// The way around, for this role.
    pub nav: Vec<NavItem>,
    /// A message after an act.
    pub flash: Option<&'static str>,
    /// Whether it is a page of a tablet at the scale, from which no way leads anywhere else.
    pub at_tablet: bool,
    /// The address that codes lead to, where only this machine can open it; see `services::paper_data`.
    pub only_here: Option<String>,
}

/// Who is signed in, for the header.
#[derive(Clone, Debug)]
pub struct LayoutPerson {
    /// Their name.
    pub name: String,
    /// What they are here.
    pub role: &'static str,
}

/// One way to go.
#[derive(Clone, Copy, Debug)]
pub struct NavItem {
    /// Where to.
    pub href: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Whether the page is within it.
    pub here: bool,
}

const INSTRUCTOR: &[(&str, &str)] = &[
    ("/today", "Today"),
    ("/frames", "Frames"),
    ("/rugs", "Rugs"),
    ("/cloth", "Cloth"),
    ("/people", "People"),
    ("/terms", "Terms"),
    ("/workroom", "Workroom"),
];
const VOLUNTEER: &[(&str, &str)] =
    &[("/cloth/weigh-in", "Weigh in"), ("/cloth", "Shelf"), ("/frames", "Frames"), ("/me", "My settings")];
const WEAVER: &[(&str, &str)] = &[("/my", "My rugs"), ("/cloth", "Shelf"), ("/me", "My settings")];

impl Layout {
    /// The shell of somebody's page.
    pub fn of(visitor: &Visitor, path: &str, flash: Option<&'static str>) -> Self {
        let ways = match visitor.role {
            Role::Instructor => INSTRUCTOR,
            Role::Volunteer => VOLUNTEER,
            Role::Weaver => WEAVER,
        };
        // The longest way that leads here is the one we are in: /cloth/weigh-in is not the shelf.
        let within = |ways: &[&str]| ways.iter().any(|way| path.starts_with(way));
        let path = match path {
            _ if within(&["/loans", "/rods"]) => "/frames",
            _ if within(&["/share-out", "/pull", "/promises"]) => "/cloth",
            _ if within(&["/notices", "/record"]) => "/workroom",
            path => path,
        };
        let here = ways
            .iter()
            .filter(|(href, _)| path == *href || path.starts_with(&format!("{href}/")))
            .max_by_key(|(href, _)| href.len());
        Self {
            workroom: visitor.workroom.clone(),
            person: Some(LayoutPerson { name: visitor.name.clone(), role: visitor.role.word() }),
            nav: ways
                .iter()
                .map(|way| NavItem { href: way.0, label: way.1, here: here == Some(way) })
                .collect(),
            flash,
            at_tablet: false,
            only_here: None,
        }
    }

    /// The shell of a page on a tablet at the scale.
    pub fn at_tablet(workroom: &str, flash: Option<&'static str>) -> Self {
        Self { workroom: workroom.to_owned(), flash, at_tablet: true, ..Self::bare() }
    }

    /// The shell of a page for somebody who isn't signed in.
    pub fn bare() -> Self {
        Self {
            workroom: "Thrumhall".into(),
            person: None,
            nav: Vec::new(),
            flash: None,
            at_tablet: false,
            only_here: None,
        }
    }
}

/// What is said after an act, by the word in the address: `?said=frame-added`. Only these words say anything, so that
/// nobody can put words into our mouth with a link.
const FLASHES: &[(&str, &str)] = &[
    ("added", "Added."),
    ("people-added", "Everybody on the list was added. Their links can be made now."),
    ("saved", "Saved."),
    ("removed", "Removed."),
    ("erased", "Erased. What they did stays, as somebody’s who left."),
    ("handed-out", "Handed out."),
    ("taken-back", "Taken back."),
    ("retired", "Retired. Its loans and its record stay."),
    ("restored", "Back in use."),
    ("due-moved", "The day it is due is moved. Print the slip again."),
    ("counted", "Counted."),
    ("undone", "Undone: the entry and its reversal both stay in the ledger."),
    ("enrolled", "Enrolled."),
    ("waits", "The class is full: put on the waiting list."),
    ("some-wait", "The class is full now: the others are on the waiting list."),
    ("place-given", "Enrolled. Tell them: it stands under Messages."),
    ("moved-up", "Moved up."),
    ("waits-no-more", "Taken off the waiting list."),
    ("told", "Noted that you told them."),
    ("withdrawn", "Taken off the term. Their rugs stay theirs."),
    ("called-off", "The meeting is called off."),
    ("called-on", "The meeting takes place after all."),
    ("designs", "Planned: a rug for each that was ticked. The share-out promises them cloth."),
    ("panels", "Planned: one rug for each panel."),
    ("signed-out", "You are signed out."),
    ("signed-out-there", "Signed out there."),
    ("signed-out-everywhere", "You are signed out everywhere."),
    (
        "passphrase-given",
        "The passphrase is set, and its old sessions ended. They choose their own when they next sign in.",
    ),
    ("passphrase", "Your passphrase is set. Your other devices are signed out."),
    ("repeated", "This was done already; nothing was done twice."),
    ("pulled", "Pulled. The ledger holds it."),
    ("cut", "Cut. The strips are a bundle of their own: write its number on them."),
    ("not-undone", "Not undone: somebody did something with that bundle meanwhile. Ask an instructor."),
    ("tablet-opened", "This device is now the tablet at the scale."),
    ("tablet-ended", "The tablet at the scale is signed out."),
    ("put-back", "Put back on the shelf."),
    ("scrapped", "Scrapped."),
    ("corrected", "Corrected to what the scale says."),
    ("kind-corrected", "Corrected. What it was before stands under its ledger."),
    ("roll", "Attendance saved."),
    ("coming", "Thank you: it is noted."),
    ("gone-on", "They go on there, and their weavers are enrolled."),
    ("logged", "Logged."),
    ("log-undone", "Undone. The entry and its undoing both stay in the log."),
    ("finished", "Finished. What it took helps to plan the next rugs."),
    ("accepted", "Accepted: the cloth is promised."),
    ("set-aside", "Set aside. Nothing is promised by it."),
    ("line", "Counted."),
    ("closed", "Closed: the differences stand in the ledger."),
    ("term-closed", "Closed. Its rugs and its record stay."),
    ("term-opened", "Open again."),
    ("timetable", "Accepted: these turns hold."),
    ("chosen", "Chosen. It stays when the rest is shared out again."),
    ("released", "Released. The cloth is free again."),
    ("list-in", "The list is taken in. Its bundles stand first; their notes name the tags they had."),
    ("state", "The bundle’s state is changed."),
    ("sending", "It goes out within the minute."),
    ("passkey-added", "The passkey is added. From now on signing in takes a second step."),
    ("passkey-refused", "That passkey didn’t open it. Try again, or take another way."),
    ("codes-on", "The app’s codes are set up. From now on signing in takes a second step."),
    ("factor-off", "Removed. It opens nothing any more."),
    (
        "factors-off",
        "Taken off. They sign in with their passphrase alone until they set up a new second step.",
    ),
    ("step-late", "That took too long. Begin again with your passphrase."),
    ("step-tries", "Too many wrong codes. Begin again with your passphrase."),
    ("secret", "The old secret no longer signs anything. Give the receiver the new one."),
];

/// The sentence for the word in a query, if it is one of our words.
pub(in crate::web) fn flash(query: Option<&str>) -> Option<&'static str> {
    let word = form_urlencoded::parse(query?.as_bytes()).find(|(name, _)| name == "said")?.1;
    FLASHES.iter().find(|(known, _)| *known == word).map(|(_, sentence)| *sentence)
}
