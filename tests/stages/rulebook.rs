//! Stage tests: rulebook.

use lowstave::rulebook::{Basis, Factor, Rulebook, RulebookError};
use lowstave::units::UnitSystem;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn messages(text: &str) -> Vec<String> {
    Rulebook::from_text(text, "my-rules.toml")
        .expect_err("a fault")
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn the_built_in_rulebook_is_sound_and_speaks_of_every_factor() {
    let rulebook = Rulebook::built_in();
    for factor in Factor::ALL {
        assert!(
            rulebook.rules.iter().any(|rule| rule.factor == factor),
            "no rule for {}",
            factor.name()
        );
        assert!(
            rulebook.fixes.iter().any(|fix| fix.mends.contains(&factor)),
            "no fix for {}",
            factor.name()
        );
    }
    for crop in ["corn", "soybean", "wheat", "pasture", "cover crop", "Maize"] {
        assert!(rulebook.crop(crop).is_some(), "{crop}");
    }
}

#[test]
fn every_line_of_the_listing_says_what_it_rests_on() {
    for line in Rulebook::built_in().lines(UnitSystem::UnitedStates) {
        assert!(!line.what.is_empty() && !line.value.is_empty(), "{line:?}");
        assert!(
            !line.source.is_empty() || line.key.ends_with("smallest"),
            "{line:?}"
        );
        assert_ne!(line.value, "?", "{line:?}");
    }
}

#[test]
fn what_was_only_remembered_says_so() {
    let text = Rulebook::built_in_text();
    assert!(text.contains("(from memory)"));
    let rule = Rulebook::built_in();
    let rule = rule.rule("carbon_water_extract").expect("the rule");
    assert_eq!(rule.basis, Basis::CommonPractice);
}

#[test]
fn an_overlay_changes_one_key_and_says_so() {
    let text = "[rule.carbon_water_extract]\nthreshold = 14\n";
    let rulebook = Rulebook::from_text(text, "my-rules.toml").expect("a sound overlay");
    let rule = rulebook.rule("carbon_water_extract").expect("the rule");
    assert_eq!((rule.threshold, rule.worst), (14.0, 8.0));
    let [change] = rulebook.changes() else {
        panic!("one change, not {:?}", rulebook.changes())
    };
    assert_eq!(change.key, "rule.carbon_water_extract.threshold");
    assert_eq!(
        (change.before.as_deref(), change.after.as_str()),
        (Some("16"), "14")
    );
    assert_eq!(
        change.place.to_string(),
        "my-rules.toml, row 2, key rule.carbon_water_extract.threshold"
    );
}

#[test]
fn a_key_that_changes_nothing_is_no_change() {
    let rulebook = Rulebook::from_text(
        "[rule.carbon_water_extract]\nthreshold = 16.0\n",
        "mine.toml",
    )
    .expect("sound");
    assert!(rulebook.changes().is_empty());
}

#[test]
fn a_misspelt_key_is_named_with_line_and_the_nearest_word() {
    let found = messages("# mine\n[rule.carbon_water_extract]\ntreshold = 14\n");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].starts_with("my-rules.toml, row 3, key rule.carbon_water_extract.treshold"),
        "{found:?}"
    );
    assert!(
        found[0].contains("did you mean \"threshold\"?"),
        "{found:?}"
    );
}

#[test]
fn a_misspelt_section_number_or_word_is_named() {
    assert!(messages("[rules.x]\n")[0].contains("did you mean \"rule\"?"));
    let found =
        messages("[number.few_core]\nvalue = 3\nwhat = \"x\"\nbasis = \"own\"\nsource = \"x\"\n");
    assert!(
        found[0].contains("did you mean \"few_cores\"?"),
        "{found:?}"
    );
    let found = messages("[rule.salt]\nfactor = \"salty\"\n");
    assert!(found[0].contains("did you mean \"salt\"?"), "{found:?}");
}

#[test]
fn a_rule_of_ones_own_that_is_half_there_is_told_what_it_lacks() {
    let found = messages(
        "[rule.mine]\nfactor = \"salt\"\nanalyte = \"ec\"\nside = \"above\"\nthreshold = 2\n",
    );
    for key in ["worst", "means", "basis", "source"] {
        assert!(
            found
                .iter()
                .any(|m| m.contains(&format!("key rule.mine.{key}: missing"))),
            "{key}: {found:#?}"
        );
    }
}

#[test]
fn a_worst_value_on_the_wrong_side_is_a_contradiction() {
    let errors = Rulebook::from_text("[rule.salt]\nworst = 1\n", "mine.toml").expect_err("a fault");
    assert!(
        matches!(errors.as_slice(), [RulebookError::Contradiction { .. }]),
        "{errors:?}"
    );
}

#[test]
fn a_wrong_unit_is_refused_with_the_right_ones() {
    let found = messages("[number.cost_of_effort]\nunit = \"EUR/ac\"\n");
    assert!(found[0].contains("USD/ac"), "{found:?}");
    let found = messages("[product.gypsum]\ncap = \"2 gal/ac\"\n");
    assert!(
        found[0].contains("gal/ac") && found[0].contains("lb/ac"),
        "{found:?}"
    );
    let found = messages("[product.gypsum]\ncap = 2\n");
    assert!(found[0].contains("in quotes"), "{found:?}");
}

#[test]
fn text_that_is_no_toml_is_refused_with_its_line() {
    let found = messages("[rule.salt]\nworst = = 1\n");
    assert!(found[0].starts_with("my-rules.toml, row 2"), "{found:?}");
}

#[test]
fn numbers_that_cannot_be_are_refused() {
    for text in [
        "[rule.salt]\nthreshold = nan\n",
        "[rule.salt]\nthreshold = inf\n",
        "[rule.salt]\ncurve = 0\n",
        "[fix.lime]\nrelief = 2\n",
        "[crop.corn]\ntarget_ph = 70\n",
        "[number.few_cores]\nvalue = -1\n",
        "[recipe.starter.ingredient.corn_steep_liquor]\nshare = 0.99\n",
        "[recipe.starter]\nleast = \"9 gal/ac\"\n",
        "[rule.salt]\nthreshold = 99999999999999999999999\n",
    ] {
        assert!(!messages(text).is_empty(), "{text}");
    }
}

#[test]
fn names_that_hang_in_the_air_are_refused() {
    let found = messages("[fix.lime]\nproduct = \"lyme\"\n");
    assert!(found[0].contains("did you mean \"lime\"?"), "{found:?}");
    let found = messages("[rule.salt]\ncloses = [\"salt-carying\"]\n");
    assert!(
        found[0].contains("did you mean \"salt-carrying\"?"),
        "{found:?}"
    );
}

#[test]
fn a_missing_file_is_named() {
    let errors = Rulebook::load(
        &lowstave::Files::folder(""),
        None,
        Some(std::path::Path::new("no-such-rules.toml")),
    )
    .expect_err("no file");
    assert!(errors[0].to_string().contains("no-such-rules.toml"));
}

#[test]
fn a_broken_file_is_refused_and_never_breaks_the_program() {
    let text = Rulebook::built_in_text();
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let pieces = [
        "=", "[", "]", "\"", "{", "}", "\n", "0", "-1", "1e999", "nan", "true", "[[rule]]",
        "\u{0}", "\u{feff}", "é", ".",
    ];
    for _ in 0..200 {
        let mut broken: Vec<char> = text.chars().collect();
        for _ in 0..random.random_range(1..4) {
            let at = random.random_range(0..broken.len());
            let to = (at + random.random_range(0..40)).min(broken.len());
            let piece = pieces[random.random_range(0..pieces.len())];
            broken.splice(at..to, piece.chars());
        }
        broken.truncate(random.random_range(1..=broken.len()));
        let broken: String = broken.into_iter().collect();
        // Sound or refused, both are right; a refusal says where.
        if let Err(errors) = Rulebook::from_text(&broken, "broken.toml") {
            assert!(
                errors
                    .iter()
                    .all(|error| error.to_string().contains("key")
                        || error.to_string().contains("row")),
                "{errors:?}"
            );
        }
    }
}

/// Each is refused with the file and the row in which it stands.
#[test]
fn what_no_product_can_be_is_refused_with_file_and_row() {
    for (text, row, words) in [
        (
            "[product.molasses]\ndensity = \"0 lb/gal\"\n",
            2,
            "out of range",
        ),
        (
            "[product.bone_ash]\ndensity = \"0 kg/L\"\n",
            2,
            "out of range",
        ),
        ("[product.lime]\ncalcium = 101\n", 2, "0 to 100 percent"),
        (
            "[product.lime]\ncalcium = 60\nmagnesium = 41\n",
            3,
            "adds up to 101 %",
        ),
        ("[product.gypsum]\npurity = 140\n", 2, "0 to 100 percent"),
        ("[product.gypsum]\ncap = \"-2 ton/ac\"\n", 2, "zero or more"),
        (
            "[product.gypsum]\ncap = \"0 ton/ac\"\n",
            2,
            "more than zero",
        ),
        (
            "[product.gypsum]\ncap = \"9000 ton/ac\"\n",
            2,
            "at most 300,000",
        ),
        (
            "[product.gypsum]\nsurface_cap = \"3 ton/ac\"\n",
            2,
            "more than the cap itself",
        ),
        (
            "[product.gypsum]\nsmallest = \"5 ton/ac\"\n",
            2,
            "nothing could ever",
        ),
        (
            "[recipe.starter]\nmost = \"2000 gal/ac\"\n",
            2,
            "at most 1,000 L/ha",
        ),
        (
            "[recipe.starter]\nleast = \"0 gal/ac\"\n",
            2,
            "more than zero",
        ),
        (
            "\n[fix.loosen]\nafter = [\"keep_wheels_off\"]\n",
            3,
            "wait for each other",
        ),
        ("[fix.lime]\nafter = [\"lime\"]\n", 2, "wait for each other"),
        (
            "[fix.lime]\nafter = [\"compost\"]\n[fix.compost]\nafter = [\"gypsum\"]\n[fix.gypsum]\nafter = [\"lime\"]\n",
            2,
            "wait for each other",
        ),
        ("[rule.salt]\ncloses = [\"salty\"]\n", 2, "not known here"),
        (
            "[product.lime.only_where.not_limed_enough]\nvalue = \"few_corse\"\n",
            2,
            "few_cores",
        ),
        (
            "[inference.ec_one_to_one]\nleast = [[1]]\n",
            2,
            "pairs of numbers",
        ),
    ] {
        let found = messages(text);
        let place = format!("my-rules.toml, row {row}");
        assert!(
            found
                .iter()
                .any(|m| m.contains(&place) && m.contains(words)),
            "{text}: {found:#?}"
        );
    }
}

#[test]
fn a_condition_takes_its_value_from_a_number_of_the_rulebook() {
    let value = |text: &str| {
        let rulebook = Rulebook::from_text(text, "mine.toml").expect("sound");
        rulebook
            .rule("calcium_saturation")
            .expect("the rule")
            .only_where[0]
            .value
    };
    assert_eq!(value(""), 7.3);
    assert_eq!(value("[number.free_lime_ph]\nvalue = 7.5\n"), 7.5);
    assert_eq!(
        value("[rule.calcium_saturation.only_where.free_lime]\nvalue = 7.8\n"),
        7.8
    );
}

/// Potato is kept at pH 5.5 against scab: it is not too acid at 5.76, where corn is.
#[test]
fn a_crop_that_is_kept_acid_is_judged_by_its_own_target() {
    let limit = |text: &str, crop: &str| {
        let rulebook = Rulebook::from_texts(Rulebook::built_in_text(), Some((text, "rules.toml")));
        let rulebook = rulebook.unwrap_or_else(|errors| panic!("{errors:?}"));
        rulebook
            .rule("acidity")
            .expect("acidity")
            .threshold_for(crop)
    };
    assert!((limit("", "potato") - 5.2).abs() < 1e-9);
    assert!((limit("", "corn") - 6.0).abs() < 1e-9);
    assert!((limit("", "alfalfa") - 6.0).abs() < 1e-9);
    let wider = "[number.acid_below_target]\nvalue = 0.5\n";
    assert!((limit(wider, "potato") - 5.0).abs() < 1e-9);
    assert!((limit(wider, "corn") - 6.0).abs() < 1e-9);
}

#[test]
fn a_number_that_is_no_table_is_one_problem_with_its_way_out() {
    let found = messages("[number]\ncost_of_a_map = 5\n");
    assert_eq!(found.len(), 1, "{found:?}");
    let wanted = "a table, that is a line [number.cost_of_a_map] and below it value = 5";
    assert!(found[0].contains(wanted), "{found:?}");
    assert!(found[0].contains("row 2"), "{found:?}");
    let found = messages("[product]\ngypsum = \"cheap\"\n");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("a line [product.gypsum]"), "{found:?}");
}

#[test]
fn what_would_silently_take_a_rate_away_is_refused() {
    for (text, wanted) in [
        ("[rule.acidity]\nunit = \"ppm\"\n", "is not in \"ppm\""),
        (
            "[rule.phosphorus_mehlich_3]\nunit = \"lb/ac\"\n",
            "is not in \"lb/ac\"",
        ),
        (
            "[lime.smp]\nregions = [\"nope\"]\n",
            "\"nope\" is not known",
        ),
        (
            "[number.mixing_depth_tilled]\nvalue = 0\n",
            "it must be more than 0",
        ),
    ] {
        let found = messages(text);
        assert!(
            found.len() == 1 && found[0].contains(wanted) && found[0].contains("row 2"),
            "{text}: {found:?}"
        );
    }
}

#[test]
fn a_clash_with_a_built_in_number_names_the_row_that_makes_it() {
    let found = messages("[rule.acidity]\nthreshold = 3\n");
    assert!(
        found
            .iter()
            .all(|error| error.starts_with("my-rules.toml, row 2")),
        "{found:?}"
    );
    // One slip is one problem, without a word on the number that stands in for it.
    let found = messages("[rule.acidity]\nthreshold = \"6\"\n");
    assert_eq!(found.len(), 1, "{found:?}");
    let found = messages("[product]\ngypsum = 5\n");
    assert!(!found[0].contains("value = 5"), "{found:?}");
}
