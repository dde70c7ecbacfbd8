//! `plan decide`: what a swimmer decides once nothing is gained, written into the plan.

use std::path::Path;

use super::inputs::{Given, PlanFileArgs, no_course, say_notes, write_and_tell};
use super::reasons::{rate, spm};
use super::verdict::last_judged;
use crate::analysis::weeks::Week;
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::files::{parse_plan, with_decision};
use crate::model::plan::{Way, WayOn};
use crate::units::{Quantity, Rate};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane plan decide alex-plan.toml --keep\n  \
                  cuelane plan decide alex-plan.toml --fastest\n  \
                  cuelane plan decide alex-plan.toml --go-on\n\n\
                  The lines are added at the end of the plan's file; take them out and nothing is\n\
                  decided. A loss of speed still holds the rate or takes it back."
)]
#[group(id = "choice", required = true, multiple = false, args = ["keep", "fastest", "go_on"])]
pub struct DecideArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// Keep this rate from here on, and go on to the fades
    #[arg(long)]
    pub keep: bool,
    /// Go back to the fastest rate so far, keep it, and go on to the fades there
    #[arg(long)]
    pub fastest: bool,
    /// Raise the rate further, knowing that nothing is gained
    #[arg(long)]
    pub go_on: bool,
}

/// Runs `plan decide`.
pub fn run(args: &DecideArgs) -> Result<()> {
    let file = &args.plan.plan;
    if file == "-" {
        return Err(
            Error::input("the plan is read from standard input, and cannot be written to")
                .at("plan decide")
                .accepted("the plan's file")
                .example("cuelane plan decide alex-plan.toml --keep"),
        );
    }
    let given = Given::read(&args.plan)?;
    no_course(
        &given.plan,
        "there is no rate to decide on",
        "the log decides, by kept: plan show says what is next; another pairing goes into the \
         swimmer's file",
    )?;
    say_notes(&given);
    let standing = given.standing(None);
    let (plan, path) = (&given.plan, given.plan.path());
    let Some(week) = last_judged(&standing) else {
        return Err(
            Error::input("no week is over yet, so there is nothing to decide on")
                .at(file)
                .accepted("a day after the first week")
                .example("cuelane plan show alex-plan.toml"),
        );
    };
    let (choice, told) = chosen(args, week, &rate(&path, week.placed.rate))?;
    let decision = WayOn {
        week: week.week,
        choice,
    };
    let text = with_decision(file, &decision)?;
    parse_plan(file, &text)?;
    let told = fill(&format!("After week {}: {told}.", week.week));
    let about = format!(
        ", with what was decided.\n\n{told}\nNext: cuelane plan show {}",
        plan.source
    );
    write_and_tell(Path::new(file), &text, &about)
}

/// What is chosen after a week that swam `here`, and what that means.
fn chosen(args: &DecideArgs, week: &Week, here: &str) -> Result<(Way, String)> {
    let file = &args.plan.plan;
    let kept = |spm: &str| {
        let rate = Rate::parse(spm).map_err(|why| Error::input(why).at(file))?;
        Ok(Way::Keep(rate))
    };
    if args.go_on {
        let told = "the rate goes on up, although nothing is gained so far; a loss still holds it";
        return Ok((Way::GoOn, told.into()));
    }
    if args.keep {
        let told = format!("{here} is kept, and the cues are thinned out on it");
        return Ok((kept(here)?, told));
    }
    let Some(weighed) = &week.figures.weighed else {
        let why = format!("week {} was not judged by its speed", week.week);
        return Err(Error::input(why)
            .at(file)
            .accepted("--keep or --go-on; or log the week's swims")
            .example(format!("cuelane plan decide {file} --keep")));
    };
    let fastest = spm(weighed.fastest_spm);
    let told = format!("back to {fastest}, the fastest so far; the cues are thinned out on it");
    Ok((kept(&fastest)?, told))
}
