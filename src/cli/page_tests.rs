use super::Page;
use crate::cli::color::Tone;
use crate::text::Column;

#[test]
fn nothing_in_a_text_can_reach_the_terminal_as_a_command() {
    let mut page = Page::default();
    page.line(Tone::Plain, "a\x1b[2Jb\rc\u{202e}d\u{9b}e\tf\ng");
    assert_eq!(
        page.render(true),
        "a\\u{1b}[2Jb\\u{d}c\\u{202e}d\\u{9b}e f\\u{a}g\n"
    );
}

#[test]
fn tones_are_sequences_with_color_and_nothing_without() {
    let mut page = Page::default();
    page.pieces([
        (Tone::Wrong, "error".to_owned()),
        (Tone::Plain, " here".to_owned()),
    ]);
    assert_eq!(page.render(false), "error here\n");
    assert_eq!(page.render(true), "\x1b[1;31merror\x1b[0m here\n");
}

#[test]
fn a_table_lines_up_words_left_and_numbers_right() {
    let mut page = Page::default();
    let rows = [
        vec!["pH".to_owned(), "6.5".to_owned()],
        vec!["Größe".to_owned(), "12.25".to_owned()],
    ];
    page.fitted_table(&[Column::text("layer"), Column::number("n", "")], &rows);
    assert_eq!(
        page.render(false),
        "layer      n\n------------\npH       6.5\nGröße  12.25\n"
    );
}
