//! A document as it is written to PDF: its pages, what its parts mean, and where its codes lead.
use krilla::action::{Action, LinkAction};
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::geom::Rect;
use krilla::metadata::Metadata;
use krilla::outline::Outline;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagTree,
};
use krilla::{Document, SerializeSettings};

use super::draw::draw;
use super::sheet::{Child, Link, Meaning, Page, Part, Sheet};
use super::text::POINT;
use crate::pdf::PaperError;

impl Sheet {
    /// The document as PDF: tagged, with title and language, held to PDF/UA-1 (ISO 14289-1) as far as that can be checked.
    ///
    /// # Errors
    /// [`PaperError::Pdf`] when the library refuses it.
    pub fn finish(mut self) -> Result<Vec<u8>, PaperError> {
        let refused =
            |error: &dyn std::fmt::Debug| PaperError::Pdf(format!("{error:?}").chars().take(300).collect());
        let configuration = ConfigurationBuilder::new()
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(|e| refused(&e))?;
        let settings = SerializeSettings { configuration, ..SerializeSettings::default() };
        let mut document = Document::new_with(settings);
        let (wide, high) = (self.wide / POINT, self.high / POINT);
        for page in std::mem::take(&mut self.pages) {
            let size = PageSettings::from_wh(wide as f32, high as f32)
                .ok_or_else(|| PaperError::Pdf("a page has no size".into()))?;
            let mut on = document.start_page_with(size);
            let mut surface = on.surface();
            self.draw(&mut surface, &page);
            surface.finish();
            for Link { part, area: [x, y, w, h], to, told } in page.links {
                let [x, y, w, h] = [x, y, w, h].map(|mm| (mm / POINT) as f32);
                let Some(rect) = Rect::from_xywh(x, y, w, h) else { continue };
                let target = Target::Action(Action::Link(LinkAction::new(to)));
                let link = Annotation::new_link(LinkAnnotation::new(rect, target), Some(told));
                let id = on.add_tagged_annotation(link);
                self.meanings[part].children.push(Child::Content(id));
            }
            on.finish();
        }
        let mut tree = TagTree::new().with_lang(Some("en".into()));
        let mut meanings: Vec<Option<Meaning>> = self.meanings.into_iter().map(Some).collect();
        for root in self.roots {
            tree.push(group(root, &mut meanings));
        }
        document.set_tag_tree(tree);
        document.set_outline(Outline::new());
        document.set_metadata(
            Metadata::new().title(self.title).language("en".into()).creator("Thrumhall".into()),
        );
        document.finish().map_err(|e| refused(&e))
    }

    fn draw(&mut self, surface: &mut Surface<'_>, page: &Page) {
        let mut rest = page.marks.as_slice();
        while let Some((part, _)) = rest.first() {
            let same = rest.iter().take_while(|(other, _)| other == part).count();
            let tag = match part {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            };
            let id = surface.start_tagged(tag);
            for (_, mark) in &rest[..same] {
                draw(surface, mark);
            }
            surface.end_tagged();
            if let Some(part) = part {
                self.meanings[*part].children.push(Child::Content(id));
            }
            rest = &rest[same..];
        }
    }
}

/// The tag group of a part and all within it.
fn group(id: usize, meanings: &mut [Option<Meaning>]) -> Node {
    let Some(Meaning { part, children }) = meanings[id].take() else {
        return TagGroup::new(Tag::Div).into();
    };
    let level = |level: u16| std::num::NonZeroU16::new(level).unwrap_or(std::num::NonZeroU16::MIN);
    let mut made = match part {
        Part::Heading(at, says) => TagGroup::new(Tag::Hn(level(at), Some(says))),
        Part::Paragraph => TagGroup::new(Tag::P),
        Part::Table => TagGroup::new(Tag::Table),
        Part::Row => TagGroup::new(Tag::TR),
        Part::ColumnHead => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
        Part::RowHead => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
        Part::Cell => TagGroup::new(Tag::TD),
        Part::List => TagGroup::new(Tag::L(ListNumbering::None)),
        Part::Item => TagGroup::new(Tag::LI),
        Part::Link => TagGroup::new(Tag::Link),
        Part::Figure(words) => TagGroup::new(Tag::Figure(Some(words))),
    };
    for child in children {
        match child {
            Child::Content(id) => made.push(id),
            Child::Part(id) => made.push(group(id, meanings)),
        }
    }
    made.into()
}
