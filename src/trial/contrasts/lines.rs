use crate::trial::harvest::CleanPoint;
use crate::trial::machines::Machines;

/// Length of a segment along the pass, metres.
pub const SEGMENT: f64 = 10.0;
/// Two middles of combine passes nearer than this share of the header are one line. Own.
const ONE_LINE: f64 = 0.3;
/// A stretch of a pass counts to a line where it is at least this long in points. Own.
const FEWEST_POINTS: usize = 5;

/// The combine passes that lie on one line along the way of travel, cut into segments.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Metres across of its middle.
    pub across: f64,
    /// Number of clean points and sum of their yields, segment by segment.
    pub segments: Vec<(u32, f64)>,
}

impl Line {
    /// Mean yield of a segment with at least `fewest` points.
    #[must_use]
    pub fn mean(&self, segment: usize, fewest: u32) -> Option<f64> {
        let (count, sum) = *self.segments.get(segment)?;
        (count >= fewest.max(1)).then(|| sum / f64::from(count))
    }
}

/// Where segments begin and how many there are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Metres along, of the beginning of the first segment.
    pub start: f64,
    /// Number of segments.
    pub count: usize,
}

impl Cut {
    /// The segments that cover a stretch. They begin on whole multiples of their length.
    #[must_use]
    pub fn over(from: f64, to: f64) -> Self {
        let start = (from / SEGMENT).floor() * SEGMENT;
        Self {
            start,
            count: ((to - start) / SEGMENT).ceil().max(0.0) as usize,
        }
    }

    /// The segment that holds metres along.
    #[must_use]
    pub fn segment(&self, along: f64) -> Option<usize> {
        let at = ((along - self.start) / SEGMENT).floor();
        (at >= 0.0 && at < self.count as f64).then_some(at as usize)
    }

    /// Metres along, of the middle of a segment.
    #[must_use]
    pub fn middle(&self, segment: usize) -> f64 {
        self.start + (segment as f64 + 0.5) * SEGMENT
    }
}

/// Sorts clean points onto the lines that the combine drove, from left to right. `points` stand in the order of their passes.
///
/// The place of a pass across the field is the median of its points; passes that lie on the same line are joined. A point further than
/// the border from its line (a bend, a turn) is left out.
#[must_use]
pub fn lines(points: &[CleanPoint], machines: &Machines, cut: &Cut) -> Vec<Line> {
    let mut places: Vec<(f64, std::ops::Range<usize>)> = Vec::new();
    let mut start = 0;
    for pass in points.chunk_by(|a, b| a.pass == b.pass) {
        let range = start..start + pass.len();
        start = range.end;
        if pass.len() >= FEWEST_POINTS {
            let mut across: Vec<f64> = pass.iter().map(|p| p.across).collect();
            let middle = across.len() / 2;
            let (_, median, _) = across.select_nth_unstable_by(middle, f64::total_cmp);
            places.push((*median, range));
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.start.cmp(&b.1.start)));
    let mut lines: Vec<Line> = Vec::new();
    let near = ONE_LINE * machines.header_m;
    for group in places.chunk_by(|a, b| b.0 - a.0 < near) {
        let weight: usize = group.iter().map(|(_, range)| range.len()).sum();
        let sum: f64 = group
            .iter()
            .map(|(at, range)| at * range.len() as f64)
            .sum();
        let mut line = Line {
            across: sum / weight as f64,
            segments: vec![(0, 0.0); cut.count],
        };
        for point in group.iter().flat_map(|(_, range)| &points[range.clone()]) {
            if (point.across - line.across).abs() <= machines.border_m
                && let Some(at) = cut.segment(point.along)
            {
                line.segments[at].0 += 1;
                line.segments[at].1 += point.yields;
            }
        }
        lines.push(line);
    }
    lines
}
