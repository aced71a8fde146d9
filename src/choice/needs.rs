//! What the ground asks for, whatever there is to pay for it with.

use crate::plan::Settings;

/// The plan without own rates, budget and scarce stock.
pub(super) fn alone(settings: &Settings) -> Settings {
    let mut settings = settings.clone();
    (settings.overrides, settings.budget) = (Vec::new(), None);
    if let Some(shed) = &mut settings.supply.shed {
        shed.on_hand.retain(|(_, stock)| stock.is_none());
    }
    settings
}
