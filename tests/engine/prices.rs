//! A price that nobody gave stands beside the money, and the lines of what to buy add up to what is billed for products.

use lowstave::Files;

use crate::small_field;

/// The first sheet of the small field with these lines as its prices.
fn sheet(prices: &str) -> String {
    let plan = small_field::PLAN
        .replace("lime = \"32 USD/ton\"", prices)
        .replace("limit = \"60 USD/ac\"", "limit = \"600 USD/ac\"");
    let files = Files::memory([
        ("plan.toml", plan.as_str()),
        ("boundary.geojson", &small_field::boundary()),
        ("cores.csv", &small_field::cores()),
    ]);
    let run = lowstave::run(&files, "plan.toml").unwrap();
    let files = run.deliver().unwrap().files;
    let report = files.iter().find(|file| file.path == "report.txt").unwrap();
    String::from_utf8(report.bytes.clone()).unwrap()
}

/// Its lines on buying and paying, wrapped ones whole.
fn bill(sheet: &str) -> Vec<String> {
    let (_, rest) = sheet.split_once("BUY AND PAY\n===========\n").unwrap();
    let (chapter, _) = rest.split_once("\n\n").unwrap();
    let mut lines: Vec<String> = Vec::new();
    for line in chapter.lines() {
        match line.strip_prefix(' ').and(lines.last_mut()) {
            Some(last) => *last += &format!(" {}", line.trim_start()),
            None => lines.push(line.to_owned()),
        }
    }
    lines
}

/// Whole dollars in front of a word: "products 1,234 USD" asks for what stands between "products " and " USD".
fn dollars(text: &str, before: &str) -> i64 {
    let (_, rest) = text.split_once(before).unwrap();
    let (number, _) = rest.split_once(" USD").unwrap();
    number.replace(',', "").parse().unwrap()
}

fn line<'a>(bill: &'a [String], start: &str) -> &'a str {
    bill.iter().find(|line| line.contains(start)).unwrap()
}

/// What the lines to buy come to, guesses too.
fn sum(bill: &[String]) -> i64 {
    let lines = bill.iter().filter(|line| line.starts_with("- "));
    let priced = lines.filter(|line| line.contains(" USD"));
    priced
        .map(|line| match line.contains(": about ") {
            true => dollars(line, ": about "),
            false => dollars(line, ": "),
        })
        .sum()
}

#[test]
fn what_nobody_priced_stands_beside_the_money_as_a_guess() {
    let given = bill(&sheet("lime = \"32 USD/ton\""));
    assert!(!line(&given, "calcitic lime").contains("about"));
    // The starter's ingredients are at the rulebook's prices.
    let money = line(&given, "Money: ");
    let guesses = given.iter().filter(|line| line.contains(": about "));
    let guessed: i64 = guesses.map(|line| dollars(line, ": about ")).sum();
    let work = dollars(money, "other work ");
    assert!(guessed > 0, "{given:#?}");
    assert_eq!(dollars(money, "; "), guessed + work, "{money}");
    assert!(
        money.contains(" USD of it guessed (no price given)"),
        "{money}"
    );

    let not_given = bill(&sheet(""));
    assert!(line(&not_given, "calcitic lime").contains(": about "));
    assert!(
        line(&not_given, "Money: ").contains("; all of it guessed (no price given)"),
        "{not_given:#?}"
    );
}

#[test]
fn a_starter_priced_as_a_whole_is_a_line_and_its_ingredients_are_in_it() {
    let parts = bill(&sheet("lime = \"32 USD/ton\""));
    let whole = bill(&sheet("lime = \"32 USD/ton\"\nstarter = \"12 USD/gal\""));
    for lines in [&parts, &whole] {
        let products = dollars(line(lines, "Money: "), "products ");
        assert!((sum(lines) - products).abs() <= 1, "{lines:#?}");
    }
    let starter = whole.iter().find(|line| line.contains("starter"));
    let starter = starter.expect("a line for the starter");
    let (gallons, _) = starter[2..].split_once(" gal ").unwrap();
    let gallons: f64 = gallons.replace(',', "").parse().unwrap();
    let cost = dollars(starter, ": ") as f64;
    // The gallons are printed to a tenth.
    assert!(
        (cost - 12.0 * gallons).abs() <= 12.0 * 0.05 + 0.5,
        "{starter}"
    );
    assert!(whole.iter().any(|line| line.ends_with(": in the mix")));
    assert!(!parts.iter().any(|line| line.contains("in the mix")));
}

#[test]
fn what_is_on_hand_is_said_where_it_would_be_bought_again() {
    let none = bill(&sheet("lime = \"32 USD/ton\""));
    let lime = line(&none, "calcitic lime");
    assert!(!lime.contains("on hand"), "{lime}");
    let (pounds, _) = lime[2..].split_once(" lb ").unwrap();
    let pounds: f64 = pounds.replace(',', "").parse().unwrap();
    let part = bill(&sheet(
        "lime = \"32 USD/ton\"\n[shed]\non_hand = { lime = \"2 ton\" }",
    ));
    assert!(
        line(&part, "calcitic lime").ends_with(", 4,000 lb of it on hand"),
        "{part:#?}"
    );
    let money = line(&part, "Money: ");
    assert!(money.contains("; 64 USD of it is on hand"), "{money}");
    let more = pounds / 2_000.0 + 1.0;
    let all = bill(&sheet(&format!(
        "lime = \"32 USD/ton\"\n[shed]\non_hand = {{ lime = \"{more:.1} ton\" }}"
    )));
    assert!(
        line(&all, "calcitic lime").ends_with(", all of it on hand"),
        "{all:#?}"
    );
}
