//! What a verdict says of fields with a known truth.

use lowstave::trial::statistics::Finding;
use lowstave::trial::verdict::NotJudged;

use crate::made_field::{Kind, Smooth, WIDTH, ZONE, draw, judged};

const QUIET: Kind = Kind {
    sd: 0.1,
    range: 120.0,
    pass: 0.02,
    noise: 0.05,
};

fn season(gains: [f64; 2], break_even: f64) -> lowstave::trial::verdict::Verdict {
    let draw = draw(4, 3);
    let points = Smooth::new(QUIET).harvest(&draw, gains, 7);
    judged(&points, &draw, break_even)
}

#[test]
fn a_clear_gain_pays_and_no_gain_is_no_difference_that_matters() {
    let verdict = season([0.8, 0.0], 0.3);
    let findings: Vec<Option<Finding>> = verdict
        .zones
        .iter()
        .map(|(_, gain)| gain.as_ref().unwrap().finding)
        .collect();
    assert_eq!(
        findings,
        [Some(Finding::Pays), Some(Finding::NoDifferenceThatMatters)]
    );
    let first = verdict.zones[0].1.as_ref().unwrap();
    assert!(
        (first.estimate.gain - 800.0).abs() < 100.0,
        "{}",
        first.estimate.gain
    );
    assert_eq!(first.checks.len(), 4);
    assert!(first.checks.iter().all(|check| check.metres == 160.0));
    let field = verdict.field.gain.as_ref().unwrap();
    assert!((field.estimate.gain - 400.0).abs() < 100.0);
    let compared = &verdict.comparisons[0];
    assert_eq!(compared.zones, (1, 2));
    assert!(compared.estimate.interval.0 > 0.0 && compared.corrected_p < 0.05);
}

#[test]
fn a_loss_does_not_pay_and_a_small_gain_in_a_rough_field_is_not_decided() {
    let verdict = season([-0.8, 0.3], 0.3);
    assert_eq!(
        verdict.zones[0].1.as_ref().unwrap().finding,
        Some(Finding::DoesNotPay)
    );
    assert_eq!(
        verdict.zones[1].1.as_ref().unwrap().finding,
        Some(Finding::NotDecided)
    );
}

#[test]
fn the_second_opinion_is_near_the_gain() {
    let verdict = season([0.8, 0.0], 0.3).with_second_opinion();
    for (truth, (_, gain)) in [800.0, 0.0].into_iter().zip(&verdict.zones) {
        let opinion = gain.as_ref().unwrap().opinion.unwrap();
        assert!((opinion.gain - truth).abs() < 100.0, "{opinion:?}");
        assert!(opinion.interval.0 < opinion.gain && opinion.gain < opinion.interval.1);
    }
}

#[test]
fn one_harvested_check_is_no_verdict() {
    let draw = draw(4, 3);
    let points = Smooth::new(QUIET).harvest(&draw, [0.8, 0.0], 7);
    let edge = (draw.checks[1].position as f64 - 2.0) * WIDTH;
    let left: Vec<_> = points.iter().copied().filter(|p| p.across < edge).collect();
    let verdict = judged(&left, &draw, 0.3);
    assert_eq!(verdict.zones[0].1, Err(NotJudged::FewChecks { found: 1 }));
    assert_eq!(verdict.field.gain, Err(NotJudged::FewChecks { found: 0 }));
    let nothing = judged(&[], &draw, 0.3);
    assert_eq!(nothing.zones[0].1, Err(NotJudged::FewChecks { found: 0 }));
}

#[test]
fn a_side_that_was_not_harvested_takes_its_segments_with_it() {
    let draw = draw(4, 3);
    let points = Smooth::new(QUIET).harvest(&draw, [0.8, 0.0], 7);
    let beside = (draw.checks[0].position as f64 + 1.5) * WIDTH;
    let is_gap = |along: f64| (60.0..100.0).contains(&along);
    let left: Vec<_> = points
        .iter()
        .copied()
        .filter(|p| !((p.across - beside).abs() < 1.0 && is_gap(p.along)))
        .collect();
    let verdict = judged(&left, &draw, 0.3);
    let gain = verdict.zones[0].1.as_ref().unwrap();
    assert_eq!(gain.checks[0].metres, 120.0);
    assert_eq!(gain.checks[1].metres, 160.0);
    const { assert!(ZONE > 160.0) };
}

#[test]
fn two_verdicts_of_the_same_harvest_are_equal() {
    assert_eq!(season([0.8, 0.0], 0.3), season([0.8, 0.0], 0.3));
}
