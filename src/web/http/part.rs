//! A part of a long list: which words it is searched for, which part of what is found, and the ways to the others.
use crate::units::Units;
use crate::web::Form;

/// What is asked of a long list.
#[derive(Default, serde::Deserialize)]
#[serde(default)]
pub(in crate::web) struct PartQuery {
    q: String,
    page: String,
}

/// A part of a long list, for its page.
pub(in crate::web) struct Part {
    /// The field that words are typed into.
    pub form: Form,
    /// Whether words are looked for.
    pub narrow: bool,
    /// The way to the part before this one.
    pub before: Option<String>,
    /// The way to the part after it.
    pub after: Option<String>,
}

impl Part {
    /// Whether there is more than this one part, so that a search is worth its place.
    pub fn is_long(&self) -> bool {
        self.narrow || self.before.is_some() || self.after.is_some()
    }
}

impl PartQuery {
    /// The words, as typed; the first hundred characters.
    pub fn text(&self) -> &str {
        self.q.char_indices().nth(100).map_or(self.q.as_str(), |(end, _)| &self.q[..end])
    }

    fn page(&self) -> i64 {
        self.page.parse().unwrap_or(1).clamp(1, 100_000)
    }

    /// The first row and how many to ask for: one more than are shown, which tells whether there are others.
    pub fn rows(&self, page: i64) -> (i64, i64) {
        ((self.page() - 1) * page, page + 1)
    }

    /// The part that these rows are, without the one more; `path` leads to the list.
    pub fn part<T>(&self, path: &str, page: i64, rows: &mut Vec<T>, units: Units) -> Part {
        self.part_of((path, &[]), page, rows, units)
    }

    /// The same of a list that is narrowed by more than words: names and values that its ways keep.
    pub fn part_of<T>(
        &self,
        (path, rest): (&str, &[(&str, &str)]),
        page: i64,
        rows: &mut Vec<T>,
        units: Units,
    ) -> Part {
        let most = usize::try_from(page).unwrap_or(usize::MAX);
        let more = rows.len() > most;
        rows.truncate(most);
        let link = |page: i64| {
            let mut query = form_urlencoded::Serializer::new(String::new());
            if !self.q.is_empty() {
                query.append_pair("q", self.text());
            }
            query.extend_pairs(rest.iter().filter(|(_, value)| !value.is_empty()));
            if page > 1 {
                query.append_pair("page", &page.to_string());
            }
            let query = query.finish();
            if query.is_empty() { path.to_owned() } else { format!("{path}?{query}") }
        };
        let at = self.page();
        Part {
            form: Form::blank(units).with("q", self.text()),
            narrow: !self.q.trim().is_empty(),
            before: (at > 1).then(|| link(at - 1)),
            after: more.then(|| link(at + 1)),
        }
    }
}
