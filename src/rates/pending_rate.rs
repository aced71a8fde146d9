//! A rate in the making: what is needed, what caps and steps leave of it, and every step in words.

use super::material::Material;
use super::money_over_time::BuildUp;
use super::rounding::amount;
use super::zone_context::ZoneContext;
use super::{Aim, CutWord, OwnWord, Rate, RateCap};
use crate::rulebook::{Gate, ProductName};
use crate::units::Metering;
use crate::units::decimal;

/// A rate in the making, kg/ha or L/ha.
#[derive(Debug, Clone)]
pub(super) struct PendingRate {
    pub product: ProductName,
    pub metering: Metering,
    pub needed: f64,
    pub amount: f64,
    pub steps: Vec<String>,
    pub note: Option<String>,
    pub seasons_after: u8,
    pub overridden: Option<String>,
    /// What the consultant set, kg/ha or L/ha, and what became of it: "cut to 4 gal/ac: the ground is tight"; `None` where it goes out as set.
    pub cut: Option<(f64, String)>,
    /// Rate that a check strip could try, where nothing is applied.
    pub strip: Option<f64>,
    /// The lowest cap and why, as the last gate found it.
    pub cap: Option<(f64, String)>,
    /// The highest floor and why, as the last gate found it.
    pub floor: Option<(f64, String)>,
    /// One line where research disputes the rule that asks for it.
    pub disputed: Option<String>,
    /// Whether a test is missing that would tell how much is needed.
    pub is_unknown: bool,
    /// Why the need is only known to be at least this.
    pub at_least: Option<String>,
    /// Whether nothing goes out because so little does not spread evenly.
    pub is_too_little: bool,
    /// The part that builds a soil test up.
    pub build: Option<BuildUp>,
    /// What decided whether it goes out at all, where a gate was asked.
    pub gate: Option<Gate>,
    /// What the whole need aims at.
    pub aim: Option<Aim>,
    /// What the farm's own trials say of it.
    pub own: Option<OwnWord>,
}

impl PendingRate {
    /// Nothing, and nothing needed.
    pub fn nothing(product: &ProductName, metering: Metering) -> Self {
        Self {
            product: product.clone(),
            metering,
            needed: 0.0,
            amount: 0.0,
            steps: Vec::new(),
            note: None,
            seasons_after: 0,
            overridden: None,
            cut: None,
            strip: None,
            cap: None,
            floor: None,
            disputed: None,
            is_unknown: false,
            at_least: None,
            is_too_little: false,
            build: None,
            gate: None,
            aim: None,
            own: None,
        }
    }

    /// Tells what the material supplies at this rate.
    pub fn tell_what_it_supplies(&mut self, case: ZoneContext<'_>, material: Material<'_>) {
        if self.amount <= 0.0 {
            return;
        }
        let decimals = if matches!(material, Material::Starter(_)) {
            2
        } else {
            0
        };
        let supplied: Vec<String> = material
            .supplies()
            .into_iter()
            .map(|(name, kilograms)| {
                let mass = self.amount * kilograms;
                let shown = case.show_mass(mass, decimals);
                format!("{} {shown}", name.replace('_', " "))
            })
            .collect();
        if !supplied.is_empty() {
            self.steps.push(format!("supplies {}", supplied.join(", ")));
        }
    }

    /// Holds the product back.
    pub fn hold_back(&mut self, why: String) {
        self.amount = 0.0;
        self.seasons_after = 0;
        self.note = Some(why);
    }

    /// The finished rate.
    pub fn finish(self) -> Rate {
        let metering = self.metering;
        let cap = self.cap.filter(|(most, _)| most.is_finite());
        Rate {
            product: self.product,
            amount: amount(self.amount, metering),
            needed: amount(self.needed, metering),
            steps: self.steps,
            note: self.note,
            seasons_after: self.seasons_after,
            overridden: self.overridden,
            cut: self.cut.map(|(rate, what)| CutWord {
                asked: amount(rate, metering),
                what,
            }),
            strip: self.strip.map(|rate| amount(rate, metering)),
            cap: cap.map(|(most, why)| RateCap {
                most: amount(most, metering),
                why,
            }),
            least: self
                .floor
                .map(|(least, why)| (amount(least, metering), why)),
            disputed: self.disputed,
            gate: self.gate,
            aim: self.aim,
            own: self.own,
        }
    }
}

/// What the chemistry asks for.
#[derive(Debug, Clone, Default)]
pub(super) struct Need {
    /// kg/ha or L/ha of the product as delivered.
    pub rate: f64,
    /// The formula with its numbers.
    pub steps: Vec<String>,
    /// Why nothing is given although something is needed.
    pub note: Option<String>,
    /// Whether a test is missing that would tell how much.
    pub is_unknown: bool,
    /// Why the need is only known to be at least this.
    pub at_least: Option<String>,
    /// The part that builds a soil test up.
    pub build: Option<BuildUp>,
    /// What the whole need aims at.
    pub aim: Option<Aim>,
}

impl Need {
    /// A rate, kg/ha or L/ha of the product, with the formula that gives it.
    pub fn new(rate: f64, steps: Vec<String>) -> Self {
        Self {
            rate,
            steps,
            ..Self::default()
        }
    }

    /// A need that cannot be told, because a test is missing.
    pub fn unknown(why: impl Into<String>) -> Self {
        Self {
            is_unknown: true,
            ..Self::refused(why)
        }
    }

    /// A need that this product does not meet.
    pub fn refused(why: impl Into<String>) -> Self {
        Self {
            note: Some(why.into()),
            ..Self::default()
        }
    }

    /// Keeps the larger of two needs for the same thing.
    pub fn or_more(self, other: Self) -> Self {
        let (mut more, less) = if other.rate > self.rate {
            (other, self)
        } else {
            (self, other)
        };
        let new: Vec<String> = less
            .steps
            .into_iter()
            .filter(|step| !more.steps.contains(step))
            .collect();
        more.steps.extend(new);
        if more.rate <= 0.0 {
            more.note = more.note.or(less.note);
            more.is_unknown |= less.is_unknown;
        } else if let Some(note) = less.note {
            more.steps.push(note);
        }
        more
    }
}

/// A number in a step.
pub(super) fn number(value: f64) -> String {
    let decimals = if value.abs() < 10.0 { 2 } else { 1 };
    decimal(value, decimals)
}
