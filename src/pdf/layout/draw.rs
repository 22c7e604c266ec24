//! What can be drawn on a page, and how it is: text, areas, lines, circles. Millimetres become points here.
use krilla::color::{luma, rgb};
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;

use super::text::{Line, POINT};

/// A drawn thing.
#[derive(Clone)]
pub(in crate::pdf) enum Mark {
    /// Text by its left end and baseline.
    Text { x: f64, y: f64, line: Line },
    /// A filled area of rectangles: left, top, width, height.
    Fill { areas: Vec<[f64; 4]>, grey: u8 },
    /// A rectangle filled with a colour: red, green, blue.
    Tint { area: [f64; 4], rgb: [u8; 3] },
    /// Lines, each from one point to another.
    Lines { lines: Vec<[f64; 4]>, weight: f64, dash: Option<[f64; 2]> },
    /// A circle's outline.
    Circle { x: f64, y: f64, radius: f64, weight: f64 },
    /// A line of one weight and grey from point to point.
    Way { way: Vec<[f64; 2]>, weight: f64, grey: u8, dash: Option<[f64; 2]> },
}

impl Mark {
    /// The same, so much further across and down.
    pub(in crate::pdf) fn moved(self, [across, down]: [f64; 2]) -> Self {
        let area = |[x, y, w, h]: [f64; 4]| [x + across, y + down, w, h];
        match self {
            Self::Text { x, y, line } => Self::Text { x: x + across, y: y + down, line },
            Self::Fill { areas, grey } => Self::Fill { areas: areas.into_iter().map(area).collect(), grey },
            Self::Tint { area: of, rgb } => Self::Tint { area: area(of), rgb },
            Self::Lines { lines, weight, dash } => {
                let line = |[x1, y1, x2, y2]: [f64; 4]| [x1 + across, y1 + down, x2 + across, y2 + down];
                Self::Lines { lines: lines.into_iter().map(line).collect(), weight, dash }
            }
            Self::Circle { x, y, radius, weight } => {
                Self::Circle { x: x + across, y: y + down, radius, weight }
            }
            Self::Way { way, weight, grey, dash } => {
                let way = way.into_iter().map(|[x, y]| [x + across, y + down]).collect();
                Self::Way { way, weight, grey, dash }
            }
        }
    }
}

fn points(mm: f64) -> f32 {
    (mm / POINT) as f32
}

fn filled(grey: u8) -> Fill {
    Fill { paint: luma::Color::new(grey).into(), ..Fill::default() }
}

fn path(build: impl FnOnce(&mut PathBuilder)) -> Option<Path> {
    let mut builder = PathBuilder::new();
    build(&mut builder);
    builder.finish()
}

pub(in crate::pdf) fn draw(surface: &mut Surface<'_>, mark: &Mark) {
    match mark {
        Mark::Text { x, y, line } => {
            surface.set_stroke(None);
            surface.set_fill(Some(filled(0)));
            let mut x = *x;
            for piece in &line.pieces {
                let start = Point::from_xy(points(x), points(*y));
                surface.draw_glyphs(
                    start,
                    &piece.glyphs,
                    piece.font(),
                    &piece.text,
                    line.points as f32,
                    false,
                );
                x += piece.width * line.points * POINT;
            }
        }
        Mark::Fill { areas, grey } => {
            surface.set_stroke(None);
            surface.set_fill(Some(filled(*grey)));
            let shape = path(|to| {
                for [x, y, w, h] in areas {
                    if let Some(rect) = Rect::from_xywh(points(*x), points(*y), points(*w), points(*h)) {
                        to.push_rect(rect);
                    }
                }
            });
            if let Some(shape) = shape {
                surface.draw_path(&shape);
            }
        }
        Mark::Tint { area: [x, y, w, h], rgb: [red, green, blue] } => {
            surface.set_stroke(None);
            let paint = rgb::Color::new(*red, *green, *blue).into();
            surface.set_fill(Some(Fill { paint, ..Fill::default() }));
            let rect = Rect::from_xywh(points(*x), points(*y), points(*w), points(*h));
            if let Some(shape) = rect.and_then(|rect| path(|to| to.push_rect(rect))) {
                surface.draw_path(&shape);
            }
        }
        Mark::Lines { lines, weight, dash } => {
            stroke(surface, *weight, 0, *dash);
            let shape = path(|to| {
                for [x1, y1, x2, y2] in lines {
                    to.move_to(points(*x1), points(*y1));
                    to.line_to(points(*x2), points(*y2));
                }
            });
            if let Some(shape) = shape {
                surface.draw_path(&shape);
            }
        }
        Mark::Way { way, weight, grey, dash } => {
            stroke(surface, *weight, *grey, *dash);
            let shape = path(|to| {
                for (at, [x, y]) in way.iter().enumerate() {
                    if at == 0 {
                        to.move_to(points(*x), points(*y));
                    } else {
                        to.line_to(points(*x), points(*y));
                    }
                }
            });
            if let Some(shape) = shape {
                surface.draw_path(&shape);
            }
        }
        Mark::Circle { x, y, radius, weight } => {
            stroke(surface, *weight, 0, None);
            // Four cubic arcs; the handle's length is the usual 4/3 (√2 − 1).
            let (r, k) = (*radius, radius * 0.552_284_75);
            let shape = path(|to| {
                to.move_to(points(x + r), points(*y));
                for [ax, ay, bx, by, cx, cy] in [
                    [r, k, k, r, 0.0, r],
                    [-k, r, -r, k, -r, 0.0],
                    [-r, -k, -k, -r, 0.0, -r],
                    [k, -r, r, -k, r, 0.0],
                ] {
                    to.cubic_to(
                        points(x + ax),
                        points(y + ay),
                        points(x + bx),
                        points(y + by),
                        points(x + cx),
                        points(y + cy),
                    );
                }
                to.close();
            });
            if let Some(shape) = shape {
                surface.draw_path(&shape);
            }
        }
    }
}

fn stroke(surface: &mut Surface<'_>, weight: f64, grey: u8, dash: Option<[f64; 2]>) {
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint: luma::Color::new(grey).into(),
        width: points(weight),
        line_join: LineJoin::Round,
        opacity: NormalizedF32::ONE,
        dash: dash.map(|[on, off]| StrokeDash { array: vec![points(on), points(off)], offset: 0.0 }),
        ..Stroke::default()
    }));
}
