//! Layers that get one value for the whole field.

use super::FEWEST_FOR_A_MAP;
use super::permutation::LARGEST_P;
use super::sites::Sites;
use super::surfaces::{Flat, Map, Skill};

/// Least prediction efficiency of a map (own): a map that explains less changes no decision.
pub(super) const LEAST_EFFICIENCY: f64 = 0.05;

/// Whether all observations are equal.
pub(super) fn is_constant(sites: &Sites, values: &[f64]) -> bool {
    let mut seen = sites.source.iter().map(|&at| values[at as usize]);
    let first = seen.next();
    seen.all(|value| Some(value) == first)
}

/// One value for the whole field, where the observations support no more than that.
///
/// A map is drawn where chance does as well in at most 5 % of shuffles, corrected for the number of layers, and the map explains
/// at least 5 %. Own rule.
pub(super) fn flat(sites: &Sites, values: &[f64], skill: Option<&Skill>) -> Option<Map> {
    let seen = || (0..sites.places()).map(|n| values[sites.source[sites.place(n)] as usize]);
    let (places, first) = (sites.places(), seen().next()?);
    let is_constant = is_constant(sites, values);
    let is_clear = skill.is_some_and(|skill| {
        skill.efficiency >= LEAST_EFFICIENCY && skill.p_value.is_some_and(|p| p <= LARGEST_P)
    });
    let why = if places < FEWEST_FOR_A_MAP {
        Flat::TooFew
    } else if is_constant {
        Flat::Constant
    } else if !is_clear {
        Flat::NoSkill
    } else {
        return None;
    };
    let n = places as f64;
    let value = if is_constant {
        first
    } else {
        seen().sum::<f64>() / n
    };
    // One place says nothing of how places differ.
    let standard_error = if places > 1 {
        (seen().map(|v| (v - value).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    } else {
        f64::INFINITY
    };
    Some(Map::Flat {
        value,
        standard_error,
        why,
    })
}
