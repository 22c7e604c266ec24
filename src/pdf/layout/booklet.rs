//! A booklet: half pages laid two on each side of a sheet, so that they follow each other once the sheets are printed on both sides,
//! turned on the short edge, laid into each other and folded in the middle.
use super::sheet::{Link, Page, Sheet, Size};

/// Which pages of a booklet lie on each side of its sheets, left and right, counted from 1: front and back of the outermost sheet, then
/// of the next. The last numbers may be beyond the pages that there are: those places stay empty.
///
/// # Examples
/// ```
/// use thrumhall::pdf::imposition;
///
/// assert_eq!(imposition(4), [[4, 1], [2, 3]]);
/// assert_eq!(imposition(7), [[8, 1], [2, 7], [6, 3], [4, 5]]);
/// ```
pub fn imposition(pages: usize) -> Vec<[usize; 2]> {
    let all = pages.next_multiple_of(4);
    let sheet = |k: usize| [[all - 2 * k, 2 * k + 1], [2 * k + 2, all - 2 * k - 1]];
    (0..all / 4).flat_map(sheet).collect()
}

impl Sheet {
    /// An empty document of half pages, to be folded; its first page is there.
    pub fn half(title: &str, size: Size) -> Self {
        let (short, long) = size.sides();
        Self { wide: long / 2.0, high: short, ..Self::new(title, size, false) }
    }

    /// These half pages as a booklet on sheets of a size. What is heard keeps the order of the pages.
    pub fn folded(self, size: Size) -> Self {
        let half = self.wide;
        let mut pages: Vec<Option<Page>> = self.pages.into_iter().map(Some).collect();
        let places = imposition(pages.len());
        let face = |places: [usize; 2]| {
            let mut whole = Page::default();
            for (place, across) in places.into_iter().zip([0.0, half]) {
                let Some(page) = pages.get_mut(place - 1).and_then(Option::take) else { continue };
                let moved = page.marks.into_iter().map(|(part, mark)| (part, mark.moved([across, 0.0])));
                whole.marks.extend(moved);
                whole.links.extend(page.links.into_iter().map(|link| {
                    let [x, y, w, h] = link.area;
                    Link { area: [x + across, y, w, h], ..link }
                }));
            }
            whole
        };
        let sides = places.into_iter().map(face).collect();
        let (short, long) = size.sides();
        Self { wide: long, high: short, pages: sides, ..self }
    }
}
