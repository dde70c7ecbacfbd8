//! Loudness and true peak by ITU-R BS.1770 and EBU R 128, measured as a track is made.

use ebur128::{EbuR128, Mode};

/// A meter of one track.
///
/// Silence costs nothing: blocks that are silent as a whole lie below the gate of -70 LUFS and
/// count for nothing, so all but enough of a silence to bring the filters to rest is passed over
/// in steps of the 100 ms by which the blocks advance.
pub struct Meter {
    ebu: EbuR128,
    mono: bool,
    /// Frames by which the blocks advance, as the library has it.
    hop: u64,
    /// Frames of silence since the last sound that the library has heard.
    quiet: u64,
    /// Frames of silence not yet told to the library.
    owed: u64,
    single: Vec<f32>,
}

/// What a meter has read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loudness {
    /// Integrated loudness, LUFS; none where all is silence.
    pub lufs: Option<f64>,
    /// True peak, dBTP; none where all is silence.
    pub true_peak_dbtp: Option<f64>,
}

/// Steps of silence that are measured: four of them are a block of 400 ms, and after as much
/// again the filters have nothing left to say above -100 dB.
const MEASURED_HOPS: u64 = 8;
const ZEROS: [f32; 1024] = [0.0; 1024];

impl Meter {
    /// A meter for tracks of one channel or two. True peak costs most of the time.
    ///
    /// # Panics
    /// Never at 8 to 192 kHz: the library takes 16 Hz to 2.8 MHz.
    pub fn new(mono: bool, sample_rate_hz: u32, true_peak: bool) -> Self {
        let mode = if true_peak {
            Mode::I | Mode::TRUE_PEAK
        } else {
            Mode::I
        };
        let channels = if mono { 1 } else { 2 };
        Self {
            ebu: EbuR128::new(channels, sample_rate_hz, mode).expect("a rate that it takes"),
            mono,
            hop: u64::from(sample_rate_hz.div_ceil(10)),
            quiet: 0,
            owed: 0,
            single: Vec::new(),
        }
    }

    /// Hears frames; where the track has one channel, the left one of them.
    pub fn add(&mut self, frames: &[[f32; 2]]) {
        self.settle();
        self.quiet = 0;
        let heard = if !self.mono {
            self.ebu.add_frames_f32(frames.as_flattened())
        } else {
            self.single.clear();
            self.single.extend(frames.iter().map(|frame| frame[0]));
            self.ebu.add_frames_f32(&self.single)
        };
        heard.expect("whole frames");
    }

    /// Hears so many silent frames.
    pub fn silence(&mut self, frames: u64) {
        self.owed += frames;
    }

    /// Tells the library of a silence: in full where it is short, else in full steps fewer.
    fn settle(&mut self) {
        let most = (MEASURED_HOPS * self.hop).saturating_sub(self.quiet);
        let passed = self.owed.saturating_sub(most) / self.hop * self.hop;
        let mut left = (self.owed - passed) as usize * if self.mono { 1 } else { 2 };
        self.quiet += self.owed - passed;
        self.owed = 0;
        while left > 0 {
            let now = left.min(ZEROS.len());
            (self.ebu.add_frames_f32(&ZEROS[..now])).expect("whole frames");
            left -= now;
        }
    }

    /// What has been heard so far.
    pub fn read(&mut self) -> Loudness {
        // The last sound is in no block and no peak before the filters have passed it on.
        self.owed = self.owed.max(u64::from(ZEROS.len() as u32));
        self.settle();
        let finite = |value: f64| value.is_finite().then_some(value);
        let peaks = (0..self.ebu.channels()).filter_map(|channel| self.ebu.true_peak(channel).ok());
        let peak = peaks.fold(0.0_f64, f64::max);
        Loudness {
            lufs: self.ebu.loudness_global().ok().and_then(finite),
            true_peak_dbtp: finite(20.0 * peak.log10()),
        }
    }
}

/// The largest magnitude of a mono sound between its samples as well, by four times as many.
pub fn true_peak(samples: &[f32], sample_rate_hz: u32) -> f32 {
    let mut ebu = EbuR128::new(1, sample_rate_hz, Mode::TRUE_PEAK).expect("a rate that it takes");
    for part in [samples, &ZEROS] {
        ebu.add_frames_f32(part).expect("whole frames");
    }
    ebu.true_peak(0).map_or(0.0, |peak| peak as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let peak = true_peak(&samples, 44_100);
        assert!((0.48..0.56).contains(&peak), "{peak}");
    }
}
