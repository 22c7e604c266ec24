//! Which fonts there are: our own, which are built in, and those of the system for scripts that ours lack. How a line is set
//! with them is `text`'s.
use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

use fontdb::{Database, ID, Style};
use krilla::text::Font;

/// How strong a font is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Strength {
    Regular,
    Bold,
}

/// A font, to draw with and to shape with.
pub(in crate::pdf) struct Face {
    pub(in crate::pdf) font: Font,
    pub(super) shaper: rustybuzz::Face<'static>,
    pub(super) per_em: f32,
    /// Whether it isn't one of ours.
    pub(super) of_system: bool,
}

impl Face {
    fn of(file: &'static [u8], index: u32, of_system: bool) -> Option<Self> {
        let (font, shaper) = (Font::new(file.into(), index)?, rustybuzz::Face::from_slice(file, index)?);
        let per_em = font.units_per_em();
        Some(Self { font, shaper, per_em, of_system })
    }

    /// Whether it draws a character.
    pub(super) fn has(&self, c: char) -> bool {
        self.shaper.glyph_index(c).is_some()
    }
}

/// Noto Sans, and `DejaVu` Sans for what it lacks, such as Hebrew and Arabic; each regular and bold.
static OWN: LazyLock<Vec<Face>> = LazyLock::new(|| {
    let files: [&'static [u8]; 4] =
        [notosans::REGULAR_TTF, dejavu::sans::regular(), notosans::BOLD_TTF, dejavu::sans::bold()];
    files.into_iter().filter_map(|file| Face::of(file, 0, false)).collect()
});

/// Our own faces of a strength, in the order in which they are tried.
pub(super) fn own_faces(strength: Strength) -> [&'static Face; 2] {
    match strength {
        Strength::Regular => [&OWN[0], &OWN[1]],
        Strength::Bold => [&OWN[2], &OWN[3]],
    }
}

/// The fonts of the system, and what was found in them: read when a script first asks for it, and kept.
#[derive(Default)]
struct System {
    fonts: Database,
    /// Fonts that are in use, each read once.
    faces: HashMap<ID, Option<&'static Face>>,
    /// Which font draws what; none where none does.
    found: HashMap<(char, Strength), Option<&'static Face>>,
}

static SYSTEM: LazyLock<Mutex<System>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    fonts.load_system_fonts();
    Mutex::new(System { fonts, ..System::default() })
});

/// How many characters are remembered: names bring few, and what anybody may type must not fill the memory.
const REMEMBERED: usize = 20_000;

/// The font of the system that draws a character that ours lack.
pub(super) fn covering(c: char, strength: Strength) -> Option<&'static Face> {
    let mut system = SYSTEM.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = system.found.get(&(c, strength)) {
        return *known;
    }
    let found = system.search(c, strength);
    if system.found.len() >= REMEMBERED {
        system.found.clear();
    }
    system.found.insert((c, strength), found);
    found
}

impl System {
    /// The font that draws a character best: upright before slanted, of that strength, without serifs; then by name, so that the
    /// same system gives the same paper. Those in use are tried first: a word should be of one font, and reading them is dear.
    fn search(&mut self, c: char, strength: Strength) -> Option<&'static Face> {
        let wanted = if strength == Strength::Bold { 700 } else { 400 };
        let mut order: Vec<(bool, u16, bool, &str, ID)> = self
            .fonts
            .faces()
            .map(|face| {
                let name = face.post_script_name.as_str();
                let slanted = face.style != Style::Normal;
                (slanted, face.weight.0.abs_diff(wanted), !name.contains("Sans"), name, face.id)
            })
            .collect();
        order.sort();
        let draws =
            |id: &ID| self.fonts.with_face_data(*id, |data, index| outlined(data, index, c)) == Some(true);
        let ids: Vec<ID> = order.into_iter().map(|(.., id)| id).collect();
        let able = ids.into_iter().find(draws)?;
        self.face(able)
    }

    /// A font of the system, read for good.
    fn face(&mut self, id: ID) -> Option<&'static Face> {
        if let Some(known) = self.faces.get(&id) {
            return *known;
        }
        let read = self.fonts.with_face_data(id, |data, index| {
            let kept: &'static [u8] = Box::leak(data.to_vec().into_boxed_slice());
            Face::of(kept, index, true)
        });
        let face = read.flatten().map(|face| &*Box::leak(Box::new(face)));
        self.faces.insert(id, face);
        face
    }
}

/// Whether a font draws a character with an outline: pictures in colours are no type.
fn outlined(data: &[u8], index: u32, c: char) -> bool {
    let Some(face) = rustybuzz::Face::from_slice(data, index) else { return false };
    face.glyph_index(c).is_some_and(|glyph| c.is_whitespace() || face.glyph_bounding_box(glyph).is_some())
}
