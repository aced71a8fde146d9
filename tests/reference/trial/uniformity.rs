//! Wheat without any treatment (see README.md): plots as passes (columns) and segments (rows). Whatever two checks are drawn, their gain is 0.

use lowstave::trial::contrasts::{Cut, Ground, Line, Table};
use lowstave::trial::layout::Run;
use lowstave::trial::statistics::{Blocks, Contrast, estimate, scatter};
use lowstave::trial::{Frame, Machines};

const PASSES: usize = 25;
const SEGMENTS: usize = 20;

fn lines() -> Vec<Line> {
    let mut lines: Vec<Line> = (0..PASSES)
        .map(|pass| Line {
            across: 12.0 * pass as f64 + 6.0,
            segments: vec![(0, 0.0); SEGMENTS],
        })
        .collect();
    for line in include_str!("mercer_wheat_uniformity.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (row, column): (usize, usize) = (cells[0].parse().unwrap(), cells[1].parse().unwrap());
        let grain: f64 = cells[2].parse().unwrap();
        lines[column - 1].segments[row - 1] = (3, 3.0 * grain);
    }
    lines
}

/// Over all placements of three checks in three blocks the 90 % interval must hold 0 about nine times in ten, and the lower end must pass 0 in
/// about one of twenty; the wide limits are for one field of 25 passes.
#[test]
fn checks_laid_over_a_field_without_treatment_find_nothing() {
    let lines = lines();
    assert_eq!(lines.iter().map(|l| l.segments.len()).sum::<usize>(), 500);
    let frame = Frame {
        heading: 0.0,
        left_m: 0.0,
        swath_m: 12.0,
    };
    let machines = Machines::new(frame, 12.0, 0.5);
    let run = Run {
        zone: 1,
        from_m: -100.0,
        to_m: 400.0,
    };
    let passes = vec![vec![run]; PASSES];
    let cut = Cut::over(0.0, 200.0);
    let blocks = Blocks {
        blocks: vec![(1..=7).collect(), (8..=15).collect(), (16..=23).collect()],
        apart: machines.apart(),
        seed: 7,
    };
    let placements = blocks.placements(&blocks.draw().unwrap());
    let (mut holds, mut pays) = (0, 0);
    for checks in &placements.each {
        let table = Table::new(
            &lines,
            &cut,
            &Ground { positions: &passes },
            &machines,
            (checks, &[]),
        );
        let of = |positions: &[usize]| -> Vec<Contrast> {
            let contrast = |&at: &usize| table.contrast(at, |_| 1.0).map(|s| s.contrast);
            positions.iter().filter_map(contrast).collect()
        };
        let gain = estimate(&of(checks), &scatter(&of(&table.placebos)).unwrap()).unwrap();
        holds += usize::from(gain.interval.0 <= 0.0 && gain.interval.1 >= 0.0);
        pays += usize::from(gain.interval.0 > 0.0);
    }
    let share = |count: usize| count as f64 / placements.each.len() as f64;
    println!(
        "{} placements: {:.3} hold 0, {:.3} pay",
        placements.each.len(),
        share(holds),
        share(pays)
    );
    assert!(
        share(holds) > 0.80 && share(holds) < 0.97,
        "{}",
        share(holds)
    );
    assert!(share(pays) < 0.10, "{}", share(pays));
}
