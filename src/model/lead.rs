//! How much earlier than their moment cues sound.

use std::cmp::Ordering;
use std::fmt;

use super::cue::CueKind;
use crate::units::{Time, exact};

/// How much earlier than their moment cues sound; negative is later. Each -300 to 300 ms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lead {
    /// Arm cues.
    pub arm: Time,
    /// Kick and fill cues.
    pub kick: Time,
    /// Breath cues.
    pub breath: Time,
}

impl Lead {
    /// Cues on their moment.
    pub fn none() -> Self {
        Self::all(Time::whole_s(0))
    }

    /// One lead for arm, kick, fill and breath.
    pub fn all(lead: Time) -> Self {
        Self {
            arm: lead.clone(),
            kick: lead.clone(),
            breath: lead,
        }
    }

    /// The lead of one kind of event; signals and walls stay where they are.
    pub fn of(&self, kind: CueKind) -> Time {
        match kind {
            CueKind::Arm => self.arm.clone(),
            CueKind::Kick | CueKind::Fill => self.kick.clone(),
            CueKind::Breath => self.breath.clone(),
            CueKind::Wall | CueKind::Count | CueKind::Start | CueKind::End => Time::whole_s(0),
        }
    }
}

impl fmt::Display for Lead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.arm == self.kick && self.kick == self.breath {
            f.write_str(&early(&self.arm))
        } else {
            write!(f, "arm {}, kick {}", early(&self.arm), early(&self.kick))?;
            if self.breath.s().is_zero() {
                Ok(())
            } else {
                write!(f, ", breath {}", early(&self.breath))
            }
        }
    }
}

/// `40 ms early`; a lead below nothing is late.
fn early(lead: &Time) -> String {
    match lead.s().cmp(&exact(0)) {
        Ordering::Less => format!("{} late", Time::from_s(-lead.s()).in_ms()),
        Ordering::Equal => lead.in_ms(),
        Ordering::Greater => format!("{} early", lead.in_ms()),
    }
}
