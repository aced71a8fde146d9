//! Does the `standard_error` hold on a real field? Cores of BB.250 are withheld, one in five, and looked for in the 90 % interval of the map of the
//! others. Data: `LimeSoDa` BB.250, see README.md.

use lowstave::plan::SurfaceSettings;
use lowstave::surface::{Map, interpolate};

use super::column;
use super::made_fields::{grid, one_layer};

/// Two-sided 90 % of a normal.
const Z90: f64 = 1.644_854;

#[test]
fn ninety_percent_intervals_hold_most_withheld_cores() {
    let (mut inside, mut all) = (0, 0);
    for name in ["ph_cacl2", "soc_pct", "clay_pct"] {
        let samples = column("bb250", name);
        for fold in 0..5 {
            let (held, kept): (Vec<_>, Vec<_>) =
                samples.iter().enumerate().partition(|(i, _)| i % 5 == fold);
            let points: Vec<(f64, f64)> = kept.iter().map(|(_, s)| (s.0, s.1)).collect();
            let values: Vec<f64> = kept.iter().map(|(_, s)| s.2).collect();
            let west = samples.iter().fold(f64::MAX, |low, s| low.min(s.0)) - 10.0;
            let south = samples.iter().fold(f64::MAX, |low, s| low.min(s.1)) - 10.0;
            // 2 m cells: a withheld core is at most 1.4 m from the centre of its cell, on a grid of cores of 50 m.
            let made = one_layer(grid(west, south, 600, 800, 2.0), &points, &values);
            let surfaces = interpolate(&made, &SurfaceSettings::default()).unwrap();
            let Map::Drawn {
                values,
                standard_error,
            } = &surfaces.surfaces[0].map
            else {
                panic!("{name}: no map")
            };
            for (_, core) in held {
                let cell = made.grid.cell_at(core.0, core.1).unwrap() as usize;
                inside += usize::from(
                    (f64::from(values[cell]) - core.2).abs()
                        <= Z90 * f64::from(standard_error[cell]),
                );
                all += 1;
            }
        }
    }
    assert_eq!(all, 750);
    let share = f64::from(u32::try_from(inside).unwrap()) / 750.0;
    assert!((0.85..=0.95).contains(&share), "{share}");
}
