//! One call from a set of named bytes to the values of every stage, and one more to the bytes of every result file.
//! Nothing here touches the disk, the terminal or the network, so the program, a page, another language and a cluster
//! use the very same calls, side by side in one process and on whatever pool of threads they are made on.

mod demand;
mod draft;
mod earlier_harvest;
mod fewer_zones;
mod follow;
mod grant;
mod inputs;
mod kept;
mod moved_zones;
mod past;
mod pooled_verdict;
mod run;
mod session;
mod stopwatch;
mod terms;
mod verdict;
mod watch;
mod yield_places;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

pub use demand::Demand;
pub use draft::draft;
pub use follow::{FollowOptions, SeasonResult, follow};
pub use grant::Grant;
pub use inputs::Inputs;
pub use moved_zones::moved_zones;
pub use pooled_verdict::pooled_verdict;
pub use run::Run;
pub use session::Session;
pub use terms::{Allotment, Terms};
pub use verdict::verdict;
pub use watch::{Step, Unwatched, Watch};

use kept::Kept;
use stopwatch::Stopwatch;

use crate::error::{Error, Failure};
use crate::files::Files;
use crate::plan::Purpose;

/// Runs a plan: everything from the plan to the rates.
///
/// # Errors
/// All problems of the stage that cannot go on. [`Failure::outcome`] keeps what the user can mend apart from what
/// the program or the machine did.
///
/// # Example
/// ```
/// use std::path::Path;
/// use lowstave::Files;
///
/// // A folder here; `Files::memory` and `Files::archive` do as well.
/// let files = Files::folder("samples/alder-flat");
/// let run = lowstave::run(&files, "plan.toml")?;
/// assert!(!run.zones().zones.is_empty());
///
/// let delivery = run.deliver()?;
/// assert!(delivery.get("prescription.geojson").is_some());
/// # Ok::<(), lowstave::Failure>(())
/// ```
pub fn run(files: &Files, plan: impl AsRef<Path>) -> Result<Run, Failure> {
    run_watched(files, plan, &Unwatched)
}

/// The same, watched: told of each step as it begins, and stopped between two steps where the watch says so.
///
/// # Errors
/// As [`run`], and [`Error::Cancelled`].
pub fn run_watched(
    files: &Files,
    plan: impl AsRef<Path>,
    watch: &dyn Watch,
) -> Result<Run, Failure> {
    run_with(files, plan, &Terms::default(), watch)
}

/// The same for a field of a farm.
///
/// # Errors
/// As [`run_watched`]; what is wrong in the farm's tables with the place in the farm file.
pub fn run_with(
    files: &Files,
    plan: impl AsRef<Path>,
    terms: &Terms<'_>,
    watch: &dyn Watch,
) -> Result<Run, Failure> {
    guarded(|| Run::new(files, plan.as_ref(), terms, watch, &mut Kept::nothing()))
}

/// Reads a plan and all that it names, and lays it out on the field, as far as a check or a first layout needs it.
///
/// # Errors
/// As [`run_watched`].
pub fn read(
    files: &Files,
    plan: impl AsRef<Path>,
    purpose: Purpose,
    watch: &dyn Watch,
) -> Result<Inputs, Failure> {
    read_with(files, plan, purpose, &Terms::default(), watch)
}

/// The same for a field of a farm.
///
/// # Errors
/// As [`run_with`].
pub fn read_with(
    files: &Files,
    plan: impl AsRef<Path>,
    purpose: Purpose,
    terms: &Terms<'_>,
    watch: &dyn Watch,
) -> Result<Inputs, Failure> {
    guarded(|| {
        let (mut time, mut kept) = (Stopwatch::new(watch), Kept::nothing());
        Inputs::read(files, plan.as_ref(), purpose, terms, &mut time, &mut kept)
    })
}

/// A defect of the program ends the one call that met it, not the process that made the call.
fn guarded<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| Err(Error::Defect.into()))
}
