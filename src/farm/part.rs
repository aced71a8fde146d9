//! A share of a farm's fields, for the arrays of batch engines.

use super::error::FarmError;

/// Most parts.
const MOST: u32 = 100_000;

/// Part `number` of `of` parts, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Which, from 1.
    pub number: u32,
    /// Of how many.
    pub of: u32,
}

/// The variable that says how many parts there are, where the batch engine does not.
const PARTS: &str = "LOWSTAVE_PARTS";

impl Part {
    /// `2/4`, or `auto`: what the variables of a Slurm array or of an indexed Kubernetes job say. `variable` looks one up; `begun` is how many
    /// parts the output folder was begun in, where it was.
    ///
    /// # Errors
    /// Where it is no share, or where the variables do not make clear which.
    pub fn parse(
        text: &str,
        variable: impl Fn(&str) -> Option<String>,
        begun: Option<u32>,
    ) -> Result<Self, FarmError> {
        if text == "auto" {
            return Variables::read(&variable)?.part(begun);
        }
        let numbers = text
            .split_once('/')
            .and_then(|(number, of)| Some((number.trim().parse().ok()?, of.trim().parse().ok()?)));
        let Some((number, of)) = numbers else {
            return refused(
                format!("\"{}\" is no share", crate::text::shorten(text)),
                "write 2/4 for the second of four parts, or auto in a batch array",
            );
        };
        Self::checked(number, of)
    }

    fn checked(number: u32, of: u32) -> Result<Self, FarmError> {
        if of == 0 || of > MOST {
            return refused(
                format!("a farm cannot be worked on in {of} parts"),
                "choose 1 to 100,000 parts",
            );
        }
        if number == 0 || number > of {
            return refused(
                format!("there is no part {number} of {of}"),
                "parts are numbered from 1 to the count of parts",
            );
        }
        Ok(Self { number, of })
    }

    /// Whether a chunk of the farm is in this part.
    #[must_use]
    pub fn holds(self, chunk: u32) -> bool {
        chunk % self.of == self.number - 1
    }
}

fn refused<T>(what: String, help: &str) -> Result<T, FarmError> {
    Err(FarmError::Part {
        what,
        help: help.to_owned(),
    })
}

/// What batch engines say of a task.
#[derive(Default)]
struct Variables {
    slurm: Option<SlurmTask>,
    kubernetes_index: Option<u32>,
    parts: Option<u32>,
}

struct SlurmTask {
    id: u32,
    count: Option<u32>,
    first: Option<u32>,
    last: Option<u32>,
}

impl Variables {
    fn read(variable: &impl Fn(&str) -> Option<String>) -> Result<Self, FarmError> {
        let number = |name: &str| match variable(name) {
            None => Ok(None),
            Some(text) => match text.trim().parse::<u32>() {
                Ok(number) => Ok(Some(number)),
                Err(_) => refused(
                    format!(
                        "{name} is \"{}\", not a whole number",
                        crate::text::shorten(&text)
                    ),
                    "set it to a whole number, or write --part 2/4",
                ),
            },
        };
        let slurm = match number("SLURM_ARRAY_TASK_ID")? {
            None => None,
            Some(id) => Some(SlurmTask {
                id,
                count: number("SLURM_ARRAY_TASK_COUNT")?,
                first: number("SLURM_ARRAY_TASK_MIN")?,
                last: number("SLURM_ARRAY_TASK_MAX")?,
            }),
        };
        Ok(Self {
            slurm,
            kubernetes_index: number("JOB_COMPLETION_INDEX")?,
            parts: number(PARTS)?,
        })
    }

    fn part(&self, begun: Option<u32>) -> Result<Part, FarmError> {
        match (&self.slurm, self.kubernetes_index) {
            (Some(_), Some(_)) => refused(
                "both SLURM_ARRAY_TASK_ID and JOB_COMPLETION_INDEX are set".to_owned(),
                "write --part 2/4, so that it is clear which of them counts",
            ),
            (None, None) => refused(
                "auto needs SLURM_ARRAY_TASK_ID of a Slurm array or JOB_COMPLETION_INDEX of an indexed Kubernetes job, and neither is set".to_owned(),
                "write --part 2/4",
            ),
            (Some(task), None) => self.of_slurm(task, begun),
            (None, Some(index)) => match self.parts {
                Some(of) => Part::checked(index.saturating_add(1), of),
                None => refused(
                    "Kubernetes does not say how many parts there are".to_owned(),
                    "set LOWSTAVE_PARTS to the job's completions",
                ),
            },
        }
    }

    /// A task that is run again alone counts one task, whatever the array had: taken at its word it would do the whole farm.
    fn of_slurm(&self, task: &SlurmTask, begun: Option<u32>) -> Result<Part, FarmError> {
        if let Some(of) = self.parts {
            return Part::checked(task.id, of);
        }
        if let (Some(count), Some(first), Some(last)) = (task.count, task.first, task.last) {
            let is_whole = count > 1 && first <= 1 && last.checked_sub(first) == Some(count - 1);
            if is_whole {
                return Part::checked(task.id.saturating_sub(first) + 1, count);
            }
        }
        match begun {
            // The array that it was begun with counted from 1 or from 0; only one of them has both the first and the last task.
            Some(of) if task.id >= 1 && task.id < of => refused(
                format!("this array is not a whole one, and the folder was begun in {of} parts: it is not clear whether they counted from 0 or from 1"),
                &format!("write --part {}/{of} where they counted from 1, {}/{of} where from 0", task.id, task.id + 1),
            ),
            Some(of) => Part::checked(if task.id == 0 { 1 } else { task.id }, of),
            None => refused(
                "this array is not a whole one (a task that is run again alone does not know how many parts there were)".to_owned(),
                "set LOWSTAVE_PARTS to the count of parts, or write --part 2/4",
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Part;

    fn parsed(
        text: &str,
        variables: &[(&str, &str)],
        begun: Option<u32>,
    ) -> Result<String, String> {
        let look_up = |name: &str| {
            let found = variables.iter().find(|(own, _)| *own == name);
            found.map(|(_, value)| (*value).to_owned())
        };
        let part = Part::parse(text, look_up, begun).map_err(|error| error.to_string())?;
        Ok(format!("{}/{}", part.number, part.of))
    }

    const SLURM: [&str; 4] = [
        "SLURM_ARRAY_TASK_ID",
        "SLURM_ARRAY_TASK_COUNT",
        "SLURM_ARRAY_TASK_MIN",
        "SLURM_ARRAY_TASK_MAX",
    ];

    fn slurm(values: [&str; 4]) -> Vec<(&'static str, &str)> {
        SLURM.into_iter().zip(values).collect()
    }

    #[test]
    fn a_share_is_read_and_one_that_cannot_be_is_refused() {
        assert_eq!(parsed("2/4", &[], None).unwrap(), "2/4");
        assert_eq!(parsed("1/1", &[], None).unwrap(), "1/1");
        for (text, words) in [
            ("5/4", "no part 5 of 4"),
            ("0/4", "no part 0 of 4"),
            ("1/0", "0 parts"),
            ("2", "is no share"),
            ("two/4", "is no share"),
            ("-1/4", "is no share"),
        ] {
            let told = parsed(text, &[], None).unwrap_err();
            assert!(told.contains(words), "{text}: {told}");
        }
    }

    #[test]
    fn an_array_of_slurm_is_read_where_it_is_whole() {
        assert_eq!(
            parsed("auto", &slurm(["2", "4", "1", "4"]), None).unwrap(),
            "2/4"
        );
        assert_eq!(
            parsed("auto", &slurm(["0", "4", "0", "3"]), None).unwrap(),
            "1/4"
        );
        // One task run again: taken at its word it would be the whole farm.
        for lone in [
            ["1", "1", "1", "1"],
            ["3", "1", "3", "3"],
            ["3", "2", "3", "4"],
            ["5", "3", "1", "9"],
        ] {
            let told = parsed("auto", &slurm(lone), None).unwrap_err();
            assert!(told.contains("not a whole one"), "{told}");
        }
        let mut again = slurm(["3", "1", "3", "3"]);
        again.push(("LOWSTAVE_PARTS", "4"));
        assert_eq!(parsed("auto", &again, None).unwrap(), "3/4");
        assert_eq!(
            parsed("auto", &slurm(["4", "1", "4", "4"]), Some(4)).unwrap(),
            "4/4"
        );
        let told = parsed("auto", &slurm(["1", "1", "1", "1"]), Some(4)).unwrap_err();
        assert!(
            told.contains("--part 1/4") && told.contains("2/4"),
            "{told}"
        );
    }

    #[test]
    fn an_indexed_job_counts_from_zero_and_needs_the_count() {
        let job = |parts: Option<&'static str>| {
            let mut variables = vec![("JOB_COMPLETION_INDEX", "0")];
            variables.extend(parts.map(|parts| ("LOWSTAVE_PARTS", parts)));
            parsed("auto", &variables, None)
        };
        assert_eq!(job(Some("3")).unwrap(), "1/3");
        assert!(job(None).unwrap_err().contains("LOWSTAVE_PARTS"));
        assert!(
            job(Some("many"))
                .unwrap_err()
                .contains("not a whole number")
        );
        assert!(
            parsed("auto", &[], None)
                .unwrap_err()
                .contains("neither is set")
        );
        let both = [("JOB_COMPLETION_INDEX", "0"), ("SLURM_ARRAY_TASK_ID", "1")];
        assert!(parsed("auto", &both, None).unwrap_err().contains("both"));
    }
}
