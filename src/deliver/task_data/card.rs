//! What a card holds: fields with their outlines, products and pieces of ground, taken from a run or from what is kept of one.

use super::setpoint::Setpoint;
use crate::deliver::columns::RateColumn;
use crate::deliver::degrees::Part;
use crate::deliver::overview::Overview;
use crate::deliver::pieces::Piece;
use crate::units::Metering;

/// A field on a card.
#[derive(Debug, Clone)]
pub struct CardField {
    /// Who grows the crop.
    pub grower: Option<String>,
    /// The farm.
    pub farm: Option<String>,
    /// Name of the field.
    pub name: String,
    /// Workable area, square metres.
    pub area_m2: f64,
    /// Outline of the workable area.
    pub boundary: Vec<Part>,
    /// Width of a cell of a grid, metres.
    pub cell_m: f64,
    /// Ground with one rate of each product.
    pub pieces: Vec<CardPiece>,
    /// The products that go somewhere.
    pub products: Vec<CardProduct>,
}

/// A piece of ground.
#[derive(Debug, Clone)]
pub struct CardPiece {
    /// What the machine calls it.
    pub name: String,
    /// Its outline.
    pub parts: Vec<Part>,
}

/// A product on a field: one task.
#[derive(Debug, Clone)]
pub struct CardProduct {
    /// Name in the rulebook.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Name of the task.
    pub task: String,
    /// Unit of the rates that are shown.
    pub unit: String,
    /// Decimals of the rates that are shown.
    pub decimals: usize,
    /// How the rates are stored.
    pub setpoint: Setpoint,
    /// One rate per piece, in steps of the setpoint.
    pub steps: Vec<i32>,
}

impl CardField {
    /// A field of one run.
    #[must_use]
    pub fn of_run(overview: &Overview<'_>, boundary: Vec<Part>) -> Self {
        let settings = overview.stages.settings;
        let pieces = overview.pieces.iter().map(|piece| CardPiece {
            name: piece.name(overview.zones[piece.place].number),
            parts: piece.parts.clone(),
        });
        let products = overview.used_columns().map(|column| CardProduct {
            name: column.product.name.to_string(),
            label: column.product.label.clone(),
            task: format!("{} {}", column.product.label, settings.season),
            unit: column.unit.to_owned(),
            decimals: column.decimals,
            setpoint: Setpoint::new(column.product.form == Metering::Liquid, overview.units),
            steps: overview
                .pieces
                .iter()
                .map(|piece| setpoint_steps(overview, column, piece))
                .collect(),
        });
        Self {
            grower: settings.people.grower.clone(),
            farm: settings.people.farm.clone(),
            name: settings.field.clone(),
            area_m2: overview.stages.field.workable_m2,
            boundary,
            cell_m: overview.stages.field.grid.cell,
            pieces: pieces.collect(),
            products: products.collect(),
        }
    }

    /// Every part of every piece: its name, the position of its piece, its outline.
    pub fn parts(&self) -> impl Iterator<Item = (String, usize, &Part)> {
        let pieces = self.pieces.iter().enumerate();
        pieces.flat_map(|(place, piece)| {
            piece.parts.iter().enumerate().map(move |(at, part)| {
                let name = if piece.parts.len() == 1 {
                    piece.name.clone()
                } else {
                    format!("{} part {}", piece.name, at + 1)
                };
                (name, place, part)
            })
        })
    }
}

/// The rate of a product on a piece, in whole steps.
#[must_use]
pub fn setpoint_steps(overview: &Overview<'_>, column: &RateColumn<'_>, piece: &Piece<'_>) -> i32 {
    let mut columns = overview.columns.iter();
    let at = columns.position(|known| known.product.name == column.product.name);
    let amount = at.and_then(|at| piece.amounts.get(at).copied());
    Setpoint::steps(amount.unwrap_or_else(|| column.product.form.nothing()))
}
