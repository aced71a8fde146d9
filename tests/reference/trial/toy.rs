//! A toy field of 13 passes and 8 segments with two checks, worked in R:
//!
//! ```r
//! P<-13;S<-8;Y<-outer(1:P,1:S,function(p,s)10+.3*sin(1.3*p)+.2*cos(.7*s)+.1*((7*p+3*s)%%5));j<-c(4,10);Y[j,]<-Y[j,]-.5
//! con<-function(p,Z=Y).5*(rowMeans(Z[p-1,,drop=F])+rowMeans(Z[p+1,,drop=F]))-rowMeans(Z[p,,drop=F]);k<-c(2,6,7,8,12);s0<-sqrt(mean(con(k)^2));se<-s0/sqrt(2);mean(con(j))+c(-1,1)*qt(.95,2.5)*se
//! tst<-function(d){Z<-Y;Z[j,]<-Z[j,]+d;g<-expand.grid(2:6,8:12);mean(abs((con(g[,1],Z)+con(g[,2],Z))/2)>=abs(mean(con(j,Z)))-1e-12)};tst(0);g<-seq(-.5,1.5,.001);range(g[sapply(g,tst)>.10])
//! ```
//!
//! Passes count from 0 here and from 1 there.

use lowstave::trial::contrasts::{Cut, Ground, Line, Table};
use lowstave::trial::layout::Run;
use lowstave::trial::statistics::{Blocks, Contrast, estimate, randomisation, scatter};
use lowstave::trial::{Frame, Machines};

use super::close;

const PASSES: usize = 13;
const SEGMENTS: usize = 8;
const CHECKS: [usize; 2] = [3, 9];

fn yields(pass: usize, segment: usize) -> f64 {
    let (p, s) = ((pass + 1) as f64, (segment + 1) as f64);
    let step = ((7 * (pass + 1) + 3 * (segment + 1)) % 5) as f64;
    let harvest = 10.0 + 0.3 * (1.3 * p).sin() + 0.2 * (0.7 * s).cos() + 0.1 * step;
    if CHECKS.contains(&pass) {
        harvest - 0.5
    } else {
        harvest
    }
}

fn table() -> Table {
    let frame = Frame {
        heading: 0.0,
        left_m: 0.0,
        swath_m: 12.0,
    };
    let machines = Machines::new(frame, 12.0, 0.5);
    let lines: Vec<Line> = (0..PASSES)
        .map(|pass| Line {
            across: 12.0 * pass as f64 + 6.0,
            segments: (0..SEGMENTS)
                .map(|segment| (3, 3.0 * yields(pass, segment)))
                .collect(),
        })
        .collect();
    let run = Run {
        zone: 1,
        from_m: -100.0,
        to_m: 200.0,
    };
    let passes = vec![vec![run]; PASSES];
    let cut = Cut::over(0.0, 80.0);
    Table::new(
        &lines,
        &cut,
        &Ground { positions: &passes },
        &machines,
        (&CHECKS, &[]),
    )
}

fn contrasts(table: &Table, positions: &[usize]) -> Vec<Contrast> {
    positions
        .iter()
        .map(|&at| table.contrast(at, |_| 1.0).unwrap().contrast)
        .collect()
}

#[test]
fn the_gain_and_its_interval_are_those_of_r() {
    let table = table();
    let checks = contrasts(&table, &table.checks);
    close(checks[0].gain, 0.694_139, 1e-6);
    close(checks[1].gain, 0.376_418, 1e-6);
    assert_eq!(table.placebos, [1, 5, 6, 7, 11]);
    let placebos = contrasts(&table, &table.placebos);
    let wanted = [-0.113_282, -0.188_180, -0.070_122, 0.181_915, -0.023_679];
    for (found, wanted) in placebos.iter().zip(wanted) {
        close(found.gain, wanted, 1e-6);
    }
    let scatter = scatter(&placebos).unwrap();
    close(scatter.sd, 0.131_769_1, 1e-6);
    assert_eq!(scatter.degrees_of_freedom, 2.5);
    let gain = estimate(&checks, &scatter).unwrap();
    close(gain.gain, 0.535_278_8, 1e-6);
    close(gain.standard_error, 0.093_174_8, 1e-6);
    close(gain.interval.0, 0.296_917_3, 1e-6);
    close(gain.interval.1, 0.773_640_3, 1e-6);
}

#[test]
fn the_randomisation_test_is_that_of_r() {
    let table = table();
    let positions: Vec<_> = (0..PASSES).map(|at| table.contrast(at, |_| 1.0)).collect();
    let blocks = Blocks {
        blocks: vec![(1..=5).collect(), (7..=11).collect()],
        apart: 0,
        seed: 1,
    };
    let placements = blocks.placements(&CHECKS);
    assert_eq!(placements.in_all, Some(25));
    let test = randomisation(&positions, &placements).unwrap();
    close(test.p, 0.04, 1e-12);
    close(test.least_p, 0.04, 1e-12);
    // R walked in steps of 0.001.
    assert!(
        test.interval.0 <= 0.298 && test.interval.0 > 0.297,
        "{:?}",
        test.interval
    );
    assert!(
        test.interval.1 >= 0.882 && test.interval.1 < 0.883,
        "{:?}",
        test.interval
    );
}
