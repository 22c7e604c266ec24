//! A sheet drawn as it lies for cutting, as SVG text: hems, blocked places, cut lines and strip numbers, black on white.
use super::rug_face::escape;
use crate::optimize::cutting::{Blocked, Sheet, Strip};
use crate::units::{Length, Units};
use std::fmt::Write;

/// One drawing.
#[derive(Debug, Clone, Copy)]
pub struct CutPicture<'a> {
    /// The sheet, the way that the strips run from left to right.
    pub sheet: &'a Sheet,
    /// What is cut from it.
    pub strips: &'a [Strip],
    /// Width of the strips.
    pub width: Length,
    /// The number of the first strip.
    pub first: u32,
    /// What the sheet is called.
    pub name: &'a str,
    /// The units of the description.
    pub units: Units,
    /// A name that no other drawing on the page has; letters, digits and `-` are kept.
    pub id: &'a str,
}

impl CutPicture<'_> {
    /// The drawing as one `<svg>` element with a title and a description, one unit a millimetre: presentation attributes
    /// only, no style, no script. Cut lines are solid and hems dashed; what can't be used is hatched.
    pub fn svg(&self) -> String {
        let id: String = self.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let (wide, high) = (self.sheet.along.mm(), self.sheet.across.mm());
        // Lines as thick on the page whatever the sheet's size.
        let line = wide.max(high) / 500.0;
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{:.1} {:.1} {:.1} {:.1}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc><defs><pattern id="{id}-b" width="{p:.1}" height="{p:.1}" patternUnits="userSpaceOnUse"><path d="M0 {p:.1}L{p:.1} 0" stroke="#000000" stroke-width="{:.2}"/></pattern></defs><rect x="0" y="0" width="{wide:.1}" height="{high:.1}" fill="#ffffff" stroke="#000000" stroke-width="{:.2}"/>"##,
            -line,
            -line,
            wide + line * 2.0,
            high + line * 2.0,
            escape(self.name),
            escape(&self.description()),
            line,
            line * 2.0,
            p = line * 8.0,
        );
        let hem = self.sheet.hem.mm();
        if hem > 0.0 {
            let _ = write!(
                out,
                r##"<rect x="{hem:.1}" y="{hem:.1}" width="{:.1}" height="{:.1}" fill="none" stroke="#000000" stroke-width="{line:.2}" stroke-dasharray="{:.1}"/>"##,
                wide - hem * 2.0,
                high - hem * 2.0,
                line * 6.0,
            );
        }
        for Blocked { along, across } in self.sheet.blocked() {
            let _ = write!(
                out,
                r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="url(#{id}-b)" stroke="#000000" stroke-width="{line:.2}"/>"##,
                along.0.mm(),
                across.0.mm(),
                (along.1 - along.0).mm(),
                (across.1 - across.0).mm(),
            );
        }
        let lines: String = self.strips.iter().map(|strip| self.lines(strip)).collect();
        let _ = write!(out, r##"<path d="{lines}" fill="none" stroke="#000000" stroke-width="{line:.2}"/>"##);
        let size = (self.width.mm() * 0.7).min(wide / 20.0);
        let _ = write!(out, r##"<g font-size="{size:.1}" font-family="sans-serif" fill="#000000">"##);
        for (strip, number) in self.strips.iter().zip(self.first..) {
            if let Some(run) = strip.runs.first() {
                let (x, y) = (run.along.0.mm() + size * 0.4, run.across.0.mm() + self.width.mm() / 2.0);
                let _ = write!(out, r#"<text x="{x:.1}" y="{:.1}">{number}</text>"#, y + size * 0.36);
            }
        }
        out.push_str("</g></svg>");
        out
    }

    /// The outline of a strip and the cuts inside it, each stopping one strip width short at alternate ends.
    fn lines(&self, strip: &Strip) -> String {
        let mut path = String::new();
        let (Some(first), Some(last)) = (strip.runs.first(), strip.runs.last()) else { return path };
        let (from, to) = (first.along.0.mm(), first.along.1.mm());
        let (top, bottom) = (first.across.0.mm(), last.across.1.mm());
        let _ = write!(path, "M{from:.1} {top:.1}H{to:.1}V{bottom:.1}H{from:.1}z");
        for (at, run) in strip.runs.iter().enumerate().skip(1) {
            let bridge = self.width.mm();
            let (from, to) = if at % 2 == 1 { (from, to - bridge) } else { (from + bridge, to) };
            let _ = write!(path, "M{from:.1} {:.1}H{to:.1}", run.across.0.mm());
        }
        path
    }

    fn description(&self) -> String {
        let [along, across, width] =
            [self.sheet.along, self.sheet.across, self.width].map(|length| length.show(self.units));
        let total: Length = self.strips.iter().map(Strip::length).sum();
        let strips = match self.strips.len() {
            1 => "1 strip".to_owned(),
            n => format!("{n} strips"),
        };
        let bridged = self.strips.iter().any(|strip| strip.runs.len() > 1);
        let how =
            if bridged { ", cut to and fro with a bridge of one strip width at alternate ends" } else { "" };
        format!(
            "{along} × {across}, strips run from left to right: {strips} of {width} width{how}, {} together.",
            total.show_long(self.units)
        )
    }
}
