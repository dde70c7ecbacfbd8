//! A session's speech: laid out, ready for the mixer.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::job::{Job, Spoken};
use crate::media::{Voicebox, WordsFor};
use crate::sound::{Note, Speech};
use crate::timeline::{frame_at, say};

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

    /// Lets the session speak with a voicebox.
    pub fn speak(&mut self, voicebox: &Voicebox, to: WordsFor) {
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
                    None => voicebox.clip(&placed.clip, rate_hz, to),
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
            });
        }
        self.spoken.speech = Arc::new(speech);
    }
}
