//! `lowstave explain DIR --zone N`: one zone's reasons, in full.

use super::arguments::ExplainArguments;
use super::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

pub(super) fn run(_arguments: &ExplainArguments, _terminal: Terminal) -> Result<Outcome, Failure> {
    Err(Error::Unbuilt("deliver").into())
}
