//! `lowstave start DIR --boundary B --points P...`: a commented plan file from the files' own columns.

use super::arguments::StartArguments;
use super::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

pub(super) fn run(_arguments: &StartArguments, _terminal: Terminal) -> Result<Outcome, Failure> {
    Err(Error::Unbuilt("intake").into())
}
