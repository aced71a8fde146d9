//! Yield points with planted faults.

use lowstave::trial::harvest::{
    Fate, YieldPoint, at_standard_moisture, clean, from_flow, split_into_passes,
};

const PASSES: usize = 12;
const LENGTH: usize = 60;
/// Metres between two records of a pass, and between two passes.
const STEP: f64 = 2.0;
const WIDTH: f64 = 6.0;

/// A field driven up and down, 10 t/ha at 15.5 %, with a ripple so that nothing is quite equal.
fn field() -> Vec<YieldPoint> {
    let mut points = Vec::new();
    for pass in 0..PASSES {
        for step in 0..LENGTH {
            let up = if pass % 2 == 0 {
                step
            } else {
                LENGTH - 1 - step
            };
            let along = up as f64 * STEP;
            let yields = 10_000.0
                + 400.0 * (along / 17.0).sin()
                + 300.0 * (along / 7.3 + pass as f64 / 9.0).sin()
                + 10.0 * ((7 * pass + 3 * up) % 5) as f64;
            let flow = yields * STEP * WIDTH / 10_000.0;
            points.push(YieldPoint {
                along,
                across: pass as f64 * WIDTH,
                time: (pass * (LENGTH + 20) + step) as f64,
                flow,
                seconds: 1.0,
                distance: STEP,
                width: WIDTH,
                moisture: 15.5,
                yields: f64::NAN,
                is_dry: false,
                treatment: 0,
            });
        }
    }
    points
}

/// Formula of the trade, `bu/ac = lb/s × s × (100 - moisture) / 84.5 / 56 / (in × in / 6,272,640)`, on the second record of `gartner.corn`
/// (agridat): 22.52 lb/s, 3 s, 159 in, 360 in, 16.7 %.
#[test]
fn flow_becomes_the_yield_of_the_trades_formula() {
    let wanted = 22.52 * 3.0 * (100.0 - 16.7) / 84.5 / 56.0 / (159.0 * 360.0 / 6_272_640.0);
    let (pound, inch) = (0.453_592_37, 0.0254);
    let wet = from_flow(22.52 * pound, 3.0, 159.0 * inch, 360.0 * inch);
    let acre = 43_560.0 * 0.3048_f64.powi(2) / 10_000.0;
    let found = at_standard_moisture(wet, 16.7, 15.5) / pound / 56.0 * acre;
    assert!((found - wanted).abs() < 1e-9 * wanted, "{found} {wanted}");
}

#[test]
fn a_clean_field_loses_only_the_ends_of_its_passes() {
    let points = field();
    let cleaned = clean(&points, 15.5, true);
    assert_eq!(cleaned.lag.records, 0);
    // The way from one pass to the next turns twice: the first point of every later pass stands alone.
    assert_eq!(cleaned.count(Fate::ShortPass), PASSES - 1);
    assert_eq!(cleaned.count(Fate::PassEnd), 8 * PASSES);
    assert_eq!(
        cleaned.count(Fate::Kept),
        (LENGTH - 8) * PASSES - (PASSES - 1)
    );
    assert_eq!(cleaned.points.len(), cleaned.count(Fate::Kept));
    let first = &cleaned.points[0];
    let wet = points[4].flow / (STEP * WIDTH) * 10_000.0;
    assert!((first.yields - wet).abs() < 1e-6);
}

#[test]
fn each_planted_fault_is_found_by_its_step() {
    let mut points = field();
    let at = |pass: usize, step: usize| pass * LENGTH + step;
    points[at(3, 30)].moisture = 60.0;
    points[at(5, 20)].flow *= 4.0;
    points[at(6, 27)].distance = 0.0;
    points[at(8, 40)].moisture = f64::NAN;
    let cleaned = clean(&points, 15.5, true);
    assert_eq!(cleaned.fates[at(3, 30)], Fate::Outlier);
    assert_eq!(cleaned.fates[at(5, 20)], Fate::Outlier);
    assert_eq!(cleaned.fates[at(6, 27)], Fate::NoYield);
    assert_eq!(cleaned.fates[at(8, 40)], Fate::NoYield);
    let lost: usize = Fate::DROPPED.iter().map(|fate| cleaned.count(*fate)).sum();
    assert_eq!(lost + cleaned.count(Fate::Kept), points.len());
}

#[test]
fn a_short_pass_is_left_out_whole() {
    let mut points = field();
    points.truncate(3 * LENGTH + 9);
    let cleaned = clean(&points, 15.5, true);
    assert_eq!(cleaned.count(Fate::ShortPass), 2 + 9);
}

#[test]
fn a_lag_of_two_records_is_found_and_taken_out() {
    let mut points = field();
    let flows: Vec<f64> = points.iter().map(|p| p.flow).collect();
    for pass in 0..PASSES {
        for step in 2..LENGTH {
            points[pass * LENGTH + step].flow = flows[pass * LENGTH + step - 2];
        }
    }
    let cleaned = clean(&points, 15.5, true);
    assert_eq!(cleaned.lag.records, 2, "{:?}", cleaned.lag.curve);
    let here = pass_point(&cleaned, 4 * LENGTH + 30);
    assert!((here - flows[4 * LENGTH + 30] / (STEP * WIDTH) * 10_000.0).abs() < 1e-6);
    assert_eq!(clean(&points, 15.5, false).lag.records, 2);
}

fn pass_point(cleaned: &lowstave::trial::harvest::Cleaned, at: usize) -> f64 {
    cleaned.yields[at]
}

/// A check that yields a third less is cut away by the field's median, and kept by its own.
#[test]
fn a_check_is_judged_by_its_own_median() {
    let mut points = field();
    for point in &mut points[5 * LENGTH..6 * LENGTH] {
        point.flow *= 0.65;
    }
    let lost = |points: &[YieldPoint]| {
        let cleaned = clean(points, 15.5, false);
        (0..LENGTH)
            .filter(|step| {
                matches!(
                    cleaned.fates[5 * LENGTH + step],
                    Fate::YieldLimit | Fate::Local | Fate::Outlier
                )
            })
            .count()
    };
    assert!(lost(&points) > 40);
    for point in &mut points[5 * LENGTH..6 * LENGTH] {
        point.treatment = 1;
    }
    let with_own = clean(&points, 15.5, false);
    let limits = (0..LENGTH)
        .filter(|step| {
            matches!(
                with_own.fates[5 * LENGTH + step],
                Fate::YieldLimit | Fate::Local
            )
        })
        .count();
    assert_eq!(limits, 0);
}

#[test]
fn a_gap_in_time_or_a_turn_begins_a_pass() {
    let points = field();
    let passes = split_into_passes(&points);
    assert_eq!(passes.last(), Some(&(2 * (PASSES as u32 - 1))));
    assert_eq!(passes[LENGTH - 1], 0);
    assert_eq!(passes[LENGTH..LENGTH + 3], [1, 2, 2]);
    let mut without_times = points;
    for point in &mut without_times {
        point.time = f64::NAN;
    }
    let passes = split_into_passes(&without_times);
    assert!(passes.last().is_some_and(|last| *last + 1 >= PASSES as u32));
    assert!(split_into_passes(&[]).is_empty());
}
