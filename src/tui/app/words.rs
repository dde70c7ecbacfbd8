//! What the screen says, in words: from the state of everything to a [`Face`].

use super::{App, DeckView};
use crate::analysis::follow::{FEWEST, Tap};
use crate::live::{DeckSound, spm};
use crate::model::cue::Side;
use crate::model::kick::Kick;
use crate::tui::face::{Face, Wheel};

impl App {
    /// The present frame of the screen. `heard_frame` is what is heard now.
    pub fn face(&mut self, deck: &DeckView, heard_frame: f64) -> Face {
        self.hear(deck);
        let lost = self.was_lost;
        let state = &self.state;
        let wish = state.view.wish;
        let set = self.programme.set(self.set);
        let late = state.position as f64 - heard_frame;
        let point = state.view.phase.filter(|_| state.running).map(|phase| {
            // What is heard is behind what has been made by the device's latency.
            let behind = late.clamp(0.0, f64::from(self.rate_hz)) * state.view.frequency;
            let phase = phase - behind + self.programme.first_entry(self.set);
            phase - phase.floor()
        });
        let now = spm(state.view.frequency, self.rate_hz);
        let goal = self.spm();
        let feet = match wish.kick {
            Kick::Pull => ["legs rest".to_string(), "arms alone".to_string()],
            _ => Side::BOTH.map(|foot| wish.pairing.in_words(foot)),
        };
        let doing = match (state.over, state.running, state.position) {
            (true, ..) => "over",
            (_, true, _) if lost => "no sound",
            (_, true, _) => "running",
            (_, false, at) if at == self.programme.beginning() => "ready",
            _ => "paused",
        };
        Face {
            title: self.programme.title.clone(),
            swimmer: self.programme.swimmer.clone(),
            doing,
            spm: if (now - goal).abs() < 0.05 { goal } else { now },
            going_to_spm: ((now - goal).abs() >= 0.05).then_some(goal),
            typed: (!self.typed.is_empty()).then(|| self.typed.clone()),
            feet,
            kick: wish.kick.in_words(),
            waiting: (state.view.switching && state.running)
                .then(|| format!("from the next {} entry on", set.first_arm)),
            wheel: Wheel::new(set, wish.pairing, wish.kick),
            point,
            session: self.session_in_words(),
            results: self.results_in_words(),
            settings: self.settings_in_words(),
            aside: (self.taps_in_words())
                .or_else(|| self.programme.distance.clone())
                .unwrap_or_default(),
            sound: sound_in_words(deck),
            alarm: lost,
            message: self.message.clone(),
            keys: self.keys_in_words(),
            help: self.help,
        }
    }

    fn session_in_words(&self) -> Vec<String> {
        let mut lines = self.programme.lines(&self.state);
        lines.extend(self.set_in_words());
        lines
    }

    fn results_in_words(&self) -> Option<Vec<String>> {
        let (panel, running) = (self.panel.as_ref()?, self.programme.running.as_ref()?);
        let swim = running.swims().iter().find(|swim| swim.id == panel.swim)?;
        let set = self.programme.set(swim.set);
        let mut lines = vec![format!("Results: {}, repeat {}", set.name, swim.number)];
        lines.extend(panel.lines(|who| running.name(who).to_string()));
        lines
            .push("Up Down: field   Left Right: choose   digits   Enter: save   Esc: leave".into());
        Some(lines)
    }

    fn settings_in_words(&self) -> String {
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

    fn taps_in_words(&self) -> Option<String> {
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
        let run = match (self.state.over, self.state.running) {
            (true, _) => "anew",
            (_, true) => "pause",
            (_, false) => "start",
        };
        format!(" Space {run}  Up Down rate  p pairing  k kick  t tap  u undo  q quit  ? help ")
    }
}

fn sound_in_words(deck: &DeckView) -> String {
    match &deck.sound {
        DeckSound::Silent => "Sound: none (--silent)".to_string(),
        DeckSound::Lost(why) => format!("SOUND LOST: {why}; trying again every second"),
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
