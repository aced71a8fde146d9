use super::*;

fn read(text: &str) -> Cell<'_> {
    read_cell(text.as_bytes(), NumberStyle::Point, &mut Signs::default())
}

#[test]
fn numbers_are_read_as_they_are_written() {
    for (text, value) in [
        ("6.5", 6.5),
        (" 120 ", 120.0),
        ("-97.1234", -97.1234),
        ("+3", 3.0),
        (".5", 0.5),
        ("5.3E2", 530.0),
        ("1.2e-3", 0.0012),
        ("7.", 7.0),
        ("1 234", 1234.0),
        ("1'234.5", 1234.5),
    ] {
        assert_eq!(read(text), Cell::Number(value), "{text}");
    }
}

#[test]
fn qualifiers_keep_their_limit() {
    assert_eq!(read("<0.5"), Cell::Below(0.5));
    assert_eq!(read("< 0.5"), Cell::Below(0.5));
    assert_eq!(read("≤0.5"), Cell::Below(0.5));
    assert_eq!(read(">200"), Cell::Above(200.0));
    assert_eq!(read("0.4 U"), Cell::Below(0.4));
    assert_eq!(read("4.2 J"), Cell::Estimated(4.2));
    for text in ["ND", "n.d.", "BDL", "BLD", "Trace", "tr", "<"] {
        assert_eq!(read(text), Cell::BelowUnknown, "{text}");
    }
}

#[test]
fn cells_that_say_nothing_are_missing() {
    for text in ["", "  ", "-", "--", "NA", "N/A", "NS", "*"] {
        assert_eq!(read(text), Cell::Missing, "{text}");
    }
}

#[test]
fn words_of_programs_without_a_number_are_told_apart_from_blanks() {
    for (text, word) in [
        ("#DIV/0!", NoNumber::FailedFormula),
        ("#REF!", NoNumber::FailedFormula),
        ("#VALUE!", NoNumber::FailedFormula),
        ("#N/A", NoNumber::NotFound),
        ("NaN", NoNumber::NotANumber),
        ("null", NoNumber::Null),
    ] {
        assert_eq!(read(text), Cell::NoNumber(word), "{text}");
    }
}

#[test]
fn dates_times_and_words_are_no_numbers() {
    for text in [
        "12-Jun",
        "Jun-12",
        "6/12/2026",
        "2026-06-12",
        "12-Jun-26",
        "1:10",
        "01:10:00",
    ] {
        assert_eq!(read(text), Cell::Date, "{text}");
    }
    for text in ["high", "inf", "1.2.x", "--5", "6..5", "~5"] {
        assert!(
            matches!(read(text), Cell::Text | Cell::Unsettled),
            "{text}: {:?}",
            read(text)
        );
    }
}

#[test]
fn a_unit_may_stand_in_the_cell() {
    assert_eq!(read("6.5 ppm"), Cell::WithUnit(6.5, "ppm"));
    assert_eq!(read("2.1%"), Cell::WithUnit(2.1, "%"));
}
