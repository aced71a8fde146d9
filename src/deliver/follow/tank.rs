//! The mix sheet of a leaf feed: `foliar-N-mix.txt`.

use super::FollowInput;
use super::words;
use crate::deliver::mix::{Sheet, push_load_table, push_purchase_table};
use crate::deliver::numbers::zones_in_words;
use crate::deliver::output_file::OutputFile;
use crate::season::LeafFeed;
use crate::text::Page;
use crate::units::{UnitSystem, VolumePerArea, decimal};

/// The file.
pub(super) fn file(input: &FollowInput, at: usize, sheet: &Sheet<'_>) -> OutputFile {
    let mut page = Page::default();
    if let Some(feed) = input.review.foliar.feeds.get(at) {
        push(&mut page, input, feed, sheet);
    }
    OutputFile::new(format!("foliar-{}-mix.txt", at + 1), page.finish())
}

fn push(page: &mut Page, input: &FollowInput, feed: &LeafFeed, sheet: &Sheet<'_>) {
    let facts = &input.facts;
    let units = facts.units;
    page.chapter(&format!(
        "Leaf feed {}: {}, {} {}",
        feed.number, facts.field, facts.crop, facts.season
    ));
    page.item("When:  ", &feed.when);
    page.item("Where: ", &zones_in_words(&feed.zones));
    page.item("Rate:  ", &words::feed_rate(feed, units));
    page.item("Salt:  ", &salt(feed));
    page.item("Cost:  ", &words::cost(input, feed));
    push_purchase_table(page, sheet);
    page.section("In the tank");
    push_per_tank(page, feed, units);
    if !push_load_table(page, sheet) {
        page.paragraph(
            "The sprayer's tank is not known: say it by --tank, such as \"500 gal\", and each load stands here.",
        );
    }
    page.blank();
    sheet.notes().for_each(|note| page.item("- ", note));
    let told = words::cautions(input, [feed]);
    told.iter()
        .for_each(|caution| page.item("Caution: ", caution));
}

/// "0.42 % of at most 2 % (own: ...)".
pub(super) fn salt(feed: &LeafFeed) -> String {
    format!(
        "{} % of the spray (g in 100 mL), at most {} % ({})",
        decimal(feed.salt_pct, 2),
        decimal(feed.salt_most_pct, 2),
        feed.salt_source
    )
}

/// What a hundred gallons, or a thousand litres, take.
fn push_per_tank(page: &mut Page, feed: &LeafFeed, units: UnitSystem) {
    let (size, volume) = match units {
        UnitSystem::UnitedStates => (100.0, "100 gal"),
        UnitSystem::Metric => (1_000.0, "1,000 L"),
    };
    for (at, product) in feed.products.iter().enumerate() {
        let per_volume =
            product.amount.number_in(units) / VolumePerArea::number_in(feed.spray, units);
        let unit = match units {
            UnitSystem::UnitedStates => "lb",
            UnitSystem::Metric => "kg",
        };
        page.paragraph(&format!(
            "{}. {}: {} {unit} in {volume}, {} %",
            at + 1,
            product.label,
            decimal(per_volume * size, 2),
            decimal(product.concentration_pct, 2)
        ));
    }
}
