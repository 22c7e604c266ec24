//! Cloth that is promised: share-outs, what each found, and how far each promise is.
use super::state::State;

/// What pages show of a weight is rounded to half an ounce: by so many milligrams, a quarter of one, it may differ.
pub const ROUNDED: i64 = 7_088;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Far {
    Proposed,
    Accepted,
    SetAside,
}

impl Far {
    pub fn word(self) -> &'static str {
        ["proposed", "accepted", "dropped"][self as usize]
    }
}

pub struct ShareOut {
    pub id: String,
    pub by: usize,
    /// Those it was asked for that were planned or on a frame then.
    pub rugs: Vec<usize>,
    /// From at most so many bundles each colour takes.
    pub most: usize,
    /// How far off a colour may be.
    pub most_off: i64,
    pub state: Far,
    /// What its rugs had already when it was worked out: of which rug, of which colour, how much.
    pub had: Vec<(usize, String, i64)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    Proposed,
    Stands,
    Released,
}

/// So much of a bundle for a part of a rug. Only the service finds it; all that follows is the model's.
pub struct Promise {
    pub id: String,
    pub share_out: usize,
    pub rug: usize,
    /// Where the part stands among those of its share-out, and its colour; the warp has none.
    pub part: (usize, String),
    pub bundle: usize,
    pub mg: i64,
    /// Whether it was kept on purpose.
    pub kept: bool,
    pub holds: Holds,
    /// The entries of the bundle by which it was pulled, and by which the rest came back.
    pub pull: Option<usize>,
    pub back: Option<usize>,
}

impl State {
    fn entry_of(&self, promise: usize, entry: Option<usize>) -> Option<i64> {
        let bundle = &self.bundles[self.promises[promise].bundle];
        entry.filter(|&entry| !bundle.reversed(entry)).map(|entry| bundle.entries[entry].change)
    }

    /// What was pulled for it; nothing once that was undone.
    pub fn pulled(&self, promise: usize) -> Option<i64> {
        self.entry_of(promise, self.promises[promise].pull).map(|change| -change)
    }

    /// What of that came back.
    pub fn came_back(&self, promise: usize) -> Option<i64> {
        self.entry_of(promise, self.promises[promise].back)
    }

    /// What each part of these rugs has by now: pulled, and not brought back.
    pub fn had(&self, rugs: &[usize]) -> Vec<(usize, String, i64)> {
        let mut had: Vec<(usize, String, i64)> = Vec::new();
        for (n, it) in self.promises.iter().enumerate() {
            let Some(pulled) = self.pulled(n).filter(|_| self.stands(n) && rugs.contains(&it.rug)) else {
                continue;
            };
            let left = pulled - self.came_back(n).unwrap_or(0);
            match had
                .iter_mut()
                .find(|(rug, colour, _)| (*rug, colour.as_str()) == (it.rug, it.part.1.as_str()))
            {
                Some((_, _, sum)) => *sum += left,
                None => had.push((it.rug, it.part.1.clone(), left)),
            }
        }
        had
    }

    /// Whether it counts: what nobody pulled ends with its rug.
    pub fn stands(&self, promise: usize) -> bool {
        let it = &self.promises[promise];
        it.holds == Holds::Stands && (self.rugs[it.rug].open() || self.pulled(promise).is_some())
    }

    /// Whether it waits to be pulled.
    pub fn waits(&self, promise: usize) -> bool {
        self.stands(promise) && self.pulled(promise).is_none()
    }

    /// All promises in the order of the shelf, those of one bundle by age.
    pub fn by_shelf(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.promises.len()).collect();
        order.sort_by_key(|&n| (self.bundles[self.promises[n].bundle].tag, &self.promises[n].id));
        order
    }

    /// What of a bundle waits, the oldest first.
    pub fn waiting_of(&self, bundle: usize) -> Vec<usize> {
        let all = self.by_shelf();
        all.into_iter().filter(|&n| self.promises[n].bundle == bundle && self.waits(n)).collect()
    }

    /// What of a bundle is promised to nobody.
    pub fn free(&self, bundle: usize) -> i64 {
        let promised: i64 = self.waiting_of(bundle).into_iter().map(|n| self.promises[n].mg).sum();
        (self.bundles[bundle].balance() - promised).max(0)
    }

    /// Whether it can't be kept: its bundle isn't ready, or doesn't hold what it and those before it want.
    pub fn is_broken(&self, promise: usize) -> bool {
        let it = &self.promises[promise];
        let before = self.waiting_of(it.bundle).into_iter().take_while(|&n| n != promise);
        let through = before.map(|n| self.promises[n].mg).sum::<i64>() + it.mg;
        let bundle = &self.bundles[it.bundle];
        self.waits(promise) && (bundle.state != "ready" || through > bundle.balance() + ROUNDED)
    }
}
