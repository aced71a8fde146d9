//! Where checks are laid.

use geo::{MultiPolygon, Rect, coord};
use lowstave::trial::layout::{Room, draw, passes_over, sites};
use lowstave::trial::statistics::Blocks;
use lowstave::trial::{Frame, Machines};

/// 800 m wide (east), 600 m long (north), two zones of equal length.
fn block(south: f64, north: f64) -> MultiPolygon<f64> {
    let rect = Rect::new(coord! { x: 0.0, y: south }, coord! { x: 800.0, y: north });
    MultiPolygon(vec![rect.to_polygon()])
}

fn machines(heading: f64, header: f64) -> (Machines, usize) {
    let (left_m, passes) = passes_over(&block(0.0, 600.0), heading, 12.0);
    let frame = Frame {
        heading,
        left_m,
        swath_m: 12.0,
    };
    (Machines::new(frame, header, 0.3), passes)
}

const ROOMS: [Room; 2] = [
    Room {
        zone: 1,
        area_m2: 240_000.0,
        sets: 1,
    },
    Room {
        zone: 2,
        area_m2: 240_000.0,
        sets: 1,
    },
];

#[test]
fn checks_keep_off_headlands_and_zone_lines_and_take_a_twentieth_at_most() {
    for heading in [0.0, 180.0] {
        let (machines, passes) = machines(heading, 9.0);
        assert_eq!((machines.check_passes, passes), (1, 66));
        let (south, north) = (block(0.0, 300.0), block(300.0, 600.0));
        let sites = sites(
            &block(0.0, 600.0),
            &[(1, &south), (2, &north)],
            &machines,
            passes,
        );
        let drawn = draw(&sites, &ROOMS, &machines, (4, 130.0), 11).unwrap();
        assert_eq!(drawn.checks.len(), 4);
        let positions: Vec<usize> = drawn.checks.iter().map(|c| c.position).collect();
        assert!(drawn.blocks.admits(&positions));
        for room in ROOMS {
            let pieces = drawn.checks.iter().flat_map(|c| &c.pieces);
            let length: f64 = pieces
                .filter(|p| p.zone == room.zone)
                .map(lowstave::trial::layout::Run::length)
                .sum();
            assert!(length * 12.0 <= 0.05 * room.area_m2 + 1e-6, "{length}");
            assert!(length > 800.0);
        }
        for check in &drawn.checks {
            let middle = machines.middle(check.position);
            for piece in &check.pieces {
                let (_, y) = machines.frame.place(piece.from_m, middle);
                let (_, end) = machines.frame.place(piece.to_m, middle);
                let (low, high) = (y.min(end), y.max(end));
                assert!(low >= 24.0 - 1e-6 && high <= 576.0 + 1e-6, "{low} {high}");
                assert!(high <= 300.0 + 1e-6 || low >= 300.0 - 1e-6);
            }
        }
    }
}

#[test]
fn a_zone_too_small_for_two_pieces_gets_none() {
    let (machines, passes) = machines(0.0, 9.0);
    let (south, north) = (block(0.0, 300.0), block(300.0, 600.0));
    let sites = sites(
        &block(0.0, 600.0),
        &[(1, &south), (2, &north)],
        &machines,
        passes,
    );
    let small = [
        ROOMS[0],
        Room {
            zone: 2,
            area_m2: 60_000.0,
            sets: 1,
        },
    ];
    let drawn = draw(&sites, &small, &machines, (4, 130.0), 11).unwrap();
    assert!(
        drawn
            .checks
            .iter()
            .flat_map(|c| &c.pieces)
            .all(|p| p.zone == 1)
    );
    assert!(draw(&sites, &[], &machines, (4, 130.0), 11).is_none());
}

#[test]
fn a_check_is_as_wide_as_the_header_and_its_borders_need() {
    let width = |header| machines(0.0, header).0.check_passes;
    assert_eq!(
        [6.0, 9.0, 10.0, 11.0, 12.0, 13.0, 18.0].map(width),
        [1, 1, 1, 2, 1, 2, 2]
    );
    assert!(machines(0.0, 12.0).0.is_matched());
}

#[test]
fn another_seed_lays_other_checks_and_the_same_seed_the_same() {
    let (machines, passes) = machines(0.0, 9.0);
    let (south, north) = (block(0.0, 300.0), block(300.0, 600.0));
    let sites = sites(
        &block(0.0, 600.0),
        &[(1, &south), (2, &north)],
        &machines,
        passes,
    );
    let with = |seed| {
        draw(&sites, &ROOMS, &machines, (4, 130.0), seed)
            .unwrap()
            .checks
    };
    assert_eq!(with(1), with(1));
    assert!((2..12).any(|seed| with(seed) != with(1)));
}

#[test]
fn every_admissible_placement_is_listed_once_and_drawn_about_as_often() {
    let blocks = |seed| Blocks {
        blocks: vec![vec![1, 2, 3], vec![4, 5, 6]],
        apart: 3,
        seed,
    };
    let listed = blocks(0).placements(&[1, 4]);
    assert_eq!(listed.in_all, Some(6));
    assert_eq!(listed.each[0], [1, 4]);
    let mut counts = std::collections::BTreeMap::new();
    for seed in 0..3_000 {
        *counts.entry(blocks(seed).draw().unwrap()).or_insert(0) += 1;
    }
    assert_eq!(counts.len(), 6);
    // 500 each; five standard deviations are 102.
    assert!(
        counts.values().all(|&count| (398..=602).contains(&count)),
        "{counts:?}"
    );
    let impossible = Blocks {
        apart: 9,
        ..blocks(0)
    };
    assert_eq!(impossible.draw(), None);
}
