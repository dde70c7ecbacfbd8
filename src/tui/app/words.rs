//! What the screen says, in words: from the state of everything to a [`Face`].

use super::{App, DeckView, QUIT};
use crate::analysis::follow::{FEWEST, Tap};
use crate::live::{DeckSound, KeyTime, spm};
use crate::model::cue::Side;
use crate::model::kick::Kick;
use crate::model::session::{RampBy, RatePlan};
use crate::tui::face::{Face, ShownRate, Wheel};
use crate::tui::paged::{PAGE_S, tied};

/// How long what just happened is shown, s.
const MESSAGE_S: f64 = 4.0;

impl App {
    /// The present frame of the screen, at a moment.
    pub fn face(&mut self, deck: &DeckView, at: KeyTime) -> Face {
        self.now_s = at.now_s;
        self.hear(deck);
        let state = &self.state;
        let wish = state.view.wish;
        let set = self.programme.set(self.scope.set);
        let late = state.position as f64 - at.heard_frame;
        let point = state.view.phase.filter(|_| state.running).map(|phase| {
            // What is heard is behind what has been made by the device's latency.
            let behind = late.clamp(0.0, f64::from(self.rate_hz)) * state.view.frequency;
            let phase = phase - behind + self.programme.first_entry(self.scope.set);
            phase - phase.floor()
        });
        let now = spm(state.view.frequency, self.rate_hz);
        let goal = self.spm();
        let is_there = (now - goal).abs() < 0.05;
        Face {
            title: self.programme.title.clone(),
            swimmer: self.programme.swimmer.clone(),
            doing: self.doing(),
            rate: self.rate_in_words(if is_there { goal } else { now }, !is_there),
            going_to_spm: (!is_there).then_some(goal),
            typed: (!self.typed.is_empty()).then(|| self.typed.clone()),
            feet: self.feet_in_words(),
            kick: wish.kick.in_words(),
            waiting: (state.view.switching && state.running)
                .then(|| format!("from the next {} entry on", set.first_arm)),
            wheel: Wheel::new(set, wish.pairing, wish.kick),
            point,
            clock: self.clock_in_words(),
            heading: self.programme.heading(&self.state),
            say: self.programme.say(&self.state),
            ahead: self.programme.ahead(&self.state),
            last: self.last_in_words(),
            results: self.results_in_words(),
            settings: self.settings_in_words(),
            aside: (self.taps_in_words())
                .or_else(|| self.programme.distance.clone())
                .unwrap_or_default(),
            sound: sound_in_words(deck),
            alarm: self.was_lost,
            happened: self.happened(),
            asked: self.asks_to_quit.then_some(QUIT),
            keys: self.keys_in_words(),
            turn: (at.now_s / PAGE_S) as usize,
            help: self.help,
            way_in: self.way_in.clone().ok().filter(|_| self.shows_way_in),
        }
    }

    /// What the clock does.
    pub(super) fn doing(&self) -> &'static str {
        match (self.state.over, self.state.running, self.state.position) {
            (true, ..) => "over",
            (_, true, _) if self.was_lost => "no sound",
            (_, true, _) => "running",
            (_, false, at) if at == self.programme.beginning() => "ready",
            _ => "paused",
        }
    }

    pub(super) fn feet_in_words(&self) -> [String; 2] {
        let wish = self.state.view.wish;
        match wish.kick {
            Kick::Pull => ["legs rest".to_string(), "arms alone".to_string()],
            _ => Side::BOTH.map(|foot| wish.pairing.in_words(foot)),
        }
    }

    /// The rate as it is read, strokes/min. `moves` where it is on its way to another.
    pub(super) fn rate_in_words(&self, spm: f64, moves: bool) -> ShownRate {
        ShownRate::new(spm, moves || self.rate_moves())
    }

    /// Whether the rate changes by itself: it follows taps, or it is a ramp of the session's.
    pub(super) fn rate_moves(&self) -> bool {
        let is_own = self.asked.is_none() && self.state.view.own_rate;
        let is_ramp = matches!(
            self.programme.set(self.scope.set).rate,
            RatePlan::Ramp {
                by: RampBy::Time,
                ..
            }
        );
        self.following || (is_ramp && is_own)
    }

    /// What just happened, with the share of its time that has passed.
    fn happened(&self) -> Option<(String, f64)> {
        let (message, said_s) = self.message.as_ref()?;
        let passed = (self.now_s - said_s) / MESSAGE_S;
        (passed < 1.0).then(|| (message.clone(), passed.max(0.0)))
    }

    pub(super) fn results_in_words(&self) -> Option<Vec<String>> {
        let (panel, running) = (self.panel.as_ref()?, self.programme.running.as_ref()?);
        let swim = running.swims().iter().find(|swim| swim.id == panel.swim)?;
        let set = self.programme.set(swim.set);
        let mut lines = vec![format!("Results: {}, repeat {}", set.name, swim.number)];
        lines.extend(panel.lines(|who| running.name(who).to_string()));
        Some(lines)
    }

    pub(super) fn settings_in_words(&self) -> String {
        let names = ["hands", "feet", "kicks in between", "breath"];
        let silent: Vec<&str> = (names.into_iter().zip(self.state.muted))
            .filter(|(_, muted)| *muted)
            .map(|(name, _)| name)
            .collect();
        let mut parts = Vec::new();
        if !silent.is_empty() {
            parts.push(format!("Silent: {}.", silent.join(", ")));
        }
        if self.state.gentle {
            parts.push("Changes of rate take four strokes.".to_string());
        }
        parts.join(" ")
    }

    pub(super) fn taps_in_words(&self) -> Option<String> {
        let taps = self.follow.taps();
        let told = match self.last_tap? {
            Tap::Double => ", the last one a double",
            Tap::Strange => ", the last one beside the beat",
            Tap::Counted { missing: 1.. } => ", one or more left out",
            Tap::First | Tap::Counted { .. } => "",
        };
        let what = match self.follow.rate_spm() {
            None => format!("{} more for a rate", FEWEST.saturating_sub(taps).max(1)),
            Some(rate) => {
                let half = rate
                    .interval
                    .map(|(lo, hi)| format!(" ± {:.1}", (hi - lo) / 2.0));
                format!("{:.1}{} spm", rate.value, half.unwrap_or_default())
            }
        };
        let follows = if self.following {
            "; the cues follow"
        } else {
            ""
        };
        Some(format!("Taps: {taps}{told}: {what}{follows}"))
    }

    fn keys_in_words(&self) -> String {
        if self.panel.is_some() {
            let keys = [
                "Up Down field",
                "Left Right choose",
                "digits",
                "Enter save",
                "Esc leave",
            ];
            return keys_in_a_row(&keys);
        }
        let run = match (self.state.over, self.state.running) {
            (true, _) => "anew",
            (_, true) => "pause",
            (_, false) => "start",
        };
        let run = format!("Space {run}");
        let keys = [
            &*run,
            "Up Down rate",
            "p pairing",
            "k kick",
            // With a phone at hand, taps are its own.
            if self.way_in.is_ok() {
                "o phone"
            } else {
                "t tap"
            },
            "u undo",
            "q quit",
            "? help",
        ];
        keys_in_a_row(&keys)
    }
}

/// Keys, each with what it does, and as many on a line as it holds.
fn keys_in_a_row(keys: &[&str]) -> String {
    let keys: Vec<String> = keys.iter().map(|key| tied(key)).collect();
    format!(" {} ", keys.join("  "))
}

fn sound_in_words(deck: &DeckView) -> String {
    match &deck.sound {
        DeckSound::Silent => "Sound: none (--silent)".to_string(),
        DeckSound::Lost(why) => {
            // One line: what else the message says, another command is for.
            let why = why.lines().next().unwrap_or_default();
            format!("SOUND LOST: {why}; trying again every second")
        }
        DeckSound::Playing {
            device,
            rate_hz,
            buffer_frames,
            ..
        } => {
            let device: String = device.chars().take(20).collect();
            let underruns = match deck.underruns {
                0 => String::new(),
                1 => ", 1 underrun".into(),
                n => format!(", {n} underruns"),
            };
            format!(
                "Sound: {device}, {rate_hz} Hz, buffer {buffer_frames}, {:.0} ms{underruns}",
                deck.latency_ms
            )
        }
    }
}
