//! Strips from one sheet: straight, or one continuous strip cut to and fro. Choosing among sheets is not done here.
use super::units::Length;

/// A rectangle that can't be used, measured from the corner where the first strip begins, hems included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Blocked {
    /// From here along the strips.
    pub along: (Length, Length),
    /// From here across the strips.
    pub across: (Length, Length),
}

/// A sheet as it lies for cutting.
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
    /// Stains and holes.
    pub stains: Vec<Blocked>,
}

/// What a sheet gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// Every usable strip.
    pub strips: Vec<Length>,
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
        (self.along - self.hem * 2, self.across - self.hem * 2)
    }

    fn blocked(&self) -> Vec<Blocked> {
        let mut blocked = self.stains.clone();
        if self.corners > Length::ZERO {
            let sides = |whole: Length| [(Length::ZERO, self.corners), (whole - self.corners, whole)];
            for along in sides(self.along) {
                blocked.extend(sides(self.across).map(|across| Blocked { along, across }));
            }
        }
        blocked
    }

    /// Straight strips of that width, torn or cut side by side; pieces shorter than `least` go to the offcut.
    pub fn straight(&self, width: Length, least: Length) -> Cut {
        let (long, deep) = self.inner();
        let mut strips = Vec::new();
        if width > Length::ZERO && long > Length::ZERO && deep > Length::ZERO {
            let blocked = self.blocked();
            for lane in 0..deep.nm() / width.nm() {
                let from = self.hem + width * lane;
                strips.extend(
                    self.clear(&blocked, from, from + width).into_iter().filter(|&strip| strip >= least),
                );
            }
        }
        let total = strips.iter().sum();
        let whole = if width > Length::ZERO {
            long.max(Length::ZERO).scale(deep.max(Length::ZERO).ratio(width))
        } else {
            Length::ZERO
        };
        Cut { strips, total, offcut: (whole - total).max(Length::ZERO) }
    }

    /// The unblocked stretches of one lane.
    fn clear(&self, blocked: &[Blocked], from: Length, to: Length) -> Vec<Length> {
        let mut stops: Vec<(Length, Length)> =
            blocked.iter().filter(|b| b.across.0 < to && b.across.1 > from).map(|b| b.along).collect();
        stops.sort_unstable();
        let (mut at, end) = (self.hem, self.along - self.hem);
        let mut clear = Vec::new();
        for (start, stop) in stops {
            if start > at {
                clear.push(start.min(end) - at);
            }
            at = at.max(stop);
        }
        clear.push(end - at);
        clear.retain(|&length| length > Length::ZERO);
        clear
    }

    /// One strip cut to and fro, with a bridge of one strip width left at alternate ends; nothing where the sheet has
    /// stains, or is too small for one lane.
    ///
    /// The centre line measures `lanes × length`: each turn crosses one strip width and shortens two lanes by half a
    /// width. The corners of the bridges make thick places; trim them. Corners taken out narrow the sheet.
    pub fn continuous(&self, width: Length) -> Option<Cut> {
        let (long, deep) = self.inner();
        let taken = (self.corners - self.hem).max(Length::ZERO) * 2;
        let deep = deep - taken;
        if !self.stains.is_empty() || width <= Length::ZERO || deep < width || long < width * 2 {
            return None;
        }
        let total = long * (deep.nm() / width.nm());
        let whole = long.scale((deep + taken).ratio(width));
        Some(Cut { strips: vec![total], total, offcut: (whole - total).max(Length::ZERO) })
    }
}
