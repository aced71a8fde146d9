//! The zones on cells of the graticule: rows from south to north, columns from west to east.

use crate::deliver::degrees::{Part, Spot, bounds, is_across_180};

/// Metres in a degree of latitude, and of longitude at the equator, near enough for the size of a cell.
const METRES_PER_DEGREE: (f64, f64) = (111_132.0, 111_320.0);
/// The format's most decimals of a cell's size and corner.
const DECIMALS: i32 = 9;

/// Zones on degree cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// South edge of the first row, degrees.
    pub south: f64,
    /// West edge of the first column, degrees.
    pub west: f64,
    /// Height and width of a cell, degrees.
    pub cell: (f64, f64),
    /// Number of columns.
    pub columns: usize,
    /// Number of rows.
    pub rows: usize,
    /// Position of the piece that holds each cell's centre, plus 1; 0 outside all.
    pub zone: Vec<u16>,
}

impl Raster {
    /// Cells of about `metres` over all pieces, each of some parts; `None` without any.
    #[must_use]
    pub fn new(pieces: &[&[Part]], metres: f64) -> Option<Self> {
        let all = || pieces.iter().flat_map(|parts| parts.iter());
        let is_across = is_across_180(all().flat_map(|part| &part.outer));
        let on_one_turn = |part: &Part| {
            if is_across {
                part.eastward()
            } else {
                part.clone()
            }
        };
        let turned: Vec<Part> = all().map(on_one_turn).collect();
        let (low, high) = bounds(turned.iter().flat_map(|part| &part.outer))?;
        let middle = f64::midpoint(low.latitude(), high.latitude()).to_radians();
        let cell = (
            rounded(metres / METRES_PER_DEGREE.0),
            rounded(metres / (METRES_PER_DEGREE.1 * middle.cos())),
        );
        let count = |from: f64, to: f64, size: f64| ((to - from) / size).ceil().max(1.0) as usize;
        let rows = count(low.latitude(), high.latitude(), cell.0);
        let columns = count(low.longitude(), high.longitude(), cell.1);
        let mut raster = Self {
            south: low.latitude(),
            west: low.longitude(),
            cell,
            columns,
            rows,
            zone: vec![0; rows * columns],
        };
        for (position, parts) in pieces.iter().enumerate() {
            for part in *parts {
                raster.fill(&on_one_turn(part), position as u16 + 1);
            }
        }
        Some(raster)
    }

    /// Writes a mark into every cell whose centre lies inside a part and outside its holes.
    fn fill(&mut self, part: &Part, mark: u16) {
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.rows];
        for ring in std::iter::once(&part.outer).chain(&part.holes) {
            for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                self.cross(*a, *b, &mut crossings);
            }
        }
        for (row, longitudes) in crossings.iter_mut().enumerate() {
            longitudes.sort_by(f64::total_cmp);
            for pair in longitudes.chunks_exact(2) {
                let (from, to) = (
                    self.first_column_from(pair[0]),
                    self.first_column_from(pair[1]),
                );
                self.zone[row * self.columns + from..row * self.columns + to].fill(mark);
            }
        }
    }

    /// Notes where an edge crosses the middle of each row.
    fn cross(&self, a: Spot, b: Spot, crossings: &mut [Vec<f64>]) {
        let (low, high) = if a.lat <= b.lat { (a, b) } else { (b, a) };
        let from = self.first_row_from(low.latitude());
        let to = self.first_row_from(high.latitude());
        for (row, found) in crossings.iter_mut().enumerate().take(to).skip(from) {
            let latitude = self.south + (row as f64 + 0.5) * self.cell.0;
            let along = (latitude - low.latitude()) / (high.latitude() - low.latitude());
            found.push(low.longitude() + along * (high.longitude() - low.longitude()));
        }
    }

    fn first_row_from(&self, latitude: f64) -> usize {
        (((latitude - self.south) / self.cell.0 - 0.5)
            .ceil()
            .max(0.0) as usize)
            .min(self.rows)
    }

    fn first_column_from(&self, longitude: f64) -> usize {
        (((longitude - self.west) / self.cell.1 - 0.5)
            .ceil()
            .max(0.0) as usize)
            .min(self.columns)
    }
}

fn rounded(degrees: f64) -> f64 {
    let steps = 10_f64.powi(DECIMALS);
    (degrees * steps).round().max(1.0) / steps
}
