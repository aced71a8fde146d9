//! Products as columns: one rate per zone in one unit, under names that every format can carry.

use super::{DeliverError, StageValues};
use crate::rates::ProductUse;
use crate::units::{Metering, ProductRate};
use crate::units::{UnitSystem, decimal};

/// Most decimals that a rate is printed with.
const MOST_DECIMALS: usize = 3;

/// The rates of one product in all zones.
#[derive(Debug)]
pub struct RateColumn<'a> {
    /// The product.
    pub product: &'a ProductUse,
    /// Property name: `gypsum_lb_ac`.
    pub name: String,
    /// At most 10 capital ASCII letters, digits and underscores: `GYPSUM_LB`.
    pub short_name: String,
    /// Unit for people: `lb/ac`.
    pub unit: &'static str,
    /// Decimals that show every rate in full, at most 3; those of the check strips too.
    pub decimals: usize,
    /// Whether any zone or check strip gets some of it.
    pub is_used: bool,
    /// One rate per zone, by rising number, in `unit`.
    pub rates: Vec<f64>,
}

impl RateColumn<'_> {
    /// The total with its unit as it is printed everywhere.
    #[must_use]
    pub fn printed_total(&self, system: UnitSystem) -> (String, &'static str) {
        let (total, unit) = self.total(system);
        (printed_total(total), unit)
    }

    /// Total over the field as the prescription says it, with its unit: litres and kilograms, or gallons and pounds.
    #[must_use]
    pub fn total(&self, system: UnitSystem) -> (f64, &'static str) {
        use crate::units::{Mass, Volume};
        match self.product.form {
            Metering::Liquid => (
                self.product.total_volume.number_in(system),
                Volume::unit_in(system),
            ),
            Metering::Dry => (
                self.product.total_mass.number_in(system),
                Mass::unit_in(system),
            ),
        }
    }
}

/// A total as it is printed everywhere: whole from 1,000 on, else with one decimal.
#[must_use]
pub fn printed_total(total: f64) -> String {
    decimal(total, usize::from(total.abs() < 1_000.0))
}

/// One column per product, in the order of the prescription.
///
/// # Errors
/// Where a zone has not exactly one rate per product, in its unit, finite and not negative.
pub fn rate_columns<'a>(
    stages: &'a StageValues<'a>,
    system: UnitSystem,
) -> Result<Vec<RateColumn<'a>>, DeliverError> {
    let mut columns: Vec<RateColumn<'a>> = Vec::new();
    for (place, product) in stages.prescription.products.iter().enumerate() {
        let unit = product.step.unit_in(system);
        let rates = product_rates(stages, place, product, system)?;
        let name = unused(&property_name(&product.name, unit), usize::MAX, |name| {
            columns.iter().any(|c| c.name == name)
        });
        let short = short_name(&product.name, unit);
        let short_name = unused(&short, 10, |name| {
            columns.iter().any(|c| c.short_name == name)
        });
        let on_strips = stages
            .strips
            .strips()
            .filter_map(|strip| strip.rates.get(place));
        let all: Vec<f64> = rates
            .iter()
            .copied()
            .chain(on_strips.map(|rate| rate.number_in(system)))
            .collect();
        columns.push(RateColumn {
            product,
            name,
            short_name,
            unit,
            decimals: decimals_of(&all),
            is_used: all.iter().any(|rate| *rate > 0.0),
            rates,
        });
    }
    Ok(columns)
}

fn product_rates(
    stages: &StageValues<'_>,
    place: usize,
    product: &ProductUse,
    system: UnitSystem,
) -> Result<Vec<f64>, DeliverError> {
    let is_liquid = product.form == Metering::Liquid;
    stages
        .prescription
        .zones
        .iter()
        .map(|zone| {
            let rate = zone
                .rates
                .get(place)
                .filter(|rate| rate.product == product.name);
            let number = rate
                .filter(|rate| matches!(rate.amount, ProductRate::Volume(_)) == is_liquid)
                .map(|rate| rate.amount.number_in(system))
                .filter(|number| number.is_finite() && *number >= 0.0);
            number.ok_or_else(|| DeliverError::Inconsistent {
                what: format!(
                    "zone {} has no usable rate of {}",
                    zone.number, product.name
                ),
            })
        })
        .collect()
}

/// The fewest decimals that show every rate in full.
fn decimals_of(rates: &[f64]) -> usize {
    let needed = |rate: &f64| {
        decimal(*rate, MOST_DECIMALS)
            .split_once('.')
            .map_or(0, |(_, part)| part.len())
    };
    rates.iter().map(needed).max().unwrap_or(0)
}

/// `gypsum` and `lb/ac` to `gypsum_lb_ac`.
#[must_use]
pub fn property_name(product: &str, unit: &str) -> String {
    format!(
        "{}_{}",
        plain(product),
        unit.to_ascii_lowercase().replace('/', "_")
    )
}

/// `gypsum` and `lb/ac` to `GYPSUM_LB`: the product's first letters and the unit's measure.
fn short_name(product: &str, unit: &str) -> String {
    let measure = unit.split('/').next().unwrap_or("").to_ascii_uppercase();
    let product = plain(product).to_ascii_uppercase().replace('_', "");
    let room = 9_usize.saturating_sub(measure.len());
    format!("{}_{measure}", &product[..product.len().min(room)])
}

/// Only `[a-z0-9_]`, starting with a letter.
fn plain(name: &str) -> String {
    let mut out: String = name
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '_'
            }
        })
        .collect();
    if !out.starts_with(|c: char| c.is_ascii_lowercase()) {
        out.insert(0, 'p');
    }
    out
}

/// The name itself, or with a number at its end where it is taken; never longer than `longest`.
#[must_use]
pub fn unused(name: &str, longest: usize, is_taken: impl Fn(&str) -> bool) -> String {
    let mut candidate = name.to_owned();
    let mut number = 2;
    while is_taken(&candidate) {
        let tail = number.to_string();
        let room = longest.saturating_sub(tail.len()).min(name.len());
        candidate = format!("{}{tail}", &name[..room]);
        number += 1;
    }
    candidate
}
