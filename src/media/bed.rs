//! A bed: a person's own music or noise, decoded and resampled as it is played, never whole.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Async, FixedAsync, Resampler, SincInterpolationParameters, WindowFunction};

use super::decode::{Decoder, open_sound};
use crate::error::{Error, Result};
use crate::sound::Meter;
use crate::units::apart;

/// A bed as it was found: how long and how loud it is at a track's rate.
#[derive(Debug)]
pub struct Bed {
    path: PathBuf,
    rate_hz: u32,
    once: bool,
    /// Frames of one pass, at the track's rate.
    pub frames: u64,
    /// Integrated loudness, LUFS.
    pub lufs: f64,
    /// True peak as a factor.
    pub peak: f32,
    /// What went wrong while it was played.
    fault: Mutex<Option<Error>>,
}

/// Input frames resampled at a time.
const CHUNK: usize = 1024;
/// Fades at both ends of a pass, s: it is looped without a click.
const FADE_S: f64 = 0.05;
/// The shortest bed, s.
const LEAST_S: f64 = 1.0;
/// The longest bed, s.
const LONGEST_S: f64 = 12.0 * 3600.0;

/// Opens the file of a bed.
///
/// # Errors
/// When it cannot be read, or is no file.
pub fn open_bed(path: &Path) -> Result<File> {
    open_sound(path).map_err(|error| {
        Error::input(format!("the bed cannot be read: {error}"))
            .at(path.display())
            .accepted("a WAV, MP3, FLAC or OGG file, its path taken from the session's folder")
            .example("bed = \"waves.ogg\"")
    })
}

impl Bed {
    /// Plays a file through once, to know how long and how loud it is.
    ///
    /// # Errors
    /// When it cannot be read, is silent, shorter than a second or longer than 12 h.
    pub fn open(path: &Path, rate_hz: u32, once: bool) -> Result<Self> {
        let refuse = |what: String| {
            Error::input(what)
                .at(path.display())
                .accepted("a bed of 1 s to 12 h that can be heard")
                .example("bed = \"waves.ogg\"")
        };
        let mut meter = Meter::new(false, rate_hz, true);
        let mut pass = Pass::open(path, rate_hz)?;
        let (mut frames, mut block) = (0_u64, Vec::new());
        while pass.next(&mut block)? {
            frames += block.len() as u64;
            meter.add(&block);
            block.clear();
            if frames as f64 > LONGEST_S * f64::from(rate_hz) {
                return Err(refuse("more than 12 h of sound".into()));
            }
        }
        let seconds = frames as f64 / f64::from(rate_hz);
        if seconds < LEAST_S {
            return Err(refuse(format!(
                "{} s, shorter than a second",
                apart(seconds, LEAST_S, 2)
            )));
        }
        let loudness = meter.read();
        let (Some(lufs), Some(dbtp)) = (loudness.lufs, loudness.true_peak_dbtp) else {
            return Err(refuse("silence: there is no sound in this file".into()));
        };
        Ok(Self {
            path: path.to_path_buf(),
            rate_hz,
            once,
            frames,
            lufs,
            peak: 10_f64.powf(dbtp / 20.0) as f32,
            fault: Mutex::new(None),
        })
    }

    /// The bed from a frame of the track on.
    pub fn play(&self, from: u64) -> Playing<'_> {
        Playing {
            bed: self,
            pass: None,
            ready: Vec::new(),
            given: 0,
            position: from,
            at: u64::MAX,
        }
    }

    /// What went wrong while it was played, once.
    pub fn fault(&self) -> Option<Error> {
        self.fault.lock().ok().and_then(|mut fault| fault.take())
    }
}

/// A bed that is being played.
pub struct Playing<'b> {
    bed: &'b Bed,
    pass: Option<Pass>,
    ready: Vec<[f32; 2]>,
    given: usize,
    /// The frame of the track that comes next.
    position: u64,
    /// The frame of the pass that is given next.
    at: u64,
}

impl Playing<'_> {
    /// Fills `out` with what comes next; silence after the end of a bed that is played once, or
    /// from a fault on, which [`Bed::fault`] tells.
    pub fn fill(&mut self, out: &mut [[f32; 2]]) {
        let fade = FADE_S * f64::from(self.bed.rate_hz);
        for frame in out {
            *frame = [0.0; 2];
            let over = self.bed.once && self.position >= self.bed.frames;
            let wanted = self.position % self.bed.frames;
            self.position += 1;
            if over {
                continue;
            }
            match self.frame(wanted) {
                Ok(Some(sample)) => {
                    let end = (self.bed.frames - wanted) as f64;
                    let gain = ((wanted as f64).min(end) / fade).min(1.0) as f32;
                    *frame = sample.map(|sample| sample * gain);
                }
                Ok(None) => {}
                Err(error) => {
                    if let Ok(mut fault) = self.bed.fault.lock() {
                        fault.get_or_insert(error);
                    }
                    return;
                }
            }
        }
    }

    /// Passes over frames.
    pub fn skip(&mut self, frames: u64) {
        self.position += frames;
    }

    /// A frame of the pass, which goes forward until it starts anew.
    fn frame(&mut self, wanted: u64) -> Result<Option<[f32; 2]>> {
        if self.pass.is_none() || wanted < self.at {
            self.pass = Some(Pass::open(&self.bed.path, self.bed.rate_hz)?);
            self.ready.clear();
            (self.given, self.at) = (0, 0);
        }
        loop {
            if self.given == self.ready.len() {
                self.ready.clear();
                self.given = 0;
                let pass = self.pass.as_mut();
                if !pass.map_or(Ok(false), |pass| pass.next(&mut self.ready))? {
                    return Ok(None);
                }
                continue;
            }
            let ahead = wanted - self.at;
            let rest = (self.ready.len() - self.given) as u64;
            if ahead < rest {
                self.given += ahead as usize + 1;
                self.at = wanted + 1;
                return Ok(Some(self.ready[self.given - 1]));
            }
            self.at += rest;
            self.given = self.ready.len();
        }
    }
}

/// One pass through the file.
struct Pass {
    decoder: Decoder,
    /// None where the file has the track's rate.
    resampler: Option<Async<f32>>,
    input: Vec<[f32; 2]>,
    ended: bool,
}

impl Pass {
    fn open(path: &Path, rate_hz: u32) -> Result<Self> {
        let file = open_bed(path)?;
        let decoder = Decoder::open(Box::new(file), &path.display().to_string())?;
        let ratio = f64::from(rate_hz) / f64::from(decoder.rate_hz());
        let filter = SincInterpolationParameters::new(64, WindowFunction::BlackmanHarris2);
        let resampler = (decoder.rate_hz() != rate_hz).then(|| {
            Async::new_sinc(ratio, 1.0, &filter, CHUNK, 2, FixedAsync::Input)
                .expect("a ratio of two audio rates")
        });
        Ok(Self {
            decoder,
            resampler,
            input: Vec::new(),
            ended: false,
        })
    }

    /// Adds the next frames at the track's rate; false where the file has ended.
    fn next(&mut self, out: &mut Vec<[f32; 2]>) -> Result<bool> {
        let Some(resampler) = &mut self.resampler else {
            return self.decoder.next(out);
        };
        while self.input.len() < CHUNK && !self.ended {
            self.ended = !self.decoder.next(&mut self.input)?;
        }
        if self.input.is_empty() {
            return Ok(false);
        }
        // The last chunk is filled up with silence.
        self.input.resize(self.input.len().max(CHUNK), [0.0; 2]);
        let chunk = InterleavedSlice::new(self.input[..CHUNK].as_flattened(), 2, CHUNK)
            .expect("two samples for every frame");
        let made = (resampler.process(&chunk, None)).expect("a whole chunk");
        out.extend(made.take_data().as_chunks::<2>().0);
        self.input.drain(..CHUNK);
        Ok(true)
    }
}
