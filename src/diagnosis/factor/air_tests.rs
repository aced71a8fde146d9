use super::*;
use crate::rulebook::Rulebook;

const INCH: f64 = 0.0254;
const PSI: f64 = 6.894_757;

/// Readings in psi every 2 in from 2 in on; infinite where the soil refused the push.
fn push(readings: &[f64]) -> Push {
    let marks = readings.iter().enumerate();
    marks
        .map(|(at, psi)| ((2 * at + 2) as f64 * INCH, psi * PSI))
        .collect()
}

fn rule() -> Rule {
    let rulebook = Rulebook::built_in();
    let mut rules = rulebook.rules.iter();
    rules.find(|rule| rule.limit.is_some()).unwrap().clone()
}

fn layers(pushes: &[Push]) -> HardLayers {
    HardLayers::of(&rule(), pushes)
}

/// Pans of three pushes whose mean is soft at every mark: 6 to 8 in, 8 to 10 in and 10 to 12 in, each crossed half way.
#[test]
fn pans_at_several_depths_are_each_seen() {
    let found = layers(&[
        push(&[200.0, 200.0, 400.0, 200.0, 200.0, 200.0, 200.0]),
        push(&[200.0, 200.0, 200.0, 400.0, 200.0, 200.0, 200.0]),
        push(&[200.0, 200.0, 200.0, 200.0, 400.0, 200.0, 200.0]),
    ]);
    let inches = |depths: &[f64]| depths.iter().map(|d| d / INCH).collect::<Vec<_>>();
    for (found, expected) in inches(&found.tops).iter().zip([5.0, 7.0, 9.0]) {
        assert!((found - expected).abs() < 1e-6, "{found}");
    }
    for (found, expected) in inches(&found.bottoms).iter().zip([7.0, 9.0, 11.0]) {
        assert!((found - expected).abs() < 1e-6, "{found}");
    }
    // The lowest of three must be reached for three in four; loosening goes an inch deeper.
    let depth = found.loosening_depth().unwrap().metres() / INCH;
    assert!((depth - 12.0).abs() < 1e-6, "{depth}");
    let words = found.placed(UnitSystem::UnitedStates);
    let expected = ", from 7 in (6 in to 8 in) to 9 in (8 in to 10 in) (median and quartiles)";
    assert_eq!(words, expected);
}

/// Twelve bottoms at 7 in and four at 13: three in four are reached by 8 in, and no push ends between the two. A bottom at 7.5 in asks
/// for 8.5 in, and a tool is set to whole inches: 9. A layer that is printed as ending at 14 in, at 14.03, asks for 15 and not for 16.
#[test]
fn loosening_goes_under_an_edge_that_was_met_and_to_the_whole_inch() {
    let of = |bottoms: Vec<f64>| {
        let bottoms: Vec<f64> = bottoms.iter().map(|inches| inches * INCH).collect();
        let found = HardLayers {
            tops: vec![0.1; bottoms.len()],
            bottoms,
        };
        found.loosening_depth().unwrap().metres() / INCH
    };
    let deep = [vec![7.0; 12], vec![13.0; 4]].concat();
    assert!((of(deep) - 8.0).abs() < 1e-6);
    assert!((of(vec![7.5; 8]) - 9.0).abs() < 1e-6);
    assert!((of(vec![14.03; 8]) - 15.0).abs() < 1e-6);
    assert!((of(vec![14.0; 8]) - 15.0).abs() < 1e-6);
    assert_eq!(HardLayers::default().loosening_depth(), None);
}

#[test]
fn a_push_that_was_refused_met_a_hard_layer_there() {
    let found = layers(&[push(&[100.0, 200.0, f64::INFINITY])]);
    assert!((found.tops[0] / INCH - 6.0).abs() < 1e-6);
    assert!(found.bottoms[0].is_infinite());
    assert_eq!(found.loosening_depth(), None);
    assert!(found.placed(UnitSystem::UnitedStates).contains("to deeper"));
}

/// The reading before the refusal is above the limit already: one layer, which begins where the limit is crossed.
#[test]
fn a_layer_in_which_the_push_is_refused_is_one_layer() {
    let found = layers(&[push(&[200.0, 400.0, f64::INFINITY])]);
    assert_eq!(found.tops.len(), 1);
    assert!((found.tops[0] / INCH - 3.0).abs() < 1e-6, "{found:?}");
}

#[test]
fn soft_pushes_have_no_hard_layer() {
    let found = layers(&[push(&[100.0, 200.0, 250.0])]);
    assert_eq!(
        (
            found.placed(UnitSystem::Metric).as_str(),
            found.loosening_depth()
        ),
        ("", None)
    );
}

/// A push that ended at a stone under 4 in says nothing of a pan at 8; one that met the pan and ended there does.
#[test]
fn pushes_that_ended_too_soon_are_not_soft() {
    let short = push(&[100.0, 150.0]);
    let deep = push(&[100.0, 150.0, 150.0, 150.0, 150.0, 150.0]);
    let hard = push(&[100.0, 150.0, 320.0]);
    let mut rule = rule();
    let reach = rule.reach.expect("the rulebook says how deep");
    assert!((reach.metres() - 9.5 * INCH).abs() < 1e-9);
    assert_eq!(count_pushes(&rule, std::slice::from_ref(&short)).told, 0);
    let pushes = [short.clone(), short, deep, hard];
    let counted = count_pushes(&rule, &pushes);
    assert_eq!((counted.hard, counted.told, counted.short), (1, 2, 2));
    // The rulebook's own: 8 in are too few, 10 in tell.
    assert_eq!(count_pushes(&rule, &[push(&[100.0; 4])]).told, 0);
    assert_eq!(count_pushes(&rule, &[push(&[100.0; 5])]).told, 1);
    // Without a reach the whole depth of the rule is asked for.
    rule.reach = None;
    assert_eq!(count_pushes(&rule, &pushes).told, 1);
}
