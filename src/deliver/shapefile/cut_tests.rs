use super::*;

fn ring(points: &[(i64, i64)]) -> Ring {
    points.iter().map(|&(lon, lat)| Spot { lon, lat }).collect()
}

fn square(west: i64, south: i64, side: i64) -> Ring {
    ring(&[
        (west, south),
        (west + side, south),
        (west + side, south + side),
        (west, south + side),
    ])
}

fn hole(west: i64, south: i64, side: i64) -> Ring {
    let mut ring = square(west, south, side);
    ring.reverse();
    ring
}

/// Whether no two edges of a ring cross and no spot comes twice.
fn is_simple(ring: &[Spot]) -> bool {
    let edges: Vec<(Spot, Spot)> = (0..ring.len())
        .map(|at| (ring[at], ring[(at + 1) % ring.len()]))
        .collect();
    let mut spots = ring.to_vec();
    spots.sort_unstable();
    spots.dedup();
    spots.len() == ring.len()
        && edges.iter().enumerate().all(|(at, &(a, b))| {
            edges.iter().skip(at + 1).all(|&(c, d)| {
                let share_an_end = a == c || a == d || b == c || b == d;
                share_an_end
                    || turn(a, b, c) * turn(a, b, d) >= 0
                    || turn(c, d, a) * turn(c, d, b) >= 0
            })
        })
}

fn check(part: &Part, least: usize) -> Vec<Ring> {
    let pieces = without_holes(part).expect("the part can be cut");
    assert!(pieces.len() >= least, "{} pieces", pieces.len());
    assert!(pieces.iter().all(|piece| is_simple(piece)), "{pieces:?}");
    let known: Vec<Spot> = part
        .outer
        .iter()
        .chain(part.holes.iter().flatten())
        .copied()
        .collect();
    assert!(
        pieces.iter().flatten().all(|spot| known.contains(spot)),
        "no new spot comes into being"
    );
    pieces
}

#[test]
fn a_part_without_holes_stays_as_it_is() {
    let outer = square(0, 0, 100);
    assert_eq!(
        without_holes(&Part {
            outer: outer.clone(),
            holes: Vec::new()
        }),
        Ok(vec![outer])
    );
}

#[test]
fn one_hole_gives_two_pieces() {
    assert_eq!(
        check(
            &Part {
                outer: square(0, 0, 100),
                holes: vec![hole(40, 40, 20)]
            },
            2
        )
        .len(),
        2
    );
}

#[test]
fn holes_in_a_row_are_cut_by_one_chain() {
    check(
        &Part {
            outer: square(0, 0, 1_000),
            holes: vec![hole(200, 480, 50), hole(400, 490, 50), hole(600, 470, 60)],
        },
        2,
    );
}

#[test]
fn holes_above_each_other_and_a_dented_outline_are_cut() {
    let outer = ring(&[
        (0, 0),
        (500, 100),
        (1_000, 0),
        (900, 500),
        (1_000, 1_000),
        (500, 900),
        (0, 1_000),
        (100, 500),
    ]);
    check(
        &Part {
            outer,
            holes: vec![
                hole(300, 300, 50),
                hole(310, 400, 60),
                hole(305, 600, 70),
                hole(700, 300, 31),
            ],
        },
        3,
    );
}

#[test]
fn a_hole_that_touches_the_outline_at_a_corner_is_cut_into_simple_rings() {
    let outer = ring(&[(0, 0), (100, 0), (100, 50), (100, 100), (0, 100)]);
    check(
        &Part {
            outer,
            holes: vec![ring(&[(40, 40), (60, 70), (100, 50)])],
        },
        2,
    );
}

#[test]
fn two_holes_that_touch_at_a_corner_are_cut_into_simple_rings() {
    check(
        &Part {
            outer: square(0, 0, 100),
            holes: vec![hole(20, 20, 20), hole(40, 40, 20)],
        },
        2,
    );
}

#[test]
fn random_squares_in_a_square_are_cut_into_pieces_that_add_up() {
    // A small generator of our own, so that the cases are the same everywhere.
    let mut state = 7_u64;
    let mut next = |below: i64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as i64 % below
    };
    for _ in 0..200 {
        // One square in some of 5 x 5 places, so that they never touch.
        let mut holes = Vec::new();
        for place in 0..25 {
            if next(3) == 0 {
                let (x, y) = (place % 5 * 200, place / 5 * 200);
                holes.push(hole(x + 10 + next(80), y + 10 + next(80), 20 + next(60)));
            }
        }
        check(
            &Part {
                outer: square(0, 0, 1_000),
                holes,
            },
            1,
        );
    }
}
