use super::{nearest, shorten};

const WORDS: [&str; 5] = ["cell", "crop", "row_spacing", "flow_per_row", "p"];

#[test]
fn one_slip_in_a_short_word_is_forgiven() {
    assert_eq!(nearest("cel", WORDS), Some("cell"));
    assert_eq!(
        nearest("corp", WORDS),
        Some("crop"),
        "swapped letters are one slip"
    );
}

#[test]
fn case_blanks_and_hyphens_do_not_count() {
    assert_eq!(nearest("Row Spacing", WORDS), Some("row_spacing"));
    assert_eq!(nearest("P", WORDS), Some("p"));
}

#[test]
fn a_word_of_another_kind_has_no_neighbour() {
    assert_eq!(nearest("tillage", WORDS), None);
    assert_eq!(
        nearest("q", WORDS),
        None,
        "a single letter is never a slip of another"
    );
    assert_eq!(nearest(&"cell".repeat(1000), WORDS), None);
    assert_eq!(nearest("", WORDS), None);
}

#[test]
fn long_quotes_are_cut_between_characters() {
    assert_eq!(shorten("short"), "short");
    let cut = shorten(&"ß".repeat(100));
    assert_eq!(cut.chars().count(), 81);
    assert!(cut.ends_with('…'));
}
