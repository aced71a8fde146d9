use super::lines::SEGMENT;
use crate::trial::frame::Frame;
use crate::trial::layout::Run;
use crate::trial::machines::Machines;

/// Grain mixes in the combine: so far from a zone line, a headland or the end of a strip a segment must stay, metres. Own.
pub const TRIM: f64 = 15.0;

/// Which zone lies where along each pass, headlands and keep-outs left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground<'a> {
    /// Stretches of each pass, rising.
    pub passes: &'a [Vec<Run>],
}

impl Ground<'_> {
    /// How many positions a check could begin at.
    #[must_use]
    pub fn positions(&self, machines: &Machines) -> usize {
        (self.passes.len() + 1).saturating_sub(machines.check_passes)
    }

    /// The zone that holds a segment of all three lanes with enough way to its ends.
    #[must_use]
    pub fn zone_of(&self, frame: &Frame, across: [f64; 3], middle: f64) -> Option<u32> {
        let reach = 0.5 * SEGMENT + TRIM;
        let zone = |across: f64| {
            let runs = self.passes.get(frame.pass_at(across)?)?;
            runs.iter()
                .find(|run| run.from_m <= middle - reach && run.to_m >= middle + reach)
                .map(|run| run.zone)
        };
        let first = zone(across[0])?;
        (zone(across[1])? == first && zone(across[2])? == first).then_some(first)
    }
}
