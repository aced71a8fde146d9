use std::fmt;

use serde::Serialize;

/// How a map's values are made. Another interpolator is another variant here and its arm in `fit`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Inverse distance of the observations.
    InverseDistance,
    /// A plane by least squares, plus inverse distance of what it leaves; held to the range of the observations.
    PlaneAndInverseDistance,
}

/// What is done before the inverse distance, as the start of a phrase.
impl fmt::Display for Method {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(match self {
            Self::InverseDistance => "",
            Self::PlaneAndInverseDistance => "a plane, then ",
        })
    }
}
