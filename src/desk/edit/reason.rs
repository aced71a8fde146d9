/// The reason that is written beside what changed.
#[derive(Debug, Clone, Copy)]
pub struct Reason<'a> {
    /// The day, `2026-11-27`.
    pub day: &'a str,
    /// Why.
    pub why: &'a str,
}
