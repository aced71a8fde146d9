//! What lies folded below the first sheet: reasons, maps, skill, fill sheet, cautions, sources.

use maud::{Markup, html};
use rayon::prelude::*;

use super::cone_chart::cone_charts;
use super::layer_map;
use super::map_frame::MapFrame;
use super::plain;
use super::rate_map::rate_map;
use super::table::{list, table};
use super::zone::zone_chapter;
use crate::deliver::mix::{NOTHING, ORDER, Sheet};
use crate::deliver::overview::Overview;
use crate::deliver::review::{BALANCE, HEADS, MapFacts, RemarkFacts, Review};
use crate::deliver::since_last_time::{SINCE, since_chapter};
use crate::units::Length;

/// The chapters, each folded; one without content is left out.
#[must_use]
pub fn chapters(overview: &Overview<'_>, review: &Review, frame: &MapFrame) -> Markup {
    let has_rates = overview.used_columns().next().is_some();
    html! {
        (chapter("since", SINCE, review.since.as_ref().map(since_chapter)))
        (chapter("zones", "Each zone and why", Some(zones(review))))
        (chapter("budget", "What the budget left out", some_list(&review.budget)))
        (chapter("balance", BALANCE, balance(review)))
        (chapter("look", "Check before you drive", remarks(&review.looks)))
        (chapter("rates", "Rates on the map", has_rates.then(|| rate_maps(overview, frame))))
        (chapter("cone", "Cone index by depth", cone_charts(overview)))
        (chapter("maps", "How good the maps are", maps(overview, review, frame)))
        (chapter("counts", "Why these zones", Some(counts(review))))
        (chapter("mix", "Tank and shed: buying and filling", Some(mixing(overview))))
        (chapter("cautions", "Cautions", Some(cautions(review))))
        (chapter("disputed", "What research disputes", some_list(&review.disputed)))
        (chapter("remarks", "Assumptions and notes on the data", remarks(&review.other_remarks)))
        (chapter("field-and-files", "Field, files and money", Some(field(review))))
        (chapter("sources", "Sources", some_list(&review.sources)))
    }
}

fn chapter(id: &str, title: &str, body: Option<Markup>) -> Markup {
    html! {
        @if let Some(body) = body {
            details.chapter id=(id) {
                summary { h2 { (title) } }
                (body)
            }
        }
    }
}

fn some_list(lines: &[String]) -> Option<Markup> {
    (!lines.is_empty()).then(|| list(lines))
}

fn field(review: &Review) -> Markup {
    html! {
        dl.facts {
            @for (word, text) in &review.field.rows {
                div { dt { (word) } dd { (plain(text)) } }
            }
        }
    }
}

fn remarks(remarks: &[RemarkFacts]) -> Option<Markup> {
    (!remarks.is_empty()).then(|| {
        html! {
            ul.remarks {
                @for remark in remarks { li class=(remark.level) {
                    b { (remark.level) }
                    div {
                        @for line in &remark.lines { p { (plain(line)) } }
                        @if let Some(help) = &remark.help { p.out { "\u{2192} " (plain(help)) } }
                    }
                } }
            }
        }
    })
}

fn balance(review: &Review) -> Option<Markup> {
    let balance = &review.balance;
    (!balance.rows.is_empty()).then(|| {
        html! {
            (list(&balance.lines))
            (table(BALANCE, &HEADS, &balance.rows))
        }
    })
}

fn rate_maps(overview: &Overview<'_>, frame: &MapFrame) -> Markup {
    html! {
        div.gallery {
            @for column in overview.used_columns() { (rate_map(overview, frame, column)) }
        }
    }
}

fn zones(review: &Review) -> Markup {
    html! {
        p.small {
            "Each stave is a factor. One that reaches the hoop meets its need; the ground is the rule\u{2019}s worst value. "
            "The water stands at the lowest stave: what limits most by what was measured. Other limits may be worth mending in the same season; the order of fixes says which."
        }
        @for zone in &review.zones { (zone_chapter(zone)) }
    }
}

fn maps(overview: &Overview<'_>, review: &Review, frame: &MapFrame) -> Option<Markup> {
    let surfaces = &overview.stages.surfaces.surfaces;
    let figures: Vec<Markup> = surfaces
        .par_iter()
        .zip(&review.maps)
        .map(|(surface, facts)| layer_map::layer_map(overview, frame, surface, facts))
        .collect();
    let row = |map: &MapFacts| [map.figures(), vec![map.method.clone()]].concat();
    let rows: Vec<Vec<String>> = review.maps.iter().map(row).collect();
    let heads = [
        "Layer",
        "#n",
        "#Efficiency",
        "#RMSE",
        "#Bias",
        "Unit",
        "Inverse distance",
    ];
    let grid = &overview.stages.field.grid;
    let cell = Length::from_metres(layer_map::drawn_cell(grid)).show(overview.units, 1);
    (!figures.is_empty()).then(|| {
        html! {
            p {
                "Each observation was left out once and predicted from the others. Efficiency is 1 \u{2212} MSE / MSE of the mean, behind it its 90 % interval: 1 is perfect, "
                "0 or less is no better than the mean of the field. Circles are the observations; the maps are drawn here on cells of " (cell) "."
            }
            div.gallery { @for figure in &figures { (figure) } }
            (table("Skill of the maps", &heads, &rows))
        }
    })
}

fn counts(review: &Review) -> Markup {
    let counts = &review.counts;
    let heads = [
        "#Zones",
        "#Explained",
        "#Silhouette",
        "#Fuzziness",
        "#Entropy",
    ];
    let rows: Vec<Vec<String>> = counts.rows.iter().map(|row| row.to_vec()).collect();
    html! {
        p { (plain(&counts.why)) }
        @if !counts.layers.is_empty() {
            p.small { "Shaped by: " (plain(&counts.layers.join("; "))) "." }
        }
        @if !counts.components.is_empty() {
            p.small { "Layers that say much the same were turned into principal components, each of which counts once:" }
            (list(&counts.components))
        }
        @if !rows.is_empty() { (table("Zone counts that were tried", &heads, &rows)) }
    }
}

fn mixing(overview: &Overview<'_>) -> Markup {
    let sheet = Sheet::new(overview);
    let purchases = sheet.purchase_rows();
    let heads = ["Product", "#Amount", "Unit", "Packs", "#Cost, USD"];
    html! {
        @if purchases.is_empty() {
            p { (NOTHING) }
        } @else {
            (table("To buy", &heads, &purchases))
            p.small { (sheet.purchase_notes()) }
            @if let Some(name) = sheet.recipe_name() {
                h3 { "Recipe \u{201c}" (plain(name)) "\u{201d}" }
                (list(&sheet.recipe_lines()))
            }
            @if let Some((heads, rows)) = sheet.load_table() {
                p { (ORDER) }
                (loads(&heads, &rows))
            }
            (list(&sheet.notes().cloned().collect::<Vec<_>>()))
        }
    }
}

fn loads(heads: &[String], rows: &[Vec<String>]) -> Markup {
    let numbered = heads.iter().enumerate();
    let heads: Vec<String> = numbered
        .map(|(at, head)| {
            if at > 1 {
                format!("#{head}")
            } else {
                head.clone()
            }
        })
        .collect();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    table("Loads", &heads, rows)
}

fn cautions(review: &Review) -> Markup {
    let lines: Vec<String> = review
        .cautions
        .iter()
        .cloned()
        .chain([crate::deliver::review::ALWAYS.to_owned()])
        .collect();
    html! { div.caution { (list(&lines)) } }
}
