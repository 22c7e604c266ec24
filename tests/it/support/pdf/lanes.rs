//! What stands at full size in lanes, joined again as a person would who cuts and glues by the words beside each lane.
use super::{POINT, Paper, Text};

/// How wide a lane is, by which it is told from other frames.
const WIDE: f64 = 58.0;

/// One lane: where it stands on its page, and from where to where of the whole it reaches.
#[derive(Clone, Copy, Debug)]
pub struct Lane {
    pub page: usize,
    pub left: f64,
    pub top: f64,
    pub from: f64,
    pub to: f64,
    number: usize,
}

impl Lane {
    fn has(&self, page: usize, x: f64, y: f64) -> bool {
        let end = self.top + self.to - self.from;
        self.page == page
            && (self.left - 0.1..self.left + WIDE + 0.1).contains(&x)
            && (self.top - 0.31..=end + 0.31).contains(&y)
    }
}

/// Lanes that belong together, first to last.
pub struct Strip {
    pub lanes: Vec<Lane>,
}

impl Strip {
    /// How long it is when joined.
    pub fn long(&self) -> f64 {
        self.lanes.last().unwrap().to
    }

    /// Where on the joined strip a place of a page lies, if it lies on it.
    pub fn place(&self, page: usize, x: f64, y: f64) -> Option<f64> {
        let lane = self.lanes.iter().find(|lane| lane.has(page, x, y))?;
        Some(lane.from + y - lane.top)
    }
}

/// The strips of a paper. Each lane but a strip's last says which one is laid on its line, each but the first on which line it
/// is laid; what they say must agree with where they stand.
#[track_caller]
pub fn strips(paper: &Paper) -> Vec<Strip> {
    let mut strips: Vec<Strip> = Vec::new();
    for fill in &paper.fills {
        let [first, end, ..] = fill.areas[..] else { continue };
        let is_line = |area: [f64; 4]| (area[2] - WIDE).abs() < 0.01 && (area[3] - 0.3).abs() < 0.01;
        if fill.areas.len() != 4 || !is_line(first) || !is_line(end) {
            continue;
        }
        let (left, top, below) = (first[0], first[1] + 0.15, end[1] + 0.15);
        let near = |y: f64, text: &&Text| {
            text.page == fill.page && text.x >= left && text.right <= left + WIDE && (text.y - y).abs() < 6.0
        };
        let above = paper.all("Cut here. Lay this edge on line ").into_iter().find(|text| near(top, text));
        let joins = paper.all("Line ").into_iter().find(|text| near(below, text) && text.y > below);
        let number = above.map_or(1, |text| number_in(&text.says, "on line ") + 1);
        if let Some(joins) = joins {
            assert_eq!(joins.says, format!("Line {number}: lane {} begins here", number + 1));
        }
        let from = if number == 1 {
            strips.push(Strip { lanes: Vec::new() });
            0.0
        } else {
            let last = strips.last().unwrap().lanes.last().unwrap();
            assert_eq!(last.number + 1, number, "lane {number} follows lane {}", last.number);
            last.to
        };
        let to = from + below - top;
        strips.last_mut().unwrap().lanes.push(Lane { page: fill.page, left, top, from, to, number });
        // The tab: the edges go on beyond the line, and an arrow on either side points to where the next lane's edge lies.
        let edges = fill.areas[2..].iter().map(|area| area[1] + area[3]).fold(0.0, f64::max);
        let tips: Vec<f64> = paper
            .strokes
            .iter()
            .filter(|line| {
                line.page == fill.page
                    && line.ends[0] > left
                    && line.ends[2] < left + WIDE
                    && (line.ends[0] - line.ends[2]).abs() > 1.4
                    && (line.ends[0] - line.ends[2]).abs() < 1.6
                    && line.ends[1] > line.ends[3]
                    && (line.ends[3] - below).abs() < 3.0
            })
            .map(|line| line.ends[3] - below)
            .collect();
        match joins {
            Some(_) => {
                assert!((edges - below - 8.0).abs() < 0.2, "the tab is {:.2} mm", edges - below);
                assert!(
                    tips.len() == 4 && tips.iter().all(|tip| (0.3..1.0).contains(tip)),
                    "joining marks stand at {tips:?} below line {number}"
                );
            }
            None => assert!((edges - below).abs() < 0.2, "the last lane has no tab"),
        }
    }
    strips
}

fn number_in(text: &str, before: &str) -> usize {
    let rest = text.split(before).nth(1).unwrap_or_else(|| panic!("{text:?}"));
    rest.chars().take_while(char::is_ascii_digit).collect::<String>().parse().unwrap()
}

/// The bars that show whether a printer kept the scale: on each page one of 100 mm and one of 4 in, each by its name.
#[track_caller]
pub fn bars(paper: &Paper) {
    for page in 0..paper.pages.len() {
        for (name, long) in [("100 mm", 100.0), ("4 in", 101.6)] {
            let label = paper.texts.iter().find(|text| text.page == page && text.says == name);
            let label = label.unwrap_or_else(|| panic!("page {page} has no bar of {name}"));
            let middle = f64::midpoint(label.x, label.right);
            let bar = paper.fills.iter().filter(|fill| fill.page == page).find(|fill| {
                let [x, y, w, h] = fill.areas[0];
                let below = y > label.y && y < label.y + label.points * POINT;
                below && h < 1.0 && (x..x + w).contains(&middle)
            });
            let bar = bar.unwrap_or_else(|| panic!("no bar stands below {name} on page {page}"));
            let right = bar.areas.iter().map(|area| area[0] + area[2]).fold(0.0, f64::max);
            let left = bar.areas.iter().map(|area| area[0]).fold(f64::MAX, f64::min);
            assert!((right - left - long).abs() < 0.005, "the bar of {name} is {:.3} mm long", right - left);
        }
    }
}
