//! What the leaves are short of, by the rulebook's limits for the crop, the part of the plant and its stage. Samples of different days are never
//! averaged, and one sample decides nothing.

use serde::Serialize;

use super::calendar::Calendar;
use super::context::SeasonContext;
use super::readings::TissueSample;
use crate::crop::{Sample, sample_with_spread};
use crate::plan::Day;
use crate::rulebook::{Factor, TissueRule};
use crate::units::{decimal, significant};

/// One content of one zone on one day compared with a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TissueResult {
    /// Number of the zone.
    pub zone: u32,
    /// What it speaks of.
    pub factor: Factor,
    /// Day of the samples.
    pub day: Option<Day>,
    /// Days from planting to it; `None` where one of both is not known.
    pub days_after_planting: Option<i64>,
    /// How many samples.
    pub samples: usize,
    /// Mean content, percent of the dry matter.
    pub content_pct: f64,
    /// Lower and upper end of its 90 % interval; `None` of one sample.
    pub interval_90: Option<(f64, f64)>,
    /// The limit, percent; `None` where none holds for this crop, part and day.
    pub limit_pct: Option<f64>,
    /// Whether the whole interval is under the limit, or none of it; `None` where the samples do not decide, or no limit holds.
    pub is_short: Option<bool>,
    /// 0 at the limit to 1 at nothing; 0 where it is not short.
    pub severity: f64,
    /// The part of the plant that the limit is for; empty where none holds.
    pub part: String,
    /// The limit's unit.
    pub unit: &'static str,
    /// Where the limit comes from; empty where none holds.
    pub source: String,
    /// Its place in the season.
    #[serde(skip)]
    pub(super) window: f64,
    /// One sentence.
    pub sentence: String,
}

/// The samples of one zone, factor, part and day.
type Key = (u32, Factor, String, Option<Day>);

/// Contents by zone, factor, part and day.
pub(super) fn tissue(
    samples: &[TissueSample],
    calendar: &Calendar,
    context: &SeasonContext<'_>,
) -> Vec<TissueResult> {
    let mut keys: Vec<Key> = samples.iter().flat_map(keys_of).collect();
    keys.sort();
    keys.dedup();
    let of = keys.into_iter().filter_map(|key| {
        let own: Vec<&TissueSample> = samples
            .iter()
            .filter(|sample| (sample.spot.zone, &sample.part, sample.day) == (key.0, &key.2, key.3))
            .collect();
        let values = |of: fn(&TissueSample) -> &[(Factor, f64)]| -> Vec<f64> {
            own.iter()
                .flat_map(|sample| of(sample))
                .filter(|(factor, _)| *factor == key.1)
                .map(|(_, percent)| *percent)
                .collect()
        };
        let (read, under) = (values(|one| &one.contents), values(|one| &one.under));
        result(&read, &under, &key, calendar, context)
    });
    of.collect()
}

fn keys_of(sample: &TissueSample) -> impl Iterator<Item = Key> {
    let all = sample.contents.iter().chain(&sample.under);
    all.map(|(factor, _)| (sample.spot.zone, *factor, sample.part.clone(), sample.day))
}

/// Contents that were read, and those that are under what the laboratory can see, taken at that: a shortage that shows so is one.
fn result(
    read: &[f64],
    under: &[f64],
    (zone, factor, part, day): &Key,
    calendar: &Calendar,
    context: &SeasonContext<'_>,
) -> Option<TissueResult> {
    let numbers = &context.rulebook.numbers;
    let values: Vec<f64> = read.iter().chain(under).copied().collect();
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    let of = sample_with_spread(&values, numbers.leaf_spread / 100.0 * mean)?;
    let after = day.zip(calendar.planted(*zone));
    let after = after.map(|(day, planted)| day.number() - planted.number());
    let mut found = TissueResult {
        zone: *zone,
        factor: *factor,
        day: *day,
        days_after_planting: after,
        samples: of.count,
        content_pct: of.mean,
        interval_90: of.interval.map(|(low, high)| (low.max(0.0), high)),
        limit_pct: None,
        is_short: None,
        severity: 0.0,
        part: String::new(),
        unit: "%",
        source: String::new(),
        window: 0.0,
        sentence: String::new(),
    };
    match rule_for(&found, part, context) {
        Ok(rule) => judge(&mut found, rule, &of, under, context),
        Err(why) => found.sentence = why,
    }
    Some(found)
}

/// The limit that holds, or why none does.
fn rule_for<'a>(
    found: &TissueResult,
    part: &str,
    context: &SeasonContext<'a>,
) -> Result<&'a TissueRule, String> {
    let name = crate::text::capital(found.factor.name());
    let rules = context.rulebook.season.tissue.iter();
    let own: Vec<&TissueRule> = rules
        .filter(|rule| rule.crop == context.crop.name && rule.factor == found.factor)
        .collect();
    let Some(rule) = own.iter().find(|rule| part.contains(&rule.part)) else {
        return Err(match own.first() {
            Some(rule) => format!(
                "{name} of {} is not comparable: the limit is for the {} ({}).",
                if part.is_empty() {
                    "a part that is not named"
                } else {
                    part
                },
                rule.part,
                rule.source
            ),
            None => format!(
                "{name}: the rulebook holds no limit in the leaves of {}.",
                context.crop.label
            ),
        });
    };
    let (from, to) = rule.days;
    let why = match found.days_after_planting {
        Some(after) if (from..=to).contains(&(after as f64)) => return Ok(rule),
        Some(after) => format!("it was taken {after} days after planting"),
        None => {
            "when it was taken is not known (a column date, and the day of planting by --planted or in a column planted)"
                .to_owned()
        }
    };
    Err(format!(
        "{name} in the {} is not comparable: {why}, and the limit is for {} to {} days after planting ({}).",
        rule.part,
        decimal(from, 0),
        decimal(to, 0),
        rule.source
    ))
}

/// Holds the contents against the limit; the words go no further than the interval.
fn judge(
    found: &mut TissueResult,
    rule: &TissueRule,
    of: &Sample,
    under: &[f64],
    context: &SeasonContext<'_>,
) {
    let per = if rule.unit == "ppm" { 10_000.0 } else { 1.0 };
    let limit = rule.below / per;
    let few = context.rulebook.numbers.leaf_samples_fewest;
    let is_blind = under.iter().any(|seen| *seen > limit);
    let is_short = match found.interval_90 {
        _ if (of.count as f64) < few || is_blind => None,
        Some((_, high)) if high < limit => Some(true),
        Some((low, _)) if low >= limit => Some(false),
        _ => None,
    };
    let number = |percent: f64| significant(percent * per, 3);
    let held = match is_short {
        Some(true) => "below the limit of",
        Some(false) => "not below the limit of",
        None if is_blind => "not decided, the laboratory does not see as little as the limit of",
        None if (of.count as f64) < few => "and so few samples decide nothing against the limit of",
        None => "not shown to lie on one side of the limit of",
    };
    let samples = if of.count == 1 { "sample" } else { "samples" };
    let day = found.day.map_or_else(String::new, Day::show);
    let range = found.interval_90.map_or_else(String::new, |(low, high)| {
        format!(", 90 %: {} to {}", number(low), number(high))
    });
    let unseen = if under.is_empty() {
        String::new()
    } else {
        format!(", {} of them under what the laboratory sees", under.len())
    };
    found.sentence = format!(
        "{} in the {} is {} {} ({} {samples} of {day}{range}{unseen}), {held} {} {} ({}).",
        crate::text::capital(found.factor.name()),
        rule.part,
        number(of.mean),
        rule.unit,
        of.count,
        significant(rule.below, 3),
        rule.unit,
        rule.source
    );
    found.limit_pct = Some(limit);
    found.is_short = is_short;
    if is_short == Some(true) {
        found.severity = (1.0 - of.mean / limit).clamp(0.0, 1.0);
    }
    found.part.clone_from(&rule.part);
    found.unit = rule.unit;
    found.source.clone_from(&rule.source);
    found.window = rule.window;
}
