use super::*;

const FRAME: Frame = Frame {
    plane: Plane {
        origin: (0.0, 0.0),
        column: (1.0, 0.0),
        row: (0.0, -1.0),
    },
    cell: 1.0,
    tolerance: 0.5,
};

/// A staircase of a slope: so many columns per row.
fn stairs(columns: i32, steps: i32) -> Arc {
    let mut corners = vec![(0, 0)];
    for step in 0..steps {
        corners.extend((1..=columns).map(|column| (step * columns + column, step)));
        corners.push(((step + 1) * columns, step + 1));
    }
    Arc {
        corners,
        left: 0,
        right: 1,
        is_closed: false,
    }
}

fn off(points: &[Xy], line: &[Xy]) -> f64 {
    let nearest = |&p: &Xy| {
        line.windows(2)
            .map(|pair| off_chord(p, pair[0], pair[1]))
            .fold(f64::INFINITY, f64::min)
    };
    points.iter().map(nearest).fold(0.0, f64::max)
}

#[test]
fn a_staircase_becomes_a_straight_line() {
    for columns in [1, 2, 3, 7] {
        let arc = draw(&stairs(columns, 20), &FRAME, 0);
        assert!(
            arc.points.len() <= 12,
            "{columns} columns per step: {} vertices",
            arc.points.len()
        );
    }
}

#[test]
fn nodes_stay_and_no_line_moves_farther_than_the_tolerance() {
    // A wild line: the steps turn by the bits of a number.
    let mut corners = vec![(0, 0)];
    for step in 0..60_u32 {
        let (x, y) = corners[corners.len() - 1];
        corners.push(if 0x9d2c_5680_u32.rotate_left(step) & 1 == 0 {
            (x + 1, y)
        } else {
            (x, y + 1)
        });
    }
    let line = Arc {
        corners,
        left: 0,
        right: 1,
        is_closed: false,
    };
    for tolerance in [0.0, 0.1, 0.5, 2.0] {
        let frame = Frame { tolerance, ..FRAME };
        let base = if tolerance >= CORNER_CUT {
            middles(&line, &frame)
        } else {
            super::corners(&line, &frame)
        };
        let drawn = draw(&line, &frame, 0).points;
        assert_eq!(
            (drawn[0], drawn[drawn.len() - 1]),
            (base[0], base[base.len() - 1])
        );
        assert!(
            off(&base, &drawn) <= tolerance + 1e-12 && off(&drawn, &base) <= tolerance + 1e-12,
            "tolerance {tolerance}"
        );
    }
}

#[test]
fn a_closed_line_stays_a_ring() {
    let line = Arc {
        corners: vec![(0, 0), (1, 0), (1, 1), (0, 1)],
        left: 0,
        right: 1,
        is_closed: true,
    };
    for tolerance in [0.0, 0.5, 5.0] {
        let drawn = draw(&line, &Frame { tolerance, ..FRAME }, 0).points;
        assert!(
            drawn.len() >= 4 && drawn[0] == drawn[drawn.len() - 1],
            "tolerance {tolerance}: {drawn:?}"
        );
    }
}
