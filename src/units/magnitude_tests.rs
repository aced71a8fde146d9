use crate::units::{DataSize, Quantity, TimeSpan};

#[test]
fn a_size_is_told_in_the_unit_that_suits_it() {
    for (bytes, words) in [
        (0.0, "0 B"),
        (999.0, "999 B"),
        (1_340_000_000.0, "1.3 GB"),
        (340e6, "340 MB"),
        (15.8e9, "16 GB"),
        (3e15, "3000 TB"),
    ] {
        assert_eq!(DataSize::from_bytes(bytes).in_words(), words);
    }
}

#[test]
fn a_time_is_told_in_the_unit_that_suits_it() {
    for (seconds, words) in [(12.4, "12 s"), (1_500.0, "25 min"), (7_200.0, "2 h")] {
        assert_eq!(TimeSpan::from_seconds(seconds).in_words(), words);
    }
}

#[test]
fn sizes_and_times_are_read_with_their_units() {
    assert_eq!(DataSize::parse("4 GB").unwrap().bytes(), 4e9);
    assert_eq!(DataSize::parse("2 GiB").unwrap().bytes(), 2_147_483_648.0);
    assert_eq!(TimeSpan::parse("1.5 h").unwrap().seconds(), 5_400.0);
    assert_eq!(TimeSpan::parse("20 minutes").unwrap().seconds(), 1_200.0);
    assert!(DataSize::parse("4").is_err());
}
