use super::*;

fn place(pushes: &[&[(Mark, f64)]]) -> PlacePushes {
    PlacePushes {
        readings: pushes.concat(),
        count: pushes.len(),
        ..PlacePushes::default()
    }
}

fn profile(place: &mut PlacePushes, reach: Reach) -> (Vec<f64>, Option<Mark>) {
    let marks = BTreeSet::from([1, 2, 3]);
    let mut out = vec![f64::NAN; 3];
    let refused = place.profile(&marks, reach, &mut out);
    (out, refused)
}

const TO_THREE: Reach = Reach {
    deepest: Some(3),
    tolerance: 0,
};

#[test]
fn a_push_that_stops_above_the_others_is_refused_there_and_not_soft() {
    let (values, refused) = profile(&mut place(&[&[(1, 100.0)]]), TO_THREE);
    assert_eq!((values[0], refused), (100.0, Some(2)));
    assert!(values[1].is_nan() && values[2].is_nan());
}

#[test]
fn a_push_that_reached_the_depth_of_the_file_or_met_a_stone_is_not_refused() {
    let whole = [(1, 100.0), (3, 120.0)];
    let (values, refused) = profile(&mut place(&[&whole]), TO_THREE);
    assert_eq!((values[2], refused), (120.0, None));
    let mut stone = place(&[&[(1, 100.0)]]);
    stone.excused.push(2);
    assert_eq!(profile(&mut stone, TO_THREE).1, None);
    assert_eq!(
        profile(&mut place(&[&[(1, 100.0)]]), Reach::UNKNOWN).1,
        None
    );
}

#[test]
fn a_place_is_refused_where_half_of_its_pushes_are() {
    let whole: &[(Mark, f64)] = &[(1, 100.0), (2, 110.0), (3, 120.0)];
    let short: &[(Mark, f64)] = &[(1, 90.0)];
    assert_eq!(profile(&mut place(&[whole, short]), TO_THREE).1, Some(2));
    let (values, refused) = profile(&mut place(&[whole, whole, short]), TO_THREE);
    assert_eq!((values[1], values[2], refused), (110.0, 120.0, None));
}

#[test]
fn what_the_file_calls_refused_is_refused_without_any_other_push() {
    let mut said = place(&[&[(1, 100.0)]]);
    said.refused.push(2);
    assert_eq!(profile(&mut said, Reach::UNKNOWN).1, Some(2));
}

#[test]
fn one_row_per_reading_has_no_common_marks_so_a_near_end_is_an_end() {
    let ends = |marks: &[Mark]| -> Vec<PlacePushes> {
        marks.iter().map(|mark| place(&[&[(*mark, 1.0)]])).collect()
    };
    let reach = Reach::of_rows(&ends(&[4_500, 4_480, 4_460, 1_500]));
    assert_eq!(reach.deepest, Some(4_500));
    let own = |mark| reach.for_place(&place(&[&[(mark, 1.0)]]));
    assert_eq!((own(4_460), own(1_500)), (None, Some(4_500)));
}
