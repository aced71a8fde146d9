use super::page::{Column, Page};
use crate::deliver::delivery::{Summary, ZoneSummary};
use crate::deliver::review::grouped;
use crate::units::{Area, UnitSystem, decimal};

impl Summary {
    /// The summary as a person reads it on the terminal: one row per zone, totals, remarks.
    #[must_use]
    pub fn text(&self) -> String {
        let mut page = Page::default();
        let is_metric = self.units == UnitSystem::Metric;
        let area = |hectares: f64, acres: f64| grouped(if is_metric { hectares } else { acres }, 1);
        let unit = Area::unit_in(self.units);
        page.paragraph(&format!("{}: {}, {}; {} {unit} workable", self.field, self.crop, self.season, area(self.area_ha, self.area_ac)));
        page.blank();
        let mut columns = vec![Column::number("Zone", ""), Column::number(unit, ""), Column::text("First limit")];
        columns.extend(self.zones.first().into_iter().flat_map(|zone| zone.rates.keys()).map(|name| Column::number(name, "")));
        let row = |zone: &ZoneSummary| {
            let mut cells = vec![zone.zone.to_string(), area(zone.area_ha, zone.area_ac), zone.limit_1.unwrap_or("none found").to_owned()];
            cells.extend(zone.rates.values().map(|rate| decimal(rate.as_f64().unwrap_or_default(), 3)));
            cells
        };
        page.table(&columns, &self.zones.iter().map(row).collect::<Vec<_>>());
        page.blank();
        for product in self.products.iter().filter(|product| product.total > 0.0) {
            page.paragraph(&format!("{}: {} {} in all", product.label, grouped(product.total, 0), product.unit));
        }
        page.paragraph(&format!("Products cost {} USD in all", grouped(self.cost_usd, 0)));
        if self.looks > 0 {
            let what = if self.looks == 1 { "1 remark needs".to_owned() } else { format!("{} remarks need", self.looks) };
            page.paragraph(&format!("{what} your eye: see \"Please look\" in report.txt"));
        }
        page.finish()
    }
}
