//! What hands away from the keyboard ask for, done by the same commands as keys.

use super::App;
use crate::live::{KeyTime, Swim, clock_tenths};
use crate::model::log::Kept;
use crate::tui::away::{Ask, DeckStanding, Seen, SwimSeen, WayIn};
use crate::tui::results::{read_effort, read_strokes};
use crate::units::to_f64;

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

    fn take_seen(&mut self, seen: &Seen) {
        let kept = Kept::SEEN.into_iter().find(|kept| kept.word() == seen.kept);
        let read = read_strokes(&seen.strokes)
            .and_then(|strokes| Ok((strokes, read_effort(&seen.effort)?)));
        let (strokes, effort) = match read {
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
        (entered.strokes, entered.kept, entered.effort) = (strokes, kept, effort);
        self.keep_result(seen.swim, seen.swimmer);
        self.say("Results entered.");
    }

    /// How the deck is, for whoever sees no screen.
    pub fn standing(&self) -> DeckStanding {
        let settings = self.settings();
        let running = self.programme.running.as_ref();
        let swims = running.map_or(&[][..], |running| running.swims());
        DeckStanding {
            running: self.state.running,
            over: self.state.over,
            pairing: settings.pairing,
            muted: settings.muted,
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
            let seen = Seen {
                swim: swim.id,
                swimmer: *who,
                strokes: strokes.unwrap_or_default(),
                kept: kept.unwrap_or_default().into(),
                effort: effort.unwrap_or_default(),
            };
            let name = running.map_or("", |running| running.name(*who));
            (seen, name.to_string(), time.unwrap_or_default())
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
