//! Fractions on paper: drawn as one sign, `⅝` or `³⁄₁₆`, while who copies, searches or listens gets `5/8` as it was written.
use krilla::text::{GlyphId, KrillaGlyph};

use super::fonts::{Face, Strength, own_faces};
use crate::units::fractions::fractions;

/// What of a whole number's distance to its fraction is left, in ems: `12 5/8` is one number.
const APART: f32 = 0.06;

/// The parts of a text that different fonts draw because of its fractions: signs put together of raised and lowered figures are
/// drawn by the one of our fonts that has both.
pub(super) fn apart(text: &str, strength: Strength) -> Vec<(&str, Option<&'static Face>)> {
    let mut found = Vec::new();
    let mut done = 0;
    if text.contains('/') {
        let [first, second] = own_faces(strength);
        for (range, sign) in fractions(text) {
            if sign.chars().all(|c| first.has(c)) || !sign.chars().all(|c| second.has(c)) {
                continue;
            }
            found.push((&text[done..range.start], None));
            found.push((&text[range.clone()], Some(second)));
            done = range.end;
        }
    }
    found.push((&text[done..], None));
    found.retain(|(part, _)| !part.is_empty());
    found
}

/// Sets the fractions in a text that was shaped from left to right; a font that lacks a sign leaves them as they are written.
pub(super) fn set(face: &Face, text: &str, mut glyphs: Vec<KrillaGlyph>) -> Vec<KrillaGlyph> {
    if !text.contains('/') {
        return glyphs;
    }
    for (range, sign) in fractions(text) {
        let Some(ids) = sign.chars().map(|c| face.shaper.glyph_index(c)).collect::<Option<Vec<_>>>() else {
            continue;
        };
        let inside = |glyph: &KrillaGlyph| range.contains(&glyph.text_range.start);
        let Some(first) = glyphs.iter().position(inside) else { continue };
        let count = glyphs[first..].iter().take_while(|glyph| inside(glyph)).count();
        // A sign of its own stands for the whole; of one put together each figure stands for its own.
        let each = ids.len() == range.len();
        let signs = ids.into_iter().enumerate().map(|(n, id)| {
            let stands_for = if each { range.start + n..range.start + n + 1 } else { range.clone() };
            let wide = face.shaper.glyph_hor_advance(id).unwrap_or_default();
            KrillaGlyph::new(
                GlyphId::new(id.0.into()),
                f32::from(wide) / face.per_em,
                0.0,
                0.0,
                0.0,
                stands_for,
                None,
            )
        });
        glyphs.splice(first..first + count, signs.collect::<Vec<_>>());
        let whole = text[..range.start].strip_suffix([' ', '\u{a0}']);
        if first > 0 && whole.is_some_and(|whole| whole.ends_with(|c: char| c.is_ascii_digit())) {
            glyphs[first - 1].x_advance = APART;
        }
    }
    glyphs
}
