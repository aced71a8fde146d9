//! The field stage: outlines, keep-outs, grid and places, through its front door.

use std::path::PathBuf;

use geo::{Area as _, BooleanOps, Geometry, LineString, Polygon, line_string, polygon};
use lowstave::field::{Field, FieldError, estimate, lay_out};
use lowstave::intake::{AreaShape, Survey};
use lowstave::plan::{KeepOut, Settings};
use lowstave::provenance::Place;
use lowstave::units::Length;

use crate::made_surveys::{
    EAST_100, LAT, LON, NORTH_100, block, inside_points, settings, survey, table,
};

fn laid(survey: Survey, settings: &Settings) -> Field {
    lay_out(survey, settings).unwrap()
}

fn only_error(survey: Survey, settings: &Settings) -> FieldError {
    let mut errors = lay_out(survey, settings).unwrap_err();
    assert_eq!(errors.len(), 1, "{errors:?}");
    errors.remove(0)
}

#[test]
fn plane_area_agrees_with_the_ellipsoid_to_a_thousandth_of_a_percent_of_the_contract() {
    let field = laid(survey(block(), &inside_points()), &settings(5.0));
    let plane = field.boundary.unsigned_area();
    // The contract is 0.1 %; the field-centred plane keeps 0.000 1 %.
    assert!(
        (plane / field.area_m2 - 1.0).abs() < 1e-6,
        "{plane} against {}",
        field.area_m2
    );
    // Without keep-outs they are the same but for the way to the plane and back.
    assert!((field.area_m2 - field.workable_m2).abs() < 1e-3);
}

#[test]
fn cells_and_their_shares_add_up_to_the_workable_area() {
    for cell in [2.0, 5.0, 7.3, 31.0] {
        let field = laid(survey(block(), &inside_points()), &settings(cell));
        let covered: f64 =
            field.grid.share.iter().map(|s| f64::from(*s)).sum::<f64>() * cell * cell;
        // Shares are stored in single precision.
        assert!(
            (covered / field.workable.unsigned_area() - 1.0).abs() < 1e-5,
            "cell {cell}: {covered}"
        );
    }
}

#[test]
fn a_cell_share_equals_the_clipped_area_of_that_cell() {
    let field = laid(survey(block(), &inside_points()), &settings(37.0));
    let half = field.grid.cell / 2.0;
    for (&cell, &share) in field.grid.cells.iter().zip(&field.grid.share) {
        let (x, y) = field.grid.centre(cell);
        let square: Polygon<f64> = polygon![(x: x - half, y: y - half), (x: x + half, y: y - half), (x: x + half, y: y + half), (x: x - half, y: y + half)];
        let clipped = field.workable.intersection(&square).unsigned_area() / (4.0 * half * half);
        assert!(
            (clipped - f64::from(share)).abs() < 1e-6,
            "cell {cell}: {clipped} against {share}"
        );
    }
}

#[test]
fn a_creek_with_a_setback_is_cut_out_at_full_width() {
    let mut settings = settings(5.0);
    settings.keep_outs.push(KeepOut {
        file: PathBuf::from("creek.geojson"),
        crs: None,
        distance: Length::from_metres(10.0),
        why: "setback from water".into(),
        place: Place::file("plan.toml"),
    });
    let mut survey = survey(block(), &inside_points());
    let creek: LineString<f64> = line_string![(x: LON + 5.5 * EAST_100, y: LAT - NORTH_100), (x: LON + 5.5 * EAST_100, y: LAT + 6.0 * NORTH_100)];
    survey.keep_outs.push(AreaShape {
        file: "creek.geojson".into(),
        shape: Geometry::LineString(creek),
        crs: "EPSG:4326".into(),
    });
    let field = laid(survey, &settings);
    assert_eq!(field.workable.0.len(), 2, "the creek splits the field");
    let cut = field.boundary.unsigned_area() - field.workable.unsigned_area();
    let width = cut / 500.0;
    assert!(
        (20.0..20.1).contains(&width),
        "never narrower than the setback: {width}"
    );
}

#[test]
fn a_keep_out_line_without_a_distance_is_remarked() {
    let mut settings = settings(5.0);
    settings.keep_outs.push(KeepOut {
        file: PathBuf::from("creek.geojson"),
        crs: None,
        distance: Length::ZERO,
        why: "creek".into(),
        place: Place::file("plan.toml"),
    });
    let mut survey = survey(block(), &inside_points());
    let creek: LineString<f64> =
        line_string![(x: LON, y: LAT), (x: LON + EAST_100, y: LAT + NORTH_100)];
    survey.keep_outs.push(AreaShape {
        file: "creek.geojson".into(),
        shape: Geometry::LineString(creek),
        crs: "EPSG:4326".into(),
    });
    assert!(
        laid(survey, &settings)
            .remarks
            .iter()
            .any(|r| r.code == "keep-out-without-area")
    );
}

#[test]
fn keep_outs_over_everything_leave_nothing() {
    let mut settings = settings(5.0);
    settings.keep_outs.push(KeepOut {
        file: PathBuf::from("all.geojson"),
        crs: None,
        distance: Length::from_metres(2_000.0),
        why: "well".into(),
        place: Place::file("plan.toml"),
    });
    let mut survey = survey(block(), &inside_points());
    survey.keep_outs.push(AreaShape {
        file: "all.geojson".into(),
        shape: Geometry::Point((LON + 4.0 * EAST_100, LAT).into()),
        crs: "EPSG:4326".into(),
    });
    assert!(matches!(
        only_error(survey, &settings),
        FieldError::NothingLeft { .. }
    ));
}

#[test]
fn swapped_latitude_and_longitude_are_named() {
    let points: Vec<_> = inside_points().into_iter().map(|(x, y)| (y, x)).collect();
    let error = only_error(survey(block(), &points), &settings(5.0));
    assert!(matches!(error, FieldError::Swapped { .. }), "{error}");
    assert!(error.to_string().contains("change places"), "{error}");
}

#[test]
fn swapped_degrees_that_stay_in_range_are_named_too() {
    // A field at 50 N, 30 E: both orders are possible degrees.
    let shape: Polygon<f64> = polygon![(x: 30.0, y: 50.0), (x: 30.01, y: 50.0), (x: 30.01, y: 50.005), (x: 30.0, y: 50.005)];
    let points = [(50.001, 30.002), (50.002, 30.004), (50.003, 30.006)];
    assert!(matches!(
        only_error(survey(shape, &points), &settings(5.0)),
        FieldError::Swapped { .. }
    ));
}

#[test]
fn points_far_away_tell_how_far_and_where() {
    let points: Vec<_> = inside_points()
        .into_iter()
        .map(|(x, y)| (x, y + 0.09))
        .collect();
    let error = only_error(survey(block(), &points), &settings(5.0)).to_string();
    assert!(
        error.contains("to the north") && error.contains("spread as wide as the field"),
        "{error}"
    );
}

#[test]
fn a_point_outside_is_left_out_with_its_row_and_distance() {
    let mut points = inside_points();
    points.push((LON - 2.0 * EAST_100, LAT + NORTH_100));
    let field = laid(survey(block(), &points), &settings(5.0));
    assert_eq!(field.layers[0].count(), 5);
    let remark = field
        .remarks
        .iter()
        .find(|r| r.code == "points-outside-boundary")
        .unwrap();
    assert!(remark.what.contains("row 7 by 200 m"), "{}", remark.what);
}

#[test]
fn fewer_than_three_points_are_refused() {
    assert!(matches!(
        only_error(survey(block(), &inside_points()[..2]), &settings(5.0)),
        FieldError::TooFewPoints { usable: 2, .. }
    ));
}

#[test]
fn a_cell_too_small_states_the_limit_and_a_cell_that_fits() {
    let error = only_error(survey(block(), &inside_points()), &settings(0.01));
    let FieldError::GridTooFine {
        fitting_m, limit, ..
    } = &error
    else {
        panic!("{error}")
    };
    assert_eq!(*limit, 25_000_000);
    assert!(
        lay_out(survey(block(), &inside_points()), &settings(*fitting_m)).is_ok(),
        "the cell that is offered must fit"
    );
}

#[test]
fn a_cell_larger_than_the_field_is_refused() {
    assert!(matches!(
        only_error(survey(block(), &inside_points()), &settings(900.0)),
        FieldError::GridTooCoarse { .. }
    ));
}

#[test]
fn a_crs_that_does_not_exist_is_named() {
    let mut survey = survey(block(), &inside_points());
    survey.tables = vec![table(&[(1.0, 1.0), (2.0, 2.0), (3.0, 3.0)], "EPSG:999999")];
    let error = only_error(survey, &settings(5.0)).to_string();
    assert!(
        error.contains("cores.csv") && error.contains("EPSG:999999"),
        "{error}"
    );
}

#[test]
fn a_boundary_that_spans_a_country_is_refused() {
    let shape: Polygon<f64> = polygon![(x: -100.0, y: 40.0), (x: -96.0, y: 40.0), (x: -96.0, y: 43.0), (x: -100.0, y: 43.0)];
    assert!(matches!(
        only_error(survey(shape, &inside_points()), &settings(5.0)),
        FieldError::TooLarge { .. }
    ));
}

#[test]
fn the_grid_is_estimated_before_it_is_made() {
    for cell in [2.0, 5.0, 31.0] {
        let told = estimate(&survey(block(), &inside_points()), &settings(cell)).unwrap();
        let grid = laid(survey(block(), &inside_points()), &settings(cell)).grid;
        let made = grid.cells.len() as f64;
        assert!(
            (told.cells / made - 1.0).abs() < 0.1,
            "cell {cell}: {told:?}, made {made}"
        );
        assert!(told.rectangle >= (grid.columns * grid.rows) as f64 * 0.95);
    }
    // A cell of a centimetre is counted, not made.
    let told = estimate(&survey(block(), &inside_points()), &settings(0.01)).unwrap();
    assert!(told.cells > 3.8e9 && told.bytes(40) > 1e12, "{told:?}");
}
