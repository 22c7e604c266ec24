//! Something long at full size, cut into lanes that stand side by side on as many pages as it takes, with joining marks:
//! each lane ends in a line and a tab beyond it, and the next lane's first edge is laid on that line.
use super::flow::Paper;
use super::text::{POINT, Weight};

/// How wide a lane is.
pub const WIDE: f64 = 58.0;
/// What stays free between two lanes, for the scissors.
pub const BETWEEN: f64 = 8.0;
/// The tab below a lane's last line, on which the next lane is glued.
const TAB: f64 = 8.0;
/// The weight of the lines at which lanes are joined.
const LINE: f64 = 0.3;

/// One lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lane {
    /// Its left edge on the page.
    pub left: f64,
    /// Its upper edge on the page.
    pub top: f64,
    /// What of the long thing it shows: from here,
    pub from: f64,
    /// to here.
    pub to: f64,
}

impl Lane {
    /// Where on the page a place of the long thing lies, if the lane shows it.
    pub fn y(&self, place: f64) -> f64 {
        self.top + place - self.from
    }

    /// Whether a place lies within; one on the joint belongs to the lane that begins there.
    pub fn shows(&self, place: f64) -> bool {
        (self.from..self.to).contains(&place)
    }
}

impl Paper {
    /// Draws something `long` millimetres long from the top down, lane by lane, below what stands on the page already. `draw`
    /// draws what one lane shows; edges and joining marks are drawn here.
    pub fn lanes(&mut self, long: f64, mut draw: impl FnMut(&mut Self, Lane)) {
        let across = ((self.wide() + BETWEEN) / (WIDE + BETWEEN)).floor().max(1.0) as usize;
        let (mut from, mut number, mut column) = (0.0, 1, 0);
        let mut top = self.y;
        while from < long {
            if column == across {
                self.turn();
                (column, top) = (0, self.y + 4.0);
            }
            let room = self.bottom() - top - TAB;
            let lane = Lane {
                left: self.left + (WIDE + BETWEEN) * column as f64,
                top,
                from,
                to: long.min(from + room),
            };
            self.edges(lane, number, lane.to >= long);
            draw(self, lane);
            from = lane.to;
            number += 1;
            column += 1;
        }
        self.y = self.bottom();
    }

    fn edges(&mut self, lane: Lane, number: usize, last: bool) {
        let (left, right) = (lane.left, lane.left + WIDE);
        let (top, end) = (lane.top, lane.y(lane.to));
        let points = 7.5;
        // The lines' middles are the places.
        let line = |y: f64| [left, y - LINE / 2.0, WIDE, LINE];
        let mut lines = vec![line(top), line(end)];
        let below = if last { end } else { end + TAB };
        for x in [left, right] {
            lines.push([x - 0.1, top, 0.2, below - top]);
        }
        self.sheet.fill(lines, 0);
        if number > 1 {
            let words = format!("Cut here. Lay this edge on line {}.", number - 1);
            self.sheet.text(left + 1.0, top - 1.0, &words, points, Weight::Regular);
        }
        if !last {
            self.sheet.rule([left, below, right, below], 0.2);
            let words = format!("Line {number}: lane {} begins here", number + 1);
            let points = points.min(8.0);
            self.sheet.text(left + 15.0, end + points * POINT + 2.0, &words, points, Weight::Bold);
            // An arrow on either side of the line, to see that the two edges meet.
            for x in [left + 5.0, right - 5.0] {
                self.sheet.lines(
                    vec![[x - 1.5, end + 3.5, x, end + 0.6], [x + 1.5, end + 3.5, x, end + 0.6]],
                    0.3,
                    None,
                );
            }
        }
    }
}
