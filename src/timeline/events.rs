//! The timeline of a session: what a cursor reads, and never changes.

use std::ops::Range;

use super::lanes::{SetLanes, Stretch, endless, stretches};
use super::run::nearest_frame;
use super::schedule::{CUT_S, Goes, Schedule};
use crate::model::cue::{CueKind, Side, Voice};
use crate::model::resolve::{Resolved, Set};
use crate::units::{Fix, exact};

/// One sounding event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Event {
    /// The frame on which its voice starts, from the start of the track.
    pub frame: u64,
    /// What sounds.
    pub kind: CueKind,
    /// Whose side; none is both.
    pub side: Option<Side>,
    /// Its set, from 1.
    pub set: u32,
    /// Its repeat, from 1.
    pub repeat: u32,
    /// Cycle number from 0 and phase on the circle in millionths; none for signals and walls.
    pub beat: Option<(u64, u32)>,
}

impl Event {
    /// The voice it sounds with.
    pub fn voice(&self) -> Voice {
        Voice {
            kind: self.kind,
            side: self.side,
        }
    }
}

/// One repeat on the track's clock, times in s.
#[derive(Debug)]
pub struct LaidRepeat {
    /// Index of its set.
    pub set: usize,
    /// Which repeat of it, from 1.
    pub number: u32,
    /// Whether it is swum at the rate of a comparison.
    pub is_comparison: bool,
    /// The start signal.
    pub start: Fix,
    /// The end signal; [`Fix::MAX`] for a set without end, which has no signals either.
    pub end: Fix,
    /// Whether the end is not sounded.
    pub(super) silent_end: bool,
    /// Who starts when.
    pub(super) goes: Goes,
    /// From one predicted wall to the next, and how many it meets before its end.
    pub(super) walls: Option<(Fix, u64)>,
    /// Seconds from one count before its start to the next, and the longest that they may be where
    /// a hand sets the rate; 0 where they are seconds at any rate.
    pub(super) count_s: Fix,
    pub(super) longest_count_s: Fix,
    pub(super) stretches: Vec<Stretch>,
}

impl LaidRepeat {
    /// From when on its cues sound, in s, leads counted: the start signal is heard alone. A set
    /// without end has no start signal.
    pub(super) fn cues_from(&self) -> Fix {
        if self.end == Fix::MAX {
            self.start
        } else {
            self.start + Fix::HALF
        }
    }

    /// Whether nothing of it comes at frame `now` or later: its end has been signalled, or has
    /// passed in silence. A signal that is due on that very frame is still to come.
    pub(super) fn is_over(&self, now: u64, sample_rate_hz: u32) -> bool {
        if self.silent_end {
            self.end <= Fix::new(now.into(), sample_rate_hz.into())
        } else {
            nearest_frame(self.end, sample_rate_hz) < now
        }
    }

    /// The first entry, in s.
    pub fn first_entry(&self) -> Fix {
        self.stretches
            .first()
            .map_or(self.start, |first| first.tempo.at)
    }
}

/// Every event of a session at one sample rate, or of one set without end.
#[derive(Debug)]
pub struct Timeline {
    sample_rate_hz: u32,
    frames: u64,
    pub(super) sets: Vec<SetLanes>,
    pub(super) laid: Vec<LaidRepeat>,
}

impl Timeline {
    /// Lays a schedule out. All memory is taken here; reading events takes none.
    pub fn new(session: &Resolved, schedule: &Schedule, sample_rate_hz: u32) -> Self {
        let laid = schedule.repeats.iter().map(|repeat| LaidRepeat {
            set: repeat.set,
            number: repeat.number as u32,
            is_comparison: session.sets[repeat.set].compared(repeat.number).is_some(),
            start: repeat.start_s,
            end: repeat.end_s,
            silent_end: repeat.silent_end,
            goes: schedule.goes,
            walls: repeat.wall_every_s.map(|every| (every, repeat.walls)),
            count_s: repeat.count_s(),
            longest_count_s: repeat.longest_count_s,
            stretches: stretches(&session.sets[repeat.set], repeat),
        });
        Self {
            sample_rate_hz,
            frames: nearest_frame(schedule.total_s, sample_rate_hz),
            sets: session.sets.iter().map(SetLanes::new).collect(),
            laid: laid.collect(),
        }
    }

    /// One repeat that begins with its first entry at a time in s and never ends: a set on deck,
    /// without walls, signals and send-off.
    pub fn endless(set: &Set, sample_rate_hz: u32, first_entry: Fix) -> Self {
        let laid = LaidRepeat {
            set: 0,
            number: 1,
            is_comparison: false,
            start: exact(0),
            end: Fix::MAX,
            silent_end: true,
            goes: Goes::ONE,
            walls: None,
            count_s: Fix::ONE,
            longest_count_s: Fix::ZERO,
            stretches: vec![endless(set, first_entry)],
        };
        Self {
            sample_rate_hz,
            frames: u64::MAX,
            sets: vec![SetLanes::new(set)],
            laid: vec![laid],
        }
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    /// Length of the whole track in frames; the largest number where it has no end.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// How many repeats there are, over all sets.
    pub fn repeats(&self) -> usize {
        self.laid.len()
    }

    /// The repeat at an index.
    pub fn laid(&self, index: usize) -> Option<&LaidRepeat> {
        self.laid.get(index)
    }

    /// Set and repeat, both from 1, of the repeat at an index.
    pub fn set_and_repeat(&self, index: usize) -> (u32, u32) {
        (self.laid[index].set as u32 + 1, self.laid[index].number)
    }

    /// The repeat that a time in s belongs to: from the end of the one before to its own end; the
    /// last one's after that.
    pub fn repeat_at(&self, time: Fix) -> usize {
        let passed = self.laid.partition_point(|laid| laid.end <= time);
        passed.min(self.laid.len().saturating_sub(1))
    }

    /// The repeat of which something comes at frame `now` or later: the first that is not over; the
    /// last one after all.
    pub fn repeat_to_come(&self, now: u64) -> usize {
        let is_over = |laid: &LaidRepeat| laid.is_over(now, self.sample_rate_hz);
        let over = self.laid.partition_point(is_over);
        over.min(self.laid.len().saturating_sub(1))
    }

    /// The frames that a run of repeats owns: from the cut before it to the cut after it, each 1 s
    /// after an end signal. The first run starts at 0, the last one ends with the track.
    pub fn frames_of(&self, repeats: &Range<usize>) -> Range<u64> {
        let cut = |repeat: usize| {
            nearest_frame(self.laid[repeat].end + exact(CUT_S), self.sample_rate_hz)
        };
        let start = match repeats.start {
            0 => 0,
            first => cut(first - 1),
        };
        let end = if repeats.end >= self.laid.len() {
            self.frames
        } else {
            cut(repeats.end - 1)
        };
        start..end
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::parse_session;
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;

    fn timeline(text: &str, sample_rate_hz: u32) -> Timeline {
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let schedule = Schedule::new(&session).expect("fits");
        Timeline::new(&session, &schedule, sample_rate_hz)
    }

    fn of(timeline: &Timeline, kind: CueKind) -> Vec<Event> {
        timeline
            .events()
            .filter(|event| event.kind == kind)
            .collect()
    }

    #[test]
    fn every_event_of_twelve_hours_is_on_the_nearest_frame() {
        // Against whole numbers: an event n thirtieths of a cycle after the first entry is at
        // 63 s + n / 30 x 120 / spm, so at (63 x 30 x 10 spm + 1200 n) / (300 spm) s.
        let thirtieths = [9, 24, 14, 19, 29, 4];
        for (spm, ten_spm) in [("10", 100), ("54.3", 543), ("96", 960), ("160", 1600)] {
            for sample_rate in [44_100, 48_000] {
                let text = format!(
                    "lead_in = \"60 s\"\n[[set]]\nswim = \"718:55\"\nrate = \"{spm} spm\"\n\
                     kick = \"six-beat\"\ncues = [\"arm\", \"kick\", \"fill\"]\n"
                );
                let timeline = timeline(&text, sample_rate);
                let (rate, den) = (i128::from(sample_rate), 30 * ten_spm);
                let mut count = 0;
                for event in timeline.events() {
                    let Some((cycle, micro)) = event.beat else {
                        continue;
                    };
                    let n = (f64::from(micro) * 30.0 / 1e6).round() as i128;
                    assert!(thirtieths.contains(&n), "{micro}");
                    let elapsed = i128::from(cycle) * 30 + n;
                    let off = rate * (63 * den + 1200 * elapsed) - i128::from(event.frame) * den;
                    assert!(
                        2 * off < den && 2 * off >= -den,
                        "{spm} spm, {sample_rate} Hz: {event:?}"
                    );
                    count += 1;
                }
                // Two arms and six beats a cycle from the first entry to the end.
                let cycles = f64::from(718 * 60 + 52) * f64::from(ten_spm as i32) / 1200.0;
                assert!(
                    (f64::from(count) - cycles * 8.0).abs() <= 8.0,
                    "{spm} spm: {count}"
                );
            }
        }
    }

    #[test]
    fn a_start_stands_on_the_frame_of_its_send_off() {
        let timeline = timeline(
            "lead_in = \"10 s\"\n[[set]]\nrepeats = 20\nswim = \"40.1 s\"\nsend_off = \"1:00.3\"\nrate = \"57 spm\"\n",
            44_100,
        );
        for (index, start) in of(&timeline, CueKind::Start).into_iter().enumerate() {
            assert_eq!(start.frame, 441_000 + index as u64 * 2_659_230);
        }
        let last = of(&timeline, CueKind::End).pop().expect("twenty ends");
        assert_eq!(timeline.frames(), last.frame + 3 * 44_100);
    }

    #[test]
    fn counts_lead_to_the_start_and_the_end_stands_alone() {
        let timeline = timeline("[[set]]\nswim = \"30 s\"\nrate = \"60 spm\"\n", 1000 * 8);
        let counts: Vec<u64> = of(&timeline, CueKind::Count)
            .iter()
            .map(|event| event.frame / 8)
            .collect();
        assert_eq!(counts, [57_000, 58_000, 59_000]);
        let last_cue = timeline
            .events()
            .filter(|event| event.beat.is_some())
            .last()
            .expect("cues");
        // A cue exactly at the end, 27 s after the first entry, would be no cue any more.
        assert!(last_cue.frame < of(&timeline, CueKind::End)[0].frame);
    }

    #[test]
    fn counts_are_a_stroke_apart_up_to_one_and_a_half_seconds() {
        for (rate, keys, apart_ms) in [
            ("80 spm", "", 750),
            ("40 spm", "", 1500),
            ("39.9 spm", "", 1000),
            ("80 spm", "count = \"seconds\"\n", 1000),
        ] {
            let text = format!("[[set]]\nswim = \"30 s\"\nrate = \"{rate}\"\n{keys}");
            let counts: Vec<u64> = (of(&timeline(&text, 8000), CueKind::Count).iter())
                .map(|event| 60_000 - event.frame / 8)
                .collect();
            assert_eq!(counts, [3, 2, 1].map(|back| back * apart_ms), "{text}");
        }
    }

    #[test]
    fn cues_pause_at_walls_and_start_anew_with_the_first_arm() {
        // 100 m by a pace of 25 s a length: walls 25, 50, 75 s after the start.
        let timeline = timeline(
            "lead_in = \"10 s\"\n[[set]]\nswim = \"100 m\"\npace = \"25 s / 25 m\"\nrate = \"60 spm\"\n\
             walls = \"pause\"\npairing = \"opposite-side\"\ncues = [\"arm\", \"wall\"]\n",
            1000 * 8,
        );
        let walls: Vec<u64> = of(&timeline, CueKind::Wall)
            .iter()
            .map(|event| event.frame / 8)
            .collect();
        assert_eq!(walls, [35_000, 60_000, 85_000]);
        let arms = of(&timeline, CueKind::Arm);
        for (index, wall) in [10_000, 35_000, 60_000, 85_000].into_iter().enumerate() {
            let of_length: Vec<&Event> = (arms.iter())
                .filter(|arm| (wall..wall + 25_000).contains(&(arm.frame / 8)))
                .collect();
            assert_eq!(of_length[0].frame / 8, wall + 3000);
            assert_eq!(of_length[0].side, Some(Side::Left));
            // 22 s at 2 s a cycle: 11 cycles begin on each length, counted on.
            assert_eq!(of_length[0].beat, Some((index as u64 * 11, 0)));
            assert_eq!(of_length.len(), 22);
        }
    }

    #[test]
    fn no_cue_sounds_after_the_end_where_a_wall_is_predicted_beyond_it() {
        // Two glides of 25 m leave 16.7 m to swim: 19.5 s. The wall would be after 29.2 s.
        let timeline = timeline(
            "[[set]]\nswim = \"66 2/3 m\"\npool = \"50 m\"\nglide = \"25 m\"\npush_off = \"0 s\"\n\
             stroke_length = \"0.95 m/stroke\"\nrate = \"54 spm\"\nwalls = \"pause\"\n",
            8000,
        );
        let end = of(&timeline, CueKind::End)[0].frame;
        let cues: Vec<u64> = (timeline.events().filter(|event| event.beat.is_some()))
            .map(|event| event.frame)
            .collect();
        assert!(
            cues.len() > 30 && cues.iter().all(|cue| *cue < end),
            "{cues:?} {end}"
        );
    }

    #[test]
    fn a_fade_by_length_is_silent_on_every_second_length() {
        let timeline = timeline(
            "[[set]]\nswim = \"100 m\"\npace = \"25 s / 25 m\"\nrate = \"60 spm\"\n\
             fade = { on = 1, off = 1, per = \"length\" }\n",
            8000,
        );
        let lengths: Vec<u64> = (of(&timeline, CueKind::Kick).iter())
            .map(|event| (event.frame / 8 - 60_000) / 25_000)
            .collect();
        assert!(lengths.contains(&0) && lengths.contains(&2));
        assert!(!lengths.contains(&1) && !lengths.contains(&3));
    }

    #[test]
    fn a_fade_by_cycle_counts_cycles_for_sparse_cues_too() {
        let timeline = timeline(
            "[[set]]\nswim = \"5:00\"\nrate = \"60 spm\"\ncues = [\"arm\", \"breath\"]\n\
             breath = { every = 5 }\nfade = { on = 3, off = 4, per = \"cycle\" }\n",
            8000,
        );
        let mut heard = 0;
        for event in timeline.events() {
            if let Some((cycle, _)) = event.beat {
                assert!(cycle % 7 < 3, "cycle {cycle} is silent");
                heard += u32::from(event.kind == CueKind::Breath);
            }
        }
        assert!(heard > 10, "{heard} breaths");
    }

    #[test]
    fn breaths_alternate_on_odd_numbers_and_keep_away_from_walls() {
        let timeline = timeline(
            "[[set]]\nswim = \"200 m\"\npace = \"25 s / 25 m\"\nrate = \"60 spm\"\n\
             cues = [\"arm\", \"breath\"]\nbreath = { every = 3, side = \"right\" }\n",
            8000,
        );
        let breaths = of(&timeline, CueKind::Breath);
        // Entries 0 L, 1 R, 2 L: the first of the left hand numbered 1 or more is 2, in cycle 1.
        assert_eq!(breaths[0].beat, Some((1, 0)));
        assert_eq!(breaths[0].side, Some(Side::Right));
        assert_eq!(breaths[1].beat, Some((2, 500_000)));
        assert_eq!(breaths[1].side, Some(Side::Left));
        for breath in breaths {
            // Its sound begins 220 ms before the entry that all this is about.
            let entry = breath.frame / 8 + 220 - 60_000;
            let (into_length, first_length) = (entry % 25_000, entry < 25_000);
            assert!(
                first_length || into_length >= 3000,
                "{into_length} ms after a wall"
            );
        }
    }

    #[test]
    fn events_are_in_order_and_ties_follow_the_design() {
        let timeline = timeline(
            "[[set]]\nrepeats = 3\nswim = \"60 s\"\nrate = { from = \"80 spm\", to = \"95 spm\", by = \"time\" }\n\
             kick = \"six-beat\"\ncues = [\"arm\", \"kick\", \"fill\", \"breath\"]\nbreath = { every = 3 }\n\
             lead = { arm = \"10.1 ms\", kick = \"10.11 ms\" }\n",
            8000,
        );
        let key = |event: &Event| {
            (
                event.frame,
                event.kind,
                event.set,
                event.repeat,
                event.side.map_or(2, |side| side as u8),
            )
        };
        let all: Vec<_> = timeline.events().map(|event| key(&event)).collect();
        assert!(all.len() > 1000);
        assert!(all.is_sorted());
    }

    #[test]
    fn runs_of_repeats_share_the_track_without_gap_or_overlap() {
        let timeline = timeline(
            "[[set]]\nrepeats = 4\nswim = \"33.3 s\"\nrate = \"61 spm\"\n",
            44_100,
        );
        let runs: Vec<Range<u64>> = (0..4).map(|at| timeline.frames_of(&(at..at + 1))).collect();
        assert_eq!(runs[0].start, 0);
        assert!(runs.windows(2).all(|pair| pair[0].end == pair[1].start));
        assert_eq!(runs[3].end, timeline.frames());
        for (at, run) in runs.iter().enumerate() {
            assert!(
                timeline
                    .events_of(at..at + 1)
                    .all(|event| run.contains(&event.frame))
            );
        }
    }
}
