/// Places sorted into square cells, for questions about what lies near.
pub(super) struct CellIndex {
    side: f64,
    west: f64,
    south: f64,
    columns: usize,
    rows: usize,
    /// Where the members of each cell begin in `members`; one more than cells.
    starts: Vec<u32>,
    /// Positions in the list of places, cell by cell, rising in each.
    members: Vec<u32>,
}

/// Most cells: a field with a stray point far away gets wider ones.
const MOST_CELLS: f64 = 4_000_000.0;

impl CellIndex {
    /// Sorts some of the places, named by position, into cells of at least a side.
    pub fn new(places: &[(f64, f64)], chosen: &[u32], side: f64) -> Self {
        let bounds = chosen.iter().map(|&at| places[at as usize]).fold(
            (
                f64::INFINITY,
                f64::INFINITY,
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
            ),
            |(w, s, e, n), (x, y)| (w.min(x), s.min(y), e.max(x), n.max(y)),
        );
        let (west, south) = (bounds.0, bounds.1);
        let (width, height) = ((bounds.2 - west).max(0.0), (bounds.3 - south).max(0.0));
        let side = side
            .max((width * height / MOST_CELLS).sqrt())
            .max(width.max(height) / MOST_CELLS);
        let columns = (width / side) as usize + 1;
        let rows = (height / side) as usize + 1;
        let cell = |(x, y): (f64, f64)| {
            ((y - south) / side) as usize * columns + ((x - west) / side) as usize
        };
        let mut starts = vec![0_u32; columns * rows + 1];
        for &at in chosen {
            starts[cell(places[at as usize]) + 1] += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let mut next = starts.clone();
        let mut members = vec![0_u32; chosen.len()];
        for &at in chosen {
            let slot = &mut next[cell(places[at as usize])];
            members[*slot as usize] = at;
            *slot += 1;
        }
        Self {
            side,
            west,
            south,
            columns,
            rows,
            starts,
            members,
        }
    }

    /// The positions in the cells that a circle touches. The radius is at most the side of a cell.
    pub fn around(&self, (x, y): (f64, f64), radius: f64) -> impl Iterator<Item = u32> + '_ {
        let span = |value: f64, low: f64, count: usize| {
            let at = |v: f64| (((v - low) / self.side).max(0.0) as usize).min(count - 1);
            (at(value - radius), at(value + radius))
        };
        let (left, right) = span(x, self.west, self.columns);
        let (bottom, top) = span(y, self.south, self.rows);
        (bottom..=top).flat_map(move |row| {
            let from = self.starts[row * self.columns + left] as usize;
            let to = self.starts[row * self.columns + right + 1] as usize;
            self.members[from..to].iter().copied()
        })
    }
}
