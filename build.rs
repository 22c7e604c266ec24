//! Makes the fonts that pages are sent: Noto Sans cut down to what European languages are written with, and the serif for headings, whole,
//! since no library that is kept up cuts cubic outlines without losing their kerning. `src/web/http/fonts.rs` takes them in.
use std::collections::HashSet;
use std::error::Error;
use std::path::Path;
use std::{env, fs};

/// What Noto Sans is cut down to: Latin with the letters of Europe's languages, punctuation, fractions, arrows, and the signs that
/// pages use.
const LATIN: [(char, char); 14] = [
    (' ', '~'),
    ('\u{A0}', '\u{17F}'),
    ('\u{218}', '\u{21B}'),
    ('\u{1E80}', '\u{1E85}'),
    ('\u{1E9E}', '\u{1E9E}'),
    ('\u{2010}', '\u{2026}'),
    ('\u{202F}', '\u{2033}'),
    ('\u{2039}', '\u{203A}'),
    ('\u{2044}', '\u{2044}'),
    ('\u{2070}', '\u{2089}'),
    ('\u{20AC}', '\u{20AC}'),
    ('\u{2150}', '\u{215E}'),
    ('\u{2190}', '\u{2199}'),
    ('\u{2212}', '\u{2265}'),
];

/// The serif's name within its file, and that of its sloped one, which begins alike.
const SERIF: &[u8] = b"LibertinusSerif-Semibold";
const SLOPED: &[u8] = b"LibertinusSerif-SemiboldItalic";

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=build.rs");
    let out = env::var("OUT_DIR")?;
    let out = Path::new(&out);
    let latin: HashSet<char> = LATIN.iter().flat_map(|&(first, last)| first..=last).collect();
    for (name, whole) in [("sans.ttf", notosans::REGULAR_TTF), ("sans-bold.ttf", notosans::BOLD_TTF)] {
        // Figures of one width stand under one another in tables; kerning and marks stay by themselves.
        fs::write(out.join(name), fontcull::subset_font_data(whole, &latin, &[*b"tnum", *b"lnum"])?)?;
    }
    let named = |file: &[u8], name: &[u8]| file.windows(name.len()).any(|part| part == name);
    // They are given out without their names.
    let serif = typst_assets::fonts().find(|file| named(file, SERIF) && !named(file, SLOPED));
    fs::write(out.join("serif.otf"), serif.ok_or("the serif for headings is not in its crate any more")?)?;
    Ok(())
}
