//! Tables on paper: each cell under the heading that it stands flush with.
use super::{Paper, Text};

/// A table that was read: its rows, each cell by its heading.
pub struct Table {
    heads: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// The cells under a heading.
    #[track_caller]
    pub fn column(&self, head: &str) -> Vec<&str> {
        let at = self.at(head);
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    /// A cell by its row's first cell and its heading.
    #[track_caller]
    pub fn cell(&self, row: &str, head: &str) -> &str {
        let found: Vec<_> = self.rows.iter().filter(|cells| cells[0] == row).collect();
        assert_eq!(found.len(), 1, "{} rows are called {row:?}: {:?}", found.len(), self.rows);
        &found[0][self.at(head)]
    }

    fn at(&self, head: &str) -> usize {
        self.heads.iter().position(|known| known == head).unwrap_or_else(|| panic!("no column {head:?}"))
    }
}

impl Paper {
    /// The tables with these headings, in reading order, one for each page where a table goes on.
    pub fn tables(&self, heads: &[&str]) -> Vec<Table> {
        let firsts = self.texts.iter().filter(|text| text.bold && text.says == heads[0]);
        let lines = firsts.filter_map(|first| {
            let beside = |head: &&str| {
                let mut same = self.texts.iter().filter(|text| {
                    text.page == first.page
                        && text.bold
                        && text.says == **head
                        && (text.y - first.y).abs() < 0.01
                });
                same.next()
            };
            heads.iter().map(beside).collect::<Option<Vec<&Text>>>()
        });
        lines.map(|line| self.below_heads(heads, &line)).collect()
    }

    /// The only table with these headings.
    #[track_caller]
    pub fn table(&self, heads: &[&str]) -> Table {
        let mut found = self.tables(heads);
        assert_eq!(found.len(), 1, "{} tables are headed {heads:?}:\n{}", found.len(), self.said());
        found.remove(0)
    }

    fn below_heads(&self, heads: &[&str], line: &[&Text]) -> Table {
        let first = line[0];
        // A rule runs below each row, as far across as the table: where they end the table does.
        let from = line.iter().map(|text| text.x).fold(f64::MAX, f64::min);
        let to = line.iter().map(|text| text.right).fold(f64::MIN, f64::max);
        let mut rules: Vec<f64> = self
            .strokes
            .iter()
            .filter(|rule| {
                rule.page == first.page
                    && rule.level()
                    && rule.ends[1] > first.y
                    && rule.ends[0] < from + 0.5
                    && rule.ends[2] > to - 0.5
            })
            .map(|rule| rule.ends[1])
            .collect();
        rules.sort_by(f64::total_cmp);
        let mut rows = Vec::new();
        for pair in rules.windows(2) {
            let within = |text: &&Text| {
                text.page == first.page
                    && text.y > pair[0]
                    && text.y < pair[1]
                    && text.x > from - 8.0
                    // Figures may be larger than the heads, to be read from farther away.
                    && text.points > first.points - 0.01
            };
            let texts: Vec<&Text> = self.texts.iter().filter(within).collect();
            let mut cells = vec![String::new(); heads.len()];
            for text in &texts {
                let Some(at) = line.iter().position(|head| flush(head, text)) else { continue };
                if !cells[at].is_empty() {
                    cells[at].push(' ');
                }
                cells[at].push_str(text.says.trim());
            }
            if cells[0].is_empty() {
                break;
            }
            let lost = texts.iter().find(|text| {
                text.x < to && !line.iter().any(|head| flush(head, text)) && !text.says.trim().is_empty()
            });
            assert!(lost.is_none(), "{lost:?} stands under no heading of {heads:?}");
            rows.push(cells);
        }
        Table { heads: heads.iter().map(|head| (*head).to_owned()).collect(), rows }
    }
}

/// Words stand flush with their heading at the left, figures at the right.
fn flush(head: &Text, text: &Text) -> bool {
    (head.x - text.x).abs() < 0.1 || (head.right - text.right).abs() < 0.1
}
