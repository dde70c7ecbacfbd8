//! The engine into memory: what a coach's wishes do to events and samples.

use super::*;
use crate::export::Job;
use crate::files::{parse_session, phrases, voices};
use crate::live::guarded;
use crate::media::{Voicebox, WordsFor};
use crate::model::cue::Side;
use crate::model::resolve::Resolved;
use crate::model::resolve::resolve;
use crate::model::track_format::{Division, Format};
use crate::model::wishes::Wishes;
use crate::units::floor_u64;

mod hand;

const SESSION: &str = "
    lead_in = \"5 s\"
    [defaults]
    rate = \"92 spm\"
    kick = \"six-beat\"
    pace = \"20 s / 25 m\"
    rest = \"8 s\"
    cues = [\"arm\", \"kick\", \"fill\", \"breath\", \"wall\"]
    breath = { every = 3 }
    fade = { on = 3, off = 1 }
    [[set]]
    swim = \"50 m\"
    repeats = 2
    lead = \"40 ms\"
    [[set]]
    swim = \"50 m\"
    rate = { from = \"80 spm\", to = \"120 spm\", by = \"time\" }
    walls = \"pause\"";

fn session(text: &str) -> Resolved {
    let session = parse_session("test.toml", text).expect("parses");
    resolve(&session, None, &Wishes::default()).expect("resolves")
}

fn score_of(text: &str, rate_hz: u32) -> (Score, Job) {
    let bank = || Bank::new(&voices::shipped(), rate_hz);
    let mut job = Job::new(session(text), bank(), false).expect("fits");
    job.speak(&Voicebox::new(phrases::shipped()), WordsFor::Tracks);
    let score = Score::session(&job.session, &job.schedule, bank(), false)
        .saying(Arc::clone(&job.spoken.speech));
    (score, job)
}

pub(in crate::live) fn endless(text: &str, rate_hz: u32) -> Score {
    let bank = Bank::new(&voices::shipped(), rate_hz);
    Score::endless(&session(text).sets[0], bank, false)
}

/// Plays to the end, or for so many frames, in blocks of a size; wishes come at their frames.
fn play(score: Score, frames: u64, block: usize, wishes: &[(u64, DeckCommand)]) -> Vec<[f32; 2]> {
    let (mut engine, mut remote) = Engine::new(score, 0);
    assert!(remote.send(DeckCommand::Run(true)));
    let mut sound = vec![[0.0; 2]; frames as usize];
    let mut wishes = wishes.iter();
    let mut next = wishes.next();
    for (index, block_of) in sound.chunks_mut(block).enumerate() {
        while let Some((_, command)) = next.filter(|(at, _)| *at <= (index * block) as u64) {
            assert!(remote.send(*command));
            next = wishes.next();
        }
        guarded(|| engine.fill(block_of));
    }
    sound
}

/// The frames on which voices begin in one ear, told from the samples: sound after silence.
fn events(
    score: &Score,
    frames: u64,
    wishes: &[(u64, DeckCommand)],
) -> Vec<crate::timeline::Event> {
    let mut source = LiveEvents::new(Arc::clone(&score.timeline), 0);
    let mut found = Vec::new();
    let mut gentle = 0;
    let mut wishes = wishes.iter().peekable();
    for position in (0..frames).step_by(64) {
        while let Some((_, command)) = wishes.next_if(|(at, _)| *at <= position) {
            match *command {
                DeckCommand::Rate(spm) => {
                    let beat = SteadyRate::spm(fraction((spm * 1000.0).round() as i64, 1000));
                    source.cursor.change(position, beat, exact(gentle));
                }
                DeckCommand::Switch(pairing, kick) => source.cursor.switch(position, pairing, kick),
                DeckCommand::Gentle(on) => gentle = if on { GENTLE_CYCLES } else { 0 },
                DeckCommand::Follow(aim) => source.cursor.set_aim(position, aim),
                _ => {}
            }
        }
        source.end = position + 64;
        found.extend(source.by_ref());
    }
    found
}

/// A time of the timeline's in frames.
fn frame_of(score: &Score, time: Fix) -> u64 {
    floor_u64(&time.times(score.sample_rate_hz().into())).expect("in the session")
}

#[test]
fn an_untouched_session_is_the_exported_file_sample_for_sample() {
    for (rate_hz, block) in [(8000, 170), (44_100, 256)] {
        let (score, job) = score_of(SESSION, rate_hz);
        let part = job.parts(Division::One, Format::Wav, None).remove(0);
        let mut exported = vec![[0.0_f32; 2]; part.length() as usize];
        job.mixer(&part).fill(&mut exported);
        let live = play(score, part.length(), block, &[]);
        assert!(live.iter().flatten().any(|sample| *sample != 0.0));
        assert!(live == exported, "{rate_hz} Hz");
    }
}

/// The opening, and what is said before each of two sets.
const SPOKEN: &str = "
    lead_in = \"60 s\"
    [defaults]
    rate = \"60 spm\"
    rest = \"20 s\"
    [[set]]
    swim = \"20 s\"
    repeats = 2
    [[set]]
    swim = \"20 s\"
    rate = \"66 spm\"";

#[test]
fn a_session_says_live_what_its_track_says_until_a_hand_makes_it_untrue() {
    let (score, job) = score_of(SPOKEN, 8000);
    let frames = score.frames.expect("a session");
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    let mut exported = vec![[0.0_f32; 2]; frames as usize];
    job.mixer(&part).fill(&mut exported);
    let own = play(score.clone(), frames, 256, &[]);
    assert!(own == exported);
    let words = |set: u32| {
        let says = job.spoken.said.says.iter().zip(&job.spoken.rooms);
        let of_set: Vec<std::ops::Range<usize>> = says
            .filter(|(say, _)| say.set == set)
            .map(|(_, room)| room.start as usize..room.end as usize)
            .collect();
        assert!(!of_set.is_empty(), "set {set} says nothing");
        of_set
    };
    let sounds = |sound: &[[f32; 2]]| sound.iter().flatten().any(|sample| *sample != 0.0);
    // In the first repeat of the first set another rate: its second repeat says nothing, the
    // second set speaks again.
    let change_at = 8000 * 70;
    let changed = play(score, frames, 256, &[(change_at, DeckCommand::Rate(54.0))]);
    assert!(words(1).iter().any(|room| room.start > change_at as usize));
    for room in words(1) {
        let before = room.end < change_at as usize;
        assert!(sounds(&own[room.clone()]), "{room:?}");
        assert_eq!(sounds(&changed[room.clone()]), before, "{room:?}");
    }
    for room in words(2) {
        assert!(changed[room.clone()] == own[room.clone()], "{room:?}");
        assert!(sounds(&own[room]));
    }
}

#[test]
fn a_hand_that_wishes_for_what_there_is_changes_nothing() {
    // Everything placed anew anywhere gives the session's own events, whatever walls, fades, leads.
    let (score, _) = score_of(SESSION, 8000);
    let frames = score.frames.expect("a session");
    let own = events(&score, frames, &[]);
    assert!(own.len() > 400, "{}", own.len());
    for at in [1_000, 70_000, 100_064, 150_016, 333_312, 500_000, 700_032] {
        let at = at / 64 * 64;
        let wish = Engine::new(score.clone(), at).0.state().view.wish;
        let switch = DeckCommand::Switch(wish.pairing, wish.kick);
        let mut wishes = vec![(at, switch)];
        if at < 480_000 {
            // The rate of the first set, and its next repeat keeps it.
            wishes.push((at, DeckCommand::Rate(92.0)));
        }
        let found = events(&score, frames, &wishes);
        assert_eq!(found.len(), own.len(), "taken over at {at}");
        for (found, own) in found.iter().zip(&own) {
            let off = found.frame.abs_diff(own.frame);
            // In a ramp by time a frame more or less is equal.
            assert!(
                off <= u64::from(own.set == 2),
                "taken over at {at}: {found:?} {own:?}"
            );
            assert_eq!(
                (found.kind, found.side, found.beat),
                (own.kind, own.side, own.beat)
            );
        }
    }
}

#[test]
fn a_ramp_goes_on_under_another_pairing_and_stands_where_a_rate_was_set() {
    let text = "[[set]]\nswim = \"60 s\"\nrepeats = 2\npairing = \"opposite-side\"\n\
                rate = { from = \"50 spm\", to = \"70 spm\", by = \"time\" }\n";
    let (score, _) = score_of(text, 8000);
    let frames = score.frames.expect("a session");
    let start = score.timeline.laid(0).expect("a repeat").start;
    let change_at = frame_of(&score, start) / 64 * 64 + 8000 * 20;
    let last_of_first = |found: &[crate::timeline::Event]| {
        let hands = found
            .iter()
            .filter(|event| event.kind == CueKind::Arm && event.repeat == 1);
        let frames: Vec<f64> = hands.map(|event| event.frame as f64).collect();
        // Strokes/min over the last three strokes.
        60.0 * 8000.0 * 3.0 / (frames[frames.len() - 1] - frames[frames.len() - 4])
    };
    let switch = DeckCommand::Switch(Pairing::SameSide, Kick::TwoBeat);
    let switched = last_of_first(&events(&score, frames, &[(change_at, switch)]));
    assert!((68.0..70.0).contains(&switched), "{switched}");
    let set = last_of_first(&events(
        &score,
        frames,
        &[(change_at, DeckCommand::Rate(52.0))],
    ));
    assert!((set - 52.0).abs() < 0.1, "{set}");
}

#[test]
fn a_hand_in_a_rest_before_a_steep_ramp_sounds_nothing_there() {
    // Carried back a minute, this ramp would have begun to fall: 20 s x 40 / 40 spm x 2 = 40 s.
    let text = "[[set]]\nswim = \"20 s\"\nrepeats = 2\nrest = \"60 s\"\n\
                rate = { from = \"40 spm\", to = \"80 spm\", by = \"time\" }\n";
    let (score, _) = score_of(text, 8000);
    let frames = score.frames.expect("a session");
    let [first, second] = [0, 1].map(|at| {
        let repeat = score.timeline.laid(at).expect("two repeats");
        (frame_of(&score, repeat.start), frame_of(&score, repeat.end))
    });
    let own = events(&score, frames, &[]);
    let of_second = |events: &[crate::timeline::Event]| -> Vec<u64> {
        let cues = events.iter().filter(|event| event.beat.is_some());
        cues.map(|event| event.frame)
            .filter(|frame| *frame > first.1)
            .collect()
    };
    let swim = DeckCommand::Switch(Pairing::OppositeSide, Kick::TwoBeat);
    for at in [first.0 + 80_000, first.1 + 8_000, second.0 - 160_000] {
        let at = at / 64 * 64;
        let found = of_second(&events(&score, frames, &[(at, DeckCommand::Rate(50.0))]));
        assert!(found[0] >= second.0, "rate set at {at}: {found:?}");
        // 50 spm for what is left of 20 s after the push-off.
        let gaps: Vec<u64> = found.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(
            gaps.iter().all(|gap| gap % 9600 < 2 || gap % 9600 > 9598),
            "{gaps:?}"
        );
        let switched = of_second(&events(&score, frames, &[(at, swim)]));
        assert!(switched[0] >= second.0, "switched at {at}: {switched:?}");
        let count = of_second(&own).len();
        assert!(
            switched.len().abs_diff(count) <= 4,
            "{} for {count}",
            switched.len()
        );
        let mut cursor = LiveEvents::new(Arc::clone(&score.timeline), 0).cursor;
        cursor.switch(second.0 - 8000, Pairing::OppositeSide, Kick::TwoBeat);
        let shown = spm(cursor.view(second.0 - 8000).wish.frequency, 8000);
        assert!((shown - 40.0).abs() < 1e-6, "{shown}");
    }
}

pub(in crate::live) const STEADY: &str = "[[set]]\nswim = \"10 min\"\nrate = \"54 spm\"\npairing = \"opposite-side\"\n\
                      catch_after_entry = 0.3\ncues = [\"arm\", \"kick\", \"fill\"]\n";

pub(in crate::live) fn frames_of(
    events: &[crate::timeline::Event],
    kind: CueKind,
    side: Side,
) -> Vec<u64> {
    (events
        .iter()
        .filter(|event| event.kind == kind && event.side == Some(side)))
    .map(|event| event.frame)
    .collect()
}

#[test]
fn a_day_without_end_ends_on_the_right_frame() {
    // Against whole numbers: entry n of the left hand is at first + n x 48000 x 120 x 10 / 543.
    let text = STEADY.replace("54 spm", "54.3 spm");
    let score = endless(&text, 48_000);
    let mut source = LiveEvents::new(Arc::clone(&score.timeline), 0);
    let first = score.timeline.laid(0).expect("one").first_entry();
    let first = i128::from(frame_of(&score, first));
    let day = 24 * 3600 * 48_000_u64;
    let (mut count, mut last) = (0_i128, 0_u64);
    for position in (0..day).step_by(48_000) {
        source.end = position + 48_000;
        for event in source.by_ref() {
            if event.kind == CueKind::Arm && event.side == Some(Side::Left) {
                let off = (i128::from(event.frame) - first) * 543 - count * 57_600_000;
                assert!(
                    2 * off.abs() <= 543,
                    "entry {count} is off by {off} / 543 frames"
                );
                count += 1;
                last = event.frame;
            }
        }
    }
    assert!(
        count > 39_000 && day - last < 48_000 * 3,
        "{count} entries, the last at {last}"
    );
}

#[test]
fn any_wishes_leave_no_doubled_cue_no_allocation_and_silence_after_stop() {
    let mut rng = fastrand::Rng::with_seed(4);
    for round in 0..6 {
        let (score, frames) = match round % 2 {
            0 => (endless(STEADY, 8000), 8000 * 120),
            _ => {
                let (score, _) = score_of(SESSION, 8000);
                let frames = score.frames.expect("a session");
                (score, frames)
            }
        };
        let pairings = [Pairing::SameSide, Pairing::OppositeSide];
        let kicks = [Kick::TwoBeat, Kick::FourBeat, Kick::SixBeat, Kick::Pull];
        let (mut engine, mut remote) = Engine::new(score, 0);
        remote.send(DeckCommand::Run(true));
        let mut block = [[0.0_f32; 2]; 256];
        let mut loudest = 0.0_f32;
        while engine.position() < frames - 8000 {
            if rng.f64() < 0.15 {
                let command = match rng.u32(..8) {
                    0..3 => DeckCommand::Rate(10.0 + 150.0 * rng.f64()),
                    3 => DeckCommand::Gentle(rng.bool()),
                    4 => DeckCommand::Switch(pairings[rng.usize(..2)], kicks[rng.usize(..4)]),
                    5 => DeckCommand::Mute(Group::ALL[rng.usize(..4)], rng.bool()),
                    6 => DeckCommand::Follow(rng.bool().then(|| Aim {
                        frame: engine.position() as f64,
                        phase: rng.f64(),
                        frequency: (30.0 + 90.0 * rng.f64()) / 120.0 / 8000.0,
                    })),
                    _ => DeckCommand::Run(rng.f64() < 0.7),
                };
                remote.send(command);
            }
            if !engine.running {
                remote.send(DeckCommand::Run(true));
            }
            let length = rng.usize(1..=256);
            guarded(|| engine.fill(&mut block[..length]));
            for sample in block[..length].iter().flatten() {
                loudest = loudest.max(sample.abs());
            }
        }
        assert!(loudest > 0.05 && loudest <= 1.0, "{loudest}");
        remote.send(DeckCommand::Run(false));
        for _ in 0..4 {
            engine.fill(&mut block);
        }
        engine.fill(&mut block);
        assert!(block.iter().flatten().all(|sample| *sample == 0.0));
    }
}

#[test]
fn a_session_laid_anew_while_it_sounds_goes_on_in_step_and_allocates_nothing() {
    let text = "lead_in = \"6 s\"\n[[set]]\nrepeats = 3\nswim = \"20 s\"\nrest = \"10 s\"\nrate = \"60 spm\"\n";
    let (mut score, job) = score_of(text, 8000);
    score.speech = Arc::default();
    let untouched = play(score.clone(), 8000 * 62, 200, &[]);
    let laid = |schedule: &crate::timeline::Schedule| Laid {
        timeline: Arc::new(Timeline::new(&job.session, schedule, 8000)),
        speech: Arc::clone(&score.speech),
    };
    let mut ended = job.schedule.clone();
    ended.end_at(0, exact(16), true);
    let mut later = job.schedule.clone();
    later.move_from(1, exact(4));
    // In at 16 s, taken back at 20 s; in the rest the next start is moved by 4 s.
    let moves = [
        (16, laid(&ended)),
        (20, laid(&job.schedule)),
        (28, laid(&later)),
    ];
    let (mut engine, mut remote) = Engine::new(score.clone(), 0);
    assert!(remote.send(DeckCommand::Run(true)));
    let mut sound = vec![[0.0_f32; 2]; 8000 * 66];
    for (index, block) in sound.chunks_mut(200).enumerate() {
        if let Some((_, laid)) = moves.iter().find(|(at, _)| at * 40 == index) {
            assert!(remote.lay(laid));
        }
        guarded(|| engine.fill(block));
    }
    let same = |from: usize, to: usize, later: usize| {
        let moved = &sound[8000 * (from + later)..8000 * (to + later)];
        moved == &untouched[8000 * from..8000 * to]
    };
    assert!(same(0, 16, 0), "untouched before the first key");
    let silent = &sound[8000 * 17..8000 * 20];
    assert!(
        silent.iter().flatten().all(|sample| *sample == 0.0),
        "in: nothing sounds"
    );
    assert!(same(21, 28, 0), "taken back: in step, with the end");
    assert!(same(30, 60, 4), "counts, start and swim, all 4 s later");
}
