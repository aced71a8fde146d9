//! `lowstave rulebook [show|check FILE]`: the thresholds in force, each with its source.

use super::arguments::{RulebookAction, RulebookArguments};
use super::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

pub(super) fn run(arguments: &RulebookArguments, _terminal: Terminal) -> Result<Outcome, Failure> {
    match arguments.action.clone().unwrap_or(RulebookAction::Show { file: None }) {
        RulebookAction::Show { .. } | RulebookAction::Check { .. } => Err(Error::Unbuilt("rulebook").into()),
    }
}
