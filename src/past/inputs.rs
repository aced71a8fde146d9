//! Every input of a season, field by field and zone by zone, as an inspector asks for it: what, how much, where, when, and why.

use serde::{Deserialize, Serialize};

use super::season_sources::SeasonSources;
use crate::diagnosis::{Finding, Outcome, ZoneDiagnosis};
use crate::plan::Day;
use crate::rates::{Ingredient, ProductUse, Rate, ZoneRates};
use crate::rulebook::{Product, ProductName};
use crate::units::{Metering, decimal};

/// One input in one zone.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct InputRecord {
    /// Number of the zone in its season.
    pub zone: u32,
    /// Its area, m².
    pub area_m2: f64,
    /// Name of the product in the rulebook.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// The mix that it is an ingredient of, as the controller's product is called.
    pub part_of: Option<String>,
    /// What is in it, percent by mass; empty where the rulebook gives no analysis.
    pub analysis: String,
    /// Where the analysis comes from.
    pub analysis_source: String,
    /// How it is measured.
    pub form: Metering,
    /// Rate, kg/ha or L/ha.
    pub rate: f64,
    /// Amount in the zone, check strips not counted, kg or L.
    pub total: f64,
    /// The day of the plan.
    pub planned: Option<Day>,
    /// Why it goes out: the finding of the soil test, or the consultant's word.
    pub reason: String,
    /// The soil test that the reason rests on: file, laboratory, day.
    pub soil_test: String,
}

/// The inputs of a run, zone by zone, in the order of its products; what goes nowhere is left out.
pub(super) fn input_records(from: SeasonSources<'_>) -> Vec<InputRecord> {
    let zones = from.diagnosis.zones.iter().zip(&from.prescription.zones);
    zones
        .flat_map(|(diagnosis, rates)| {
            Zone {
                from,
                diagnosis,
                rates,
            }
            .inputs()
        })
        .collect()
}

struct Zone<'a> {
    from: SeasonSources<'a>,
    diagnosis: &'a ZoneDiagnosis,
    rates: &'a ZoneRates,
}

impl Zone<'_> {
    fn inputs(&self) -> Vec<InputRecord> {
        let products = &self.from.prescription.products;
        let used = self.rates.rates.iter().zip(products);
        used.filter(|(rate, _)| !rate.amount.is_zero())
            .flat_map(|(rate, product)| self.of_rate(rate, product))
            .collect()
    }

    fn of_rate(&self, rate: &Rate, product: &ProductUse) -> Vec<InputRecord> {
        let amount = rate.amount.per_hectare();
        let finding = self.reason(rate);
        let reason = match (&rate.overridden, finding) {
            (Some(why), _) if rate.cut.is_some() => {
                format!("the consultant's word, cut to what is safe: {why}")
            }
            (Some(why), _) => format!("the consultant's word: {why}"),
            (None, Some(finding)) => finding.sentence.clone(),
            (None, None) => self.rates.reason.clone(),
        };
        let soil_test = finding.map(|finding| self.soil_test(finding));
        let record = |name: &str, label: &str, form: Metering, rate: f64| {
            let known = self.from.rulebook.product(name);
            InputRecord {
                zone: self.diagnosis.number,
                area_m2: self.area_m2(),
                product: name.to_owned(),
                label: label.to_owned(),
                part_of: None,
                analysis: known.map(analysis).unwrap_or_default(),
                analysis_source: known.map(|known| known.source.clone()).unwrap_or_default(),
                form,
                rate,
                total: rate * self.area_m2() / 10_000.0,
                planned: self.from.settings.people.date,
                reason: reason.clone(),
                soil_test: soil_test.clone().unwrap_or_default(),
            }
        };
        let recipe = self.from.prescription.recipe.as_ref();
        let Some(recipe) = recipe.filter(|_| rate.product == ProductName::Starter) else {
            return vec![record(&product.name, &product.label, product.form, amount)];
        };
        let ingredient = |part: &Ingredient| {
            let (form, rate) = if part.is_dry {
                (Metering::Dry, amount * part.kilograms_per_litre)
            } else {
                (Metering::Liquid, amount * part.volume_share)
            };
            InputRecord {
                part_of: Some(product.label.clone()),
                ..record(&part.product, &part.label, form, rate)
            }
        };
        recipe.ingredients.iter().map(ingredient).collect()
    }

    fn area_m2(&self) -> f64 {
        let zone = self.from.zones.zones.get(self.diagnosis.zone);
        zone.map_or(0.0, |zone| zone.area_m2)
    }

    /// The finding that asks for a product: the most severe limit that a fix with it answers, or that the starter answers.
    fn reason(&self, rate: &Rate) -> Option<&Finding> {
        let rulebook = self.from.rulebook;
        let answers = |finding: &Finding| match &rate.product {
            ProductName::Starter => rulebook
                .recipes
                .first()
                .is_some_and(|recipe| recipe.answers.contains(&finding.factor)),
            ProductName::Product(name) => rulebook.fixes.iter().any(|fix| {
                fix.product.as_deref() == Some(name.as_str())
                    && fix.answers(finding.factor, &finding.rule)
            }),
        };
        let mut findings = self.diagnosis.findings.iter();
        findings.find(|finding| finding.outcome == Outcome::Limiting && answers(finding))
    }

    /// The files in which the finding's layer stands, each with its laboratory and day where the plan says them.
    fn soil_test(&self, finding: &Finding) -> String {
        let field = self.from.field;
        let layers = field.layers.iter();
        let mut tests: Vec<String> = Vec::new();
        for layer in layers.filter(|layer| Some(&layer.key) == finding.layer.as_ref()) {
            let Some(places) = field.places.get(layer.places) else {
                continue;
            };
            let mut points = self.from.settings.points.iter();
            let said = points.find(|points| points.file.display().to_string() == *places.file);
            let laboratory = said.and_then(|said| said.laboratory.clone());
            let day = said.and_then(|said| said.sampled);
            let parts = [
                Some(places.file.to_string()),
                laboratory,
                day.map(|day| format!("sampled {}", day.iso())),
            ];
            let test = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
            if !tests.contains(&test) {
                tests.push(test);
            }
        }
        tests.join("; ")
    }
}

/// What is in a product: `calcium 22.3 %, sulfur 17.8 %`.
fn analysis(product: &Product) -> String {
    let parts = product.analysis.parts();
    let parts: Vec<String> = parts
        .filter(|(_, percent)| *percent > 0.0)
        .map(|(name, percent)| format!("{} {} %", name.replace('_', " "), decimal(percent, 2)))
        .collect();
    let lime = (product.effective_neutralizing_value > 0.0).then(|| {
        format!(
            "effective neutralizing value {} %",
            decimal(product.effective_neutralizing_value, 1)
        )
    });
    parts.into_iter().chain(lime).collect::<Vec<_>>().join(", ")
}
