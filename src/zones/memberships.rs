//! How far each cell belongs to each class.

/// Memberships of cells in classes; each cell's sum to 1.
///
/// # Shape
/// Row-major, cell x class.
#[derive(Debug, Clone, PartialEq)]
pub struct Memberships {
    classes: usize,
    values: Vec<f64>,
}

impl Memberships {
    /// From row-major values; a last row that is not complete is cut off.
    #[must_use]
    pub fn new(classes: usize, mut values: Vec<f64>) -> Self {
        let classes = classes.max(1);
        values.truncate(values.len() / classes * classes);
        Self { classes, values }
    }

    /// Number of classes.
    #[must_use]
    pub fn classes(&self) -> usize {
        self.classes
    }

    /// Number of cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.values.len() / self.classes
    }

    /// One row per cell.
    pub fn rows(&self) -> impl Iterator<Item = &[f64]> {
        self.values.chunks_exact(self.classes)
    }

    /// The class with the largest membership of each cell, the first of equal ones.
    #[must_use]
    pub fn largest(&self) -> Vec<u8> {
        let most = |row: &[f64]| {
            (1..row.len()).fold(
                0,
                |best, class| if row[class] > row[best] { class } else { best },
            )
        };
        self.rows().map(|row| most(row) as u8).collect()
    }

    /// Partition coefficient F, the mean over cells of the sum of squared memberships.
    ///
    /// # Range
    /// 1 / classes (formless) to 1 (crisp).
    ///
    /// # Source
    /// Bezdek 1981, "Pattern recognition with fuzzy objective function algorithms", chapter 4.
    #[must_use]
    pub fn partition_coefficient(&self) -> f64 {
        self.values.iter().map(|u| u * u).sum::<f64>() / self.cells().max(1) as f64
    }

    /// Classification entropy H, the mean over cells of -sum u ln u.
    ///
    /// # Range
    /// 0 (crisp) to ln classes (formless).
    ///
    /// # Source
    /// Bezdek 1981, "Pattern recognition with fuzzy objective function algorithms", chapter 4; 0 ln 0 is 0.
    #[must_use]
    pub fn entropy(&self) -> f64 {
        let term = |&u: &f64| if u > 0.0 { -u * u.ln() } else { 0.0 };
        self.values.iter().map(term).sum::<f64>() / self.cells().max(1) as f64
    }
}
