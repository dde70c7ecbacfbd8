//! The sound of a film, on the clock of its picture.

use std::fs::File;
use std::io::{ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

use super::decode::{Decoder, open_sound};
use super::read_as::{MORE_CHANNELS, ReadAs, not_decoded};
use super::resample::resample_mono;
use super::sound_track::{SoundTrack, Start};
use super::{matroska, movie};
use crate::error::Result;

/// Samples a second of a film's sound.
pub const FILM_RATE_HZ: u32 = 16_000;

/// The sound of a film.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmSound {
    /// One channel at [`FILM_RATE_HZ`]; sample 0 is the picture's time 0, as a player shows it.
    pub samples: Vec<f32>,
    /// How well that place is known.
    pub start: Start,
}

/// The longest film, s: what is marked is a length.
const LONGEST_S: f64 = 20.0 * 60.0;
/// So many bytes tell a film from a text.
const HEAD: u64 = 512;
/// Sound that comes this much before or after the end of what is there, s, is sound that was cut
/// out or left out: a packet holds more. Less is a clock that rounds.
const GAP_S: f64 = 0.02;

/// The sound of a film, or of a sound file made of one, mixed to one channel.
///
/// # Errors
/// When the file cannot be read, is damaged, has no sound, more than two channels, sound of a
/// kind that is not decoded here, or lasts more than 20 min.
pub fn film_sound(path: &Path) -> Result<FilmSound> {
    let name = path.display().to_string();
    let refuse = |what: &str| ReadAs::Film.refuse(&name, what);
    let cannot = |error: std::io::Error| refuse(&format!("the film cannot be read: {error}"));
    if path.is_dir() {
        return Err(refuse("a folder, and no film"));
    }
    let mut file = open_sound(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => refuse("not found"),
        _ => cannot(error),
    })?;
    let mut head = Vec::new();
    (&mut file)
        .take(HEAD)
        .read_to_end(&mut head)
        .map_err(cannot)?;
    let tracks = if head.get(4..8) == Some(b"ftyp") {
        Some(movie::sound_tracks(&mut file).map_err(|what| refuse(&what))?)
    } else if head.starts_with(matroska::FIRST) {
        Some(matroska::sound_tracks(&mut file).map_err(|what| refuse(&what))?)
    } else if is_text(&head) {
        return Err(refuse("a text, and no film"));
    } else {
        None
    };
    file.seek(SeekFrom::Start(0)).map_err(cannot)?;
    let (mut decoder, track) = open(file, &name, tracks)?;
    let placed = placed(
        &mut decoder,
        &name,
        track.as_ref().map(|track| track.shift_s),
    )?;
    Ok(FilmSound {
        samples: resample_mono(&placed, decoder.rate_hz(), FILM_RATE_HZ),
        start: track.map_or(Start::Exact, |track| track.start),
    })
}

/// Whether a file begins as a text: any film or sound has bytes below the blank there.
fn is_text(head: &[u8]) -> bool {
    let is_of_text = |byte: &u8| *byte >= b' ' || byte.is_ascii_whitespace();
    !head.is_empty() && head.iter().all(is_of_text)
}

/// Opens the sound, and tells which of the container's tracks it is.
fn open(
    file: File,
    name: &str,
    tracks: Option<Vec<SoundTrack>>,
) -> Result<(Decoder, Option<SoundTrack>)> {
    let refuse = |what: &str| ReadAs::Film.refuse(name, what);
    if tracks.as_ref().is_some_and(Vec::is_empty) {
        return Err(refuse("a film without sound")
            .accepted("a film in which the cues are heard; without one leave --film away"));
    }
    // A film that begins as none is not looked for further in: nothing has seen what it promises.
    let read_as = if tracks.is_some() {
        ReadAs::Film
    } else {
        ReadAs::FilmSound
    };
    let known = tracks.as_deref().unwrap_or_default();
    let opened = Decoder::open_as(Box::new(file), name, read_as, known);
    let Some(tracks) = tracks else {
        return Ok((opened?, None));
    };
    let forms: Vec<&str> = tracks.iter().map(|track| track.form.as_str()).collect();
    let sound = format!("its sound ({})", forms.join(", "));
    let mut decoder = opened.map_err(|error| error.within(&sound))?;
    let track = (tracks.iter())
        .find(|track| track.id == decoder.track())
        .ok_or_else(|| refuse("it says two things about its sound").within(&sound))?;
    // The decoders take these for little-endian, and QuickTime's are not.
    if matches!(track.form.as_str(), "in24" | "in32" | "fl32" | "fl64") {
        return Err(not_decoded(name, "not decoded here").within(&sound));
    }
    decoder.expect_nothing();
    Ok((decoder, Some(track.clone())))
}

/// The sound in one channel at its own rate, its first sample at the picture's time 0; a file of
/// sound alone begins there.
fn placed(decoder: &mut Decoder, name: &str, shift_s: Option<f64>) -> Result<Vec<f32>> {
    let rate_hz = f64::from(decoder.rate_hz());
    let refuse = |what: &str| ReadAs::Film.refuse(name, what);
    let too_long = || {
        refuse(&format!("more than {} min of film", LONGEST_S / 60.0))
            .accepted("a film of a few lengths: cut out the part that is marked")
            .example("ffmpeg -ss 60 -t 90 -i clip.mp4 -c copy part.mp4")
    };
    let (mut sound, mut run, mut frames) = (Vec::new(), Run::default(), Vec::new());
    while decoder.next(&mut frames)? {
        if decoder.channels() > 2 {
            return Err(not_decoded(name, MORE_CHANNELS));
        }
        let end_s = run.end_s(rate_hz);
        let told_s = (decoder.at_s().zip(shift_s)).map(|(at_s, shift_s)| at_s + shift_s);
        let at_s = told_s.or(end_s).unwrap_or(0.0);
        if end_s.is_some_and(|end_s| (at_s - end_s).abs() > GAP_S) {
            run.place(rate_hz, &mut sound).ok_or_else(too_long)?;
            run = Run::default();
        }
        run.add(&frames, at_s, rate_hz);
        if run.samples.len() as f64 > LONGEST_S * rate_hz {
            return Err(too_long());
        }
        frames.clear();
    }
    run.place(rate_hz, &mut sound).ok_or_else(too_long)?;
    if sound.is_empty() {
        return Err(refuse("there is no sound in it after the picture begins"));
    }
    Ok(sound)
}

/// Packets that follow one another without a gap.
#[derive(Default)]
struct Run {
    samples: Vec<f32>,
    /// Where each packet says that the run begins, s.
    starts_s: Vec<f64>,
}

impl Run {
    fn add(&mut self, frames: &[[f32; 2]], at_s: f64, rate_hz: f64) {
        let start_s = at_s - self.samples.len() as f64 / rate_hz;
        self.starts_s.push(start_s);
        (self.samples).extend(frames.iter().map(|[left, right]| 0.5 * (left + right)));
    }

    /// Where it begins, s: what its packets say, half of them earlier and half later. Times in
    /// whole ms even out, and a first packet with a date of its own has no weight.
    fn start_s(&mut self) -> f64 {
        let middle = self.starts_s.len() / 2;
        if self.starts_s.is_empty() {
            return 0.0;
        }
        *(self.starts_s)
            .select_nth_unstable_by(middle, f64::total_cmp)
            .1
    }

    /// Where its last packet says that it ends, s.
    fn end_s(&self, rate_hz: f64) -> Option<f64> {
        let last = self.starts_s.last()?;
        Some(last + self.samples.len() as f64 / rate_hz)
    }

    /// Adds it to the sound where it belongs, silence before it; what comes before the picture
    /// begins, or is there already, is left out. Nothing where a film would be too long.
    fn place(mut self, rate_hz: f64, sound: &mut Vec<f32>) -> Option<()> {
        let start = (self.start_s() * rate_hz).round();
        if start + self.samples.len() as f64 > LONGEST_S * rate_hz {
            return None;
        }
        let ahead = sound.len() as f64 - start;
        sound.resize(sound.len().max(start.max(0.0) as usize), 0.0);
        sound.extend(self.samples.drain(..).skip(ahead.max(0.0) as usize));
        Some(())
    }
}
