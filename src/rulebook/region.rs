use super::Basis;
use super::reader::Entry;

/// A pack of rules for a region.
#[derive(Debug, Clone)]
pub struct Region {
    /// The word of the plan.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// What the pack holds, and what it lacks.
    pub holds: String,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl Region {
    /// The packs that come with the program: the word of the plan and the text.
    pub(super) const PACKS: [(&'static str, &'static str); 14] = [
        ("arkansas", include_str!("regions/arkansas.toml")),
        (
            "england-and-wales",
            include_str!("regions/england-and-wales.toml"),
        ),
        ("iowa", include_str!("regions/iowa.toml")),
        ("kansas", include_str!("regions/kansas.toml")),
        ("minnesota", include_str!("regions/minnesota.toml")),
        ("montana", include_str!("regions/montana.toml")),
        ("nebraska", include_str!("regions/nebraska.toml")),
        (
            "north-carolina",
            include_str!("regions/north-carolina.toml"),
        ),
        ("north-dakota", include_str!("regions/north-dakota.toml")),
        ("ontario", include_str!("regions/ontario.toml")),
        ("oregon", include_str!("regions/oregon.toml")),
        ("pennsylvania", include_str!("regions/pennsylvania.toml")),
        (
            "south-carolina",
            include_str!("regions/south-carolina.toml"),
        ),
        ("tri-state", include_str!("regions/tri-state.toml")),
    ];

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            name: entry.name.to_owned(),
            label: entry.text("label", "write what people call the region"),
            holds: entry.text("holds", "say what the pack holds and what it lacks"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}
