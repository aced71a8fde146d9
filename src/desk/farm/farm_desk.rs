use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::answer::{FarmAnswer, FarmQuestion, TriedBudget, deeds, facts};
use super::difference::difference;
use super::farm_home::FarmHome;
use super::progress::Progress;
use super::workshop::{WorkedFarm, Workshop};
use crate::desk::change::{Change, Value};
use crate::desk::desk::{Desk, FarmShare};
use crate::desk::edit::{RULES, Reason, changed};
use crate::desk::home::Home;
use crate::desk::refused::Refused;
use crate::desk::texts::Texts;
use crate::desk::turn::{Turn, Turns};
use crate::engine::Session;
use crate::error::Error;
use crate::units::decimal;

/// Most steps back.
const MOST_STEPS: usize = 100;
/// No farm spends more, United States dollars.
const MOST_BUDGET: f64 = 1e9;
/// Where a farm file says its budget.
const LIMIT: &str = "budget.limit";

/// The desk of a farm.
#[derive(Debug)]
pub struct FarmDesk {
    /// The folder and the farm file.
    pub home: FarmHome,
    /// Whose turn it is.
    pub turns: Turns,
    /// How far the work on the fields is.
    pub progress: Progress,
    workshop: Mutex<Workshop>,
    /// The saved farm as it was worked on last, with what tells its state.
    saved: Mutex<Option<(String, Arc<WorkedFarm>)>>,
    /// What tells the farm whose files lie in the workshop.
    lying: Mutex<Option<String>>,
    /// The farm file before each Keep, and what was kept.
    steps: Mutex<Vec<(Texts, Texts)>>,
    writing: Mutex<()>,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl FarmDesk {
    /// The desk of a farm.
    ///
    /// # Errors
    /// Where there is no room for the folder for the time being.
    pub fn new(home: FarmHome) -> Result<Self, Error> {
        Ok(Self {
            home,
            turns: Turns::default(),
            progress: Progress::default(),
            workshop: Mutex::new(Workshop::new()?),
            saved: Mutex::default(),
            lying: Mutex::default(),
            steps: Mutex::default(),
            writing: Mutex::default(),
        })
    }

    /// The farm file on the disk, where it is the one that the page knows.
    ///
    /// # Errors
    /// [`Refused::Changed`].
    pub fn known(&self, known: &str) -> Result<Texts, Refused> {
        let texts = self.home.text()?;
        if texts.hash() == known {
            Ok(texts)
        } else {
            Err(Refused::Changed)
        }
    }

    /// Works on the farm with the budget that is tried.
    ///
    /// # Errors
    /// What is wrong with the farm file; a farm file that was changed underneath; a newer change of the same window.
    pub fn answer(&self, question: &FarmQuestion, turn: &Turn) -> Result<FarmAnswer, Refused> {
        let texts = self.known(&question.farm)?;
        let tried = with_budget(&texts, question.budget, None)?;
        let is_saved = tried == texts;
        let saved = match locked(&self.saved)
            .as_ref()
            .filter(|(hash, _)| *hash == question.farm)
        {
            Some((_, saved)) if !is_saved => Arc::clone(saved),
            _ => self.work(&texts, turn)?,
        };
        let worked = if is_saved {
            Arc::clone(&saved)
        } else {
            self.work(&tried, turn)?
        };
        let has_desk = |plan: &str| self.home.plan(plan).is_ok();
        let mut answer = facts(&worked, (&question.farm, is_saved), has_desk);
        answer.difference = difference(&deeds(&saved), &deeds(&worked));
        if is_saved {
            *locked(&self.saved) = Some((question.farm.clone(), saved));
        }
        Ok(answer)
    }

    fn work(&self, texts: &Texts, turn: &Turn) -> Result<Arc<WorkedFarm>, Refused> {
        let mut workshop = locked(&self.workshop);
        *locked(&self.lying) = None;
        let worked = workshop.work(&self.home, texts, turn, &self.progress)?;
        *locked(&self.lying) = Some(texts.hash());
        Ok(Arc::new(worked))
    }

    /// The saved farm, worked on where nobody has yet.
    ///
    /// # Errors
    /// As [`Self::answer`].
    pub fn saved(&self, turn: &Turn) -> Result<(String, Arc<WorkedFarm>), Refused> {
        let texts = self.home.text()?;
        let hash = texts.hash();
        if let Some((known, saved)) = locked(&self.saved).as_ref()
            && *known == hash
        {
            return Ok((hash, Arc::clone(saved)));
        }
        let saved = self.work(&texts, turn)?;
        *locked(&self.saved) = Some((hash.clone(), Arc::clone(&saved)));
        Ok((hash, saved))
    }

    /// A file of the saved farm's own.
    ///
    /// # Errors
    /// Where there is none.
    pub fn file(&self, path: &str, turn: &Turn) -> Result<Vec<u8>, Refused> {
        let texts = self.home.text()?;
        let is_lying = locked(&self.lying).as_ref() == Some(&texts.hash());
        let worked = if is_lying {
            self.saved(turn)?.1
        } else {
            self.work(&texts, turn)?
        };
        if !worked.result.files.iter().any(|own| own == path) {
            let what = "there is no such file in the result".to_owned();
            return Err(Refused::NotFound(what));
        }
        locked(&self.workshop).file(path)
    }

    /// The desk of a field, with what its farm says for it and the share that it gets; and what tells it from an older one.
    ///
    /// # Errors
    /// Where there is no such field, or its plan is no file below the farm's folder.
    pub fn field(&self, id: &str, turn: &Turn) -> Result<(String, Desk), Refused> {
        let (hash, saved) = self.saved(turn)?;
        let mut fields = saved.farm.fields.iter();
        let missing = || Refused::NotFound("the farm has no such field".to_owned());
        let field = fields.find(|field| field.id == id).ok_or_else(missing)?;
        let plan = self.home.plan(&field.plan)?;
        let opened = saved.farm.field_files(field)?;
        let allotment = saved.result.allotments.get(id).cloned();
        let share = self.share(&saved, id);
        let state = format!("{hash} {allotment:?}");
        let home =
            Home::open(Some(Path::new(&plan))).map_err(|error| Refused::Engine(error.into()))?;
        let home = home.of_farm(self.home.file(), &self.home.text()?.plan);
        let session = Session::of_farm(opened.inherited, allotment);
        Ok((state, Desk::of_farm(home, session, share)))
    }

    fn share(&self, saved: &WorkedFarm, id: &str) -> FarmShare {
        let file = self.home.file();
        let mut says = vec![format!(
            "What this plan does not set itself comes from {file}. What you keep here is written into this field's own plan."
        )];
        let allotment = saved.result.allotments.get(id);
        if let Some(cents) = allotment.and_then(|allotment| allotment.cents) {
            says.push(format!(
                "The farm's money is shared out: this field gets {} USD of it, less than it would spend alone.",
                cents / 100
            ));
        }
        if allotment.is_some_and(|allotment| !allotment.stock.is_empty()) {
            says.push("The farm's shed does not hold all that its fields would take: this field gets a part.".to_owned());
        }
        FarmShare {
            name: saved.farm.facts.farm.clone(),
            says,
        }
    }

    /// Writes a budget into the farm file with its reason.
    ///
    /// # Errors
    /// [`Refused::Changed`]; a budget that is none; what the disk refuses. The farm file is as it was then.
    pub fn keep(
        &self,
        known: &str,
        budget: TriedBudget,
        reason: Reason<'_>,
    ) -> Result<Texts, Refused> {
        let _writing = locked(&self.writing);
        let texts = self.known(known)?;
        let kept = with_budget(&texts, budget, Some(reason))?;
        self.home.farm(&kept)?;
        self.home.write(&kept)?;
        let mut steps = locked(&self.steps);
        if steps.len() >= MOST_STEPS {
            steps.remove(0);
        }
        steps.push((texts, kept.clone()));
        Ok(kept)
    }

    /// Takes the last kept budget back.
    ///
    /// # Errors
    /// [`Refused::Changed`]; [`Refused::Edited`]; where nothing was kept.
    pub fn step_back(&self, known: &str) -> Result<Texts, Refused> {
        let _writing = locked(&self.writing);
        let texts = self.known(known)?;
        let mut steps = locked(&self.steps);
        let nothing = || Refused::NotFound("nothing was kept since the desk was opened".to_owned());
        let (before, kept) = steps.last().ok_or_else(nothing)?;
        if *kept != texts {
            return Err(Refused::Edited);
        }
        let before = before.clone();
        self.home.write(&before)?;
        steps.pop();
        Ok(before)
    }

    /// How many steps can be taken back.
    #[must_use]
    pub fn steps(&self) -> usize {
        locked(&self.steps).len()
    }
}

/// A farm file with another budget.
fn with_budget(
    texts: &Texts,
    budget: TriedBudget,
    reason: Option<Reason<'_>>,
) -> Result<Texts, Refused> {
    let change = match budget {
        TriedBudget::AsSaved => return Ok(texts.clone()),
        TriedBudget::None => Change::Unset {
            key: LIMIT.to_owned(),
        },
        TriedBudget::Dollars(dollars) if (0.0..=MOST_BUDGET).contains(&dollars) => Change::Set {
            key: LIMIT.to_owned(),
            value: Value::Text(format!("{} USD", decimal(dollars, 2))),
        },
        TriedBudget::Dollars(dollars) => {
            let what =
                format!("{dollars} is no budget: 0 to {MOST_BUDGET:.0} USD for the whole farm");
            return Err(Refused::Malformed(what));
        }
    };
    changed(texts, std::slice::from_ref(&change), reason, RULES)
}
