//! The needs of nutrients and what the mix makes of them, by hand from rows of an own rulebook; see docs/mutation-testing.md. Potassium sulfate is
//! half potash and 17.5 % sulfur, so that a pound of potash takes two pounds of it.

use lowstave::analyte::Analyte::*;
use lowstave::plan::YieldGoal;
use lowstave::rates::ZoneRates;
use lowstave::units::MassPerArea;

use crate::ground::{close, fix_of, rules, us, with_shed, without};
use crate::made_zones::{Made, find, key, quantity, rate};

/// Sound ground of 60 ppm potassium, a shed of these products and steps of a thousandth.
fn short_of_potash(products: &[&str]) -> Made {
    let made =
        Made::one()
            .sound()
            .layer(key(Potassium, "ammonium-acetate", "0-6 in"), "ppm", &[60.0]);
    with_shed(made, products, Vec::new()).settings(|settings| {
        settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    })
}

fn by(made: &Made, text: &str) -> ZoneRates {
    made.prescribed_by(&rules(text)).zones.remove(0)
}

/// Pounds of potassium sulfate by a row of the rulebook for potash.
fn of_row(made: &Made, row: &str) -> f64 {
    let text = format!("[rate.national_potash]\n{row}");
    rate(&by(made, &text), "potassium_sulfate")
}

// ---------------------------------------------------------------------------------------------------- rows of the tables

/// 90 - 1 x (60 / 2) = 60 lb.
#[test]
fn an_equation_is_entered_with_the_divided_test() {
    let row = "form = \"equation\"\nconstant = 90\nper_test = -1\ntest_divided_by = 2\n";
    close(of_row(&short_of_potash(&["potassium_sulfate"]), row), 120.0);
}

/// Nothing from a test on: 60 ppm itself is nothing, and 61 and more are not reached.
#[test]
fn nothing_is_given_from_its_test_on() {
    for (from, pounds) in [(58.5, 0.0), (60.0, 0.0), (61.5, 120.0)] {
        let row = format!("form = \"equation\"\nconstant = 60\nnone_from = {from}\n");
        close(
            of_row(&short_of_potash(&["potassium_sulfate"]), &row),
            pounds,
        );
    }
}

/// 10 lb are lifted to the floor of 30; nothing is not.
#[test]
fn the_floor_of_a_row_lifts_what_is_given_and_nothing_else() {
    let made = short_of_potash(&["potassium_sulfate"]);
    close(
        of_row(&made, "form = \"equation\"\nconstant = 10\nfloor = 30\n"),
        60.0,
    );
    let row = "form = \"equation\"\nconstant = 40\nper_test = -1\nfloor = 30\n";
    close(of_row(&made, row), 0.0);
}

/// (50 - 60 / 2) x 2 = 40 lb of build-up and 180 x 0.23 = 41.4 lb of removal, on ground whose CEC nobody measured. Of the cost 40 / 81.4 is spread
/// over 4 years, 0.288591 of it a year at 6 %, the rest over one, 1.06.
#[test]
fn build_up_is_entered_with_the_divided_test_too() {
    let made = without(
        short_of_potash(&["potassium_sulfate"]),
        CationExchangeCapacity,
    );
    let text = "[rate.national_potash]\nform = \"build\"\ncritical = 50\nmaintain_to = 100\nper_ppm = 2\nyears = 4\ntest_divided_by = 2\n";
    let zone = by(&made, text);
    close(rate(&zone, "potassium_sulfate"), 162.8);
    let fix = fix_of(&zone, "potassium_sulfate_spread").expect("it");
    let share = 40.0 / 81.4;
    close(
        us(fix.cost_a_year) / us(fix.cost),
        share * 0.288_591 + (1.0 - share) * 1.06,
    );
}

/// 100 - 10 x 3 % of organic matter.
#[test]
fn a_row_that_asks_for_organic_matter_takes_the_zones() {
    let made = short_of_potash(&["potassium_sulfate"]).layer(
        key(OrganicMatter, "loi", "0-6 in"),
        "%",
        &[3.0],
    );
    let row = "form = \"equation\"\nconstant = 100\nper_organic_matter = -10\n";
    close(of_row(&made, row), 140.0);
}

// ----------------------------------------------------------------------------------------------------------- yield goals

/// 10,080 lb of corn at 56 lb a bushel are 180 bu, which take 41.4 lb of potash.
#[test]
fn a_yield_by_weight_is_counted_in_the_crops_unit() {
    let made = short_of_potash(&["potassium_sulfate"]).settings(|settings| {
        let goal = YieldGoal::Mass(quantity::<MassPerArea>("10080 lb/ac"));
        settings.supply.yield_goals = vec![("corn".into(), goal)];
    });
    close(rate(&by(&made, ""), "potassium_sulfate"), 82.8);
}

fn refused(crop: &str, goal: YieldGoal, text: &str) -> String {
    let made = short_of_potash(&["potassium_sulfate"]).settings(|settings| {
        settings.crop = crop.into();
        settings.supply.yield_goals = vec![(crop.into(), goal)];
    });
    let zone = by(&made, text);
    assert_eq!(rate(&zone, "potassium_sulfate"), 0.0);
    zone.cautions.join("; ")
}

#[test]
fn a_yield_that_the_crop_is_not_counted_in_is_refused() {
    let told = refused("alfalfa", YieldGoal::BushelsPerAcre(5.0), "");
    assert!(
        told.contains("in bushels, and the tables count ton"),
        "{told}"
    );
    let goal = YieldGoal::Mass(quantity::<MassPerArea>("8000 lb/ac"));
    let told = refused(
        "pasture",
        goal,
        "[crop.pasture.removal]\nphosphate = 12\npotash = 50\nbasis = \"own\"\nsource = \"a test\"\n",
    );
    assert!(
        told.contains("the weight of a unit of pasture is not known"),
        "{told}"
    );
}

// ------------------------------------------------------------------------------------------- which products are looked at

/// Products of an own rulebook with potash in percent, price and most in pounds. They spread from 1 lb on.
fn own(products: &[(&str, f64, f64, f64)]) -> String {
    let text = products.iter().map(|(name, potash, dollars, most)| {
        format!(
            "[product.{name}]\nlabel = \"{name}\"\nform = \"dry\"\nfeeds = [\"potash\"]\npotash = {potash}\nprice = \"{dollars} USD/lb\"\n\
             price_basis = \"own\"\ncap = \"{most} lb/ac\"\nsurface_cap = \"{most} lb/ac\"\ncap_basis = \"own\"\ncap_source = \"a test\"\n\
             smallest = \"1 lb/ac\"\norganic_input = true\nbasis = \"own\"\nsource = \"a test\"\n"
        )
    });
    text.collect()
}

/// Of nine products that are in the shed the eight are looked at whose potash is cheapest. Eight of 1 % at 0.10 (10 USD for a pound of potash), of
/// which 2 lb may go out; the ninth, of 50 % at `dollars`, brings all of the 41.4 lb.
fn of_nine(dollars: f64) -> f64 {
    let names = ["a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8", "z9"];
    let mut products: Vec<(&str, f64, f64, f64)> =
        names.iter().map(|name| (*name, 1.0, 0.1, 2.0)).collect();
    products[8] = ("z9", 50.0, dollars, 1_000.0);
    rate(&by(&short_of_potash(&names), &own(&products)), "z9")
}

#[test]
fn the_eight_cheapest_suppliers_are_looked_at() {
    // 1 USD and 20 USD for a pound of potash.
    close(of_nine(0.5), 82.8);
    close(of_nine(10.0), 0.0);
}

/// What is not in the shed takes no place: eight cheap products that are closed, and the dear one of the shed goes out.
#[test]
fn a_product_that_is_closed_takes_no_place() {
    let names = ["a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8", "z9"];
    let mut products: Vec<(&str, f64, f64, f64)> =
        names.iter().map(|name| (*name, 50.0, 0.1, 400.0)).collect();
    products[8].2 = 2.0;
    let zone = by(&short_of_potash(&["z9"]), &own(&products));
    close(rate(&zone, "z9"), 82.8);
}

/// Two needs of which one has one supplier and the other nine, in two orders of price. Sulfur is met by gypsum alone (12 % of it, 100 lb); the
/// ninth for potash is not looked at, for gypsum has a place.
#[test]
fn each_need_keeps_a_supplier() {
    let names = [
        "a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8", "z9", "gypsum",
    ];
    let mut products: Vec<(&str, f64, f64, f64)> = names[..9]
        .iter()
        .map(|name| (*name, 1.0, 0.1, 2.0))
        .collect();
    products[6] = ("a7", 50.0, 10.0, 1_000.0);
    let made = short_of_potash(&names).layer(key(Sulfur, "mehlich-3", "0-6 in"), "ppm", &[2.0]);
    let sulfur = "[rate.sulfur]\nnutrient = \"sulfur\"\nform = \"steps\"\nsteps = [[0, 84]]\nbasis = \"own\"\nsource = \"a test\"\n";
    let zone = by(&made, &format!("{}{sulfur}", own(&products)));
    // 84 lb of 16.8 % are 500 lb.
    close(rate(&zone, "gypsum"), 500.0);
    assert_eq!(rate(&zone, "a7"), 0.0);
}

/// Three needs in turn: two suppliers of each are six products, the third of phosphate and of potash are eight, and the third of sulfur, the only one
/// of use, is not looked at. With seven others it is.
#[test]
fn no_ninth_product_is_looked_at() {
    let rate_of = |with_p3: bool| {
        let mut names = vec!["p1", "p2", "k1", "k2", "k3", "s1", "s2", "s3"];
        if with_p3 {
            names.push("p3");
        }
        let products = names.iter().map(|name| {
            let (part, dollars) = (&name[..1], &name[1..]);
            let (part, most) = match part {
                "p" => ("phosphate", 2.0),
                "k" => ("potash", 2.0),
                _ => ("sulfur", if *name == "s3" { 1_000.0 } else { 2.0 }),
            };
            (*name, part, dollars.parse::<f64>().expect("a price"), most)
        });
        let mut text: String = products
            .map(|(name, part, dollars, most)| {
                own(&[(name, 50.0, dollars / 10.0, most)])
                    .replace("\"potash\"", &format!("\"{part}\""))
                    .replace("potash =", &format!("{part} ="))
            })
            .collect();
        for (row, nutrient) in [
            ("national_phosphate", "phosphate"),
            ("national_potash", "potash"),
            ("sulfur", "sulfur"),
        ] {
            text += &format!(
                "[rate.{row}]\nnutrient = \"{nutrient}\"\nform = \"steps\"\nsteps = [[0, 50]]\nbasis = \"own\"\nsource = \"a test\"\n"
            );
        }
        let made = short_of_potash(&names).with(Phosphorus, &[10.0]).layer(
            key(Sulfur, "mehlich-3", "0-6 in"),
            "ppm",
            &[2.0],
        );
        rate(
            &by(&made, &(text + "[crop.corn]\ntakes_starter = false\n")),
            "s3",
        )
    };
    close(rate_of(false), 100.0);
    close(rate_of(true), 0.0);
}

/// A need of potash alone: suppliers of what is not short take no place. Four cheap products of little use, and the fifth brings all.
#[test]
fn suppliers_of_what_is_not_short_are_not_looked_at() {
    let names = ["a1", "a2", "a3", "a4", "z9"];
    let mut products: Vec<(&str, f64, f64, f64)> =
        names.iter().map(|name| (*name, 1.0, 0.001, 2.0)).collect();
    products[4] = ("z9", 50.0, 0.1, 1_000.0);
    let mut shed = names.to_vec();
    shed.extend([
        "bone_meal",
        "gypsum",
        "kieserite",
        "zinc_sulfate",
        "soluble_borate",
    ]);
    shed.push("manganese_sulfate");
    close(
        rate(&by(&short_of_potash(&shed), &own(&products)), "z9"),
        82.8,
    );
}

// ------------------------------------------------------------------------------------------------------- what is left unmet

/// A row that asks for 100 lb of potash, and a most of so many pounds of potassium sulfate.
fn unmet(most: f64) -> String {
    let text = format!(
        "[rate.national_potash]\nform = \"steps\"\nsteps = [[0, 100]]\n[product.potassium_sulfate]\ncap = \"{most} lb/ac\"\nsurface_cap = \"{most} lb/ac\"\n"
    );
    let zone = by(&short_of_potash(&["potassium_sulfate"]), &text);
    close(rate(&zone, "potassium_sulfate"), most);
    let cautions = zone.cautions.into_iter();
    cautions.filter(|c| c.contains("left unmet")).collect()
}

/// 100 lb bring 50 of 100 lb, 199 bring 99.5: half a percent is rounding, and two percent are not.
#[test]
fn what_is_left_unmet_is_told_from_two_percent_on() {
    let told = unmet(100.0);
    assert!(told.contains("50 lb/ac of 100 lb/ac left unmet"), "{told}");
    assert_eq!(unmet(199.0), "");
    assert!(!unmet(194.0).is_empty());
}

/// A product of the mix that does not go out is not spoken of.
#[test]
fn what_the_mix_leaves_out_has_no_rate() {
    let zone = by(&short_of_potash(&["potassium_sulfate", "langbeinite"]), "");
    close(rate(&zone, "potassium_sulfate"), 82.8);
    assert!(find(&zone, "langbeinite").is_none(), "{:#?}", zone.rates);
}
