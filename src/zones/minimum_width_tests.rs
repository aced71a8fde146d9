use super::*;
use crate::field::Grid;
use crate::zones::standardise::Features;

/// A raster from text: a digit per cell, a dot for an empty one.
fn raster(rows: &[&str], rim: usize) -> Raster {
    let text: Vec<u8> = rows.iter().flat_map(|row| row.bytes()).collect();
    let cells: Vec<u32> = (0..text.len() as u32)
        .filter(|&cell| text[cell as usize] != b'.')
        .collect();
    let labels: Vec<u8> = cells
        .iter()
        .map(|&cell| text[cell as usize] - b'0')
        .collect();
    let share = vec![1.0; cells.len()];
    let grid = Grid {
        west: 0.0,
        north: 0.0,
        cell: 1.0,
        columns: rows[0].len(),
        rows: rows.len(),
        cells,
        share,
    };
    Raster::new(&grid, &labels, rim)
}

fn widened(rows: &[&str], footprint: &Footprint) -> Vec<String> {
    let mut raster = raster(rows, footprint.reach() + 1);
    let count = raster.cells.len();
    let features = Features::as_they_are(vec![vec![0.0; count]]);
    let share = vec![1.0; count];
    let centres = vec![vec![0.0], vec![1.0], vec![2.0]];
    let how = Tidy {
        share: &share,
        cell: 1.0,
        smallest: 0.0,
        features: &features,
        centres: &centres,
    };
    let mut changes = vec![0; raster.labels.len()];
    widen(&mut raster, &how, footprint, &mut changes);
    let rim = raster.rim;
    let show = |label: u8| {
        if label == NONE {
            '.'
        } else {
            char::from(b'0' + label)
        }
    };
    (0..rows.len())
        .map(|row| {
            let from = (row + rim) * raster.width + rim;
            raster.labels[from..from + rows[0].len()]
                .iter()
                .map(|&label| show(label))
                .collect()
        })
        .collect()
}

#[test]
fn a_disc_of_so_many_cells_is_that_wide() {
    for across in 1..12 {
        let disc = Footprint::disc(f64::from(across));
        let (west, east) = (
            disc.cells.iter().map(|c| c.0).min().unwrap(),
            disc.cells.iter().map(|c| c.0).max().unwrap(),
        );
        assert_eq!(east - west + 1, across);
        assert!(disc.cells.contains(&(0, 0)));
    }
}

#[test]
fn a_stretch_has_the_length_and_the_heading_asked_for() {
    let north = Footprint::stretch(5.0, 0.0);
    assert!(north.cells.iter().all(|cell| cell.0 == 0) && north.cells.len() == 5);
    let east = Footprint::stretch(4.0, 90.0);
    assert!(east.cells.iter().all(|cell| cell.1 == 0) && east.cells.len() == 4);
    let north_east = Footprint::stretch(9.0, 45.0);
    // Row numbers fall to the north, column numbers rise to the east.
    assert!(north_east.cells.iter().all(|cell| cell.0 == -cell.1));
}

#[test]
fn a_neck_narrower_than_the_swath_goes_and_a_wide_one_stays() {
    let rows = [
        "000000000000",
        "111100001111",
        "111111111111",
        "111100001111",
        "000000000000",
    ];
    assert_eq!(widened(&rows, &Footprint::disc(3.0))[2], "111100001111");
    assert_eq!(widened(&rows, &Footprint::disc(1.0))[2], "111111111111");
    let wide = [
        "000000000000",
        "000000000000",
        "111111111111",
        "111111111111",
        "111111111111",
        "000000000000",
        "000000000000",
    ];
    assert_eq!(widened(&wide, &Footprint::disc(3.0)), wide);
}

#[test]
fn a_stretch_too_short_along_the_way_of_travel_goes() {
    let rows = ["0000110000"; 6];
    assert_eq!(
        widened(&rows, &Footprint::stretch(4.0, 90.0)),
        ["0000000000"; 6]
    );
    assert_eq!(widened(&rows, &Footprint::stretch(4.0, 0.0)), rows);
}

#[test]
fn the_edge_of_the_field_is_no_neck() {
    let rows = ["..00000..", "...000...", "....0....", "...000..."];
    assert_eq!(widened(&rows, &Footprint::disc(3.0)), rows);
}

#[test]
fn narrow_cells_go_to_the_zone_they_resemble_most() {
    // A ribbon of zone 1 whose values (0) are those of zone 0, between zones 2 and 0.
    let rows = [
        "222222", "222222", "222222", "111111", "000000", "000000", "000000",
    ];
    assert_eq!(widened(&rows, &Footprint::disc(3.0))[3], "000000");
}
