use std::path::Path;

use crate::files::{Files, sha256};

/// The texts that the page changes: the plan, and the user's rulebook where the plan names one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Texts {
    /// The plan's file name.
    pub plan_file: String,
    /// The plan.
    pub plan: String,
    /// The rulebook's file as the plan names it, and its text.
    pub rules: Option<(String, String)>,
}

impl Texts {
    /// What tells one state from another.
    #[must_use]
    pub fn hash(&self) -> String {
        let rules = self.rules.as_ref();
        let (name, text) = rules.map_or(("", ""), |(name, text)| (name, text));
        sha256(format!("{}\n\0{name}\0{text}", self.plan).as_bytes())
    }

    /// A folder's files with these texts laid over it.
    #[must_use]
    pub fn over(&self, folder: &Files) -> Files {
        folder.with(self.named())
    }

    /// Each with its name.
    #[must_use]
    pub fn named(&self) -> Vec<(String, String)> {
        let plan = (self.plan_file.clone(), self.plan.clone());
        std::iter::once(plan)
            .chain(self.rules.iter().cloned())
            .collect()
    }

    /// The plan's path in its folder.
    #[must_use]
    pub fn plan_path(&self) -> &Path {
        Path::new(&self.plan_file)
    }
}
