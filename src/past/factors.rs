//! Each factor of a zone then and now. Another laboratory, method, depth or season is not compared, and that is said.

use super::change::{Change, FEWEST_CORES, Sample, change};
use super::ground::{Ground, zone_of_today};
use super::past_run::PastRun;
use super::season_record::{KeyRecord, MeanRecord, TableRecord, ZoneRecord, spokesmen};
use super::today::Today;
use crate::analyte::{Analyte, Catalogue, LayerKey, Method};
use crate::diagnosis::{LayerSummary, ZoneDiagnosis};
use crate::field::Field;
use crate::plan::{Day, PointsSettings, Settings};
use crate::rulebook::{Factor, Numbers};
use crate::zones::Zones;

/// A layer of a zone then and now, for the factors that it speaks for.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorSince {
    /// The factors that it speaks for: pH for acidity and for alkalinity.
    pub factors: Vec<Factor>,
    /// The layer.
    pub layer: LayerKey,
    /// Its canonical unit.
    pub unit: String,
    /// What came of the comparison.
    pub finding: Finding,
}

/// What came of comparing two years.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// The interval of the difference lies above 0.
    Rose(Change),
    /// The interval lies below 0.
    Fell(Change),
    /// The interval holds 0.
    NoneShown(Change),
    /// The two years' numbers are not the same thing, and why.
    NotComparable(String),
    /// One of the two is missing, and which.
    NotKnown(String),
}

impl Finding {
    /// The change, where the years were compared.
    #[must_use]
    pub fn change(&self) -> Option<&Change> {
        match self {
            Self::Rose(change) | Self::Fell(change) | Self::NoneShown(change) => Some(change),
            Self::NotComparable(_) | Self::NotKnown(_) => None,
        }
    }

    /// Whether a change was shown.
    #[must_use]
    pub fn is_shown(&self) -> bool {
        matches!(self, Self::Rose(_) | Self::Fell(_))
    }

    fn of(found: Change) -> Self {
        if found.interval.0 > 0.0 {
            Self::Rose(found)
        } else if found.interval.1 < 0.0 {
            Self::Fell(found)
        } else {
            Self::NoneShown(found)
        }
    }
}

/// Two years of one field, laid over each other.
pub(super) struct TwoYears<'a> {
    pub settings: &'a Settings,
    pub field: &'a Field,
    pub zones: &'a Zones,
    pub numbers: &'a Numbers,
    pub run: &'a PastRun,
    pub ground: &'a Ground,
    /// The zone of today of each place of each earlier table.
    standing: Vec<Vec<Option<usize>>>,
}

/// How some samples were taken.
struct Taken<'a> {
    laboratory: Option<&'a str>,
    sampled: Option<Day>,
    moisture: Option<&'a str>,
}

impl<'a> Taken<'a> {
    fn then(table: &'a TableRecord) -> Self {
        Self {
            laboratory: table.laboratory.as_deref(),
            sampled: table.sampled,
            moisture: table.moisture.as_deref(),
        }
    }

    fn now(points: &'a PointsSettings) -> Self {
        let moisture = points
            .cone
            .as_ref()
            .and_then(|cone| cone.moisture.as_deref());
        Self {
            laboratory: points.laboratory.as_deref(),
            sampled: points.sampled,
            moisture,
        }
    }
}

/// Values of a layer in a zone, and how they were taken.
struct Values<'a> {
    values: Vec<f64>,
    taken: Vec<Taken<'a>>,
}

impl<'a> TwoYears<'a> {
    pub fn new(today: Today<'a>, run: &'a PastRun, ground: &'a Ground) -> Self {
        let (field, zones) = (today.field, today.zones);
        let standing = run.record.tables.iter().map(|table| {
            let mut places = table.places.clone();
            if field.crs.project(&mut places).is_err() {
                return vec![None; places.len()];
            }
            let zone = |(x, y): &(f64, f64)| zone_of_today(field, zones, *x, *y);
            places.iter().map(zone).collect()
        });
        Self {
            settings: today.settings,
            field,
            zones,
            numbers: today.numbers,
            run,
            ground,
            standing: standing.collect(),
        }
    }

    /// The layers of every factor that a rule settles in the zone today, in the order of its findings.
    pub fn factors(&self, zone: &ZoneDiagnosis) -> Vec<FactorSince> {
        let mut found: Vec<FactorSince> = Vec::new();
        for finding in spokesmen(zone) {
            let layer = finding.layer.as_ref();
            let Some(layer) = layer.and_then(|layer| self.compared(finding.factor, layer)) else {
                continue;
            };
            if let Some(known) = found.iter_mut().find(|known| known.layer == layer) {
                known.factors.push(finding.factor);
                continue;
            }
            let unit = Catalogue::built_in().canonical_unit(&layer.analyte);
            found.push(FactorSince {
                factors: vec![finding.factor],
                finding: self.compare(zone, &layer),
                unit: unit.to_owned(),
                layer,
            });
        }
        found
    }

    /// The layer that is compared for a factor: the finding's own, and the largest reading of each push for the ground's tightness.
    fn compared(&self, factor: Factor, layer: &LayerKey) -> Option<LayerKey> {
        let is_there = |key: &LayerKey| self.field.layers.iter().any(|known| known.key == *key);
        if factor == Factor::Air && !is_there(layer) {
            let is_largest = |key: &LayerKey| {
                let method = key.method.as_ref().map(Method::name);
                key.analyte == Analyte::ConeIndex && method == Some("profile-maximum")
            };
            let mut layers = self.field.layers.iter().map(|known| &known.key);
            return layers.find(|key| is_largest(key)).cloned();
        }
        Some(layer.clone())
    }

    /// A layer of a zone then and now.
    pub fn compare(&self, zone: &ZoneDiagnosis, layer: &LayerKey) -> Finding {
        let key = KeyRecord::new(layer);
        let then = self.values_then(zone.zone, &key);
        let now = self.values_now(zone.zone, layer);
        if let Some(why) = self.differs(&key, &then.taken, &now.taken) {
            return Finding::NotComparable(why);
        }
        let samples = match (
            Sample::of_values(&then.values),
            Sample::of_values(&now.values),
        ) {
            (Some(then), Some(now)) => Ok((then, now)),
            _ => self.by_maps(zone, &key, now.values.len()),
        };
        let repeat = Catalogue::built_in()
            .entry(&layer.analyte)
            .and_then(|entry| entry.repeat);
        match samples {
            Ok((then, now)) => Finding::of(change(then, now, repeat)),
            Err(why) => Finding::NotKnown(why),
        }
    }

    fn values_then(&self, zone: usize, key: &KeyRecord) -> Values<'_> {
        let mut found = Values {
            values: Vec::new(),
            taken: Vec::new(),
        };
        for (table, standing) in self.run.record.tables.iter().zip(&self.standing) {
            for layer in table.layers.iter().filter(|layer| layer.key == *key) {
                let here = layer.values.iter().zip(standing);
                let here = here.filter(|(_, at)| **at == Some(zone));
                found.values.extend(here.filter_map(|(value, _)| *value));
                found.taken.push(Taken::then(table));
            }
        }
        found
    }

    fn values_now(&self, zone: usize, key: &LayerKey) -> Values<'_> {
        let mut found = Values {
            values: Vec::new(),
            taken: Vec::new(),
        };
        for layer in self.field.layers.iter().filter(|layer| layer.key == *key) {
            let Some(places) = self.field.places.get(layer.places) else {
                continue;
            };
            let at = places.x.iter().zip(&places.y);
            let here = layer.values.iter().zip(at).filter(|(value, (x, y))| {
                value.is_finite() && zone_of_today(self.field, self.zones, **x, **y) == Some(zone)
            });
            found.values.extend(here.map(|(value, _)| *value));
            let mut points = self.settings.points.iter();
            let said = points.find(|points| points.file.display().to_string() == *places.file);
            found.taken.extend(said.map(Taken::now));
        }
        found
    }

    /// Why two years' numbers are not the same thing.
    fn differs(&self, key: &KeyRecord, then: &[Taken<'_>], now: &[Taken<'_>]) -> Option<String> {
        if then.is_empty() && !self.run.is_older {
            return self.other_test(key);
        }
        let pairs = then.iter().flat_map(|a| now.iter().map(move |b| (a, b)));
        for (a, b) in pairs {
            if let (Some(earlier), Some(later)) = (a.laboratory, b.laboratory)
                && !earlier.trim().eq_ignore_ascii_case(later.trim())
            {
                return Some(format!("another laboratory: {earlier} then, {later} now"));
            }
            let apart = Catalogue::built_in().same_season_days;
            if let (Some(earlier), Some(later)) = (a.sampled, b.sampled)
                && earlier.days_apart_in_the_year(later) > apart
            {
                return Some(format!(
                    "another time of the year: sampled on {} and on {}, more than {apart} days apart in the calendar",
                    earlier.show(),
                    later.show()
                ));
            }
            if key.analyte == Analyte::ConeIndex.name() {
                let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
                match (a.moisture, b.moisture) {
                    (Some(earlier), Some(later)) if same(earlier, later) => {}
                    (Some(earlier), Some(later)) => {
                        return Some(format!(
                            "other moisture: {earlier} then, {later} now, and the cone reads the moisture as much as the soil"
                        ));
                    }
                    _ => {
                        return Some(
                            "the soil's moisture at the cone was not noted in both years, and the cone reads the moisture as much as the soil"
                                .to_owned(),
                        );
                    }
                }
            }
        }
        None
    }

    /// What the earlier year measured instead, where it is the same analyte by another method or at another depth.
    fn other_test(&self, key: &KeyRecord) -> Option<String> {
        let tables = self.run.record.tables.iter();
        let mut others = tables
            .flat_map(|table| &table.layers)
            .map(|layer| &layer.key)
            .filter(|other| other.analyte == key.analyte && other != &key);
        let other = others.find(|other| other.depth == key.depth).or_else(|| {
            let tables = self.run.record.tables.iter();
            let mut others = tables
                .flat_map(|table| &table.layers)
                .map(|layer| &layer.key);
            others.find(|other| other.analyte == key.analyte)
        })?;
        let say = |key: &KeyRecord| {
            let method = key.method.as_deref().unwrap_or("method not said");
            let depth = key.depth.as_deref().unwrap_or("depth not said");
            (method.to_owned(), depth.to_owned())
        };
        let ((then, deep_then), (now, deep_now)) = (say(other), say(key));
        Some(if other.method == key.method {
            format!("another depth: {deep_then} then, {deep_now} now")
        } else if other.depth == key.depth {
            format!("another method: {then} then, {now} now")
        } else {
            format!("another method and depth: {then}, {deep_then} then; {now}, {deep_now} now")
        })
    }

    /// Both years by the means of maps, where one of them has too few cores here or kept none.
    fn by_maps(
        &self,
        zone: &ZoneDiagnosis,
        key: &KeyRecord,
        cores_now: usize,
    ) -> Result<(Sample, Sample), String> {
        let now = zone
            .profile
            .iter()
            .find(|summary| KeyRecord::new(&summary.key) == *key && summary.mean.is_finite())
            .ok_or_else(|| "not measured now".to_owned())?;
        let then = self.mean_then(zone.zone, key)?;
        if then.1 != now.is_flat {
            let year = if now.is_flat { "now" } else { "then" };
            return Err(format!(
                "{year} the field has one value and no map, and {cores_now} of today's cores lie here: fewer than {FEWEST_CORES} in one of the years"
            ));
        }
        Ok((then.0, of_map(now)))
    }

    /// The area-weighted mean of the earlier maps on this ground, and whether they were one value for the whole field.
    fn mean_then(&self, zone: usize, key: &KeyRecord) -> Result<(Sample, bool), String> {
        let missing = || "not measured then".to_owned();
        let area_now = self.zones.zones.get(zone).map_or(0.0, |zone| zone.area_m2);
        let (mut mean, mut error, mut moved, mut cores) = (0.0, 0.0, 0.0, 0);
        let mut is_flat = true;
        let under = self.ground.under(zone);
        if under.is_empty() {
            return Err("this ground was not part of the field then".to_owned());
        }
        for (number, share) in under {
            let earlier = self.run.zone(number).ok_or_else(missing)?;
            let layer = layer_of(earlier, key).ok_or_else(missing)?;
            let value = layer.mean.ok_or_else(missing)?;
            let spread = layer.spread.unwrap_or_default();
            // A part of an earlier zone may differ from the whole of it.
            let part = (share * area_now / earlier.area_m2.max(f64::MIN_POSITIVE)).min(1.0);
            mean += share * value;
            error += share * layer.standard_error.unwrap_or(spread);
            moved += (share * spread).powi(2) * (1.0 - part);
            cores += layer.cores;
            is_flat &= layer.is_flat;
        }
        let sample = Sample {
            mean,
            standard_error: error.hypot(moved.sqrt()),
            degrees_of_freedom: (cores as f64 - 1.0).max(1.0),
            cores,
        };
        Ok((sample, is_flat))
    }
}

fn layer_of<'z>(zone: &'z ZoneRecord, key: &KeyRecord) -> Option<&'z MeanRecord> {
    zone.profile.iter().find(|layer| layer.key == *key)
}

fn of_map(summary: &LayerSummary) -> Sample {
    let error = Some(summary.standard_error).filter(|error| error.is_finite());
    Sample {
        mean: summary.mean,
        standard_error: error.unwrap_or(summary.spread),
        degrees_of_freedom: (summary.cores as f64 - 1.0).max(1.0),
        cores: summary.cores,
    }
}
