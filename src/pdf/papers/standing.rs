//! What stands first on a rug's cards: the next step, large, the row that is reached, and which colours run short.
use crate::pdf::LARGE;
use crate::pdf::layout::flow::{LEADING, Paper};
use crate::pdf::layout::text::{POINT, Weight, wrap};
use crate::services::paper_data::Standing;

/// The size of the next step in points.
const NEXT: f64 = 17.0;

impl Paper {
    /// The next step in a box, and below it how far the rug is; nothing where there is nothing to do and nothing done.
    pub fn standing(&mut self, standing: &Standing) {
        let next = standing.next.as_ref().map(|(when, what)| {
            let over = if when.is_empty() { "Next".to_owned() } else { format!("Next, {when}") };
            (over, capitalized(what))
        });
        let below: Vec<String> = standing
            .reached
            .iter()
            .cloned()
            .chain(standing.short.iter().map(|said| capitalized(said)))
            .collect();
        if next.is_none() && below.is_empty() {
            return;
        }
        let below = below.join(" ");
        let (pad, points) =
            (self.ems(0.7), NEXT.max(if self.points >= LARGE { self.points * 1.2 } else { 0.0 }));
        let most = self.wide() - 2.0 * pad;
        let lines = |text: &str, points: f64, weight| {
            if text.is_empty() {
                0.0
            } else {
                wrap(text, points, weight, most).len() as f64 * points * POINT * LEADING
            }
        };
        let of_next = next.as_ref().map_or(0.0, |(over, what)| {
            lines(over, self.points, Weight::Bold) + lines(what, points, Weight::Bold)
        });
        let high = of_next + lines(&below, self.points * 1.1, Weight::Regular) + 2.0 * pad;
        self.reserve(high);
        let (top, left, right) = (self.y, self.left, self.right);
        self.sheet.frame([left, top, self.wide(), high], 0.8);
        (self.left, self.right, self.y) = (left + pad, right - pad, top + pad * 0.85);
        if let Some((over, what)) = next {
            self.paragraph(&over, 1.0, Weight::Bold);
            self.paragraph(&what, points / self.points, Weight::Bold);
        }
        if !below.is_empty() {
            self.paragraph(&below, 1.1, Weight::Regular);
        }
        (self.left, self.right, self.y) = (left, right, top + high);
        self.gap(0.8);
    }
}

/// A step or a colour as a sentence begins.
fn capitalized(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
