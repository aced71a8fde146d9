use super::*;

/// Labels from text: a digit per cell, a dot for an empty one.
fn labels(rows: &[&str]) -> (Vec<u8>, usize, usize) {
    let label = |b: u8| if b == b'.' { NONE } else { b - b'0' };
    (
        rows.iter().flat_map(|row| row.bytes().map(label)).collect(),
        rows[0].len(),
        rows.len(),
    )
}

fn of(rows: &[&str]) -> Vec<Arc> {
    let (labels, width, height) = labels(rows);
    extract(&labels, width, height)
}

#[test]
fn two_zones_have_one_line_from_edge_to_edge() {
    let lines = of(&["....", ".01.", ".01.", "...."]);
    assert_eq!(
        lines,
        [Arc {
            corners: vec![(2, 1), (2, 2), (2, 3)],
            left: 1,
            right: 0,
            is_closed: false
        }]
    );
}

#[test]
fn an_island_has_one_closed_line() {
    let lines = of(&[".....", ".000.", ".010.", ".000.", "....."]);
    assert_eq!(lines.len(), 1);
    assert!(lines[0].is_closed);
    assert_eq!(lines[0].corners.len(), 4);
}

#[test]
fn lines_end_where_three_zones_meet() {
    let lines = of(&["....", ".01.", ".22.", "...."]);
    assert_eq!(lines.len(), 3);
    assert!(lines.iter().all(|line| !line.is_closed
        && (line.corners.first() == Some(&(2, 2)) || line.corners.last() == Some(&(2, 2)))));
}

#[test]
fn zones_that_touch_in_a_corner_meet_in_a_node() {
    let lines = of(&["....", ".01.", ".10.", "...."]);
    assert_eq!(lines.len(), 4);
    assert!(lines.iter().all(|line| line.corners.len() == 2));
}

#[test]
fn a_line_breaks_where_its_neighbours_change_at_the_edge_of_the_labels() {
    // The corner in the middle has two edges, but not of the same pair.
    let lines = of(&["....", ".01.", "..2.", "...."]);
    assert_eq!(lines.len(), 2);
}
