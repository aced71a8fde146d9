//! Stage 7: findings become a starter rate, amendment rates and an order of fixes, inside every cap.
//!
//! For each zone: what the chemistry asks for, cut to the caps and rounded to the controller's step; the consultant's word; the last gate,
//! which holds every rate against every cap; the fixes and tests in their order; and what the budget buys. Every step is kept in words, so
//! that a reader can redo it.

mod amendment;
mod balance;
mod balance_sheet;
mod blend;
mod budget;
mod caps;
mod columns;
mod error;
mod field_remarks;
pub mod frontier;
mod in_part;
mod last_gate;
mod lime_rules;
mod material;
mod money_over_time;
mod names;
mod need_in_caps;
mod nutrients;
mod order;
mod overrides;
mod own_evidence;
mod part_of_ground;
mod pending_rate;
mod prescriber;
mod prescription;
mod prices;
mod pump;
mod reason;
mod rounding;
mod seed_safe;
mod spending;
mod starter;
mod starter_remarks;
mod stock_offers;
mod strip_rate;
mod strip_totals;
mod tests_to_run;
mod totals;
mod worst_case;
mod zone_context;
mod zone_plan;

pub use balance_sheet::{Balance, CropTake, NutrientBalance, ZoneBalance};
pub use error::RatesError;
pub use names::check_names;
pub use nutrients::{Choice, MixProblem, MixProduct, MixZone, cheapest_mix, check_worked_values};
pub use order::NOTHING_FIRST;
pub use prescription::{
    Aim, BudgetOutcome, CutWord, Fix, Ingredient, Load, Offers, OwnWord, Prescription, ProductUse,
    Rate, RateCap, Recipe, StockOffer, TestFirst, UnmetNeed, ZoneRates,
};

pub use strip_rate::StripRate;
pub use strip_totals::StripRates;

use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::plan::{Settings, Stock};
use crate::rulebook::Rulebook;
use crate::surface::Surfaces;
use crate::units::Metering;
use crate::zones::Zones;
use blend::Blend;
use lime_rules::LimeRules;
use prescriber::Prescriber;
use prices::Prices;
use pump::PumpRange;
use rounding::Steps;
use zone_context::{FieldContext, Purpose};

/// Sets the rates of every zone.
///
/// # Errors
/// Prices and overrides that name unknown products or zones, or are in the wrong form; a recipe that does not fit; all at once.
pub fn prescribe(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    diagnosis: &Diagnosis,
    rulebook: &Rulebook,
) -> Result<Prescription, Vec<RatesError>> {
    let case = (settings, field, surfaces, zones, diagnosis, rulebook);
    prescribed(case, Purpose::Prescribe)
}

/// The same for zones that are only compared with others: amounts, and the fixes that are no tests, without a word for people.
///
/// # Errors
/// As [`prescribe`].
pub fn prescribe_without_words(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    diagnosis: &Diagnosis,
    rulebook: &Rulebook,
) -> Result<Prescription, Vec<RatesError>> {
    let case = (settings, field, surfaces, zones, diagnosis, rulebook);
    prescribed(case, Purpose::CompareZones)
}

/// What the rates follow from.
type Case<'a> = (
    &'a Settings,
    &'a Field,
    &'a Surfaces,
    &'a Zones,
    &'a Diagnosis,
    &'a Rulebook,
);

fn prescribed(
    (settings, field, surfaces, zones, diagnosis, rulebook): Case<'_>,
    purpose: Purpose,
) -> Result<Prescription, Vec<RatesError>> {
    let mut errors = Vec::new();
    let prices = Prices::gather(settings, rulebook, &mut errors);
    let lime_rules = LimeRules::gather(rulebook, &mut errors);
    let blend = Blend::from_rulebook(rulebook, &prices, &mut errors);
    let words = overrides::words(settings, rulebook, zones, diagnosis, &mut errors);
    errors.extend(names::unknown_in_shed(settings, rulebook));
    errors.extend(stocks_of_the_other_form(settings, rulebook));
    errors.extend(names::unknown_harvests(settings, rulebook));
    errors.extend(
        diagnosis
            .zones
            .iter()
            .filter(|zone| zone.zone >= zones.zones.len())
            .map(|zone| RatesError::OtherZones {
                zone: zone.zone,
                zones: zones.zones.len(),
            }),
    );
    let crop = rulebook.crop(&settings.crop);
    if crop.is_none() {
        let place = settings.place_of_crop();
        errors.push(RatesError::UnknownCrop {
            place,
            crop: settings.crop.clone(),
        });
    }
    let Some(crop) = crop.filter(|_| errors.is_empty()) else {
        return Err(errors);
    };
    let field = FieldContext {
        settings,
        ground: field,
        surfaces,
        zones,
        rulebook,
        crop,
        steps: Steps::new(settings, rulebook),
        pump: PumpRange::from_settings(settings),
        blend: blend.as_ref(),
        prices: &prices,
        lime_rules: &lime_rules,
        purpose,
    };
    let prescriber = Prescriber {
        field: &field,
        diagnosis,
        words: &words,
    };
    Ok(prescriber.prescribe())
}

/// Amounts on hand in the unit of the other form: gallons of a dry product.
fn stocks_of_the_other_form(settings: &Settings, rulebook: &Rulebook) -> Vec<RatesError> {
    let shed = settings.supply.shed.iter();
    shed.flat_map(|shed| &shed.on_hand)
        .filter_map(|(name, stock)| {
            let metering = rulebook.product(name)?.metering;
            let (is_right, metered, wanted) = match metering {
                Metering::Dry => (
                    matches!(stock, Stock::Mass(_)),
                    "mass",
                    "ton, lb, tonne or kg",
                ),
                Metering::Liquid => (matches!(stock, Stock::Volume(_)), "volume", "gal or L"),
            };
            let place = settings.place_of(&format!("shed.on_hand.{name}"));
            (!is_right).then(|| RatesError::WrongForm {
                place,
                product: name.clone(),
                metered,
                wanted,
            })
        })
        .collect()
}
