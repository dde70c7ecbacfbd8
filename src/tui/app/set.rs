//! Keys that run the set: next, again, in, a split, results, and taking them back.

use std::collections::BTreeMap;

use ratatui::crossterm::event::KeyCode;

use super::{App, Undo};
use crate::live::{
    CuedLast, DeckCommand, Done, Happened, KeyTime, Running, SetBefore, Swim, clock_tenths,
};
use crate::timeline::Since;
use crate::tui::handed::{KeptResult, Laying, SwumResult};
use crate::tui::results::{Answer, Entered, Results};
use crate::tui::session::clock_up;
use crate::units::{Time, decimal, to_f64};

/// Results that are shown.
const MOST_LAST: usize = 5;

const ONLY_SESSIONS: &str = "Cues without an end have no repeats: start a session for that.";

impl App {
    /// The schedule, where it is to be laid out anew since this was asked last.
    pub fn take_laying(&mut self) -> Option<Laying> {
        let position = self.state.position;
        let running = self.programme.running.as_ref()?;
        if !std::mem::take(&mut self.moved) {
            return None;
        }
        let repeats = &running.course().repeats;
        let now_s = self.from() as f64 / f64::from(self.rate_hz);
        let ahead = repeats.partition_point(|repeat| to_f64(&repeat.start_s) <= now_s);
        Some(Laying {
            course: running.course().clone(),
            since: match position {
                0 => Since::default(),
                _ => Since {
                    repeat: ahead,
                    ms: (now_s * 1e3).ceil() as u64,
                },
            },
        })
    }

    /// Results to be kept since the last call, in order.
    pub fn take_results(&mut self) -> Vec<KeptResult> {
        std::mem::take(&mut self.results)
    }

    /// The first frame at which something can be laid anew: the engine is asked for frames while
    /// a key is on its way.
    fn from(&self) -> u64 {
        self.state.position + u64::from(self.rate_hz / 10) + 2 * u64::from(self.state.block)
    }

    /// Starts, pauses, goes on; after the end, goes back to the beginning.
    pub(super) fn run_or_pause(&mut self) {
        if self.state.over {
            self.undo.clear();
            if let Some(running) = &mut self.programme.running {
                running.restart();
                self.moved = true;
            }
            (self.state.position, self.state.over, self.state.running) = (0, false, false);
            self.send(DeckCommand::GoTo(0));
            self.send(DeckCommand::Run(false));
            self.say("At the beginning again. Space starts.");
            return;
        }
        self.state.running = !self.state.running;
        self.send(DeckCommand::Run(self.state.running));
        self.following = false;
    }

    /// A command of the set, as [`Running`] does it.
    pub(super) fn command(&mut self, key: char, at: KeyTime) {
        let (from, position) = (self.from(), self.state.position);
        let Some(running) = &mut self.programme.running else {
            return self.say(ONLY_SESSIONS);
        };
        let (done, before) = match key {
            'n' => running.next(at, from),
            'a' => running.again(at, from),
            'c' => running.arrived(at, position),
            _ => (running.split(at), None),
        };
        if let Some(before) = before.filter(|_| done.can_undo) {
            self.keep(Undo::Set(Box::new(before)));
        }
        self.has_done(done);
    }

    /// Takes the last command of the set back.
    pub(super) fn take_command_back(&mut self, before: &SetBefore) {
        let position = self.state.position;
        let Some(running) = &mut self.programme.running else {
            return;
        };
        match running.take_back(before, position) {
            Ok(done) => self.has_done(done),
            Err(why) => self.say(why),
        }
    }

    fn has_done(&mut self, done: Done) {
        self.moved |= done.moved;
        if let Some((swim, who)) = done.timed {
            self.keep_result(swim, who);
            self.refresh_panel();
        }
        if !done.said.is_empty() {
            let kind = if done.timed.is_some() { "in" } else { "said" };
            self.say_as(kind, done.said);
        }
    }

    /// Opens the results of the last swim that is over, or in which somebody is in.
    pub(super) fn open_results(&mut self) {
        if self.programme.running.is_none() {
            return self.say(ONLY_SESSIONS);
        }
        match self.swim_for_results() {
            Some(swim) => self.panel = Some(Results::new(swim, entered_in(&self.entered, swim))),
            None => self.say("No swim is over yet."),
        }
    }

    /// Lets the results that are being entered take up what came meanwhile.
    pub(super) fn refresh_panel(&mut self) {
        if let (Some(panel), Some(running)) = (&mut self.panel, &self.programme.running)
            && let Some(swim) = running.swims().iter().find(|one| one.id == panel.swim)
        {
            panel.refresh(swim, entered_in(&self.entered, swim));
        }
    }

    /// The last swim that is over, or in which somebody is in.
    pub(super) fn swim_for_results(&self) -> Option<&Swim> {
        let running = self.programme.running.as_ref()?;
        let now_s = self.state.position as f64 / f64::from(self.rate_hz);
        let is_over = |swim: &&Swim| {
            let end_s = to_f64(&running.course().repeats[swim.repeat].end_s);
            !swim.came.is_empty() || end_s <= now_s
        };
        running.swims().iter().rev().find(is_over)
    }

    /// A key while results are entered.
    pub(super) fn results_key(&mut self, code: KeyCode) {
        let Some(panel) = &mut self.panel else { return };
        let swim = panel.swim;
        match panel.key(code) {
            Answer::Open => {}
            Answer::Refused(why) => self.say(why),
            Answer::Left => {
                self.panel = None;
                self.say("Results left as they were.");
            }
            Answer::Saved(order, entered) => {
                self.panel = None;
                self.save_results(swim, &order, entered);
            }
        }
    }

    fn save_results(&mut self, id: u32, order: &[usize], entered: Vec<Entered>) {
        let Some(swim) = self
            .programme
            .running
            .as_mut()
            .and_then(|one| one.swim_mut(id))
        else {
            return;
        };
        swim.order = order.to_vec();
        let empty = Entered::default();
        for (who, entered) in order.iter().zip(entered) {
            let is_known = self.entered.contains_key(&(id, *who));
            if is_known || entered != empty {
                self.entered.insert((id, *who), entered);
            }
        }
        for who in order {
            self.keep_result(id, *who);
        }
        self.say("Results entered.");
    }

    /// Hands a swimmer's result over to be kept.
    pub(super) fn keep_result(&mut self, id: u32, who: usize) {
        let Some(running) = &self.programme.running else {
            return;
        };
        let Some(swim) = running.swims().iter().find(|swim| swim.id == id) else {
            return;
        };
        let entered = self.entered.get(&(id, who)).cloned().unwrap_or_default();
        let taken = swim.time_s(who).and_then(in_hundredths);
        let swum = SwumResult {
            set: swim.set,
            repeat: swim.number,
            again: swim.again,
            stopped: swim.is_stopped(who),
            time: entered.time.clone().or(taken),
            splits: swim.splits.clone(),
            cued: swim.cued,
            entered,
        };
        // A swim that nobody has timed or seen has no row.
        let is_something = swum.time.is_some() || swum.entered != Entered::default();
        let kept = KeptResult {
            of: (id, who),
            swum: is_something.then_some(swum),
        };
        if kept.swum.is_some() || self.was_kept.contains(&kept.of) {
            self.was_kept.insert(kept.of);
            self.results.push(kept);
        }
    }

    /// Looks at the clock of the swims.
    pub(super) fn watch(&mut self, at: KeyTime) {
        let settings = self.settings();
        let cued = CuedLast {
            spm: settings.spm,
            pairing: settings.pairing,
            kick: settings.kick,
        };
        let (position, runs) = (self.state.position, self.state.running);
        let Some(running) = &mut self.programme.running else {
            return;
        };
        let mut told = Vec::new();
        while let Some(happened) = running.watch(at, position, runs, cued) {
            let (kind, index) = match happened {
                Happened::Start(index) => ("start", index),
                Happened::End(index) => ("end", index),
            };
            let repeat = &running.course().repeats[index];
            told.push((kind, repeat.set, repeat.number));
        }
        for (kind, set, number) in told {
            let set = self.programme.set(set);
            let what = format!("{}, repeat {number} of {}", set.name, set.repeats);
            self.tell(kind, &what);
        }
    }

    /// The time to the next start or end, who of several leaves next, and by how much the session
    /// runs early or late.
    pub(super) fn clock_in_words(&self) -> String {
        let mut parts = vec![self.programme.clock(&self.state)];
        if let Some(running) = &self.programme.running {
            parts.extend(self.next_to_leave(running));
            parts.extend(early_or_late(running.late_s()));
        }
        parts.join("   ")
    }

    /// Who leaves next in a swim that has begun: `Bo leaves in 0:03`.
    fn next_to_leave(&self, running: &Running) -> Option<String> {
        let swim = running.swims().last()?;
        let who = swim.went.iter().position(Option::is_none)?;
        let repeat = &running.course().repeats[swim.repeat];
        let go = repeat.start_s + running.course().goes.apart_s.times(who as i128);
        if go >= repeat.end_s {
            // The swim has been ended before.
            return None;
        }
        let left = to_f64(&go) - self.state.position as f64 / f64::from(self.rate_hz);
        (left > 0.0).then(|| format!("{} leaves in {}", running.name(who), clock_up(left)))
    }

    /// The last results, the newest first: `Settle 2: Alex 49.3 s, 44 strokes`.
    pub(super) fn last_in_words(&self) -> Vec<String> {
        let Some(running) = &self.programme.running else {
            return Vec::new();
        };
        let swims = running.swims().iter().rev();
        let told = swims.filter_map(|swim| self.result_in_words(running, swim));
        told.take(MOST_LAST).collect()
    }

    fn result_in_words(&self, running: &Running, swim: &Swim) -> Option<String> {
        let of = |who: &usize| {
            let entered = self.entered.get(&(swim.id, *who));
            let corrected = entered.and_then(|entered| Some(to_f64(entered.time.as_ref()?.s())));
            let mut parts = Vec::new();
            parts.extend(corrected.or_else(|| swim.time_s(*who)).map(clock_tenths));
            if let Some(entered) = entered {
                parts.extend(
                    entered
                        .strokes
                        .as_ref()
                        .map(|count| format!("{count} strokes")),
                );
                parts.extend(entered.kept.map(|kept| format!("kept {}", kept.word())));
                parts.extend(entered.effort.map(|effort| format!("effort {effort}")));
            }
            let is_told = !parts.is_empty();
            is_told.then(|| format!("{} {}", running.name(*who), parts.join(", ")))
        };
        let who: Vec<String> = swim.order.iter().filter_map(of).collect();
        let set = &self.programme.set(swim.set).name;
        (!who.is_empty()).then(|| format!("{set} {}: {}", swim.number, who.join("; ")))
    }
}

/// What was entered for each swimmer of a swim.
fn entered_in(entered: &BTreeMap<(u32, usize), Entered>, swim: &Swim) -> impl Fn(usize) -> Entered {
    |who| entered.get(&(swim.id, who)).cloned().unwrap_or_default()
}

/// By how much the session runs early or late, from half a second on: `0:22 early`.
fn early_or_late(late_s: f64) -> Option<String> {
    let word = if late_s > 0.0 { "late" } else { "early" };
    let whole = late_s.abs().round() as u64;
    (whole > 0).then(|| format!("{}:{:02} {word}", whole / 60, whole % 60))
}

/// A time in hundredths of a second.
fn in_hundredths(seconds: f64) -> Option<Time> {
    decimal(&format!("{seconds:.2}")).ok().map(Time::from_s)
}
