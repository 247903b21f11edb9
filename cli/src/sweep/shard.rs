//! The slice of a sweep that one machine, or one task of an array job, works on.
//!
//! Shard I of N has the designs I, I + N, I + 2 N ...: neighbours, which take about as long, go to different
//! shards. Array jobs number their tasks in a variable: `SLURM_ARRAY_TASK_ID` (with `_COUNT`, `_MIN` and `_STEP`) and
//! `PBS_ARRAY_INDEX`.

use std::fmt;
use std::str::FromStr;

/// Of so many shards, which; both from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which.
    pub index: usize,
    /// Of how many.
    pub count: usize,
}

/// What was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShardChoice {
    /// A shard by its number.
    Numbered(Shard),
    /// By the array job's variable, of so many if it is told.
    Array(Option<usize>),
}

impl Shard {
    /// All of it.
    pub const WHOLE: Self = Self { index: 1, count: 1 };

    /// Whether a design, counted from 0, is in it.
    #[must_use]
    pub fn holds(self, design: usize) -> bool {
        design % self.count == self.index - 1
    }

    /// Names of its files: "sweep", or "sweep-3-of-8".
    #[must_use]
    pub fn stem(self) -> String {
        if self.count == 1 {
            "sweep".into()
        } else {
            format!("sweep-{}-of-{}", self.index, self.count)
        }
    }

    fn new(index: usize, count: usize) -> Result<Self, String> {
        if (1..=count).contains(&index) {
            return Ok(Self { index, count });
        }
        Err(format!("there is no shard {index} of {count}: shards are numbered from 1"))
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "shard {} of {}", self.index, self.count)
    }
}

impl FromStr for ShardChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let form = "is no shard: write I/N such as 3/8, or array, or array/8";
        let number = |t: &str| t.trim().parse::<usize>().ok().filter(|n| *n > 0);
        let wrong = || format!("'{text}' {form}");
        match text.split_once('/') {
            None if text == "array" => Ok(Self::Array(None)),
            None => Err(wrong()),
            Some(("array", count)) => Ok(Self::Array(Some(number(count).ok_or_else(wrong)?))),
            Some((index, count)) => {
                let (index, count) =
                    (number(index).ok_or_else(wrong)?, number(count).ok_or_else(wrong)?);
                Shard::new(index, count).map(Self::Numbered)
            }
        }
    }
}

impl ShardChoice {
    /// The shard; `variable` tells the environment.
    ///
    /// # Errors
    /// No array job, or one whose numbers do not tell a shard.
    pub fn resolve(self, variable: &dyn Fn(&str) -> Option<String>) -> Result<Shard, String> {
        let count = match self {
            Self::Numbered(shard) => return Ok(shard),
            Self::Array(count) => count,
        };
        let number = |name: &str| -> Result<Option<usize>, String> {
            variable(name)
                .map(|text| {
                    text.trim().parse().map_err(|_| format!("{name} is '{text}', no whole number"))
                })
                .transpose()
        };
        let slurm = number("SLURM_ARRAY_TASK_ID")?;
        let Some(index) = (match slurm {
            Some(index) => Some(index),
            None => number("PBS_ARRAY_INDEX")?,
        }) else {
            return Err("this is no task of an array job: neither SLURM_ARRAY_TASK_ID nor \
                        PBS_ARRAY_INDEX is set; give the shard by its numbers, I/N"
                .into());
        };
        if let Some(count) = count {
            return Shard::new(index, count);
        }
        let (Some(_), Some(count)) = (slurm, number("SLURM_ARRAY_TASK_COUNT")?) else {
            return Err("the array job does not tell how many tasks it has: write array/N".into());
        };
        let first = number("SLURM_ARRAY_TASK_MIN")?.unwrap_or(1);
        let step = number("SLURM_ARRAY_TASK_STEP")?.filter(|s| *s > 0).unwrap_or(1);
        let whole = index >= first && (index - first) % step == 0;
        let place = index.saturating_sub(first) / step + 1;
        Shard::new(place, count).ok().filter(|_| whole).ok_or_else(|| {
            format!(
                "task {index} has no place in an array of {count} from {first} in steps of {step}: a list of single \
                 tasks does not tell its shards; write array/N with the N of the whole sweep"
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn resolved(text: &str, environment: &[(&str, &str)]) -> Result<Shard, String> {
        let variable = |name: &str| {
            environment.iter().find(|(n, _)| *n == name).map(|(_, value)| (*value).to_owned())
        };
        text.parse::<ShardChoice>()?.resolve(&variable)
    }

    #[test]
    fn shards_by_number_and_by_array_job() {
        assert_eq!(resolved("3/8", &[]), Ok(Shard { index: 3, count: 8 }));
        let slurm = |id, count, min, step| {
            [
                ("SLURM_ARRAY_TASK_ID", id),
                ("SLURM_ARRAY_TASK_COUNT", count),
                ("SLURM_ARRAY_TASK_MIN", min),
                ("SLURM_ARRAY_TASK_STEP", step),
            ]
        };
        assert_eq!(resolved("array", &slurm("0", "4", "0", "1")), Ok(Shard { index: 1, count: 4 }));
        assert_eq!(resolved("array", &slurm("7", "4", "1", "2")), Ok(Shard { index: 4, count: 4 }));
        // One task submitted again: the sweep still has 8.
        let again = slurm("3", "1", "3", "1");
        assert_eq!(resolved("array/8", &again), Ok(Shard { index: 3, count: 8 }));
        let pbs = [("PBS_ARRAY_INDEX", "5")];
        assert_eq!(resolved("array/8", &pbs), Ok(Shard { index: 5, count: 8 }));
        assert!(resolved("array", &pbs).unwrap_err().contains("array/N"));
        // --array=1,2,9
        assert!(resolved("array", &slurm("9", "3", "1", "1")).unwrap_err().contains("no place"));
        assert!(resolved("array/8", &slurm("0", "8", "0", "1")).unwrap_err().contains("from 1"));
        for (text, words) in [
            ("9/8", "no shard 9 of 8"),
            ("0/8", "no shard"),
            ("x", "write I/N"),
            ("array", "no task"),
        ] {
            let why = resolved(text, &[]).unwrap_err();
            assert!(why.contains(words), "{text}: {why}");
        }
    }

    #[test]
    fn shards_hold_every_design_once() {
        for count in 1..9 {
            for design in 0..50 {
                let holders =
                    (1..=count).filter(|&index| Shard { index, count }.holds(design)).count();
                assert_eq!(holders, 1, "design {design} of {count} shards");
            }
        }
    }
}
