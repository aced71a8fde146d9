use super::options::DeliverOptions;
use super::overview::Overview;
use super::review::Review;

/// What every format is made from.
#[derive(Debug, Clone, Copy)]
pub struct FormatInput<'a> {
    /// The stages' values, joined and audited.
    pub overview: &'a Overview<'a>,
    /// The facts in words.
    pub review: &'a Review,
    /// What the user chose.
    pub options: DeliverOptions,
}
