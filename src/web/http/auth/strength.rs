//! How hard a passphrase is to guess. It is held against lists of common and breached ones, words, names, dates and rows of keys,
//! and against the words of this place, as NIST SP 800-63B-4, 3.1.1.2 asks for; there are no rules of composition.
use zxcvbn::{Score, zxcvbn};

/// What a passphrase came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::web) enum Strength {
    /// Somebody who knows this place would soon guess it.
    OfThisPlace,
    /// It is common, or made in a common way.
    Common,
    /// Good enough.
    Good,
    /// More than that.
    VeryGood,
}

/// So many characters must be none of this place's words.
const FEWEST_OWN: usize = 8;
/// So many characters are looked at; more only make it better.
const LOOKED_AT: usize = 64;

impl Strength {
    /// Of a passphrase, in a place of these names.
    pub(in crate::web) fn of(phrase: &str, names: &[&str]) -> Self {
        let looked_at: String = phrase.chars().take(LOOKED_AT).collect();
        let names: Vec<String> = names
            .iter()
            .chain(&["thrumhall"])
            .map(|name| name.chars().take(LOOKED_AT).collect::<String>().to_lowercase())
            .collect();
        // A name as it stands, without its blanks, and each of its words.
        let joined: Vec<String> = names.iter().map(|name| name.split_whitespace().collect()).collect();
        let words =
            names.iter().flat_map(|name| name.split_whitespace()).filter(|word| word.chars().count() > 2);
        let known: Vec<&str> =
            names.iter().map(String::as_str).chain(joined.iter().map(String::as_str)).chain(words).collect();
        if own_letters(&looked_at, &known) < FEWEST_OWN {
            return Self::OfThisPlace;
        }
        match zxcvbn(&looked_at, &known).score() {
            Score::Four => Self::VeryGood,
            Score::Three => Self::Good,
            _ if zxcvbn(&looked_at, &[]).score() >= Score::Three => Self::OfThisPlace,
            _ => Self::Common,
        }
    }

    /// Whether it is taken.
    pub(in crate::web) fn is_enough(self) -> bool {
        matches!(self, Self::Good | Self::VeryGood)
    }

    /// In words, for the person who types it.
    pub(in crate::web) fn words(self) -> &'static str {
        match self {
            Self::OfThisPlace => {
                "Easy to guess for somebody who knows this workroom and its people. Choose other words."
            }
            Self::Common => {
                "Easy to guess: it is common, repeats itself or follows a pattern. Four or five words that have nothing to do \
                 with each other make a good one."
            }
            Self::Good => "Good.",
            Self::VeryGood => "Very good.",
        }
    }
}

/// What is left of a passphrase, in letters, digits and signs, without the names and words of this place: a name said several
/// times looks long to a list of words, and is no secret.
fn own_letters(phrase: &str, known: &[&str]) -> usize {
    let mut left = phrase.to_lowercase();
    let mut known: Vec<&&str> = known.iter().filter(|word| word.chars().count() > 2).collect();
    known.sort_by_key(|word| std::cmp::Reverse(word.len()));
    for word in known {
        left = left.replace(*word, " ");
    }
    left.chars().filter(|letter| !letter.is_whitespace()).count()
}

#[cfg(test)]
mod tests {
    use super::Strength;

    #[test]
    fn what_is_common_or_of_this_place_is_easy_to_guess() {
        let place = ["Saltern Row Workroom", "Ana Brook"];
        for (phrase, is_enough) in [
            ("abcdefghijklmno", false),
            ("aaaaaaaaaaaaaaaaaaaa", false),
            ("abcdabcdabcdabcdabcd", false),
            ("passwordpassword", false),
            ("qwertyuiopasdfgh", false),
            ("123456789012345678", false),
            ("saltern row workroom", false),
            ("SalternRowWorkroom1", false),
            ("Ana Brook Ana Brook", false),
            ("thrumhallthrumhall", false),
            ("four words of wool", true),
            ("herring lamp seven quilts", true),
            ("結び目の数は十五です、そしてもっと", true),
        ] {
            assert_eq!(
                Strength::of(phrase, &place).is_enough(),
                is_enough,
                "{phrase}: {:?}",
                Strength::of(phrase, &place)
            );
        }
        assert_eq!(Strength::of("saltern row workroom", &place), Strength::OfThisPlace);
        assert_eq!(Strength::of("saltern row workroom", &[]), Strength::VeryGood);
    }
}
