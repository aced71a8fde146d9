//! Stand counts by zone and strip: mean, interval, share of the target, how many more counts, and what the stand keeps of the yield.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::StandCount;
use crate::crop::{counts_needed, percent_of_curve, percent_of_table, sample, sample_with_spread};
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
    /// How many places; counts beside each other are one.
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
    /// What its rows say in two ways, so that nothing is taken from it.
    #[serde(skip)]
    pub(super) split: Vec<&'static str>,
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
    /// The day after which a full stand sown again would keep less than the lower end of `range`, where the table tells; day and month.
    pub no_gain_after: Option<String>,
    /// The same as a day of the year.
    #[serde(skip)]
    pub(super) no_gain_day: Option<u16>,
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
    let numbers = &context.rulebook.numbers;
    let values = places(counts, numbers.stand_places_apart.metres());
    let bare = sample(&values)?;
    // Counts that are all the same show no spread; the rulebook's is taken.
    let is_alike = bare.spread.is_some_and(|spread| spread <= 1e-9 * bare.mean);
    let assumed = numbers.stand_spread / 100.0 * bare.mean;
    let of = sample_with_spread(&values, if is_alike { assumed } else { 0.0 })?;
    let interval = of.interval.map(|(low, high)| (low.max(0.0), high));
    let targets = || counts.iter().filter_map(|count| count.population);
    let days = || counts.iter().filter_map(|count| count.planted);
    let (target, planted) = (one(targets()), one(days()));
    let counted = counts.iter().filter_map(|count| count.day).max();
    let spread_pct = bare
        .spread
        .filter(|_| of.mean > 0.0)
        .map(|spread| 100.0 * spread / of.mean);
    let measured = spread_pct.filter(|_| of.count as f64 >= numbers.few_cores && !is_alike);
    let needed = counts_needed(measured.unwrap_or(numbers.stand_spread), numbers.stand_gap);
    let share = |plants: f64| target.map(|target| 100.0 * plants / target);
    let both = |(low, high): (f64, f64)| Some((share(low)?, share(high)?));
    let keeps: Vec<StandKeeps> = context
        .rulebook
        .season
        .stands_of(&context.crop.name)
        .map(|rule| keeps(rule, (of.mean, interval), planted, target))
        .collect();
    let mut result = StandResult {
        zone,
        strip,
        places: of.count,
        plants_per_acre: of.mean,
        interval_90: interval,
        spread_pct,
        target_per_acre: target,
        share_pct: share(of.mean),
        share_interval_90: interval.and_then(both),
        counts_needed: needed,
        counts_more: needed.saturating_sub(of.count),
        is_spread_assumed: measured.is_none(),
        planted,
        counted,
        keeps,
        sentences: Vec::new(),
        split: Vec::new(),
    };
    let two = [
        (targets().count() > 0 && target.is_none(), "targets"),
        (days().count() > 0 && planted.is_none(), "days of planting"),
    ];
    let two = two.into_iter().filter(|(is_split, _)| *is_split);
    result.split = two.map(|(_, what)| what).collect();
    result.sentences = sentences(&result, context);
    Some(result)
}

/// The value that all rows share; `None` where they differ or there is none.
fn one<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|value| value == first).then_some(first)
}

/// Where a count stands on the plane, where that is known.
type Place = Option<(f64, f64)>;

/// One value a place: the mean of the counts that lie nearer to its first than `apart`, metres.
fn places(counts: &[&StandCount], apart: f64) -> Vec<f64> {
    let mut places: Vec<(Place, Vec<f64>)> = Vec::new();
    for count in counts {
        let is_near = |at: Option<(f64, f64)>| {
            let both = count.at.zip(at);
            both.is_some_and(|((x, y), (a, b))| (x - a).hypot(y - b) < apart)
        };
        match places.iter_mut().find(|(at, _)| is_near(*at)) {
            Some((_, values)) => values.push(count.per_acre),
            None => places.push((count.at, vec![count.per_acre])),
        }
    }
    let means = places.into_iter().filter_map(|(_, values)| sample(&values));
    means.map(|of| of.mean).collect()
}

fn keeps(
    rule: &StandRule,
    (mean, interval): (f64, Option<(f64, f64)>),
    planted: Option<Day>,
    target: Option<f64>,
) -> StandKeeps {
    let day = planted.map(|day| f64::from(day.of_year()));
    let percent = |plants: f64| percent_of(rule, day, plants);
    let now = percent(mean);
    let range = interval.and_then(|(low, high)| {
        let (low, high) = (percent(low)?, percent(high)?);
        Some((low.min(high), low.max(high).max(now?)))
    });
    let gain = range.and_then(|(low, _)| last_day_of_gain(rule, low, target));
    StandKeeps {
        table: rule.name.clone(),
        percent: now,
        range,
        no_gain_after: gain.map(Day::show_of_year),
        no_gain_day: gain,
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

/// The last day on which the target sown again keeps as much as the stand does now; `None` where the table ends before.
fn last_day_of_gain(rule: &StandRule, now: f64, target: Option<f64>) -> Option<u16> {
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
    (first..=last).rfind(keeps).filter(|day| *day < last)
}

fn whole(number: f64) -> String {
    decimal(number, 0)
}

fn sentences(result: &StandResult, context: &SeasonContext<'_>) -> Vec<String> {
    let mut lines = vec![stand_line(result, context), counts_line(result, context)];
    lines.extend(result.split.iter().map(|what| {
        format!("Its rows name two and more {what}: what rests on them is not told; count each ground by itself, as a strip or a zone.")
    }));
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
        _ if result.split.contains(&"targets") => "; its rows name two and more targets".to_owned(),
        _ => {
            "; how many were wanted is not known (say it by --population, or in a column target (/ac))"
                .to_owned()
        }
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
    let places = if result.places == 1 {
        "1 place".to_owned()
    } else {
        format!("{} places", result.places)
    };
    if result.counts_more == 0 {
        return format!("{places} show a gap of {gap} % ({spread}).{few}");
    }
    format!(
        "{places}; {} more would show a gap of {gap} % ({spread}).{few}",
        result.counts_more
    )
}

fn replant_lines(
    result: &StandResult,
    keeps: &StandKeeps,
    context: &SeasonContext<'_>,
) -> Vec<String> {
    let Some(percent) = keeps.percent else {
        let why = match (result.planted, result.split.contains(&"days of planting")) {
            (None, true) => "its rows name two and more days of planting",
            (None, false) => {
                "the day of planting is not known (say it by --planted, or in a column planted)"
            }
            _ => "stand or day lies outside the published table, which is not drawn out",
        };
        let mut lines = vec![format!("What it keeps of the yield is not known: {why}.")];
        lines.extend(under_the_curve(result, context));
        return lines;
    };
    let Some((low, high)) = keeps.range else {
        let why = if result.interval_90.is_none() {
            "one place decides nothing"
        } else {
            "the interval of its mean reaches past the published table"
        };
        let mut lines = vec![format!(
            "What it keeps of the yield, and whether planting again could gain, is not judged: {why}; count more places."
        )];
        lines.extend(under_the_curve(result, context));
        return lines;
    };
    let mut lines = vec![format!(
        "Such a stand keeps {} % (90 %: {} to {}) of the best yield.",
        whole(percent),
        whole(low),
        whole(high)
    )];
    let other = second_opinion(result);
    lines.extend(
        other.map(|(percent, source)| format!("By another table {} % ({source}).", whole(percent))),
    );
    lines.push(replant_line(result, keeps, low, context));
    if other.is_some_and(|(percent, _)| percent < low - 0.5) {
        lines.push(format!(
            "The tables do not agree: by the other one planting again would have to beat {} %. Ask who knows this ground before the stand is kept or sown again.",
            whole(other.map_or(percent, |(percent, _)| percent))
        ));
    }
    lines.extend(money_line(context));
    lines.extend(under_the_curve(result, context));
    lines
}

/// Percent and source by the first table of another opinion that tells it.
fn second_opinion(result: &StandResult) -> Option<(f64, &str)> {
    let mut others = result.keeps.iter().filter(|keeps| keeps.is_second_opinion);
    others.find_map(|other| Some((other.percent?, other.source.as_str())))
}

/// Planting again, judged at the lower end of what the stand keeps; nothing on few counts, or past the time of it.
fn replant_line(
    result: &StandResult,
    keeps: &StandKeeps,
    low: f64,
    context: &SeasonContext<'_>,
) -> String {
    let numbers = &context.rulebook.numbers;
    if (result.places as f64) < numbers.stand_fewest_counts {
        return format!(
            "Whether planting again could gain is not judged on fewer than {} places.",
            whole(numbers.stand_fewest_counts)
        );
    }
    let after = result.counted.zip(result.planted);
    let after = after.map(|(counted, planted)| counted.number() - planted.number());
    if let Some(after) = after.filter(|after| *after as f64 > numbers.replant_days_most) {
        return format!(
            "Counted {after} days after planting: too late for a word on planting again; is the day right?"
        );
    }
    let (Some(day), Some(number)) = (&keeps.no_gain_after, keeps.no_gain_day) else {
        return match (result.planted, result.target_per_acre) {
            (Some(_), None) => "Whether planting again could gain is not known without the population that was wanted.".to_owned(),
            _ => "Planting again would have to beat that; weigh seed, work and the later day.".to_owned(),
        };
    };
    match result.counted.filter(|counted| counted.of_year() > number) {
        Some(counted) => format!(
            "Planted again after {day}, even a full stand keeps less than the {} % that stands there at least, and that day was past when it was counted ({}): keep it by this table.",
            whole(low),
            counted.show()
        ),
        None => format!(
            "Planted again after {day}, even a full stand keeps less than the {} % that stands there at least: keep it then. Before, weigh seed, work and the risk against the points gained.",
            whole(low)
        ),
    }
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
    let high = result.interval_90?.1;
    (high < least).then(|| {
        format!(
            "Under {} planting again is the question: count gaps first, gaps under 2 ft are filled.",
            context.plants(least)
        )
    })
}
