use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the Oregon lime table of 2025";

const TARGETS: [f64; 5] = [5.6, 6.0, 6.4, 6.8, 7.2];

/// Sikora buffer pH and tons of 100-score lime per acre to each of [`TARGETS`], 6 in.
/// There is a step between 5.8 and 5.7: no single line fits the table.
#[rustfmt::skip]
const TABLE: [(f64, [f64; 5]); 22] = [
    (6.9, [0.0, 0.0,  0.5,  0.8,  1.0]),
    (6.8, [0.0, 0.4,  0.8,  1.2,  1.6]),
    (6.7, [0.2, 0.7,  1.1,  1.6,  2.2]),
    (6.6, [0.4, 0.9,  1.5,  2.1,  2.7]),
    (6.5, [0.7, 1.2,  1.8,  2.5,  3.3]),
    (6.4, [0.9, 1.5,  2.1,  2.9,  3.8]),
    (6.3, [1.1, 1.7,  2.5,  3.3,  4.4]),
    (6.2, [1.3, 2.0,  2.8,  3.7,  4.9]),
    (6.1, [1.5, 2.3,  3.1,  4.2,  5.5]),
    (6.0, [1.7, 2.5,  3.5,  4.6,  6.0]),
    (5.9, [1.9, 2.8,  3.8,  5.0,  6.6]),
    (5.8, [2.2, 3.1,  4.1,  5.4,  7.1]),
    (5.7, [2.7, 4.0,  5.5,  7.2,  9.9]),
    (5.6, [3.1, 4.5,  6.2,  8.3, 11.4]),
    (5.5, [3.5, 5.1,  7.0,  9.3, 12.9]),
    (5.4, [3.8, 5.6,  7.7, 10.3, 14.3]),
    (5.3, [4.2, 6.2,  8.5, 11.3, 15.8]),
    (5.2, [4.6, 6.7,  9.2, 12.3, 17.3]),
    (5.1, [5.0, 7.3, 10.0, 13.0, 18.7]),
    (5.0, [5.3, 7.8, 10.7, 14.0, 20.2]),
    (4.9, [5.7, 8.4, 11.5, 15.0, 21.7]),
    (4.8, [6.1, 8.9, 12.2, 16.3, 23.2]),
];

/// Lime requirement of Oregon by the Sikora buffer.
///
/// Between two rows the rate is interpolated within that pair of rows, between two targets within that pair of columns (own). A
/// buffer pH above the table's first row asks for no lime. 0 at and above the target.
///
/// # Units
/// Result in short tons of 100-score lime per acre, 6 in.
///
/// # Range
/// Buffer pH 4.8 to 7.5; water pH 3.5 to 9; target 5.6 to 7.2; mineral soil.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Oregon State University Extension 2025, EM 9585, "Updated lime requirement recommendations for Oregon", table 3.2.
/// Its example: buffer pH 6.0 to target 5.6 is 1.7 t/ac.
///
/// # Example
/// ```
/// use lowstave::soil::oregon_tons_per_acre;
/// assert_eq!(oregon_tons_per_acre(5.2, 6.0, 5.6), Ok(1.7));
/// ```
pub fn oregon_tons_per_acre(
    water_ph: f64,
    buffer_ph: f64,
    target_ph: f64,
) -> Result<f64, SoilError> {
    let buffer = within(buffer_ph, "buffer pH", "", 4.8..=7.5, RULE)?;
    let target = within(target_ph, "the target pH", "", 5.6..=7.2, RULE)?;
    if within(water_ph, "pH in water", "", 3.5..=9.0, RULE)? >= target {
        return Ok(0.0);
    }
    let row = |rates: [f64; 5]| {
        let mut by_target = [(0.0, 0.0); 5];
        for (place, pair) in by_target.iter_mut().zip(TARGETS.into_iter().zip(rates)) {
            *place = pair;
        }
        between_targets(&by_target, target)
    };
    for pair in TABLE.windows(2) {
        if let [(upper_ph, upper), (lower_ph, lower)] = *pair
            && (lower_ph..=upper_ph).contains(&buffer)
        {
            return Ok(between(
                buffer,
                (upper_ph, row(upper)),
                (lower_ph, row(lower)),
            ));
        }
    }
    Ok(0.0)
}

/// Rate at a target from rates at rising targets, linear between neighbours; the end rates outside.
pub(super) fn between_targets(rates: &[(f64, f64)], target: f64) -> f64 {
    for pair in rates.windows(2) {
        if let [low, high] = *pair
            && target <= high.0
        {
            return between(target.max(low.0), low, high);
        }
    }
    rates.last().map_or(0.0, |last| last.1)
}

/// Straight line through two points; exact at both.
fn between(at: f64, (from, from_value): (f64, f64), (to, to_value): (f64, f64)) -> f64 {
    if at == to {
        return to_value;
    }
    from_value + (to_value - from_value) * (at - from) / (to - from)
}
