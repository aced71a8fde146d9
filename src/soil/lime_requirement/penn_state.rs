use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the Penn State lime rule";

/// Lime requirement of Pennsylvania from the laboratory's exchangeable acidity.
///
/// | target | acidity | lb of calcium carbonate equivalent per acre |
/// |---|---|---|
/// | 7.0 | any | 1000 x acidity |
/// | 6.5 | above 4.0 | 840 x acidity |
/// | 6.5 | up to 4.0, pH below 6.5 | 2,000 |
///
/// The page leaves acidity of exactly 4.0 open; it is read with the lower line. 0 at and above the target.
///
/// # Units
/// Acidity in meq/100 g; result in lb of 100 % CCE, fine sized, per acre of a 7 in slice.
///
/// # Range
/// Acidity 0 to 30; water pH 3.5 to 9; target 6.5 or 7.0.
///
/// # Errors
/// [`SoilError`] outside the range or for another target.
///
/// # Source
/// Penn State Agronomy Guide, "Limestone recommendation".
pub fn penn_state_pounds_per_acre(
    acidity_meq: f64,
    water_ph: f64,
    target_ph: f64,
) -> Result<f64, SoilError> {
    let acidity = within(
        acidity_meq,
        "exchangeable acidity",
        "meq/100 g",
        0.0..=30.0,
        RULE,
    )?;
    let ph = within(water_ph, "pH in water", "", 3.5..=9.0, RULE)?;
    let target = within(target_ph, "the target pH", "", 6.5..=7.0, RULE)?;
    if target != 6.5 && target != 7.0 {
        let wanted = "pH 6.5 or 7.0".to_owned();
        let help = "Pennsylvania publishes no other target: choose one of the two";
        return Err(SoilError::NotComparable {
            what: "a lime rate",
            found: format!("target pH {target}"),
            wanted,
            help,
        });
    }
    if ph >= target {
        return Ok(0.0);
    }
    Ok(match target {
        7.0 => 1_000.0 * acidity,
        _ if acidity > 4.0 => 840.0 * acidity,
        _ => 2_000.0,
    })
}
