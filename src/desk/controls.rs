//! What can be changed on the page, with what it is now: from the run where it is calculated, from the plan's text where it is written.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use toml_edit::{DocumentMut, Item};

use super::refused::Refused;
use super::texts::Texts;
use crate::analyte::Catalogue;
use crate::diagnosis::Finding;
use crate::engine::Run;
use crate::plan::{FixedOrAuto, Price, Settings, Stock};
use crate::units::{UnitSystem, decimal, split_number_and_unit};

/// Most zones that are offered.
const MOST_ZONES: usize = 12;

/// One thing that can be changed.
#[derive(Debug, Clone, Serialize)]
pub struct Control {
    /// The heading that it stands under.
    pub group: &'static str,
    /// What people call it.
    pub label: String,
    /// The plan's key; the rule's name for a threshold.
    pub key: String,
    /// How it is changed.
    pub kind: Kind,
    /// The number or text that is in force.
    pub value: String,
    /// Unit of the number.
    pub unit: String,
    /// Ends and step of a slider.
    pub range: Option<(f64, f64, f64)>,
    /// What there is to choose from.
    pub options: Vec<Choosable>,
    /// What has to be known of it.
    pub note: String,
}

/// One of the things to choose from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Choosable {
    /// As the plan writes it.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Whether it is chosen.
    pub is_chosen: bool,
}

/// How something is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A number with a unit.
    Quantity,
    /// A number without one.
    Number,
    /// A threshold of the rulebook.
    Threshold,
    /// One of some words.
    Choice,
    /// Some of some words.
    Several,
}

/// What can be changed in a run.
///
/// # Errors
/// A plan that is not TOML.
pub fn controls(run: &Run, texts: &Texts) -> Result<Vec<Control>, Refused> {
    let plan: DocumentMut = texts
        .plan
        .parse()
        .map_err(|error: toml_edit::TomlError| Refused::Malformed(error.to_string()))?;
    let written = Written(&plan);
    let mut all = zones(run, &written);
    all.extend(thresholds(run));
    all.extend(prices(run, &written));
    all.extend(stock(run, &written));
    all.extend(machine(run.settings(), &written));
    all.extend(strips(&written));
    Ok(all)
}

/// The plan as it is written.
struct Written<'p>(&'p DocumentMut);

impl Written<'_> {
    fn item(&self, key: &str) -> Option<&Item> {
        let mut parts = key.split('.');
        let first = self.0.get(parts.next()?)?;
        parts.try_fold(first, |item, part| item.as_table_like()?.get(part))
    }

    fn text(&self, key: &str) -> Option<&str> {
        self.item(key)?.as_str()
    }

    /// A quantity as the plan writes it, or as it is in force.
    fn quantity(&self, group: &'static str, label: &str, key: &str, in_force: String) -> Control {
        let text = self.text(key).map_or(in_force, str::to_owned);
        let (number, unit) = split_number_and_unit(&text).unwrap_or((f64::NAN, ""));
        let value = if number.is_finite() {
            decimal(number, 4)
        } else {
            String::new()
        };
        Control {
            group,
            label: label.to_owned(),
            key: key.to_owned(),
            kind: Kind::Quantity,
            value,
            unit: unit.to_owned(),
            range: number.is_finite().then(|| range(number)),
            options: Vec::new(),
            note: String::new(),
        }
    }
}

/// From a step to twice the number, in steps that people say: nothing at all is typed, not drawn to.
fn range(number: f64) -> (f64, f64, f64) {
    let most = if number.abs() > 0.0 {
        number.abs() * 2.0
    } else {
        1.0
    };
    let step = 10_f64.powf((most / 50.0).log10().floor());
    let most = (most / step).ceil() * step;
    (if number.abs() > 0.0 { step } else { 0.0 }, most, step)
}

/// The slider of a threshold, cut where no result of the analyte is possible.
fn range_of_threshold(finding: &Finding) -> (f64, f64, f64) {
    let (least, most, step) = range(finding.threshold);
    let catalogue = Catalogue::built_in();
    let analyte = finding.layer.as_ref().map(|layer| &layer.analyte);
    let possible = analyte.and_then(|analyte| {
        let entry = catalogue.entry(analyte)?;
        let mut factors = catalogue.factors(analyte);
        let (_, factor) = factors.find(|(unit, _)| *unit == finding.unit)?;
        Some((entry.possible.0 / factor, entry.possible.1 / factor))
    });
    let (from, to) = possible.unwrap_or((least, most));
    (least.max(from), most.min(to), step)
}

fn zones(run: &Run, written: &Written<'_>) -> Vec<Control> {
    const GROUP: &str = "Zones";
    let settings = run.settings();
    let chosen = match settings.zones.count {
        FixedOrAuto::Auto => "auto".to_owned(),
        FixedOrAuto::Fixed(count) => count.to_string(),
    };
    let counts = (1..=MOST_ZONES).map(|count| count.to_string());
    let counts = std::iter::once("auto".to_owned()).chain(counts);
    let choice = |label: &str, key: &str, kind, options, note: &str| Control {
        group: GROUP,
        label: label.to_owned(),
        key: key.to_owned(),
        kind,
        value: chosen.clone(),
        unit: String::new(),
        range: None,
        options,
        note: note.to_owned(),
    };
    let counts = counts
        .map(|count| Choosable {
            label: count.clone(),
            is_chosen: count == chosen,
            name: count,
        })
        .collect();
    let smallest = settings.zones.smallest.show(settings.units, 3);
    vec![
        choice("How many zones", "zones.count", Kind::Choice, counts, ""),
        written.quantity(GROUP, "Smallest patch", "zones.smallest", smallest),
        choice(
            "Layers that shape them",
            "zones.layers",
            Kind::Several,
            shaping_layers(run),
            "a layer whose map has no skill shapes nothing",
        ),
    ]
}

/// The layers that could shape the zones, with whether they do.
fn shaping_layers(run: &Run) -> Vec<Choosable> {
    let settings = run.settings();
    let shaping: BTreeSet<String> = match &settings.zones.layers {
        Some(layers) => layers.iter().map(|(analyte, _)| analyte.name()).collect(),
        None => run
            .zones()
            .layers
            .iter()
            .map(|(key, _)| key.analyte.name())
            .collect(),
    };
    let names: BTreeMap<String, String> = run
        .surfaces()
        .surfaces
        .iter()
        .map(|surface| (surface.key.analyte.name(), surface.key.analyte.label()))
        .collect();
    names
        .into_iter()
        .map(|(name, label)| Choosable {
            is_chosen: shaping.contains(&name),
            name,
            label,
        })
        .collect()
}

/// The thresholds that are passed somewhere, each once.
fn thresholds(run: &Run) -> Vec<Control> {
    let mut seen = BTreeSet::new();
    let zones = run.diagnosis().zones.iter();
    let limits = zones.flat_map(crate::diagnosis::ZoneDiagnosis::limits);
    let first = limits.filter(|finding| seen.insert(finding.rule.clone()));
    first
        .map(|finding| {
            let rule = run
                .rulebook()
                .rules
                .iter()
                .find(|rule| rule.name == finding.rule);
            let of_crop = rule.is_some_and(|rule| {
                rule.goes_by_crop
                    || rule
                        .threshold_for
                        .iter()
                        .any(|(crop, _)| *crop == run.settings().crop)
            });
            let by_crop = "by the crop's own line, which stands before this one; ";
            Control {
                group: "Limits that are passed",
                label: format!(
                    "{}: {}",
                    finding.factor.name(),
                    finding
                        .layer
                        .as_ref()
                        .map_or_else(String::new, |layer| layer.show(run.settings().units))
                ),
                key: finding.rule.clone(),
                kind: Kind::Threshold,
                value: decimal(finding.threshold, 4),
                unit: finding.unit.clone(),
                range: Some(range_of_threshold(finding)),
                options: Vec::new(),
                note: format!(
                    "{}{}: {}",
                    if of_crop { by_crop } else { "" },
                    finding.basis.name(),
                    finding.source
                ),
            }
        })
        .collect()
}

fn prices(run: &Run, written: &Written<'_>) -> Vec<Control> {
    const GROUP: &str = "Money";
    let settings = run.settings();
    let limit = settings
        .budget
        .map_or_else(String::new, |limit| limit.show(settings.units, 2));
    let mut all = vec![written.quantity(GROUP, "Budget", "budget.limit", limit)];
    if all[0].unit.is_empty() {
        all[0].unit = match settings.units {
            UnitSystem::UnitedStates => "USD/ac".to_owned(),
            UnitSystem::Metric => "USD/ha".to_owned(),
        };
    }
    let key = format!("prices.{}", settings.crop);
    if written.text(&key).is_some() {
        let label = format!("What {} sells for", settings.crop);
        all.push(written.quantity(GROUP, &label, &key, String::new()));
    }
    for product in &run.prescription().products {
        if let Some(price) = product.price {
            let key = format!("prices.{}", product.name);
            let label = format!("Price of {}", product.label);
            all.push(written.quantity(GROUP, &label, &key, price_text(price, settings.units)));
        }
    }
    all
}

fn price_text(price: Price, units: UnitSystem) -> String {
    match price {
        Price::PerMass(price) => price.show(units, 3),
        Price::PerVolume(price) => price.show(units, 3),
    }
}

fn stock(run: &Run, written: &Written<'_>) -> Vec<Control> {
    const GROUP: &str = "In the shed";
    let settings = run.settings();
    let shed = settings.supply.shed.as_ref();
    let products: BTreeMap<&str, &str> = run
        .rulebook()
        .products
        .iter()
        .map(|product| (&*product.name, &*product.label))
        .collect();
    let label_of = |name: &str| {
        let label = products.get(name).copied().unwrap_or(name);
        label.replace('_', " ")
    };
    let options = products.keys().map(|name| Choosable {
        name: (*name).to_owned(),
        label: label_of(name),
        is_chosen: shed.is_none_or(|shed| shed.products.iter().any(|own| own == name)),
    });
    let mut all = vec![Control {
        group: GROUP,
        label: "Products that may be used".to_owned(),
        key: "shed.products".to_owned(),
        kind: Kind::Several,
        value: String::new(),
        unit: String::new(),
        range: None,
        options: options.collect(),
        note: String::new(),
    }];
    for (product, amount) in shed.iter().flat_map(|shed| &shed.on_hand) {
        let in_force = match amount {
            Stock::Mass(mass) => mass.show(settings.units, 1),
            Stock::Volume(volume) => volume.show(settings.units, 1),
        };
        let key = format!("shed.on_hand.{product}");
        let label = format!("{} on hand", label_of(product));
        all.push(written.quantity(GROUP, &label, &key, in_force));
    }
    all
}

fn machine(settings: &Settings, written: &Written<'_>) -> Vec<Control> {
    const GROUP: &str = "Machine";
    let (machine, units) = (&settings.machine, settings.units);
    let mut heading = written.quantity(
        GROUP,
        "Direction of travel",
        "machine.heading",
        String::new(),
    );
    heading.kind = Kind::Number;
    heading.value = decimal(machine.heading, 1);
    "degrees from north".clone_into(&mut heading.unit);
    heading.range = Some((0.0, 180.0, 1.0));
    vec![
        written.quantity(
            GROUP,
            "Swath",
            "machine.swath",
            machine.swath.show(units, 2),
        ),
        written.quantity(
            GROUP,
            "Row spacing",
            "machine.row_spacing",
            machine.row_spacing.show(units, 3),
        ),
        written.quantity(
            GROUP,
            "Speed",
            "machine.speed",
            machine.speed.show(units, 2),
        ),
        written.quantity(GROUP, "Tank", "machine.tank", machine.tank.show(units, 1)),
        heading,
    ]
}

fn strips(written: &Written<'_>) -> Vec<Control> {
    const GROUP: &str = "Check strips";
    let keys = [
        (
            "Smallest difference that would change a decision",
            "strips.worth",
        ),
        ("Shortest strip", "strips.length"),
        ("Combine's header", "strips.header"),
    ];
    keys.into_iter()
        .filter(|(_, key)| written.text(key).is_some())
        .map(|(label, key)| written.quantity(GROUP, label, key, String::new()))
        .collect()
}
