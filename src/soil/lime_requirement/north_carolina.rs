use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the North Carolina lime rule";

/// How fast a soil uses up the lime of an earlier dressing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LimedSoil {
    /// Mineral soil: the credit falls by 8 % of the dressing a month.
    Mineral,
    /// Mineral-organic or organic soil: by 16 % a month.
    Organic,
}

/// Lime requirement by the Mehlich buffer in North Carolina.
///
/// `tons/ac = acidity x (target - pH) / (6.6 - pH) - residual credit`, never negative; 0 at and above the target.
///
/// # Units
/// Acidity in meq/100 cm³ (see [`crate::soil::Buffer::acidity_meq`]); credit and result in short tons of standard agricultural
/// lime per acre.
///
/// # Range
/// Water pH 3.5 to 9; target 5 to 6.6; acidity 0 to 12.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// North Carolina Department of Agriculture, note to the lime factor table. Its example prints 0.76 t/ac for pH 5.0,
/// target 6.0, acidity 1.2; that is a factor rounded to 0.63 where the formula gives 0.625 and 0.75 t/ac.
pub fn north_carolina_tons_per_acre(
    acidity_meq_100_cm3: f64,
    water_ph: f64,
    target_ph: f64,
    residual_credit_tons_per_acre: f64,
) -> Result<f64, SoilError> {
    let acidity = within(
        acidity_meq_100_cm3,
        "exchangeable acidity",
        "meq/100 cm3",
        0.0..=12.0,
        RULE,
    )?;
    let ph = within(water_ph, "pH in water", "", 3.5..=9.0, RULE)?;
    let target = within(target_ph, "the target pH", "", 5.0..=6.6, RULE)?;
    let credit = within(
        residual_credit_tons_per_acre,
        "the residual credit",
        "t/ac",
        0.0..=10.0,
        RULE,
    )?;
    if ph >= target {
        return Ok(0.0);
    }
    Ok((acidity * (target - ph) / (6.6 - ph) - credit).max(0.0))
}

/// What is left of an earlier dressing of lime, in its own unit.
///
/// # Range
/// Dressing and months not negative.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// North Carolina Department of Agriculture, note to the lime factor table: 8 % per month for mineral soils, 16 % for
/// mineral-organic and organic soils. Read here as shares of the dressing, so that nothing is left after 12.5 and 6.25 months.
pub fn north_carolina_residual_credit(
    dressing: f64,
    months: f64,
    soil: LimedSoil,
) -> Result<f64, SoilError> {
    let dressing = within(dressing, "the earlier dressing", "t/ac", 0.0..=20.0, RULE)?;
    let months = within(
        months,
        "the time since the dressing",
        "months",
        0.0..=600.0,
        RULE,
    )?;
    let monthly = match soil {
        LimedSoil::Mineral => 0.08,
        LimedSoil::Organic => 0.16,
    };
    Ok(dressing * (1.0 - monthly * months).max(0.0))
}
