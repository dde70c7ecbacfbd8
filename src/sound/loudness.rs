//! Loudness and true peak by ITU-R BS.1770 and EBU R 128, measured as a track is made.

use super::k_weighting::{FilterMemory, KWeighting, OFFSET_DB};
use super::known::KnownBlocks;
use super::true_peak::{BEFORE, TruePeak};

/// A meter of one track.
///
/// What was heard before is not worked out again: a block of the same samples, met with the same
/// memory of what came before it, has the same energy and no new peak. In a silence the filters
/// are followed until they are at rest; the rest of it costs nothing.
pub struct Meter {
    mono: bool,
    filters: KWeighting,
    memory: FilterMemory,
    known: KnownBlocks,
    peak: Option<TruePeak>,
    /// The last frames, and after them those that are being heard.
    window: Vec<[f32; 2]>,
    /// Frames of a step of 100 ms, by which the blocks of 400 ms advance.
    step: u64,
    /// Frames of the step that is open, and the energy in them.
    open: u64,
    energy: f64,
    /// The energy of each step that is over.
    steps: Vec<f64>,
}

/// What a meter has read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loudness {
    /// Integrated loudness, LUFS; none where all is silence.
    pub lufs: Option<f64>,
    /// True peak, dBTP; none where all is silence, or where it was not asked for.
    pub true_peak_dbtp: Option<f64>,
}

/// Frames that are worked out together.
const BLOCK: usize = 512;
/// Steps in a block of 400 ms.
const STEPS: usize = 4;
/// Blocks below this count for nothing, LUFS.
const ABSOLUTE_GATE_LUFS: f64 = -70.0;
/// Nor do those so far below the mean of the others: 10 LU, as a factor of power.
const RELATIVE_GATE: f64 = 0.1;

impl Meter {
    /// A meter for tracks of one channel or two, with true peak or without.
    pub fn new(mono: bool, sample_rate_hz: u32, true_peak: bool) -> Self {
        Self {
            mono,
            filters: KWeighting::new(sample_rate_hz),
            memory: FilterMemory::default(),
            known: KnownBlocks::default(),
            peak: true_peak.then(TruePeak::new),
            window: vec![[0.0; 2]; BEFORE],
            step: u64::from((sample_rate_hz + 5) / 10),
            open: 0,
            energy: 0.0,
            steps: Vec::new(),
        }
    }

    /// Hears frames; where the track has one channel, the left one of them.
    pub fn add(&mut self, frames: &[[f32; 2]]) {
        for block in frames.chunks(BLOCK) {
            if self.mono {
                self.window
                    .extend(block.iter().map(|frame| [frame[0], 0.0]));
            } else {
                self.window.extend_from_slice(block);
            }
            self.hear();
        }
    }

    /// Hears so many silent frames.
    pub fn silence(&mut self, frames: u64) {
        let mut left = frames;
        while left > 0 && !self.is_at_rest() {
            let now = left.min(BLOCK as u64);
            self.window.resize(BEFORE + now as usize, [0.0; 2]);
            self.hear();
            left -= now;
        }
        let mut open = self.open + left;
        while open >= self.step {
            open -= self.step;
            self.close_step();
        }
        self.open = open;
    }

    fn is_at_rest(&self) -> bool {
        self.memory == FilterMemory::default() && self.window.iter().all(|frame| *frame == [0.0; 2])
    }

    /// Hears what is in the window, and keeps its last frames.
    fn hear(&mut self) {
        let frames = (self.window.len() - BEFORE) as u64;
        if self.open + frames >= self.step {
            self.look();
            let (one, other) = self.window[BEFORE..].split_at((self.step - self.open) as usize);
            self.energy += self.filters.energy(&mut self.memory, one);
            let (memory, rest) = (&mut self.memory, other.len() as u64);
            let energy = self.filters.energy(memory, other);
            self.close_step();
            (self.open, self.energy) = (rest, energy);
        } else {
            let before = self.memory;
            if let Some((energy, after)) = self.known.find(&before, &self.window) {
                self.energy += energy;
                self.memory = after;
            } else {
                self.look();
                let energy = (self.filters).energy(&mut self.memory, &self.window[BEFORE..]);
                self.memory.settle();
                self.energy += energy;
                self.known.keep(&before, &self.window, energy, self.memory);
            }
            self.open += frames;
        }
        self.window.copy_within(frames as usize.., 0);
        self.window.truncate(BEFORE);
    }

    fn look(&mut self) {
        if let Some(peak) = &mut self.peak {
            peak.add(&self.window);
        }
    }

    fn close_step(&mut self) {
        self.steps.push(std::mem::take(&mut self.energy));
    }

    /// What has been heard, to its end. The last block of 400 ms is one of whole steps.
    pub fn read(mut self) -> Loudness {
        // Points between the last samples are made of the silence after them too.
        self.window.resize(2 * BEFORE, [0.0; 2]);
        self.look();
        let peak = self.peak.map_or(0.0, |peak| f64::from(peak.largest));
        Loudness {
            lufs: gated(&self.steps, self.step),
            true_peak_dbtp: (peak > 0.0).then(|| 20.0 * peak.log10()),
        }
    }
}

/// The loudness of all blocks that pass both gates (BS.1770-5, annex 1), LUFS.
fn gated(steps: &[f64], frames: u64) -> Option<f64> {
    let frames = STEPS as f64 * frames as f64;
    let blocks = || {
        steps
            .windows(STEPS)
            .map(|block| block.iter().sum::<f64>() / frames)
    };
    let mean_above = |gate: f64| {
        let passed = blocks().filter(|power| *power >= gate);
        let (sum, count) =
            passed.fold((0.0, 0.0), |(sum, count), power| (sum + power, count + 1.0));
        (count > 0.0).then_some(sum / count)
    };
    let absolute = 10_f64.powf((ABSOLUTE_GATE_LUFS - OFFSET_DB) / 10.0);
    let mean = mean_above(absolute)?;
    let power = mean_above(absolute.max(mean * RELATIVE_GATE))?;
    Some(OFFSET_DB + 10.0 * power.log10())
}

#[cfg(test)]
mod tests {
    use super::super::true_peak::true_peak;
    use super::*;
    use ebur128::{EbuR128, Mode};
    use proptest::prelude::*;

    /// A sine in both ears, `level_dbfs` at its peak.
    fn sine(hz: f64, level_dbfs: f64, seconds: f64, rate_hz: u32) -> Vec<[f32; 2]> {
        let rate = f64::from(rate_hz);
        let level = 10_f64.powf(level_dbfs / 20.0);
        (0..(seconds * rate) as usize)
            .map(|n| {
                let phase = std::f64::consts::TAU * (n as f64 * hz / rate).fract();
                [(level * phase.sin()) as f32; 2]
            })
            .collect()
    }

    fn read(frames: &[[f32; 2]], rate_hz: u32) -> Loudness {
        let mut meter = Meter::new(false, rate_hz, true);
        for block in frames.chunks(512) {
            meter.add(block);
        }
        meter.read()
    }

    #[test]
    fn the_tones_of_ebu_tech_3341_read_as_they_should() {
        // EBU Tech 3341 cases 1 and 2: a stereo sine of 1 kHz at -23.0 and -33.0 dBFS for 20 s
        // reads the same in LUFS, to 0.1 LU; true peak within +0.2 and -0.4 dB (from memory, standard).
        for rate_hz in [44_100, 48_000] {
            for level in [-23.0, -33.0] {
                let found = read(&sine(1000.0, level, 20.0, rate_hz), rate_hz);
                let lufs = found.lufs.expect("sound");
                assert!((lufs - level).abs() <= 0.1, "{level}: {lufs} LUFS");
                let peak = found.true_peak_dbtp.expect("sound");
                assert!(
                    (level - 0.4..=level + 0.2).contains(&peak),
                    "{level}: {peak}"
                );
            }
        }
    }

    #[test]
    fn a_full_sine_of_997_hz_in_one_channel_reads_3_below() {
        // BS.1770: a 997 Hz sine at 0 dBFS in one front channel reads -3.01 LKFS.
        let mut frames = sine(997.0, 0.0, 20.0, 48_000);
        for frame in &mut frames {
            frame[1] = 0.0;
        }
        let lufs = read(&frames, 48_000).lufs.expect("sound");
        assert!((lufs + 3.01).abs() < 0.02, "{lufs}");
    }

    #[test]
    fn silence_that_is_passed_over_changes_nothing() {
        let rate_hz = 44_100;
        let tone = sine(700.0, -20.0, 0.05, rate_hz);
        let mut meter = Meter::new(false, rate_hz, true);
        let mut plain = Meter::new(false, rate_hz, true);
        for gap in [400_u64, 12_345, 44_100, 200_000, 61_003] {
            for _ in 0..5 {
                meter.add(&tone);
                meter.silence(gap);
                plain.add(&tone);
                plain.add(&vec![[0.0; 2]; gap as usize]);
            }
        }
        let (found, expected) = (meter.read(), plain.read());
        assert_eq!(found.true_peak_dbtp, expected.true_peak_dbtp);
        let off = found.lufs.expect("sound") - expected.lufs.expect("sound");
        assert!(off.abs() < 1e-6, "{found:?}, {expected:?}");
    }

    #[test]
    fn nothing_is_as_loud_as_nothing() {
        let mut meter = Meter::new(true, 44_100, true);
        meter.silence(100_000);
        let nothing = Loudness {
            lufs: None,
            true_peak_dbtp: None,
        };
        assert_eq!(meter.read(), nothing);
    }

    /// What the crate `ebur128` reads of a whole track, sample for sample.
    fn by_the_library(frames: &[[f32; 2]], mono: bool, rate_hz: u32) -> Loudness {
        let channels = if mono { 1 } else { 2 };
        let mode = Mode::I | Mode::TRUE_PEAK;
        let mut library = EbuR128::new(channels, rate_hz, mode).expect("a rate that it takes");
        let add = |library: &mut EbuR128, frames: &[[f32; 2]]| {
            for frame in frames {
                let heard = library.add_frames_f32(&frame[..channels as usize]);
                heard.expect("a whole frame");
            }
        };
        add(&mut library, frames);
        let finite = |value: f64| value.is_finite().then_some(value);
        // Before the silence that its peaks need: with it one more block may be whole.
        let lufs = library.loudness_global().ok().and_then(finite);
        add(&mut library, &[[0.0; 2]; BEFORE]);
        let peaks = (0..channels).map(|channel| library.true_peak(channel).expect("measured"));
        Loudness {
            lufs,
            true_peak_dbtp: finite(20.0 * peaks.fold(0.0, f64::max).log10()),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn tracks_of_cues_and_words_read_as_by_the_library(
            seed: u64, mono: bool, fast: bool, cycle in 3000_u64..40_000, cycles in 3_usize..25,
        ) {
            let rate_hz = if fast { 48_000 } else { 44_100 };
            let mut random = fastrand::Rng::with_seed(seed);
            // Two cues and a burst of noise, over and over; now and then a cue a frame late.
            let cues: Vec<Vec<[f32; 2]>> = (0..2).map(|ear| {
                let (hz, level) = (random.f64() * 5000.0 + 300.0, random.f64() * 30.0 - 30.0);
                let sound = sine(hz, level, 0.03 + random.f64() * 0.08, rate_hz);
                sound.iter().map(|frame| if ear == 0 { [frame[0], 0.0] } else { [0.0, frame[1]] })
                    .collect()
            }).collect();
            let noise: Vec<[f32; 2]> = (0..9000)
                .map(|_| [random.f32() * 0.4 - 0.2, random.f32() * 0.4 - 0.2]).collect();
            let (mut meter, mut whole) = (Meter::new(mono, rate_hz, true), Vec::new());
            for _ in 0..cycles {
                let sound = match random.u8(0..8) {
                    0 => &noise,
                    n => &cues[usize::from(n) % 2],
                };
                let pause = cycle + random.u64(0..2);
                meter.add(sound);
                meter.silence(pause);
                whole.extend_from_slice(sound);
                whole.resize(whole.len() + pause as usize, [0.0; 2]);
            }
            let (found, expected) = (meter.read(), by_the_library(&whole, mono, rate_hz));
            prop_assert_eq!(found.lufs.is_some(), expected.lufs.is_some());
            prop_assert_eq!(found.true_peak_dbtp.is_some(), expected.true_peak_dbtp.is_some());
            let off = found.lufs.unwrap_or(0.0) - expected.lufs.unwrap_or(0.0);
            prop_assert!(off.abs() < 0.001, "{:?}, {:?}", found, expected);
            // The library adds up in another order.
            let off = found.true_peak_dbtp.unwrap_or(0.0) - expected.true_peak_dbtp.unwrap_or(0.0);
            prop_assert!(off.abs() < 0.0001, "{:?}, {:?}", found, expected);
        }
    }

    #[test]
    fn a_peak_between_samples_is_seen() {
        // A sine of a quarter of the rate, 45 degrees off: its samples are 3 dB below its crest.
        let samples: Vec<f32> = (0..4000)
            .map(|n| {
                (std::f64::consts::FRAC_PI_2 * f64::from(n) + std::f64::consts::FRAC_PI_4).sin()
                    as f32
            })
            .map(|sample| sample * 0.5)
            .collect();
        let largest = samples.iter().fold(0.0_f32, |max, s| max.max(s.abs()));
        assert!((largest - 0.3536).abs() < 0.001, "{largest}");
        // From 0, the onset overshoots a little as well.
        let peak = true_peak(&samples);
        assert!((0.48..0.56).contains(&peak), "{peak}");
    }
}
