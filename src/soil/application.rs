use super::SoilError;
use super::error::within;
use crate::units::{
    Area, Density, KILOGRAMS_PER_POUND, LITRES_PER_GALLON, Length, Mass, MassPerArea, Pressure,
    Speed, Volume, VolumeFlow, VolumePerArea,
};

/// Density of water that sprayer tables use, 8.34 lb/gal.
///
/// # Source
/// University of Nebraska Crop Watch 2016, "Setting the sprayer flow rate for non-water solutions".
pub const WATER: Density =
    Density::from_kilograms_per_litre(8.34 * KILOGRAMS_PER_POUND / LITRES_PER_GALLON);

const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;

/// Flow through one outlet: `rate x speed x width`; in US units `gal/ac x mph x in / 5940`.
///
/// # Units
/// `width` is what one outlet covers: the row spacing, or the band.
///
/// # Range
/// Rate not negative; speed above 0 to 15 m/s; width 1 cm to 60 m.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Oklahoma State University, "Sprayer calibration" (5940).
///
/// # Example
/// ```
/// use lowstave::soil::flow_per_outlet;
/// use lowstave::units::{Length, Quantity, Speed, VolumePerArea};
/// let rate = VolumePerArea::parse("5 gal/ac").unwrap();
/// let flow = flow_per_outlet(rate, Speed::parse("5 mph").unwrap(), Length::parse("30 in").unwrap()).unwrap();
/// assert!((flow.in_unit("gal/min").unwrap() - 0.1263).abs() < 0.0001);
/// ```
pub fn flow_per_outlet(
    rate: VolumePerArea,
    speed: Speed,
    width: Length,
) -> Result<VolumeFlow, SoilError> {
    let area_per_minute = hectares_per_minute(speed, width)?;
    let rate = liquid_rate(rate, 0.0)?;
    Ok(VolumeFlow::from_litres_per_minute(rate * area_per_minute))
}

/// Rate that a flow through one outlet gives: `5940 gal/min / (mph x in)`.
///
/// # Range
/// As [`flow_per_outlet`].
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Oklahoma State University, "Sprayer calibration". Its example (101 oz/min, 18 in, 3 mph) prints 88 gal/ac; the formula gives 86.8.
pub fn rate_of_flow(
    flow: VolumeFlow,
    speed: Speed,
    width: Length,
) -> Result<VolumePerArea, SoilError> {
    let area_per_minute = hectares_per_minute(speed, width)?;
    let flow = metered_flow(flow, 0.0)?;
    Ok(VolumePerArea::from_litres_per_hectare(
        flow / area_per_minute,
    ))
}

/// Speed at which a flow gives a rate.
///
/// # Range
/// Rate and flow above 0; width 1 cm to 60 m.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// [`flow_per_outlet`], solved for speed.
pub fn speed_for_rate(
    rate: VolumePerArea,
    flow: VolumeFlow,
    width: Length,
) -> Result<Speed, SoilError> {
    let rate = liquid_rate(rate, 1.0e-6)?;
    let flow = metered_flow(flow, 1.0e-9)?;
    let width = metres_covered(width)?;
    Ok(Speed::from_metres_per_second(
        flow / rate * SQUARE_METRES_PER_HECTARE / width / 60.0,
    ))
}

/// A rate in litres per hectare, from the least that the rule takes.
fn liquid_rate(rate: VolumePerArea, least: f64) -> Result<f64, SoilError> {
    let litres = rate.litres_per_hectare();
    within(litres, "the rate", "L/ha", least..=1.0e5, "a liquid rate")
}

/// A flow in litres per minute, from the least that the rule takes.
fn metered_flow(flow: VolumeFlow, least: f64) -> Result<f64, SoilError> {
    let litres = flow.litres_per_minute();
    within(litres, "the flow", "L/min", least..=1.0e4, "a metered flow")
}

fn hectares_per_minute(speed: Speed, width: Length) -> Result<f64, SoilError> {
    let speed = within(
        speed.metres_per_second(),
        "the speed",
        "m/s",
        1.0e-3..=15.0,
        "field work",
    )?;
    Ok(speed * 60.0 * metres_covered(width)? / SQUARE_METRES_PER_HECTARE)
}

fn metres_covered(width: Length) -> Result<f64, SoilError> {
    within(
        width.metres(),
        "the width per outlet",
        "m",
        0.01..=60.0,
        "field work",
    )
}

/// Speed from a timed course; in US units `ft x 60 / (s x 88)` mph.
///
/// # Range
/// Time above 0.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Oklahoma State University, "Sprayer calibration": 200 ft in 45 s is 3 mph (3.03), in 27 s 5 mph (5.05).
pub fn speed_of_course(distance: Length, seconds: f64) -> Result<Speed, SoilError> {
    let seconds = within(seconds, "the time", "s", 0.1..=36_000.0, "a timed course")?;
    let metres = within(
        distance.metres(),
        "the distance",
        "m",
        0.0..=1.0e5,
        "a timed course",
    )?;
    Ok(Speed::from_metres_per_second(metres / seconds))
}

/// Length of row in an area: `43,560 x 12 / row spacing in inches` feet per acre.
///
/// # Range
/// Row spacing 2 cm to 5 m.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn row_length(area: Area, row_spacing: Length) -> Result<Length, SoilError> {
    let spacing = within(row_spacing.metres(), "row spacing", "m", 0.02..=5.0, "rows")?;
    Ok(Length::from_metres(area.square_metres() / spacing))
}

/// Rate per area of a product metered per length of row, such as ounces per 1,000 row feet.
///
/// # Range
/// Row spacing 2 cm to 5 m; length above 0.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn rate_from_row_rate(
    mass: Mass,
    length: Length,
    row_spacing: Length,
) -> Result<MassPerArea, SoilError> {
    let spacing = within(row_spacing.metres(), "row spacing", "m", 0.02..=5.0, "rows")?;
    let length = within(
        length.metres(),
        "the length of row",
        "m",
        0.01..=1.0e7,
        "rows",
    )?;
    Ok(MassPerArea::from_kilograms_per_hectare(
        mass.kilograms() / length / spacing * SQUARE_METRES_PER_HECTARE,
    ))
}

/// Tank loads of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankLoads {
    /// Volume of the whole job.
    pub total: Volume,
    /// Loads with a full tank.
    pub full: u32,
    /// The last, part load; nothing where the full ones come out even.
    pub last: Volume,
    /// Area that a full tank covers.
    pub area_per_load: Area,
}

/// How many tanks a job takes: 80 ac at 5 gal/ac from 300 gal is 400 gal, one full load and one of 100 gal, 60 ac a load.
///
/// # Range
/// Area and rate above 0, tank 1 to 100,000 L; at most a million loads.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn tank_loads(area: Area, rate: VolumePerArea, tank: Volume) -> Result<TankLoads, SoilError> {
    let rule = "tank loads";
    let hectares = within(
        area.square_metres() / SQUARE_METRES_PER_HECTARE,
        "the area",
        "ha",
        1.0e-6..=1.0e6,
        rule,
    )?;
    let rate = liquid_rate(rate, 1.0e-6)?;
    let tank_litres = within(tank.litres(), "the tank", "L", 1.0..=1.0e5, rule)?;
    let total = hectares * rate;
    let loads = within(
        total / tank_litres,
        "the number of loads",
        "",
        0.0..=1.0e6,
        rule,
    )?;
    // A remainder of less than a billionth of a tank is rounding, not a load.
    let full = (loads + 1.0e-9).floor();
    let last = total - full * tank_litres;
    Ok(TankLoads {
        total: Volume::from_litres(total),
        full: full as u32,
        last: Volume::from_litres(if last > tank_litres * 1.0e-9 {
            last
        } else {
            0.0
        }),
        area_per_load: Area::from_square_metres(tank_litres / rate * SQUARE_METRES_PER_HECTARE),
    })
}

/// Weight of a volume: 300 gal at 9.2 lb/gal is 2,760 lb.
#[must_use]
pub fn weight(volume: Volume, density: Density) -> Mass {
    Mass::from_kilograms(volume.litres() * density.kilograms_per_litre())
}

/// Factor by which a solution's wanted flow or rate is multiplied to choose the nozzle from a water table: the square root of its
/// density over water's.
///
/// # Range
/// 0.5 to 2.5 kg/L; liquids that flow as water does. Molasses' viscosity and a suspension's solids are not in it: catch-test.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// University of Nebraska Crop Watch 2016, "Setting the sprayer flow rate for non-water solutions": 28-0-0 at 10.65 lb/gal is 1.13.
/// Printed tables err: 8.0 lb/gal as 0.88 (0.98 is right), 12.0 lb/gal as 1.30 (1.20 is right).
pub fn density_factor(density: Density) -> Result<f64, SoilError> {
    let density = within(
        density.kilograms_per_litre(),
        "the density",
        "kg/L",
        0.5..=2.5,
        "the square-root rule",
    )?;
    Ok((density / WATER.kilograms_per_litre()).sqrt())
}

/// Pressure that turns one flow through an orifice into another: flow goes with the square root of pressure.
///
/// # Range
/// All above 0; a sharp orifice and a water-like liquid.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Orifice law as in sprayer texts, from memory: 0.40 to 0.50 gal/min from 30 psi takes 46.9 psi.
pub fn pressure_for_flow(
    pressure: Pressure,
    flow: VolumeFlow,
    wanted: VolumeFlow,
) -> Result<Pressure, SoilError> {
    let rule = "the orifice law";
    let now = within(
        flow.litres_per_minute(),
        "the flow",
        "L/min",
        1.0e-9..=1.0e4,
        rule,
    )?;
    let wanted = within(
        wanted.litres_per_minute(),
        "the flow wanted",
        "L/min",
        1.0e-9..=1.0e4,
        rule,
    )?;
    let pressure = within(
        pressure.kilopascals(),
        "the pressure",
        "kPa",
        1.0e-6..=1.0e5,
        rule,
    )?;
    Ok(Pressure::from_kilopascals(
        pressure * (wanted / now).powi(2),
    ))
}

/// How far apart the most and the least flow of one orifice can be within a window of pressure: 15 to 45 psi is 1.73 to 1.
///
/// # Range
/// Both pressures above 0, the second not below the first.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Orifice law.
pub fn turndown(least: Pressure, most: Pressure) -> Result<f64, SoilError> {
    let least = within(
        least.kilopascals(),
        "the least pressure",
        "kPa",
        1.0e-6..=1.0e5,
        "the orifice law",
    )?;
    let most = within(
        most.kilopascals(),
        "the most pressure",
        "kPa",
        least..=1.0e5,
        "the orifice law",
    )?;
    Ok((most / least).sqrt())
}

/// Nutrient in a unit volume of a liquid: 10.65 lb/gal x 28 % is 2.982 lb N per gallon.
///
/// # Range
/// Analysis 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// University of Nebraska Crop Watch 2016.
pub fn nutrient_per_volume(density: Density, analysis_pct: f64) -> Result<Density, SoilError> {
    let share = within(analysis_pct, "the analysis", "%", 0.0..=100.0, "a label")? / 100.0;
    Ok(density * share)
}

/// Liquid that brings a mass of nutrient: 75 lb N from 28-0-0 is 25.15 gal/ac.
///
/// # Range
/// Density 0.5 to 2.5 kg/L; analysis above 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// University of Nebraska Crop Watch 2016.
pub fn liquid_for_nutrient(
    nutrient: MassPerArea,
    density: Density,
    analysis_pct: f64,
) -> Result<VolumePerArea, SoilError> {
    let density = within(
        density.kilograms_per_litre(),
        "the density",
        "kg/L",
        0.5..=2.5,
        "a liquid product",
    )?;
    let share = within(analysis_pct, "the analysis", "%", 1.0e-6..=100.0, "a label")? / 100.0;
    Ok(VolumePerArea::from_litres_per_hectare(
        nutrient.kilograms_per_hectare() / (density * share),
    ))
}

/// Field rate of a rate given for the band alone: 20 gal/ac in a 14 in band of 40 in rows is 7 gal/ac.
///
/// # Range
/// Band above 0 and no wider than the row spacing.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Proportion.
pub fn field_rate_of_band(
    band_rate: VolumePerArea,
    band: Length,
    row_spacing: Length,
) -> Result<VolumePerArea, SoilError> {
    let row = within(row_spacing.metres(), "row spacing", "m", 0.02..=5.0, "rows")?;
    let band = within(
        band.metres(),
        "the band",
        "m",
        1.0e-3..=row,
        "a band in its row",
    )?;
    Ok(band_rate * (band / row))
}

/// Way that the machine makes before a new rate takes hold: speed x lag; 5 mph and 2 s is 14.7 ft.
///
/// # Range
/// Lag 0 to 60 s.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn look_ahead(speed: Speed, lag_seconds: f64) -> Result<Length, SoilError> {
    let lag = within(lag_seconds, "the lag", "s", 0.0..=60.0, "a rate controller")?;
    Ok(Length::from_metres(speed.metres_per_second() * lag))
}

/// Analysis of a blend, %: sum of mass x analysis over sum of mass.
///
/// # Range
/// Masses not negative and not all nil; analyses 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn blend_analysis_pct(parts: &[(Mass, f64)]) -> Result<f64, SoilError> {
    let (mut total, mut nutrient) = (0.0, 0.0);
    for &(mass, analysis_pct) in parts {
        let mass = within(
            mass.kilograms(),
            "the mass of a part",
            "kg",
            0.0..=1.0e9,
            "a blend",
        )?;
        total += mass;
        nutrient += mass * within(analysis_pct, "the analysis", "%", 0.0..=100.0, "a blend")?;
    }
    Ok(nutrient
        / within(
            total,
            "the mass of the blend",
            "kg",
            1.0e-9..=1.0e12,
            "a blend",
        )?)
}
