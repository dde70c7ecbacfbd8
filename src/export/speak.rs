//! A session's speech: laid out, levelled against its cues, ready for the mixer.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::job::{Job, Spoken};
use crate::media::Voicebox;
use crate::model::cue::CUE_KINDS;
use crate::render::{CEILING, Mixer};
use crate::sound::{Meter, Note, Speech};
use crate::timeline::{Event, frame_at, say};

/// Sets and seconds of each that are measured for how loud the cues are.
const SETS_MEASURED: usize = 8;
const SECONDS_MEASURED: u64 = 20;
/// Seconds of speech that are measured.
const SPEECH_MEASURED: u64 = 60;

impl Job {
    /// Lays out what the session says with a voicebox, without a sample of it.
    pub fn say(&mut self, voicebox: &Voicebox) {
        let rate_hz = self.bank.sample_rate_hz();
        let mut lengths = voicebox.lengths_ms();
        for voice in crate::model::cue::Voice::ALL {
            let frames = self.bank.voice(voice).len() as u64;
            lengths.insert(
                format!("={voice}"),
                (frames * 1000).div_ceil(u64::from(rate_hz)),
            );
        }
        let said = say(&self.session, &self.schedule, &voicebox.phrases, &lengths);
        let frame = |ms: u64| frame_at(ms, rate_hz);
        let rooms = (said.says.iter()).map(|say| frame(say.room_ms.start)..frame(say.room_ms.end));
        self.spoken = Spoken {
            rooms: rooms.collect(),
            said,
            speech: Arc::default(),
        };
    }

    /// Lets the session speak with a voicebox, as loud as its cues.
    pub fn speak(&mut self, voicebox: &Voicebox) {
        self.say(voicebox);
        let rate_hz = self.bank.sample_rate_hz();
        let frame = |ms: u64| frame_at(ms, rate_hz);
        let mut speech = Speech::default();
        let mut known: BTreeMap<(String, Option<u64>), Option<usize>> = BTreeMap::new();
        for placed in self.spoken.said.says.iter().flat_map(|say| &say.clips) {
            let voice = (crate::model::cue::Voice::ALL.into_iter())
                .find(|voice| placed.clip == format!("={voice}"));
            let key = (placed.clip.clone(), placed.most_ms);
            let clip = *known.entry(key).or_insert_with(|| {
                let samples = match voice {
                    Some(voice) => Some(self.bank.voice(voice).to_vec()),
                    None => voicebox.clip(&placed.clip, rate_hz),
                }?;
                speech.clips.push(match placed.most_ms {
                    Some(ms) => Speech::cut(&samples, frame(ms) as usize, rate_hz),
                    None => samples.into_boxed_slice(),
                });
                Some(speech.clips.len() - 1)
            });
            let Some(clip) = clip else { continue };
            speech.notes.push(Note {
                frame: frame(placed.at_ms),
                clip,
                frames: speech.clips[clip].len(),
                ear: placed.ear,
                // Words get theirs once all of them are known; sounds keep that of the cues.
                gain: if voice.is_some() { self.gain } else { 0.0 },
            });
        }
        let gain = self.speech_gain(&speech);
        for note in speech.notes.iter_mut().filter(|note| note.gain == 0.0) {
            note.gain = gain;
        }
        self.spoken.speech = Arc::new(speech);
    }

    /// The level at which words are as loud as the cues, and their true peak below the ceiling.
    fn speech_gain(&self, speech: &Speech) -> f32 {
        let rate_hz = self.bank.sample_rate_hz();
        let mut meter = Meter::new(false, rate_hz, true);
        let mut left = SPEECH_MEASURED * u64::from(rate_hz);
        let mut heard = vec![false; speech.clips.len()];
        for note in speech.notes.iter().filter(|note| note.gain == 0.0) {
            if std::mem::replace(&mut heard[note.clip], true) || left == 0 {
                continue;
            }
            let clip = &speech.clips[note.clip];
            let frames: Vec<[f32; 2]> = clip.iter().map(|sample| [*sample; 2]).collect();
            meter.add(&frames);
            left = left.saturating_sub(frames.len() as u64);
        }
        let words = meter.read();
        let (Some(words_lufs), Some(cues_lufs)) = (words.lufs, self.cues_lufs()) else {
            return self.gain;
        };
        // No clip is raised above this when it is made, whichever were measured.
        let peak = 10_f64
            .powf(words.true_peak_dbtp.unwrap_or(0.0) / 20.0)
            .max(1.0);
        let gain = 10_f64.powf((cues_lufs - words_lufs) / 20.0);
        gain.min(f64::from(CEILING) / peak) as f32
    }

    /// The loudness of the cues: the first swim of each of the first sets, without signals
    /// unless there is nothing else.
    pub(super) fn cues_lufs(&self) -> Option<f64> {
        self.lufs_of(|event| CUE_KINDS.contains(&event.kind))
            .or_else(|| self.lufs_of(|_| true))
    }

    fn lufs_of(&self, heard: fn(&Event) -> bool) -> Option<f64> {
        let rate_hz = self.bank.sample_rate_hz();
        let mut meter = Meter::new(false, rate_hz, false);
        let firsts = (self.schedule.repeats.iter().enumerate())
            .filter(|(_, repeat)| repeat.number == 1)
            .take(SETS_MEASURED);
        let mut block = [[0.0; 2]; 512];
        for (index, _) in firsts {
            let frames = self.timeline.frames_of(&(index..index + 1));
            let events = self.timeline.events_of(index..index + 1).filter(heard);
            let mut mixer = Mixer::new(&self.bank, self.gain, false, frames.start, events);
            let mut left = frames.end - frames.start;
            let lead_in = mixer.silent_frames(left);
            mixer.skip(lead_in);
            left = (left - lead_in).min(SECONDS_MEASURED * u64::from(rate_hz));
            while left > 0 {
                let silent = mixer.silent_frames(left);
                mixer.skip(silent);
                meter.silence(silent);
                let now = (left - silent).min(block.len() as u64) as usize;
                mixer.fill(&mut block[..now]);
                meter.add(&block[..now]);
                left -= silent + now as u64;
            }
            meter.silence(u64::from(rate_hz));
        }
        meter.read().lufs
    }
}
