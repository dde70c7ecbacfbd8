//! The mixer: adds voices where events fall.

use std::ops::Deref;
use std::sync::Arc;

use super::faders::{Fader, Levels};
use crate::model::cue::{Side, Voice};
use crate::sound::{Bank, Speech};
use crate::timeline::Event;

/// More voices than can sound together: fourteen tracks, each voice shorter than its own gap.
const MOST_NOTES: usize = 32;

/// A voice does not begin again within this time, s: a wall may ask for it, and a hand on the deck.
/// Nobody hears two there, and both at once would pass what may sound together.
const APART_S: f64 = 0.2;

/// A voice that is sounding.
#[derive(Debug, Clone, Copy)]
struct Note {
    voice: Voice,
    /// How much of it has been added, in frames.
    done: usize,
}

/// Turns a run of events into stereo frames.
///
/// Each sample is the sum of its voices in the order of their events, so the result does not
/// depend on how many frames are asked for at a time.
///
/// `B` lends the bank: a reference, or a share of it where the mixer outlives its maker.
#[derive(Debug)]
pub struct Mixer<B, E> {
    bank: B,
    both_ears: f32,
    levels: Levels,
    swap: bool,
    events: E,
    next: Option<Event>,
    /// The frame of the track that comes next.
    position: u64,
    notes: [Option<Note>; MOST_NOTES],
    sounding: usize,
    /// The frame from which on each voice may begin, by [`Voice::index`].
    free_from: [u64; Voice::ALL.len()],
    speech: Option<Arc<Speech>>,
    /// The first note of the speech that is not over.
    next_note: usize,
}

impl<B: Deref<Target = Bank>, E: Iterator<Item = Event>> Mixer<B, E> {
    /// A mixer that starts at frame `position` of the track; `events` are in order and none is
    /// earlier than that. `swap` exchanges the ears.
    pub fn new(bank: B, swap: bool, position: u64, mut events: E) -> Self {
        let next = events.next();
        Self {
            bank,
            both_ears: 1.0,
            levels: Levels::default(),
            swap,
            events,
            next,
            position,
            notes: [None; MOST_NOTES],
            sounding: 0,
            free_from: [0; Voice::ALL.len()],
            speech: None,
            next_note: 0,
        }
    }

    /// The same mixer with what sounds in both ears at another level: one channel holds it twice.
    #[must_use]
    pub fn with_both_ears_at(mut self, level: f32) -> Self {
        self.both_ears = level;
        self
    }

    /// The same mixer with speech, from its own position on.
    #[must_use]
    pub fn with_speech(mut self, speech: Arc<Speech>) -> Self {
        self.next_note = speech.first_after(self.position);
        self.speech = Some(speech);
        self
    }

    /// The frame of the track that comes next.
    pub fn position(&self) -> u64 {
        self.position
    }

    /// The source of events. It is asked again at every [`Self::fill`] once it has given none.
    pub fn events_mut(&mut self) -> &mut E {
        &mut self.events
    }

    /// How loud each kind of cue is at present.
    pub fn levels_mut(&mut self) -> &mut Levels {
        &mut self.levels
    }

    /// Goes on at another frame, with nothing sounding.
    pub fn move_to(&mut self, position: u64) {
        self.position = position;
        self.next_note = (self.speech.as_ref()).map_or(0, |speech| speech.first_after(position));
        self.sounding = 0;
        self.free_from = [0; Voice::ALL.len()];
        self.next = None;
    }

    /// Says something else from here on; what sounds rings out. Gives what was said before.
    pub fn say(&mut self, speech: Arc<Speech>) -> Option<Arc<Speech>> {
        self.next = None;
        self.next_note = speech.first_after(self.position);
        self.speech.replace(speech)
    }

    /// Whether something is being said.
    pub fn is_speaking(&self) -> bool {
        let notes = (self.speech.as_ref()).map_or(&[][..], |speech| &speech.notes);
        notes
            .get(self.next_note)
            .is_some_and(|note| note.frame <= self.position)
    }

    /// How many of the coming frames, up to `most`, are certain to be silent.
    pub fn silent_frames(&self, most: u64) -> u64 {
        if self.sounding > 0 {
            return 0;
        }
        let until = |frame: u64| frame.saturating_sub(self.position);
        let cue = self.next.map_or(most, |event| until(event.frame));
        let notes = (self.speech.as_ref()).map_or(&[][..], |speech| &speech.notes);
        let note = notes
            .get(self.next_note)
            .map_or(most, |note| until(note.frame));
        most.min(cue).min(note)
    }

    /// Passes over silent frames without rendering them. `frames` is at most [`Self::silent_frames`].
    pub fn skip(&mut self, frames: u64) {
        debug_assert!(frames <= self.silent_frames(frames));
        self.position += frames;
    }

    /// Fills `out` with the next frames, left and right. Never allocates.
    pub fn fill(&mut self, out: &mut [[f32; 2]]) {
        out.fill([0.0; 2]);
        let mut kept = 0;
        for at in 0..self.sounding {
            let note = self.notes[at].take();
            let rest = note.and_then(|note| self.add(note, out, 0));
            if rest.is_some() {
                self.notes[kept] = rest;
                kept += 1;
            }
        }
        self.sounding = kept;
        let end = self.position + out.len() as u64;
        if self.next.is_none() {
            self.next = self.events.next();
        }
        while let Some(event) = self.next.filter(|event| event.frame < end) {
            let offset = event.frame.saturating_sub(self.position) as usize;
            self.begin(event, out, offset);
            self.next = self.events.next();
        }
        if let Some(speech) = self.speech.take() {
            self.speak(&speech, out);
            self.speech = Some(speech);
        }
        self.position = end;
        self.levels.pass(out.len());
    }

    /// Adds the voice of an event, from frame `offset` of `out` on, unless it began a moment ago.
    fn begin(&mut self, event: Event, out: &mut [[f32; 2]], offset: usize) {
        let voice = event.voice();
        let apart = APART_S * f64::from(self.bank.sample_rate_hz());
        let free_from = &mut self.free_from[voice.index()];
        if event.frame < *free_from {
            return;
        }
        *free_from = event.frame + apart as u64;
        if let Some(rest) = self.add(Note { voice, done: 0 }, out, offset) {
            self.keep(rest);
        }
    }

    /// Adds what is said in the next frames. Speech stands alone: no cue sounds with it.
    fn speak(&mut self, speech: &Speech, out: &mut [[f32; 2]]) {
        let end = self.position + out.len() as u64;
        while let Some(note) = speech.notes.get(self.next_note) {
            if note.frame >= end {
                break;
            }
            let from = self.position.max(note.frame);
            let over = note.frame + note.frames as u64;
            let done = (from - note.frame) as usize;
            let ears = self.ears(note.ear);
            let heard = &speech.clips[note.clip][done..note.frames];
            let offset = (from - self.position) as usize;
            self.put(Fader::Words, heard, ears, out, offset);
            if over > end {
                break;
            }
            self.next_note += 1;
        }
    }

    /// The level in each ear.
    fn ears(&self, side: Option<Side>) -> [f32; 2] {
        match (side, self.swap) {
            (None, _) => [self.both_ears; 2],
            (Some(Side::Left), false) | (Some(Side::Right), true) => [1.0, 0.0],
            (Some(Side::Right), false) | (Some(Side::Left), true) => [0.0, 1.0],
        }
    }

    /// Adds what a voice still has to say to `out`, from frame `offset` of it on, and gives the
    /// rest, if any.
    fn add(&self, note: Note, out: &mut [[f32; 2]], offset: usize) -> Option<Note> {
        let samples = &self.bank.voice(note.voice)[note.done..];
        let ears = self.ears(note.voice.side);
        self.put(Fader::Of(note.voice.kind), samples, ears, out, offset);
        let room = out.len() - offset;
        (samples.len() > room).then_some(Note {
            done: note.done + room,
            ..note
        })
    }

    /// Adds samples to `out`, from frame `offset` of it on, at the level of their fader.
    fn put(
        &self,
        fader: Fader,
        samples: &[f32],
        ears: [f32; 2],
        out: &mut [[f32; 2]],
        offset: usize,
    ) {
        let room = out[offset..].iter_mut().zip(samples);
        match self.levels.steady(fader) {
            Some(level) => {
                let ears = ears.map(|ear| ear * level);
                for (frame, sample) in room {
                    frame[0] += sample * ears[0];
                    frame[1] += sample * ears[1];
                }
            }
            None => {
                for (at, (frame, sample)) in room.enumerate() {
                    let level = self.levels.after(fader, offset + at);
                    frame[0] += sample * ears[0] * level;
                    frame[1] += sample * ears[1] * level;
                }
            }
        }
    }

    /// Keeps a voice for the next frames; the oldest gives way if ever the table is full.
    fn keep(&mut self, note: Note) {
        if self.sounding == MOST_NOTES {
            self.notes.rotate_left(1);
            self.sounding -= 1;
        }
        self.notes[self.sounding] = Some(note);
        self.sounding += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, voices};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use crate::sound::CEILING;
    use crate::timeline::{Schedule, Timeline};
    use assert_no_alloc::assert_no_alloc;
    use proptest::prelude::*;

    const EVERYTHING: &str = "
        [defaults]
        rate = \"92 spm\"
        kick = \"six-beat\"
        pace = \"20 s / 25 m\"
        cues = [\"arm\", \"kick\", \"fill\", \"breath\", \"wall\"]
        breath = { every = 3 }
        fade = { on = 3, off = 1 }
        [[set]]
        swim = \"100 m\"
        repeats = 2
        [[set]]
        swim = \"50 m\"
        rate = { from = \"80 spm\", to = \"120 spm\", by = \"time\" }
        walls = \"pause\"";

    fn timeline(text: &str, sample_rate_hz: u32) -> Timeline {
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let schedule = Schedule::new(&session).expect("fits");
        Timeline::new(&session, &schedule, sample_rate_hz)
    }

    fn render_in_blocks_of(size: usize, bank: &Bank, timeline: &Timeline) -> Vec<[f32; 2]> {
        let mut mixer = Mixer::new(bank, false, 0, timeline.events());
        let mut sound = vec![[0.0; 2]; timeline.frames() as usize];
        for block in sound.chunks_mut(size) {
            mixer.fill(block);
        }
        sound
    }

    #[test]
    fn block_size_does_not_change_the_sound() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let timeline = timeline(EVERYTHING, 8000);
        let whole = render_in_blocks_of(4096, &bank, &timeline);
        assert!(whole.iter().flatten().any(|sample| *sample != 0.0));
        for size in [1, 2, 63, 64, 511, 1023, 4095, usize::MAX] {
            assert!(
                render_in_blocks_of(size, &bank, &timeline) == whole,
                "block size {size}"
            );
        }
    }

    #[test]
    fn mixing_allocates_nothing_after_set_up() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let timeline = timeline(EVERYTHING, 8000);
        let mut mixer = Mixer::new(&bank, false, 0, timeline.events());
        let mut block = [[0.0; 2]; 170];
        let mut done = 0;
        let mut loudest = 0.0_f32;
        assert_no_alloc(|| {
            while done < timeline.frames() {
                mixer.fill(&mut block);
                loudest = block
                    .iter()
                    .flatten()
                    .fold(loudest, |most, sample| most.max(sample.abs()));
                done += block.len() as u64;
            }
        });
        assert!(loudest > 0.1, "something sounded");
    }

    #[test]
    fn after_the_silence_of_a_fade_the_cues_are_whole_at_once() {
        // A cycle of 2 s, catches and kicks at 0.3 and 0.8 of it: each has rung out before the next.
        let bank = Bank::new(&voices::shipped(), 8000);
        let with = |fade: &str| {
            let text = format!(
                "lead_in = \"5 s\"\n[[set]]\nswim = \"60 s\"\nrate = \"60 spm\"\n\
                 catch_after_entry = 0.3\n{fade}"
            );
            render_in_blocks_of(4096, &bank, &timeline(&text, 8000))
        };
        let (faded, whole) = (with("fade = { on = 2, off = 3 }\n"), with(""));
        for cycle in 0..25 {
            let entry = (5 + 3 + 2 * cycle) * 8000;
            let of_cycle = entry + 4000..entry + 16_000;
            let (found, due) = (&faded[of_cycle.clone()], &whole[of_cycle]);
            if cycle % 5 < 2 {
                assert!(found == due, "cycle {cycle} is another sound");
            } else {
                assert!(found.iter().flatten().all(|sample| *sample == 0.0));
            }
            assert!(due.iter().flatten().any(|sample| *sample != 0.0));
        }
    }

    #[test]
    fn what_is_called_silent_is_silent() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let timeline = timeline(EVERYTHING, 8000);
        let whole = render_in_blocks_of(4096, &bank, &timeline);
        let mut mixer = Mixer::new(&bank, false, 0, timeline.events());
        let (mut at, mut skipped) = (0_usize, 0);
        while at < whole.len() {
            let silent = mixer.silent_frames((whole.len() - at) as u64) as usize;
            if silent > 0 {
                assert!(
                    whole[at..at + silent]
                        .iter()
                        .flatten()
                        .all(|sample| *sample == 0.0)
                );
                mixer.skip(silent as u64);
                skipped += silent;
                at += silent;
            } else {
                let mut block = [[0.0; 2]; 100];
                let size = block.len().min(whole.len() - at);
                mixer.fill(&mut block[..size]);
                assert_eq!(block[..size], whole[at..at + size], "from frame {at}");
                at += size;
            }
        }
        assert!(
            skipped > whole.len() / 4,
            "{skipped} of {} frames",
            whole.len()
        );
    }

    #[test]
    fn swapping_exchanges_the_ears() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let timeline = timeline(EVERYTHING, 8000);
        let mut swapped = Mixer::new(&bank, true, 0, timeline.events());
        let mut sound = vec![[0.0; 2]; timeline.frames() as usize];
        swapped.fill(&mut sound);
        let usual = render_in_blocks_of(4096, &bank, &timeline);
        assert!(usual.iter().any(|[left, right]| left != right));
        let exchanged = usual.iter().map(|[left, right]| [*right, *left]);
        assert!(sound.into_iter().eq(exchanged));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn no_session_passes_the_ceiling(
            rate in 20u32..=160, six: bool, same: bool, every in 2u32..=5,
            arm_lead in -300i32..=300, kick_lead in -300i32..=300, catch in 0u32..=50,
        ) {
            // A wall falls on a kick, a breath and an arm cue somewhere in a long enough swim.
            let breath = if every * 60 > 6 * rate { "" } else { ", \"breath\"" };
            let table = if breath.is_empty() { String::new() } else { format!("breath = {{ every = {every} }}\n") };
            let text = format!(
                "[[set]]\nrate = \"{rate} spm\"\nswim = \"400 m\"\npace = \"13.37 s / 25 m\"\npush_off = \"0 s\"\n\
                 kick = \"{}\"\npairing = \"{}\"\ncatch_after_entry = 0.{catch:02}\n\
                 cues = [\"arm\", \"kick\", \"fill\", \"wall\"{breath}]\n{table}\
                 lead = {{ arm = \"{arm_lead} ms\", kick = \"{kick_lead} ms\" }}\n",
                if six { "six-beat" } else { "four-beat" },
                if same { "same-side" } else { "opposite-side" },
            );
            let bank = Bank::new(&voices::shipped(), 22_050);
            let timeline = timeline(&text, 22_050);
            let mut mixer = Mixer::new(&bank, false, 0, timeline.events());
            let mut block = [[0.0_f32; 2]; 4096];
            let mut done = 0;
            while done < timeline.frames() {
                mixer.fill(&mut block);
                for [left, right] in block {
                    prop_assert!(left.abs() <= CEILING && right.abs() <= CEILING);
                    prop_assert!(((left + right) / 2.0).abs() <= CEILING);
                }
                done += block.len() as u64;
            }
        }
    }
}
