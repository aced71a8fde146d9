//! Two cores whose bags were exchanged: each fits the place of the other better than its own, in all layers together. One layer alone cannot
//! tell it from a spot that is different.

/// A layer at the places of its cores, on the scale on which it is looked at.
pub(super) struct Fitted {
    /// What was measured.
    pub observed: Vec<f64>,
    /// What the other cores predict there.
    pub predicted: Vec<f64>,
    /// The error that is usual there.
    pub expected: Vec<f64>,
}

/// Two places, and how badly their cores fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Exchange {
    /// The places.
    pub places: (usize, usize),
    /// Mean square of the errors of both, in usual errors, as they stand.
    pub before: f64,
    /// The same with the two exchanged.
    pub after: f64,
}

/// Fewest layers that can tell it.
const FEWEST_LAYERS: usize = 3;
/// Most places of which every pair is tried.
const MOST_PLACES: usize = 600;
/// Each of the two must be off by so much where it stands, and by no more than so much at the place of the other: mean squares in usual
/// errors. Own rule, set on made fields: `two_exchanged_bags_are_found_and_others_are_not_called` prints how often it errs.
const LEAST_BEFORE: f64 = 2.6;
const MOST_AFTER: f64 = 1.9;

/// The pairs that look exchanged, the clearest first; no place stands in two pairs.
pub(super) fn exchanged(layers: &[Fitted]) -> Vec<Exchange> {
    let places = layers.first().map_or(0, |layer| layer.observed.len());
    let is_alike = layers.iter().all(|layer| layer.observed.len() == places);
    if layers.len() < FEWEST_LAYERS || places > MOST_PLACES || !is_alike {
        return Vec::new();
    }
    let odd: Vec<(usize, f64)> = (0..places)
        .map(|place| (place, misfit(layers, place, place)))
        .filter(|(_, before)| *before >= LEAST_BEFORE)
        .collect();
    let mut found = Vec::new();
    for (at, &(one, of_one)) in odd.iter().enumerate() {
        for &(other, of_other) in &odd[at + 1..] {
            let after = [misfit(layers, one, other), misfit(layers, other, one)];
            if after.iter().all(|after| *after <= MOST_AFTER) {
                found.push(Exchange {
                    places: (one, other),
                    before: f64::midpoint(of_one, of_other),
                    after: f64::midpoint(after[0], after[1]),
                });
            }
        }
    }
    found.sort_by(|a, b| {
        let gain = |pair: &Exchange| pair.before - pair.after;
        gain(b).total_cmp(&gain(a)).then(a.places.cmp(&b.places))
    });
    let mut taken = Vec::new();
    found.retain(|pair| {
        let is_free = !taken.contains(&pair.places.0) && !taken.contains(&pair.places.1);
        taken.extend([pair.places.0, pair.places.1]);
        is_free
    });
    found
}

/// Mean square of the errors of a core at a place, in usual errors.
fn misfit(layers: &[Fitted], core: usize, place: usize) -> f64 {
    let squares = layers.iter().map(|layer| {
        let error = layer.observed[core] - layer.predicted[place];
        (error / layer.expected[place]).powi(2)
    });
    squares.sum::<f64>() / layers.len() as f64
}

#[cfg(test)]
#[path = "exchanged_tests.rs"]
mod tests;
