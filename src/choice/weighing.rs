//! How many zones: the fewest whose loss on the cores that were left out is within one standard error of the least, and only where
//! that saves more than a map asks for, on cores that had no part in choosing the count too. The choice is made once without each fold, and the
//! middle one counts: two counts that are nearly as good as each other do not change places with a core that moves by a metre.

use std::collections::BTreeSet;

use super::agreement::LEAST_AGREEMENT;
use super::cross_validation::{Bench, Losses};
use super::folds::closed_up;
use super::saving::{Saving, within_one_standard_error};
use super::worth::CountTried;
use crate::units::{MoneyPerArea, UnitSystem, decimal};

/// The count with the reason, and what was tried.
pub(super) struct Weighed {
    pub count: usize,
    pub why: String,
    pub tried: Vec<CountTried>,
    /// Losses with the count that is chosen without each core's fold: the cores that price a map had no part in its choice.
    pub priced: Losses,
}

/// Weighs the counts. `least` is what a map must save before it is drawn.
pub(super) fn weigh(
    bench: &Bench,
    losses: &[Losses],
    least: MoneyPerArea,
    words: Words,
) -> Weighed {
    let scales = Scales {
        fold: &bench.fold,
        losses,
        least,
    };
    let counts = scales.counts_without_a_fold();
    let priced = scales.priced(&counts);
    let saved = scales.saved(&priced.total, None);
    let tried: Vec<CountTried> = losses.iter().map(|own| scales.row(own, None)).collect();
    let (_, best) = scales.choice(None);
    let chosen = tried.iter().find(|row| row.count == middle(counts.clone()));
    let (count, why) = match (chosen.filter(|row| row.count > 1), best) {
        (Some(row), _) if scales.pays(&saved) => (row.count, words.draw(row, &saved, &tried)),
        (Some(row), _) => (1, words.not_worth_elsewhere(row, &saved, least)),
        (None, Some(best)) if best.count > 1 && scales.pays(&best.saved) => {
            (1, words.hangs_on_a_few(&best))
        }
        (None, Some(best)) if best.count > 1 => (1, words.not_worth(&best, least)),
        _ => (1, words.nothing(&tried)),
    };
    Weighed {
        count,
        why,
        tried,
        priced,
    }
}

/// What a choice is made of.
struct Scales<'a> {
    /// The fold of each core.
    fold: &'a [usize],
    losses: &'a [Losses],
    least: MoneyPerArea,
}

impl Scales<'_> {
    /// The count that is chosen without a fold, where it is more than one and pays, and the count with the least loss.
    fn choice(&self, without: Option<usize>) -> (Option<CountTried>, Option<CountTried>) {
        let rows = self.losses.iter().map(|own| self.row(own, without));
        let stable: Vec<CountTried> = rows.filter(|row| row.is_stable).collect();
        let best = stable.iter().min_by(|a, b| a.loss.total_cmp(&b.loss));
        let of_losses: Vec<f64> = stable.iter().map(|row| row.loss).collect();
        let error =
            |row: &CountTried| best.map_or(0.0, |best| self.error(row.count, best.count, without));
        let errors: Vec<f64> = stable.iter().map(error).collect();
        let chosen = within_one_standard_error(&of_losses, &errors).map(|at| &stable[at]);
        let chosen = chosen.filter(|row| row.count > 1 && self.pays(&row.saved));
        (chosen.cloned(), best.cloned())
    }

    /// The error of the difference between the losses of two counts, USD/ha.
    fn error(&self, count: usize, best: usize, without: Option<usize>) -> f64 {
        let of = |count: usize| self.losses.iter().find(|losses| losses.count == count);
        let (Some(own), Some(best)) = (of(count), of(best)) else {
            return 0.0;
        };
        let pairs = own.total.iter().zip(&best.total);
        let more: Vec<f64> = pairs.map(|(own, best)| own - best).collect();
        let more: Vec<f64> = self.kept(&more, without).collect();
        let folds: Vec<usize> = self.kept(self.fold, without).collect();
        let more = Saving::of(&more, &closed_up(&folds));
        self.errors() * more.standard_error.dollars_per_hectare()
    }

    /// The count that is chosen without each fold.
    fn counts_without_a_fold(&self) -> Vec<usize> {
        let folds = self.fold.iter().max().map_or(0, |last| last + 1);
        let count_without = |fold| {
            let (chosen, _) = self.choice(Some(fold));
            chosen.map_or(1, |row| row.count)
        };
        (0..folds).map(count_without).collect()
    }

    /// For each core the loss with the count that is chosen without its fold.
    ///
    /// # Source
    /// What is chosen and priced on the same cores looks too good: Cawley, G.C. and N.L.C. Talbot. 2010. On over-fitting in model
    /// selection and subsequent selection bias in performance evaluation. Journal of Machine Learning Research 11:2079-2107 (from
    /// memory).
    fn priced(&self, counts: &[usize]) -> Losses {
        let of_core = |core: usize| {
            let count = counts[self.fold[core]];
            let own = self.losses.iter().find(|losses| losses.count == count);
            own.unwrap_or(&self.losses[0])
        };
        let cores = 0..self.fold.len();
        let names: BTreeSet<&String> = self.losses.iter().flat_map(|l| l.by_name.keys()).collect();
        let by_name = |name: &&String| {
            let loss = |core| {
                of_core(core)
                    .by_name
                    .get(*name)
                    .map_or(0.0, |own| own[core])
            };
            ((*name).clone(), cores.clone().map(loss).collect())
        };
        Losses {
            count: 0,
            total: cores
                .clone()
                .map(|core| of_core(core).total[core])
                .collect(),
            by_name: names.iter().map(by_name).collect(),
            stability: 1.0,
        }
    }

    fn row(&self, own: &Losses, without: Option<usize>) -> CountTried {
        let kept: Vec<f64> = self.kept(&own.total, without).collect();
        CountTried {
            count: own.count,
            loss: kept.iter().sum::<f64>() / kept.len().max(1) as f64,
            saved: self.saved(&own.total, without),
            stability: own.stability,
            is_stable: own.count == 1 || own.stability >= LEAST_AGREEMENT,
        }
    }

    /// What is saved against one zone, by the cores outside a fold.
    fn saved(&self, total: &[f64], without: Option<usize>) -> Saving {
        let pairs = self.losses[0].total.iter().zip(total);
        let saved: Vec<f64> = pairs.map(|(one, own)| one - own).collect();
        let saved: Vec<f64> = self.kept(&saved, without).collect();
        let folds: Vec<usize> = self.kept(self.fold, without).collect();
        Saving::of(&saved, &closed_up(&folds))
    }

    fn kept<T: Copy>(&self, of_core: &[T], without: Option<usize>) -> impl Iterator<Item = T> {
        let kept = self.fold.iter().map(move |fold| Some(*fold) != without);
        let kept: Vec<bool> = kept.collect();
        let all = of_core.to_vec();
        all.into_iter()
            .zip(kept)
            .filter(|(_, is_kept)| *is_kept)
            .map(|(own, _)| own)
    }

    fn errors(&self) -> f64 {
        Saving::errors_that_count(self.fold.len())
    }

    fn pays(&self, saved: &Saving) -> bool {
        let sure = saved.mean.dollars_per_hectare()
            - self.errors() * saved.standard_error.dollars_per_hectare();
        sure > self.least.dollars_per_hectare()
    }
}

/// The middle of some counts; of two in the middle the fewer.
fn middle(mut counts: Vec<usize>) -> usize {
    counts.sort_unstable();
    let at = counts.len().saturating_sub(1) / 2;
    counts.get(at).copied().unwrap_or(1)
}

/// How the reasons are said.
#[derive(Clone, Copy)]
pub(super) struct Words {
    pub units: UnitSystem,
    /// Whether the cores stand in clusters, where no interval is known.
    pub is_clustered: bool,
}

impl Words {
    fn saved(self, saved: &Saving) -> String {
        if self.is_clustered {
            saved.mean_alone(self.units)
        } else {
            saved.show(self.units)
        }
    }

    fn tested(self) -> &'static str {
        if self.is_clustered {
            "tested on cores that were left out; they stand in clusters, so how sure this is is not known"
        } else {
            "tested on cores that were left out; 90 % interval"
        }
    }

    fn draw(self, row: &CountTried, saved: &Saving, tried: &[CountTried]) -> String {
        let (saved, tested) = (self.saved(saved), self.tested());
        let start = format!(
            "{} zones: they save {saved} against one rate, {tested}",
            row.count
        );
        let is_better = |other: &&CountTried| {
            other.count > row.count && other.is_stable && other.loss < row.loss
        };
        let more = tried.iter().filter(is_better);
        match more.min_by(|a, b| a.loss.total_cmp(&b.loss)) {
            Some(more) => format!(
                "{start}. On the cores that chose the count they save {}, and {} zones {}: no clear gain over fewer.",
                self.saved(&row.saved),
                more.count,
                self.saved(&more.saved)
            ),
            None => format!("{start}."),
        }
    }

    fn not_worth(self, best: &CountTried, least: MoneyPerArea) -> String {
        format!(
            "One zone: {} zones would save {} against one rate ({}). That is not clearly more than the {} that a map asks for.",
            best.count,
            self.saved(&best.saved),
            self.tested(),
            least.show(self.units, 2)
        )
    }

    fn hangs_on_a_few(self, best: &CountTried) -> String {
        format!(
            "One zone: {} zones would save {} against one rate ({}), but that hangs on a few cores: without some of them one zone is chosen.",
            best.count,
            self.saved(&best.saved),
            self.tested()
        )
    }

    fn not_worth_elsewhere(self, row: &CountTried, saved: &Saving, least: MoneyPerArea) -> String {
        format!(
            "One zone: {} zones would save {} against one rate on the cores that chose the count, and {} on cores that had no part in it ({}). That is not clearly more than the {} that a map asks for.",
            row.count,
            self.saved(&row.saved),
            self.saved(saved),
            self.tested(),
            least.show(self.units, 2)
        )
    }

    fn nothing(self, tried: &[CountTried]) -> String {
        let others = || tried.iter().filter(|row| row.count > 1);
        let most_saved = others().min_by(|a, b| a.loss.total_cmp(&b.loss));
        match most_saved {
            Some(row) if !row.is_stable => format!(
                "One zone: the lines of {} zones move too far where a few cores are left out (adjusted Rand index {}).",
                row.count,
                decimal(row.stability, 2)
            ),
            Some(row) if row.saved.mean.dollars_per_hectare() < 0.0 => format!(
                "One zone: {} zones would cost {} more than one rate, {}.",
                row.count,
                self.saved(&row.saved.reversed()),
                self.tested()
            ),
            Some(row) if others().any(|other| other.loss != tried[0].loss) => format!(
                "One zone: {} zones would change some rates and save nothing, {}.",
                row.count,
                self.tested()
            ),
            Some(_) => "One zone: more zones would change no rate.".to_owned(),
            None => "One zone: more zones would lie elsewhere as soon as a few cores are left out."
                .to_owned(),
        }
    }
}
