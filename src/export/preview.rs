//! A short sample of a session: what it sounds like, before a whole export.

use super::Job;
use crate::model::track_format::{Channels, Format};
use crate::render::FrameSource;
use crate::timeline::{COUNTS, frame_at};
use crate::units::{exact, to_f64};

use super::wav::{TrackForm, WriteError, write_wav};

/// Sets that a sample lets hear, and cycles of each.
const MOST_SETS: usize = 12;
const CYCLES: i64 = 4;
/// Before the first count, after the last cycle, s.
const BEFORE_S: f64 = 0.2;
const AFTER_S: f64 = 0.1;
/// Each stretch ends in a fade, s.
const FADE_S: f64 = 0.05;

impl Job {
    /// The opening, the first announcement, and of each set the counts and four cycles, one
    /// after another.
    pub fn sample(&self) -> Vec<[f32; 2]> {
        let rate_hz = self.bank.sample_rate_hz();
        let rate = f64::from(rate_hz);
        let mut sound = Vec::new();
        let firsts = (self.schedule.repeats.iter().enumerate())
            .filter(|(_, repeat)| repeat.number == 1)
            .take(MOST_SETS);
        for (index, repeat) in firsts {
            let set = &self.session.sets[repeat.set];
            let start_s = to_f64(&repeat.start_s);
            let cycles_s = to_f64(&(set.push_off.s() + repeat.from.cycle_s() * exact(CYCLES)));
            let end_s = (start_s + cycles_s + AFTER_S).min(to_f64(&repeat.end_s));
            if index == 0 {
                for say in
                    (self.spoken.said.says.iter()).filter(|say| say.repeat == 1 && say.set == 1)
                {
                    let end = say.at_ms + say.length_ms + 300;
                    let frames = frame_at(say.at_ms, rate_hz)..frame_at(end, rate_hz);
                    self.stretch(index, frames, &mut sound);
                }
            }
            let counts_s = to_f64(&repeat.count_s().times(COUNTS.into()));
            let from = ((start_s - counts_s - BEFORE_S) * rate).max(0.0) as u64;
            self.stretch(index, from..(end_s * rate) as u64, &mut sound);
        }
        sound
    }

    /// Adds a stretch of the track, within one repeat.
    fn stretch(&self, index: usize, frames: std::ops::Range<u64>, sound: &mut Vec<[f32; 2]>) {
        let repeats = index..index + 1;
        let mut part = super::TrackFile {
            name: String::new(),
            set: 1,
            repeat: 1,
            frames: self.timeline.frames_of(&repeats),
            repeats,
        };
        part.frames.end = frames.end;
        let mut source = self.source(&part, None);
        let mut block = [[0.0; 2]; 512];
        let mut at = part.frames.start;
        while at < frames.start {
            let quiet = source.silent_frames(frames.start - at);
            source.skip(quiet);
            let now = (frames.start - at - quiet).min(block.len() as u64);
            source.fill(&mut block[..now as usize]);
            at += quiet + now;
        }
        let begin = sound.len();
        sound.resize(begin + (frames.end.saturating_sub(at)) as usize, [0.0; 2]);
        source.fill(&mut sound[begin..]);
        let fade = (FADE_S * f64::from(self.bank.sample_rate_hz())) as usize;
        let length = sound.len() - begin;
        for n in 0..fade.min(length) {
            let gain = n as f32 / fade as f32;
            let frame = &mut sound[begin + length - 1 - n];
            *frame = frame.map(|value| value * gain);
        }
    }

    /// Writes the sample as WAV, 16 bits, stereo.
    ///
    /// # Errors
    /// Of the sink.
    pub fn write_sample(&self, sink: impl std::io::Write) -> Result<u64, WriteError> {
        let form = TrackForm {
            format: Format::Wav,
            sample_rate_hz: self.bank.sample_rate_hz(),
            bits: 16,
            channels: Channels::Stereo,
        };
        let sound = self.sample();
        let frames = sound.len() as u64;
        let mut given = Given { sound, at: 0 };
        write_wav(sink, form, &mut given, frames, &mut |_| Ok(()))?;
        Ok(frames)
    }
}

/// Frames that are there already.
struct Given {
    sound: Vec<[f32; 2]>,
    at: usize,
}

impl FrameSource for Given {
    fn silent_frames(&self, _: u64) -> u64 {
        0
    }

    fn skip(&mut self, frames: u64) {
        self.at += frames as usize;
    }

    fn fill(&mut self, out: &mut [[f32; 2]]) {
        let end = (self.at + out.len()).min(self.sound.len());
        let there = &self.sound[self.at.min(end)..end];
        out[..there.len()].copy_from_slice(there);
        out[there.len()..].fill([0.0; 2]);
        self.at = end;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, voices};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use crate::sound::Bank;

    #[test]
    fn a_sample_has_the_counts_and_four_cycles_of_every_set() {
        let text = "[defaults]\nswim = \"45 s\"\n[[set]]\nrate = \"60 spm\"\nrepeats = 3\n\
                    [[set]]\nrate = \"80 spm\"\n";
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let bank = Bank::new(&voices::shipped(), 8000);
        let job = Job::new(session, bank, false).expect("fits");
        let sound = job.sample();
        // Three counts a stroke apart and 0.2 s before them, 3 s of push-off, four cycles of 2 s and
        // of 1.5 s, 0.1 s more.
        let seconds = 3.0 * (1.0 + 0.75) + 2.0 * (0.2 + 3.0 + 0.1) + 8.0 + 6.0;
        let found = sound.len() as f64 / 8000.0;
        assert!((found - seconds).abs() < 0.01, "{found} s of {seconds}");
        // The first count comes 0.2 s in, as it stands in the whole track.
        let loud = |frame: &[f32; 2]| frame[0].abs() > 0.01;
        let onset_s = sound.iter().position(loud).expect("it sounds") as f64 / 8000.0;
        assert!((onset_s - 0.2).abs() < 0.005, "{onset_s}");
    }
}
