//! Keys at random through sessions, on the events that the engine would sound.

use super::*;

#[test]
fn a_rate_set_after_the_last_stretch_of_a_swim_brings_back_nothing_that_is_past() {
    // Faster by hand, in and taken back; then ended in a push-off, and slower before that end.
    let steps = [
        (38.37646721336178, 'p'),
        (35.871625188912176, 'p'),
        (76.23274444513603, 'n'),
        (14.890010815344105, '9'),
        (13.523249952505394, 'c'),
        (18.30747909593378, 'u'),
        (8.603170556924304, 'a'),
        (0.15000000000000002, '4'),
    ];
    walk(SEND_OFFS, Goes::ONE, &steps);
}

/// Seconds that go by, then a key: that of [`Deck::press`], `p` for a pause or its end, `u` for
/// taking back, a digit for another rate by hand.
type Step = (f64, char);

/// Keys at random, in every second walk with rates by hand.
fn random_steps(rng: &mut fastrand::Rng) -> Vec<Step> {
    let (keys, by_hand) = (rng.usize(5..120), rng.bool());
    let step = |_| {
        let wait_s = match rng.u32(..4) {
            // Also on the very frame of an end that a key has laid 0.2 s ahead.
            0 => f64::from(rng.u32(..6)) * 0.05,
            1 => rng.f64() * 3.0,
            _ => rng.f64() * 15.0,
        };
        let key = match rng.u32(..11) {
            0 => 'p',
            1 | 2 => 'u',
            3 | 4 => 'n',
            5 => 'a',
            6 => 's',
            7 if by_hand => rng.digit(10),
            _ => 'c',
        };
        (wait_s, key)
    };
    (0..keys).map(step).collect()
}

/// Presses keys, lets the session go on after the last, and looks at all that was taken and heard.
fn walk(text: &str, goes: Goes, steps: &[Step]) {
    let mut deck = Deck::new(text, goes);
    let mut undo: Vec<SetBefore> = Vec::new();
    let mut taken: Vec<(u32, f64)> = Vec::new();
    let mut starts: Vec<(u32, Fix)> = Vec::new();
    for (wait_s, key) in steps {
        deck.pass(*wait_s);
        match key {
            'p' => deck.runs = !deck.runs,
            'u' => {
                if let Some(before) = undo.pop() {
                    deck.take_back(&before);
                }
            }
            '0'..='9' => deck.set_rate(48 + 2 * i64::from(*key as u8 - b'0')),
            key => {
                let now_s = deck.now_s;
                let (done, before) = deck.press(*key);
                undo.extend(before);
                taken.extend(done.timed.map(|(id, _)| (id, now_s)));
            }
        }
        check_walk(&deck, &taken, &mut starts);
    }
    deck.runs = true;
    deck.pass(600.0);
    check_sounded(&deck, steps.iter().any(|(_, key)| key.is_ascii_digit()));
}

/// No time but those taken, no clock that runs backward, every signal due, every cue inside its
/// swim.
#[test]
fn keys_at_random_leave_every_time_taken_and_every_onset_due() {
    let (mut pressed, mut seed) = (0, 0);
    while pressed < 30_000 {
        let mut rng = fastrand::Rng::with_seed(seed);
        let goes = Goes {
            swimmers: rng.u32(1..=3),
            apart_s: exact(rng.i64(0..=5)),
        };
        let text = if rng.bool() { RESTS } else { SEND_OFFS };
        let steps = random_steps(&mut rng);
        let held = std::panic::catch_unwind(|| walk(text, goes, &steps));
        assert!(held.is_ok(), "walk {seed}: {goes:?}, {steps:?}");
        pressed += steps.len();
        seed += 1;
    }
}

fn check_walk(deck: &Deck, taken: &[(u32, f64)], starts: &mut Vec<(u32, Fix)>) {
    let course = deck.running.course();
    for pair in course.repeats.windows(2) {
        assert!(pair[0].start_s < pair[0].end_s && pair[0].end_s < pair[1].start_s);
    }
    for swim in deck.running.swims() {
        for came in &swim.came {
            assert!(taken.contains(&(swim.id, *came)), "a time that nobody took");
        }
        for who in 0..swim.order.len() {
            assert!(swim.time_s(who).is_none_or(|time| time > 0.0));
        }
    }
    // A swim that has begun keeps its start.
    for (swim, start) in starts.iter() {
        let swim = deck.running.swims().iter().find(|one| one.id == *swim);
        let swim = swim.expect("no swim is forgotten");
        assert_eq!(course.repeats[swim.repeat].start_s, *start);
    }
    let known = starts.len();
    let begun = deck.running.swims().iter().skip(known);
    starts.extend(begun.map(|swim| (swim.id, course.repeats[swim.repeat].start_s)));
}

/// `by_hand`: whether another rate was set, which the counts then carry.
fn check_sounded(deck: &Deck, by_hand: bool) {
    let course = deck.running.course();
    for pair in deck.heard.windows(2) {
        assert!(pair[0].frame <= pair[1].frame, "{pair:?}");
    }
    let frame = |time: Fix| to_f64(&time.times(RATE_HZ.into())).round() as u64;
    let goes = course.goes;
    let swum = &course.repeats[..deck.running.swims().len()];
    let go =
        |start: Fix| (0..goes.swimmers).map(move |at| frame(start + goes.apart_s.times(at.into())));
    let over = |time: &Fix| frame(*time) < deck.position;
    let starts = swum
        .iter()
        .flat_map(|repeat| go(repeat.start_s).map(move |at| (repeat, at)));
    let starts: Vec<u64> = (starts
        .filter(|(repeat, at)| *at < frame(repeat.end_s) && *at < deck.position))
    .map(|(_, at)| at)
    .collect();
    let sounded: Vec<u64> = deck.frames(CueKind::Start);
    for start in &starts {
        assert!(sounded.contains(start), "a start at {start} of {sounded:?}");
    }
    for repeat in swum.iter().filter(|repeat| over(&repeat.end_s)) {
        let at = frame(repeat.end_s);
        let sounds = deck
            .heard
            .iter()
            .any(|event| event.kind == CueKind::End && event.frame == at);
        assert_eq!(sounds, !repeat.silent_end, "the end at {at}");
        let start = frame(repeat.start_s);
        let counts = deck.frames(CueKind::Count);
        let passed = counts.partition_point(|count| *count < start);
        let last = &counts[passed.saturating_sub(COUNTS as usize)..passed];
        assert_eq!(last.len(), COUNTS as usize, "counts to {start}");
        // Even up to the start.
        let apart_s = if by_hand {
            Fix::new(
                (start - last[0]).into(),
                (COUNTS * i64::from(RATE_HZ)).into(),
            )
        } else {
            repeat.count_s()
        };
        for (count, before) in last.iter().zip((1..=COUNTS).rev()) {
            let due = frame(repeat.start_s - apart_s.times(before.into()));
            assert!(count.abs_diff(due) <= 1, "{last:?} to {start}");
        }
        assert!(!apart_s.exceeds(fraction(3, 2)), "{last:?} to {start}");
    }
    let swims = |at: u64| {
        swum.iter()
            .any(|one| frame(one.start_s) <= at && at <= frame(one.end_s))
    };
    let cues = deck.heard.iter().filter(|event| event.beat.is_some());
    for cue in cues {
        assert!(swims(cue.frame), "{cue:?} sounds outside every swim");
    }
}
