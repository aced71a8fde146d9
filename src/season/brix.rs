//! Leaf-sap Brix by zone, round and day: mean, interval, share of plants under the floor. What is compared with what stands in
//! `brix_compare.rs`.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::BrixReading;
use crate::crop::{Sample, sample_with_spread};
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
    /// The round: what the file calls it, else its day; both where one name stands for several days.
    pub round: String,
    /// Its day.
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
    /// What the file calls it, or its day.
    #[serde(skip)]
    pub(super) name: String,
    /// Who pressed, and whether that is known of all readings.
    #[serde(skip)]
    pub(super) persons: (Vec<String>, bool),
    /// Whether the hour is known of all readings.
    #[serde(skip)]
    pub(super) is_timed: bool,
    #[serde(skip)]
    pub(super) of: Option<Sample>,
}

/// The rounds, by zone, part and day.
pub(super) fn rounds(readings: &[BrixReading], context: &SeasonContext<'_>) -> Vec<BrixRound> {
    let mut keys: Vec<Key> = readings.iter().map(key).collect();
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
    name_days(&mut rounds);
    rounds
}

/// Zone, part, round and day of a reading.
type Key = (u32, String, String, Option<Day>);

fn key(reading: &BrixReading) -> Key {
    let day = || reading.day.map(Day::iso);
    let round = reading.round.clone().or_else(day);
    let round = round.unwrap_or_else(|| "without a name".to_owned());
    (reading.spot.zone, reading.part.clone(), round, reading.day)
}

/// Adds the day where one name of a round stands for several.
fn name_days(rounds: &mut [BrixRound]) {
    let mut days: Vec<(String, Option<Day>)> = rounds
        .iter()
        .map(|round| (round.name.clone(), round.day))
        .collect();
    days.sort();
    days.dedup();
    for round in rounds {
        let of_name = days.iter().filter(|(name, _)| *name == round.name).count();
        if let Some(day) = round.day.filter(|_| of_name > 1) {
            round.round = format!("{} of {}", round.name, day.iso());
        }
    }
}

fn round(
    readings: &[&BrixReading],
    (zone, part, name, day): Key,
    context: &SeasonContext<'_>,
) -> Option<BrixRound> {
    let plants = plants(readings);
    // Readings that are all the same still vary by a part of the scale's step.
    let least = context.rulebook.numbers.brix_step / 12.0_f64.sqrt();
    let of = sample_with_spread(&plants, least)?;
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
        round: name.clone(),
        day,
        part,
        hours,
        readings: readings.len(),
        plants: plants.len(),
        mean: of.mean,
        interval_90: of.interval.map(|(low, high)| (low.max(0.0), high)),
        under_floor_pct: 100.0 * under as f64 / plants.len() as f64,
        corrected: readings
            .iter()
            .filter(|reading| reading.correction.is_some())
            .count(),
        sentence: String::new(),
        name,
        persons: (persons, readings.iter().all(|one| one.person.is_some())),
        is_timed: readings.iter().all(|one| one.hour.is_some()),
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
    let uncorrected = match round.readings - round.corrected {
        0 => String::new(),
        all if all == round.readings => "; temperature not known, as read".to_owned(),
        some => format!("; temperature not known of {some}, those as read"),
    };
    let plants = if round.plants == 1 { "plant" } else { "plants" };
    format!(
        "{}{range} on {} {plants}, {} % of them under {}; hour of day: {}{uncorrected}.",
        fixed(round.mean, 1),
        round.plants,
        decimal(round.under_floor_pct, 0),
        decimal(context.rulebook.numbers.brix_floor, 1),
        round.hours_words()
    )
}
