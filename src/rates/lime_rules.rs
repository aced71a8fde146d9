//! Which published lime rule goes with which buffer, and where.

use super::RatesError;
use crate::rulebook::Rulebook;
use crate::soil::LimeRule;

/// Which published rule goes with which buffer.
pub(super) struct LimeRules {
    by_buffer: Vec<LimeRuleOf>,
}

/// Which published rule goes with which buffer, and where.
struct LimeRuleOf {
    buffer: String,
    regions: Vec<String>,
    rule: LimeRule,
}

impl LimeRules {
    /// The rules of the rulebook; names that `soil` does not know go to the errors.
    pub fn gather(rulebook: &Rulebook, errors: &mut Vec<RatesError>) -> Self {
        let mut by_buffer = Vec::new();
        for choice in &rulebook.limes {
            match LimeRule::from_name(&choice.rule) {
                Ok(rule) => by_buffer.push(LimeRuleOf {
                    buffer: choice.buffer.clone(),
                    regions: choice.regions.clone(),
                    rule,
                }),
                Err(cause) => errors.push(RatesError::LimeRule {
                    buffer: choice.buffer.clone(),
                    cause,
                }),
            }
        }
        Self { by_buffer }
    }

    /// The rule of a buffer in a region, or why there is none.
    ///
    /// # Errors
    /// Why there is none, in words for the note of the rate.
    pub fn for_buffer(&self, buffer: &str, region: Option<&str>) -> Result<LimeRule, String> {
        let mut rules = self.by_buffer.iter();
        let Some(known) = rules.find(|known| known.buffer == buffer) else {
            let found = if buffer.is_empty() {
                "the buffer is not named".to_owned()
            } else {
                format!("no lime rule goes with the buffer {buffer}")
            };
            let known: Vec<&str> = self
                .by_buffer
                .iter()
                .map(|rule| rule.buffer.as_str())
                .collect();
            return Err(format!(
                "{found}; a rule belongs to one buffer, and none is moved to another (known: {})",
                known.join(", ")
            ));
        };
        let is_here = known.regions.is_empty()
            || region.is_some_and(|region| known.regions.iter().any(|other| other == region));
        if is_here {
            return Ok(known.rule);
        }
        Err(format!(
            "each state reads the {buffer} buffer with its own equation, and the rule here is for {}; write region in the plan, or your state's rule in your rulebook file",
            known.regions.join(", ")
        ))
    }
}
