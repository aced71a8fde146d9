/// The cells of a column, one a row.
pub enum Column {
    /// Texts.
    Text(Vec<Option<String>>),
    /// Whole numbers.
    Whole(Vec<Option<i32>>),
    /// Numbers.
    Number(Vec<Option<f64>>),
    /// Bytes.
    Bytes(Vec<Option<Vec<u8>>>),
    /// Lists of texts.
    Texts(Vec<Vec<String>>),
    /// Numbers by name.
    Map(Vec<Vec<(String, f64)>>),
    /// West, south, east and north.
    Box(Vec<[f64; 4]>),
}

impl Column {
    /// How many rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        match self {
            Self::Text(cells) => cells.len(),
            Self::Whole(cells) => cells.len(),
            Self::Number(cells) => cells.len(),
            Self::Bytes(cells) => cells.len(),
            Self::Texts(cells) => cells.len(),
            Self::Map(cells) => cells.len(),
            Self::Box(cells) => cells.len(),
        }
    }
}
