//! The weight of a neighbour: its distance to a negative power, scaled by the nearest so that no power can overflow.

use super::grid_index::TIE;
use super::neighbours::Neighbour;

/// Squared distance, m², under which a point counts as standing on the observation (a tenth of a nanometre).
pub(super) const AT_THE_PLACE: f64 = 1e-20;

/// Which observations have a say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Neighbourhood {
    /// All of them.
    All,
    /// So many nearest. Those that tie for the last place share what is left of the count.
    Nearest(usize),
    /// Those within so many metres, rim included.
    Within(f64),
}

/// Inverse distance at one point: `sum(z d^-p) / sum(d^-p)`. At an observation it is the observation itself, at a place
/// with several their mean. `None` where no observation has a say.
///
/// This is the plain formula, in double precision and with no search structure. Maps are made by faster ways that the
/// tests compare with this one.
///
/// # Units
/// Coordinates in metres; the result has the unit of the values. `observations` are x, y, value.
///
/// # Source
/// Shepard, D. 1968. A two-dimensional interpolation function for irregularly-spaced data. Proc. 23rd ACM National
/// Conference, 517-524 (from memory; the formula is checked against GDAL and gstat). Ties: own.
///
/// # Example
/// ```
/// use lowstave::surface::{Neighbourhood, inverse_distance};
/// let cores = [(0.0, 0.0, 10.0), (100.0, 0.0, 20.0), (0.0, 100.0, 30.0)];
/// let value = inverse_distance(&cores, (25.0, 25.0), 2.0, Neighbourhood::All).unwrap();
/// assert!((value - 14.2857).abs() < 1e-4);
/// ```
#[must_use]
pub fn inverse_distance(
    observations: &[(f64, f64, f64)],
    at: (f64, f64),
    power: f64,
    who: Neighbourhood,
) -> Option<f64> {
    let mut near: Vec<(f64, f64)> = observations
        .iter()
        .filter(|(_, _, value)| value.is_finite())
        .map(|&(x, y, value)| ((x - at.0) * (x - at.0) + (y - at.1) * (y - at.1), value))
        .collect();
    near.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let here = near
        .iter()
        .take_while(|(squared, _)| *squared <= AT_THE_PLACE)
        .count();
    if here > 0 {
        return Some(near[..here].iter().map(|(_, value)| value).sum::<f64>() / here as f64);
    }
    let count = match who {
        Neighbourhood::All => near.len(),
        Neighbourhood::Nearest(count) => count.min(near.len()),
        Neighbourhood::Within(radius) => near
            .iter()
            .take_while(|(squared, _)| squared.sqrt() <= radius)
            .count(),
    };
    let last = near.get(count.checked_sub(1)?)?.0;
    let (inner, rim) = inner_and_rim(near.iter().map(|n| n.0), last);
    let rim_share = (count - inner) as f64 / rim as f64;
    let (mut sum, mut weights) = (0.0, 0.0);
    for (i, (squared, value)) in near[..inner + rim].iter().enumerate() {
        let weight =
            (near[0].0 / squared).powf(power / 2.0) * if i < inner { 1.0 } else { rim_share };
        sum += weight * value;
        weights += weight;
    }
    Some(sum / weights)
}

/// How many rising squared distances lie within the last one asked for, and how many tie with it.
pub(super) fn inner_and_rim(rising: impl Iterator<Item = f64>, last: f64) -> (usize, usize) {
    let (mut inner, mut rim) = (0, 0);
    for squared in rising {
        if squared < last * (1.0 - TIE) {
            inner += 1;
        } else if squared <= last * (1.0 + TIE) {
            rim += 1;
        } else {
            break;
        }
    }
    (inner, rim)
}

/// A power of the inverse distance; the usual ones need no more than a division and a square root.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Power(pub f64);

impl Power {
    /// Weight of a ratio of squared distances, `(nearest / this)^(power / 2)`.
    pub(super) fn of_ratio(self, ratio: f64) -> f64 {
        let root = || ratio.sqrt();
        match self.0 {
            2.0 => ratio,
            1.0 => root(),
            1.5 => root() * root().sqrt(),
            2.5 => ratio * root().sqrt(),
            3.0 => ratio * root(),
            4.0 => ratio * ratio,
            power => ratio.powf(power / 2.0),
        }
    }

    /// Weights of neighbours that stand by rising distance, for the `count` nearest of them. Left empty where there are none.
    pub(super) fn weigh(self, near: &[Neighbour], count: usize, weights: &mut Vec<f64>) {
        weights.clear();
        let Some(last) = count.min(near.len()).checked_sub(1) else {
            return;
        };
        let nearest = near[0].squared;
        if nearest <= AT_THE_PLACE {
            weights.extend(
                near.iter()
                    .take_while(|n| n.squared <= AT_THE_PLACE)
                    .map(|_| 1.0),
            );
            return;
        }
        let (inner, rim) = inner_and_rim(near.iter().map(|n| n.squared), near[last].squared);
        let rim_share = (last + 1 - inner) as f64 / rim as f64;
        weights.extend(
            near[..inner]
                .iter()
                .map(|n| self.of_ratio(nearest / n.squared)),
        );
        weights.extend(
            near[inner..inner + rim]
                .iter()
                .map(|n| self.of_ratio(nearest / n.squared) * rim_share),
        );
    }
}

/// How a weight falls with distance, known when the program is built, so that the inner loops hold no branch and no call.
pub(super) trait Decay: Copy + Send + Sync {
    /// Whether `nearest` is looked at.
    const NEEDS_NEAREST: bool = false;
    /// Weight by `inverse = 1 / d²`; `nearest` is the least squared distance of the same cell.
    fn weight(self, inverse: f64, nearest: f64) -> f64;
}

macro_rules! decay {
    ($(#[$doc:meta] $name:ident: $inverse:ident => $weight:expr),+ $(,)?) => {
        $(#[$doc]
        #[derive(Clone, Copy)]
        pub(super) struct $name;

        impl Decay for $name {
            #[inline]
            fn weight(self, $inverse: f64, _: f64) -> f64 {
                $weight
            }
        })+
    };
}

// None of these can overflow: a distance is at least 1e-10 m (`AT_THE_PLACE`) and a field is not larger than the earth.
decay! {
    /// Power 1.
    One: inverse => inverse.sqrt(),
    /// Power 1.5.
    OneAndAHalf: inverse => { let root = inverse.sqrt(); root * root.sqrt() },
    /// Power 2.
    Two: inverse => inverse,
    /// Power 2.5.
    TwoAndAHalf: inverse => inverse * inverse.sqrt().sqrt(),
    /// Power 3.
    Three: inverse => inverse * inverse.sqrt(),
    /// Power 4.
    Four: inverse => inverse * inverse,
}

/// Any other power: scaled by the nearest, so that it cannot overflow.
#[derive(Clone, Copy)]
pub(super) struct AnyPower {
    /// Half the power, since distances come squared.
    pub half: f64,
}

impl Decay for AnyPower {
    const NEEDS_NEAREST: bool = true;

    #[inline]
    fn weight(self, inverse: f64, nearest: f64) -> f64 {
        (inverse * nearest).powf(self.half)
    }
}
