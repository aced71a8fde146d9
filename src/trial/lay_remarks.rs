//! What there is to say where strips were laid, or could not be.

use super::strip_plan::StripSet;
use super::treatment::Treatment;
use crate::plan::{FixedOrAuto, StripSettings};
use crate::remark::Remark;

/// Fewer strips than the plan asks for by number.
pub(super) fn fewer(asked: &StripSettings, set: &StripSet) -> Option<Remark> {
    let FixedOrAuto::Fixed(wanted) = asked.count else {
        return None;
    };
    let laid = set.draw.checks.len();
    (laid < wanted).then(|| {
        let what = format!(
            "{wanted} strips \"{}\" are asked for; {laid} fit",
            set.treatment
        );
        Remark::warning("fewer-strips", what)
            .at(asked.place.clone())
            .help("a zone gives up a twentieth of its area at most; shorter strips leave room for more")
    })
}

/// Passes to be avoided that the field does not have.
pub(super) fn passes_off_the_field(asked: &StripSettings, passes: usize) -> Option<Remark> {
    let off: Vec<String> = asked
        .avoid_passes
        .iter()
        .filter(|pass| **pass > passes)
        .map(ToString::to_string)
        .collect();
    (!off.is_empty()).then(|| {
        let what = format!(
            "strips.avoid_passes names {}, but the field has {passes} passes at this swath and heading",
            off.join(", ")
        );
        Remark::warning("passes-off-the-field", what)
            .at(asked.place.clone())
            .help("count passes from 1 at the left edge, seen along machine.heading")
    })
}

/// Why no strip of a treatment lies anywhere.
pub(super) fn no_room(treatment: &Treatment, asked: &StripSettings) -> Remark {
    if treatment.zones.is_empty() {
        let what = format!(
            "\"{}\" changes no rate in any zone: no check strip is laid for it",
            treatment.name
        );
        return Remark::warning("no-check-strips", what)
            .at(asked.place.clone())
            .help("name a product that goes out there, or another rate");
    }
    let what = format!(
        "no two check strips of \"{}\" fit: a strip needs a whole pass with a whole pass on either side in one zone, off the headlands, and at most \
         a twentieth of the zone",
        treatment.name
    );
    Remark::warning("no-check-strips", what)
        .at(asked.place.clone())
        .help("lower strips.length, or take [strips] out; a strip under 100 ft says little")
}

/// A plan that does not say how wide the header is.
pub(super) fn header_assumed(asked: &StripSettings) -> Option<Remark> {
    let what = "the plan does not say how wide the combine's header is; the strips are laid for one as wide as the planter";
    asked.header.is_none().then(|| {
        Remark::assumption("header-assumed", what)
            .at(asked.place.clone())
            .help("write header = \"30 ft\" in [strips]: a strip must hold a whole header")
    })
}
