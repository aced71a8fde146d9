//! How a table is shown, before it is SLD or QML.

use crate::deliver::colours::{Colour, treatment};
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::deliver::review::{Treatment, do_first, treatments};

/// Ink of lines and letters.
const INK: Colour = [16, 20, 24];
const WHITE: Colour = [255, 255, 255];
const GREY: Colour = [120, 120, 120];

/// One way to show a table.
#[derive(Debug)]
pub struct Style {
    /// Its name.
    pub name: &'static str,
    /// What the column tells apart; `None` where all features look the same.
    pub by: Option<&'static str>,
    /// One look per value of that column, or a single one.
    pub looks: Vec<Look>,
    /// Column that stands on the map as text.
    pub label: Option<&'static str>,
}

/// How the features of one value look.
#[derive(Debug)]
pub struct Look {
    /// The value.
    pub value: Option<u32>,
    /// The line in the legend.
    pub title: String,
    /// What is drawn.
    pub symbol: Symbol,
}

/// What is drawn; widths in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Symbol {
    /// An area with its rim.
    Area {
        /// Colour and how much it covers, 0 to 1.
        fill: (Colour, f64),
        /// Colour and width of the rim.
        rim: (Colour, f64),
    },
    /// A round mark.
    Round {
        /// Colour.
        fill: Colour,
        /// Colour and width of the rim.
        rim: (Colour, f64),
        /// Diameter.
        size: f64,
    },
    /// A triangle that stands on its tip, as the cone does.
    Triangle {
        /// Colour.
        fill: Colour,
        /// Colour and width of the rim.
        rim: (Colour, f64),
        /// Height.
        size: f64,
    },
}

impl Style {
    /// The zones in the report's colours, each with its number; what comes first and rates in the legend.
    #[must_use]
    pub fn of_zones(overview: &Overview<'_>) -> Self {
        let treatments = treatments(overview);
        let of_zone = |place: usize| {
            let found = treatments.iter().position(|t| t.zones.contains(&place));
            found.unwrap_or(0)
        };
        let look = |place: usize| Look {
            value: Some(overview.zones[place].number),
            title: legend_line(overview, &treatments[of_zone(place)], place),
            symbol: Symbol::Area {
                fill: (treatment(of_zone(place)), 1.0),
                rim: (WHITE, 0.75),
            },
        };
        let count = overview.zones.len();
        Self {
            name: "zones",
            by: Some("zone"),
            looks: (0..count).map(look).collect(),
            label: Some("zone"),
        }
    }

    /// Soil cores.
    #[must_use]
    pub fn of_cores() -> Self {
        Self::single(
            "cores",
            "Soil cores",
            Symbol::Round {
                fill: WHITE,
                rim: (INK, 1.0),
                size: 6.0,
            },
        )
    }

    /// Cone pushes.
    #[must_use]
    pub fn of_pushes() -> Self {
        Self::single(
            "cone_pushes",
            "Cone pushes",
            Symbol::Triangle {
                fill: WHITE,
                rim: (INK, 1.0),
                size: 7.0,
            },
        )
    }

    /// Where nothing is placed.
    #[must_use]
    pub fn of_keep_outs() -> Self {
        Self::single(
            "keep_outs",
            "No product is placed here",
            Symbol::Area {
                fill: (GREY, 0.6),
                rim: (INK, 1.0),
            },
        )
    }

    /// The field's edge.
    #[must_use]
    pub fn of_boundary() -> Self {
        Self::single(
            "boundary",
            "Boundary of the field",
            Symbol::Area {
                fill: (WHITE, 0.0),
                rim: (INK, 1.75),
            },
        )
    }

    fn single(name: &'static str, title: &str, symbol: Symbol) -> Self {
        Self {
            name,
            by: None,
            looks: vec![Look {
                value: None,
                title: title.to_owned(),
                symbol,
            }],
            label: None,
        }
    }
}

/// `Zone 1 (A): spread gypsum, 500 lb/ac; Starter 0 gal/ac, Gypsum 500 lb/ac`.
fn legend_line(overview: &Overview<'_>, treatment: &Treatment, place: usize) -> String {
    let view = &overview.zones[place];
    let first = do_first(overview, place);
    let rates: Vec<String> = overview
        .used_columns()
        .map(|c| {
            format!(
                "{} {} {}",
                c.product.label,
                grouped(c.rates[place], c.decimals),
                c.unit
            )
        })
        .collect();
    let rates = if rates.is_empty() {
        String::new()
    } else {
        format!("; {}", rates.join(", "))
    };
    format!(
        "Zone {} ({}): {first}{rates}",
        view.number, treatment.letter
    )
}
