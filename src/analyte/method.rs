use std::fmt;
use std::sync::Arc;

use serde::Serialize;

/// A test method in kebab case: `water`, `cacl2`, `bray-1`, `mehlich-3`, `smp`, `water-extract`.
///
/// A method is part of what a value is. For cone readings it names the statistic of the push:
/// `profile` (a reading at one depth), `profile-maximum`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct Method(Arc<str>);

impl Method {
    /// The method of a name; blanks and underscores become hyphens, letters lower case.
    #[must_use]
    pub fn new(name: &str) -> Self {
        let text: String = name
            .trim()
            .chars()
            .map(|c| {
                if c.is_whitespace() || c == '_' {
                    '-'
                } else {
                    c.to_ascii_lowercase()
                }
            })
            .collect();
        Self(text.into())
    }

    /// The name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
