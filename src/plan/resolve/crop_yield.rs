//! Yields of the plan's crop and what they sell for: bushels weigh what the crop's bushel weighs.

use super::words::Resolver;
use crate::analyte::{Analyte, Catalogue, Conversion, UnitRefusal};
use crate::plan::error::PlanError;
use crate::plan::reading::Written;
use crate::units::{SQUARE_METRES_PER_ACRE, UnitError, split_number_and_unit};

/// Hectares in an acre.
const HECTARES_PER_ACRE: f64 = SQUARE_METRES_PER_ACRE / 10_000.0;
/// No crop yields more, kg/ha: sugar beet and silage stay below it.
const HIGHEST: f64 = 200_000.0;

/// A yield such as `"180 bu/ac"`, kg/ha at the crop's trade moisture.
pub(super) fn crop_yield(
    written: &Written<String>,
    crop: &str,
    resolver: &Resolver<'_>,
) -> Option<f64> {
    let (number, unit) = number_and_unit(written, "yield", "180 bu/ac", resolver)?;
    let factor = kilograms_per_hectare(unit, crop)
        .map_err(|allowed| unknown(written, unit, "yield", allowed, resolver))
        .ok()?;
    let value = number * factor;
    let is_possible = (0.0..=HIGHEST).contains(&value);
    if !is_possible {
        resolver.out_of_range(&written.place, &written.value, "0 to 200 tonne/ha");
    }
    is_possible.then_some(value)
}

/// What the crop sells for, such as `"4.50 USD/bu"`, United States dollars a kilogram.
pub(super) fn crop_price(
    written: &Written<String>,
    crop: &str,
    resolver: &Resolver<'_>,
) -> Option<f64> {
    let (number, unit) = number_and_unit(written, "crop price", "4.50 USD/bu", resolver)?;
    let measure = unit.strip_prefix("USD/").unwrap_or(unit);
    let kilograms = if measure == unit {
        Err("USD/bu, USD/lb, USD/ton, USD/kg, USD/tonne".to_owned())
    } else {
        // A bushel an acre is as many kilograms a hectare as its bushel weighs over the hectares of an acre.
        let (area, hectares) = match measure {
            "kg" | "tonne" => ("ha", 1.0),
            _ => ("ac", HECTARES_PER_ACRE),
        };
        kilograms_per_hectare(&format!("{measure}/{area}"), crop).map(|factor| factor * hectares)
    };
    let kilograms = kilograms
        .map_err(|allowed| unknown(written, unit, "crop price", allowed, resolver))
        .ok()?;
    let price = number / kilograms;
    let is_possible = (0.0..=1_000.0).contains(&price);
    if !is_possible {
        resolver.out_of_range(&written.place, &written.value, "0 to 1000 USD/kg");
    }
    is_possible.then_some(price)
}

fn number_and_unit<'t>(
    written: &'t Written<String>,
    quantity: &'static str,
    example: &str,
    resolver: &Resolver<'_>,
) -> Option<(f64, &'t str)> {
    let found = split_number_and_unit(&written.value);
    if found.is_none() {
        resolver.note(PlanError::Unit {
            place: written.place.clone(),
            cause: UnitError::NoNumber {
                text: written.value.clone(),
                quantity,
                example: example.to_owned(),
            },
        });
    }
    found.map(|(number, unit)| (number, unit.trim()))
}

/// Kilograms a hectare of one unit of yield; the units that would do where it is none.
fn kilograms_per_hectare(unit: &str, crop: &str) -> Result<f64, String> {
    match Catalogue::built_in().conversion(&Analyte::Yield, unit, crop) {
        Ok(Conversion::Factor(factor) | Conversion::PerArea(factor)) => Ok(factor),
        Err(UnitRefusal::Bushels(_)) => Err(format!(
            "lb/ac, ton/ac, kg/ha, tonne/ha: the weight of a bushel of the plan's crop \"{crop}\" is not known"
        )),
        Err(_) => Err("bu/ac, lb/ac, ton/ac, kg/ha, tonne/ha".to_owned()),
    }
}

fn unknown(
    written: &Written<String>,
    unit: &str,
    quantity: &'static str,
    allowed: String,
    resolver: &Resolver<'_>,
) {
    resolver.note(PlanError::Unit {
        place: written.place.clone(),
        cause: UnitError::UnknownUnit {
            unit: unit.to_owned(),
            quantity,
            near: None,
            allowed,
        },
    });
}
