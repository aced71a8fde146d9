//! The powers and numbers of neighbours that are tried.

use crate::plan::{FixedOrAuto, SurfaceSettings};

/// Powers that are tried.
const POWERS: [f64; 6] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0];
/// Counts of nearest observations that are tried.
const COUNTS: [usize; 3] = [8, 12, 16];
/// Up to so many observations, all of them at once are tried too.
const ALL_AT_MOST: usize = 300;
/// Fewest and most places with which a plane is tried.
const FEWEST_FOR_A_PLANE: usize = 8;
const MOST_FOR_A_PLANE: usize = 1_000;

/// What may be chosen from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    /// Powers.
    pub powers: Vec<f64>,
    /// Counts of nearest sites, rising.
    pub counts: Vec<usize>,
    /// Whether a plane may be taken out first, and logarithms be worked in: not where the plan fixes how the map is made.
    is_free: bool,
}

impl Table {
    /// The table for so many observations; what the plan fixed has one entry. A count that reaches all is held at all.
    pub(super) fn new(how: &SurfaceSettings, observations: usize) -> Self {
        let powers = match how.power {
            FixedOrAuto::Fixed(power) => vec![power],
            FixedOrAuto::Auto => POWERS.to_vec(),
        };
        let mut counts = match how.neighbours {
            FixedOrAuto::Fixed(count) => vec![count],
            FixedOrAuto::Auto if observations <= ALL_AT_MOST => {
                [COUNTS.as_slice(), &[observations]].concat()
            }
            FixedOrAuto::Auto => COUNTS.to_vec(),
        };
        for count in &mut counts {
            *count = (*count).min(observations).max(1);
        }
        counts.sort_unstable();
        counts.dedup();
        Self {
            powers,
            counts,
            is_free: how.power == FixedOrAuto::Auto,
        }
    }

    /// Whether the plan leaves open how the map is made.
    pub(super) fn is_free(&self) -> bool {
        self.is_free
    }

    /// Whether a plane may be taken out of a layer with so many places. Where there are many, inverse distance follows any slope.
    pub(super) fn may_tilt(&self, places: usize) -> bool {
        self.is_free && (FEWEST_FOR_A_PLANE..=MOST_FOR_A_PLANE).contains(&places)
    }

    /// The most neighbours that any entry asks for.
    pub(super) fn most(&self) -> usize {
        self.counts.last().copied().unwrap_or(1)
    }

    pub(super) fn entries(&self) -> impl Iterator<Item = (f64, usize)> + '_ {
        self.powers
            .iter()
            .flat_map(|&power| self.counts.iter().map(move |&count| (power, count)))
    }
}
