use super::layers::value;
use crate::intake::survey::LayerColumn;
use crate::soil::{Acidity, Buffer, Cation, CationExchange, SoilError, exchangeable_acidity};

/// The layers of one depth that make up an exchange complex, all cations by one extractant.
pub(super) struct Complex<'a> {
    /// Calcium, magnesium, potassium.
    pub(super) cations: [&'a LayerColumn; 3],
    /// Sodium; counted as nil where it was not measured.
    pub(super) sodium: Option<&'a LayerColumn>,
    /// pH: in water where there is one, otherwise in salt, which reads lower.
    pub(super) ph: Option<&'a LayerColumn>,
    /// Buffer pH with the buffer, where its name is one that has a formula.
    pub(super) buffer: Option<(&'a LayerColumn, Result<Buffer, SoilError>)>,
    /// The laboratory's own CEC.
    pub(super) own_capacity: Option<&'a LayerColumn>,
}

/// What came of the rows of a [`Complex`]; NaN where nothing did.
#[derive(Default)]
pub(super) struct ExchangeRows {
    /// CEC by summation, meq/100 g.
    pub(super) capacity: Vec<f64>,
    /// Sum of bases, meq/100 g.
    pub(super) bases: Vec<f64>,
    /// Saturations in %: calcium, magnesium, potassium, sodium, hydrogen.
    pub(super) saturations: [Vec<f64>; 5],
    /// `ExchangeRows` with cations but without a known acidity.
    pub(super) without_acidity: Vec<usize>,
    /// `ExchangeRows` whose bases are more than the laboratory's own CEC.
    pub(super) over_full: Vec<usize>,
    /// `ExchangeRows` with an input outside a formula's range, and the first complaint.
    pub(super) refused: Vec<usize>,
    /// The first complaint.
    pub(super) complaint: Option<SoilError>,
}

impl Complex<'_> {
    /// All layers that take part.
    pub(super) fn inputs(&self) -> Vec<&LayerColumn> {
        let buffer = self.buffer.as_ref().map(|(layer, _)| *layer);
        self.cations
            .into_iter()
            .chain(self.sodium)
            .chain(self.ph)
            .chain(buffer)
            .collect()
    }

    /// Computes every row of a table with `count` rows.
    pub(super) fn compute(&self, count: usize) -> ExchangeRows {
        let mut rows = ExchangeRows::default();
        for row in 0..count {
            let ph = self.ph.and_then(|layer| value(layer, row));
            let acidity = self.acidity(row, ph, &mut rows);
            let exchange = self.exchange(row, acidity, &mut rows);
            rows.push(
                row,
                exchange,
                self.own_capacity
                    .map(|layer| value(layer, row).unwrap_or(f64::NAN)),
            );
        }
        rows
    }

    fn acidity(&self, row: usize, ph: Option<f64>, rows: &mut ExchangeRows) -> Acidity {
        let buffer = self
            .buffer
            .as_ref()
            .and_then(|(layer, buffer)| Some((buffer.clone().ok()?, value(layer, row)?)));
        exchangeable_acidity(ph, buffer).unwrap_or_else(|complaint| {
            rows.refuse(row, complaint);
            Acidity::Unknown
        })
    }

    fn exchange(
        &self,
        row: usize,
        acidity: Acidity,
        rows: &mut ExchangeRows,
    ) -> Option<CationExchange> {
        let [calcium, magnesium, potassium] = self.cations.map(|layer| value(layer, row));
        let sodium = match self.sodium {
            Some(layer) => value(layer, row)?,
            None => 0.0,
        };
        CationExchange::from_ppm([calcium?, magnesium?, potassium?, sodium], acidity)
            .map_err(|complaint| rows.refuse(row, complaint))
            .ok()
    }
}

impl ExchangeRows {
    fn refuse(&mut self, row: usize, complaint: SoilError) {
        if self.refused.last() != Some(&row) {
            self.refused.push(row);
        }
        self.complaint.get_or_insert(complaint);
    }

    /// Files one row. `own_capacity` is `None` where the laboratory prints no CEC at all, NaN where it has none for this row.
    fn push(&mut self, row: usize, exchange: Option<CationExchange>, own_capacity: Option<f64>) {
        self.bases
            .push(exchange.map_or(f64::NAN, |exchange| exchange.sum_of_bases_meq()));
        self.capacity.push(
            exchange
                .and_then(|exchange| exchange.cation_exchange_capacity_meq())
                .unwrap_or(f64::NAN),
        );
        if exchange.is_some_and(|exchange| exchange.acidity() == Acidity::Unknown) {
            self.without_acidity.push(row);
        }
        let shares = exchange.and_then(|exchange| match own_capacity {
            None => shares_by_summation(&exchange),
            Some(capacity) => self.shares_of(row, &exchange, capacity),
        });
        for (column, share) in self
            .saturations
            .iter_mut()
            .zip(shares.unwrap_or([f64::NAN; 5]))
        {
            column.push(share);
        }
    }

    /// Shares of the laboratory's own CEC; what the bases leave open is hydrogen.
    fn shares_of(
        &mut self,
        row: usize,
        exchange: &CationExchange,
        capacity: f64,
    ) -> Option<[f64; 5]> {
        // Rounding of the printed CEC may leave the bases a little above it.
        const ROUNDING: f64 = 1.02;
        if capacity.is_nan() {
            return None;
        }
        if capacity <= 0.0 || exchange.sum_of_bases_meq() > ROUNDING * capacity {
            self.over_full.push(row);
            return None;
        }
        let [calcium, magnesium, potassium, sodium] =
            Cation::ALL.map(|cation| 100.0 * exchange.base_meq(cation) / capacity);
        Some([
            calcium,
            magnesium,
            potassium,
            sodium,
            (100.0 - calcium - magnesium - potassium - sodium).max(0.0),
        ])
    }
}

fn shares_by_summation(exchange: &CationExchange) -> Option<[f64; 5]> {
    let share = |cation| exchange.saturation_pct(cation);
    Some([
        share(Cation::Calcium)?,
        share(Cation::Magnesium)?,
        share(Cation::Potassium)?,
        share(Cation::Sodium)?,
        exchange.acidity_pct()?,
    ])
}
