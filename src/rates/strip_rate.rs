//! A check strip's own rate, through the same caps, floors and steps as every rate.

use super::rounding::down_to_step;
use super::{ProductUse, Rate};
use crate::units::ProductRate;
use crate::units::{MassPerArea, UnitSystem, VolumePerArea};

/// A share by which a rate may lie past a cap or a floor: the rounding of decimals.
const HAIR: f64 = 1e-9;

/// A rate that a strip may get, and what was done to it.
#[derive(Debug, Clone, PartialEq)]
pub struct StripRate {
    /// The rate.
    pub amount: ProductRate,
    /// Why it is not what was asked for; `None` where it is.
    pub cut: Option<String>,
}

impl Rate {
    /// What a strip in this zone may get of this product where `asked` is asked for.
    ///
    /// It is cut to the zone's cap and to whole steps. Where the zone gets nothing, it gets at most what may be tried there without harm.
    ///
    /// # Errors
    /// Why none of it may be tried here: nothing is safe to try, or what is left is less than can be applied.
    pub fn on_a_strip(
        &self,
        asked: ProductRate,
        product: &ProductUse,
        units: UnitSystem,
    ) -> Result<StripRate, String> {
        let show = |amount: ProductRate| shown(amount, units);
        let wanted = asked.per_hectare();
        let mut most = f64::INFINITY;
        let mut why = String::new();
        if let Some(cap) = &self.cap {
            (most, why) = (cap.most.per_hectare(), cap.why.clone());
        }
        if self.amount.is_zero() && wanted > 0.0 {
            let Some(safe) = self.strip else {
                let why = self.note.clone();
                return Err(why.unwrap_or_else(|| "nothing of it is called for here".to_owned()));
            };
            if safe.per_hectare() < most {
                (most, why) = (
                    safe.per_hectare(),
                    format!("{} is what may be tried here", show(safe)),
                );
            }
        }
        let is_over = wanted > most * (1.0 + HAIR);
        let step = product.step.per_hectare();
        let number = down_to_step(wanted.min(most), step);
        let amount = with_number(asked, number);
        if let Some((least, why)) = &self.least
            && wanted > 0.0
            && number < least.per_hectare() * (1.0 - HAIR)
        {
            return Err(why.clone());
        }
        let cut = if is_over {
            Some(format!("cut to {}: {why}", show(amount)))
        } else if (number - wanted).abs() > HAIR * wanted {
            Some(format!("{} is the step below it", show(amount)))
        } else {
            None
        };
        Ok(StripRate { amount, cut })
    }
}

fn with_number(like: ProductRate, number: f64) -> ProductRate {
    match like {
        ProductRate::Volume(_) => {
            ProductRate::Volume(VolumePerArea::from_litres_per_hectare(number))
        }
        ProductRate::Mass(_) => ProductRate::Mass(MassPerArea::from_kilograms_per_hectare(number)),
    }
}

/// A rate as people say it.
fn shown(amount: ProductRate, units: UnitSystem) -> String {
    match amount {
        ProductRate::Volume(rate) => rate.show(units, 2),
        ProductRate::Mass(rate) => rate.show(units, 0),
    }
}
