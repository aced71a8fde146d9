//! `report.html`: the report with maps and plots, one file that needs no network, for screen, paper, keyboard and screen reader.

mod cone_chart;
mod labels;
mod layer_map;
mod map_frame;
mod png;
mod stave_words;
mod staves;
mod table;
mod zone;
mod zone_map;

use std::fmt::Write;

use rayon::prelude::*;
use sha2::{Digest, Sha256};

use super::delivery::OutputFile;
use super::error::DeliverError;
use super::escape::markup;
use super::format_input::FormatInput;
use super::mix::{NOTHING, ORDER, Sheet};
use super::overview::Overview;
use super::review::{RemarkFacts, Review};
use super::run_record::{PROGRAM, VERSION};
use crate::units::Length;
use map_frame::MapFrame;
use table::{chapter, list, table};

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");
/// Five staves of a barrel, one of them short.
const MARK: &str = "<svg class=\"mark\" viewBox=\"0 0 44 40\" aria-hidden=\"true\"><path class=\"wet\" d=\"M2 22h40v16H2z\"/>\
    <path class=\"plank\" d=\"M2 4h6v34H2zM10.500 4h6v34h-6zM19 22h6v16h-6zM27.500 4h6v34h-6zM36 4h6v34h-6z\"/><path class=\"band\" d=\"M0 30h44\"/></svg>";

/// The file.
///
/// # Errors
/// None; the signature is that of every format.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let markup = report(input.overview, input.review);
    Ok(vec![OutputFile::new("report.html", markup)])
}

fn report(overview: &Overview<'_>, review: &Review) -> String {
    let map_frame = MapFrame::new(overview);
    let chapters = [
        (
            "first",
            "What to do first",
            first(overview, review, &map_frame),
        ),
        ("budget", "What the budget left out", list(&review.budget)),
        ("look", "Please look", remark_list(&review.looks)),
        ("rates", "Rates on the map", rate_maps(overview, &map_frame)),
        ("zones", "Each zone and why", zones(review)),
        (
            "cone",
            "Cone index by depth",
            cone_chart::cone_chart(overview),
        ),
        (
            "maps",
            "How good the maps are",
            maps(overview, review, &map_frame),
        ),
        ("counts", "Why this many zones", counts(review)),
        ("mix", "Mixing and loading", mixing(overview)),
        ("cautions", "Cautions", cautions(review)),
        ("disputed", "Disputed", list(&review.disputed)),
        (
            "remarks",
            "Guesses and notes on the data",
            remark_list(&review.other_remarks),
        ),
        ("sources", "Sources", list(&review.sources)),
    ];
    let mut out = String::with_capacity(400_000);
    push_head(&mut out, &review.field.title);
    push_header(&mut out, overview, review);
    out.push_str("<nav aria-label=\"Chapters\"><ul>");
    for (id, title, _) in chapters.iter().filter(|(_, _, body)| !body.is_empty()) {
        let _ = write!(out, "<li><a href=\"#{id}\">{title}</a></li>");
    }
    out.push_str("</ul></nav><main id=\"main\">");
    out.push_str(&map_frame.definitions(overview));
    for (id, title, body) in &chapters {
        out.push_str(&chapter(id, title, body));
    }
    let _ = writeln!(
        out,
        "</main><footer><p>Made by {PROGRAM} {VERSION}. Screening estimates from your own files, not an engineering or legal opinion. \
         <code>run.json</code> names every input with its SHA-256, so that the run can be done again.</p></footer><script>{SCRIPT}</script></body></html>"
    );
    out.push('\n');
    out
}

fn push_head(out: &mut String, title: &str) {
    let script_hash = png::base64(&Sha256::digest(SCRIPT.as_bytes()));
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{script_hash}'; base-uri 'none'; form-action 'none'\">\
         <meta name=\"color-scheme\" content=\"light dark\"><title>{}</title><style>{STYLE}</style></head><body>\
         <a class=\"skip\" href=\"#main\">Skip to the prescription</a>",
        markup(title)
    );
}

fn push_header(out: &mut String, overview: &Overview<'_>, review: &Review) {
    let settings = overview.stages.settings;
    let _ = write!(
        out,
        "<header><div class=\"title\">{MARK}<div><p class=\"kicker\">Soil review and prescription</p><h1>{}</h1><p class=\"sub\">{}, {}</p></div></div>",
        markup(&settings.field),
        markup(&settings.crop),
        settings.season
    );
    out.push_str("<dl class=\"facts\">");
    for (word, text) in &review.field.rows {
        let _ = write!(
            out,
            "<div><dt>{}</dt><dd>{}</dd></div>",
            markup(word),
            markup(text)
        );
    }
    out.push_str("</dl></header>");
}

fn first(overview: &Overview<'_>, review: &Review, map_frame: &MapFrame) -> String {
    let map = zone_map::zone_map(overview, review, map_frame);
    let mut out = format!(
        "<div class=\"split\"><figure>{map}<output class=\"say\">Choose a zone for its reason.</output></figure><ol class=\"todo\">"
    );
    for row in &review.actions.rows {
        let what = row
            .first
            .as_ref()
            .map(|what| format!("<b>{}.</b> ", markup(what.trim_end_matches('.'))))
            .unwrap_or_default();
        let _ = write!(
            out,
            "<li><a href=\"#zone-{0}\">Zone {0}</a> <span>{what}{1}</span></li>",
            row.zone,
            markup(&row.reason)
        );
    }
    out.push_str("</ol></div>");
    out.push_str(&action_table(review));
    if review.actions.rows.iter().any(|row| row.is_blocking) {
        out.push_str("<p class=\"small\">* this limit closes a product: mend it first.</p>");
    }
    if !review.actions.unused.is_empty() {
        let _ = write!(
            out,
            "<p class=\"small\">Put nowhere: {}.</p>",
            markup(&review.actions.unused.join(", "))
        );
    }
    out.push_str("<p class=\"small\">Outside every zone nothing is applied. Set the controller to 0 for \u{201c}out of field\u{201d} and for \u{201c}position lost\u{201d}.</p>");
    out
}

fn action_table(review: &Review) -> String {
    let actions = &review.actions;
    let mut heads = vec![
        "Zone".to_owned(),
        format!("#Area, {}", actions.area_unit),
        "First limit".to_owned(),
    ];
    heads.extend(
        actions
            .products
            .iter()
            .map(|(label, unit)| format!("#{label}, {unit}")),
    );
    heads.push(format!("#Cost, {}", actions.cost_unit));
    let mut rows: Vec<Vec<String>> = actions
        .rows
        .iter()
        .map(|row| {
            let gate = if row.is_blocking { " *" } else { "" };
            let mut cells = vec![
                row.zone.to_string(),
                row.area.clone(),
                format!("{}{gate}", row.limit),
            ];
            cells.extend(row.rates.iter().cloned());
            cells.push(row.cost.clone());
            cells
        })
        .collect();
    let mut total = vec![
        "all".to_owned(),
        actions.total_area.clone(),
        "total".to_owned(),
    ];
    total.extend(
        actions
            .totals
            .iter()
            .map(|(number, unit)| format!("{number} {unit}")),
    );
    total.push(format!("{} USD", actions.total_cost));
    rows.push(total);
    table(
        "Rates by zone",
        &heads.iter().map(String::as_str).collect::<Vec<_>>(),
        &rows,
    )
}

fn remark_list(remarks: &[RemarkFacts]) -> String {
    if remarks.is_empty() {
        return String::new();
    }
    let item = |remark: &RemarkFacts| {
        let lines: Vec<String> = remark
            .lines
            .iter()
            .map(|line| format!("<p>{}</p>", markup(line)))
            .collect();
        let help = remark
            .help
            .as_ref()
            .map(|help| format!("<p class=\"out\">\u{2192} {}</p>", markup(help)));
        format!(
            "<li class=\"{0}\"><b>{0}</b><div>{1}{2}</div></li>",
            remark.level,
            lines.concat(),
            help.unwrap_or_default()
        )
    };
    format!(
        "<ul class=\"remarks\">{}</ul>",
        remarks.iter().map(item).collect::<String>()
    )
}

fn rate_maps(overview: &Overview<'_>, map_frame: &MapFrame) -> String {
    let maps: String = overview
        .used_columns()
        .map(|column| zone_map::rate_map(overview, map_frame, column))
        .collect();
    if maps.is_empty() {
        maps
    } else {
        format!("<div class=\"gallery\">{maps}</div>")
    }
}

fn zones(review: &Review) -> String {
    let chapters: String = review.zones.iter().map(zone::zone_chapter).collect();
    format!(
        "<p class=\"small\">Each stave is a factor. One that reaches the hoop meets its need; the ground is the rule\u{2019}s worst value. \
         The water stands at the lowest stave: no other factor pays before that one is mended.</p>{chapters}"
    )
}

fn maps(overview: &Overview<'_>, review: &Review, map_frame: &MapFrame) -> String {
    let surfaces = &overview.stages.surfaces.surfaces;
    let figures: Vec<String> = surfaces
        .par_iter()
        .zip(&review.maps)
        .map(|(surface, facts)| layer_map::layer_map(overview, map_frame, surface, facts))
        .collect();
    let figures = figures.concat();
    if figures.is_empty() {
        return figures;
    }
    let row = |map: &super::review::MapFacts| {
        let count = map.n.map_or_else(|| "-".to_owned(), |n| n.to_string());
        vec![
            map.layer.clone(),
            count,
            map.efficiency.clone(),
            map.rmse.clone(),
            map.mean_error.clone(),
            map.unit.clone(),
            map.method.clone(),
        ]
    };
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
    let cell = Length::from_metres(layer_map::drawn_cell(&overview.stages.field.grid))
        .show(overview.units, 1);
    format!(
        "<p>Each observation was left out once and predicted from the others. Efficiency is 1 \u{2212} MSE / MSE of the mean: 1 is perfect, \
         0 or less is no better than the mean of the field. Circles are the observations; the maps are drawn here on cells of {}.</p>\
         <div class=\"gallery\">{figures}</div>{}",
        markup(&cell),
        table("Skill of the maps", &heads, &rows)
    )
}

fn counts(review: &Review) -> String {
    let mut why = format!("<p>{}</p>", markup(&review.counts.why));
    if !review.counts.layers.is_empty() {
        let _ = write!(
            why,
            "<p class=\"small\">Shaped by: {}.</p>",
            markup(&review.counts.layers.join("; "))
        );
    }
    if !review.counts.components.is_empty() {
        let items: String = review
            .counts
            .components
            .iter()
            .map(|component| format!("<li>{}</li>", markup(component)))
            .collect();
        let _ = write!(
            why,
            "<p class=\"small\">Layers that say much the same were turned into principal components, each of which counts once:</p>\
             <ul class=\"small\">{items}</ul>"
        );
    }
    let heads = [
        "#Zones",
        "#Explained",
        "#Silhouette",
        "#Fuzziness",
        "#Entropy",
    ];
    let rows: Vec<Vec<String>> = review.counts.rows.iter().map(|row| row.to_vec()).collect();
    if rows.is_empty() {
        why
    } else {
        format!(
            "{why}{}",
            table("Zone counts that were tried", &heads, &rows)
        )
    }
}

fn mixing(overview: &Overview<'_>) -> String {
    let sheet = Sheet::new(overview);
    let purchases = sheet.purchase_rows();
    if purchases.is_empty() {
        return format!("<p>{NOTHING}</p>");
    }
    let mut out = table(
        "To buy",
        &["Product", "#Amount", "Unit", "Packs", "#Cost, USD"],
        &purchases,
    );
    out.push_str("<p class=\"small\">Costs are of the amounts, not of whole packs.</p>");
    if let Some(name) = sheet.recipe_name() {
        let _ = write!(
            out,
            "<h3>Recipe \u{201c}{}\u{201d}</h3>{}",
            markup(name),
            list(&sheet.recipe_lines())
        );
    }
    if let Some((heads, rows)) = sheet.load_table() {
        let heads: Vec<String> = heads
            .iter()
            .enumerate()
            .map(|(at, head)| {
                if at > 1 {
                    format!("#{head}")
                } else {
                    head.clone()
                }
            })
            .collect();
        let _ = write!(
            out,
            "<p>{ORDER}</p>{}",
            table(
                "Loads",
                &heads.iter().map(String::as_str).collect::<Vec<_>>(),
                &rows
            )
        );
    }
    out.push_str(&list(&sheet.notes().cloned().collect::<Vec<_>>()));
    out
}

fn cautions(review: &Review) -> String {
    let always = "Read the label and the safety sheet of each product; local rules on setbacks and permits come first.";
    let lines: Vec<String> = review
        .cautions
        .iter()
        .cloned()
        .chain([always.to_owned()])
        .collect();
    format!("<div class=\"caution\">{}</div>", list(&lines))
}
