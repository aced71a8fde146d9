use super::{BUILT_IN, NUTRIENTS, Region, SEASON};
use crate::files::sha256;

/// SHA-256 of all that is built in: the rulebook, the nutrient tables, the season's rules and the regions, in that order.
#[must_use]
pub fn built_in_sha256() -> String {
    let regions = Region::PACKS.iter().map(|(_, text)| *text);
    let texts: Vec<&str> = [BUILT_IN, NUTRIENTS, SEASON]
        .into_iter()
        .chain(regions)
        .collect();
    sha256(texts.join("\n").as_bytes())
}
