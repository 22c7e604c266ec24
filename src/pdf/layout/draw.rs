//! What can be drawn on a page, and how it is: text, areas, lines, circles. Millimetres become points here.
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;

use super::text::{Line, POINT};

/// A drawn thing.
#[derive(Clone)]
pub(in crate::pdf) enum Mark {
    /// Text by its left end and baseline.
    Text { x: f64, y: f64, line: Line },
    /// A filled area of rectangles: left, top, width, height.
    Fill { areas: Vec<[f64; 4]>, grey: u8 },
    /// Lines, each from one point to another.
    Lines { lines: Vec<[f64; 4]>, weight: f64, dash: Option<[f64; 2]> },
    /// A circle's outline.
    Circle { x: f64, y: f64, radius: f64, weight: f64 },
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
        Mark::Lines { lines, weight, dash } => {
            stroke(surface, *weight, *dash);
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
        Mark::Circle { x, y, radius, weight } => {
            stroke(surface, *weight, None);
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

fn stroke(surface: &mut Surface<'_>, weight: f64, dash: Option<[f64; 2]>) {
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint: luma::Color::black().into(),
        width: points(weight),
        opacity: NormalizedF32::ONE,
        dash: dash.map(|[on, off]| StrokeDash { array: vec![points(on), points(off)], offset: 0.0 }),
        ..Stroke::default()
    }));
}
