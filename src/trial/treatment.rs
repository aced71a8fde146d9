//! What a treatment changes in each zone: rates inside every cap, and whether the strip gets less or more than the zone.

use super::error::TrialError;
use crate::plan::{StripSettings, StripTreatment};
use crate::rates::{Prescription, ProductUse, ZoneRates};
use crate::remark::Remark;
use crate::units::UnitSystem;
use crate::units::{Metering, ProductRate};

/// A treatment with its rates in the zones where it changes something.
#[derive(Debug, Clone)]
pub(super) struct Treatment {
    pub name: String,
    /// Which one of the plan's it is; its seed hangs on it.
    pub place: u32,
    pub products: Vec<String>,
    pub gets_more: bool,
    /// Whether it leaves out two products at once.
    pub is_joint: bool,
    /// Number of the zone and its rates, in the order of the prescription's products.
    pub zones: Vec<(u32, Vec<ProductRate>)>,
}

impl Treatment {
    /// The rates on a strip in a zone; `None` where no strip is laid.
    pub fn rates_in(&self, zone: u32) -> Option<&[ProductRate]> {
        self.zones
            .iter()
            .find(|(number, _)| *number == zone)
            .map(|(_, rates)| rates.as_slice())
    }
}

/// The treatments of a plan, and what was done to their rates. One that gives less in some zones and more in others is two, because their
/// gains have opposite signs.
pub(super) fn treatments(
    asked: &StripSettings,
    prescription: &Prescription,
    units: UnitSystem,
) -> Result<(Vec<Treatment>, Vec<Remark>), Vec<TrialError>> {
    let problems = asked.treatments.iter().flat_map(|said| {
        said.rates
            .iter()
            .filter_map(|(product, rate)| problem(said, product, rate.as_ref(), prescription))
            .chain(unknown_zones(said, prescription))
    });
    let errors: Vec<TrialError> = problems.collect();
    if !errors.is_empty() {
        return Err(errors);
    }
    let (mut found, mut remarks) = (Vec::new(), Vec::new());
    for (place, said) in (0_u32..).zip(&asked.treatments) {
        found.extend(of_treatment(place, said, prescription, units, &mut remarks));
    }
    Ok((found, remarks))
}

fn unknown_zones<'a>(
    said: &'a StripTreatment,
    prescription: &'a Prescription,
) -> impl Iterator<Item = TrialError> + 'a {
    let last = prescription.zones.len();
    let unknown = said.zones.iter().filter(move |zone| **zone as usize > last);
    unknown.map(move |zone| TrialError::UnknownZone {
        place: said.place.clone(),
        zone: *zone,
        zones: last,
    })
}

fn problem(
    said: &StripTreatment,
    product: &str,
    rate: Option<&ProductRate>,
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
        (Some(ProductRate::Mass(_)), form) => form == Metering::Dry,
        (Some(ProductRate::Volume(_)), form) => form == Metering::Liquid,
    };
    (!fits).then(|| TrialError::WrongForm {
        place: said.place.clone(),
        product: product.to_owned(),
        unit: known.step.unit_in(UnitSystem::UnitedStates),
    })
}

fn of_treatment(
    place: u32,
    said: &StripTreatment,
    prescription: &Prescription,
    units: UnitSystem,
    remarks: &mut Vec<Remark>,
) -> Vec<Treatment> {
    let new = |name: String, gets_more: bool| Treatment {
        name,
        place: 2 * place + u32::from(gets_more),
        products: said
            .rates
            .iter()
            .map(|(product, _)| product.clone())
            .collect(),
        gets_more,
        is_joint: said.is_joint,
        zones: Vec::new(),
    };
    let (mut less, mut more) = (new(said.name.clone(), false), new(said.name.clone(), true));
    let is_named = |number: &u32| said.zones.is_empty() || said.zones.contains(number);
    for zone in prescription
        .zones
        .iter()
        .filter(|zone| is_named(&zone.number))
    {
        let Some(rates) = strip_rates(said, zone, prescription, units, remarks) else {
            continue;
        };
        match change(said, zone, &rates) {
            Some(Change::Less) => less.zones.push((zone.number, rates)),
            Some(Change::More) => more.zones.push((zone.number, rates)),
            None => {}
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

/// The rates of the strips in a zone; `None` where they may not be tried there. What was done to them is told.
fn strip_rates(
    said: &StripTreatment,
    zone: &ZoneRates,
    prescription: &Prescription,
    units: UnitSystem,
    remarks: &mut Vec<Remark>,
) -> Option<Vec<ProductRate>> {
    match rates(said, zone, &prescription.products, units) {
        Ok((rates, cuts)) => {
            remarks.extend(cuts.iter().map(|cut| cut_remark(said, zone, cut)));
            Some(rates)
        }
        Err(why) => {
            // What nobody asked for by number is left out without a word.
            remarks.extend((!said.zones.is_empty()).then(|| refused_remark(said, zone, &why)));
            None
        }
    }
}

/// What a strip gets beside its zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    Less,
    More,
}

/// Whether the strips get less or more than the zone; `None` where nothing changes, or one product more and another less, so that no gain
/// of either could be told, and where a joint treatment does not change all its products.
fn change(said: &StripTreatment, zone: &ZoneRates, strip: &[ProductRate]) -> Option<Change> {
    let changes: Vec<f64> = zone
        .rates
        .iter()
        .zip(strip)
        .map(|(rate, strip)| strip.per_hectare() - rate.amount.per_hectare())
        .collect();
    let changed = changes.iter().filter(|change| **change != 0.0).count();
    if said.is_joint && changed < said.rates.len() {
        return None;
    }
    let is_less = changes.iter().any(|change| *change < 0.0);
    let is_more = changes.iter().any(|change| *change > 0.0);
    match (is_less, is_more) {
        (true, false) => Some(Change::Less),
        (false, true) => Some(Change::More),
        _ => None,
    }
}

fn cut_remark(said: &StripTreatment, zone: &ZoneRates, cut: &str) -> Remark {
    let what = format!("strips \"{}\" in zone {}: {cut}", said.name, zone.number);
    Remark::warning("strip-rate-cut", what).at(said.place.clone())
}

fn refused_remark(said: &StripTreatment, zone: &ZoneRates, why: &str) -> Remark {
    let what = format!(
        "no strip \"{}\" is laid in zone {}: {why}",
        said.name, zone.number
    );
    Remark::warning("strip-refused", what).at(said.place.clone())
}

/// The zone's rates with the treatment's own in their place, and what was done to them.
///
/// # Errors
/// Why one of them may not be tried in this zone.
fn rates(
    said: &StripTreatment,
    zone: &ZoneRates,
    products: &[ProductUse],
    units: UnitSystem,
) -> Result<(Vec<ProductRate>, Vec<String>), String> {
    let (mut rates, mut cuts) = (Vec::new(), Vec::new());
    for (rate, product) in zone.rates.iter().zip(products) {
        let own = said
            .rates
            .iter()
            .find(|(name, _)| product.name == name.as_str());
        let asked = match own.map(|(_, own)| own) {
            None => {
                rates.push(rate.amount);
                continue;
            }
            Some(None) => product.form.nothing(),
            Some(Some(ProductRate::Mass(own))) => ProductRate::Mass(*own),
            Some(Some(ProductRate::Volume(own))) => ProductRate::Volume(*own),
        };
        let passed = rate
            .on_a_strip(asked, product, units)
            .map_err(|why| format!("{}: {why}", product.label))?;
        cuts.extend(passed.cut.map(|cut| format!("{} is {cut}", product.label)));
        rates.push(passed.amount);
    }
    Ok((rates, cuts))
}
