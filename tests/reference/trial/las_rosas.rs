//! Nitrogen strips at Las Rosas, 1999: see README.md. Numbers by `lm` and `nlme::gls(..., correlation=corExp(form=~x+y,nugget=TRUE),
//! method="REML")` of R.

use lowstave::trial::statistics::{paired_t, spatial_errors};
use nalgebra::DMatrix;

use super::close;

const BLOCKS: [&str; 3] = ["R1", "R2", "R3"];
/// In the order of R's factor levels.
const ZONES: [&str; 4] = ["E", "HT", "LO", "W"];

struct Point {
    block: usize,
    zone: usize,
    is_fertilised: bool,
    place: (f64, f64),
    yields: f64,
}

fn points() -> Vec<Point> {
    let metres = std::f64::consts::PI / 180.0 * 6_371_008.8;
    let text = include_str!("las_rosas_1999_n0_n5.csv");
    let position = |list: &[&str], word: &str| list.iter().position(|w| *w == word).unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |at: usize| cells[at].parse::<f64>().unwrap();
            let x = (number(4) + 63.845) * metres * (-33.051_f64).to_radians().cos();
            Point {
                block: position(&BLOCKS, cells[0]),
                zone: position(&ZONES, cells[2]),
                is_fertilised: cells[1] == "N5",
                place: (x, (number(3) + 33.051) * metres),
                yields: number(5),
            }
        })
        .collect()
}

fn mean(points: &[Point], keep: impl Fn(&Point) -> bool) -> f64 {
    let kept: Vec<f64> = points
        .iter()
        .filter(|p| keep(p))
        .map(|p| p.yields)
        .collect();
    kept.iter().sum::<f64>() / kept.len() as f64
}

#[test]
fn block_means_and_their_paired_interval_are_those_of_r() {
    let points = points();
    assert_eq!(points.len(), 582);
    // Zone, differences of the blocks, mean, standard error, 90 % interval.
    let table = [
        (
            "E",
            [5.7149, 9.0680, 5.1758],
            6.6529,
            1.2175,
            (3.098, 10.208),
        ),
        (
            "HT",
            [13.5653, 10.7440, 12.4255],
            12.2449,
            0.8194,
            (9.852, 14.638),
        ),
        (
            "LO",
            [2.8249, 11.6914, 8.4511],
            7.6558,
            2.5902,
            (0.092, 15.219),
        ),
        (
            "W",
            [5.5133, 13.8987, 9.4679],
            9.6267,
            2.4220,
            (2.555, 16.699),
        ),
    ];
    for (at, (_, blocks, gain, error, interval)) in table.into_iter().enumerate() {
        let differences: Vec<f64> = (0..3)
            .map(|block| {
                let of = |n5: bool| {
                    mean(&points, |p| {
                        p.block == block && p.zone == at && p.is_fertilised == n5
                    })
                };
                of(true) - of(false)
            })
            .collect();
        for (found, wanted) in differences.iter().zip(blocks) {
            close(*found, wanted, 5e-5);
        }
        let test = paired_t(&differences).unwrap();
        close(test.mean, gain, 5e-5);
        close(test.standard_error, error, 5e-5);
        close(test.interval.0, interval.0, 5e-4);
        close(test.interval.1, interval.1, 5e-4);
    }
}

#[test]
fn whole_strips_give_the_interval_of_r() {
    let points = points();
    let differences: Vec<f64> = (0..3)
        .map(|block| {
            let of = |n5: bool| mean(&points, |p| p.block == block && p.is_fertilised == n5);
            of(true) - of(false)
        })
        .collect();
    for (found, wanted) in differences.iter().zip([6.4665, 12.1459, 9.2104]) {
        close(*found, wanted, 5e-5);
    }
    let test = paired_t(&differences).unwrap();
    close(test.mean, 9.2743, 5e-5);
    close(test.interval.0, 4.486, 5e-4);
    close(test.interval.1, 14.062, 5e-4);
}

/// Tolerance 0.5 %: the likelihood is flat at its top, and two searches stop at different places.
#[test]
fn the_spatial_second_opinion_is_that_of_nlme() {
    let points = points();
    // yield ~ rep + topo + topo:t - 1
    let design = DMatrix::from_fn(points.len(), 10, |row, column| {
        let p = &points[row];
        let is_one = match column {
            0..3 => p.block == column,
            3..6 => p.zone == column - 2,
            _ => p.is_fertilised && p.zone == column - 6,
        };
        f64::from(u8::from(is_one))
    });
    let yields: Vec<f64> = points.iter().map(|p| p.yields).collect();
    let places: Vec<(f64, f64)> = points.iter().map(|p| p.place).collect();
    let fit = spatial_errors(&yields, &design, &places).unwrap();
    let relative = |found: f64, wanted: f64| close(found / wanted, 1.0, 0.005);
    relative(fit.spatial.range_m, 112.277);
    relative(fit.spatial.nugget, 0.030_28);
    relative(fit.spatial.sigma, 8.798_97);
    close(fit.spatial.log_likelihood, -1509.048, 0.002);
    // Gain in each zone: least squares, naive and spatial error, generalised, its error.
    let table = [
        (6.6133, 1.0030, 1.5612, 6.8186, 1.1397),
        (12.1750, 1.0210, 1.5544, 10.5087, 1.1491),
        (7.4945, 0.8713, 1.4213, 7.7432, 1.0586),
        (9.5428, 0.8033, 1.3611, 10.0740, 1.0171),
    ];
    for (zone, (ols, naive, spatial, gls, error)) in table.into_iter().enumerate() {
        close(fit.least_squares[6 + zone], ols, 5e-5);
        close(fit.naive_errors[6 + zone], naive, 5e-5);
        relative(fit.spatial_errors[6 + zone], spatial);
        relative(fit.generalised[6 + zone], gls);
        relative(fit.generalised_errors[6 + zone], error);
    }
}
