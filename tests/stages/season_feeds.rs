//! Leaf feeds that meet on one leaf: shared tanks, feeds that salt keeps apart, and what is said where none goes out.

use lowstave::rulebook::Factor;
use lowstave::season::Unfed;
use lowstave::units::{Quantity, VolumePerArea};

use crate::season::Season;

#[test]
fn the_salt_of_a_shared_tank_is_said_in_its_own_water() {
    let review = Season::new("corn", 1)
        .short(1, Factor::Zinc, 0.4)
        .short(1, Factor::Manganese, 0.4)
        .review();
    let feed = &review.foliar.feeds[0];
    assert_eq!(feed.spray, VolumePerArea::parse("30 gal/ac").unwrap());
    let of = |factor| {
        let mut products = feed.products.iter();
        products.find(|product| product.factor == factor).unwrap()
    };
    // 0.70 lb in 30 gal x 8.345404 lb = 0.28 %; in the 20 gal of zinc alone it were 0.42 %.
    let zinc = of(Factor::Zinc).steps.last().unwrap();
    assert!(
        zinc.contains("30 gal/ac") && zinc.contains("0.28 %"),
        "{zinc}"
    );
    let manganese = of(Factor::Manganese).steps.last().unwrap();
    assert!(
        manganese.contains("1.29 %") && !manganese.contains("shared"),
        "{manganese}"
    );
}

#[test]
fn feeds_that_salt_keeps_out_of_one_tank_go_on_different_days() {
    // Manganese 3.22 lb and Epsom salt 5.00 lb in 30 gal are 1.29 and 2.00 %: together more than the 2 % of corn. All stages are laid on one.
    let mut season = Season::new("corn", 2)
        .short(1, Factor::Manganese, 0.6)
        .short(1, Factor::Magnesium, 0.4)
        .short(2, Factor::Zinc, 0.4);
    for rule in &mut season.rulebook.season.foliar {
        rule.window = 1.0;
    }
    let feeds = season.review().foliar.feeds;
    let firsts: Vec<_> = feeds.iter().filter(|feed| feed.repeats.is_none()).collect();
    let on_one: Vec<_> = firsts.iter().filter(|feed| feed.zones == [1]).collect();
    assert_eq!(on_one.len(), 2, "{feeds:?}");
    assert!(
        !on_one[0].when.contains("another day"),
        "{}",
        on_one[0].when
    );
    let wanted = format!("on another day than feed {}", on_one[0].number);
    assert!(on_one[1].when.contains(&wanted), "{}", on_one[1].when);
    assert!(on_one[1].when.contains("no burn"), "{}", on_one[1].when);
    // Zone 2 meets neither.
    let other = firsts.iter().find(|feed| feed.zones == [2]).unwrap();
    assert!(!other.when.contains("another day"), "{}", other.when);
}

#[test]
fn no_strip_is_offered_where_salt_closes_the_ground_as_well_as_carbon() {
    let mut season = Season::new("corn", 1);
    season.zones[0].carbon_gate = Some("C:N is 14.5:1, below 16:1.".to_owned());
    let offered = season.review().foliar.not_fed;
    assert!(offered.iter().any(|not| not.strip.is_some()));
    season.zones[0].salt_gate = Some("EC is 4.4 dS/m, above 4.".to_owned());
    let offered = season.review().foliar.not_fed;
    assert!(offered.iter().all(|not| not.strip.is_none()), "{offered:?}");
}

#[test]
fn each_zone_without_a_feed_carries_its_cause() {
    let cause = |season: &Season| season.review().foliar.not_fed[0].cause;
    let short = || Season::new("corn", 1).short(1, Factor::Zinc, 0.4);
    let mut dry = short();
    dry.settings.water = Some(VolumePerArea::parse("9 gal/ac").unwrap());
    assert_eq!(cause(&dry), Unfed::Water);
    let mut salty = short();
    salty.zones[0].salt_gate = Some("EC is 4.4 dS/m, above 4.".to_owned());
    assert_eq!(cause(&salty), Unfed::Salt);
    // Both: salt stands, whatever the water.
    salty.settings.water = dry.settings.water;
    assert_eq!(cause(&salty), Unfed::Salt);
    let mut closed = short();
    closed.zones[0].carbon_gate = Some("C:N is 14.5:1, below 16:1.".to_owned());
    assert_eq!(cause(&closed), Unfed::Carbon);
    let boron = Season::new("corn", 1).short(1, Factor::Boron, 0.4);
    assert_eq!(cause(&boron), Unfed::NotThroughLeaf);
    let potassium = Season::new("corn", 1).short(1, Factor::Potassium, 0.4);
    assert_eq!(cause(&potassium), Unfed::NotThroughLeaf);
    assert_eq!(cause(&Season::new("corn", 1)), Unfed::NothingShort);
}

#[test]
fn a_zone_whose_feeds_are_all_left_out_is_told_so() {
    let mut season = Season::new("corn", 3)
        .short(1, Factor::Zinc, 0.9)
        .short(2, Factor::Manganese, 0.6)
        .short(3, Factor::Magnesium, 0.2);
    season.rulebook.numbers.feeds_most = 2.0;
    let plan = season.review().foliar;
    assert_eq!(plan.feeds.len(), 2);
    let told: Vec<_> = plan
        .not_fed
        .iter()
        .filter(|not| not.cause == Unfed::LeftOut)
        .map(|not| (not.zone, not.factor))
        .collect();
    assert_eq!(told, [(3, Some(Factor::Magnesium))]);
    assert!(
        plan.not_fed.iter().all(|not| not.cause == Unfed::LeftOut),
        "no zone is said to be short of nothing"
    );
}
