//! Rounds and zones of leaf-sap Brix compared: only where day, hour, person and part of the plant are known and the same; otherwise it is said
//! why not.

use serde::Serialize;

use super::brix::{BrixRound, rounds};
use super::context::SeasonContext;
use super::readings::BrixReading;
use crate::crop::{difference, slope};
use crate::plan::Day;
use crate::units::{decimal, fixed};

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
    /// Zones of one round compared with each other.
    pub comparisons: Vec<BrixComparison>,
}

/// Two zones of one round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(into = "String")]
pub struct BrixComparison {
    /// What came of it.
    pub finding: BrixFinding,
    /// One sentence.
    pub sentence: String,
}

impl From<BrixComparison> for String {
    fn from(comparison: BrixComparison) -> Self {
        comparison.sentence
    }
}

/// What came of comparing two zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BrixFinding {
    /// They are not compared.
    NotCompared,
    /// No difference was shown.
    NoneShown,
    /// A difference that is too little to be worth a word.
    TooLittle,
    /// A difference.
    Differ,
}

impl BrixFinding {
    /// Whether a short page tells of it.
    #[must_use]
    pub fn is_told(self) -> bool {
        matches!(self, Self::NotCompared | Self::Differ)
    }
}

/// What the readings say.
pub(super) fn brix(readings: &[BrixReading], context: &SeasonContext<'_>) -> BrixResult {
    let rounds = rounds(readings, context);
    BrixResult {
        trends: trends(&rounds, context),
        comparisons: comparisons(&rounds, context),
        rounds,
    }
}

/// Why two rounds are not compared, whatever their days; `None` where they are.
fn apart(a: &BrixRound, b: &BrixRound, context: &SeasonContext<'_>) -> Option<String> {
    if a.part.is_empty() {
        return Some("the part of the plant is not known (a column part: leaf or stem)".to_owned());
    }
    let (Some(first), Some(second), true, true) = (a.hours, b.hours, a.is_timed, b.is_timed) else {
        return Some("the hour of day is not known of all readings (a column time)".to_owned());
    };
    let most = context.rulebook.numbers.brix_hours_apart;
    let low = first.0.min(second.0);
    let high = first.1.max(second.1);
    if high - low > most + 1e-9 {
        return Some(format!(
            "they were read at different hours ({} and {}), and Brix moves through the day",
            a.hours_words(),
            b.hours_words()
        ));
    }
    hands_apart(a, b)
}

/// Why two rounds differ in who pressed.
fn hands_apart(a: &BrixRound, b: &BrixRound) -> Option<String> {
    let ((one, is_known), (other, is_other_known)) = (&a.persons, &b.persons);
    if !is_known || !is_other_known {
        return Some("who pressed is not known of all readings (a column person)".to_owned());
    }
    if one.len() > 1 || other.len() > 1 {
        let both = if one.len() > 1 { one } else { other };
        return Some(format!(
            "more than one person pressed ({})",
            both.join(", ")
        ));
    }
    (one != other).then(|| {
        format!(
            "another person pressed ({} and {})",
            one.join(", "),
            other.join(", ")
        )
    })
}

/// Why zones of one round differ in their day.
fn days_apart(a: &BrixRound, b: &BrixRound) -> Option<String> {
    match (a.day, b.day) {
        (Some(one), Some(other)) if one == other => None,
        (Some(one), Some(other)) => Some(format!(
            "they were read on different days ({} and {})",
            one.show(),
            other.show()
        )),
        _ => Some("the day is not known (a column date)".to_owned()),
    }
}

/// How each zone and part went over its rounds.
fn trends(rounds: &[BrixRound], context: &SeasonContext<'_>) -> Vec<BrixTrend> {
    let mut keys: Vec<(u32, &str)> = rounds
        .iter()
        .map(|round| (round.zone, round.part.as_str()))
        .collect();
    keys.dedup();
    let of = keys.into_iter().filter_map(|(zone, part)| {
        let all: Vec<&BrixRound> = rounds
            .iter()
            .filter(|round| round.zone == zone && round.part == part)
            .collect();
        let own: Vec<&BrixRound> = all.iter().filter(|r| r.day.is_some()).copied().collect();
        if own.len() > 1 {
            return Some(trend(zone, part, &own, context));
        }
        (all.len() > 1).then(|| {
            not_compared(
                empty(zone, part),
                "their days are not known (a column date)".to_owned(),
            )
        })
    });
    of.collect()
}

fn empty(zone: u32, part: &str) -> BrixTrend {
    BrixTrend {
        zone,
        part: part.to_owned(),
        change: None,
        interval_90: None,
        a_week: None,
        a_week_interval_90: None,
        not_compared: None,
        sentence: String::new(),
    }
}

fn not_compared(mut found: BrixTrend, why: String) -> BrixTrend {
    found.sentence = format!("The rounds are not compared: {why}.");
    found.not_compared = Some(why);
    found
}

fn trend(zone: u32, part: &str, rounds: &[&BrixRound], context: &SeasonContext<'_>) -> BrixTrend {
    let mut found = empty(zone, part);
    let (alike, others): (Vec<&BrixRound>, Vec<&BrixRound>) = alike(rounds, context);
    let (Some(first), Some(last)) = (alike.first(), alike.last()) else {
        let why = rounds
            .first()
            .and_then(|round| apart(round, round, context));
        let why = why.unwrap_or_else(|| {
            "each round was read over more hours than may be compared".to_owned()
        });
        return not_compared(found, why);
    };
    let left_out = others.first().and_then(|other| {
        let why = apart(first, other, context)?;
        let names: Vec<&str> = others.iter().map(|other| other.round.as_str()).collect();
        Some(format!("round {} is left out: {why}", names.join(", ")))
    });
    if alike.len() < 2 {
        let why = left_out.unwrap_or_else(|| "there is one round".to_owned());
        return not_compared(found, why);
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
                format!(" (90 %: {} to {})", sign(low), sign(high))
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

/// Zones of one round and part: each against the highest of its day, or of another day where its own has no other zone.
fn comparisons(rounds: &[BrixRound], context: &SeasonContext<'_>) -> Vec<BrixComparison> {
    let mut keys: Vec<(&str, &str)> = rounds
        .iter()
        .map(|round| (round.name.as_str(), round.part.as_str()))
        .collect();
    keys.sort_unstable();
    keys.dedup();
    let mut lines = Vec::new();
    for (name, part) in keys {
        let own: Vec<&BrixRound> = rounds
            .iter()
            .filter(|round| round.name == name && round.part == part)
            .collect();
        let mut told: Vec<[(u32, Option<Day>); 2]> = Vec::new();
        for other in &own {
            let of_day = highest(&own, |round| round.day == other.day);
            let is_alone = own
                .iter()
                .all(|round| round.day != other.day || round.zone == other.zone);
            let best = if is_alone {
                highest(&own, |round| round.zone != other.zone)
            } else {
                of_day
            };
            let Some(best) = best.filter(|best| best.zone != other.zone) else {
                continue;
            };
            let mut pair = [(best.zone, best.day), (other.zone, other.day)];
            pair.sort();
            if !told.contains(&pair) {
                told.push(pair);
                lines.push(compared(best, other, context));
            }
        }
    }
    lines
}

fn highest<'r>(
    rounds: &[&'r BrixRound],
    is_wanted: impl Fn(&BrixRound) -> bool,
) -> Option<&'r BrixRound> {
    let wanted = rounds.iter().filter(|round| is_wanted(round)).copied();
    wanted.max_by(|a, b| a.mean.total_cmp(&b.mean))
}

fn compared(best: &BrixRound, other: &BrixRound, context: &SeasonContext<'_>) -> BrixComparison {
    let least = context.rulebook.numbers.brix_smallest_difference;
    let part = if best.part.is_empty() {
        String::new()
    } else {
        format!(", {}", best.part)
    };
    let head = format!(
        "Round {}{part}: zones {} and {}",
        best.name, best.zone, other.zone
    );
    let why = days_apart(best, other).or_else(|| apart(best, other, context));
    let not_compared = |why: &str| BrixComparison {
        finding: BrixFinding::NotCompared,
        sentence: format!("{head} are not compared: {why}."),
    };
    if let Some(why) = why {
        return not_compared(&why);
    }
    let gap = best.of.as_ref().zip(other.of.as_ref());
    let Some(gap) = gap.and_then(|(best, other)| difference(other, best)) else {
        return not_compared("one of them is a single plant");
    };
    let (low, high) = gap.interval;
    let (finding, verdict) = if low <= 0.0 {
        (BrixFinding::NoneShown, "no difference shown")
    } else if gap.change < least {
        (BrixFinding::TooLittle, "too little to be worth a word")
    } else {
        (BrixFinding::Differ, "a difference")
    };
    BrixComparison {
        finding,
        sentence: format!(
            "{head} differ by {} (90 %: {} to {}): {verdict}.",
            fixed(gap.change, 1),
            fixed(low, 1),
            fixed(high, 1)
        ),
    }
}
