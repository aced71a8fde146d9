//! What `farm` prints: the farm in short, in 80 columns.

use super::color::Tone;
use super::page::Page;
use crate::deliver::grouped;
use crate::farm::{Farm, FarmResult, FieldRow, MoneyShare, Part, Problem, Worked};
use crate::text::Column;
use crate::units::{UnitSystem, decimal};

/// Most fields that are listed; the tables hold all.
const MOST_FIELDS: usize = 40;
/// Most problems that are told; `problems.csv` holds all.
const MOST_PROBLEMS: usize = 10;

/// The page of a farm whose files lie in `out`.
pub(super) fn page(farm: &Farm, result: &FarmResult, out: &str) -> Page {
    let mut page = Page::default();
    let units = farm.facts.units;
    let rows: Vec<&FieldRow> = result.records.iter().map(|record| &record.row).collect();
    let zones: usize = rows.iter().map(|row| row.zones).sum();
    let about = format!(
        ": {}, {} workable, {}",
        counted(farm.fields.len(), "field"),
        area(rows.iter().map(|row| row.area_ha).sum(), units),
        counted(zones, "zone"),
    );
    page.wrapped((Tone::Strong, &farm.facts.farm), Tone::Plain, &about);
    fields(&mut page, &rows, units);
    problems(&mut page, result);
    page.gap();
    let dollars =
        |of: fn(&FieldRow) -> f64| grouped(rows.iter().map(|row| of(row)).sum::<f64>(), 0);
    let money = format!(
        "products {} USD, other work {} USD",
        dollars(|row| row.cost_usd),
        dollars(|row| row.work_usd)
    );
    page.line(Tone::Plain, money);
    if let Some(money) = &result.money {
        page.wrapped((Tone::Plain, ""), Tone::Plain, &budget(money));
    }
    let files = format!(
        "{} files are in {out}: {}",
        result.files.len(),
        result.files.join(", ")
    );
    page.wrapped((Tone::Plain, ""), Tone::Plain, &files);
    page
}

/// How the farm's budget was shared out, in words.
fn budget(money: &MoneyShare) -> String {
    let usd = |cents: u64| grouped(cents as f64 / 100.0, 0);
    let limit = usd(money.limit);
    if money.fields.is_empty() {
        return format!("the farm's budget of {limit} USD pays for all that is recommended");
    }
    // Rounded up, so that the claim holds.
    let gap = ((1.0 - money.of_best()) * 1_000.0).ceil() / 10.0;
    let how_good = if money.lost > 0 {
        let lost = counted(money.lost, "field");
        format!("{lost} without rates since it was shared out, whose share is left over")
    } else if money.of_best() >= 1.0 {
        "no other choice of fixes for whole zones relieves more".to_owned()
    } else {
        format!("what it relieves is within {gap} % of the best possible")
    };
    format!(
        "the farm's budget is {limit} USD; all that is recommended would cost {} USD; less than that for {}; {how_good}",
        usd(money.wanted),
        counted(money.short, "field"),
    )
}

fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{} {what}s", grouped(count as f64, 0)),
    }
}

fn area(hectares: f64, units: UnitSystem) -> String {
    let area = crate::units::Area::from_square_metres(hectares * 10_000.0);
    area.show(units, 1)
}

fn fields(page: &mut Page, rows: &[&FieldRow], units: UnitSystem) {
    if rows.is_empty() || rows.len() > MOST_FIELDS {
        return;
    }
    page.gap();
    let unit = match units {
        UnitSystem::UnitedStates => "ac",
        UnitSystem::Metric => "ha",
    };
    let columns = [
        Column::text("field"),
        Column::text("crop"),
        Column::number("area", unit),
        Column::number("zones", ""),
        Column::number("products", "USD"),
        Column::number("to look at", ""),
    ];
    let cells = |row: &&FieldRow| {
        let area = match units {
            UnitSystem::UnitedStates => row.area_ac,
            UnitSystem::Metric => row.area_ha,
        };
        vec![
            row.field.clone(),
            row.crop.clone(),
            decimal(area, 1),
            row.zones.to_string(),
            grouped(row.cost_usd, 0),
            row.looks.len().to_string(),
        ]
    };
    let cells: Vec<Vec<String>> = rows.iter().map(cells).collect();
    page.fitted_table(&columns, &cells);
}

fn problems(page: &mut Page, result: &FarmResult) {
    let count = result.without_result();
    if count == 0 {
        return;
    }
    page.gap();
    let head = format!("no result for {}", counted(count, "field"));
    page.line(Tone::Wrong, head);
    for problem in result.problems.iter().take(MOST_PROBLEMS) {
        page.wrapped((Tone::Plain, "- "), Tone::Plain, &told(problem));
    }
    if result.problems.len() > MOST_PROBLEMS {
        let more = result.problems.len() - MOST_PROBLEMS;
        page.line(Tone::Plain, format!("and {more} more in problems.csv"));
    }
}

fn told(problem: &Problem) -> String {
    let way_out = match problem.way_out.as_str() {
        "" => String::new(),
        way_out => format!("; {way_out}"),
    };
    format!("{}: {}{way_out}", problem.id, problem.what)
}

/// The page of a part.
pub(super) fn part_page(farm: &str, part: Part, worked: Worked, out: &str) -> Page {
    let mut page = Page::default();
    let kept = match worked.kept {
        0 => String::new(),
        kept => format!(", {kept} of them kept"),
    };
    let without = match worked.refused + worked.failed {
        0 => String::new(),
        count => format!(", {count} without a result"),
    };
    let about = format!(
        ", part {}/{}: {}{kept}{without}; \"lowstave farm join {out}\" shares out what the farm has once, and makes the farm's files when all parts are done",
        part.number,
        part.of,
        counted(worked.fields, "field"),
    );
    page.wrapped((Tone::Strong, farm), Tone::Plain, &about);
    page
}
