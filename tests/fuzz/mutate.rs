//! What chance makes of inputs that are known: bits and bytes turned, parts left out, doubled, moved or taken from another, numbers made
//! odd, words of the target put in.

/// The longest input that is made.
const MOST: usize = 4096;

/// Numbers that are likely to be beyond something.
const NUMBERS: [&str; 16] = [
    "0",
    "-1",
    "1",
    "00",
    "0.5",
    "1e9",
    "-0",
    "1e308",
    "1e-308",
    "4294967295",
    "4294967296",
    "9223372036854775807",
    "-9223372036854775808",
    "99999999999999999999",
    "0.0000000000001",
    "NaN",
];

/// Pieces of text that readers trip over: marks, letters of several bytes, direction marks, what a page must not show as it is.
const PIECES: [&str; 20] = [
    "\0",
    "\n",
    "\r\n",
    "\t",
    "\u{feff}",
    "\u{a0}",
    "½",
    "é",
    "\u{301}",
    "\u{202e}",
    "\u{1f9f6}",
    "\"",
    "'",
    ",",
    ";",
    "%",
    "%00",
    "%ff",
    "<u>'\"",
    "\u{fffd}",
];

/// Numbers from a seed, one after the other (the multiplier and increment of Knuth's MMIX, from memory).
pub struct Dice(pub u64);

impl Dice {
    /// Below an end that is more than 0.
    pub fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end
    }

    fn of<'a, T: ?Sized>(&mut self, these: &[&'a T]) -> &'a T {
        these[self.below(these.len())]
    }
}

/// One input more: one of the seeds, changed in a few places.
pub fn one(dice: &mut Dice, seeds: &[Vec<u8>], words: &[&str]) -> Vec<u8> {
    let mut input = seeds[dice.below(seeds.len())].clone();
    for _ in 0..=dice.below(5) {
        let at = dice.below(input.len() + 1);
        let to = (at + 1 + dice.below(12)).min(input.len());
        match dice.below(11) {
            0 if at < input.len() => input[at] ^= 1 << dice.below(8),
            1 if at < input.len() => input[at] = dice.below(256) as u8,
            2 => drop(input.splice(at..at, [dice.below(128) as u8])),
            3 => drop(input.drain(at..to)),
            4 => {
                let part = input[at..to].to_vec();
                input.splice(at..at, part);
            }
            5 => {
                let other = &seeds[dice.below(seeds.len())];
                let from = dice.below(other.len() + 1);
                let end = (from + 1 + dice.below(40)).min(other.len());
                input.splice(at..to, other[from..end].iter().copied());
            }
            6 => {
                let piece = dice.of(&PIECES);
                input.splice(at..at, piece.bytes());
            }
            7 if !words.is_empty() => {
                let word = dice.of(words);
                input.splice(at..at, word.bytes());
            }
            8 | 9 => {
                if let Some((from, end)) = number(&input, at) {
                    let number = dice.of(&NUMBERS);
                    input.splice(from..end, number.bytes());
                }
            }
            10 => {
                let part: Vec<u8> = input.drain(at..to).collect();
                let at = dice.below(input.len() + 1);
                input.splice(at..at, part);
            }
            _ => {}
        }
        input.truncate(MOST);
    }
    input
}

/// Where the first number at or after a place begins and ends.
fn number(input: &[u8], at: usize) -> Option<(usize, usize)> {
    let from = at + input[at..].iter().position(u8::is_ascii_digit)?;
    let length = input[from..].iter().take_while(|byte| byte.is_ascii_digit() || **byte == b'.').count();
    Some((from, from + length))
}
