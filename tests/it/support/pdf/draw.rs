//! What a page's operators draw (ISO 32000-1, 8 and 9): texts, filled rectangles, lines, circles.
use std::collections::HashMap;

use hayro_syntax::object::{Name, Object};
use hayro_syntax::page::Page;

use super::fonts::Font;
use super::{POINT, Text};

/// Rectangles that are filled at once: left, top, width, height.
#[derive(Clone, Debug, PartialEq)]
pub struct Fill {
    pub page: usize,
    pub areas: Vec<[f64; 4]>,
    /// 0 is black, 1 white.
    pub grey: f64,
}

/// A line from a point to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    pub page: usize,
    pub ends: [f64; 4],
    pub weight: f64,
    pub dashed: bool,
}

impl Stroke {
    pub fn level(&self) -> bool {
        (self.ends[1] - self.ends[3]).abs() < 0.01
    }
}

/// A circle's outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Circle {
    pub page: usize,
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

#[derive(Default)]
pub struct Drawn {
    pub texts: Vec<Text>,
    pub fills: Vec<Fill>,
    pub strokes: Vec<Stroke>,
    pub circles: Vec<Circle>,
}

#[derive(Clone)]
struct State {
    /// From what is written to points of the page: a b c d e f.
    to_page: [f64; 6],
    grey: f64,
    weight: f64,
    dashed: bool,
    font: Vec<u8>,
    points: f64,
}

fn six(matrix: &[f64]) -> [f64; 6] {
    matrix.try_into().expect("a matrix has six numbers")
}

/// One matrix after another.
fn after(a: [f64; 6], b: [f64; 6]) -> [f64; 6] {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    ]
}

/// A path so far: its corners, and whether any part of it is bent.
#[derive(Default)]
struct Path {
    parts: Vec<Vec<[f64; 2]>>,
    bent: bool,
}

struct Reader<'a> {
    number: usize,
    high: f64,
    drawn: &'a mut Drawn,
    state: State,
    kept: Vec<State>,
    path: Path,
    text: [f64; 6],
    fonts: HashMap<Vec<u8>, Font>,
}

/// Adds what this page draws; `high` is its height in points.
pub fn read(page: &Page<'_>, number: usize, high: f64, drawn: &mut Drawn) {
    let state = State {
        to_page: [1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
        grey: 0.0,
        weight: 1.0,
        dashed: false,
        font: Vec::new(),
        points: 0.0,
    };
    let mut reader = Reader {
        number,
        high,
        drawn,
        state,
        kept: Vec::new(),
        path: Path::default(),
        text: [1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
        fonts: HashMap::new(),
    };
    for name in page.resources().fonts.keys() {
        let dict = page.resources().get_font(&name).unwrap();
        reader.fonts.insert(name.as_ref().to_vec(), Font::read(&dict));
    }
    let mut operations = page.operations();
    while let Some(one) = operations.next() {
        let operands: Vec<Object<'_>> = one.operands().cloned().collect();
        reader.step(one.operator, &operands);
    }
}

impl Reader<'_> {
    fn place(&self, x: f64, y: f64) -> [f64; 2] {
        let m = self.state.to_page;
        let (px, py) = (x * m[0] + y * m[2] + m[4], x * m[1] + y * m[3] + m[5]);
        [px * POINT, (self.high - py) * POINT]
    }

    fn step(&mut self, operator: &[u8], operands: &[Object<'_>]) {
        let numbers: Vec<f64> = operands
            .iter()
            .filter_map(|one| if let Object::Number(n) = one { Some(n.as_f64()) } else { None })
            .collect();
        match (operator, numbers.as_slice()) {
            (b"q", _) => self.kept.push(self.state.clone()),
            (b"Q", _) => self.state = self.kept.pop().expect("as many q as Q"),
            (b"cm", matrix) => self.state.to_page = after(six(matrix), self.state.to_page),
            (b"g", &[grey]) => self.state.grey = grey,
            // How light a colour is, about.
            (b"rg", &[red, green, blue]) => self.state.grey = 0.2126 * red + 0.7152 * green + 0.0722 * blue,
            (b"w", &[weight]) => self.state.weight = weight,
            (b"d", _) => {
                let Some(Object::Array(dash)) = operands.first() else { panic!("a dash is a list") };
                self.state.dashed = dash.iter::<Object<'_>>().next().is_some();
            }
            (b"m", &[x, y]) => {
                let at = self.place(x, y);
                self.path.parts.push(vec![at]);
            }
            (b"l", &[x, y]) => self.corner(x, y),
            (b"c", &[_, _, _, _, x, y]) => {
                self.path.bent = true;
                self.corner(x, y);
            }
            (b"re", &[x, y, w, h]) => {
                let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
                let part = corners.map(|(x, y)| self.place(x, y)).to_vec();
                self.path.parts.push(part);
            }
            (b"f" | b"f*", _) => self.fill(),
            (b"S" | b"s", _) => self.stroke(),
            (b"n", _) => self.path = Path::default(),
            (b"BT", _) => self.text = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            (b"Tf", &[points]) => {
                let Some(Object::Name(name)) = operands.first() else { panic!("a font has a name") };
                (self.state.font, self.state.points) = (Name::as_ref(name).to_vec(), points);
            }
            (b"Tm", matrix) => self.text = six(matrix),
            (b"Tj" | b"TJ", _) => self.show(operands),
            // Marks of what belongs together, closing a path, and how ends of lines look: nothing that has a place.
            (
                b"BDC" | b"BMC" | b"EMC" | b"ET" | b"Tr" | b"h" | b"gs" | b"cs" | b"CS" | b"G" | b"J" | b"j"
                | b"M" | b"i" | b"ri",
                _,
            ) => {}
            (other, _) => panic!("the operator {} isn't read", String::from_utf8_lossy(other)),
        }
    }

    fn corner(&mut self, x: f64, y: f64) {
        let at = self.place(x, y);
        self.path.parts.last_mut().expect("a line begins somewhere").push(at);
    }

    fn fill(&mut self) {
        let path = std::mem::take(&mut self.path);
        assert!(!path.bent, "only rectangles are filled");
        let areas = path.parts.iter().map(|part| {
            let [left, top, right, below] = around(part);
            [left, top, right - left, below - top]
        });
        let areas = areas.collect();
        self.drawn.fills.push(Fill { page: self.number, areas, grey: self.state.grey });
    }

    fn stroke(&mut self) {
        let path = std::mem::take(&mut self.path);
        for part in path.parts {
            if path.bent {
                let [left, top, right, below] = around(&part);
                let (x, y) = (f64::midpoint(left, right), f64::midpoint(top, below));
                self.drawn.circles.push(Circle { page: self.number, x, y, radius: (right - left) / 2.0 });
                continue;
            }
            for pair in part.windows(2) {
                let ends = [pair[0][0], pair[0][1], pair[1][0], pair[1][1]];
                let (weight, dashed) = (self.state.weight * POINT, self.state.dashed);
                self.drawn.strokes.push(Stroke { page: self.number, ends, weight, dashed });
            }
        }
    }

    fn show(&mut self, operands: &[Object<'_>]) {
        let font = &self.fonts[&self.state.font];
        let (mut says, mut wide) = (String::new(), 0.0);
        let mut one = |object: &Object<'_>| match object {
            Object::String(glyphs) => {
                for pair in glyphs.as_bytes().chunks_exact(2) {
                    let glyph = u16::from_be_bytes(pair.try_into().unwrap());
                    says.push_str(font.letter(glyph));
                    wide += font.width(glyph);
                }
            }
            Object::Number(back) => wide -= back.as_f64(),
            other => panic!("{other:?} isn't text"),
        };
        for operand in operands {
            match operand {
                Object::Array(list) => list.iter::<Object<'_>>().for_each(|object| one(&object)),
                other => one(other),
            }
        }
        let m = after(self.text, self.state.to_page);
        assert!(m[0] > 0.0 && m[3] > 0.0 && m[1] == 0.0 && m[2] == 0.0, "text stands upright");
        let along = wide / 1000.0 * self.state.points;
        let (x, y) = (m[4] * POINT, (self.high - m[5]) * POINT);
        let right = x + along * m[0] * POINT;
        let points = self.state.points * m[3];
        self.drawn.texts.push(Text {
            page: self.number,
            says,
            x,
            right,
            y,
            points,
            bold: font.bold,
            spaced: false,
        });
        self.text[4] += along * self.text[0];
    }
}

/// Left, top, right, bottom of corners.
fn around(part: &[[f64; 2]]) -> [f64; 4] {
    part.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[left, top, right, below], [x, y]| {
        [left.min(*x), top.min(*y), right.max(*x), below.max(*y)]
    })
}

/// Pieces that continue each other on one line, as where the font changes for a letter.
pub fn joined(pieces: Vec<Text>) -> Vec<Text> {
    let mut texts: Vec<Text> = Vec::new();
    for piece in pieces {
        match texts.last_mut() {
            Some(last)
                if last.page == piece.page
                    && (last.y - piece.y).abs() < 0.02
                    && (last.right - piece.x).abs() < 0.05
                    && (last.points - piece.points).abs() < 0.01 =>
            {
                last.says.push_str(&piece.says);
                last.right = piece.right;
            }
            _ => texts.push(piece),
        }
    }
    texts
}
