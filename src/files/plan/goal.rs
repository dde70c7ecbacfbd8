//! Whether a plan's goal is reached in its weeks.

use crate::error::{Error, Result};
use crate::files::key_value::quoted;
use crate::model::plan::{MOST_WEEKS, Path, TrainingPlan, far, shown};
use crate::units::{exact, print_decimal};

/// What must hold between from, to and weeks. `flags`: the examples are flags, not lines of a file.
///
/// # Errors
/// When the goal lies below, is not reached in the weeks, or lies far and is not confirmed.
pub fn check(plan: &TrainingPlan, flags: bool) -> Result<()> {
    let example = |key: &str, value: String| {
        if flags {
            format!("--{key} {value}")
        } else {
            format!("{key} = {value}")
        }
    };
    let (from, to) = (&plan.from, &plan.to);
    let far = from.spm() * (exact(1) + far());
    let both = format!("{} to {}", from.short(), to.apart(&far));
    if to < from {
        return Err(Error::input(format!(
            "to: from {} to {} is a way down; a plan raises the rate",
            from.apart(to.spm()),
            to.apart(from.spm())
        ))
        .accepted("a goal of the first rate or more")
        .example(example("to", quoted(&from.to_string()))));
    }
    if far < *to.spm() && !plan.confirmed {
        let most = print_decimal(&shown(&far)).unwrap_or_default();
        return Err(Error::input(format!(
            "to: from {both} is more than 20 % of the first rate: so far, the stroke has to be \
             learnt anew, and a shoulder carries a fifth more strokes a minute (common practice, \
             no source). A coach should agree"
        ))
        .accepted(format!(
            "a goal up to {most} spm now and another plan after it; or confirmed = true in the \
             file, --confirm on the command line"
        ))
        .example(example("to", format!("\"{most} spm\""))));
    }
    let needed = Path::weeks_needed(from, to, &plan.rules, plan.grid());
    match needed {
        Some(needed) if needed <= plan.weeks => Ok(()),
        Some(needed) => Err(Error::input(format!(
            "weeks: {both} takes {needed} weeks by the rules of the path, and the plan has {}",
            plan.weeks
        ))
        .accepted(format!("{needed} weeks or more, or a nearer goal"))
        .example(example("weeks", needed.to_string()))),
        None => Err(Error::input(format!(
            "weeks: {both} is not reached in {MOST_WEEKS} weeks by the rules of the path"
        ))
        .accepted("larger steps, or a nearer goal")
        .example("step_least = \"1 spm\"")),
    }
}
