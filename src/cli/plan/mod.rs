//! `plan`: weeks in which the rate rises, the stroke stays and the cues go.

mod calendar;
mod chart;
mod course;
mod course_page;
mod course_view;
mod decide;
mod export;
mod export_view;
mod film;
mod flags;
mod inputs;
mod new;
mod old_weeks;
mod paper;
mod planned;
mod prepare;
mod reasons;
mod report;
mod show;
mod show_view;
mod squad;
mod swims;
mod verdict;
mod week_view;

pub use planned::PlannedDays;

use crate::error::Result;

#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(subcommand)]
    pub command: PlanCommand,
}

#[derive(Debug, clap::Subcommand)]
pub enum PlanCommand {
    /// Write a plan; asks for what is not given where there is a terminal
    New(new::NewArgs),
    /// Show the weeks, and where the swimmer stands by the log
    Show(show::PlanShowArgs),
    /// Write down what is decided once nothing is gained: keep the rate, go back, or go on
    Decide(decide::DecideArgs),
    /// Write the tracks of a week, only what changed
    Export(export::PlanExportArgs),
    /// Write the training days as a calendar (.ics)
    Calendar(calendar::CalendarArgs),
    /// Draw the weeks, planned and swum, as SVG
    Chart(chart::PlanChartArgs),
    /// Write a page for the swimmer: charts, verdict, the week's sets (.html)
    Report(report::ReportArgs),
}

/// Runs `plan`.
pub fn run(args: &PlanArgs) -> Result<u8> {
    match &args.command {
        PlanCommand::New(args) => new::run(args).map(|()| 0),
        PlanCommand::Show(args) => show::run(args).map(|()| 0),
        PlanCommand::Decide(args) => decide::run(args).map(|()| 0),
        PlanCommand::Export(args) => export::run(args),
        PlanCommand::Calendar(args) => calendar::run(args).map(|()| 0),
        PlanCommand::Chart(args) => chart::run(args).map(|()| 0),
        PlanCommand::Report(args) => report::run(args).map(|()| 0),
    }
}
