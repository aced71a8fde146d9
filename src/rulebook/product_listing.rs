//! The numbers of the products, each as a line of the listing.

use super::listing::Line;
use super::{Basis, Product, Rulebook};
use crate::units::{Density, UnitSystem, decimal};

impl Rulebook {
    /// Every product: how much a season, its price and pack, what is in it, and where it may be used.
    pub(super) fn product_lines(&self, units: UnitSystem) -> Vec<Line> {
        let of = |product| lines_of(product, units);
        self.products.iter().flat_map(of).collect()
    }
}

fn lines_of(product: &Product, units: UnitSystem) -> Vec<Line> {
    let mut lines = rate_limits(product, units);
    lines.extend(price(product, units));
    lines.extend(analysis(product));
    lines.extend(effectiveness(product));
    lines.extend(carbon_to_nitrogen(product));
    lines.extend(density(product, units));
    lines.extend(pack(product, units));
    lines.extend(where_it_is_used(product));
    lines
}

fn line(
    product: &Product,
    key: &str,
    (value, unit): (f64, &str),
    what: String,
    (basis, source): (Basis, &str),
) -> Line {
    Line {
        key: format!("product.{}.{key}", product.name),
        value: decimal(value, 4),
        unit: unit.to_owned(),
        what,
        basis,
        source: source.to_owned(),
        disputed: None,
    }
}

/// What the product's analysis rests on.
fn ground(product: &Product) -> (Basis, &str) {
    (product.basis, &product.source)
}

fn rate_limits(product: &Product, units: UnitSystem) -> Vec<Line> {
    let (rate, unit) = product.metering.rate_unit(units);
    let caps = [("cap", product.cap), ("surface_cap", product.surface_cap)];
    let mut lines = Vec::new();
    for (key, cap) in caps {
        lines.extend(cap.map(|cap| {
            let what = "most per season".to_owned();
            let ground = (product.cap_basis, product.cap_source.as_str());
            line(product, key, (cap / rate, unit), what, ground)
        }));
    }
    if product.smallest > 0.0 {
        let smallest = (product.smallest / rate, unit);
        let what = "least that spreads evenly".to_owned();
        lines.push(line(product, "smallest", smallest, what, (Basis::Own, "")));
    }
    lines
}

fn price(product: &Product, units: UnitSystem) -> Option<Line> {
    let (per_unit, unit) = product.metering.price_unit(units);
    let price = (product.price? / per_unit, unit);
    let ground = (
        product.price_basis,
        "put in your own under [prices] in the plan",
    );
    Some(line(product, "price", price, "price".to_owned(), ground))
}

fn analysis(product: &Product) -> impl Iterator<Item = Line> {
    product.analysis.parts().map(move |(name, percent)| {
        let what = format!("{name} in {}", product.label);
        line(product, name, (percent, "%"), what, ground(product))
    })
}

/// What lime and gypsum count for.
fn effectiveness(product: &Product) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut push = |key, percent, what: &str| {
        let what = what.to_owned();
        lines.push(line(product, key, (percent, "%"), what, ground(product)));
    };
    if product.effective_neutralizing_value > 0.0 {
        push(
            "effective_neutralizing_value",
            product.effective_neutralizing_value,
            "effective calcium carbonate, percent of pure fine lime",
        );
    }
    if product.purity > 0.0 && product.purity < 100.0 {
        push("purity", product.purity, "purity as gypsum");
    }
    lines
}

fn carbon_to_nitrogen(product: &Product) -> Option<Line> {
    let ratio = (product.carbon_to_nitrogen?, ":1");
    let what = "carbon to nitrogen".to_owned();
    let ground = ground(product);
    Some(line(product, "carbon_to_nitrogen", ratio, what, ground))
}

fn density(product: &Product, units: UnitSystem) -> Option<Line> {
    let density = (product.density?.number_in(units), Density::unit_in(units));
    let what = "mass in a volume".to_owned();
    Some(line(product, "density", density, what, ground(product)))
}

fn pack(product: &Product, units: UnitSystem) -> Option<Line> {
    let (name, size) = product.pack.as_ref()?;
    let (per_pack, unit) = product.metering.amount_unit(units);
    let what = format!("bought in: {name}");
    let ground = (product.price_basis, "put in your supplier's pack");
    let size = (size / per_pack, unit);
    Some(line(product, "pack_size", size, what, ground))
}

fn where_it_is_used(product: &Product) -> impl Iterator<Item = Line> {
    product.only_where.iter().map(move |condition| {
        let what = format!(
            "used only where {} is {} this: {}",
            condition.analyte.label(),
            condition.side.name(),
            condition.why
        );
        let key = format!("only_where.{}", condition.name);
        let value = (condition.value, condition.unit.as_str());
        let ground = (condition.basis, condition.source.as_str());
        line(product, &key, value, what, ground)
    })
}
