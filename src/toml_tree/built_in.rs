use serde::de::DeserializeOwned;

/// A list that is part of the program, from its TOML text; `what` names it. Tests read each such list: no text of a user comes here.
#[must_use]
pub fn built_in<T: DeserializeOwned>(text: &'static str, what: &str) -> T {
    match toml::from_str(text) {
        Ok(list) => list,
        Err(cause) => unreachable!("{what} is faulty: {cause}"),
    }
}
