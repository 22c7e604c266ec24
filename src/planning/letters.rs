//! Letters to weave: a small alphabet of our own, drawn for wide, low cells.
use super::chart::{Chart, ChartError};
use thiserror::Error;

/// Each letter as five lines from the top, parted by a blank; `x` is drawn.
const ALPHABET: [(char, &str); 42] = [
    ('A', ".x. x.x xxx x.x x.x"),
    ('B', "xx. x.x xx. x.x xx."),
    ('C', ".xx x.. x.. x.. .xx"),
    ('D', "xx. x.x x.x x.x xx."),
    ('E', "xxx x.. xx. x.. xxx"),
    ('F', "xxx x.. xx. x.. x.."),
    ('G', ".xxx x... x.xx x..x .xx."),
    ('H', "x.x x.x xxx x.x x.x"),
    ('I', "x x x x x"),
    ('J', "..x ..x ..x x.x .x."),
    ('K', "x.x x.x xx. x.x x.x"),
    ('L', "x.. x.. x.. x.. xxx"),
    ('M', "x...x xx.xx x.x.x x...x x...x"),
    ('N', "x..x xx.x x.xx x..x x..x"),
    ('O', ".xx. x..x x..x x..x .xx."),
    ('P', "xx. x.x xx. x.. x.."),
    ('Q', ".xx. x..x x..x x.xx .xxx"),
    ('R', "xx. x.x xx. x.x x.x"),
    ('S', ".xx x.. .x. ..x xx."),
    ('T', "xxx .x. .x. .x. .x."),
    ('U', "x.x x.x x.x x.x xxx"),
    ('V', "x.x x.x x.x x.x .x."),
    ('W', "x...x x...x x.x.x xx.xx x...x"),
    ('X', "x.x x.x .x. x.x x.x"),
    ('Y', "x.x x.x .x. .x. .x."),
    ('Z', "xxx ..x .x. x.. xxx"),
    ('0', "xxx x.x x.x x.x xxx"),
    ('1', ".x xx .x .x .x"),
    ('2', "xx. ..x .x. x.. xxx"),
    ('3', "xx. ..x .x. ..x xx."),
    ('4', "x.x x.x xxx ..x ..x"),
    ('5', "xxx x.. xx. ..x xx."),
    ('6', ".xx x.. xxx x.x xxx"),
    ('7', "xxx ..x .x. .x. .x."),
    ('8', "xxx x.x xxx x.x xxx"),
    ('9', "xxx x.x xxx ..x xx."),
    (' ', ".. .. .. .. .."),
    ('-', ".. .. xx .. .."),
    ('+', "... .x. xxx .x. ..."),
    ('.', ". . . . x"),
    ('!', "x x x . x"),
    ('?', "xx. ..x .x. ... .x."),
];

/// Why words can't be woven.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LettersError {
    /// A letter that isn't drawn.
    #[error("“{0}” has no letter here: A to Z, 0 to 9, blanks and - + . ! ? have.")]
    Unknown(char),
    /// No letter at all.
    #[error("Write the letters that are to be woven.")]
    Nothing,
    /// Too long for a chart.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

/// Words as a chart, in the other strand's colour on the first's, with an empty unit beside each letter and a row above and below: each
/// line of a letter is so many rows high, from 1 to 4, since a row is lower than a unit is wide.
///
/// # Errors
/// [`LettersError`] for a letter that isn't drawn, and for words wider than a chart may be.
///
/// # Examples
/// ```
/// use thrumhall::planning::letters::words;
///
/// assert_eq!(words("it", 1)?.lines(), [".......", ".x.xxx.", ".x..x..", ".x..x..", ".x..x..", ".x..x..", "......."]);
/// assert!(words("é", 1).is_err());
/// # Ok::<(), thrumhall::planning::letters::LettersError>(())
/// ```
pub fn words(text: &str, rows: u32) -> Result<Chart, LettersError> {
    let mut lines = [const { String::new() }; 5];
    for letter in text.trim().chars() {
        let drawn = |(known, lines): &(char, &'static str)| {
            letter.to_uppercase().eq(std::iter::once(*known)).then_some(*lines)
        };
        let drawn = ALPHABET.iter().find_map(drawn).ok_or(LettersError::Unknown(letter))?;
        for (line, part) in lines.iter_mut().zip(drawn.split(' ')) {
            line.push('.');
            line.push_str(part);
        }
    }
    if lines[0].is_empty() {
        return Err(LettersError::Nothing);
    }
    for line in &mut lines {
        line.push('.');
    }
    let edge = ".".repeat(lines[0].len());
    let mut picture = vec![edge.clone()];
    for line in lines {
        picture.extend(std::iter::repeat_n(line, rows.clamp(1, 4) as usize));
    }
    picture.push(edge);
    Ok(Chart::parse(&picture.join("\n"))?)
}
