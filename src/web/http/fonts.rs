//! The two faces that pages are set in, sent by the program itself, so that they look the same on every phone. `build.rs` makes them.
//! Other scripts than Latin take the device's own.

/// A font file.
pub(super) struct Font {
    /// Its name below `/static/`.
    pub path: &'static str,
    /// What it is.
    pub kind: &'static str,
    /// The file.
    pub file: &'static [u8],
}

/// All of them.
pub(super) const FONTS: [Font; 3] = [
    Font { path: "sans.ttf", kind: "font/ttf", file: include_bytes!(concat!(env!("OUT_DIR"), "/sans.ttf")) },
    Font {
        path: "sans-bold.ttf",
        kind: "font/ttf",
        file: include_bytes!(concat!(env!("OUT_DIR"), "/sans-bold.ttf")),
    },
    Font {
        path: "serif.otf",
        kind: "font/otf",
        file: include_bytes!(concat!(env!("OUT_DIR"), "/serif.otf")),
    },
];

#[cfg(test)]
mod tests {
    use rustybuzz::Face;

    use super::FONTS;

    #[test]
    fn each_font_is_as_heavy_as_it_is_called_and_writes_what_pages_say() {
        let told = FONTS.iter().map(|font| {
            let face = Face::from_slice(font.file, 0).expect(font.path);
            for letter in "Wört ½ ¾ → − ≈ “ok” – 1 234 Łódź Çeşme €".chars().filter(|c| !c.is_whitespace())
            {
                assert!(face.glyph_index(letter).is_some(), "{} lacks {letter}", font.path);
            }
            (font.path, face.weight().to_number())
        });
        assert_eq!(told.collect::<Vec<_>>(), [("sans.ttf", 400), ("sans-bold.ttf", 700), ("serif.otf", 600)]);
    }

    #[test]
    fn noto_sans_is_cut_to_a_fifth() {
        let sans = FONTS.iter().find(|font| font.path == "sans.ttf").unwrap();
        assert!(sans.file.len() < notosans::REGULAR_TTF.len() / 5, "{} bytes", sans.file.len());
    }
}
