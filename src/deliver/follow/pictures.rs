//! Pictures of the season: stands with their intervals beside the target, Brix over the rounds.

use maud::{Markup, html};

use super::FollowInput;
use crate::season::{BrixRound, StandResult};
use crate::units::{decimal, fixed};

const WIDTH: f64 = 640.0;
const ROW: f64 = 34.0;
/// Room for names on the left.
const LEFT: f64 = 150.0;

/// A number with one decimal for a drawing.
fn n(value: f64) -> String {
    decimal(value, 1)
}

/// A row a zone or strip: dot, interval, target as a short upright line.
pub(super) fn stands(input: &FollowInput) -> Markup {
    let stands = &input.review.stands;
    let most = stands
        .iter()
        .flat_map(|stand| {
            [
                Some(stand.plants_per_acre),
                stand.interval_90.map(|ends| ends.1),
                stand.target_per_acre,
            ]
        })
        .flatten()
        .fold(1.0, f64::max);
    let at = |plants: f64| LEFT + plants.max(0.0) / (most * 1.04) * (WIDTH - LEFT - 10.0);
    let unit = super::words::plants_unit(input.facts.units).1;
    let height = ROW * stands.len() as f64 + 30.0;
    html! {
        svg.chart viewBox={ "0 0 " (WIDTH) " " (height) } role="img" aria-label="Stand by zone with its 90 % interval" {
            line.tick x1=(n(LEFT)) x2=(n(LEFT)) y1="4" y2=(n(height - 24.0)) {}
            @for (row, stand) in stands.iter().enumerate() {
                (stand_row(stand, ROW * (row as f64 + 0.5) + 4.0, &at))
            }
            text x=(n(LEFT)) y=(n(height - 8.0)) text-anchor="middle" { "0" }
            text.axis x=(WIDTH) y=(n(height - 8.0)) text-anchor="end" { (unit) "; dot: mean, line: 90 % interval, upright: target" }
        }
    }
}

fn stand_row(stand: &StandResult, y: f64, at: &impl Fn(f64) -> f64) -> Markup {
    let name = match &stand.strip {
        Some(strip) => format!("{} {strip}", stand.zone),
        None => format!("zone {}", stand.zone),
    };
    html! {
        text x="0" y=(n(y + 4.0)) { (name) }
        @if let Some((low, high)) = stand.interval_90 {
            line.profile x1=(n(at(low))) x2=(n(at(high))) y1=(n(y)) y2=(n(y)) {}
        }
        circle.dot cx=(n(at(stand.plants_per_acre))) cy=(n(y)) r="5" {}
        @if let Some(target) = stand.target_per_acre {
            line.limit x1=(n(at(target))) x2=(n(at(target))) y1=(n(y - 10.0)) y2=(n(y + 10.0)) {}
        }
    }
}

/// Brix of one zone over its rounds, with the floor as a line.
pub(super) fn brix(input: &FollowInput, rounds: &[&BrixRound]) -> Markup {
    let floor = input.rulebook.numbers.brix_floor;
    let most = rounds
        .iter()
        .map(|round| round.interval_90.map_or(round.mean, |ends| ends.1))
        .fold(floor, f64::max);
    let (width, height) = (320.0, 170.0);
    let y = |brix: f64| 140.0 - brix.max(0.0) / (most * 1.1) * 130.0;
    let step = (width - 60.0) / rounds.len().max(1) as f64;
    html! {
        svg.chart viewBox={ "0 0 " (width) " " (height) } role="img" aria-label="Brix over the rounds with its 90 % interval" {
            line.tick x1="36" x2=(width) y1="140" y2="140" {}
            line.limit x1="36" x2=(width) y1=(n(y(floor))) y2=(n(y(floor))) {}
            text.limittext x="0" y=(n(y(floor) + 4.0)) { (decimal(floor, 1)) }
            @for (at, round) in rounds.iter().enumerate() {
                @let x = 50.0 + step * (at as f64 + 0.5);
                @if let Some((low, high)) = round.interval_90 {
                    line.profile x1=(n(x)) x2=(n(x)) y1=(n(y(low))) y2=(n(y(high))) {}
                }
                circle.dot cx=(n(x)) cy=(n(y(round.mean))) r="5" {}
                text x=(n(x)) y="158" text-anchor="middle" { (round.round) }
                text x=(n(x + 9.0)) y=(n(y(round.mean) + 4.0)) { (fixed(round.mean, 1)) }
            }
        }
    }
}
