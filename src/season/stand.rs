//! Stand counts by zone and strip: mean, interval, share of the target, how many more counts, and what the stand keeps of the yield.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::StandCount;
use crate::crop::{Sample, counts_needed, percent_of_curve, percent_of_table, sample};
use crate::plan::Day;
use crate::rulebook::{StandForm, StandRule};
use crate::units::decimal;

/// The stand of a zone, or of a strip in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandResult {
    /// Number of the zone.
    pub zone: u32,
    /// The strip, where the counts are of one.
    pub strip: Option<String>,
    /// How many places.
    pub places: usize,
    /// Mean, plants per acre.
    pub plants_per_acre: f64,
    /// Lower and upper end of its 90 % interval, plants per acre; `None` of one place.
    pub interval_90: Option<(f64, f64)>,
    /// Coefficient of variation, percent; `None` of one place.
    pub spread_pct: Option<f64>,
    /// Plants that were wanted, per acre; `None` where nobody said it.
    pub target_per_acre: Option<f64>,
    /// Share of the target, percent.
    pub share_pct: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub share_interval_90: Option<(f64, f64)>,
    /// Counts in all that would show the gap of the rulebook.
    pub counts_needed: usize,
    /// How many more than there are.
    pub counts_more: usize,
    /// Whether the spread behind it is the rulebook's and not measured.
    pub is_spread_assumed: bool,
    /// Day of planting.
    pub planted: Option<Day>,
    /// Day of the last count.
    pub counted: Option<Day>,
    /// What it keeps of the best yield, table by table.
    pub keeps: Vec<StandKeeps>,
    /// Sentences in order: the stand, the counts, replanting.
    pub sentences: Vec<String>,
}

/// What a stand keeps of the best yield by one table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandKeeps {
    /// The table's name in the rulebook.
    pub table: String,
    /// Percent of the best yield at the mean; `None` outside the table.
    pub percent: Option<f64>,
    /// At the ends of the interval, where they lie in the table.
    pub range: Option<(f64, f64)>,
    /// The day after which a full stand sown again would keep less, where the table tells; day and month.
    pub no_gain_after: Option<String>,
    /// Whether it is printed beside the one that decides.
    pub is_second_opinion: bool,
    /// Where the table holds.
    pub limits: String,
    /// Its source.
    pub source: String,
}

/// The stands of all zones, then of the strips, each by rising number.
pub(super) fn stands(counts: &[StandCount], context: &SeasonContext<'_>) -> Vec<StandResult> {
    let mut keys: Vec<(bool, u32, Option<String>)> = Vec::new();
    for count in counts {
        let own = (false, count.spot.zone, None);
        let strip = count.spot.strip.clone();
        let of_strip = strip.map(|strip| (true, count.spot.zone, Some(strip)));
        for key in [Some(own), of_strip].into_iter().flatten() {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
    }
    keys.sort();
    let results = keys.into_iter().filter_map(|(_, zone, strip)| {
        let of: Vec<&StandCount> = counts
            .iter()
            .filter(|count| {
                count.spot.zone == zone && (strip.is_none() || count.spot.strip == strip)
            })
            .collect();
        stand(&of, zone, strip, context)
    });
    results.collect()
}

fn stand(
    counts: &[&StandCount],
    zone: u32,
    strip: Option<String>,
    context: &SeasonContext<'_>,
) -> Option<StandResult> {
    let values: Vec<f64> = counts.iter().map(|count| count.per_acre).collect();
    let of = sample(&values)?;
    let numbers = &context.rulebook.numbers;
    let target = one(counts.iter().filter_map(|count| count.population));
    let planted = one(counts.iter().filter_map(|count| count.planted));
    let counted = counts.iter().filter_map(|count| count.day).max();
    let spread_pct = of
        .spread
        .filter(|_| of.mean > 0.0)
        .map(|spread| 100.0 * spread / of.mean);
    let measured = spread_pct.filter(|_| of.count as f64 >= numbers.few_cores);
    let needed = counts_needed(measured.unwrap_or(numbers.stand_spread), numbers.stand_gap);
    let share = |plants: f64| target.map(|target| 100.0 * plants / target);
    let both = |(low, high): (f64, f64)| Some((share(low)?, share(high)?));
    let keeps: Vec<StandKeeps> = context
        .rulebook
        .season
        .stands_of(&context.crop.name)
        .map(|rule| keeps(rule, &of, planted, target))
        .collect();
    let mut result = StandResult {
        zone,
        strip,
        places: of.count,
        plants_per_acre: of.mean,
        interval_90: of.interval,
        spread_pct,
        target_per_acre: target,
        share_pct: share(of.mean),
        share_interval_90: of.interval.and_then(both),
        counts_needed: needed,
        counts_more: needed.saturating_sub(of.count),
        is_spread_assumed: measured.is_none(),
        planted,
        counted,
        keeps,
        sentences: Vec::new(),
    };
    result.sentences = sentences(&result, context);
    Some(result)
}

/// The value that all rows share; `None` where they differ or there is none.
fn one<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|value| value == first).then_some(first)
}

fn keeps(rule: &StandRule, of: &Sample, planted: Option<Day>, target: Option<f64>) -> StandKeeps {
    let day = planted.map(|day| f64::from(day.of_year()));
    let percent = |plants: f64| percent_of(rule, day, plants);
    let now = percent(of.mean);
    let range = of
        .interval
        .and_then(|(low, high)| Some((percent(low)?, percent(high)?)));
    StandKeeps {
        table: rule.name.clone(),
        percent: now,
        range,
        no_gain_after: now.and_then(|now| last_day_of_gain(rule, now, target)),
        is_second_opinion: rule.is_second_opinion,
        limits: rule.limits.clone(),
        source: rule.source.clone(),
    }
}

/// Percent of the best yield of a stand by a rule.
fn percent_of(rule: &StandRule, day: Option<f64>, plants: f64) -> Option<f64> {
    match &rule.form {
        StandForm::Table {
            days,
            plants: stands,
            percent,
        } => percent_of_table((days, stands, percent), day?, plants),
        StandForm::Curve { points, .. } => percent_of_curve(points, plants),
    }
}

/// The last day on which the target sown again keeps as much as the stand does now.
fn last_day_of_gain(rule: &StandRule, now: f64, target: Option<f64>) -> Option<String> {
    let StandForm::Table {
        days,
        plants,
        percent,
    } = &rule.form
    else {
        return None;
    };
    let target = target?.min(*plants.last()?);
    let (first, last) = (*days.first()? as u16, *days.last()? as u16);
    let keeps = |day: &u16| {
        percent_of_table((days, plants, percent), f64::from(*day), target)
            .is_some_and(|kept| kept >= now)
    };
    (first..=last).rfind(keeps).map(Day::show_of_year)
}

fn whole(number: f64) -> String {
    decimal(number, 0)
}

fn sentences(result: &StandResult, context: &SeasonContext<'_>) -> Vec<String> {
    let mut lines = vec![stand_line(result, context), counts_line(result, context)];
    let decides = result.keeps.iter().find(|keeps| !keeps.is_second_opinion);
    match decides {
        None => lines.push(format!(
            "No stand table for {} is in the rulebook: what this stand keeps of the yield is not known.",
            context.crop.label
        )),
        Some(_) if result.strip.is_some() => {}
        Some(keeps) => lines.extend(replant_lines(result, keeps, context)),
    }
    lines
}

fn stand_line(result: &StandResult, context: &SeasonContext<'_>) -> String {
    let mean = context.plants(result.plants_per_acre);
    let range = result.interval_90.map_or_else(
        || " (one place: no interval)".to_owned(),
        |(low, high)| {
            format!(
                " (90 %: {} to {})",
                context.plants_number(low),
                context.plants_number(high)
            )
        },
    );
    let share = match (result.target_per_acre, result.share_pct) {
        (Some(target), Some(share)) => {
            let verdict = match result.share_interval_90 {
                Some((_, high)) if high < 100.0 => "short of it",
                Some((low, _)) if low > 100.0 => "above it",
                Some(_) => "not shown to differ from it",
                None => "one place decides nothing",
            };
            format!(
                ", {} % of the {} that were wanted: {verdict}",
                whole(share),
                context.plants_number(target)
            )
        }
        _ => "; how many were wanted is not known (say it by --population, or in a column target)"
            .to_owned(),
    };
    format!("{mean}{range}{share}.")
}

fn counts_line(result: &StandResult, context: &SeasonContext<'_>) -> String {
    let numbers = &context.rulebook.numbers;
    let gap = whole(numbers.stand_gap);
    let spread = if result.is_spread_assumed {
        format!("counts taken to vary by {} %", whole(numbers.stand_spread))
    } else {
        format!(
            "counts vary by {} %",
            decimal(result.spread_pct.unwrap_or_default(), 1)
        )
    };
    let few = if (result.places as f64) < numbers.stand_fewest_counts {
        format!(
            " Fewer than {} places: take it with care.",
            whole(numbers.stand_fewest_counts)
        )
    } else {
        String::new()
    };
    if result.counts_more == 0 {
        return format!(
            "{} places show a gap of {gap} % ({spread}).{few}",
            result.places
        );
    }
    format!(
        "{} places; {} more would show a gap of {gap} % ({spread}).{few}",
        result.places, result.counts_more
    )
}

fn replant_lines(
    result: &StandResult,
    keeps: &StandKeeps,
    context: &SeasonContext<'_>,
) -> Vec<String> {
    let Some(percent) = keeps.percent else {
        let why = match (result.planted, context.crop.name.as_str()) {
            (None, _) => {
                "the day of planting is not known (say it by --planted, or in a column planted)"
                    .to_owned()
            }
            _ => "stand or day lies outside the published table, which is not drawn out".to_owned(),
        };
        let mut lines = vec![format!("What it keeps of the yield is not known: {why}.")];
        lines.extend(under_the_curve(result, context));
        return lines;
    };
    let range = keeps.range.map_or_else(String::new, |(low, high)| {
        format!(" ({} to {})", whole(low.min(high)), whole(low.max(high)))
    });
    let mut lines = vec![format!(
        "Such a stand keeps {} %{range} of the best yield.",
        whole(percent)
    )];
    for other in result.keeps.iter().filter(|other| other.is_second_opinion) {
        if let Some(other_percent) = other.percent {
            lines.push(format!(
                "By another table {} % ({}).",
                whole(other_percent),
                other.source
            ));
        }
    }
    lines.push(replant_line(result, keeps, percent));
    lines.extend(money_line(context));
    lines.extend(under_the_curve(result, context));
    lines
}

fn replant_line(result: &StandResult, keeps: &StandKeeps, percent: f64) -> String {
    let Some(day) = &keeps.no_gain_after else {
        return match (result.planted, result.target_per_acre) {
            (Some(_), None) => "Whether planting again could gain is not known without the population that was wanted.".to_owned(),
            _ => "Planting again would have to beat that; weigh seed, work and the later day.".to_owned(),
        };
    };
    format!(
        "Planted again after {day}, even a full stand keeps less than the {} % that stands there: keep it then. Before, weigh seed, work and the risk against the points gained.",
        whole(percent)
    )
}

/// What a point of the yield is worth, where goal and price are known.
fn money_line(context: &SeasonContext<'_>) -> Option<String> {
    let settings = context.settings;
    let pounds = Some(context.crop.pounds_per_unit).filter(|pounds| *pounds > 0.0)?;
    let bushel = settings.crop_price? * pounds * crate::units::KILOGRAMS_PER_POUND;
    let point = settings.yield_goal? / 100.0 * bushel;
    Some(format!(
        "One point of the goal of {} bu/ac is worth {} USD/ac.",
        whole(settings.yield_goal?),
        crate::units::fixed(point, 2)
    ))
}

/// Under the least stand of a curve replanting is the question.
fn under_the_curve(result: &StandResult, context: &SeasonContext<'_>) -> Option<String> {
    let mut rules = context.rulebook.season.stands_of(&context.crop.name);
    let least = rules.find_map(|rule| match &rule.form {
        StandForm::Curve { replant_below, .. } => Some(*replant_below),
        StandForm::Table { .. } => None,
    })?;
    (result.plants_per_acre < least).then(|| {
        format!(
            "Under {} planting again is the question: count gaps first, gaps under 2 ft are filled.",
            context.plants(least)
        )
    })
}
