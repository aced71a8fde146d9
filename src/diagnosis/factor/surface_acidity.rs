//! Surface acidity: are the top inches acid over a plough layer that is not?
//!
//! Checks the pH of 0-2 or 0-3 in. Why it matters: on ground that is not tilled, nitrogen makes the top inches acid first, where seed and
//! surface-applied products lie. Fixes: a light dressing of lime on the surface, never the rate of a plough layer; gypsum is no cure, for it
//! does not take hydrogen off. Where the plough layer itself is acid, its lime covers the surface too, so nothing is said here.

use super::Hooks;
use crate::rulebook::Factor;

pub(super) const HOOKS: Hooks = Hooks {
    covered_by: Some(Factor::Acidity),
    ..Hooks::NONE
};
