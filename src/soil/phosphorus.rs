use super::error::{percent, within};
use super::{SoilError, StatedForm};
use crate::units::MassPerArea;

/// Phosphate (P2O5) that the layer lacks against a critical level of the same extractant: the ppm short times the soil's mass.
///
/// A lower bound: soil holds on to most of what is added, see [`phosphate_to_build_up`].
///
/// # Units
/// Both in ppm P of one extractant; soil from [`super::soil_mass`].
///
/// # Range
/// 0 to 1,000 ppm.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition of a part per million; P x 2.2913 = P2O5.
pub fn phosphate_short(
    test_ppm: f64,
    critical_ppm: f64,
    soil: MassPerArea,
) -> Result<MassPerArea, SoilError> {
    Ok(soil
        * (ppm_short(test_ppm, critical_ppm)?
            * 1.0e-6
            * StatedForm::PhosphorusPentoxide.per_element()))
}

/// Phosphate (P2O5) that lifts a soil test to a critical level in so many years.
///
/// `(critical - test) x phosphate per ppm / years`; nothing at and above the critical level.
///
/// # Units
/// Both in ppm P of one extractant; `phosphate_per_ppm` is what lifts that extractant's test by 1 ppm in the region (18 lb P2O5 per acre by
/// Bray-1 in Illinois, from memory).
///
/// # Range
/// 0 to 1,000 ppm; 1 to 20 years.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Form of the build-up equation of Vitosh, Johnson and Mengel 1995, "Tri-State Fertilizer Recommendations", from memory.
pub fn phosphate_to_build_up(
    test_ppm: f64,
    critical_ppm: f64,
    phosphate_per_ppm: MassPerArea,
    years: f64,
) -> Result<MassPerArea, SoilError> {
    let short = ppm_short(test_ppm, critical_ppm)?;
    let years = within(
        years,
        "the years of build-up",
        "years",
        1.0..=20.0,
        "the build-up of phosphorus",
    )?;
    Ok(phosphate_per_ppm * (short / years))
}

fn ppm_short(test_ppm: f64, critical_ppm: f64) -> Result<f64, SoilError> {
    let rule = "a phosphorus soil test";
    let test = within(test_ppm, "phosphorus", "ppm", 0.0..=1_000.0, rule)?;
    let critical = within(
        critical_ppm,
        "the critical level",
        "ppm",
        0.0..=1_000.0,
        rule,
    )?;
    Ok((critical - test).max(0.0))
}

/// What phosphate rock does at a pH.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RockRelease {
    /// Acid enough to dissolve it.
    Useful,
    /// Slow.
    Slow,
    /// Little release expected this season.
    Little,
}

/// How far phosphate rock dissolves: it takes acidity and little calcium.
///
/// # Units
/// pH in water. `slow_from_ph` and `little_above_ph` come from the rulebook.
///
/// # Range
/// pH 3.5 to 10; the second limit not below the first.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// IFDC/FAO and extension texts, from memory: useful below about pH 5.5 to 6.0, slow above.
pub fn phosphate_rock_release(
    water_ph: f64,
    slow_from_ph: f64,
    little_above_ph: f64,
) -> Result<RockRelease, SoilError> {
    let ph = within(water_ph, "pH in water", "", 3.5..=10.0, "phosphate rock")?;
    let slow_from = within(
        slow_from_ph,
        "the pH from which rock is slow",
        "",
        3.5..=10.0,
        "phosphate rock",
    )?;
    let little_above = within(
        little_above_ph,
        "the pH above which rock does little",
        "",
        slow_from..=10.0,
        "phosphate rock",
    )?;
    Ok(match ph {
        ph if ph > little_above => RockRelease::Little,
        ph if ph >= slow_from => RockRelease::Slow,
        _ => RockRelease::Useful,
    })
}

/// Phosphate of a dressing of rock, counted two ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RockPhosphate {
    /// Citrate-soluble P2O5: what this season may be credited with.
    pub available: MassPerArea,
    /// All P2O5: what the phosphorus index counts.
    pub total: MassPerArea,
}

/// Phosphate (P2O5) in a dressing of rock.
///
/// # Range
/// Total 0 to 100 %; available no more than total. Soft rock holds about 18 to 22 % total and 2 to 3 % available (common practice).
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Label analysis.
pub fn phosphate_in_rock(
    dressing: MassPerArea,
    total_pct: f64,
    available_pct: f64,
) -> Result<RockPhosphate, SoilError> {
    let total = percent(total_pct, "total phosphate")?;
    let available = within(
        available_pct,
        "available phosphate",
        "%",
        0.0..=total,
        "a part of the total",
    )?;
    Ok(RockPhosphate {
        available: dressing * (available / 100.0),
        total: dressing * (total / 100.0),
    })
}
