//! What a treatment changes in each zone: rates inside every cap, and whether the strip gets less or more than the zone.

use super::error::TrialError;
use crate::plan::{OverrideRate, StripSettings, StripTreatment};
use crate::rates::{Amount, Prescription, ProductForm, ProductUse, Rate, ZoneRates};
use crate::units::UnitSystem;

/// A treatment with its rates in the zones where it changes something.
#[derive(Debug, Clone)]
pub(super) struct Treatment {
    pub name: String,
    /// Which one of the plan's it is; its seed hangs on it.
    pub place: u32,
    pub products: Vec<String>,
    pub gets_more: bool,
    /// Number of the zone and its rates, in the order of the prescription's products.
    pub zones: Vec<(u32, Vec<Amount>)>,
}

impl Treatment {
    /// The rates on a strip in a zone; `None` where no strip is laid.
    pub fn rates_in(&self, zone: u32) -> Option<&[Amount]> {
        self.zones
            .iter()
            .find(|(number, _)| *number == zone)
            .map(|(_, rates)| rates.as_slice())
    }
}

/// The treatments of a plan. One that gives less in some zones and more in others is two, because their gains have opposite signs.
pub(super) fn treatments(
    asked: &StripSettings,
    prescription: &Prescription,
) -> Result<Vec<Treatment>, Vec<TrialError>> {
    let mut errors = Vec::new();
    let mut found = Vec::new();
    for (place, said) in (0_u32..).zip(&asked.treatments) {
        let before = errors.len();
        for (product, rate) in &said.rates {
            errors.extend(problem(said, product, rate.as_ref(), prescription));
        }
        if errors.len() == before {
            found.extend(of_treatment(place, said, prescription));
        }
    }
    if errors.is_empty() {
        Ok(found)
    } else {
        Err(errors)
    }
}

fn problem(
    said: &StripTreatment,
    product: &str,
    rate: Option<&OverrideRate>,
    prescription: &Prescription,
) -> Option<TrialError> {
    let Some(known) = prescription
        .products
        .iter()
        .find(|known| known.name == *product)
    else {
        let names: Vec<String> = prescription
            .products
            .iter()
            .map(|known| known.name.to_string())
            .collect();
        return Some(TrialError::UnknownProduct {
            place: said.place.clone(),
            product: product.to_owned(),
            known: if names.is_empty() {
                "none".to_owned()
            } else {
                names.join(", ")
            },
        });
    };
    let fits = match (rate, known.form) {
        (None, _) => true,
        (Some(OverrideRate::Mass(_)), form) => form == ProductForm::Dry,
        (Some(OverrideRate::Volume(_)), form) => form == ProductForm::Liquid,
    };
    (!fits).then(|| TrialError::WrongForm {
        place: said.place.clone(),
        product: product.to_owned(),
        unit: known.step.unit_in(UnitSystem::UnitedStates),
    })
}

fn of_treatment(place: u32, said: &StripTreatment, prescription: &Prescription) -> Vec<Treatment> {
    let new = |name: String, gets_more: bool| Treatment {
        name,
        place: 2 * place + u32::from(gets_more),
        products: said
            .rates
            .iter()
            .map(|(product, _)| product.clone())
            .collect(),
        gets_more,
        zones: Vec::new(),
    };
    let (mut less, mut more) = (new(said.name.clone(), false), new(said.name.clone(), true));
    let is_named = |number: &u32| said.zones.is_empty() || said.zones.contains(number);
    for zone in prescription
        .zones
        .iter()
        .filter(|zone| is_named(&zone.number))
    {
        let rates = rates(said, zone, &prescription.products);
        let changes: Vec<f64> = zone
            .rates
            .iter()
            .zip(&rates)
            .map(|(rate, strip)| size(*strip) - size(rate.amount))
            .collect();
        let is_less = changes.iter().any(|change| *change < 0.0);
        let is_more = changes.iter().any(|change| *change > 0.0);
        match (is_less, is_more) {
            (true, false) => less.zones.push((zone.number, rates)),
            (false, true) => more.zones.push((zone.number, rates)),
            // Nothing changes, or one product more and another less: no gain of either could be told.
            _ => {}
        }
    }
    if !less.zones.is_empty() && !more.zones.is_empty() {
        more.name = format!("{}, tried", said.name);
    }
    match (less.zones.is_empty(), more.zones.is_empty()) {
        (false, true) => vec![less],
        (true, false) => vec![more],
        (true, true) => vec![less],
        (false, false) => vec![less, more],
    }
}

/// The zone's rates with the treatment's own in their place, each inside its cap.
fn rates(said: &StripTreatment, zone: &ZoneRates, products: &[ProductUse]) -> Vec<Amount> {
    zone.rates
        .iter()
        .zip(products)
        .map(|(rate, product)| {
            let own = said
                .rates
                .iter()
                .find(|(name, _)| product.name == name.as_str())
                .map(|(_, own)| own.as_ref());
            match own {
                None => rate.amount,
                Some(None) => product.form.nothing(),
                Some(Some(OverrideRate::Mass(own))) => capped(rate, Amount::Mass(*own)),
                Some(Some(OverrideRate::Volume(own))) => capped(rate, Amount::Volume(*own)),
            }
        })
        .collect()
}

/// A strip's rate inside what the last gate allows here. Where the zone gets nothing, a strip gets at most what may be tried without harm.
fn capped(rate: &Rate, own: Amount) -> Amount {
    if size(own) <= size(rate.amount) {
        return own;
    }
    let tried = if rate.amount.is_zero() {
        rate.strip
    } else {
        Some(own)
    };
    let Some(tried) = tried else {
        return rate.amount;
    };
    let most = rate
        .cap
        .as_ref()
        .map_or(f64::INFINITY, |cap| size(cap.most));
    let most = if rate.amount.is_zero() {
        most.min(size(tried))
    } else {
        most
    };
    if size(own) <= most {
        return own;
    }
    match rate.cap.as_ref() {
        Some(cap) if size(cap.most) <= size(tried) => cap.most,
        _ => tried,
    }
}

/// A rate as a bare number in the unit of its form.
pub(super) fn size(amount: Amount) -> f64 {
    amount.number_in(UnitSystem::Metric)
}
