//! A session's speech: laid out, ready for the mixer.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::job::{ClipKey, Job, Spoken};
use crate::media::{Voicebox, WordsFor};
use crate::model::cue::Voice;
use crate::sound::{Note, Speech};
use crate::timeline::{Schedule, Since, TrackSpeech, frame_at, say};

impl Job {
    /// Lays out what the session says with a voicebox, without a sample of it.
    pub fn say(&mut self, voicebox: &Voicebox) {
        let rate_hz = self.bank.sample_rate_hz();
        let said = self.said(voicebox, &self.schedule, Since::default());
        let frame = |ms: u64| frame_at(ms, rate_hz);
        let rooms = (said.says.iter()).map(|say| frame(say.room_ms.start)..frame(say.room_ms.end));
        self.spoken = Spoken {
            rooms: rooms.collect(),
            said,
            ..Spoken::default()
        };
    }

    fn said(&self, voicebox: &Voicebox, schedule: &Schedule, since: Since) -> TrackSpeech {
        let rate_hz = self.bank.sample_rate_hz();
        let mut lengths = voicebox.lengths_ms();
        for voice in Voice::ALL {
            let frames = self.bank.voice(voice).len() as u64;
            lengths.insert(
                format!("={voice}"),
                (frames * 1000).div_ceil(u64::from(rate_hz)),
            );
        }
        say(&self.session, schedule, &voicebox.phrases, &lengths, since)
    }

    /// Lets the session speak with a voicebox.
    pub fn speak(&mut self, voicebox: &Voicebox, to: WordsFor) {
        self.say(voicebox);
        let said = std::mem::take(&mut self.spoken.said);
        self.spoken.speech = Arc::new(self.voiced(voicebox, &said, to));
        self.spoken.said = said;
    }

    /// What the session says from a moment on where a schedule has it otherwise.
    pub fn speak_anew(
        &mut self,
        voicebox: &Voicebox,
        to: WordsFor,
        schedule: &Schedule,
        since: Since,
    ) -> Speech {
        let said = self.said(voicebox, schedule, since);
        self.voiced(voicebox, &said, to)
    }

    fn voiced(&mut self, voicebox: &Voicebox, said: &TrackSpeech, to: WordsFor) -> Speech {
        let rate_hz = self.bank.sample_rate_hz();
        let frame = |ms: u64| frame_at(ms, rate_hz);
        let mut speech = Speech::default();
        let mut known: BTreeMap<ClipKey, Option<usize>> = BTreeMap::new();
        for placed in said.says.iter().flat_map(|say| &say.clips) {
            let voice = (Voice::ALL.into_iter()).find(|voice| placed.clip == format!("={voice}"));
            let key = (placed.clip.clone(), placed.most_ms);
            let clip = *known.entry(key).or_insert_with_key(|key| {
                let made = self.spoken.clips.entry(key.clone()).or_insert_with(|| {
                    let samples = match voice {
                        Some(voice) => Some(self.bank.voice(voice).to_vec()),
                        None => voicebox.clip(&placed.clip, rate_hz, to),
                    }?;
                    Some(match placed.most_ms {
                        Some(ms) => Speech::cut(&samples, frame(ms) as usize, rate_hz),
                        None => samples.into(),
                    })
                });
                speech.clips.push(made.clone()?);
                Some(speech.clips.len() - 1)
            });
            let Some(clip) = clip else { continue };
            speech.notes.push(Note {
                frame: frame(placed.at_ms),
                clip,
                frames: speech.clips[clip].len(),
                ear: placed.ear,
            });
        }
        speech
    }
}
