//! The ceilings on what the mix brings of a part, each with what it rests on.

use super::need::{Needed, brought};
use super::removal::removal;
use crate::rates::pending_rate::{PendingRate, number};
use crate::rates::zone_context::ZoneContext;
use crate::rulebook::{Factor, Nutrient};
use crate::units::MassPerArea;

/// The parts that ceilings count, in their order.
pub(super) const CEILINGS: [&str; 7] = [
    "phosphate",
    "nitrogen",
    "potash",
    "sulfur",
    "zinc",
    "boron",
    "manganese",
];

/// Most of a part that all products together may bring, and why.
pub(super) struct Ceiling {
    /// kg/ha.
    pub most: f64,
    /// Completes "held by the ceiling of phosphate: ...".
    pub why: String,
}

/// What is left of a ceiling for the mix, beside the rates that are given already, kg/ha.
pub(super) fn room(
    case: ZoneContext<'_>,
    needs: &[Needed],
    given: &[PendingRate],
    part: &str,
) -> f64 {
    // Of potash and the like the need has it off already.
    let besides = match part {
        "phosphate" | "nitrogen" => brought(case, given, part),
        _ => 0.0,
    };
    (ceiling(case, part, needs).most - besides).max(0.0)
}

/// Most of a part that all products of a zone together may bring.
pub(super) fn ceiling(case: ZoneContext<'_>, part: &str, needs: &[Needed]) -> Ceiling {
    let numbers = &case.field.rulebook.numbers;
    let left = |nutrient: Nutrient| {
        let need = needs.iter().find(|need| need.nutrient == nutrient);
        need.map_or(0.0, Needed::left)
    };
    let of = |mass: MassPerArea, what: &str| Ceiling {
        most: mass.kilograms_per_hectare(),
        why: case.told(|| format!("{}, {what}", mass.show(case.field.settings.units, 1))),
    };
    let what_is_short = |nutrient| {
        let mass = MassPerArea::from_kilograms_per_hectare(left(nutrient));
        of(mass, "what is short")
    };
    match part {
        "phosphate" => phosphate(case, needs),
        "nitrogen" => of(numbers.nitrogen_ceiling, "the most that the mix brings"),
        "potash" => {
            let most = of(numbers.potash_ceiling, "the most of one season");
            larger(most, what_is_short(Nutrient::Potash))
        }
        "sulfur" => {
            let most = of(numbers.sulfur_ceiling, "the most that the mix brings");
            larger(most, times_short(case, left(Nutrient::Sulfur)))
        }
        "zinc" => what_is_short(Nutrient::Zinc),
        "manganese" => what_is_short(Nutrient::Manganese),
        "boron" => {
            let most = of(numbers.boron_most, "the most of a season");
            smaller(what_is_short(Nutrient::Boron), most)
        }
        _ => Ceiling {
            most: f64::INFINITY,
            why: String::new(),
        },
    }
}

/// Of total phosphate: so many times what is short, as the table asks for it before anything is taken off, or what the crop takes where
/// that is more. What other rates bring counts under it once, see [`room`].
fn phosphate(case: ZoneContext<'_>, needs: &[Needed]) -> Ceiling {
    let numbers = &case.field.rulebook.numbers;
    let units = case.field.settings.units;
    if case.limit(Factor::PhosphorusExcess).is_some() {
        return Ceiling {
            most: 0.0,
            why: "none, where phosphorus is far above need".to_owned(),
        };
    }
    let of = |mass: MassPerArea, what: &str| Ceiling {
        most: mass.kilograms_per_hectare(),
        why: case.told(|| format!("{}, {what}", mass.show(units, 1))),
    };
    let takes = removal(case, Nutrient::Phosphate).map_or(0.0, |(kilograms, _)| kilograms);
    let usual = if takes > 0.0 {
        let takes = MassPerArea::from_kilograms_per_hectare(takes);
        of(takes, "what the crop takes")
    } else {
        of(numbers.phosphate_ceiling, "about what a good crop takes")
    };
    let mut needs = needs.iter();
    let short = needs.find(|need| need.nutrient == Nutrient::Phosphate);
    let short = times_short(case, short.map_or(0.0, |need| need.wanted));
    let most = of(
        numbers.phosphate_most,
        "the most of all products in a season",
    );
    smaller(larger(usual, short), most)
}

/// A slow source holds more than acts in the first season: so many times what is short.
fn times_short(case: ZoneContext<'_>, short: f64) -> Ceiling {
    let times = case.field.rulebook.numbers.ceiling_over_need;
    Ceiling {
        most: times * short,
        why: case.told(|| {
            format!(
                "{}, {} x the {} that are short",
                case.show_mass(times * short, 1),
                number(times),
                case.show_mass(short, 1)
            )
        }),
    }
}

fn larger(one: Ceiling, other: Ceiling) -> Ceiling {
    if other.most > one.most { other } else { one }
}

fn smaller(one: Ceiling, other: Ceiling) -> Ceiling {
    if other.most < one.most { other } else { one }
}
