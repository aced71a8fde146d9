//! One desk: the folder, the engine that keeps what did not change, and the last answers.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::change::Change;
use super::edit::{Reason, changed};
use super::home::Home;
use super::refused::Refused;
use super::texts::Texts;
use super::turn::{Turn, Turns};
use crate::deliver::{DeliverOptions, Delivery, Sheet};
use crate::engine::{Run, Session, Unwatched, Watch};
use crate::error::{Error, Failure};

/// Answers whose maps can still be asked for.
const MOST_ANSWERS: usize = 12;
/// Most requests that wait for the engine.
const MOST_WAITING: usize = 256;
/// Most steps back.
const MOST_STEPS: usize = 100;
/// Most changes of one request.
const MOST_CHANGES: usize = 2_000;

/// A run that was answered with.
#[derive(Debug, Clone)]
pub struct Answered {
    /// Its number.
    pub id: u64,
    /// The texts that it was made from.
    pub texts: Texts,
    /// The run.
    pub run: Arc<Run>,
    /// Whether it is the saved plan's.
    pub is_saved: bool,
}

/// The saved plan's run with what the page was told of it: a change is compared with it without a run of its own.
#[derive(Debug, Clone)]
pub struct SavedAnswer {
    /// The texts that it was made from.
    pub texts: Texts,
    /// The run.
    pub run: Arc<Run>,
    /// What the page was told.
    pub sheet: Arc<Sheet>,
}

/// What Keep found and what it wrote.
#[derive(Debug)]
struct Step {
    before: Texts,
    kept: Texts,
}

/// What a field's farm says and holds for it.
#[derive(Debug, Clone, serde::Serialize)]
pub struct FarmShare {
    /// Name of the farm.
    pub name: String,
    /// What is to be said of it.
    pub says: Vec<String>,
}

/// The desk.
#[derive(Debug)]
pub struct Desk {
    /// The folder.
    pub home: Home,
    /// Whose turn it is.
    pub turns: Turns,
    /// What the field's farm says and holds for it; none for a field alone.
    pub farm: Option<FarmShare>,
    engine: Mutex<Session>,
    answers: Mutex<VecDeque<Answered>>,
    saved: Mutex<Option<SavedAnswer>>,
    delivery: Mutex<Option<(u64, Arc<Delivery>)>>,
    steps: Mutex<Vec<Step>>,
    writing: Mutex<()>,
    last: AtomicU64,
    waiting: AtomicUsize,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A place in the queue for the engine.
struct Place<'d>(&'d AtomicUsize);

impl Drop for Place<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Desk {
    /// The desk of a folder.
    #[must_use]
    pub fn new(home: Home) -> Self {
        Self::with(home, Session::default(), None)
    }

    /// The desk of a field of a farm.
    #[must_use]
    pub fn of_farm(home: Home, session: Session, farm: FarmShare) -> Self {
        Self::with(home, session, Some(farm))
    }

    fn with(home: Home, session: Session, farm: Option<FarmShare>) -> Self {
        Self {
            home,
            turns: Turns::default(),
            farm,
            engine: Mutex::new(session),
            answers: Mutex::default(),
            saved: Mutex::default(),
            delivery: Mutex::default(),
            steps: Mutex::default(),
            writing: Mutex::default(),
            last: AtomicU64::new(0),
            waiting: AtomicUsize::new(0),
        }
    }

    /// The plan as it lies on the disk, where it is the one that the page knows.
    ///
    /// # Errors
    /// [`Refused::Changed`].
    pub fn saved(&self, known: &str) -> Result<Texts, Refused> {
        let texts = self.home.texts()?;
        let texts =
            texts.ok_or_else(|| Refused::NotFound("there is no plan here yet".to_owned()))?;
        if texts.hash() == known {
            Ok(texts)
        } else {
            Err(Refused::Changed)
        }
    }

    /// Runs a saved plan with changes.
    ///
    /// # Errors
    /// What the engine refuses; [`Refused::Newer`] where a newer change came.
    pub fn run(
        &self,
        saved: &Texts,
        changes: &[Change],
        watch: &dyn Watch,
    ) -> Result<Answered, Refused> {
        let tried = self.tried(saved, changes, None)?;
        let run = self.with_engine(|engine| {
            engine.run(&tried.over(&self.home.files()), tried.plan_path(), watch)
        })?;
        Ok(self.remember(Answered {
            id: self.last.fetch_add(1, Ordering::Relaxed) + 1,
            is_saved: tried == *saved,
            texts: tried,
            run: Arc::new(run),
        }))
    }

    /// Lets the engine work, one request after another.
    ///
    /// # Errors
    /// Those of the work; [`Refused::TooMuch`] where too many wait.
    pub fn with_engine<T>(
        &self,
        work: impl FnOnce(&mut Session) -> Result<T, Failure>,
    ) -> Result<T, Refused> {
        let waiting = self.waiting.fetch_add(1, Ordering::Relaxed);
        let _place = Place(&self.waiting);
        if waiting >= MOST_WAITING {
            let what = format!("more than {MOST_WAITING} requests wait for the engine; try again");
            return Err(Refused::TooMuch(what));
        }
        work(&mut locked(&self.engine)).map_err(|failure| {
            let is_stopped = |error: &Error| matches!(error, Error::Cancelled);
            if failure.errors().iter().any(is_stopped) {
                Refused::Newer
            } else {
                Refused::Engine(failure)
            }
        })
    }

    fn remember(&self, answered: Answered) -> Answered {
        let mut answers = locked(&self.answers);
        if answers.len() >= MOST_ANSWERS {
            answers.pop_front();
        }
        answers.push_back(answered.clone());
        answered
    }

    /// The answer to the saved plan, where it is known and a run has read the same files since.
    pub fn saved_answer(&self, saved: &Texts, run: &Run) -> Option<SavedAnswer> {
        let known = locked(&self.saved).clone()?;
        (known.texts == *saved && known.run.has_files_of(run)).then_some(known)
    }

    /// Remembers the answer to the saved plan.
    pub fn remember_saved(&self, answer: SavedAnswer) {
        *locked(&self.saved) = Some(answer);
    }

    /// An earlier answer.
    ///
    /// # Errors
    /// Where it is no longer kept.
    pub fn answered(&self, id: u64) -> Result<Answered, Refused> {
        let answers = locked(&self.answers);
        let found = answers.iter().find(|answered| answered.id == id);
        found
            .cloned()
            .ok_or_else(|| Refused::NotFound("this answer is no longer kept; ask again".to_owned()))
    }

    /// The result files of an answer, the same bytes as `plan` writes.
    ///
    /// # Errors
    /// Where the answer is of changes that were not kept, or the files cannot be made.
    pub fn delivery(&self, id: u64) -> Result<Arc<Delivery>, Refused> {
        let answered = self.answered(id)?;
        if !answered.is_saved {
            let what = "these changes are only tried; keep them first".to_owned();
            return Err(Refused::Malformed(what));
        }
        let mut kept = locked(&self.delivery);
        if let Some((_, delivery)) = kept.as_ref().filter(|(known, _)| *known == id) {
            return Ok(Arc::clone(delivery));
        }
        let made = answered
            .run
            .deliver_watched(&DeliverOptions::default(), &Unwatched)?;
        let made = Arc::new(made);
        *kept = Some((id, Arc::clone(&made)));
        Ok(made)
    }

    /// Writes changes into the plan with their reason. What the engine refuses is not written.
    ///
    /// # Errors
    /// [`Refused::Changed`]; what the engine or the disk refuses. The plan is as it was then.
    pub fn keep(
        &self,
        known: &str,
        changes: &[Change],
        reason: Reason<'_>,
        turn: &Turn,
    ) -> Result<Texts, Refused> {
        let _writing = locked(&self.writing);
        let saved = self.saved(known)?;
        let kept = self.tried(&saved, changes, Some(reason))?;
        self.with_engine(|engine| {
            engine.run(&kept.over(&self.home.files()), kept.plan_path(), turn)
        })?;
        self.saved(known)?;
        self.home.write_texts(&kept)?;
        self.remember_step(saved, kept.clone());
        Ok(kept)
    }

    fn remember_step(&self, before: Texts, kept: Texts) {
        let mut steps = locked(&self.steps);
        if steps.len() >= MOST_STEPS {
            steps.remove(0);
        }
        steps.push(Step { before, kept });
    }

    /// Takes the last kept changes back.
    ///
    /// # Errors
    /// [`Refused::Changed`]; [`Refused::Edited`] where the plan is not what was kept last; where there is nothing to take back.
    pub fn step_back(&self, known: &str) -> Result<Texts, Refused> {
        let _writing = locked(&self.writing);
        let saved = self.saved(known)?;
        let mut steps = locked(&self.steps);
        let step = steps.last().ok_or_else(|| {
            Refused::NotFound("nothing was kept since the desk was opened".to_owned())
        })?;
        if saved != step.kept {
            return Err(Refused::Edited);
        }
        let before = step.before.clone();
        self.home.write_texts(&before)?;
        // What Keep made goes with it; it is as Keep left it, or the state would be another.
        let made = step.kept.rules.as_ref().filter(|_| before.rules.is_none());
        if let Some((name, _)) = made {
            self.home.remove(name)?;
        }
        steps.pop();
        Ok(before)
    }

    /// How many steps can be taken back.
    #[must_use]
    pub fn steps(&self) -> usize {
        locked(&self.steps).len()
    }

    /// Writes the first plan of a folder; over one only where the page names its state, and then Undo brings that one back.
    ///
    /// # Errors
    /// Where there is one already that is not the named one, or the disk refuses.
    pub fn write_first(&self, texts: &Texts, replaces: Option<&str>) -> Result<(), Refused> {
        let _writing = locked(&self.writing);
        let text = &texts.plan;
        if let Some(known) = replaces {
            let before = self.saved(known)?;
            self.home
                .write(self.home.plan_file(), text.as_bytes(), true)?;
            self.remember_step(before, texts.clone());
            return Ok(());
        }
        self.home
            .write(self.home.plan_file(), text.as_bytes(), false)
    }

    /// Texts with changes; at most so many of them.
    fn tried(
        &self,
        saved: &Texts,
        changes: &[Change],
        reason: Option<Reason<'_>>,
    ) -> Result<Texts, Refused> {
        if changes.len() > MOST_CHANGES {
            let what = format!("more than {MOST_CHANGES} changes at once");
            return Err(Refused::TooMuch(what));
        }
        changed(saved, changes, reason, &self.home.new_rules())
    }
}
