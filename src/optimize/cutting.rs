//! Strips from one sheet: straight, or continuous ones cut to and fro, round hems, corners and stains. Choosing among
//! sheets is `sheets`'; the drawing is `drawing::cuts`'s.
use crate::units::Length;
use std::collections::BTreeSet;

/// A rectangle that can't be used (a stain, a hole, a worn middle), measured from the corner where the first strip begins,
/// hems included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Blocked {
    /// From here along the strips.
    pub along: (Length, Length),
    /// From here across the strips.
    pub across: (Length, Length),
}

/// A sheet as it lies for cutting.
///
/// # Examples
/// ```
/// use thrumhall::optimize::cutting::Sheet;
/// use thrumhall::units::Length;
///
/// // A queen flat sheet with hems of an inch, into strips 1½ in wide: 58 lanes of 100 in.
/// let [long, wide, hem] = [102.0, 90.0, 1.0].map(Length::inches);
/// let sheet = Sheet::flat(long, wide, hem);
/// let (strip, least) = (Length::inches(1.5), Length::inches(6.0));
/// let straight = sheet.straight(strip, least);
/// assert_eq!((straight.strips.len(), straight.total), (58, Length::inches(5_800.0)));
/// assert_eq!(sheet.continuous(strip, least).strips.len(), 1);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// The way the strips run.
    pub along: Length,
    /// The way across the strips.
    pub across: Length,
    /// Hems taken off all round.
    pub hem: Length,
    /// Side of the square taken out of each corner, such as for a fitted sheet's elastic; zero for none.
    pub corners: Length,
    /// Stains, holes and worn places.
    pub stains: Vec<Blocked>,
}

/// How a sheet becomes strips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Torn or cut straight through, lane by lane.
    Straight,
    /// Cut to and fro, a bridge of one strip width left at alternate ends of the lanes.
    Continuous,
}

/// A straight stretch of a strip as it lies on the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// From here to there along the strips.
    pub along: (Length, Length),
    /// From here to there across the strips.
    pub across: (Length, Length),
}

impl Run {
    /// How long it is.
    pub fn length(&self) -> Length {
        self.along.1 - self.along.0
    }
}

/// One strip: a single run, or neighbouring runs of one length with bridges between them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// In the order in which the strip is cut.
    pub runs: Vec<Run>,
}

impl Strip {
    /// Its length, all runs together.
    ///
    /// Of a continuous strip that is the centre line: each turn crosses one strip width and shortens two runs by half a
    /// width. The corners of the bridges make thick places; trim them.
    pub fn length(&self) -> Length {
        self.runs.iter().map(Run::length).sum()
    }
}

/// What a sheet gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// Every usable strip.
    pub strips: Vec<Strip>,
    /// Their length together.
    pub total: Length,
    /// Cloth between the hems that ends in no strip, as a length of strip.
    pub offcut: Length,
}

impl Sheet {
    /// A flat sheet without stains.
    pub fn flat(along: Length, across: Length, hem: Length) -> Self {
        Self { along, across, hem, corners: Length::ZERO, stains: Vec::new() }
    }

    /// The same sheet turned so that the strips run the other way.
    #[must_use]
    pub fn turned(&self) -> Self {
        let turn = |s: &Blocked| Blocked { along: s.across, across: s.along };
        Self {
            along: self.across,
            across: self.along,
            stains: self.stains.iter().map(turn).collect(),
            ..*self
        }
    }

    fn inner(&self) -> (Length, Length) {
        let inner = |side: Length| (side - self.hem * 2).max(Length::ZERO);
        (inner(self.along), inner(self.across))
    }

    /// Everything that can't be used: stains, and the corners that are taken out.
    pub fn blocked(&self) -> Vec<Blocked> {
        let mut blocked = self.stains.clone();
        if self.corners > Length::ZERO {
            let sides = |whole: Length| [(Length::ZERO, self.corners), (whole - self.corners, whole)];
            for along in sides(self.along) {
                blocked.extend(sides(self.across).map(|across| Blocked { along, across }));
            }
        }
        blocked
    }

    /// The clear runs of every lane of that width, lane by lane from the first hem; none where the width is nothing.
    pub fn lanes(&self, width: Length) -> Vec<Vec<Run>> {
        let (long, deep) = self.inner();
        if width <= Length::ZERO || long <= Length::ZERO {
            return Vec::new();
        }
        let blocked = self.blocked();
        let lane = |at: i64| {
            let from = self.hem + width * at;
            self.clear(&blocked, (from, from + width))
        };
        (0..deep.nm() / width.nm()).map(lane).collect()
    }

    fn clear(&self, blocked: &[Blocked], across: (Length, Length)) -> Vec<Run> {
        let mut stops: Vec<(Length, Length)> = (blocked.iter())
            .filter(|b| b.across.0 < across.1 && b.across.1 > across.0)
            .map(|b| b.along)
            .collect();
        stops.sort_unstable();
        let (mut at, end) = (self.hem, self.along - self.hem);
        let mut clear = Vec::new();
        for (start, stop) in stops.into_iter().chain([(end, end)]) {
            if start.min(end) > at {
                clear.push(Run { along: (at, start.min(end)), across });
            }
            at = at.max(stop);
        }
        clear
    }

    /// The strips of that width, the ways that `way` says; pieces shorter than `least` go to the offcut.
    pub fn cut(&self, way: Way, width: Length, least: Length) -> Cut {
        match way {
            Way::Straight => self.straight(width, least),
            Way::Continuous => self.continuous(width, least),
        }
    }

    /// Straight strips, torn or cut side by side; a stain parts a lane in two. Pieces shorter than `least` go to the
    /// offcut.
    pub fn straight(&self, width: Length, least: Length) -> Cut {
        let strips = self.lanes(width).into_iter().flatten().map(|run| Strip { runs: vec![run] });
        self.given(width, least, strips.collect())
    }

    /// Continuous strips: one for each block of neighbouring lanes that are clear between the same ends, so a clean sheet
    /// becomes a single one. A block too short to turn in, under two widths, is cut straight.
    pub fn continuous(&self, width: Length, least: Length) -> Cut {
        let mut strips: Vec<Strip> = Vec::new();
        let mut open: Vec<Strip> = Vec::new();
        for lane in self.lanes(width) {
            let mut next = Vec::new();
            for run in lane {
                let beside = open.iter().position(|strip| strip.runs[0].along == run.along);
                let mut strip = beside
                    .filter(|_| run.length() >= width * 2)
                    .map_or(Strip { runs: Vec::new() }, |at| open.swap_remove(at));
                strip.runs.push(run);
                next.push(strip);
            }
            strips.append(&mut open);
            open = next;
        }
        strips.append(&mut open);
        self.given(width, least, strips)
    }

    fn given(&self, width: Length, least: Length, mut strips: Vec<Strip>) -> Cut {
        strips.retain(|strip| strip.length() >= least);
        let (long, deep) = self.inner();
        let whole = if width > Length::ZERO { long.scale(deep.ratio(width)) } else { Length::ZERO };
        let total = strips.iter().map(Strip::length).sum();
        Cut { strips, total, offcut: (whole - total).max(Length::ZERO) }
    }

    /// Clear cloth that is spoilt when just these strips are cut, as a length of strip: what is left of every lane begun
    /// and, once all lanes are, the edge too narrow for another.
    pub fn waste(&self, width: Length, cut: &[Strip]) -> Length {
        let (lanes, edge) = self.spoilt(width, cut);
        lanes + edge
    }

    /// The same in its two parts, the lanes and the edge.
    pub fn spoilt(&self, width: Length, cut: &[Strip]) -> (Length, Length) {
        let lanes = self.lanes(width);
        let runs = || cut.iter().flat_map(|strip| &strip.runs);
        let starts: BTreeSet<Length> = runs().map(|run| run.across.0).collect();
        let begun = |lane: &&Vec<Run>| lane.first().is_some_and(|run| starts.contains(&run.across.0));
        let clear = lanes.iter().filter(begun).flatten().map(Run::length).sum::<Length>();
        let used = runs().map(Run::length).sum::<Length>();
        let (long, deep) = self.inner();
        let all = lanes.iter().filter(|lane| !lane.is_empty()).all(|lane| begun(&lane));
        let edge = Length::from_nm(deep.nm() % width.nm().max(1));
        (clear - used, if all { long.scale(edge.ratio(width)) } else { Length::ZERO })
    }
}
