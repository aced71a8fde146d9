//! The verdict in words and printed numbers: what text, page and JSON say alike.

use serde::Serialize;

use super::VerdictInput;
use crate::analyte::{decimals, show_yield, yield_unit};
use crate::trial::Strip;
use crate::trial::statistics::{Estimate, Finding};
use crate::trial::verdict::{Gain, JudgedSet, NotJudged, Together};
use crate::units::{MoneyPerArea, UnitSystem, decimal, fixed};

/// One set of strips.
#[derive(Debug, Clone, Serialize)]
pub struct SetFacts {
    /// Its treatment.
    pub treatment: String,
    /// Products that are judged.
    pub products: Vec<String>,
    /// Whether the strips got more than the zone rather than less.
    pub gets_more: bool,
    /// Unit of all yields.
    pub unit: &'static str,
    /// Zone by zone.
    pub zones: Vec<ZoneVerdict>,
    /// Numbers of the zones that are judged.
    pub judged: Vec<u32>,
    /// The judged zones together, weighted by area: the whole field only where every zone is judged.
    pub field: ZoneVerdict,
    /// Zones compared with each other, in words.
    pub comparisons: Vec<String>,
    /// Of strips without two products: whether they bring more together than each of them alone, zone by zone.
    pub together: Vec<TogetherFacts>,
}

/// Two products in one zone.
#[derive(Debug, Clone, Serialize)]
pub struct TogetherFacts {
    /// Number of the zone.
    pub zone: u32,
    /// The products.
    pub products: [String; 2],
    /// Gain of each beside the other, with its 90 % interval.
    pub beside_the_other: [(f64, f64, f64); 2],
    /// Gain of each where the other is left out.
    pub alone: [(f64, f64, f64); 2],
    /// What both bring more than the sum of each alone.
    pub more_than_sum: (f64, f64, f64),
    /// One sentence.
    pub sentence: String,
}

impl SetFacts {
    /// The lines of the verdict: each zone, and the judged ones together where they are several.
    pub fn lines(&self) -> impl Iterator<Item = &ZoneVerdict> {
        let together = (self.judged.len() > 1).then_some(&self.field);
        self.zones.iter().chain(together)
    }

    /// "Zone 6", "Zones 2, 6 together".
    #[must_use]
    pub fn name(&self, verdict: &ZoneVerdict) -> String {
        verdict.zone.map_or_else(
            || {
                let numbers: Vec<String> = self.judged.iter().map(u32::to_string).collect();
                format!("Zones {} together", numbers.join(", "))
            },
            |number| format!("Zone {number}"),
        )
    }
}

/// What the strips say of a zone, or of the judged zones together.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneVerdict {
    /// Number of the zone; `None` for the judged zones together.
    pub zone: Option<u32>,
    /// The finding: `pays`, `does not pay`, `no difference that matters`, `not decided`, `not judged`.
    pub finding: &'static str,
    /// Why it is not judged.
    pub why_not: Option<String>,
    /// Gain of the product, in the set's unit.
    pub gain: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub interval_90: Option<(f64, f64)>,
    /// Standard error.
    pub standard_error: Option<f64>,
    /// Degrees of freedom.
    pub degrees_of_freedom: Option<f64>,
    /// The least gain that could have been seen.
    pub least_seen: Option<f64>,
    /// Scatter of the passes without a strip, and how many there were.
    pub scatter: Option<f64>,
    /// Number of those passes.
    pub placebos: Option<usize>,
    /// Whether those passes lie in other zones, because too few of this one had no strip.
    pub is_borrowed: bool,
    /// Their contrasts.
    pub placebo_contrasts: Vec<f64>,
    /// Strips that were laid.
    pub strips_laid: usize,
    /// Strips that count: with harvest on them and on both sides.
    pub strips: usize,
    /// Metres that count.
    pub metres: f64,
    /// Strip by strip: name and gain.
    pub by_strip: Vec<(String, f64)>,
    /// Gain that pays.
    pub pays_from: Option<f64>,
    /// Money left over the cost at the gain, United States dollars an acre, with the ends of its interval.
    pub net_usd_ac: Option<(f64, f64, f64)>,
    /// Share of the admissible placements with a contrast as far from 0.
    pub p_value: Option<f64>,
    /// The least p value that so many placements can give.
    pub least_p_value: Option<f64>,
    /// The p value after Holm over the zones.
    pub corrected_p_value: Option<f64>,
    /// Second opinion: gain and interval of least squares with a spatial error.
    pub second_opinion: Option<(f64, f64, f64)>,
    /// One sentence.
    pub sentence: String,
}

/// The sets in words.
pub fn facts(input: &VerdictInput) -> Vec<SetFacts> {
    let sets = input.harvest.sets.iter();
    sets.map(|set| set_facts(input, set)).collect()
}

fn set_facts(input: &VerdictInput, set: &JudgedSet) -> SetFacts {
    let (size, unit) = yield_unit(&input.facts.crop, input.facts.units);
    let words = Words {
        input,
        set,
        size,
        unit,
    };
    let not_laid = set
        .set
        .zones
        .iter()
        .filter(|zone| zone.checks == 0)
        .map(|zone| Words::not_laid(zone.zone, zone.not_judged.as_deref()));
    let mut zones: Vec<ZoneVerdict> = set
        .verdict
        .zones
        .iter()
        .map(|(zone, gain)| words.verdict(Some(*zone), gain.as_ref()))
        .chain(not_laid)
        .collect();
    zones.sort_by_key(|zone| zone.zone);
    SetFacts {
        treatment: set.set.treatment.clone(),
        products: set.set.products.clone(),
        gets_more: set.set.gets_more,
        unit,
        zones,
        judged: set.verdict.field.zones.clone(),
        field: words.verdict(None, set.verdict.field.gain.as_ref()),
        comparisons: words.comparisons(),
        together: words.together(),
    }
}

struct Words<'a> {
    input: &'a VerdictInput,
    set: &'a JudgedSet,
    size: f64,
    unit: &'static str,
}

impl Words<'_> {
    fn show(&self, kilograms: f64) -> String {
        show_yield(kilograms, &self.input.facts.crop, self.input.facts.units)
    }

    /// How many strips were laid in a zone, or in all.
    fn laid(&self, zone: Option<u32>) -> usize {
        let zones = self.set.set.zones.iter();
        match zone {
            Some(number) => zones
                .filter(|known| known.zone == number)
                .map(|known| known.checks)
                .sum(),
            None => self.set.set.draw.checks.len(),
        }
    }

    /// What is judged: `the starter`.
    fn product(&self) -> String {
        let names: Vec<String> = self
            .set
            .set
            .products
            .iter()
            .map(|name| name.replace('_', " "))
            .collect();
        names.join(" and ")
    }

    /// What two products do for each other; empty where the set leaves out one.
    fn together(&self) -> Vec<TogetherFacts> {
        let all = self.input.harvest.together.iter();
        all.filter(|together| together.products[..] == self.set.set.products[..])
            .map(|together| self.together_in(together))
            .collect()
    }

    fn together_in(&self, found: &Together) -> TogetherFacts {
        let three = |estimate: &Estimate| {
            let (low, high) = estimate.interval;
            let in_unit = |value: f64| rounded(value / self.size);
            (in_unit(estimate.gain), in_unit(low), in_unit(high))
        };
        let show = |estimate: &Estimate| {
            let (gain, low, high) = three(estimate);
            let print = |value: f64| fixed(value, decimals(self.unit));
            format!("{} (90 %: {} to {})", print(gain), print(low), print(high))
        };
        let names = found.products.each_ref().map(|name| name.replace('_', " "));
        let line = |at: usize| {
            format!(
                "{} brings {} beside {}, {} without it",
                names[at],
                show(&found.beside[at]),
                names[1 - at],
                show(&found.alone[at])
            )
        };
        let (low, high) = found.more_than_sum.interval;
        let end = if low > 0.0 {
            "they help each other"
        } else if high < 0.0 {
            "one stands in for the other"
        } else {
            "whether one needs the other is not decided"
        };
        TogetherFacts {
            zone: found.zone,
            beside_the_other: found.beside.each_ref().map(three),
            alone: found.alone.each_ref().map(three),
            more_than_sum: three(&found.more_than_sum),
            sentence: format!(
                "Zone {}, {}: {}; {}. Together {} more than the sum of each alone: {end}.",
                found.zone,
                self.unit,
                line(0),
                line(1),
                show(&found.more_than_sum)
            ),
            products: found.products.clone(),
        }
    }

    fn not_laid(zone: u32, why: Option<&str>) -> ZoneVerdict {
        let why = why.unwrap_or("no check strip was laid here").to_owned();
        ZoneVerdict {
            sentence: format!("Not judged: {why}."),
            ..nothing(Some(zone), why)
        }
    }

    fn verdict(&self, zone: Option<u32>, gain: Result<&Gain, &NotJudged>) -> ZoneVerdict {
        let gain = match gain {
            Ok(gain) => gain,
            Err(why) => {
                let why = match why {
                    NotJudged::FewChecks { found } => format!(
                        "{found} strip(s) with harvest on both sides; two are the least that say anything"
                    ),
                    NotJudged::NoPlacebos => {
                        "no pass without a strip was harvested, so chance cannot be measured"
                            .to_owned()
                    }
                };
                return ZoneVerdict {
                    sentence: format!("Not judged: {why}."),
                    strips_laid: self.laid(zone),
                    ..nothing(zone, why)
                };
            }
        };
        let in_unit = |value: f64| rounded(value / self.size);
        let estimate = &gain.estimate;
        ZoneVerdict {
            zone,
            finding: gain.finding.unwrap_or(Finding::NotDecided).words(),
            why_not: None,
            gain: Some(in_unit(estimate.gain)),
            interval_90: Some((in_unit(estimate.interval.0), in_unit(estimate.interval.1))),
            standard_error: Some(in_unit(estimate.standard_error)),
            degrees_of_freedom: Some(estimate.degrees_of_freedom),
            least_seen: Some(in_unit(gain.least_seen)).filter(|value| value.is_finite()),
            scatter: Some(in_unit(gain.scatter.sd)),
            placebos: Some(gain.scatter.placebos),
            is_borrowed: gain.is_pooled,
            placebo_contrasts: gain.placebos.iter().map(|value| in_unit(*value)).collect(),
            strips_laid: self.laid(zone),
            strips: gain.checks.len(),
            metres: gain.checks.iter().map(|check| check.metres).sum(),
            by_strip: gain
                .checks
                .iter()
                .map(|check| (self.strip_name(&check.check), in_unit(check.gain)))
                .collect(),
            pays_from: gain.break_even.map(in_unit),
            net_usd_ac: self.net(gain),
            p_value: gain.randomisation.map(|r| r.p),
            least_p_value: gain.randomisation.map(|r| r.least_p),
            corrected_p_value: gain.corrected_p,
            second_opinion: gain.opinion.map(|opinion| {
                (
                    in_unit(opinion.gain),
                    in_unit(opinion.interval.0),
                    in_unit(opinion.interval.1),
                )
            }),
            sentence: self.sentence(gain),
        }
    }

    /// The strip's name in the prescription.
    fn strip_name(&self, check: &str) -> String {
        let set = &self.set.set;
        let at = set.draw.checks.iter().position(|own| own.name == check);
        at.map_or_else(|| check.to_owned(), |at| Strip::name_of(&set.treatment, at))
    }

    /// Money over the cost, at the gain and at the ends of its interval.
    fn net(&self, gain: &Gain) -> Option<(f64, f64, f64)> {
        let price = self.input.facts.crop_price?;
        let cost = gain.break_even? * price;
        let dollars = |value: f64| {
            let money = MoneyPerArea::from_dollars_per_hectare(value * price - cost);
            (money.number_in(UnitSystem::UnitedStates) * 100.0).round() / 100.0
        };
        let estimate = &gain.estimate;
        Some((
            dollars(estimate.gain),
            dollars(estimate.interval.0),
            dollars(estimate.interval.1),
        ))
    }

    fn sentence(&self, gain: &Gain) -> String {
        let product = self.product();
        let estimate = &gain.estimate;
        let (low, high) = estimate.interval;
        let lead = match gain.finding {
            Some(Finding::Pays) => format!("The {product} pays here"),
            Some(Finding::DoesNotPay) => format!("The {product} does not pay here"),
            Some(Finding::NoDifferenceThatMatters) => {
                format!("The {product} makes no difference that matters here")
            }
            Some(Finding::NotDecided) => "Not decided".to_owned(),
            None => "Not decided, because the plan gives no price of the crop".to_owned(),
        };
        let numbers = format!(
            "gain {}, 90 % interval {} to {}",
            self.show(estimate.gain),
            decimal(low / self.size, decimals(self.unit)),
            self.show(high)
        );
        let pays = gain
            .break_even
            .map(|value| format!("; it pays from {}", self.show(value)));
        let seen = if gain.least_seen.is_finite() {
            format!(
                ". These strips could have shown {}",
                self.show(gain.least_seen)
            )
        } else {
            String::new()
        };
        format!("{lead}: {numbers}{}{seen}.", pays.unwrap_or_default())
    }

    fn comparisons(&self) -> Vec<String> {
        let compared = self.set.verdict.comparisons.iter();
        compared
            .map(|comparison| {
                let estimate = &comparison.estimate;
                format!(
                    "Zone {} over zone {}: {} more gain (90 % interval {} to {}; p {} after Holm).",
                    comparison.zones.0,
                    comparison.zones.1,
                    self.show(estimate.gain),
                    fixed(estimate.interval.0 / self.size, 1),
                    self.show(estimate.interval.1),
                    fixed(comparison.corrected_p, 3)
                )
            })
            .collect()
    }
}

/// Three decimals: more than any yield is known to.
fn rounded(value: f64) -> f64 {
    (value * 1_000.0).round() / 1_000.0 + 0.0
}

fn nothing(zone: Option<u32>, why: String) -> ZoneVerdict {
    ZoneVerdict {
        zone,
        finding: "not judged",
        why_not: Some(why),
        gain: None,
        interval_90: None,
        standard_error: None,
        degrees_of_freedom: None,
        least_seen: None,
        scatter: None,
        placebos: None,
        is_borrowed: false,
        placebo_contrasts: Vec::new(),
        strips_laid: 0,
        strips: 0,
        metres: 0.0,
        by_strip: Vec::new(),
        pays_from: None,
        net_usd_ac: None,
        p_value: None,
        least_p_value: None,
        corrected_p_value: None,
        second_opinion: None,
        sentence: String::new(),
    }
}
