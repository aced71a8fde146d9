//! No number of the season's rules is idle: change any by a little and what `follow` says changes.

use lowstave::rulebook::{Factor, Rulebook, StandForm};
use lowstave::season::{EmergencePlace, StandCount};
use lowstave::units::{Quantity, UnitSystem, VolumePerArea};
use rayon::prelude::*;

use crate::season::{Season, brix, count, day, later, leaf, spot};

/// A number in the text of the rules.
struct Number {
    span: std::ops::Range<usize>,
    value: f64,
    key: String,
    line: usize,
}

/// Keys whose numbers are names, places in an order, or words: other tests hold them.
const NOT_NUMBERS: [&str; 5] = ["days", "order", "window", "pack", "pack_size"];
/// Keys whose numbers stand in a text with their unit.
const QUANTITIES: [&str; 4] = ["rate", "season_most", "water", "price"];

fn numbers(text: &str) -> Vec<Number> {
    let (mut section, mut key) = (String::new(), String::new());
    let mut found = Vec::new();
    let mut at = 0;
    for (line, content) in text.split_inclusive('\n').enumerate() {
        let start = at;
        at += content.len();
        let trimmed = content.trim();
        if trimmed.starts_with('#') || trimmed.is_empty() {
            continue;
        }
        if let Some(name) = trimmed
            .strip_prefix('[')
            .filter(|_| content.starts_with('['))
        {
            name.trim_end_matches(']').clone_into(&mut section);
            continue;
        }
        let from = match content.split_once(" = ") {
            Some((name, _)) if !content.starts_with(' ') => {
                name.clone_into(&mut key);
                name.len() + 3
            }
            _ => 0,
        };
        if NOT_NUMBERS.contains(&key.as_str()) {
            continue;
        }
        let reads_texts = QUANTITIES.contains(&key.as_str());
        found.extend(
            numerals(&content[from..], reads_texts)
                .into_iter()
                .map(|span| {
                    let span = start + from + span.start..start + from + span.end;
                    Number {
                        value: text[span.clone()].parse().unwrap(),
                        span,
                        key: format!("{section}.{key}"),
                        line: line + 1,
                    }
                }),
        );
    }
    found
}

/// Where numbers stand in a text; those in quotes only where asked for.
fn numerals(text: &str, in_quotes: bool) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let (mut is_quoted, mut start): (bool, Option<usize>) = (false, None);
    for (at, letter) in text.char_indices().chain([(text.len(), ' ')]) {
        let is_part = letter.is_ascii_digit() || letter == '.';
        let counts = is_quoted == in_quotes || (!is_quoted && !in_quotes);
        match (is_part && counts, start) {
            (true, None) if letter.is_ascii_digit() => start = Some(at),
            (false, Some(from)) => {
                found.push(from..at);
                start = None;
            }
            _ => {}
        }
        if letter == '"' {
            is_quoted = !is_quoted;
        }
    }
    found
}

/// The text with one number moved by two percent; a whole count by one, what is at most a limit downwards.
fn moved(text: &str, number: &Number) -> String {
    let is_count =
        number.key.rsplit('.').next() == Some("feeds") || number.key == "number.feeds_most.value";
    let is_most = number.key.ends_with("season_most");
    let to = if is_count {
        number.value - 1.0
    } else if is_most {
        number.value * 0.98
    } else if number.value == 0.0 {
        0.5
    } else {
        number.value * 1.02
    };
    let mut out = text.to_owned();
    out.replace_range(number.span.clone(), &to.to_string());
    out
}

/// A rulebook of the built-in rules with another text for the season.
fn rulebook(season: &str) -> Rulebook {
    Rulebook::from_text(season, "moved season").unwrap_or_else(|errors| panic!("{errors:?}"))
}

/// Fields that between them touch every table, limit and feed.
fn fields() -> Vec<Season> {
    let mut fields = stands();
    fields.extend(few_counts());
    fields.extend(emergence());
    fields.extend(brix_rounds());
    fields.extend(tissue());
    fields.extend(feeds());
    fields
}

/// A count at every node of every stand table, and between.
fn stands() -> Vec<Season> {
    let built_in = Rulebook::built_in();
    let mut fields = Vec::new();
    for rule in &built_in.season.stands {
        let crop = if rule.crop == "corn" {
            "corn"
        } else {
            "soybean"
        };
        let mut season = Season::new(crop, 1);
        season.zones.clear();
        let mut add = |plants: f64, planted: String| {
            let zone = season.zones.len() as u32 + 1;
            let template = Season::new(crop, 1).zones[0].clone();
            season.zones.push(lowstave::season::ZoneRecord {
                number: zone,
                ..template
            });
            season.readings.stands.push(count(zone, plants, &planted));
        };
        match &rule.form {
            StandForm::Table { days, plants, .. } => {
                for of_year in days {
                    for plants in plants {
                        add(*plants, date_of(*of_year as u16));
                    }
                }
            }
            StandForm::Curve { points, .. } => {
                points
                    .iter()
                    .for_each(|(plants, _)| add(*plants, "2027-05-10".to_owned()));
                add(60_500.0, "2027-05-10".to_owned());
                // Two counts, whose whole interval lies between the stand that asks the question and that a little higher.
                season.readings.stands.push(StandCount {
                    per_acre: 60_450.0,
                    ..season.readings.stands[season.readings.stands.len() - 1].clone()
                });
            }
        }
        fields.push(season);
    }
    fields
}

/// The date of a day of the year.
fn date_of(of_year: u16) -> String {
    let all =
        (1..=12).flat_map(|month| (1..=31).map(move |day| format!("2027-{month:02}-{day:02}")));
    let mut found = all.filter(|text| {
        lowstave::plan::Day::parse(text).is_some_and(|day| day.of_year() == of_year)
    });
    found.next().unwrap()
}

/// Two counts, whose spread is taken; five that vary; two a little further apart than one place; five on the 61st day; and all the same.
fn few_counts() -> Vec<Season> {
    let mut season = Season::new("corn", 5);
    for plants in [28_000.0, 30_000.0] {
        season.readings.stands.push(count(1, plants, "2027-05-01"));
    }
    for plants in [24_000.0, 24_200.0, 24_400.0, 24_600.0, 25_000.0] {
        season.readings.stands.push(count(2, plants, "2027-05-01"));
        season.readings.stands.push(StandCount {
            day: Some(later("2027-05-01", 61)),
            ..count(4, plants, "2027-05-01")
        });
        season
            .readings
            .stands
            .push(count(5, 28_000.0, "2027-05-01"));
    }
    for (x, plants) in [(0.0, 28_000.0), (10.1, 30_000.0), (80.0, 31_000.0)] {
        season.readings.stands.push(StandCount {
            at: Some((x, 0.0)),
            ..count(3, plants, "2027-05-01")
        });
    }
    vec![season]
}

fn emergence() -> Vec<Season> {
    let place = |zone: u32, sum: f64, share: f64, weeks: f64| EmergencePlace {
        spot: spot(zone),
        days: None,
        degree_days: Some(sum),
        on: None,
        planted: Some(day("2027-04-28")),
        late_share: Some(share),
        late_weeks: Some(weeks),
    };
    let mut season = Season::new("corn", 7);
    // Each pair lies inside 2 % above the number that it tells of.
    let pairs = [
        (1, 91.0, 116.2, 25.2, 2.26),
        (2, 126.0, 126.1, 30.0, 2.26),
        (3, 151.5, 151.6, 50.5, 2.26),
        (4, 90.5, 90.6, 60.0, 2.26),
        (5, 100.0, 100.1, 25.2, 2.26),
        // Weeks nearer to the first case.
        (6, 100.0, 100.1, 25.2, 1.5),
    ];
    for (zone, one, other, share, weeks) in pairs {
        season
            .readings
            .emergence
            .extend([one, other].map(|sum| place(zone, sum, share, weeks)));
    }
    vec![season]
}

fn brix_rounds() -> Vec<Season> {
    let mut season = Season::new("corn", 3);
    for at in 0..5 {
        let small = 0.001 * f64::from(at);
        season
            .readings
            .brix
            .push(brix(1, "1", "2027-06-10", 10.0, 10.12 + small));
        season
            .readings
            .brix
            .push(brix(2, "1", "2027-06-10", 11.01, 8.1 + small));
        season
            .readings
            .brix
            .push(brix(3, "1", "2027-06-10", 10.2, 8.1 + small));
    }
    vec![season]
}

fn tissue() -> Vec<Season> {
    let mut fields = Vec::new();
    // Days inside the first and the last day, and a little past them.
    let parts = [
        ("corn", "ear leaf", [55, 56, 100, 101]),
        ("corn", "whole plant", [10, 30, 50, 51]),
        ("soybean", "trifoliate", [35, 50, 80, 81]),
    ];
    for (crop, part, days) in parts {
        for after in days {
            fields.push(leaves(crop, part, after, &[10.0, 10.1]));
        }
        // One sample, whose content is printed with its limit.
        fields.push(leaves(crop, part, days[1], &[10.0]));
    }
    // Feeds of shortages that the soil test says, on the last day of their stage and the next.
    for after in [50, 51, 60, 61] {
        let mut season = Season::new("corn", 3)
            .short(1, Factor::Zinc, 0.9)
            .short(2, Factor::Manganese, 0.6)
            .short(3, Factor::Magnesium, 0.3);
        season.readings.tissue = vec![leaf(1, "stalk", after, Factor::Zinc, 0.001)];
        fields.push(season);
    }
    fields
}

/// Leaves short of zinc, manganese and magnesium, some samples of one day.
fn leaves(crop: &'static str, part: &str, after: i64, ppm: &[f64]) -> Season {
    let mut season = Season::new(crop, 1);
    for ppm in ppm {
        season.readings.tissue.extend([
            leaf(1, part, after, Factor::Zinc, ppm / 10_000.0),
            leaf(1, part, after, Factor::Manganese, ppm / 10_000.0),
            leaf(1, part, after, Factor::Magnesium, ppm / 100.0),
        ]);
    }
    season
}

fn feeds() -> Vec<Season> {
    let water = |mut season: Season, text: &str| {
        season.settings.water = Some(VolumePerArea::parse(text).unwrap());
        season
    };
    let all = |crop: &'static str| {
        Season::new(crop, 3)
            .short(1, Factor::Zinc, 0.9)
            .short(2, Factor::Manganese, 0.6)
            .short(3, Factor::Magnesium, 0.3)
            .short(3, Factor::Boron, 0.3)
    };
    let boron = || Season::new("alfalfa", 1).short(1, Factor::Boron, 0.5);
    let mut metric = all("corn");
    metric.units = UnitSystem::Metric;
    vec![
        all("corn"),
        all("soybean"),
        all("dry_bean"),
        metric,
        boron(),
        water(boron(), "60 gal/ac"),
        water(boron(), "50 gal/ac"),
        water(all("corn"), "60 gal/ac"),
        water(all("corn"), "10.1 gal/ac"),
        water(
            Season::new("corn", 1).short(1, Factor::Manganese, 0.5),
            "15 gal/ac",
        ),
        water(
            Season::new("corn", 1).short(1, Factor::Zinc, 0.5),
            "10.1 gal/ac",
        ),
        Season::new("corn", 1).short(1, Factor::Zinc, 0.5),
        Season::new("corn", 1).short(1, Factor::Magnesium, 0.5),
        Season::new("corn", 1).short(1, Factor::Manganese, 0.5),
    ]
}

/// What follow says of all fields.
fn said(fields: &[Season], rulebook: &Rulebook) -> Vec<String> {
    fields
        .iter()
        .map(|season| format!("{:?}", season.review_by(rulebook)))
        .collect()
}

/// What of a product's numbers no review shows: its analysis beside the nutrient that is fed, as `rulebook show` lists it.
fn listed(rulebook: &Rulebook) -> Vec<String> {
    rulebook
        .lines(UnitSystem::UnitedStates)
        .filter(|line| line.key.starts_with("product.epsom_salt."))
        .map(|line| format!("{line:?}"))
        .collect()
}

/// What a table of corrections gives over all its temperatures and readings.
fn corrected(rulebook: &Rulebook) -> Vec<String> {
    let mut values = Vec::new();
    for table in &rulebook.season.brix {
        let parts = (&table.degrees[..], &table.at[..], &table.correction[..]);
        for tenth in 95..305 {
            for brix in [6.0, 10.0, 11.0, 13.0, 15.0, 16.0, 19.0, 20.0, 22.0] {
                let added =
                    lowstave::crop::temperature_correction(parts, f64::from(tenth) / 10.0, brix);
                values.push(format!("{added:?}"));
            }
        }
    }
    // A table of one column holds for every reading; which one it was made for is listed.
    let lines = rulebook.lines(UnitSystem::UnitedStates);
    values.extend(
        lines
            .filter(|line| line.key.starts_with("brix."))
            .map(|line| format!("{line:?}")),
    );
    values
}

#[test]
fn no_number_of_the_season_is_idle() {
    let text = Rulebook::season_text();
    let numbers = numbers(text);
    assert!(numbers.len() > 300, "{} numbers", numbers.len());
    let fields = fields();
    let base = rulebook(text);
    let (before, list, table) = (said(&fields, &base), listed(&base), corrected(&base));
    let idle: Vec<String> = numbers
        .par_iter()
        .filter(|number| {
            let other = rulebook(&moved(text, number));
            if number.key.starts_with("brix.") {
                return corrected(&other) == table;
            }
            if number.key.starts_with("product.epsom_salt.") && listed(&other) != list {
                return false;
            }
            said(&fields, &other) == before
        })
        .map(|number| format!("line {}, {} = {}", number.line, number.key, number.value))
        .collect();
    assert!(idle.is_empty(), "idle:\n{}", idle.join("\n"));
}
