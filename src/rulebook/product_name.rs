use std::fmt;
use std::ops::Deref;

use serde::{Serialize, Serializer};

/// The name of what is applied: the starter, which is a mix, or a product of the rulebook. It reads as its text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ProductName {
    /// The starter: what the recipe in force mixes.
    Starter,
    /// A product of the rulebook.
    Product(String),
}

impl ProductName {
    /// The word under which the starter goes through plan, rulebook and files.
    const STARTER: &'static str = "starter";

    /// The name of a word.
    #[must_use]
    pub fn new(word: &str) -> Self {
        if word == Self::STARTER {
            Self::Starter
        } else {
            Self::Product(word.to_owned())
        }
    }

    /// The word of plan, rulebook and files.
    #[must_use]
    pub fn as_str(&self) -> &str {
        match self {
            Self::Starter => Self::STARTER,
            Self::Product(name) => name,
        }
    }
}

impl ProductName {
    /// The word for people: "phosphate rock" for `phosphate_rock`.
    #[must_use]
    pub fn words(&self) -> String {
        self.as_str().replace('_', " ")
    }
}

impl Deref for ProductName {
    type Target = str;
    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl From<&str> for ProductName {
    fn from(word: &str) -> Self {
        Self::new(word)
    }
}

impl PartialEq<str> for ProductName {
    fn eq(&self, other: &str) -> bool {
        self.as_str() == other
    }
}

impl PartialEq<&str> for ProductName {
    fn eq(&self, other: &&str) -> bool {
        self.as_str() == *other
    }
}

impl fmt::Display for ProductName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self)
    }
}

impl Serialize for ProductName {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self)
    }
}
