//! What was ordered, what was truly applied, what the chemistry said it would do, and what it did.

use super::applied::{AppliedPlaces, AppliedRate, by_zone};
use super::change::Change;
use super::factors::TwoYears;
use super::season_record::{AimRecord, KeyRecord, RateRecord};
use crate::analyte::LayerKey;
use crate::diagnosis::ZoneDiagnosis;
use crate::plan::Day;
use crate::units::Metering;

/// A product of the earlier season on the ground of a zone of today.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductSince {
    /// Name in the rulebook.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// How it is metered.
    pub form: Metering,
    /// What was ordered on this ground, kg/ha or L/ha, by area.
    pub ordered: f64,
    /// What the logs say was applied, by area; `None` without a log.
    pub applied: Option<AppliedRate>,
    /// Price, United States dollars a kilogram or litre.
    pub price_usd: Option<f64>,
    /// What the chemistry said, where it says a number.
    pub chemistry: Option<ChemistrySince>,
}

/// What a formula said a product would do, beside what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct ChemistrySince {
    /// The layer that it moves.
    pub layer: LayerKey,
    /// Value that the cores and the formula lead to expect now.
    pub expected: f64,
    /// What was found; `None` where the years cannot be compared.
    pub found: Option<Change>,
    /// Whether the interval of what was found holds what was expected.
    pub agrees: Option<bool>,
    /// Seasons until it works, where that is later than now.
    pub not_due: Option<f64>,
    /// Why the formula cannot be compared with the soil test, where it cannot.
    pub not_judged: Option<String>,
}

impl TwoYears<'_> {
    /// The products of the earlier season on a zone's ground, those that were neither ordered nor applied left out.
    pub fn products(
        &self,
        zone: &ZoneDiagnosis,
        logs: &[(&AppliedPlaces, Vec<AppliedRate>)],
    ) -> Vec<ProductSince> {
        self.names()
            .into_iter()
            .filter_map(|(name, label, form)| {
                let parts = self.parts(zone.zone, &name);
                let ordered: f64 = parts.iter().map(|(share, rate)| share * rate.ordered).sum();
                let applied = Self::applied(zone.zone, &name, logs);
                let edge = self.numbers.mere_edge * self.most_ordered(&name);
                if ordered <= edge && applied.is_none_or(|applied| applied.rate <= edge) {
                    return None;
                }
                let ratio = match applied {
                    Some(applied) if ordered > 0.0 => applied.rate / ordered,
                    _ => 1.0,
                };
                let far_more = applied.is_some_and(|applied| {
                    let needed: f64 = parts.iter().map(|(share, rate)| share * rate.needed).sum();
                    applied.rate > self.numbers.far_more_than_needed * needed
                });
                let dates = logs.iter().filter(|(log, _)| log.product == name);
                let last = dates.filter_map(|(log, _)| log.date).max();
                let chemistry = self.chemistry(zone, &parts, ratio);
                Some(ProductSince {
                    chemistry: chemistry.map(|known| self.judged(known, far_more, last)),
                    price_usd: parts.iter().find_map(|(_, rate)| rate.price_usd),
                    product: name,
                    label,
                    form,
                    ordered,
                    applied,
                })
            })
            .collect()
    }

    /// The logs of the earlier season, each with what it says of every zone of today.
    pub fn logs<'l>(
        &self,
        logs: &'l [AppliedPlaces],
    ) -> Vec<(&'l AppliedPlaces, Vec<AppliedRate>)> {
        let season = self.run.record.season;
        let logs = logs.iter().filter(|log| log.season == season);
        logs.map(|log| {
            let cells = log.on_cells(self.field);
            (log, by_zone(self.field, self.zones, &cells))
        })
        .collect()
    }

    /// Every product of the earlier season, once.
    fn names(&self) -> Vec<(String, String, Metering)> {
        let mut names: Vec<(String, String, Metering)> = Vec::new();
        for rate in self.run.record.zones.iter().flat_map(|zone| &zone.rates) {
            if names.iter().all(|(known, ..)| *known != rate.product) {
                names.push((rate.product.clone(), rate.label.clone(), rate.form));
            }
        }
        names
    }

    /// The highest rate of a product that was ordered anywhere.
    fn most_ordered(&self, product: &str) -> f64 {
        let zones = self.run.record.zones.iter();
        let rates = zones.flat_map(|zone| &zone.rates);
        rates
            .filter(|rate| rate.product == product)
            .map(|rate| rate.ordered)
            .fold(0.0, f64::max)
    }

    /// The earlier rates of a product under a zone, each with its share of the ground.
    fn parts(&self, zone: usize, product: &str) -> Vec<(f64, &RateRecord)> {
        let under = self.ground.under(zone).into_iter();
        under
            .filter_map(|(number, share)| {
                let mut rates = self.run.zone(number)?.rates.iter();
                Some((share, rates.find(|rate| rate.product == product)?))
            })
            .collect()
    }

    /// What the logs of a product say of a zone: several passes add up.
    fn applied(
        zone: usize,
        product: &str,
        logs: &[(&AppliedPlaces, Vec<AppliedRate>)],
    ) -> Option<AppliedRate> {
        let of_product = logs.iter().filter(|(log, _)| log.product == product);
        let here = of_product.filter_map(|(_, zones)| zones.get(zone).copied());
        here.reduce(|one, other| AppliedRate {
            rate: one.rate + other.rate,
            share: one.share.max(other.share),
        })
    }

    /// What the formula said, scaled to what was applied, beside what was found.
    fn chemistry(
        &self,
        zone: &ZoneDiagnosis,
        parts: &[(f64, &RateRecord)],
        ratio: f64,
    ) -> Option<ChemistrySince> {
        let aim = parts.iter().find_map(|(_, rate)| rate.aim.as_ref())?;
        let layer = self.layer(&aim.layer)?;
        let moved: f64 = parts
            .iter()
            .map(|(share, rate)| share * expected_move(rate, &aim.layer, ratio))
            .sum();
        let mut seasons = parts.iter().filter_map(|(_, rate)| rate.seasons);
        let passed = f64::from(self.settings.season.saturating_sub(self.run.record.season));
        let not_due = seasons.find(|seasons| *seasons > passed);
        let found = self.compare(zone, &layer).change().copied();
        let from: f64 = found.map_or_else(
            || {
                parts
                    .iter()
                    .map(|(share, rate)| share * start(rate, aim))
                    .sum()
            },
            |found| found.then.mean,
        );
        Some(ChemistrySince {
            expected: from + moved,
            agrees: found.map(|found| found.holds(moved)),
            found,
            not_due,
            not_judged: None,
            layer,
        })
    }

    /// A formula is compared with a soil test only where about its need went out, and before the samples were taken.
    fn judged(
        &self,
        mut chemistry: ChemistrySince,
        far_more: bool,
        last: Option<Day>,
    ) -> ChemistrySince {
        let sampled = self.sampled_now(&chemistry.layer);
        let late = last.zip(sampled).filter(|(work, cores)| work >= cores);
        chemistry.not_judged = if let Some((work, cores)) = late {
            Some(format!(
                "the work is of {}, and the samples were taken on {}, not after it",
                work.show(),
                cores.show()
            ))
        } else {
            far_more.then(|| {
                "far more than the whole need went out here by the log, and of that the formula says nothing"
                    .to_owned()
            })
        };
        if chemistry.not_judged.is_some() {
            chemistry.agrees = None;
        }
        chemistry
    }

    /// The first day on which a layer of today was sampled, as far as the plan says it.
    fn sampled_now(&self, layer: &LayerKey) -> Option<Day> {
        let layers = self.field.layers.iter().filter(|known| known.key == *layer);
        let files = layers.filter_map(|known| self.field.places.get(known.places));
        files
            .filter_map(|places| {
                let mut points = self.settings.points.iter();
                points
                    .find(|points| points.file.display().to_string() == *places.file)?
                    .sampled
            })
            .min()
    }

    /// The layer of a record, as it is measured today.
    fn layer(&self, key: &KeyRecord) -> Option<LayerKey> {
        let mut layers = self.field.layers.iter().map(|layer| &layer.key);
        layers.find(|known| KeyRecord::new(known) == *key).cloned()
    }
}

/// How far a rate moves the mean of its zone: in proportion to the share of the whole need that was applied, and no further than the aim.
fn expected_move(rate: &RateRecord, layer: &KeyRecord, ratio: f64) -> f64 {
    let Some(aim) = rate.aim.as_ref().filter(|aim| aim.layer == *layer) else {
        return 0.0;
    };
    if rate.needed <= 0.0 {
        return 0.0;
    }
    (aim.to - aim.from) * (rate.ordered * ratio / rate.needed).clamp(0.0, 1.0)
}

fn start(rate: &RateRecord, other: &AimRecord) -> f64 {
    rate.aim.as_ref().map_or(other.from, |aim| aim.from)
}
