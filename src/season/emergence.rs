//! Days and warmth to emergence, and how even it was, by zone and strip.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::{EmergencePlace, WeatherDay};
use crate::crop::{Sample, growing_degree_days, sample, sample_with_spread};
use crate::plan::Day;
use crate::rulebook::UnevenRule;
use crate::units::decimal;

/// Emergence of a zone, or of a strip in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EmergenceResult {
    /// Number of the zone.
    pub zone: u32,
    /// The strip, where the places are of one.
    pub strip: Option<String>,
    /// How many places.
    pub places: usize,
    /// Mean days from planting.
    pub days: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub days_interval_90: Option<(f64, f64)>,
    /// Mean growing degree days (F) from planting.
    pub degree_days: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub degree_days_interval_90: Option<(f64, f64)>,
    /// Growing degree days (F) from the first place to the last; `None` of one place.
    pub first_to_last: Option<f64>,
    /// Whether that is even; `None` where it is not known.
    pub is_even: Option<bool>,
    /// Mean share of the plants that came late, percent.
    pub late_share_pct: Option<f64>,
    /// Sentences in order.
    pub sentences: Vec<String>,
    /// Those that say what a table of the numbers does not: gaps of the weather, and what late plants cost.
    #[serde(skip)]
    pub beside_table: Vec<String>,
}

/// Emergence of all zones, then of the strips, each by rising number.
pub(super) fn emergence(
    places: &[EmergencePlace],
    weather: &[WeatherDay],
    context: &SeasonContext<'_>,
) -> Vec<EmergenceResult> {
    let mut keys: Vec<(bool, u32, Option<String>)> = Vec::new();
    for place in places {
        let own = (false, place.spot.zone, None);
        let strip = place.spot.strip.clone();
        let of_strip = strip.map(|strip| (true, place.spot.zone, Some(strip)));
        for key in [Some(own), of_strip].into_iter().flatten() {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
    }
    keys.sort();
    let results = keys.into_iter().map(|(_, zone, strip)| {
        let of: Vec<&EmergencePlace> = places
            .iter()
            .filter(|place| {
                place.spot.zone == zone && (strip.is_none() || place.spot.strip == strip)
            })
            .collect();
        result(&of, zone, strip, weather, context)
    });
    results.collect()
}

/// Warmth between planting and emergence by the weather: of the days after planting, up to the day of emergence. The first day that is
/// missing, and how many are, where it is not whole.
fn warmth(planted: Day, on: Day, weather: &[WeatherDay]) -> Result<f64, (i64, i64)> {
    let sums = (planted.number() + 1..=on.number()).map(|number| {
        let mut days = weather.iter();
        let found = days.find(|day| day.day.number() == number);
        found
            .map(|day| growing_degree_days(day.highest, day.lowest))
            .ok_or(number)
    });
    let (known, missing): (Vec<_>, Vec<_>) = sums.partition(Result::is_ok);
    let missing: Vec<i64> = missing.into_iter().filter_map(Result::err).collect();
    match missing.first() {
        Some(first) => Err((*first, missing.len() as i64)),
        None => Ok(known.into_iter().flatten().sum()),
    }
}

/// Growing degree days of the places, and a sentence on those whose weather has gaps.
fn warmth_of(places: &[&EmergencePlace], weather: &[WeatherDay]) -> (Vec<f64>, Option<String>) {
    let mut sums = Vec::new();
    let mut gaps: Vec<(i64, i64)> = Vec::new();
    for place in places {
        let days = place.planted.zip(place.on).filter(|_| !weather.is_empty());
        match (place.degree_days, days) {
            (Some(sum), _) => sums.push(sum),
            (None, Some((planted, on))) => match warmth(planted, on, weather) {
                Ok(sum) => sums.push(sum),
                Err(gap) => gaps.push(gap),
            },
            (None, None) => {}
        }
    }
    let line = gaps.iter().min().map(|(first, _)| {
        let planted = places.iter().filter_map(|place| place.planted).min();
        let after = planted.map_or(*first, |planted| first - planted.number());
        let most = gaps.iter().map(|(_, count)| *count).max().unwrap_or(1);
        format!(
            "Growing degree days are not known of {} of {} places: the weather lacks day {after} after planting, and {} in all.",
            gaps.len(),
            places.len(),
            if most == 1 { "1 day".to_owned() } else { format!("{most} days") }
        )
    });
    (sums, line)
}

fn result(
    places: &[&EmergencePlace],
    zone: u32,
    strip: Option<String>,
    weather: &[WeatherDay],
    context: &SeasonContext<'_>,
) -> EmergenceResult {
    let numbers = &context.rulebook.numbers;
    let (sums, gap_line) = warmth_of(places, weather);
    let days: Vec<f64> = places.iter().filter_map(|place| place.days).collect();
    let late: Vec<f64> = places.iter().filter_map(|place| place.late_share).collect();
    let weeks: Vec<f64> = places.iter().filter_map(|place| place.late_weeks).collect();
    // A day is a step: days that are all the same still vary by a part of it, and their warmth too.
    let days = sample_with_spread(&days, DAY);
    let step = sample(&sums).zip(days).filter(|(_, days)| days.mean > 0.0);
    let step = step.map_or(0.0, |(sum, days)| DAY * sum.mean / days.mean);
    let warm = sample_with_spread(&sums, step);
    let first_to_last = (sums.len() > 1).then(|| {
        let most = sums.iter().copied().fold(f64::MIN, f64::max);
        most - sums.iter().copied().fold(f64::MAX, f64::min)
    });
    let is_even = first_to_last.map(|sum| sum <= numbers.emergence_even);
    let late = sample(&late);
    let cost = LateCost::of(late.as_ref(), sample(&weeks).map(|w| w.mean), context);
    let beside_table = gap_line.clone().into_iter();
    let cost_beside = cost.as_ref().filter(|cost| !cost.is_too_few);
    let beside_table = beside_table.chain(cost_beside.map(|cost| cost.sentence.clone()));
    let beside_table = beside_table.collect();
    let lines = [
        days_line(days.as_ref()),
        warmth_line(warm.as_ref(), context),
        gap_line,
        even_line(sums.len(), first_to_last, is_even, context),
        cost.map(|cost| cost.sentence),
    ];
    let mut sentences: Vec<String> = lines.into_iter().flatten().collect();
    if sentences.is_empty() {
        sentences.push("Days and evenness are not known: no row says them.".to_owned());
    }
    EmergenceResult {
        zone,
        strip,
        places: places.len(),
        days: days.map(|days| days.mean),
        days_interval_90: days.and_then(|days| positive(&days)),
        degree_days: warm.map(|warm| warm.mean),
        degree_days_interval_90: warm.and_then(|warm| positive(&warm)),
        first_to_last,
        is_even,
        late_share_pct: late.map(|late| late.mean),
        sentences,
        beside_table,
    }
}

/// Standard deviation of a day that is told whole: 1 / square root of 12.
const DAY: f64 = 0.288_675_134_594_813;

/// The interval, its lower end not under nothing.
fn positive(of: &Sample) -> Option<(f64, f64)> {
    of.interval.map(|(low, high)| (low.max(0.0), high))
}

/// " (4 places, 90 %: 8.1 to 9.4)"; " (1 place)".
fn range(of: &Sample, decimals: usize) -> String {
    match positive(of) {
        None => " (1 place)".to_owned(),
        Some((low, high)) => format!(
            " ({} places, 90 %: {} to {})",
            of.count,
            decimal(low, decimals),
            decimal(high, decimals)
        ),
    }
}

fn days_line(days: Option<&Sample>) -> Option<String> {
    let days = days?;
    Some(format!(
        "{} days from planting to emergence{}.",
        decimal(days.mean, 1),
        range(days, 1)
    ))
}

fn warmth_line(warm: Option<&Sample>, context: &SeasonContext<'_>) -> Option<String> {
    let numbers = &context.rulebook.numbers;
    let warm = warm?;
    let usual = if context.crop.name == "corn" {
        let (least, most) = (numbers.emergence_least, numbers.emergence_most);
        let held = match positive(warm) {
            None => ": one place decides nothing",
            Some((low, _)) if low > numbers.emergence_dig => {
                ": late; past the limit one digs for the seed: cold, crust, depth, insects"
            }
            Some((low, _)) if low > most => ": later than usual",
            Some((_, high)) if high < least => ": earlier than usual; are the days right?",
            Some((low, high)) if low >= least && high <= most => ": usual",
            Some(_) => ": not shown to be other than usual",
        };
        format!(
            " Corn takes {} to {}{held}.",
            decimal(least, 0),
            decimal(most, 0)
        )
    } else {
        " The usual span is published for corn alone.".to_owned()
    };
    Some(format!(
        "{} growing degree days (F) to emergence{}.{usual}",
        decimal(warm.mean, 0),
        range(warm, 0)
    ))
}

fn even_line(
    places: usize,
    first_to_last: Option<f64>,
    is_even: Option<bool>,
    context: &SeasonContext<'_>,
) -> Option<String> {
    let (sum, is_even) = (first_to_last?, is_even?);
    let most = context.rulebook.numbers.emergence_even;
    Some(format!(
        "{} growing degree days from the first to the last of {places} places: {} ({} and less is even).",
        decimal(sum, 0),
        if is_even { "even" } else { "uneven" },
        decimal(most, 0)
    ))
}

/// What late plants cost, by the nearest published case.
struct LateCost {
    sentence: String,
    /// Whether they are fewer than in any published case: then they are not worth a word beside the table.
    is_too_few: bool,
}

impl LateCost {
    fn of(share: Option<&Sample>, weeks: Option<f64>, context: &SeasonContext<'_>) -> Option<Self> {
        let share = share?;
        let said = format!(
            "{} % of the plants came late{}",
            decimal(share.mean, 0),
            range(share, 0)
        );
        let told = |rest: &str| Self {
            sentence: format!("{said}{rest}."),
            is_too_few: false,
        };
        let rules: Vec<&UnevenRule> = context
            .rulebook
            .season
            .uneven
            .iter()
            .filter(|rule| rule.crop == context.crop.name)
            .collect();
        if rules.is_empty() {
            return Some(told("; what that costs is published for corn alone"));
        }
        let Some(weeks) = weeks else {
            return Some(told(
                "; how many weeks is not known (a column weeks late), so neither is what it costs",
            ));
        };
        Some(match published_case(share, weeks, &rules) {
            Ok(case) => told(&loss(case, weeks)),
            Err(why) => Self {
                is_too_few: why == NoCase::TooFew,
                ..told(&format!(": {}", why.words()))
            },
        })
    }
}

/// What the trials of a case lost.
fn loss(case: &UnevenRule, weeks: f64) -> String {
    let (least, most) = case.loss;
    let loss = if least == most {
        decimal(least, 1)
    } else {
        format!("{} to {}", decimal(least, 1), decimal(most, 1))
    };
    format!(
        ", {} weeks: in trials {} % and more of them {} weeks late cost {loss} % of the yield ({})",
        decimal(weeks, 1),
        decimal(case.share_from, 0),
        decimal(case.weeks, 1),
        case.source
    )
}

/// Why no published case says what late plants cost.
#[derive(Clone, Copy, PartialEq, Eq)]
enum NoCase {
    OnePlace,
    TooFew,
    NotShown,
}

impl NoCase {
    fn words(self) -> &'static str {
        match self {
            Self::OnePlace => "one place decides nothing on what that costs",
            Self::TooFew => "fewer than in any published case of loss",
            Self::NotShown => "not shown to be as many as in a published case of loss",
        }
    }
}

/// The case of the nearest weeks whose share the whole interval reaches, or why there is none.
fn published_case<'a>(
    share: &Sample,
    weeks: f64,
    rules: &[&'a UnevenRule],
) -> Result<&'a UnevenRule, NoCase> {
    let away = |rule: &UnevenRule| (rule.weeks - weeks).abs();
    let nearest = rules.iter().map(|rule| away(rule));
    let nearest = nearest.fold(f64::INFINITY, f64::min);
    let near = || rules.iter().filter(|rule| away(rule) <= nearest);
    let Some((low, high)) = positive(share) else {
        return Err(NoCase::OnePlace);
    };
    let reached = near().filter(|rule| low >= rule.share_from);
    let case = reached.max_by(|a, b| a.share_from.total_cmp(&b.share_from));
    let fewest = near().map(|rule| rule.share_from);
    let fewest = fewest.fold(f64::INFINITY, f64::min);
    case.copied().ok_or(if high < fewest {
        NoCase::TooFew
    } else {
        NoCase::NotShown
    })
}
