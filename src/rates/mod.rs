//! Stage 7: findings become a starter rate, amendment rates and an order of fixes, inside every cap.

mod prescription;

pub use prescription::{Amount, BudgetOutcome, Fix, Ingredient, Load, Prescription, ProductForm, ProductUse, Rate, Recipe, ZoneRates};
