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
/// The two places themselves must differ by so much, mean square in usual errors: an exchange shows as that difference on top of the 1 that
/// noise alone has, so less of it cannot make a core as odd as it must be. On ground that is alike everywhere chance makes cores odd, and no
/// exchange can be told (own; `on_ground_that_is_alike_everywhere_no_exchange_is_told` prints how often).
const LEAST_APART: f64 = LEAST_BEFORE - 1.0;

/// Two layers whose errors at the other places go together from this correlation on are one witness: what is derived from one reading (CEC,
/// saturations) errs with it. Half of what one errs is the other's (own).
const ONE_WITNESS: f64 = 0.7;

/// The pairs that look exchanged, the clearest first; no place stands in two pairs. Of two places that are no way `apart` each is the other's
/// nearest witness, so nothing can be told of them.
pub(super) fn exchanged(
    layers: &[Fitted],
    is_apart: impl Fn(usize, usize) -> bool,
) -> Vec<Exchange> {
    let places = layers.first().map_or(0, |layer| layer.observed.len());
    let is_alike = layers.iter().all(|layer| layer.observed.len() == places);
    if layers.len() < FEWEST_LAYERS || places > MOST_PLACES || !is_alike {
        return Vec::new();
    }
    let all: Vec<&Fitted> = layers.iter().collect();
    let odd: Vec<usize> = (0..places)
        .filter(|&place| misfit(&all, place, place) >= LEAST_BEFORE)
        .collect();
    let mut found = Vec::new();
    for (at, &one) in odd.iter().enumerate() {
        for &other in odd[at + 1..].iter().filter(|other| is_apart(one, **other)) {
            let by_all = exchange(&all, (one, other));
            let witnesses = by_all.map(|_| witnesses(&all, [one, other]));
            let by_witnesses = witnesses
                .filter(|witnesses| witnesses.len() >= FEWEST_LAYERS)
                .and_then(|witnesses| exchange(&witnesses, (one, other)));
            found.extend(by_witnesses);
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

/// Two places whose cores fit each other's place and not their own, by some layers together.
fn exchange(layers: &[&Fitted], (one, other): (usize, usize)) -> Option<Exchange> {
    let before = [misfit(layers, one, one), misfit(layers, other, other)];
    let after = [misfit(layers, one, other), misfit(layers, other, one)];
    let is_exchange = before.iter().all(|before| *before >= LEAST_BEFORE)
        && after.iter().all(|after| *after <= MOST_AFTER)
        && apart(layers, (one, other)) >= LEAST_APART;
    is_exchange.then(|| Exchange {
        places: (one, other),
        before: f64::midpoint(before[0], before[1]),
        after: f64::midpoint(after[0], after[1]),
    })
}

/// Mean square of what two places differ by, by what the other cores predict there, in usual errors.
fn apart(layers: &[&Fitted], (one, other): (usize, usize)) -> f64 {
    let squares = layers.iter().map(|layer| {
        let difference = layer.predicted[one] - layer.predicted[other];
        difference.powi(2) / (layer.expected[one] * layer.expected[other])
    });
    squares.sum::<f64>() / layers.len() as f64
}

/// The layers that do not err together with one before them at any place but the two in question, which an exchange itself would make odd in
/// all layers.
fn witnesses<'a>(layers: &[&'a Fitted], apart: [usize; 2]) -> Vec<&'a Fitted> {
    let errors: Vec<Vec<f64>> = layers.iter().map(|layer| layer.errors(apart)).collect();
    let mut kept: Vec<usize> = Vec::new();
    for (at, own) in errors.iter().enumerate() {
        let is_new = |known: &usize| correlation(&errors[*known], own).abs() < ONE_WITNESS;
        if kept.iter().all(is_new) {
            kept.push(at);
        }
    }
    kept.into_iter().map(|at| layers[at]).collect()
}

impl Fitted {
    /// The errors at all places but two, in usual errors.
    fn errors(&self, apart: [usize; 2]) -> Vec<f64> {
        let errors = self.observed.iter().zip(&self.predicted);
        let scaled = errors
            .zip(&self.expected)
            .map(|((observed, predicted), expected)| (observed - predicted) / expected);
        let elsewhere = scaled.enumerate().filter(|(at, _)| !apart.contains(at));
        elsewhere.map(|(_, error)| error).collect()
    }
}

/// Pearson's correlation; 0 where one of the two does not vary.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let count = a.len().max(1) as f64;
    let middle = |values: &[f64]| values.iter().sum::<f64>() / count;
    let (of_a, of_b) = (middle(a), middle(b));
    let (mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        aa += (x - of_a).powi(2);
        bb += (y - of_b).powi(2);
        ab += (x - of_a) * (y - of_b);
    }
    let both = (aa * bb).sqrt();
    if both > 0.0 { ab / both } else { 0.0 }
}

/// Mean square of the errors of a core at a place, in usual errors.
fn misfit(layers: &[&Fitted], core: usize, place: usize) -> f64 {
    let squares = layers.iter().map(|layer| {
        let error = layer.observed[core] - layer.predicted[place];
        (error / layer.expected[place]).powi(2)
    });
    squares.sum::<f64>() / layers.len() as f64
}

#[cfg(test)]
#[path = "exchanged_tests.rs"]
mod tests;
