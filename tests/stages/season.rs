//! The season's readings and leaf feeds through the stage's front door, and a leaf feed by hand beside the program's.

use lowstave::plan::Day;
use lowstave::rulebook::{Factor, Rulebook};
use lowstave::season::{
    BrixReading, EmergencePlace, Readings, SeasonContext, SeasonGround, SeasonReview,
    SeasonSettings, SoilShort, Spot, StandCount, TissueSample, WeatherDay, ZoneGround, ZoneRecord,
    review,
};
use lowstave::units::{Quantity, UnitSystem, VolumePerArea};

/// A field of zones, each of 10 ha, with what the run says of them.
pub struct Season {
    pub rulebook: Rulebook,
    pub crop: &'static str,
    pub units: UnitSystem,
    pub zones: Vec<ZoneRecord>,
    pub settings: SeasonSettings,
    pub readings: Readings,
}

impl Season {
    pub fn new(crop: &'static str, zones: u32) -> Self {
        Self {
            rulebook: Rulebook::built_in(),
            crop,
            units: UnitSystem::UnitedStates,
            zones: (1..=zones)
                .map(|number| ZoneRecord {
                    number,
                    area_m2: 100_000.0,
                    ..ZoneRecord::default()
                })
                .collect(),
            settings: SeasonSettings::default(),
            readings: Readings::default(),
        }
    }

    pub fn short(mut self, zone: u32, factor: Factor, severity: f64) -> Self {
        self.zones[zone as usize - 1].soil.push(SoilShort {
            factor,
            is_short: true,
            sentence: format!("{} is short.", factor.name()),
            severity,
        });
        self
    }

    pub fn review(&self) -> SeasonReview {
        self.review_by(&self.rulebook)
    }

    pub fn review_by(&self, rulebook: &Rulebook) -> SeasonReview {
        let ground = SeasonGround {
            zones: self
                .zones
                .iter()
                .map(|zone| ZoneGround {
                    number: zone.number,
                    area_m2: zone.area_m2,
                    shape: geo::MultiPolygon::new(Vec::new()),
                })
                .collect(),
            strips: Vec::new(),
        };
        let context = SeasonContext {
            rulebook,
            crop: rulebook.crop(self.crop).unwrap(),
            season: 2027,
            units: self.units,
            row_spacing_ft: 2.5,
            field: "Made Field",
            folder: "out",
            ground: &ground,
            zones: &self.zones,
            settings: &self.settings,
            prices: &[],
        };
        review(&self.readings, &context)
    }
}

pub fn spot(zone: u32) -> Spot {
    Spot { zone, strip: None }
}

pub fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

pub fn count(zone: u32, per_acre: f64, planted: &str) -> StandCount {
    StandCount {
        spot: spot(zone),
        per_acre,
        day: Some(day("2027-05-26")),
        planted: Some(day(planted)),
        population: Some(32_000.0),
    }
}

pub fn brix(zone: u32, round: &str, date: &str, hour: f64, value: f64) -> BrixReading {
    BrixReading {
        spot: spot(zone),
        day: Some(day(date)),
        hour: Some(hour),
        part: "leaf".to_owned(),
        brix: value,
        correction: Some(0.0),
        round: Some(round.to_owned()),
        plant: None,
        person: None,
    }
}

pub fn leaf(zone: u32, part: &str, factor: Factor, percent: f64) -> TissueSample {
    TissueSample {
        spot: spot(zone),
        part: part.to_owned(),
        contents: vec![(factor, percent)],
    }
}

fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "{found} is not {wanted} within {tolerance}"
    );
}

// ------------------------------------------------------------------------------------------------ a leaf feed by hand

/// 10 ha are 24.710538 acres; 1 lb/ac is 1.1208512 kg/ha, 1 gal/ac is 9.3539582 L/ha; 1 gal of water weighs 8.345404 lb (NIST Handbook 44).
#[test]
fn a_zinc_feed_is_what_a_hand_gets() {
    let review = Season::new("corn", 2).short(2, Factor::Zinc, 0.4).review();
    let feeds = &review.foliar.feeds;
    // 0.25 lb/ac of zinc / 35.5 % = 0.70423 lb/ac, down to 0.70; two feeds of it hold 0.497 of the season's 0.5 lb/ac.
    assert_eq!(feeds.len(), 2);
    let feed = &feeds[0];
    assert_eq!((feed.number, &feed.zones[..]), (1, &[2][..]));
    let zinc = &feed.products[0];
    close(
        zinc.wanted.number_in(UnitSystem::UnitedStates),
        0.704_23,
        1e-5,
    );
    close(zinc.amount.number_in(UnitSystem::UnitedStates), 0.70, 1e-9);
    close(
        zinc.nutrient.number_in(UnitSystem::UnitedStates),
        0.2485,
        1e-9,
    );
    // 0.70 lb in 20 gal x 8.345404 lb = 0.41939 %.
    close(zinc.concentration_pct, 0.419_39, 1e-4);
    close(feed.salt_pct, 0.419_39, 1e-4);
    assert_eq!(feed.spray, VolumePerArea::parse("20 gal/ac").unwrap());
    // 0.70 lb x 24.710538 ac = 17.297 lb = 7.8459 kg; 0.95 USD/lb x 0.70 = 0.665 USD/ac = 16.43 USD.
    close(zinc.total_kg, 7.8459, 0.001);
    close(feed.cost_usd.unwrap(), 16.43, 0.01);
    assert_eq!(zinc.note, None, "nothing cuts it");
    // The second feed waits for signs, and is the same.
    assert_eq!(feeds[1].repeats, Some(1));
    assert_eq!(
        feeds[1].when,
        "10 to 14 days after feed 1, only where the signs return"
    );
    assert!(
        zinc.response.contains("Nebraska"),
        "research stands beside it"
    );
    // Zone 1 is told that nothing is short.
    let other = review.foliar.not_fed.iter().find(|not| not.zone == 1);
    assert!(
        other
            .unwrap()
            .why
            .contains("Nothing that the leaf could fill")
    );
}

#[test]
fn salt_is_held_under_the_limit_of_the_leaf() {
    // 0.5 lb/ac of magnesium / 9.8 % = 5.102 lb/ac; 2 % of 30 gal x 8.345404 lb = 5.0072, down to 5.00 lb/ac.
    let review = Season::new("corn", 1)
        .short(1, Factor::Magnesium, 0.4)
        .review();
    let epsom = &review.foliar.feeds[0].products[0];
    close(
        epsom.wanted.number_in(UnitSystem::UnitedStates),
        5.102,
        0.001,
    );
    close(epsom.amount.number_in(UnitSystem::UnitedStates), 5.00, 1e-9);
    close(epsom.concentration_pct, 1.9971, 0.001);
    let note = epsom.note.as_deref().unwrap();
    assert!(
        note.starts_with("5.1 lb/ac is cut to 5 lb/ac: at most 2 %"),
        "{note}"
    );
    // A dry bean bears half of that.
    let bean = Season::new("dry_bean", 1)
        .short(1, Factor::Magnesium, 0.4)
        .review();
    let feed = &bean.foliar.feeds[0];
    close(
        feed.products[0].amount.number_in(UnitSystem::UnitedStates),
        2.50,
        1e-9,
    );
    assert!(feed.salt_pct <= 1.0 && feed.salt_most_pct == 1.0);
}

#[test]
fn too_little_water_refuses_in_the_words_of_the_rates() {
    let mut season = Season::new("corn", 1).short(1, Factor::Zinc, 0.4);
    season.settings.water = Some(VolumePerArea::parse("5 gal/ac").unwrap());
    let review = season.review();
    assert!(review.foliar.feeds.is_empty());
    let why = &review.foliar.not_fed[0].why;
    assert!(
        why.contains("is not applied: 5 gal/ac of water is less than the 10 gal/ac"),
        "{why}"
    );
}

// ------------------------------------------------------------------------------------------------ where nothing is fed

#[test]
fn a_closed_carbon_gate_feeds_nothing_and_offers_a_strip() {
    let mut season = Season::new("corn", 2)
        .short(1, Factor::Zinc, 0.4)
        .short(2, Factor::Zinc, 0.4);
    season.zones[0].carbon_gate = Some("C:N is 14.5:1, below 16:1.".to_owned());
    let review = season.review();
    assert!(review.foliar.feeds.iter().all(|feed| feed.zones == [2]));
    let closed = &review.foliar.not_fed[0];
    assert_eq!((closed.zone, closed.factor), (1, Some(Factor::Zinc)));
    for words in [
        "Held back, because C:N is 14.5:1",
        "mattered neither way",
        "lay a check strip at 0.7 lb/ac",
    ] {
        assert!(closed.why.contains(words), "{}", closed.why);
    }
    assert!(closed.strip.is_some());
    // A closed zone without a shortage is told too.
    season.zones[0].soil.clear();
    let closed = season.review().foliar.not_fed[0].clone();
    assert!(closed.factor.is_none() && closed.strip.as_deref() == Some("one pass of feed 1"));
}

#[test]
fn nobody_is_told_to_try_salt_on_salty_ground() {
    let mut season = Season::new("corn", 1).short(1, Factor::Zinc, 0.4);
    season.zones[0].salt_gate = Some("EC is 4.4 dS/m, above 4.".to_owned());
    let review = season.review();
    let not = &review.foliar.not_fed[0];
    assert!(review.foliar.feeds.is_empty() && not.strip.is_none());
    assert!(
        not.why.contains("is not applied: EC is 4.4 dS/m"),
        "{}",
        not.why
    );
}

#[test]
fn what_the_leaf_cannot_fill_is_not_fed_and_research_is_named() {
    let review = Season::new("soybean", 1)
        .short(1, Factor::Potassium, 0.9)
        .short(1, Factor::Boron, 0.5)
        .review();
    assert!(review.foliar.feeds.is_empty());
    let why = |factor| {
        let found = review
            .foliar
            .not_fed
            .iter()
            .find(|not| not.factor == Some(factor));
        found.unwrap().why.clone()
    };
    assert!(why(Factor::Potassium).contains("more than 200 soybean trials"));
    assert!(why(Factor::Boron).contains("discouraged on corn and soybean"));
}

#[test]
fn no_feed_goes_out_on_an_unknown_and_the_test_is_named() {
    let review = Season::new("corn", 1).review();
    assert!(review.foliar.feeds.is_empty());
    let told = review.foliar.not_known.join(" ");
    assert!(
        told.contains("Zinc is not known in zone 1: send the"),
        "{told}"
    );
}

#[test]
fn leaves_speak_for_their_part_and_time_alone() {
    let percent = |ppm: f64| ppm / 10_000.0;
    // Young plants short of zinc: fed. The ear leaf is taken after the stage: too late.
    let mut season = Season::new("corn", 2);
    season.readings.tissue = vec![
        leaf(1, "whole plant", Factor::Zinc, percent(14.0)),
        leaf(2, "ear leaf", Factor::Zinc, percent(14.0)),
    ];
    let review = season.review();
    assert!(
        review.foliar.feeds.iter().all(|feed| feed.zones == [1]) && !review.foliar.feeds.is_empty()
    );
    let late = review
        .foliar
        .not_fed
        .iter()
        .find(|not| not.zone == 2)
        .unwrap();
    assert!(late.why.contains("too late this season"), "{}", late.why);
    // Another part is not comparable.
    season.readings.tissue = vec![leaf(1, "stalk", Factor::Zinc, percent(1.0))];
    let review = season.review();
    assert!(review.foliar.feeds.is_empty() && review.tissue[0].is_short.is_none());
    assert!(review.tissue[0].sentence.contains("not comparable"));
    // Leaves that have enough overrule a soil test.
    let mut season = Season::new("corn", 1).short(1, Factor::Zinc, 0.4);
    season.readings.tissue = vec![leaf(1, "whole plant", Factor::Zinc, percent(40.0))];
    assert!(season.review().foliar.feeds.is_empty());
}

#[test]
fn one_tank_takes_what_goes_together_and_a_season_takes_five_feeds() {
    // Zinc 0.7 lb and manganese sulfate 3.22 lb in 30 gal: 0.28 + 1.286 = 1.57 %, under the 2 % of corn: one tank, zinc and manganese by name.
    let together = Season::new("corn", 1)
        .short(1, Factor::Zinc, 0.4)
        .short(1, Factor::Manganese, 0.4)
        .review();
    let feed = &together.foliar.feeds[0];
    assert_eq!(feed.products.len(), 2);
    close(
        feed.salt_pct,
        100.0 * (0.70 + 3.22) / (30.0 * 8.345_404),
        0.002,
    );
    assert_eq!(together.foliar.feeds.len(), 2);
    // Three nutrients in zones of their own are six feeds; the season takes five, and the least severe repeat is left out.
    let many = Season::new("corn", 3)
        .short(1, Factor::Zinc, 0.9)
        .short(2, Factor::Manganese, 0.6)
        .short(3, Factor::Magnesium, 0.2)
        .review();
    assert_eq!(many.foliar.feeds.len(), 5);
    assert_eq!(many.foliar.left_out.len(), 1);
    assert!(
        many.foliar.left_out[0].contains("Epsom")
            && many.foliar.left_out[0].contains("more than 5 feeds"),
        "{:?}",
        many.foliar.left_out
    );
}

#[test]
fn what_the_plan_spreads_counts_against_the_seasons_most() {
    // 2 lb/ac of boron at most; 9.5 lb/ac of borate hold 1.9475 lb: 0.0525 lb are left, which is 0.25 lb of borate.
    let pound = 1.120_851_2;
    let mut season = Season::new("alfalfa", 1).short(1, Factor::Boron, 0.5);
    let most = season.rulebook.numbers.boron_most.kilograms_per_hectare() / pound;
    season.settings.water = Some(VolumePerArea::parse("60 gal/ac").unwrap());
    season.zones[0].applied = vec![("soluble_borate".to_owned(), (most - 0.05) / 0.205 * pound)];
    let review = season.review();
    let borate = &review.foliar.feeds[0].products[0];
    let note = borate.note.as_deref().unwrap_or_default();
    assert!(borate.nutrient.kilograms_per_hectare() / pound <= 0.05 + 1e-9);
    assert!(note.contains("in a season"), "{note}");
}

// ------------------------------------------------------------------------------------------------ stand, emergence, Brix

#[test]
fn the_published_replant_case_is_kept() {
    // 17,500 plants of 30 April keep 87 %; 30,000 planted on 29 May keep less (agfax.com, 28 May 2018: 81 %): keep the stand.
    let mut season = Season::new("corn", 1);
    season.readings.stands = (0..6).map(|_| count(1, 17_500.0, "2027-04-30")).collect();
    for stand in &mut season.readings.stands {
        stand.population = Some(30_000.0);
    }
    let stand = season.review().stands[0].clone();
    let keeps = &stand.keeps[0];
    close(keeps.percent.unwrap(), 87.0, 0.01);
    // 30,000 plants: 91 % on 20 May, 87 % on 25 May: the last day of gain is 25 May.
    assert_eq!(keeps.no_gain_after.as_deref(), Some("25 May"));
    assert!(
        stand
            .sentences
            .iter()
            .any(|line| line.contains("Planted again after 25 May"))
    );
}

#[test]
fn outside_the_table_and_without_a_day_nothing_is_said_of_the_yield() {
    let mut season = Season::new("corn", 1);
    season.readings.stands = vec![
        count(1, 8_000.0, "2027-04-30"),
        count(1, 8_200.0, "2027-04-30"),
    ];
    let stand = season.review().stands[0].clone();
    assert_eq!(stand.keeps[0].percent, None);
    assert!(stand.sentences.join(" ").contains("not known"));
    let mut season = Season::new("sunflower", 1);
    season.readings.stands = vec![count(1, 20_000.0, "2027-04-30")];
    let stand = season.review().stands[0].clone();
    assert!(
        stand.interval_90.is_none()
            && stand
                .sentences
                .join(" ")
                .contains("No stand table for sunflower")
    );
}

#[test]
fn a_thin_soybean_stand_asks_the_question() {
    let mut season = Season::new("soybean", 1);
    season.readings.stands = vec![
        count(1, 55_000.0, "2027-05-10"),
        count(1, 56_000.0, "2027-05-10"),
    ];
    let words = season.review().stands[0].sentences.join(" ");
    assert!(words.contains("planting again is the question"), "{words}");
}

#[test]
fn warmth_to_emergence_is_that_of_the_days_after_planting() {
    let mut season = Season::new("corn", 1);
    // Eleven days of 72/48: 11 degree days each.
    season.readings.weather = (1..=20)
        .map(|of_month| WeatherDay {
            day: day(&format!("2027-05-{of_month:02}")),
            highest: 72.0,
            lowest: 48.0,
        })
        .collect();
    season.readings.emergence = [12, 14]
        .map(|on| EmergencePlace {
            spot: spot(1),
            days: Some(f64::from(on) - 1.0),
            degree_days: None,
            on: Some(day(&format!("2027-05-{on}"))),
            planted: Some(day("2027-05-01")),
            late_share: Some(30.0),
            late_weeks: Some(3.0),
        })
        .to_vec();
    let zone = season.review().emergence[0].clone();
    close(zone.degree_days.unwrap(), 132.0, 1e-9);
    close(zone.first_to_last.unwrap(), 22.0, 1e-9);
    assert_eq!(zone.is_even, Some(true));
    // H2-67: a quarter of the plants 3 weeks late cost 10 %.
    assert!(
        zone.sentences.join(" ").contains("cost 10 % of the yield"),
        "{:?}",
        zone.sentences
    );
    // A gap in the weather leaves it unknown.
    season.readings.weather.remove(5);
    assert_eq!(season.review().emergence[0].degree_days, None);
}

#[test]
fn brix_of_another_hour_or_hand_is_not_compared_in_silence() {
    let mut season = Season::new("corn", 2);
    let mut readings: Vec<BrixReading> = Vec::new();
    for at in 0..6 {
        let small = f64::from(at) * 0.1;
        readings.push(brix(1, "1", "2027-06-10", 10.5, 6.0 + small));
        readings.push(brix(2, "1", "2027-06-10", 14.5, 9.0 + small));
        readings.push(brix(1, "2", "2027-06-20", 15.0, 9.0 + small));
        readings.push(brix(1, "3", "2027-06-30", 10.7, 8.5 + small));
    }
    season.readings.brix.clone_from(&readings);
    let found = season.review().brix;
    assert!(
        found.comparisons[0].contains("not compared") && found.comparisons[0].contains("10:30")
    );
    let trend = &found.trends[0];
    close(trend.change.unwrap(), 2.5, 1e-9);
    assert!(
        trend.sentence.contains("it rose") && trend.sentence.contains("Round 2 is left out"),
        "{}",
        trend.sentence
    );
    close(found.rounds[0].under_floor_pct, 100.0, 0.0);
    // Another person at the same hour.
    for reading in &mut readings {
        reading.hour = Some(10.5);
        reading.person = Some(if reading.spot.zone == 1 { "A" } else { "B" }.to_owned());
    }
    season.readings.brix.clone_from(&readings);
    assert!(season.review().brix.comparisons[0].contains("another person pressed"));
    // Leaf and stem stay apart.
    readings[0].part = "stem".to_owned();
    season.readings.brix = readings;
    let found = season.review().brix;
    assert!(
        found
            .rounds
            .iter()
            .any(|round| round.part == "stem" && round.readings == 1)
    );
}

#[test]
fn the_middle_reading_of_a_plant_counts() {
    let mut season = Season::new("corn", 1);
    season.readings.brix = [("a", 6.0), ("a", 7.0), ("a", 20.0), ("b", 9.0)]
        .map(|(plant, value)| BrixReading {
            plant: Some(plant.to_owned()),
            ..brix(1, "1", "2027-06-10", 10.5, value)
        })
        .to_vec();
    let round = season.review().brix.rounds[0].clone();
    assert_eq!((round.readings, round.plants), (4, 2));
    close(round.mean, 8.0, 1e-9);
    close(round.under_floor_pct, 50.0, 0.0);
}
