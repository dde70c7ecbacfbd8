//! What hands away from the keyboard ask for, done by the same commands as keys.

use super::App;
use crate::live::{KeyTime, Swim, clock_tenths};
use crate::model::log::Kept;
use crate::tui::away::{Ask, DeckStanding, Seen, SwimSeen, SwimmerSeen, WayIn};
use crate::tui::results::{read_effort, read_kept, read_strokes};
use crate::units::to_f64;

/// Two hands that wish for the same are not farther apart, s.
const SLIP_S: f64 = 1.0;

impl App {
    /// Frames a second.
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// A way in for hands away from the keyboard.
    pub fn let_in(&mut self, way_in: WayIn) {
        self.way_in = Ok(way_in);
    }

    /// No way in can be had, although it was asked for: says why, now and whenever it is looked for.
    pub fn keep_out(&mut self, why: &'static str) {
        self.way_in = Err(why);
        self.say_as("phone", why);
    }

    pub(super) fn show_way_in(&mut self) {
        match &self.way_in {
            Ok(way_in) => {
                self.shows_way_in = true;
                let address = way_in.address.clone();
                self.tell("phone", &address);
            }
            Err(why) => self.say(*why),
        }
    }

    /// Does what a hand away from the keyboard asks for. `at` is its moment, which may be long ago.
    pub fn ask(&mut self, ask: &Ask, by: u32, at: KeyTime) {
        let before = self.read_out();
        self.hand = Some(by);
        match ask {
            Ask::Step(by) => self.step(*by),
            Ask::TakeRate => self.take_tapped_rate(),
            Ask::Pair(pairing) if *pairing != self.settings().pairing => {
                self.switch(*pairing, self.settings().kick);
            }
            Ask::Mute(group, muted) if self.state.muted[*group as usize] != *muted => {
                self.mute(*group);
            }
            Ask::Run(runs) if self.state.over => self.run_after_end(*runs, at),
            // Another hand wished for the beginning too, and not for the start.
            Ask::Run(true) if at.now_s - self.begun_anew_s < SLIP_S => {}
            Ask::Run(runs) if self.state.running != *runs => self.run_or_pause(),
            Ask::Next => self.command('n', at),
            Ask::Again => self.command('a', at),
            Ask::In => self.command('c', at),
            Ask::Split => self.command('s', at),
            // A stroke of the swim before says nothing of this one.
            Ask::Tap if at.now_s >= self.swim_since_s => self.tap(at),
            Ask::Seen(seen) => self.take_seen(seen),
            Ask::TakeBack => self.take_back_of(by),
            Ask::Pair(_) | Ask::Mute(..) | Ask::Run(_) | Ask::Tap => {}
        }
        self.hand = None;
        self.tell_changes(before);
    }

    /// Silence is what there is after the end; to go on is to begin anew.
    fn run_after_end(&mut self, runs: bool, at: KeyTime) {
        if !runs {
            self.say("The session is over: it is silent.");
        } else if self.panel.is_some() {
            // The swims that they are of would be no more.
            self.say("Results are being entered on the laptop: not yet.");
        } else {
            self.run_or_pause();
            self.begun_anew_s = at.now_s;
        }
    }

    fn take_seen(&mut self, seen: &Seen) {
        let read = || {
            let strokes = seen.strokes.as_deref().map(read_strokes).transpose()?;
            let kept = seen.kept.as_deref().map(read_kept).transpose()?;
            let effort = seen.effort.as_deref().map(read_effort).transpose()?;
            Ok::<_, String>((strokes, kept, effort))
        };
        let (strokes, kept, effort) = match read() {
            Ok(read) => read,
            Err(why) => return self.say(why),
        };
        let running = self.programme.running.as_ref();
        let swim =
            running.and_then(|running| running.swims().iter().find(|swim| swim.id == seen.swim));
        if swim.is_none_or(|swim| !swim.order.contains(&seen.swimmer)) {
            return self.say("Those results are of a swim that is no more.");
        }
        let of = (seen.swim, seen.swimmer);
        let entered = self.entered.entry(of).or_default();
        // Another hand may have entered the rest.
        entered.strokes = strokes.unwrap_or(entered.strokes.take());
        entered.kept = kept.unwrap_or(entered.kept);
        entered.effort = effort.unwrap_or(entered.effort);
        self.keep_result(seen.swim, seen.swimmer);
        self.refresh_panel();
        self.say("Results entered.");
    }

    /// How the deck is, for whoever sees no screen.
    pub fn standing(&self) -> DeckStanding {
        let settings = self.settings();
        let running = self.programme.running.as_ref();
        let swims = running.map_or(&[][..], |running| running.swims());
        DeckStanding {
            running: self.state.running && !self.state.over,
            over: self.state.over,
            pairing: settings.pairing,
            muted: settings.muted,
            each: self.each,
            taps: self.taps_in_words().map(|words| (words, self.tapped_spm())),
            swimmers: running.map_or_else(Vec::new, |running| {
                let order = match swims.last() {
                    Some(swim) => swim.order.clone(),
                    None => (0..running.swimmers().len()).collect(),
                };
                let time = |who| swims.last()?.time_s(who).map(clock_tenths);
                let told = order
                    .into_iter()
                    .map(|who| (running.name(who).into(), time(who)));
                told.collect()
            }),
            starts: swims.last().map_or(0, |swim| swim.id + 1),
            results: self.swim_for_results().map(|swim| self.swim_seen(swim)),
        }
    }

    fn swim_seen(&self, swim: &Swim) -> SwimSeen {
        let running = self.programme.running.as_ref();
        let row = |who: &usize| {
            let entered = self.entered.get(&(swim.id, *who));
            let corrected = entered.and_then(|entered| Some(to_f64(entered.time.as_ref()?.s())));
            let time = corrected.or_else(|| swim.time_s(*who)).map(clock_tenths);
            let strokes = entered.and_then(|entered| Some(entered.strokes.as_ref()?.to_string()));
            let kept = entered.and_then(|entered| entered.kept).map(Kept::word);
            let effort = entered.and_then(|entered| Some(entered.effort?.to_string()));
            SwimmerSeen {
                swimmer: *who,
                name: running.map_or("", |running| running.name(*who)).into(),
                time: time.unwrap_or_default(),
                strokes: strokes.unwrap_or_default(),
                kept: kept.unwrap_or_default().into(),
                effort: effort.unwrap_or_default(),
            }
        };
        let set = &self.programme.set(swim.set).name;
        SwimSeen {
            swim: swim.id,
            heading: format!("{set}, repeat {}", swim.number),
            rows: swim.order.iter().map(row).collect(),
        }
    }
}

#[cfg(test)]
mod tests;
