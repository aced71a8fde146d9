//! Leaf-sap Brix by zone and round: mean, interval, share of plants under the floor, trend; and nothing compared in silence that was read at
//! another hour, by another person, or on another part of the plant.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::BrixReading;
use crate::crop::{Sample, difference, sample, slope};
use crate::order_statistics::median;
use crate::plan::Day;
use crate::units::{decimal, fixed};

/// Said wherever Brix is printed.
pub const BRIX_NOTE: &str = "Brix is shown as a record that many biological growers keep (common practice, disputed). It varies with hour, water and leaf; no published threshold for this crop was found. No rate follows from it alone.";

/// One zone in one round, one part of the plant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BrixRound {
    /// Number of the zone.
    pub zone: u32,
    /// The round: what the file calls it, else its day.
    pub round: String,
    /// Its first day.
    pub day: Option<Day>,
    /// Leaf or stem; empty where nobody said it.
    pub part: String,
    /// First and last hour of day.
    pub hours: Option<(f64, f64)>,
    /// How many readings.
    pub readings: usize,
    /// How many plants, each with the median of its readings; every reading counts as a plant where no plant is named.
    pub plants: usize,
    /// Mean over the plants, percent Brix.
    pub mean: f64,
    /// Lower and upper end of its 90 % interval; `None` of one plant.
    pub interval_90: Option<(f64, f64)>,
    /// Share of the plants under the floor of the rulebook, percent.
    pub under_floor_pct: f64,
    /// How many readings were corrected for temperature, or by the instrument.
    pub corrected: usize,
    /// One sentence.
    pub sentence: String,
    #[serde(skip)]
    persons: Vec<String>,
    #[serde(skip)]
    of: Option<Sample>,
}

/// How a zone went over the rounds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BrixTrend {
    /// Number of the zone.
    pub zone: u32,
    /// Leaf or stem.
    pub part: String,
    /// Change from the first round to the last, percent Brix; `None` where they are not compared.
    pub change: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub interval_90: Option<(f64, f64)>,
    /// Change a week by a straight line through three rounds and more.
    pub a_week: Option<f64>,
    /// Lower and upper end of its 90 % interval.
    pub a_week_interval_90: Option<(f64, f64)>,
    /// Why the rounds are not compared.
    pub not_compared: Option<String>,
    /// One sentence.
    pub sentence: String,
}

/// Rounds, trends and comparisons.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct BrixResult {
    /// The rounds, by zone, part and day.
    pub rounds: Vec<BrixRound>,
    /// The trends.
    pub trends: Vec<BrixTrend>,
    /// Zones of one round compared with each other, in sentences.
    pub comparisons: Vec<String>,
}

/// What the readings say.
pub(super) fn brix(readings: &[BrixReading], context: &SeasonContext<'_>) -> BrixResult {
    let mut keys: Vec<(u32, String, String)> = readings.iter().map(key).collect();
    keys.sort();
    keys.dedup();
    let mut rounds: Vec<BrixRound> = keys
        .into_iter()
        .filter_map(|wanted| {
            let of: Vec<&BrixReading> = readings
                .iter()
                .filter(|reading| key(reading) == wanted)
                .collect();
            round(&of, wanted, context)
        })
        .collect();
    rounds.sort_by(|a, b| {
        (a.zone, &a.part, a.day, &a.round).cmp(&(b.zone, &b.part, b.day, &b.round))
    });
    BrixResult {
        trends: trends(&rounds, context),
        comparisons: comparisons(&rounds, context),
        rounds,
    }
}

/// Zone, part and round of a reading.
fn key(reading: &BrixReading) -> (u32, String, String) {
    let day = || reading.day.map(Day::iso);
    let round = reading.round.clone().or_else(day).unwrap_or_default();
    (reading.spot.zone, reading.part.clone(), round)
}

fn round(
    readings: &[&BrixReading],
    (zone, part, name): (u32, String, String),
    context: &SeasonContext<'_>,
) -> Option<BrixRound> {
    let plants = plants(readings);
    let of = sample(&plants)?;
    let floor = context.rulebook.numbers.brix_floor;
    let under = plants.iter().filter(|brix| **brix < floor).count();
    let hours = readings.iter().filter_map(|reading| reading.hour);
    let hours = hours.fold(None, |found: Option<(f64, f64)>, hour| {
        let (low, high) = found.unwrap_or((hour, hour));
        Some((low.min(hour), high.max(hour)))
    });
    let mut persons: Vec<String> = readings
        .iter()
        .filter_map(|reading| reading.person.clone())
        .collect();
    persons.sort();
    persons.dedup();
    let mut round = BrixRound {
        zone,
        round: name,
        day: readings.iter().filter_map(|reading| reading.day).min(),
        part,
        hours,
        readings: readings.len(),
        plants: plants.len(),
        mean: of.mean,
        interval_90: of.interval,
        under_floor_pct: 100.0 * under as f64 / plants.len() as f64,
        corrected: readings
            .iter()
            .filter(|reading| reading.correction.is_some())
            .count(),
        sentence: String::new(),
        persons,
        of: Some(of),
    };
    round.sentence = round_sentence(&round, context);
    Some(round)
}

/// One value a plant: the median of its readings. A reading without a plant is one of its own.
fn plants(readings: &[&BrixReading]) -> Vec<f64> {
    let mut names: Vec<&str> = readings
        .iter()
        .filter_map(|reading| reading.plant.as_deref())
        .collect();
    names.sort_unstable();
    names.dedup();
    let of_plant = |name: &str| {
        let mut values: Vec<f64> = readings
            .iter()
            .filter(|reading| reading.plant.as_deref() == Some(name))
            .map(|reading| reading.brix)
            .collect();
        median(&mut values)
    };
    let named = names.iter().filter_map(|name| of_plant(name));
    let bare = readings.iter().filter(|reading| reading.plant.is_none());
    named.chain(bare.map(|reading| reading.brix)).collect()
}

impl BrixRound {
    /// First and last hour of day: `10:30 to 10:54`, `10:44`, `not known`.
    #[must_use]
    pub fn hours_words(&self) -> String {
        match self.hours {
            Some((first, last)) if clock(first) == clock(last) => clock(first),
            Some((first, last)) => format!("{} to {}", clock(first), clock(last)),
            None => "not known".to_owned(),
        }
    }
}

/// `10:30`.
fn clock(hour: f64) -> String {
    let minutes = (hour * 60.0).round() as u32;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

fn round_sentence(round: &BrixRound, context: &SeasonContext<'_>) -> String {
    let range = round.interval_90.map_or_else(
        || " (one plant: no interval)".to_owned(),
        |(low, high)| format!(" (90 %: {} to {})", fixed(low, 1), fixed(high, 1)),
    );
    let uncorrected = if round.corrected == round.readings {
        ""
    } else {
        "; temperature not known of some, those as read"
    };
    format!(
        "{}{range} on {} plants, {} % of them under {}; hour of day: {}{uncorrected}.",
        fixed(round.mean, 1),
        round.plants,
        decimal(round.under_floor_pct, 0),
        decimal(context.rulebook.numbers.brix_floor, 1),
        round.hours_words()
    )
}

/// Why two rounds are not compared; `None` where they are.
fn apart(a: &BrixRound, b: &BrixRound, context: &SeasonContext<'_>) -> Option<String> {
    let most = context.rulebook.numbers.brix_hours_apart;
    let (Some(first), Some(second)) = (a.hours, b.hours) else {
        return Some("the hour of day is not known".to_owned());
    };
    let low = first.0.min(second.0);
    let high = first.1.max(second.1);
    if high - low > most + 1e-9 {
        return Some(format!(
            "they were read at different hours ({} and {}), and Brix moves through the day",
            a.hours_words(),
            b.hours_words()
        ));
    }
    let differ = !a.persons.is_empty() && !b.persons.is_empty() && a.persons != b.persons;
    differ.then(|| {
        format!(
            "another person pressed ({} and {})",
            a.persons.join(", "),
            b.persons.join(", ")
        )
    })
}

fn trends(rounds: &[BrixRound], context: &SeasonContext<'_>) -> Vec<BrixTrend> {
    let mut keys: Vec<(u32, &str)> = rounds
        .iter()
        .map(|round| (round.zone, round.part.as_str()))
        .collect();
    keys.dedup();
    let of = keys.into_iter().filter_map(|(zone, part)| {
        let own: Vec<&BrixRound> = rounds
            .iter()
            .filter(|round| round.zone == zone && round.part == part && round.day.is_some())
            .collect();
        (own.len() > 1).then(|| trend(zone, part, &own, context))
    });
    of.collect()
}

fn trend(zone: u32, part: &str, rounds: &[&BrixRound], context: &SeasonContext<'_>) -> BrixTrend {
    let mut found = BrixTrend {
        zone,
        part: part.to_owned(),
        change: None,
        interval_90: None,
        a_week: None,
        a_week_interval_90: None,
        not_compared: None,
        sentence: String::new(),
    };
    let (alike, others): (Vec<&BrixRound>, Vec<&BrixRound>) = alike(rounds, context);
    let (Some(first), Some(last)) = (alike.first(), alike.last()) else {
        let why = "each round was read over more hours than may be compared".to_owned();
        found.sentence = format!("The rounds are not compared: {why}.");
        found.not_compared = Some(why);
        return found;
    };
    let left_out = others.first().and_then(|other| {
        let why = apart(first, other, context)?;
        let names: Vec<&str> = others.iter().map(|other| other.round.as_str()).collect();
        Some(format!("round {} is left out: {why}", names.join(", ")))
    });
    if alike.len() < 2 {
        let why = left_out.unwrap_or_else(|| "there is one round".to_owned());
        found.sentence = format!("The rounds are not compared: {why}.");
        found.not_compared = Some(why);
        return found;
    }
    let gap = first.of.as_ref().zip(last.of.as_ref());
    let gap = gap.and_then(|(first, last)| difference(first, last));
    found.change = Some(last.mean - first.mean);
    found.interval_90 = gap.map(|gap| gap.interval);
    let weeks: Vec<(f64, f64)> = alike
        .iter()
        .filter_map(|round| Some((round.day?.number() as f64 / 7.0, round.mean)))
        .collect();
    if let Some(line) = slope(&weeks).filter(|_| alike.len() > 2) {
        found.a_week = Some(line.slope);
        found.a_week_interval_90 = line.interval;
    }
    found.sentence = trend_sentence(&found, first, last, context);
    if let Some(why) = left_out {
        found
            .sentence
            .push_str(&format!(" {}.", crate::text::capital(&why)));
        found.not_compared = Some(why);
    }
    found
}

/// The most rounds that may be compared with one of them, and the others; the earliest such where several are as many.
fn alike<'r>(
    rounds: &[&'r BrixRound],
    context: &SeasonContext<'_>,
) -> (Vec<&'r BrixRound>, Vec<&'r BrixRound>) {
    let fits = |one: &BrixRound, other: &BrixRound| apart(one, other, context).is_none();
    let count = |one: &BrixRound| rounds.iter().filter(|other| fits(one, other)).count();
    let most = rounds.iter().map(|one| count(one)).max().unwrap_or(0);
    let Some(centre) = rounds.iter().find(|one| count(one) == most) else {
        return (Vec::new(), rounds.to_vec());
    };
    rounds.iter().partition(|other| fits(centre, other))
}

fn trend_sentence(
    trend: &BrixTrend,
    first: &BrixRound,
    last: &BrixRound,
    context: &SeasonContext<'_>,
) -> String {
    let least = context.rulebook.numbers.brix_smallest_difference;
    let change = trend.change.unwrap_or_default();
    let sign = |value: f64| {
        let text = fixed(value, 1);
        if text.starts_with('-') {
            text
        } else {
            format!("+{text}")
        }
    };
    let range = trend.interval_90.map_or_else(
        || " (no interval)".to_owned(),
        |(low, high)| format!(" (90 %: {} to {})", sign(low), sign(high)),
    );
    let spans_zero = trend
        .interval_90
        .is_none_or(|(low, high)| low <= 0.0 && high >= 0.0);
    let verdict = if spans_zero {
        "no change shown".to_owned()
    } else if change.abs() < least {
        format!("less than the {} that are worth a word", decimal(least, 1))
    } else if change > 0.0 {
        "it rose".to_owned()
    } else {
        "it fell".to_owned()
    };
    let week = trend.a_week.map_or_else(String::new, |week| {
        let range = trend
            .a_week_interval_90
            .map_or_else(String::new, |(low, high)| {
                format!(" ({} to {})", sign(low), sign(high))
            });
        format!(
            " A straight line through all rounds: {} a week{range}.",
            sign(week)
        )
    });
    format!(
        "{} from round {} to {}{range}: {verdict}.{week}",
        sign(change),
        first.round,
        last.round
    )
}

/// Zones of one round and part: each against the highest.
fn comparisons(rounds: &[BrixRound], context: &SeasonContext<'_>) -> Vec<String> {
    let mut keys: Vec<(&str, &str)> = rounds
        .iter()
        .map(|round| (round.round.as_str(), round.part.as_str()))
        .collect();
    keys.sort_unstable();
    keys.dedup();
    let mut lines = Vec::new();
    for (name, part) in keys {
        let own: Vec<&BrixRound> = rounds
            .iter()
            .filter(|round| round.round == name && round.part == part)
            .collect();
        let Some(best) = own.iter().max_by(|a, b| a.mean.total_cmp(&b.mean)) else {
            continue;
        };
        for other in own.iter().filter(|round| round.zone != best.zone) {
            lines.push(compared(best, other, context));
        }
    }
    lines
}

fn compared(best: &BrixRound, other: &BrixRound, context: &SeasonContext<'_>) -> String {
    let least = context.rulebook.numbers.brix_smallest_difference;
    let part = if best.part.is_empty() {
        String::new()
    } else {
        format!(", {}", best.part)
    };
    let head = format!(
        "Round {}{part}: zones {} and {}",
        best.round, best.zone, other.zone
    );
    if let Some(why) = apart(best, other, context) {
        return format!("{head} are not compared: {why}.");
    }
    let gap = best.of.as_ref().zip(other.of.as_ref());
    let Some(gap) = gap.and_then(|(best, other)| difference(other, best)) else {
        return format!("{head} are not compared: one of them is a single plant.");
    };
    let (low, high) = gap.interval;
    let verdict = if low <= 0.0 {
        "no difference shown"
    } else if gap.change < least {
        "too little to be worth a word"
    } else {
        "a difference"
    };
    format!(
        "{head} differ by {} (90 %: {} to {}): {verdict}.",
        fixed(gap.change, 1),
        fixed(low, 1),
        fixed(high, 1)
    )
}
