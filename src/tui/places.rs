//! Where on the screen each thing stands: places that never overlap, at any size.
//!
//! From the top: what sounds, what the set is, what just happened. The last two rows keep their
//! places whatever stands above them.

use ratatui::layout::Rect;

use super::digits::ROWS;

/// The smallest screen with places; a smaller one has one text.
pub const SMALLEST: (u16, u16) = (40, 12);
/// Wider than this, lines are no longer easy to follow.
const WIDEST: u16 = 160;
/// Columns of the state of the clock, with a space on either side: ` no sound `.
const DOING: u16 = 10;

/// The places of a screen; what there is no room for is empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Places {
    /// Title and swimmer.
    pub title: Rect,
    /// What the clock does.
    pub doing: Rect,
    /// The rate, large.
    pub rate: Rect,
    /// The unit of the rate, and cycles.
    pub unit: Rect,
    /// What the feet do.
    pub feet: Rect,
    /// The time to the next start or end.
    pub clock: Rect,
    /// The cycle.
    pub wheel: Rect,
    /// Settings and taps; where there is no room they stand with the feet.
    pub settings: Rect,
    /// The device; as the settings.
    pub sound: Rect,
    /// What the set is.
    pub set: Rect,
    /// The last results, beside the set; empty where they stand below it.
    pub results: Rect,
    /// What just happened.
    pub happened: Rect,
    /// The keys.
    pub keys: Rect,
}

impl Places {
    /// The places on a screen; none below [`SMALLEST`].
    pub fn of(area: Rect) -> Option<Self> {
        if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
            return None;
        }
        let width = area.width.min(WIDEST) - 2;
        let mut rest = Rect::new(area.x + 1, area.y, width, area.height);
        let mut places = Self {
            keys: bottom(&mut rest, 1),
            happened: bottom(&mut rest, 1),
            ..Self::default()
        };
        if area.height >= 20 {
            places.sound = bottom(&mut rest, 1);
            places.settings = bottom(&mut rest, 1);
        }
        (places.title, places.doing) = beside(top(&mut rest, 1), width - DOING - 1, 1);
        top(&mut rest, u16::from(area.height >= 26));
        let digits = if width >= 78 { 34 } else { 26 };
        let mut right;
        (places.rate, right) = beside(top(&mut rest, ROWS as u16), digits, 2);
        places.unit = top(&mut right, 2);
        places.feet = right;
        let gap = u16::from(area.height >= 28);
        top(&mut rest, gap);
        places.clock = top(&mut rest, 1);
        if area.height >= 24 && width >= 58 {
            top(&mut rest, gap);
            places.wheel = top(&mut rest, 5);
        }
        top(&mut rest, u16::from(area.height >= 24));
        places.set = rest;
        if width >= 100 && rest.height >= 8 {
            (places.set, places.results) = beside(rest, width / 2, 3);
        }
        Some(places)
    }

    /// What the set is and its results, as one place.
    pub fn set_and_results(&self) -> Rect {
        if self.results.is_empty() {
            self.set
        } else {
            self.set.union(self.results)
        }
    }

    /// All of them.
    #[cfg(test)]
    pub fn all(&self) -> [Rect; 13] {
        [
            self.title,
            self.doing,
            self.rate,
            self.unit,
            self.feet,
            self.clock,
            self.wheel,
            self.settings,
            self.sound,
            self.set,
            self.results,
            self.happened,
            self.keys,
        ]
    }
}

/// Takes rows from the top of what is left.
fn top(rest: &mut Rect, rows: u16) -> Rect {
    let taken = Rect::new(rest.x, rest.y, rest.width, rows.min(rest.height));
    rest.y += taken.height;
    rest.height -= taken.height;
    taken
}

/// Takes rows from the bottom of what is left.
fn bottom(rest: &mut Rect, rows: u16) -> Rect {
    rest.height -= rows.min(rest.height);
    Rect::new(rest.x, rest.y + rest.height, rest.width, rows)
}

/// Two places side by side: the left one's columns, and those between them.
fn beside(place: Rect, columns: u16, between: u16) -> (Rect, Rect) {
    let from = columns + between;
    (
        Rect::new(place.x, place.y, columns, place.height),
        Rect::new(place.x + from, place.y, place.width - from, place.height),
    )
}

/// Rows for texts under one another: each has its least, then each in turn its most, as far as they
/// go. Texts are `(least, most)`, and the least of all fit.
pub fn share(rows: u16, texts: &[(u16, u16)]) -> Vec<u16> {
    let mut left = rows - texts.iter().map(|(least, _)| least).sum::<u16>();
    let more = texts.iter().map(|(least, most)| {
        let more = most.saturating_sub(*least).min(left);
        left -= more;
        least + more
    });
    more.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_place_overlaps_another_or_leaves_the_screen_at_any_size() {
        for width in 1..=220 {
            for height in 1..=70 {
                let area = Rect::new(0, 0, width, height);
                let places = Places::of(area);
                assert_eq!(places.is_some(), width >= 40 && height >= 12);
                let all = places.map_or(Vec::new(), |places| places.all().to_vec());
                let all: Vec<Rect> = all.into_iter().filter(|one| !one.is_empty()).collect();
                for (at, one) in all.iter().enumerate() {
                    assert_eq!(one.intersection(area), *one, "{width} x {height}");
                    for other in &all[..at] {
                        assert!(
                            one.intersection(*other).is_empty(),
                            "{width} x {height}: {one} {other}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn what_must_be_there_is_there_from_40_by_12_on() {
        for width in 40..=220 {
            for height in 12..=70 {
                let places = Places::of(Rect::new(0, 0, width, height)).expect("large enough");
                let needed = [
                    places.title,
                    places.doing,
                    places.rate,
                    places.unit,
                    places.feet,
                    places.clock,
                    places.set,
                    places.happened,
                    places.keys,
                ];
                assert!(
                    needed.iter().all(|place| !place.is_empty()),
                    "{width} x {height}"
                );
                assert_eq!((places.doing.width, places.rate.height), (DOING, 7));
            }
        }
    }

    #[test]
    fn rows_go_to_the_first_who_wants_more() {
        assert_eq!(share(4, &[(1, 1), (1, 3), (1, 3)]), [1, 2, 1]);
        assert_eq!(share(9, &[(1, 1), (1, 3), (1, 3)]), [1, 3, 3]);
    }
}
