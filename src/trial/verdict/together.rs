//! Whether two products bring more together than each of them alone: a trial of two factors.

use super::gain::Gain;
use super::judged_set::JudgedSet;
use crate::trial::statistics::{Estimate, student_t_quantile};

/// Share of the t distribution below the upper end of a 90 % interval.
const UPPER: f64 = 0.95;

/// What two products bring in a zone, each beside the other and alone. Yields in kg/ha.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Number of the zone.
    pub zone: u32,
    /// The two products, as the sets that leave out one of them name them.
    pub products: [String; 2],
    /// What each brings beside the other: the gains of the sets that leave out one.
    pub beside: [Estimate; 2],
    /// What each brings where the other is left out: the gain over both, less that of the other.
    pub alone: [Estimate; 2],
    /// What both bring more than the sum of each alone.
    pub more_than_sum: Estimate,
}

/// The zones in which a set that leaves out two products was judged beside the two sets that leave out one of them.
///
/// # Source
/// Effects and interaction of a two by two factorial (Fisher, R.A. 1935. The Design of Experiments), with errors from the placebo passes. The
/// three gains rest on strips of their own, so that their variances are added; degrees of freedom are the fewest of the three.
#[must_use]
pub fn together(sets: &[JudgedSet]) -> Vec<Together> {
    let pairs = sets.iter().filter(|set| set.set.products.len() == 2);
    pairs.flat_map(|both| of_pair(sets, both)).collect()
}

fn of_pair(sets: &[JudgedSet], both: &JudgedSet) -> Vec<Together> {
    let single = |at: usize| {
        let product = &both.set.products[at];
        sets.iter().find(|set| {
            set.set.products.len() == 1
                && set.set.products[0] == *product
                && set.set.gets_more == both.set.gets_more
        })
    };
    let (Some(first), Some(second)) = (single(0), single(1)) else {
        return Vec::new();
    };
    let zones = both.verdict.zones.iter();
    zones
        .filter_map(|(zone, gain)| {
            let all = gain.as_ref().ok()?;
            let ones = [gain_in(first, *zone)?, gain_in(second, *zone)?];
            Some(of_zone(*zone, both, all, ones))
        })
        .collect()
}

fn gain_in(set: &JudgedSet, zone: u32) -> Option<&Gain> {
    let mut zones = set.verdict.zones.iter();
    zones.find(|(number, _)| *number == zone)?.1.as_ref().ok()
}

fn of_zone(zone: u32, both: &JudgedSet, all: &Gain, [first, second]: [&Gain; 2]) -> Together {
    let [all, first, second] = [&all.estimate, &first.estimate, &second.estimate];
    Together {
        zone,
        products: [both.set.products[0].clone(), both.set.products[1].clone()],
        beside: [*first, *second],
        alone: [
            sum(&[(1.0, all), (-1.0, second)]),
            sum(&[(1.0, all), (-1.0, first)]),
        ],
        // (first beside second) less (first alone): what they do for each other.
        more_than_sum: sum(&[(1.0, first), (1.0, second), (-1.0, all)]),
    }
}

/// A sum of gains that rest on strips of their own.
fn sum(terms: &[(f64, &Estimate)]) -> Estimate {
    let gain = terms
        .iter()
        .map(|(sign, term)| sign * term.gain)
        .sum::<f64>();
    let variance = terms
        .iter()
        .map(|(sign, term)| (sign * term.standard_error).powi(2))
        .sum::<f64>();
    let degrees = terms
        .iter()
        .map(|(_, term)| term.degrees_of_freedom)
        .fold(f64::INFINITY, f64::min);
    let checks = terms.iter().map(|(_, term)| term.checks).sum();
    let reach = student_t_quantile(UPPER, degrees) * variance.sqrt();
    Estimate {
        gain,
        standard_error: variance.sqrt(),
        degrees_of_freedom: degrees,
        interval: (gain - reach, gain + reach),
        checks,
    }
}

#[cfg(test)]
mod tests {
    use super::{Estimate, sum};

    /// By hand: 9 - 4 = 5, errors 3 and 4 give 5; t(0.95, 4) = 2.131847 (R, `qt(.95, 4)`).
    #[test]
    fn variances_add_and_the_fewest_degrees_of_freedom_hold() {
        let gain = |gain: f64, standard_error: f64, degrees_of_freedom: f64| Estimate {
            gain,
            standard_error,
            degrees_of_freedom,
            interval: (0.0, 0.0),
            checks: 3,
        };
        let found = sum(&[(1.0, &gain(9.0, 3.0, 4.0)), (-1.0, &gain(4.0, 4.0, 8.0))]);
        assert!((found.gain - 5.0).abs() < 1e-12 && (found.standard_error - 5.0).abs() < 1e-12);
        assert!((found.interval.1 - (5.0 + 5.0 * 2.131_847)).abs() < 1e-5);
        assert_eq!(found.checks, 6);
    }
}
