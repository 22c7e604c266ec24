//! What the buttons of the board do to the chart of the band at hand. The chart is the form's own field, as it is typed there.
use crate::planning::chart::Chart;
use crate::planning::letters::words;
use crate::web::Form;

/// Fields of the board beside the chart: how large it is to be, and letters for it with the rows of each of their lines.
pub(super) const ACROSS: &str = "chart_across";
pub(super) const HIGH: &str = "chart_high";
pub(super) const LETTERS: &str = "chart_letters";
pub(super) const LETTER_ROWS: &str = "chart_letter_rows";
/// What is wrong with them, in words: said at the board, where the rug itself can be planned all the same.
pub(super) const WRONG_SIZE: &str = "chart_size_wrong";
pub(super) const WRONG_LETTERS: &str = "chart_letters_wrong";

/// A chart as its three fields have it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct TypedChart {
    pub lines: String,
    pub right: String,
    pub up: String,
}

impl TypedChart {
    /// The chart; nothing where there is none, or where it can't be read.
    fn read(&self) -> Option<Chart> {
        let by = |text: &str| text.trim().parse::<u16>().map_or(0, i64::from);
        Some(Chart::parse(&self.lines).ok()?.moved(by(&self.right), by(&self.up)))
    }

    fn of(chart: &Chart) -> Self {
        let moved = chart.moved_by().map(|by| if by == 0 { String::new() } else { by.to_string() });
        let [right, up] = moved;
        Self { lines: chart.lines().join("\n"), right, up }
    }

    /// End for end, as its band lies after the rug was turned.
    pub(super) fn flipped(&self) -> Self {
        self.read().map_or_else(|| self.clone(), |chart| Self::of(&chart.flipped()))
    }
}

/// The chart after a button of the board; nothing where it can't be done, with what is wrong in the form.
pub(super) fn changed(act: &str, now: &TypedChart, form: &mut Form) -> Option<TypedChart> {
    let after = match act {
        "chart-none" => return Some(TypedChart::default()),
        "chart-size" => {
            let whole = |name: &str, most: usize| {
                form.value(name).trim().parse::<usize>().ok().filter(|size| (1..=most).contains(size))
            };
            let size = whole(ACROSS, Chart::MOST_ACROSS).zip(whole(HIGH, Chart::MOST_ROWS));
            let Some((across, high)) = size else {
                let (across, high) = (Chart::MOST_ACROSS, Chart::MOST_ROWS);
                let words =
                    format!("Give whole numbers: from 1 to {across} units and from 1 to {high} rows.");
                form.set(WRONG_SIZE, words);
                return None;
            };
            sized(now.read().as_ref(), across, high)?
        }
        "chart-letters" => {
            let rows = form.value(LETTER_ROWS).parse().unwrap_or(2);
            match words(form.value(LETTERS), rows) {
                Ok(chart) => chart,
                Err(refusal) => {
                    form.set(WRONG_LETTERS, refusal);
                    return None;
                }
            }
        }
        _ => {
            let chart = now.read()?;
            match act {
                "chart-mirror" => chart.mirrored(),
                "chart-flip" => chart.flipped(),
                "chart-swap" => chart.exchanged(),
                "chart-across" => chart.twice_across(),
                "chart-above" => chart.twice_up(),
                "chart-left" => chart.moved(-1, 0),
                "chart-right" => chart.moved(1, 0),
                "chart-up" => chart.moved(0, 1),
                "chart-down" => chart.moved(0, -1),
                _ => return None,
            }
        }
    };
    Some(TypedChart::of(&after))
}

/// The chart made so wide and high: cut off at the right and the top, or filled with the first strand's colour.
fn sized(chart: Option<&Chart>, across: usize, high: usize) -> Option<Chart> {
    let mut lines = chart.map_or_else(Vec::new, Chart::lines);
    lines.reverse();
    lines.resize(high, String::new());
    lines.reverse();
    let fitted: Vec<String> =
        lines.iter().map(|line| line.chars().chain(std::iter::repeat('.')).take(across).collect()).collect();
    let [right, up] = chart.map_or([0, 0], Chart::moved_by);
    Some(Chart::parse(&fitted.join("\n")).ok()?.moved(right.into(), up.into()))
}
