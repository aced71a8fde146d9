//! Days and warmth to emergence, and how even it was, by zone and strip.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::{EmergencePlace, WeatherDay};
use crate::crop::{Sample, growing_degree_days, sample};
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

/// Warmth between planting and emergence by the weather: of the days after planting, up to the day of emergence. `None` where a day is missing.
fn warmth(planted: Day, on: Day, weather: &[WeatherDay]) -> Option<f64> {
    let days: Vec<&WeatherDay> = weather
        .iter()
        .filter(|day| planted < day.day && day.day <= on)
        .collect();
    let wanted = on.number() - planted.number();
    (days.len() as i64 == wanted).then(|| {
        days.iter()
            .map(|day| growing_degree_days(day.highest, day.lowest))
            .sum()
    })
}

fn result(
    places: &[&EmergencePlace],
    zone: u32,
    strip: Option<String>,
    weather: &[WeatherDay],
    context: &SeasonContext<'_>,
) -> EmergenceResult {
    let numbers = &context.rulebook.numbers;
    let sums: Vec<f64> = places
        .iter()
        .filter_map(|place| {
            let of_weather = || warmth(place.planted?, place.on?, weather);
            place.degree_days.or_else(of_weather)
        })
        .collect();
    let days: Vec<f64> = places.iter().filter_map(|place| place.days).collect();
    let late: Vec<f64> = places.iter().filter_map(|place| place.late_share).collect();
    let weeks: Vec<f64> = places.iter().filter_map(|place| place.late_weeks).collect();
    let (days, warm) = (sample(&days), sample(&sums));
    let first_to_last = (sums.len() > 1).then(|| {
        let most = sums.iter().copied().fold(f64::MIN, f64::max);
        most - sums.iter().copied().fold(f64::MAX, f64::min)
    });
    let is_even = first_to_last.map(|sum| sum <= numbers.emergence_even);
    let late_share = sample(&late).map(|late| late.mean);
    let mut sentences = Vec::new();
    sentences.extend(days_line(days.as_ref()));
    sentences.extend(warmth_line(warm.as_ref(), context));
    sentences.extend(even_line(first_to_last, is_even, context));
    sentences.extend(late_line(
        late_share,
        sample(&weeks).map(|w| w.mean),
        context,
    ));
    if sentences.is_empty() {
        sentences.push("Days and evenness are not known: no row says them.".to_owned());
    }
    EmergenceResult {
        zone,
        strip,
        places: places.len(),
        days: days.map(|days| days.mean),
        days_interval_90: days.and_then(|days| days.interval),
        degree_days: warm.map(|warm| warm.mean),
        degree_days_interval_90: warm.and_then(|warm| warm.interval),
        first_to_last,
        is_even,
        late_share_pct: late_share,
        sentences,
    }
}

/// " (90 %: 8.1 to 9.4)"; nothing of one place.
fn range(of: &Sample, decimals: usize) -> String {
    of.interval.map_or_else(String::new, |(low, high)| {
        format!(
            " (90 %: {} to {})",
            decimal(low, decimals),
            decimal(high, decimals)
        )
    })
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
        let found = if warm.mean > numbers.emergence_dig {
            ": late; past the limit one digs for the seed: cold, crust, depth, insects"
        } else if warm.mean > most {
            ": later than usual"
        } else if warm.mean < least {
            ": earlier than usual; are the days right?"
        } else {
            ": usual"
        };
        format!(
            " Corn takes {} to {}{found}.",
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
    first_to_last: Option<f64>,
    is_even: Option<bool>,
    context: &SeasonContext<'_>,
) -> Option<String> {
    let (sum, is_even) = (first_to_last?, is_even?);
    let most = context.rulebook.numbers.emergence_even;
    Some(format!(
        "{} growing degree days from the first place to the last: {} ({} and less is even).",
        decimal(sum, 0),
        if is_even { "even" } else { "uneven" },
        decimal(most, 0)
    ))
}

/// What late plants cost, by the nearest published case.
fn late_line(
    share: Option<f64>,
    weeks: Option<f64>,
    context: &SeasonContext<'_>,
) -> Option<String> {
    let share = share?;
    let said = format!("{} % of the plants came late", decimal(share, 0));
    let rules: Vec<&UnevenRule> = context
        .rulebook
        .season
        .uneven
        .iter()
        .filter(|rule| rule.crop == context.crop.name)
        .collect();
    if rules.is_empty() {
        return Some(format!(
            "{said}; what that costs is published for corn alone."
        ));
    }
    let Some(weeks) = weeks else {
        return Some(format!(
            "{said}; how many weeks is not known (a column weeks late), so neither is what it costs."
        ));
    };
    let nearest = rules
        .iter()
        .map(|rule| (rule.weeks - weeks).abs())
        .fold(f64::INFINITY, f64::min);
    let case = rules
        .iter()
        .filter(|rule| (rule.weeks - weeks).abs() <= nearest && share >= rule.share_from)
        .max_by(|a, b| a.share_from.total_cmp(&b.share_from));
    let Some(case) = case else {
        return Some(format!("{said}: fewer than in any published case of loss."));
    };
    let (least, most) = case.loss;
    let loss = if least == most {
        decimal(least, 1)
    } else {
        format!("{} to {}", decimal(least, 1), decimal(most, 1))
    };
    Some(format!(
        "{said}, {} weeks: in trials {} % and more of them {} weeks late cost {loss} % of the yield ({}).",
        decimal(weeks, 1),
        decimal(case.share_from, 0),
        decimal(case.weeks, 1),
        case.source
    ))
}
