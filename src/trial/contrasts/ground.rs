use super::lines::SEGMENT;
use crate::trial::layout::Run;

/// Grain mixes in the combine: so far from a zone line, a headland or the end of a strip a segment must stay, metres. Own.
pub const TRIM: f64 = 15.0;

/// Which pieces each position has: where a check lies or would have lain.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground<'a> {
    /// Pieces of each position, rising along the pass; check and both sides lie in the piece's zone.
    pub positions: &'a [Vec<Run>],
}

impl Ground<'_> {
    /// The zone of a segment that has enough way to both ends of its piece.
    #[must_use]
    pub fn zone_of(&self, position: usize, middle: f64) -> Option<u32> {
        let reach = 0.5 * SEGMENT + TRIM;
        let pieces = self.positions.get(position)?;
        pieces
            .iter()
            .find(|run| run.from_m <= middle - reach && run.to_m >= middle + reach)
            .map(|run| run.zone)
    }
}
