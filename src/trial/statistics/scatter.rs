/// Fewer placebos than this in a zone say too little: the scatter is then taken over all zones. Own.
pub const FEWEST_PLACEBOS: usize = 6;

use super::Contrast;

/// How far placebo contrasts scatter: contrasts at positions where nothing was left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Root of the weighted mean square about 0, in the unit of the yields: a placebo has no effect.
    pub sd: f64,
    /// Degrees of freedom: half the number of placebos, since neighbouring ones share passes.
    pub degrees_of_freedom: f64,
    /// Number of placebos.
    pub placebos: usize,
    /// Mean weight of a placebo (its number of segments).
    pub mean_weight: f64,
    /// Weighted mean of the placebos.
    pub mean: f64,
    /// That mean over its own standard error: beyond 3 the passes alternate (wheel lanes, a worn row unit).
    pub mean_t: f64,
}

/// The scatter of placebo contrasts; `None` without any, or where none has weight.
///
/// # Source
/// Own, after the randomisation inference of Fisher, R.A. 1935. The Design of Experiments; simulated over four kinds of field
/// in the guide to the verdict.
#[must_use]
pub fn scatter(placebos: &[Contrast]) -> Option<Scatter> {
    let weight: f64 = placebos.iter().map(|p| p.weight).sum();
    let count = placebos.iter().filter(|p| p.weight > 0.0).count();
    if count == 0 {
        return None;
    }
    let mean = placebos.iter().map(|p| p.weight * p.gain).sum::<f64>() / weight;
    let square = placebos
        .iter()
        .map(|p| p.weight * p.gain * p.gain)
        .sum::<f64>()
        / weight;
    let about_mean = (square - mean * mean).max(0.0).sqrt();
    Some(Scatter {
        sd: square.sqrt(),
        degrees_of_freedom: count as f64 / 2.0,
        placebos: count,
        mean_weight: weight / count as f64,
        mean,
        mean_t: if about_mean > 0.0 {
            mean / (about_mean / (count as f64).sqrt())
        } else {
            0.0
        },
    })
}
