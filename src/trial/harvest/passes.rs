use super::YieldPoint;
use crate::order_statistics::median;

/// A time step of more than so many records begins a new pass.
const LONGEST_GAP: f64 = 3.0;
/// A turn of more than this from fix to fix begins a new pass, degrees.
const SHARPEST_TURN: f64 = 45.0;

/// The number of the pass of each point, from 0, rising with the order of the points.
///
/// A new pass begins where the time step is over three usual ones (without times: the way from fix to fix), or where the heading turns by more than
/// 45 degrees. The heading of a fix is that of the way to it; the first of all has none.
#[must_use]
pub fn split(points: &[YieldPoint]) -> Vec<u32> {
    let steps: Vec<(f64, f64)> = points
        .windows(2)
        .map(|pair| {
            (
                pair[1].along - pair[0].along,
                pair[1].across - pair[0].across,
            )
        })
        .collect();
    let gaps: Vec<f64> = points
        .windows(2)
        .zip(&steps)
        .map(|(pair, (along, across))| {
            let time = pair[1].time - pair[0].time;
            if time.is_finite() {
                time
            } else {
                along.hypot(*across)
            }
        })
        .collect();
    let longest = LONGEST_GAP * median_of_known(&gaps);
    let mut pass = 0;
    let mut passes = Vec::with_capacity(points.len());
    let mut before: Option<f64> = None;
    for at in 0..points.len() {
        if at > 0 {
            let (along, across) = steps[at - 1];
            let heading = along.atan2(across).to_degrees();
            let turn = before.map_or(0.0, |before| {
                (((heading - before) + 180.0).rem_euclid(360.0) - 180.0).abs()
            });
            if gaps[at - 1] > longest || gaps[at - 1] < 0.0 || turn > SHARPEST_TURN {
                pass += 1;
            }
            before = Some(heading);
        }
        passes.push(pass);
    }
    passes
}

/// The median of the numbers that are there; 0 of none.
pub(super) fn median_of_known(values: &[f64]) -> f64 {
    let mut known: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    median(&mut known).unwrap_or(0.0)
}
