//! Cores that stand on the other side of a threshold than their zone's mean. A mean alone would hide them: where no map could be drawn, or
//! no zone was, one rate goes out on ground that asks for different ones, and a product goes out where a limit would hold it back.

use super::condition::telling;
use super::standing::{Core, Standing};
use super::wording::{factor_between, shown_unit, subject, with_unit};
use super::{Finding, Outcome, ZoneDiagnosis};
use crate::analyte::{Analyte, LayerKey};
use crate::field::FieldLayer;
use crate::remark::Remark;
use crate::rulebook::{Condition, Product, Rule, Rulebook, Side, Statistic};
use crate::surface::{Map, Surfaces};
use crate::text::listed;
use crate::units::{UnitSystem, significant, spoken, value_beside};

/// Most layers that are named of a zone, and most cores that are named of a layer.
const MOST_NAMED: usize = 3;

/// What the remarks are made from.
pub(super) struct Ground<'a> {
    pub standing: &'a Standing<'a>,
    pub surfaces: &'a Surfaces,
    pub rulebook: &'a Rulebook,
    pub crop: &'a str,
    pub units: UnitSystem,
    pub zones: &'a [ZoneDiagnosis],
}

/// A limit that cores are compared with, in its unit.
struct Limit<'a> {
    side: Side,
    value: f64,
    unit: &'a str,
}

/// The cores of a layer in a zone on the one side of a limit, of all that stand there.
struct Across<'a> {
    there: Vec<Core<'a>>,
    all: usize,
}

/// First what a limit should hold back, then the rates that are wrong on part of a zone.
pub(super) fn remarks(ground: &Ground<'_>) -> Vec<Remark> {
    let zones = || ground.zones.iter();
    let gates = zones().flat_map(|zone| ground.past_gates(zone));
    let conditions = zones().flat_map(|zone| ground.past_conditions(zone));
    let values = zones().filter_map(|zone| ground.against_all_cores(zone));
    let rates = zones().filter_map(|zone| ground.wrong_on_part(zone));
    let all = gates.chain(conditions).chain(values);
    all.chain(rates).collect()
}

impl Ground<'_> {
    /// Limits of the rules that hold a product back.
    fn past_gates(&self, zone: &ZoneDiagnosis) -> Vec<Remark> {
        let mut remarks = Vec::new();
        for (finding, rule, key) in self.judged_means(zone, Finding::is_settled) {
            if rule.blocks.is_empty() || finding.is_closing {
                continue;
            }
            let limit = Limit {
                side: rule.side,
                value: rule.closes_from(self.crop),
                unit: &rule.unit,
            };
            let across = self.on_side((zone, key), rule, &limit, true);
            let mut blocks = finding.blocks.iter();
            let is_of_salt = blocks.any(|name| name == Rulebook::SALT_CARRYING);
            // A single sample may be a bad one; salt beside the seed is not worth finding out.
            let is_enough = is_of_salt || across.there.len() > 1;
            if !is_enough || !across.is_from(self.rulebook.numbers.cores_past_gate_from) {
                continue;
            }
            let closed = if is_of_salt {
                "nothing that carries salt goes out".to_owned()
            } else {
                format!("no {} goes out", listed(&finding.blocks).replace('_', " "))
            };
            let head = self.cores_past(zone, key, &across, &limit, true);
            let mean = self.mean(finding, &limit);
            remarks.push(gate_remark(format!(
                "{head}, where {closed}, but the {} is not{}: it is not held back there",
                self.whose_mean(zone),
                if mean.is_empty() {
                    mean
                } else {
                    format!(" ({})", mean.trim())
                }
            )));
        }
        remarks
    }

    /// Limits of the products that would mend what limits a zone, as far as they guard the ground: those that ask for no proof where nothing
    /// was measured. A product that does ask for it would only not work there.
    fn past_conditions(&self, zone: &ZoneDiagnosis) -> Vec<Remark> {
        let products = self.rulebook.products.iter();
        products
            .filter(|product| self.mends(product, zone))
            .flat_map(|product| product.only_where.iter().map(move |only| (product, only)))
            .filter(|(_, only)| only.if_unknown)
            .filter_map(|(product, only)| self.past_condition(zone, product, only))
            .collect()
    }

    fn past_condition(
        &self,
        zone: &ZoneDiagnosis,
        product: &Product,
        only: &Condition,
    ) -> Option<Remark> {
        let takes = |summary: &super::LayerSummary| {
            let method = summary.key.method.as_ref();
            only.methods.is_empty() || method.is_some_and(|m| only.methods.contains(m))
        };
        let topsoil = self.rulebook.numbers.topsoil_depth;
        let (summary, value) = telling(only, &zone.profile, topsoil, takes)?;
        if !only.is_met_by(value) {
            return None;
        }
        let all = self.standing.cores(&summary.key, zone.zone);
        let factor = factor_between(&summary.unit, &only.unit)?;
        let is_out = |core: &Core<'_>| !only.is_met_by(core.value * factor);
        let across = Across {
            all: all.len(),
            there: all.into_iter().filter(is_out).collect(),
        };
        if !across.is_from(self.rulebook.numbers.cores_past_gate_from) {
            return None;
        }
        // The ground that is held back lies on the other side.
        let limit = Limit {
            side: match only.side {
                Side::Below => Side::Above,
                Side::Above => Side::Below,
            },
            value: only.value,
            unit: &only.unit,
        };
        let head = self.cores_past(zone, &summary.key, &across, &limit, true);
        Some(gate_remark(format!(
            "{head}, where no {} goes out ({}), but the {} is not: it is not held back there",
            product.label,
            only.why,
            self.whose_mean(zone)
        )))
    }

    /// Whether a product is a fix for something that limits a zone.
    fn mends(&self, product: &Product, zone: &ZoneDiagnosis) -> bool {
        let fixes = self.rulebook.fixes.iter();
        let mut of_product =
            fixes.filter(|fix| fix.product.as_deref() == Some(product.name.as_str()));
        of_product.any(|fix| {
            zone.limits()
                .any(|finding| fix.answers(finding.factor, &finding.rule))
        })
    }

    /// The layers of which a good part of a zone's cores stands on the other side of a threshold than the zone's value, each once: their share, the
    /// sentence on them, and the layer.
    fn split_layers<'z>(&'z self, zone: &'z ZoneDiagnosis) -> Vec<Split<'z>> {
        let mut told: Vec<Split<'_>> = Vec::new();
        let settled = |finding: &Finding| finding.is_settled() || finding.depends_on_region();
        for (finding, rule, key) in self.judged_means(zone, settled) {
            // Where the mean lies between the states' limits, a core past the lowest of them is short in every state.
            let limit = Limit {
                side: rule.side,
                value: rule.threshold_for(self.crop),
                unit: &rule.unit,
            };
            let is_limiting = finding.outcome == Outcome::Limiting;
            let across = self.on_side((zone, key), rule, &limit, !is_limiting);
            let is_new = told.iter().all(|known| known.key != key);
            if is_new && across.is_from(self.rulebook.numbers.cores_across_from) {
                let share = across.there.len() as f64 / across.all as f64;
                let head = self.cores_past(zone, key, &across, &limit, !is_limiting);
                let mean = self.mean(finding, &limit);
                told.push(Split {
                    share,
                    head: format!("{head} (mean{mean})"),
                    key,
                    is_mapped: self.is_mapped(key),
                    is_missed: !is_limiting && share >= MOST && across.all >= FEWEST,
                });
            }
        }
        told
    }

    /// Layers of which every core of a zone contradicts the zone's value: the map is smooth over a step of the soil, and the zone goes by the map.
    fn against_all_cores(&self, zone: &ZoneDiagnosis) -> Option<Remark> {
        let mut layers = self.split_layers(zone);
        layers.retain(|split| split.share >= 1.0 && split.is_mapped);
        let mut heads: Vec<String> = layers.into_iter().map(|split| split.head).collect();
        heads.truncate(MOST_NAMED);
        if heads.is_empty() {
            return None;
        }
        let what = format!(
            "{}: the map is smooth where the soil has a step, and the zone goes by the map",
            listed(&heads)
        );
        Some(Remark::warning("cores-against-map", what).help(
            "go by the cores: set what they ask for with an [[override]] of the zone, or pull more cores along the step",
        ))
    }

    /// The thresholds on whose other side a good part of a zone's cores stands.
    fn wrong_on_part(&self, zone: &ZoneDiagnosis) -> Option<Remark> {
        let mut told = self.split_layers(zone);
        told.retain(|split| split.share < 1.0 || !split.is_mapped);
        told.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.key.cmp(b.key)));
        let why = match told.iter().any(|split| split.is_mapped) {
            false => "no map could be drawn",
            true => "no zone was drawn for them",
        };
        let mut heads: Vec<String> = Vec::new();
        heads.extend(told.iter().take(MOST_NAMED).map(|split| split.head.clone()));
        if told.len() > MOST_NAMED {
            heads.push(format!(
                "{} more layers are split so",
                told.len() - MOST_NAMED
            ));
        }
        if heads.is_empty() {
            return None;
        }
        let part = match self.zones {
            [_] => "the field".to_owned(),
            _ => format!("zone {}", zone.number),
        };
        let what = format!(
            "{}: {why}, so one rate is wrong on part of {part}",
            listed(&heads)
        );
        // A field that is parted already has zones for what pays, and some cores always stand off their zone's mean; but where most of them ask for what
        // none of them gets, the lines are in the wrong place.
        let is_missed = told.iter().any(|split| split.is_mapped && split.is_missed);
        let remark = match self.zones {
            [_, _, ..] if !is_missed => Remark::info("cores-differ", what),
            _ => Remark::warning("cores-differ", what),
        };
        Some(remark.help(
            "look at the cores on the map before one rate goes out: more cores, a fixed zones.count or a drawn place can part the ground",
        ))
    }

    /// Some findings of a zone whose value is the mean of a layer of cores.
    fn judged_means<'z>(
        &'z self,
        zone: &'z ZoneDiagnosis,
        is_wanted: impl Fn(&Finding) -> bool,
    ) -> impl Iterator<Item = (&'z Finding, &'z Rule, &'z LayerKey)> {
        let wanted = zone
            .findings
            .iter()
            .filter(move |finding| is_wanted(finding));
        wanted.filter_map(|finding| {
            let rule = self.rulebook.rule(&finding.rule)?;
            let key = finding.layer.as_ref()?;
            let is_mean = rule.statistic == Statistic::Mean;
            let is_of_cores = !matches!(key.analyte, Analyte::ConeIndex | Analyte::Covariate(_));
            (is_mean && is_of_cores).then_some((finding, rule, key))
        })
    }

    /// The cores of a zone past a limit of a rule, or those that are not: for certain past it where only another method was read.
    fn on_side(
        &self,
        (zone, key): (&ZoneDiagnosis, &LayerKey),
        rule: &Rule,
        limit: &Limit<'_>,
        wants_past: bool,
    ) -> Across<'_> {
        let all = self.standing.cores(key, zone.zone);
        let mut inferences = self.rulebook.inferences.iter();
        let bound = inferences
            .find(|known| known.bridges(key, &rule.methods))
            .filter(|_| !rule.takes(key));
        // Cores of one layer follow one another: the factor of each layer is looked up once.
        let mut known: Option<(*const FieldLayer, Option<f64>)> = None;
        let mut is_past = |core: &Core<'_>| {
            let of_layer = match known {
                Some(known) if std::ptr::eq(known.0, core.layer) => known,
                _ => (
                    std::ptr::from_ref(core.layer),
                    factor_between(&core.layer.unit, limit.unit),
                ),
            };
            known = Some(of_layer);
            let Some(factor) = of_layer.1 else {
                return false;
            };
            let read = core.value * factor;
            let value = match (bound.map(|bound| bound.interval(read)), limit.side) {
                (None, _) => read,
                (Some((least, _)), Side::Above) => least,
                (Some((_, most)), Side::Below) => most,
            };
            rule.is_past(value, limit.value)
        };
        Across {
            all: all.len(),
            there: all
                .into_iter()
                .filter(|core| is_past(core) == wants_past)
                .collect(),
        }
    }

    fn is_mapped(&self, key: &LayerKey) -> bool {
        let surface = self.surfaces.get(key);
        surface.is_some_and(|surface| matches!(surface.map, Map::Drawn { .. }))
    }

    /// "9 of 80 cores in zone 1 (C71, C72, C73 and 6 more) are above 2.5 dS/m in EC (paste, 0-6 in)".
    fn cores_past(
        &self,
        zone: &ZoneDiagnosis,
        key: &LayerKey,
        across: &Across<'_>,
        limit: &Limit<'_>,
        is_past: bool,
    ) -> String {
        let here = match self.zones {
            [_] => String::new(),
            _ => format!(" in zone {}", zone.number),
        };
        let (factor, unit) = shown_unit(limit.unit, self.units);
        let value = with_unit(&significant(spoken(limit.value * factor, unit), 4), unit);
        let named = self.named(across).filter(|_| is_past);
        format!(
            "{} of {} cores{here}{} {} {}{} {value} in {}",
            across.there.len(),
            across.all,
            named.unwrap_or_default(),
            if across.there.len() == 1 { "is" } else { "are" },
            if is_past { "" } else { "not " },
            limit.side.name(),
            subject(key, self.units)
        )
    }

    /// The cores by name, where they are few.
    fn named(&self, across: &Across<'_>) -> Option<String> {
        let is_few = across.there.len() * 4 < across.all;
        let cores = across.there.iter().take(MOST_NAMED);
        let mut names: Vec<String> = cores.map(|core| self.standing.name(core)).collect();
        if across.there.len() > MOST_NAMED {
            names.push(format!("{} more", across.there.len() - MOST_NAMED));
        }
        is_few.then(|| format!(" ({})", listed(&names)))
    }

    /// The finding's value beside its limit.
    fn mean(&self, finding: &Finding, limit: &Limit<'_>) -> String {
        let (factor, unit) = shown_unit(limit.unit, self.units);
        let beside = spoken(limit.value * factor, unit);
        let value = finding.value.filter(|_| finding.inferred.is_none());
        value.map_or_else(String::new, |value| {
            let number = value_beside(spoken(value, unit), beside);
            format!(" {}", with_unit(&number, unit))
        })
    }

    fn whose_mean(&self, zone: &ZoneDiagnosis) -> String {
        match self.zones {
            [_] => "field's mean".to_owned(),
            _ => format!("mean of zone {}", zone.number),
        }
    }
}

/// A share of a zone's cores that is most of them.
const MOST: f64 = 0.5;
/// Cores in a zone of which most say something of its lines (own).
const FEWEST: usize = 8;

/// A layer in which a good part of a zone's cores stands on the other side of a threshold.
struct Split<'a> {
    /// The share that does.
    share: f64,
    /// In words.
    head: String,
    key: &'a LayerKey,
    is_mapped: bool,
    /// Whether most of the cores ask for what the zone does not get.
    is_missed: bool,
}

impl Across<'_> {
    fn is_from(&self, share: f64) -> bool {
        !self.there.is_empty() && self.there.len() as f64 >= share * self.all as f64
    }
}

fn gate_remark(what: String) -> Remark {
    Remark::warning("cores-past-gate", what).help(
        "find that ground before you drive, and set the rate there to 0 with a drawn place ([[override]] inside = [...]), or part it off with zones.count",
    )
}
