//! Lines along cell edges become lines that a person would draw: smoothed and simplified once, for both neighbours.

use super::arcs::Arc;
use crate::zones::raster::Plane;

type Xy = (f64, f64);

/// A line between two zones in metres on the field's plane.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SmoothedArc {
    /// Vertices; a closed line repeats its first vertex at the end.
    pub points: Vec<Xy>,
    pub left: u8,
    pub right: u8,
}

/// How far lines may move.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// Where the cells lie.
    pub plane: Plane,
    /// Side of a cell, metres.
    pub cell: f64,
    /// Farthest a line may move from the middles of the cell edges that it runs along, metres.
    pub tolerance: f64,
}

/// Where a line through the middles of cell edges leaves the corners of the staircase: a quarter of a cell's diagonal.
const CORNER_CUT: f64 = std::f64::consts::SQRT_2 / 4.0;
/// Passes of the 1-2-1 mean: enough to level steps that are up to ten cells long (own).
const PASSES: usize = 16;
/// Part of the allowed way that the mean may take: a step of a shallow staircase lies nearly half a cell off (own).
const MEAN_PART: f64 = 0.9;

/// The line at a level of care: 0 smoothed and simplified; 1 with a quarter of the tolerance; 2 as it runs
/// between the cells, which never touches another line but at a node.
pub(super) fn draw(line: &Arc, frame: &Frame, level: u8) -> SmoothedArc {
    if frame.tolerance <= 0.0 {
        let points = turns(line, frame);
        return SmoothedArc {
            points: if line.is_closed {
                close(points)
            } else {
                points
            },
            left: line.left,
            right: line.right,
        };
    }
    let cuts_corners = frame.tolerance >= CORNER_CUT * frame.cell;
    let base = if cuts_corners {
        middles(line, frame)
    } else {
        corners(line, frame)
    };
    let tolerance = match level {
        0 => frame.tolerance,
        1 => frame.tolerance / 4.0,
        _ => 0.0,
    };
    let points = if tolerance > 0.0 {
        let smooth = relax(&base, line.is_closed, MEAN_PART * tolerance);
        simplify(&smooth, &base, line.is_closed, tolerance)
    } else {
        base
    };
    SmoothedArc {
        points: if line.is_closed {
            close(points)
        } else {
            points
        },
        left: line.left,
        right: line.right,
    }
}

fn close(mut points: Vec<Xy>) -> Vec<Xy> {
    points.extend(points.first().copied());
    points
}

fn corners(line: &Arc, frame: &Frame) -> Vec<Xy> {
    line.corners
        .iter()
        .map(|&(column, row)| frame.plane.place(f64::from(column), f64::from(row)))
        .collect()
}

/// The corners at which the line turns, and its nodes.
fn turns(line: &Arc, frame: &Frame) -> Vec<Xy> {
    let count = line.corners.len();
    let at = |index: usize| line.corners[index % count];
    let goes_straight = |index: usize| {
        let (before, here, after) = (at(index + count - 1), at(index), at(index + 1));
        (here.0 - before.0, here.1 - before.1) == (after.0 - here.0, after.1 - here.1)
    };
    let is_kept = |index: &usize| {
        (!line.is_closed && (*index == 0 || *index + 1 == count)) || !goes_straight(*index)
    };
    (0..count)
        .filter(is_kept)
        .map(|index| {
            frame
                .plane
                .place(f64::from(at(index).0), f64::from(at(index).1))
        })
        .collect()
}

/// Middles of the cell edges, between the two nodes where the line has some.
fn middles(line: &Arc, frame: &Frame) -> Vec<Xy> {
    let middle = |a: &(i32, i32), b: &(i32, i32)| {
        frame
            .plane
            .place(f64::from(a.0 + b.0) / 2.0, f64::from(a.1 + b.1) / 2.0)
    };
    let between = line
        .corners
        .windows(2)
        .map(|pair| middle(&pair[0], &pair[1]));
    match (line.corners.first(), line.corners.last()) {
        (Some(first), Some(last)) if line.is_closed => {
            between.chain([middle(last, first)]).collect()
        }
        (Some(first), Some(last)) => {
            let node =
                |corner: &(i32, i32)| frame.plane.place(f64::from(corner.0), f64::from(corner.1));
            [node(first)]
                .into_iter()
                .chain(between)
                .chain([node(last)])
                .collect()
        }
        _ => Vec::new(),
    }
}

/// Each vertex becomes the 1-2-1 mean with its neighbours, a few times, but moves no farther than the bound from
/// where it was. Nodes stay.
fn relax(base: &[Xy], is_closed: bool, bound: f64) -> Vec<Xy> {
    let count = base.len();
    let mut now = base.to_vec();
    if count < 3 {
        return now;
    }
    for _ in 0..PASSES {
        let before = now.clone();
        let inner = if is_closed { 0..count } else { 1..count - 1 };
        for i in inner {
            let (a, b, c) = (
                before[(i + count - 1) % count],
                before[i],
                before[(i + 1) % count],
            );
            let mean = ((a.0 + 2.0 * b.0 + c.0) / 4.0, (a.1 + 2.0 * b.1 + c.1) / 4.0);
            let (east, north) = (mean.0 - base[i].0, mean.1 - base[i].1);
            let way = east.hypot(north);
            let part = if way > bound { bound / way } else { 1.0 };
            now[i] = (base[i].0 + east * part, base[i].1 + north * part);
        }
    }
    now
}

/// Leaves out vertices of the smoothed line as long as no vertex of the line before smoothing lies farther than the bound from what is left.
///
/// # Source
/// Douglas and Peucker 1973, "Algorithms for the reduction of the number of points required to represent a digitized line
/// or its caricature", Cartographica 10:112; measuring to the line before smoothing is our own.
fn simplify(points: &[Xy], base: &[Xy], is_closed: bool, bound: f64) -> Vec<Xy> {
    if points.len() < 4 {
        return points.to_vec();
    }
    if !is_closed {
        return keep(points, base, &[0, points.len() - 1], bound);
    }
    // A closed line is cut at its first vertex and the one farthest from it; a third one keeps it a ring.
    let far = farthest(points, |p| (p.0 - points[0].0).hypot(p.1 - points[0].1));
    let third = farthest(points, |p| off_chord(p, points[0], points[far]));
    let anchors = [0, far.min(third), far.max(third), points.len()];
    let mut ring = keep(
        &close(points.to_vec()),
        &close(base.to_vec()),
        &anchors,
        bound,
    );
    ring.pop();
    ring
}

fn farthest(points: &[Xy], distance: impl Fn(Xy) -> f64) -> usize {
    let mut best = (0, -1.0);
    for (index, &point) in points.iter().enumerate() {
        let here = distance(point);
        if here > best.1 {
            best = (index, here);
        }
    }
    best.0
}

fn keep(points: &[Xy], base: &[Xy], anchors: &[usize], bound: f64) -> Vec<Xy> {
    let mut kept = vec![false; points.len()];
    for &anchor in anchors {
        kept[anchor] = true;
    }
    let mut open: Vec<(usize, usize)> = anchors.windows(2).map(|pair| (pair[0], pair[1])).collect();
    while let Some((from, to)) = open.pop() {
        if to <= from + 1 {
            continue;
        }
        let at = from
            + 1
            + farthest(&base[from + 1..to], |p| {
                off_chord(p, points[from], points[to])
            });
        if off_chord(base[at], points[from], points[to]) > bound {
            kept[at] = true;
            open.extend([(from, at), (at, to)]);
        }
    }
    points
        .iter()
        .zip(kept)
        .filter(|(_, keep)| *keep)
        .map(|(&point, _)| point)
        .collect()
}

/// Distance from a point to a stretch.
fn off_chord(p: Xy, a: Xy, b: Xy) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let square = dx * dx + dy * dy;
    let along = if square > 0.0 {
        (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p.0 - a.0 - along * dx).hypot(p.1 - a.1 - along * dy)
}

#[cfg(test)]
#[path = "smoothing_tests.rs"]
mod smoothing_tests;
