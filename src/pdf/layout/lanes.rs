//! Something long at full size, cut into lanes that stand side by side on as many pages as it takes, with joining marks:
//! each lane ends in a line and a tab beyond it, and the next lane's first edge is laid on that line.
use super::flow::Paper;
use super::text::{POINT, Weight};

/// How wide a lane is.
pub const WIDE: f64 = 58.0;
/// What stays free between two lanes, for the scissors.
const BETWEEN: f64 = 8.0;
/// The tab below a lane's last line, on which the next lane is glued.
const TAB: f64 = 8.0;
/// How far a joint stays from a place, and how much of a lane is given up for it.
const CLEAR: f64 = 3.0;
const BACK: f64 = 40.0;
/// The shortest lane that is worth beginning on a page that is used already.
const LEAST: f64 = 40.0;
/// The shortest last lane of several, so that it has room for its words: the one before gives way.
const LAST: f64 = 60.0;
/// What stands above a lane: where its edge is laid.
const EDGE: f64 = 4.0;
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

/// Where a lane that may reach `most` ends: there, or before a place that would lie on the joint; between two places where
/// they stand too close for more.
fn clear(from: f64, most: f64, places: &[f64]) -> f64 {
    let close = |at: f64| places.iter().map(|place| (place - at).abs()).fold(f64::MAX, f64::min);
    if close(most) >= CLEAR {
        return most;
    }
    let near: Vec<f64> = places.iter().copied().filter(|p| (most - BACK..most + CLEAR).contains(p)).collect();
    let before = near.iter().map(|place| place - CLEAR);
    let between = near.windows(2).map(|pair| f64::midpoint(pair[0], pair[1]));
    let ends = before.chain(between).filter(|end| (from + CLEAR..=most).contains(end));
    // The clearest of them; of those that are clear enough the farthest.
    let worth = |end: f64| (close(end).min(CLEAR - 1e-6), end);
    ends.max_by(|a, b| worth(*a).partial_cmp(&worth(*b)).unwrap_or(std::cmp::Ordering::Equal)).unwrap_or(most)
}

impl Paper {
    /// Draws something `long` millimetres long from the top down, lane by lane, below what stands on the page already. `draw`
    /// draws what one lane shows; edges and joining marks are drawn here. No lane ends close to one of the `places`, in order,
    /// so that scissors and glue stay clear of them. No lane is begun for what lies beyond `least`.
    pub fn lanes(
        &mut self,
        (least, long): (f64, f64),
        places: &[f64],
        mut draw: impl FnMut(&mut Self, Lane),
    ) {
        let across = ((self.wide() + BETWEEN) / (WIDE + BETWEEN)).floor().max(1.0) as usize;
        if self.bottom() - self.y - TAB < LEAST {
            self.page_break();
            self.y += EDGE;
        }
        let (mut from, mut number, mut column) = (0.0, 1, 0);
        let mut top = self.y;
        while from < least {
            if column == across {
                self.page_break();
                (column, top) = (0, self.y + EDGE);
            }
            let room = self.bottom() - top - TAB;
            let rest = least - from - room;
            let room = if rest > 0.0 && rest < LAST { (room + rest - LAST).max(room / 2.0) } else { room };
            let lane = Lane {
                left: self.left + (WIDE + BETWEEN) * column as f64,
                top,
                from,
                to: if from + room >= long { long } else { clear(from, from + room, places) },
            };
            self.edges(lane, number, lane.to >= least);
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
        let across = |y: f64| [left, y - LINE / 2.0, WIDE, LINE];
        let mut lines = vec![across(top), across(end)];
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
