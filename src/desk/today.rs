use std::time::{SystemTime, UNIX_EPOCH};

/// Today in universal time, `2026-11-27`.
#[must_use]
pub fn today() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    date(since.map_or(0, |since| (since.as_secs() / 86_400) as i64))
}

/// The date of a number of days since 1 January 1970.
///
/// # Source
/// Hinnant, H. 2013. chrono-compatible low-level date algorithms, `civil_from_days` (from memory).
fn date(days: i64) -> String {
    let from_march = days + 719_468;
    let era = from_march.div_euclid(146_097);
    let day_of_era = from_march.rem_euclid(146_097);
    let year_of_era =
        (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 {
        month_from_march + 3
    } else {
        month_from_march - 9
    };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::date;

    #[test]
    fn days_become_dates() {
        // `date -u -d @N` of GNU coreutils.
        let known = [
            (0, "1970-01-01"),
            (11_016, "2000-02-29"),
            (20_784, "2026-11-27"),
            (20_820, "2027-01-02"),
        ];
        for (days, text) in known {
            assert_eq!(date(days), text);
        }
    }
}
