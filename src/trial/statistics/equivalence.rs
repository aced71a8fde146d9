use serde::Serialize;

/// What an interval says beside the gain that pays for the product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// The whole interval is above the break-even.
    Pays,
    /// The whole interval is below the break-even.
    DoesNotPay,
    /// The whole interval is between minus and plus the break-even: two one-sided tests at 5 %.
    NoDifferenceThatMatters,
    /// None of these.
    NotDecided,
}

impl Finding {
    /// The words that are printed.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Pays => "pays",
            Self::DoesNotPay => "does not pay",
            Self::NoDifferenceThatMatters => "no difference that matters",
            Self::NotDecided => "not decided",
        }
    }
}

/// The finding of a 90 % interval beside the break-even gain. An interval inside plus and minus the break-even shows no difference
/// that matters, which says more than that it does not pay.
///
/// # Source
/// Two one-sided tests: Schuirmann, D.J. 1987. Journal of Pharmacokinetics and Biopharmaceutics 15:657-680 (from memory).
#[must_use]
pub fn finding(interval: (f64, f64), break_even: f64) -> Finding {
    let (low, high) = interval;
    if !(low <= high && break_even.is_finite()) {
        Finding::NotDecided
    } else if low > break_even {
        Finding::Pays
    } else if low > -break_even && high < break_even {
        Finding::NoDifferenceThatMatters
    } else if high < break_even {
        Finding::DoesNotPay
    } else {
        Finding::NotDecided
    }
}
