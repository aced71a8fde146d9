use serde::{Deserialize, Serialize};

use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::diagnosis::{Finding, LayerSummary, Outcome};
use crate::rates::{Fix, Rate};
use crate::rulebook::Side;
use crate::units::{ProductRate, UnitSystem, decimal, significant, spoken, value_beside};

use crate::deliver::numbers::{grouped, layer_number, layer_unit, percent, with_unit};

/// One zone in words. It is kept in `run.json`, so that `explain` says the same as the report.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneReview {
    /// Its number.
    pub zone: u32,
    /// Area, with unit.
    pub area: String,
    /// The first thing to do here, an order.
    #[serde(default)]
    pub do_first: String,
    /// Why it gets what it gets, in one sentence.
    pub reason: String,
    /// What limits it, most severe first.
    pub limits: Vec<FindingFacts>,
    /// The factors that could not be judged, each with why and the test that would tell.
    #[serde(default)]
    pub not_known: Vec<String>,
    /// What was looked at and does not limit, or could not be judged.
    pub others: Vec<FindingFacts>,
    /// What was measured.
    pub profile: Vec<ProfileFacts>,
    /// Rates with their arithmetic.
    pub rates: Vec<RateFacts>,
    /// Fixes in the order in which they should be done.
    pub fixes: Vec<FixFacts>,
    /// Cautions of this zone.
    pub cautions: Vec<String>,
}

/// One rule compared with the zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FindingFacts {
    /// Factor.
    pub factor: String,
    /// `limiting`, `adequate`, `not comparable` or `not measured`.
    pub outcome: String,
    /// The finding in one sentence.
    pub sentence: String,
    /// Layer that was compared with the rule.
    pub layer: Option<String>,
    /// Value with unit and spread.
    pub value: Option<String>,
    /// `below 5.8` or `above 300 psi`: where the trouble begins.
    pub threshold: String,
    /// 0 at the threshold to 1 at the rule's worst value.
    pub severity: f64,
    /// Probability that the zone is truly past the threshold.
    pub confidence: f64,
    /// Observations inside the zone that it rests on.
    pub cores: usize,
    /// `published`, `common practice` or `own`.
    pub basis: String,
    /// Where the threshold comes from.
    pub source: String,
    /// What it blocks.
    pub blocks: Vec<String>,
    /// What the reader should know of it.
    pub cautions: Vec<String>,
    /// The same in few letters; `run.json` does not keep it.
    #[serde(skip)]
    pub narrow: NarrowFacts,
}

/// Value and limit of a finding where there is little room.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NarrowFacts {
    /// Value without its spread; `no value` where there is none.
    pub value: String,
    /// Value without its spread, and without what its share is of; empty where there is none.
    pub bare_value: String,
    /// Where the trouble begins, without what the share is of: `20 ppm`.
    pub bare_limit: String,
    /// Whether the limit is the least that is needed, and not the most.
    pub is_least: bool,
}

/// A layer within the zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProfileFacts {
    /// The layer.
    pub layer: String,
    /// Unit.
    pub unit: String,
    /// Mean over the zone.
    pub mean: String,
    /// Standard deviation within the zone.
    pub spread: String,
    /// Standard error of the mean.
    pub standard_error: String,
    /// Least and most.
    pub range: String,
    /// Observations inside the zone, with how many of them (q) were below or above the range of the test.
    pub cores: String,
    /// Whether the layer has one value for the whole field.
    pub is_flat: bool,
}

/// One product's rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateFacts {
    /// Product.
    pub product: String,
    /// Rate with unit.
    pub rate: String,
    /// Whether that is more than nothing.
    #[serde(skip)]
    pub is_given: bool,
    /// What the chemistry asks for in all, where that is more.
    pub needed: Option<String>,
    /// How the rate was reached.
    pub steps: Vec<String>,
    /// Why it is zero, or the consultant's, or spread over seasons.
    pub notes: Vec<String>,
    /// The consultant's reason, where the rate is the consultant's; it stands in the notes too, and `run.json` keeps it there alone.
    #[serde(skip)]
    pub set_because: Option<String>,
    /// What the consultant set where a cap cut it, the reason in brackets and what became of it; likewise.
    #[serde(skip)]
    pub cut_from: Option<String>,
}

/// One fix.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FixFacts {
    /// What is done.
    pub what: String,
    /// The factor it mends.
    pub factor: String,
    /// Cost with unit.
    pub cost: String,
    /// What that comes to in each year that it works: "15.71 USD/ac a year"; empty where it works for one.
    pub a_year: String,
    /// Effort, 1 to 5.
    pub effort: String,
    /// Seasons until it works.
    pub seasons: String,
    /// Severity per cost and effort.
    pub score: String,
    /// How the score was reached.
    pub arithmetic: String,
    /// What must come first.
    pub after: Vec<String>,
    /// What cost, effort and time rest on.
    pub basis: String,
    /// Whether the budget left it out.
    pub left_out: bool,
}

impl ZoneReview {
    pub(in crate::deliver) fn new(overview: &Overview<'_>, place: usize) -> Self {
        let view = &overview.zones[place];
        let system = overview.units;
        let (limits, others): (Vec<&Finding>, Vec<&Finding>) = view
            .diagnosis
            .findings
            .iter()
            .partition(|finding| finding.outcome == Outcome::Limiting);
        Self {
            zone: view.number,
            area: format!(
                "{} {}",
                grouped(view.area().number_in(system), 1),
                crate::units::Area::unit_in(system)
            ),
            do_first: super::treatment::do_first(overview, place),
            not_known: super::tests_first::not_known(overview, place),
            reason: view.rates.reason.clone(),
            limits: limits
                .into_iter()
                .map(|finding| finding_facts(finding, system))
                .collect(),
            others: others
                .into_iter()
                .map(|finding| finding_facts(finding, system))
                .collect(),
            profile: view
                .diagnosis
                .profile
                .iter()
                .map(|layer| profile_facts(layer, system))
                .collect(),
            rates: rate_facts(overview, view),
            fixes: view
                .rates
                .fixes
                .iter()
                .map(|fix| fix_facts(fix, system))
                .collect(),
            cautions: view.rates.cautions.clone(),
        }
    }
}

fn finding_facts(finding: &Finding, system: UnitSystem) -> FindingFacts {
    let side = match finding.side {
        Side::Below => "below",
        Side::Above => "above",
    };
    let spread = finding
        .spread
        .filter(|spread| spread.is_finite() && *spread > 0.0);
    let spread = spread
        .map(|spread| format!(" (spread {})", significant(spread, 2)))
        .unwrap_or_default();
    FindingFacts {
        factor: finding.factor.name().to_owned(),
        outcome: outcome_words(finding.outcome).to_owned(),
        sentence: finding.sentence.clone(),
        layer: finding.layer.as_ref().map(|layer| layer.show(system)),
        value: value_words(finding, &finding.unit).map(|value| {
            format!(
                "{value}{}",
                if finding.reading.is_none() {
                    &spread
                } else {
                    ""
                }
            )
        }),
        threshold: format!(
            "{side} {}",
            with_unit(
                &significant(spoken(finding.threshold, &finding.unit), 4),
                &finding.unit
            )
        ),
        severity: tidy(finding.severity),
        confidence: tidy(finding.confidence),
        cores: finding.cores,
        basis: finding.basis.name().to_owned(),
        source: finding.source.clone(),
        blocks: if finding.is_closing {
            finding.blocks.clone()
        } else {
            Vec::new()
        },
        cautions: finding.cautions.clone(),
        narrow: narrow_facts(finding),
    }
}

/// The value in a unit. A bound is never printed as what the laboratory read.
fn value_words(finding: &Finding, unit: &str) -> Option<String> {
    let value = finding.value.filter(|value| value.is_finite())?;
    let limit = spoken(finding.threshold, &finding.unit);
    let value = with_unit(&value_beside(spoken(value, &finding.unit), limit), unit);
    let end = match finding.side {
        Side::Below => "most",
        Side::Above => "least",
    };
    Some(match &finding.reading {
        None => value,
        Some(reading) => format!("{reading}, by the rule's method at {end} {value}"),
    })
}

fn narrow_facts(finding: &Finding) -> NarrowFacts {
    // A share's unit says what it is of: "% of pushes".
    let share_of = finding.unit.split_once(" of ");
    let unit = share_of.map_or(finding.unit.as_str(), |(unit, _)| unit);
    let limit = significant(spoken(finding.threshold, &finding.unit), 4);
    NarrowFacts {
        value: value_words(finding, &finding.unit).unwrap_or_else(|| "no value".to_owned()),
        bare_value: value_words(finding, unit).unwrap_or_default(),
        bare_limit: with_unit(&limit, unit),
        is_least: finding.side == Side::Below,
    }
}

fn outcome_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Limiting => "limiting",
        Outcome::Adequate => "adequate",
        Outcome::NotComparable => "not comparable",
        Outcome::NotMeasured => "not measured",
    }
}

/// A share from 0 to 1 with three decimals.
fn tidy(share: f64) -> f64 {
    if share.is_finite() {
        (share.clamp(0.0, 1.0) * 1_000.0).round() / 1_000.0
    } else {
        0.0
    }
}

fn profile_facts(layer: &LayerSummary, system: UnitSystem) -> ProfileFacts {
    let number = |value: f64| layer_number(&layer.key, &layer.unit, value, system);
    let qualified = if layer.qualified > 0 {
        format!(" ({}q)", layer.qualified)
    } else {
        String::new()
    };
    ProfileFacts {
        layer: layer.key.show(system),
        unit: layer_unit(&layer.key, &layer.unit, system).to_owned(),
        mean: number(layer.mean),
        spread: number(layer.spread),
        standard_error: number(layer.standard_error),
        range: format!("{} to {}", number(layer.range.0), number(layer.range.1)),
        cores: format!("{}{qualified}", layer.cores),
        is_flat: layer.is_flat,
    }
}

fn rate_facts(overview: &Overview<'_>, view: &ZoneView<'_>) -> Vec<RateFacts> {
    let system = overview.units;
    overview
        .columns
        .iter()
        .zip(&view.rates.rates)
        .map(|(column, rate)| RateFacts {
            product: column.product.label.clone(),
            rate: amount(rate.amount, column.decimals, system),
            is_given: !rate.amount.is_zero(),
            needed: needed(rate, system),
            steps: rate.steps.clone(),
            notes: notes(rate, column.decimals, system),
            set_because: rate.overridden.clone().filter(|_| rate.cut.is_none()),
            cut_from: cut_from(rate, column.decimals, system),
        })
        .zip(&overview.columns)
        .filter(|(facts, column)| {
            column.is_used || !facts.steps.is_empty() || !facts.notes.is_empty()
        })
        .map(|(facts, _)| facts)
        .collect()
}

fn amount(amount: ProductRate, decimals: usize, system: UnitSystem) -> String {
    format!(
        "{} {}",
        grouped(amount.number_in(system), decimals),
        amount.unit_in(system)
    )
}

/// What the chemistry asks for, where it differs from the rate by more than rounding of the printed number.
fn needed(rate: &Rate, system: UnitSystem) -> Option<String> {
    let (wanted, given) = (rate.needed.number_in(system), rate.amount.number_in(system));
    let differs = wanted.is_finite() && (wanted - given).abs() > 0.02 * wanted.abs().max(given);
    differs.then(|| {
        format!(
            "{} {}",
            grouped_significant(wanted),
            rate.needed.unit_in(system)
        )
    })
}

fn grouped_significant(value: f64) -> String {
    if value.abs() >= 1_000.0 {
        grouped(value, 0)
    } else {
        significant(value, 3)
    }
}

/// "400 lb/ac (why); it is cut to 0 lb/ac: ..."; `None` where nothing was cut.
fn cut_from(rate: &Rate, decimals: usize, system: UnitSystem) -> Option<String> {
    let (why, cut) = (rate.overridden.as_ref()?, rate.cut.as_ref()?);
    let asked = asked(cut.asked, decimals, system);
    Some(format!("{asked} ({why}); it is {}", cut.what))
}

/// What was set, with more decimals than the column has where it would print as nothing.
fn asked(rate: ProductRate, decimals: usize, system: UnitSystem) -> String {
    let number = rate.number_in(system);
    if number > 0.0 && number < 0.5 * 0.1_f64.powi(decimals as i32) {
        format!("{} {}", grouped_significant(number), rate.unit_in(system))
    } else {
        amount(rate, decimals, system)
    }
}

fn notes(rate: &Rate, decimals: usize, system: UnitSystem) -> Vec<String> {
    // What a cap cut is told with what was set.
    let note = rate.note.iter().filter(|_| rate.cut.is_none());
    let mut notes: Vec<String> = note.cloned().collect();
    notes.extend(rate.disputed.iter().map(|line| format!("Disputed: {line}")));
    if rate.seasons_after > 0 {
        let word = if rate.seasons_after == 1 {
            "season"
        } else {
            "seasons"
        };
        notes.push(format!(
            "The rest is spread over {} further {word}.",
            rate.seasons_after
        ));
    }
    match cut_from(rate, decimals, system) {
        Some(cut) => notes.push(format!("The consultant set {cut}")),
        None => {
            let set_by = rate.overridden.iter();
            notes.extend(set_by.map(|why| format!("Set by the consultant: {why}")));
        }
    }
    notes
}

/// The cost of a year, where it differs from the cost by more than the interest of one year.
fn a_year(fix: &Fix, system: UnitSystem) -> String {
    let (cost, year) = (
        fix.cost.dollars_per_hectare(),
        fix.cost_a_year.dollars_per_hectare(),
    );
    if fix.is_test || year >= cost {
        return String::new();
    }
    format!("{} a year", fix.cost_a_year.show(system, 2))
}

fn fix_facts(fix: &Fix, system: UnitSystem) -> FixFacts {
    FixFacts {
        what: fix.what.clone(),
        factor: fix.factor.name().to_owned(),
        cost: fix.cost.show(system, 2),
        a_year: a_year(fix, system),
        effort: decimal(fix.effort, 1),
        seasons: decimal(fix.seasons, 1),
        score: significant(fix.score, 2),
        arithmetic: fix.arithmetic.clone(),
        after: fix.after.iter().map(|key| key.replace('_', " ")).collect(),
        basis: fix.basis.name().to_owned(),
        left_out: fix.left_out,
    }
}

/// Behind a threshold whose source was recalled and not read.
const RECALLED: &str = " (*)";

impl FindingFacts {
    /// What one observation of the layer is called.
    fn observation(&self) -> &'static str {
        let is_cone = self
            .layer
            .as_ref()
            .is_some_and(|layer| layer.starts_with("cone index"));
        if is_cone { "push" } else { "core" }
    }

    /// The finding in one short line: "air: 95 % of pushes, limit 50 % (cone index (profile), 0-15 in)".
    #[must_use]
    pub fn short_line(&self) -> String {
        let value = &self.narrow.value;
        let layer = self.layer.as_deref().unwrap_or_default();
        let star = if self.is_recalled() { RECALLED } else { "" };
        format!(
            "{}: {layer} {value}; trouble {}{star}",
            self.factor, self.threshold
        )
    }

    /// Whether the source of its threshold was recalled and not read.
    #[must_use]
    pub fn is_recalled(&self) -> bool {
        self.source.contains("from memory")
    }

    /// Where the finding rests: layer, spread, cores, confidence, basis and source, as one line.
    #[must_use]
    pub fn grounds(&self) -> String {
        let mut parts: Vec<String> = self.layer.iter().cloned().collect();
        if let Some(value) = &self.value {
            parts.push(format!("value {value}"));
        }
        parts.push(format!("trouble {}", self.threshold));
        if self.outcome == "limiting" {
            parts.push(format!("severity {}", decimal(self.severity, 2)));
            parts.push(format!("{} sure", percent(self.confidence)));
        }
        if self.value.is_some() {
            parts.push(if self.cores == 1 {
                format!("1 {} here", self.observation())
            } else {
                let plural = if self.observation() == "push" {
                    "pushes"
                } else {
                    "cores"
                };
                format!("{} {plural} here", self.cores)
            });
        }
        parts.push(format!("{}: {}", self.basis, self.source));
        parts.join("; ")
    }
}
