//! The season's readings and leaf feeds through the stage's front door, and a leaf feed by hand beside the program's.

use lowstave::plan::Day;
use lowstave::rulebook::{Factor, Rulebook};
use lowstave::season::{
    BrixFinding, BrixReading, EmergencePlace, Readings, SeasonContext, SeasonGround, SeasonReview,
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
        at: None,
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
        person: Some("A".to_owned()),
    }
}

/// Leaves taken some days after planting on 28 April.
pub fn leaf(zone: u32, part: &str, after: i64, factor: Factor, percent: f64) -> TissueSample {
    TissueSample {
        spot: spot(zone),
        day: Some(later("2027-04-28", after)),
        planted: Some(day("2027-04-28")),
        part: part.to_owned(),
        contents: vec![(factor, percent)],
        under: Vec::new(),
    }
}

/// The day some days after another.
pub fn later(from: &str, after: i64) -> Day {
    let all = (1..=12).flat_map(|month| (1..=31).map(move |day| (month, day)));
    let mut days = all.filter_map(|(month, of)| Day::parse(&format!("2027-{month:02}-{of:02}")));
    days.find(|found| found.number() == day(from).number() + after)
        .unwrap()
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

fn zinc(zone: u32, part: &str, after: i64, ppm: f64) -> TissueSample {
    leaf(zone, part, after, Factor::Zinc, ppm / 10_000.0)
}

#[test]
fn leaves_speak_for_their_part_and_time_alone() {
    // Young plants short of zinc: fed.
    let mut season = Season::new("corn", 2);
    season.readings.tissue = vec![
        zinc(1, "whole plant", 30, 14.0),
        zinc(1, "whole plant", 30, 13.0),
    ];
    let review = season.review();
    assert!(review.foliar.feeds.iter().all(|feed| feed.zones == [1]));
    assert!(!review.foliar.feeds.is_empty());
    let words = &review.tissue[0].sentence;
    for wanted in [
        "2 samples of 28 May 2027",
        "90 %:",
        "below the limit of 20 ppm",
    ] {
        assert!(words.contains(wanted), "{words}");
    }
    // Another part is not comparable.
    season.readings.tissue = vec![zinc(1, "stalk", 30, 1.0), zinc(1, "stalk", 30, 1.0)];
    let review = season.review();
    assert!(review.foliar.feeds.is_empty() && review.tissue[0].is_short.is_none());
    assert!(review.tissue[0].sentence.contains("not comparable"));
    // Leaves that have enough overrule a soil test.
    let mut season = Season::new("corn", 1).short(1, Factor::Zinc, 0.4);
    season.readings.tissue = vec![
        zinc(1, "whole plant", 30, 40.0),
        zinc(1, "whole plant", 30, 41.0),
    ];
    assert!(season.review().foliar.feeds.is_empty());
}

#[test]
fn leaves_after_the_stage_make_every_feed_too_late_and_one_without_a_day_says_nothing() {
    // The soil test and the ear leaves of July both say short: V4 to V6 is past.
    let mut season = Season::new("corn", 2)
        .short(1, Factor::Zinc, 0.4)
        .short(2, Factor::Zinc, 0.4);
    season.readings.tissue = [5.0, 6.0].map(|ppm| zinc(1, "ear leaf", 77, ppm)).to_vec();
    let review = season.review();
    assert_eq!(review.tissue[0].is_short, Some(true));
    assert!(review.foliar.feeds.is_empty(), "{:?}", review.foliar.feeds);
    for zone in [1, 2] {
        let mut not = review.foliar.not_fed.iter().filter(|not| not.zone == zone);
        let why = &not.next().unwrap().why;
        assert!(
            why.contains("Too late this season") && why.contains("act next year"),
            "{why}"
        );
    }
    // 30 September: no leaf of silking, and too late all the same.
    season.readings.tissue = [5.0, 6.0].map(|ppm| zinc(2, "ear leaf", 155, ppm)).to_vec();
    let review = season.review();
    assert_eq!(review.tissue[0].is_short, None);
    assert!(
        review.tissue[0]
            .sentence
            .contains("155 days after planting")
    );
    assert!(review.foliar.feeds.is_empty());
    // 20 May is no silking either; nor is a day that nobody said.
    let mut season = Season::new("corn", 1);
    season.readings.tissue = [5.0, 6.0].map(|ppm| zinc(1, "ear leaf", 22, ppm)).to_vec();
    assert_eq!(season.review().tissue[0].is_short, None);
    for sample in &mut season.readings.tissue {
        sample.day = None;
    }
    let review = season.review();
    assert_eq!(review.tissue[0].is_short, None);
    let words = &review.tissue[0].sentence;
    assert!(words.contains("when it was taken is not known"), "{words}");
    assert!(review.foliar.feeds.is_empty());
}

#[test]
fn one_sample_decides_nothing_and_days_are_never_averaged() {
    let mut season = Season::new("corn", 1);
    season.readings.tissue = vec![zinc(1, "ear leaf", 77, 17.99)];
    let leaf = season.review().tissue[0].clone();
    assert_eq!((leaf.samples, leaf.is_short, leaf.severity), (1, None, 0.0));
    assert!(leaf.sentence.contains("so few samples decide nothing"));
    // 2, 40 and 11 ppm: their interval holds the limit.
    season.readings.tissue = [2.0, 40.0, 11.0]
        .map(|ppm| zinc(1, "ear leaf", 77, ppm))
        .to_vec();
    let leaf = season.review().tissue[0].clone();
    assert_eq!(leaf.is_short, None);
    assert!(
        leaf.sentence.contains("not shown to lie on one side"),
        "{}",
        leaf.sentence
    );
    // 10 July and 10 August stay apart.
    season.readings.tissue = vec![zinc(1, "ear leaf", 73, 5.0), zinc(1, "ear leaf", 99, 60.0)];
    let found: Vec<f64> = season
        .review()
        .tissue
        .iter()
        .map(|leaf| leaf.content_pct * 10_000.0)
        .collect();
    assert_eq!(found.len(), 2);
    close(found[0], 5.0, 1e-9);
    close(found[1], 60.0, 1e-9);
}

#[test]
fn what_the_laboratory_could_not_see_is_a_shortage_where_it_sees_to_the_limit() {
    let under = |ppm: f64| TissueSample {
        under: vec![(Factor::Zinc, ppm / 10_000.0)],
        contents: Vec::new(),
        ..zinc(1, "whole plant", 30, 0.0)
    };
    let mut season = Season::new("corn", 1);
    season.readings.tissue = vec![under(5.0), under(5.0), zinc(1, "whole plant", 30, 6.0)];
    let leaf = season.review().tissue[0].clone();
    assert_eq!((leaf.samples, leaf.is_short), (3, Some(true)));
    assert!(
        leaf.sentence
            .contains("2 of them under what the laboratory sees")
    );
    season.readings.tissue = vec![under(50.0), under(50.0)];
    let leaf = season.review().tissue[0].clone();
    assert_eq!(leaf.is_short, None);
    assert!(
        leaf.sentence.contains("does not see as little"),
        "{}",
        leaf.sentence
    );
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

/// Six counts that hardly vary.
fn six(per_acre: f64, planted: &str) -> Vec<StandCount> {
    [-60.0, -40.0, -10.0, 10.0, 40.0, 60.0]
        .map(|more| count(1, per_acre + more, planted))
        .to_vec()
}

#[test]
fn the_published_replant_case_is_kept() {
    // 17,500 plants of 30 April keep 87 %; 30,000 planted on 29 May keep less (agfax.com, 28 May 2018: 81 %): keep the stand.
    let mut season = Season::new("corn", 1);
    season.readings.stands = six(17_500.0, "2027-04-30");
    for stand in &mut season.readings.stands {
        stand.population = Some(30_000.0);
        stand.day = Some(day("2027-05-20"));
    }
    let stand = season.review().stands[0].clone();
    let keeps = &stand.keeps[0];
    close(keeps.percent.unwrap(), 87.0, 0.01);
    // 30,000 plants: 91 % on 20 May, 87 % on 25 May: the last day of gain is 25 May.
    assert_eq!(keeps.no_gain_after.as_deref(), Some("25 May"));
    let words = stand.sentences.join(" ");
    assert!(words.contains("Planted again after 25 May"), "{words}");
    assert!(words.contains("Before, weigh"), "{words}");
    // Counted on 26 May that day is past, and no word tells what to do before it.
    for stand in &mut season.readings.stands {
        stand.day = Some(day("2027-05-26"));
    }
    let words = season.review().stands[0].sentences.join(" ");
    assert!(
        words.contains("that day was past when it was counted"),
        "{words}"
    );
    assert!(!words.contains("Before, weigh"), "{words}");
    // Counted in December nothing is said of planting again.
    for stand in &mut season.readings.stands {
        stand.day = Some(day("2027-12-26"));
    }
    let words = season.review().stands[0].sentences.join(" ");
    assert!(
        words.contains("240 days after planting: too late for a word"),
        "{words}"
    );
}

#[test]
fn no_word_on_planting_again_goes_past_the_counts() {
    let words = |counts: &[f64]| {
        let mut season = Season::new("corn", 1);
        let rows = counts.iter().map(|plants| count(1, *plants, "2027-04-28"));
        season.readings.stands = rows.collect();
        let stand = season.review().stands[0].clone();
        assert!(stand.interval_90.is_none_or(|(low, _)| low >= 0.0));
        stand.sentences.join(" ")
    };
    let one = words(&[16_000.0]);
    assert!(one.contains("one place decides nothing"), "{one}");
    let wide = words(&[5_000.0, 45_000.0, 12_000.0]);
    assert!(wide.contains("reaches past the published table"), "{wide}");
    let few = words(&[25_000.0, 25_100.0, 25_200.0]);
    assert!(few.contains("not judged on fewer than 5 places"), "{few}");
    for said in [one, wide, few] {
        assert!(!said.contains("Planted again after"), "{said}");
    }
    // Fewer than the table tells of: a full stand gains on each of its days, so no day is named.
    let mut season = Season::new("corn", 1);
    season.readings.stands = six(10_100.0, "2027-06-08");
    assert_eq!(season.review().stands[0].keeps[0].no_gain_after, None);
    // The two tables differ by ten points: said.
    season.readings.stands = six(20_300.0, "2027-04-28");
    let said = season.review().stands[0].sentences.join(" ");
    assert!(said.contains("The tables do not agree"), "{said}");
}

#[test]
fn counts_that_are_all_the_same_or_beside_each_other_are_no_evidence_of_their_own() {
    let mut season = Season::new("corn", 1);
    season.readings.stands = (0..6).map(|_| count(1, 28_000.0, "2027-04-28")).collect();
    let stand = season.review().stands[0].clone();
    // t(0.95, 5) = 2.0150 (NIST/SEMATECH): 28,000 x 15 % x 2.0150 / square root of 6 = 3,455.
    let (low, high) = stand.interval_90.unwrap();
    close((high - low) / 2.0, 3_455.0, 1.0);
    assert!(stand.is_spread_assumed);
    // Pairs 2 m apart are three places, not six.
    let at = |x: f64, plants: f64| StandCount {
        at: Some((x, 0.0)),
        ..count(1, plants, "2027-04-28")
    };
    season.readings.stands = vec![
        at(0.0, 28_000.0),
        at(2.0, 30_000.0),
        at(100.0, 27_000.0),
        at(102.0, 27_500.0),
        at(200.0, 31_000.0),
        at(202.0, 31_200.0),
    ];
    let stand = season.review().stands[0].clone();
    assert_eq!(stand.places, 3);
    close(
        stand.plants_per_acre,
        (29_000.0 + 27_250.0 + 31_100.0) / 3.0,
        1e-6,
    );
}

#[test]
fn two_targets_or_days_of_planting_in_a_zone_are_told() {
    let mut season = Season::new("corn", 1);
    season.readings.stands = vec![
        count(1, 28_000.0, "2027-04-28"),
        count(1, 28_500.0, "2027-05-20"),
    ];
    season.readings.stands[1].population = Some(20_000.0);
    let stand = season.review().stands[0].clone();
    assert!(stand.share_pct.is_none() && stand.planted.is_none());
    let said = stand.sentences.join(" ");
    for words in ["two and more targets", "two and more days of planting"] {
        assert!(said.contains(words), "{said}");
    }
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
    // Beside a table only what late plants cost is told; of fewer than in any trial nothing is.
    let [cost] = zone.beside_table.as_slice() else {
        panic!("{:?}", zone.beside_table);
    };
    assert!(cost.contains("cost 10 % of the yield"), "{cost}");
    let mut few = Season::new("corn", 1);
    few.readings.emergence = season.readings.emergence.clone();
    for place in &mut few.readings.emergence {
        place.late_share = Some(1.0);
    }
    let few = few.review().emergence[0].clone();
    assert!(few.sentences.join(" ").contains("fewer than in any"));
    assert!(few.beside_table.is_empty(), "{:?}", few.beside_table);
    // A gap in the weather leaves it unknown.
    season.readings.weather.remove(5);
    let zone = season.review().emergence[0].clone();
    assert_eq!(zone.degree_days, None);
    assert!(zone.beside_table[0].contains("not known of 2 of 2 places"));
    let said = zone.sentences.join(" ");
    assert!(said.contains("not known of 2 of 2 places"), "{said}");
    assert!(said.contains("lacks day 5 after planting"), "{said}");
}

#[test]
fn words_on_emergence_go_no_further_than_their_interval() {
    let said = |sums: &[f64]| {
        let mut season = Season::new("corn", 1);
        let place = |sum: &f64| EmergencePlace {
            spot: spot(1),
            days: None,
            degree_days: Some(*sum),
            on: None,
            planted: None,
            late_share: Some(26.0),
            late_weeks: Some(3.0),
        };
        season.readings.emergence = sums.iter().map(place).collect();
        let zone = season.review().emergence[0].clone();
        assert!(
            zone.degree_days_interval_90
                .is_none_or(|(low, _)| low >= 0.0)
        );
        zone.sentences.join(" ")
    };
    // The mean of 100 and 190 is late; its interval holds the usual.
    let two = said(&[100.0, 190.0]);
    assert!(two.contains("not shown to be other than usual"), "{two}");
    assert!(two.contains("2 places, 90 %: 0 to"), "{two}");
    let one = said(&[190.0]);
    assert!(
        one.contains("(1 place)") && one.contains("one place decides nothing"),
        "{one}"
    );
    assert!(said(&[188.0, 190.0, 192.0]).contains("late; past the limit"));
}

/// What is left out of a reading.
type Slip = fn(&mut BrixReading);

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
        found.comparisons[0].finding == BrixFinding::NotCompared
            && found.comparisons[0].sentence.contains("10:30")
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
    assert!(
        season.review().brix.comparisons[0]
            .sentence
            .contains("another person pressed")
    );
    // Nobody said who pressed, at what hour, or which part: said, not compared.
    let unsaid: [(Slip, &str); 4] = [
        (|reading| reading.person = None, "who pressed is not known"),
        (
            |reading| reading.hour = None,
            "the hour of day is not known",
        ),
        (
            |reading| reading.part = String::new(),
            "the part of the plant is not known",
        ),
        (|reading| reading.day = None, "the day is not known"),
    ];
    for (unsay, words) in unsaid {
        season.readings.brix.clone_from(&readings);
        season.readings.brix.iter_mut().for_each(unsay);
        let found = season.review().brix;
        assert!(!found.comparisons.is_empty());
        for line in &found.comparisons {
            assert_eq!(line.finding, BrixFinding::NotCompared);
            assert!(
                line.sentence.contains("not compared") && line.sentence.contains(words),
                "{line:?}"
            );
        }
        assert!(found.trends.iter().all(|trend| trend.change.is_none()));
    }
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

#[test]
fn brix_of_two_days_under_one_name_stays_apart() {
    let plant = |zone: u32, date: &str, plant: usize, value: f64| BrixReading {
        plant: Some(plant.to_string()),
        ..brix(zone, "1", date, 10.5, value)
    };
    let mut season = Season::new("corn", 2);
    for at in 0..3 {
        let value = 5.0 + 0.1 * at as f64;
        season.readings.brix.push(plant(1, "2027-06-10", at, value));
        season
            .readings
            .brix
            .push(plant(2, "2027-06-20", at, value + 4.0));
    }
    let found = season.review().brix;
    assert_eq!(found.comparisons.len(), 1, "{:?}", found.comparisons);
    assert!(
        found.comparisons[0]
            .sentence
            .contains("read on different days (10 June 2027 and 20 June 2027)")
            || found.comparisons[0]
                .sentence
                .contains("read on different days (20 June 2027 and 10 June 2027)"),
        "{:?}",
        found.comparisons
    );
    // The same plants on another day under the same name are another round.
    for at in 0..3 {
        season
            .readings
            .brix
            .push(plant(1, "2027-06-20", at, 9.0 + 0.1 * at as f64));
    }
    let found = season.review().brix;
    let own: Vec<f64> = found
        .rounds
        .iter()
        .filter(|round| round.zone == 1)
        .map(|round| round.mean)
        .collect();
    assert_eq!(own.len(), 2);
    close(own[0], 5.1, 1e-9);
    close(own[1], 9.1, 1e-9);
    assert_eq!(found.rounds[0].round, "1 of 2027-06-10");
}

#[test]
fn equal_brix_readings_keep_an_interval_and_say_of_how_many_the_temperature_lacks() {
    let mut season = Season::new("corn", 1);
    season.readings.brix = (0..6)
        .map(|_| brix(1, "1", "2027-06-10", 10.5, 5.0))
        .collect();
    let round = season.review().brix.rounds[0].clone();
    let (low, high) = round.interval_90.unwrap();
    // A step of 0.2 / square root of 12 x t(0.95, 5) 2.0150 / square root of 6 = 0.0475.
    close((high - low) / 2.0, 0.0475, 0.0001);
    for reading in &mut season.readings.brix {
        reading.correction = None;
    }
    let said = season.review().brix.rounds[0].sentence.clone();
    assert!(said.contains("temperature not known, as read"), "{said}");
    season.readings.brix[0].correction = Some(0.0);
    let said = season.review().brix.rounds[0].sentence.clone();
    assert!(
        said.contains("temperature not known of 5, those as read"),
        "{said}"
    );
}

#[test]
fn the_stage_of_a_zinc_feed_names_each_crops_own_sign() {
    let feeds = Season::new("soybean", 1)
        .short(1, Factor::Zinc, 0.4)
        .review()
        .foliar
        .feeds;
    assert!(
        feeds[0].when.contains("between the veins (beans)"),
        "{}",
        feeds[0].when
    );
}
