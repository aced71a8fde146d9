//! What every map of the zones says of a zone: the same names, in the same order, with the same values.

use super::columns::property_name;
use super::overview::Overview;
use super::pieces::Piece;
use super::review::{do_first, not_known};
use super::zone_view::ZoneView;
use crate::rulebook::ProductName;
use crate::units::{MoneyPerArea, Quantity, UnitSystem, VolumePerArea, decimal};

/// Decimals of areas: a square metre.
const AREA_DECIMALS: usize = 4;
/// Decimals of rates; the step of the controller is coarser.
const RATE_DECIMALS: usize = 6;

/// A value of a zone.
#[derive(Debug, Clone, PartialEq)]
pub enum Property {
    /// A whole number.
    Whole(u32),
    /// A number as it is printed, plain decimal.
    Number(String),
    /// A text, or nothing.
    Text(Option<String>),
    /// Several texts.
    Texts(Vec<String>),
}

impl Property {
    /// A number with at most so many decimals.
    fn number(value: f64, decimals: usize) -> Self {
        Self::Number(decimal(value, decimals))
    }

    /// The value as JSON; a whole number stays one.
    #[must_use]
    pub fn json(self) -> serde_json::Value {
        match self {
            Self::Whole(number) => number.into(),
            Self::Number(text) => text
                .parse::<serde_json::Number>()
                .map_or(serde_json::Value::Null, Into::into),
            Self::Text(text) => text.into(),
            Self::Texts(texts) => texts.into(),
        }
    }
}

/// Names and values of a piece's properties, in their order. A strip has its zone's, with its own rates and a name; where there are no
/// strips, no piece has a `strip`.
#[must_use]
pub fn properties(overview: &Overview<'_>, piece: &Piece<'_>) -> Vec<(String, Property)> {
    let place = piece.place;
    let view = &overview.zones[place];
    let area = |system| Property::number(piece.area.number_in(system), AREA_DECIMALS);
    let mut rows = vec![("zone".to_owned(), Property::Whole(view.number))];
    if !overview.stages.strips.sets.is_empty() {
        let name = piece.strip.map(|strip| strip.name.clone());
        rows.push(("strip".to_owned(), Property::Text(name)));
    }
    rows.extend([
        ("area_ha".to_owned(), area(UnitSystem::Metric)),
        ("area_ac".to_owned(), area(UnitSystem::UnitedStates)),
    ]);
    if overview
        .columns
        .iter()
        .all(|column| column.product.name != ProductName::Starter)
    {
        // The contract names this property in every prescription; without a starter its rate is 0.
        let unit = VolumePerArea::unit_in(overview.units);
        rows.push((property_name("starter", unit), Property::number(0.0, 0)));
    }
    rows.extend(
        overview
            .columns
            .iter()
            .zip(&piece.rates)
            .map(|(column, rate)| (column.name.clone(), Property::number(*rate, RATE_DECIMALS))),
    );
    rows.extend(limits(view));
    rows.push((
        "reason".to_owned(),
        Property::Text(Some(reason(piece, &view.rates.reason))),
    ));
    rows.push((
        "do_first".to_owned(),
        Property::Text(Some(match piece.strip {
            Some(strip) => format!(
                "Check strip \"{}\": its own rates, harvest it by itself",
                strip.name
            ),
            None => do_first(overview, place),
        })),
    ));
    rows.push((
        "not_known".to_owned(),
        Property::Texts(not_known(overview, place)),
    ));
    let cost = MoneyPerArea::in_unit(piece.cost, "USD/ac").unwrap_or_default();
    rows.push(("cost_usd_ac".to_owned(), Property::number(cost, 2)));
    rows
}

/// The same of the map of a leaf feed: what a prescription says of the soil is not said there, and the cost is in the printed unit.
#[must_use]
pub fn feed_properties(overview: &Overview<'_>, piece: &Piece<'_>) -> Vec<(String, Property)> {
    let starter = property_name("starter", VolumePerArea::unit_in(overview.units));
    let is_told = |key: &str| {
        !(key == starter || key == "confidence" || key == "not_known" || key.starts_with("limit_"))
    };
    let mut rows = properties(overview, piece);
    rows.retain(|(key, _)| is_told(key));
    if let (UnitSystem::Metric, Some(cost)) = (overview.units, rows.last_mut()) {
        let number = Property::number(piece.cost.dollars_per_hectare(), 2);
        *cost = ("cost_usd_ha".to_owned(), number);
    }
    rows
}

/// A strip says that it is one before it says what its zone says.
fn reason(piece: &Piece<'_>, of_zone: &str) -> String {
    match piece.strip {
        Some(strip) => format!(
            "Check strip \"{}\": harvest it by itself. The zone around it: {of_zone}",
            strip.name
        ),
        None => of_zone.to_owned(),
    }
}

/// The first three limits, and how sure the first is.
fn limits(view: &ZoneView<'_>) -> Vec<(String, Property)> {
    let limits = view.limits();
    let mut rows: Vec<(String, Property)> = Vec::new();
    let limit = |at: usize| {
        Property::Text(
            limits
                .get(at)
                .map(|finding| finding.factor.name().to_owned()),
        )
    };
    rows.extend((0..3).map(|at| (format!("limit_{}", at + 1), limit(at))));
    let confidence = limits
        .first()
        .map_or(0.0, |finding| finding.confidence.clamp(0.0, 1.0));
    rows.push((
        "confidence".to_owned(),
        Property::number(
            if confidence.is_finite() {
                confidence
            } else {
                0.0
            },
            3,
        ),
    ));
    rows
}
