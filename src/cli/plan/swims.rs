//! What a training day swims, as rows of a log: all but what is yet to be swum.

use jiff::civil::Date;

use crate::model::log::Row;
use crate::model::resolve::Resolved;
use crate::model::session::RepeatSwim;
use crate::model::words::has_cues;
use crate::timeline::{Repeat, Schedule};
use crate::units::{Quantity, Rate};

/// A row for each repeat of a session.
pub fn rows_of(session: &Resolved, schedule: &Schedule, swimmer: &str, date: Date) -> Vec<Row> {
    let row = |repeat: &Repeat| {
        let set = &session.sets[repeat.set];
        let cued = has_cues(set);
        Row {
            date: Some(date),
            swimmer: swimmer.to_string(),
            session: session.title.clone(),
            set: set.name.clone(),
            repeat: Some(repeat.number),
            distance: match &set.swim {
                RepeatSwim::Distance(distance) => Some(distance.clone()),
                RepeatSwim::Time(_) => None,
            },
            // A rate that was computed is written as it is shown.
            rate_cued: (cued.then(|| Rate::parse(&repeat.from.short()).ok())).flatten(),
            pairing: cued.then_some(set.pairing),
            kick: cued.then_some(set.kick),
            ..Row::default()
        }
    };
    schedule.repeats.iter().map(row).collect()
}
