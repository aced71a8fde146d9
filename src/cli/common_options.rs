//! The options of every command.

use std::num::NonZeroUsize;

use clap::{Args, ValueEnum};

use super::color::ColorChoice;
use crate::units::{DataSize, Quantity as _};

/// Options of every command.
#[derive(Debug, Clone, Args)]
pub struct CommonOptions {
    /// Print the summary as JSON for machines
    #[arg(long, global = true, help_heading = "Options of every command")]
    pub json: bool,
    /// Print no remarks and no progress on stderr; errors still are
    #[arg(long, short, global = true, help_heading = "Options of every command")]
    pub quiet: bool,
    /// When to use colors; "auto" means on a terminal, unless `NO_COLOR` is set
    #[arg(
        long,
        global = true,
        value_name = "WHEN",
        value_enum,
        default_value_t,
        help_heading = "Options of every command"
    )]
    pub color: ColorChoice,
    /// Number of threads; one for each core unless said. The result does not depend on it
    #[arg(
        long,
        global = true,
        value_name = "COUNT",
        help_heading = "Options of every command"
    )]
    pub threads: Option<NonZeroUsize>,
    /// Most memory that the work may take, such as "4 GB"; three quarters of what is free unless said
    #[arg(
        long,
        global = true,
        value_name = "SIZE",
        value_parser = memory,
        help_heading = "Options of every command"
    )]
    pub memory: Option<DataSize>,
}

fn memory(text: &str) -> Result<DataSize, String> {
    match DataSize::parse(text) {
        Ok(size) if size > DataSize::ZERO => Ok(size),
        Ok(_) => Err("write more than nothing, such as \"4 GB\"".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

impl ValueEnum for ColorChoice {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::Auto, Self::Always, Self::Never]
    }

    fn to_possible_value(&self) -> Option<clap::builder::PossibleValue> {
        Some(clap::builder::PossibleValue::new(self.name()))
    }
}
