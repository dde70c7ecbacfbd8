//! Tracks that hold, and tracks in which one thing is wrong.

use std::io::Cursor;

use super::*;
use crate::export::{TrackForm, write_wav};
use crate::files::{parse_session, voices};
use crate::model::cue::CueKind;
use crate::model::resolve::resolve;
use crate::model::track_format::{Channels, Division, Format};
use crate::model::wishes::Wishes;
use crate::sound::Bank;

const SESSION: &str = "lead_in = \"5 s\"\n[[set]]\nrate = \"70 spm\"\nswim = \"25 s\"\nkick = \"six-beat\"\n\
    cues = [\"arm\", \"kick\", \"fill\", \"breath\"]\nbreath = { every = 3 }\n";

fn job(text: &str) -> Job {
    let session = parse_session("test.toml", text).expect("parses");
    let session = resolve(&session, None, &Wishes::default()).expect("resolves");
    Job::new(session, Bank::new(&voices::shipped(), 22_050), false).expect("fits")
}

/// The track as 16-bit samples, left and right.
fn samples(job: &Job) -> Vec<i16> {
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    let form = TrackForm {
        format: Format::Wav,
        sample_rate_hz: 22_050,
        bits: 16,
        channels: Channels::Stereo,
    };
    let mut file = Cursor::new(Vec::new());
    write_wav(
        &mut file,
        form,
        &mut job.mixer(&part),
        part.length(),
        &mut |_| Ok(()),
    )
    .expect("memory has room");
    let bytes = file.into_inner();
    bytes[44..]
        .chunks(2)
        .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
        .collect()
}

fn check(job: &Job, samples: &[i16]) -> CheckReport {
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 22_050,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut file = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut file, spec).expect("a format of the library");
    for sample in samples {
        writer.write_sample(*sample).expect("memory has room");
    }
    writer.finalize().expect("memory has room");
    let reader =
        TrackReader::new(Cursor::new(file.into_inner()), "track.wav").expect("a whole file");
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    check_track(job, &part, Fold::Balanced, reader).expect("readable")
}

/// An event of the middle of the swim whose voice sounds with no other in its ear.
fn lonely(job: &Job, kind: CueKind) -> Event {
    let events: Vec<Event> = job.timeline.events().collect();
    let length = job.bank.longest_frames() as u64 / 2;
    *events
        .iter()
        .find(|event| {
            event.kind == kind
                && event.frame > 10 * 22_050
                && (events
                    .iter()
                    .filter(|other| {
                        other.side == event.side && other.frame.abs_diff(event.frame) < length
                    })
                    .count()
                    == 1)
        })
        .expect("one that stands alone")
}

#[test]
fn an_exported_track_holds_to_the_frame() {
    let job = job(SESSION);
    let report = check(&job, &samples(&job));
    assert!(report.holds());
    assert_eq!(report.expected, job.timeline.events().count() as u64);
    assert_eq!(
        (report.found, report.worst_error_frames),
        (report.expected, 0)
    );
}

#[test]
fn a_muted_cue_is_missing_and_nothing_else_is() {
    let job = job(&SESSION.replace("\"arm\", ", ""));
    for kind in [CueKind::Kick, CueKind::Fill] {
        let event = lonely(&job, kind);
        let mut sound = samples(&job);
        let channel = usize::from(event.side == Some(crate::model::cue::Side::Right));
        let length = job.bank.voice(event.voice()).len();
        for frame in event.frame as usize..event.frame as usize + length {
            sound[2 * frame + channel] = 0;
        }
        let report = check(&job, &sound);
        assert_eq!(
            (report.missing_count, report.extra_count),
            (1, 0),
            "{kind:?}"
        );
        assert_eq!(report.missing, [event]);
        assert!(!report.holds());
    }
}

#[test]
fn a_late_track_is_found_late_by_as_much() {
    let job = job(SESSION);
    for late in [1_usize, 3, 40, 100] {
        let mut sound = vec![0; 2 * late];
        sound.extend(samples(&job));
        let whole = job.timeline.frames() as usize * 2;
        let report = check(&job, &sound[..whole]);
        assert_eq!(report.missing_count, 0, "{late} frames late");
        assert_eq!(report.worst_error_frames, late as u64);
        assert_eq!(
            report.extra_count, 0,
            "{late} frames late: {:?}",
            report.extra
        );
        assert_eq!(report.holds(), late <= 1);
    }
}

#[test]
fn a_track_later_than_5_ms_has_every_cue_missing_and_as_many_extra() {
    let job = job(SESSION);
    let mut sound = vec![0; 2 * 300];
    sound.extend(samples(&job));
    let report = check(&job, &sound[..job.timeline.frames() as usize * 2]);
    let all = report.expected as f64;
    assert!(
        report.missing_count as f64 > 0.95 * all,
        "{} of {all}",
        report.missing_count
    );
    assert!(
        report.extra_count as f64 > 0.9 * all,
        "{} of {all}",
        report.extra_count
    );
}

#[test]
fn a_voice_nobody_asked_for_is_named_with_its_frame() {
    let job = job(SESSION);
    // 92 ms after a tick and a knock, while they still ring. Right before a breath a louder voice
    // would hide its soft beginning, and the breath would be missed as well.
    let busy = 12 * 22_050 + 19_668;
    for voice in crate::model::cue::Voice::ALL {
        let mut sound = samples(&job);
        // In the lead-in, and on top of a busy place.
        for at in [22_050_usize, busy] {
            for (n, sample) in job.bank.voice(voice).iter().enumerate() {
                let value = (sample * 32_768.0) as i16;
                for channel in 0..2 {
                    let here = voice.side.is_none_or(|side| {
                        usize::from(side == crate::model::cue::Side::Right) == channel
                    });
                    if here {
                        sound[2 * (at + n) + channel] += value;
                    }
                }
            }
        }
        let report = check(&job, &sound);
        assert_eq!(report.missing_count, 0, "{voice}");
        let near = |frame: u64| {
            report
                .extra
                .iter()
                .any(|extra| extra.voice == voice && extra.frame.abs_diff(frame) <= 1)
        };
        assert!(
            near(22_050) && near(busy as u64),
            "{voice}: {:?}",
            report.extra
        );
        assert_eq!(report.extra_count, 2, "{voice}: {:?}", report.extra);
    }
}

#[test]
fn sound_that_no_cue_explains_is_named() {
    let job = job(SESSION);
    for at in [22_050_usize, 12 * 22_050 + 777] {
        let mut sound = samples(&job);
        let mut noise = 12_345_u32;
        for sample in &mut sound[2 * at..2 * (at + 2205)] {
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            *sample = sample.saturating_add((noise >> 18) as i16 - 8192);
        }
        let report = check(&job, &sound);
        assert!(!report.holds() && report.noise_ms > 50, "{report:?}");
        let from = report.noise_from.expect("where it begins") as usize;
        assert!(from.abs_diff(at) < 50, "{from} for {at}");
    }
    // The same track a little softer has none.
    let softer: Vec<i16> = (samples(&job).iter())
        .map(|sample| (f32::from(*sample) * 0.85) as i16)
        .collect();
    let report = check(&job, &softer);
    assert_eq!(
        (report.missing_count, report.noise_ms),
        (0, 0),
        "{report:?}"
    );
}

#[test]
fn a_cue_beyond_5_ms_is_missing_whatever_swing_would_fit() {
    let job = job(&SESSION.replace("\"arm\", ", ""));
    let event = lonely(&job, CueKind::Kick);
    let channel = usize::from(event.side == Some(crate::model::cue::Side::Right));
    let voice = job.bank.voice(event.voice());
    // 5 ms are 110.25 frames here.
    for (moved, missing) in [
        (110_usize, 0),
        (111, 1),
        (125, 1),
        (150, 1),
        (175, 1),
        (220, 1),
    ] {
        let mut sound = samples(&job);
        let start = event.frame as usize;
        for frame in start..start + voice.len() + moved {
            sound[2 * frame + channel] = 0;
        }
        for (n, sample) in voice.iter().enumerate() {
            sound[2 * (start + moved + n) + channel] = (sample * 32_768.0) as i16;
        }
        let report = check(&job, &sound);
        assert_eq!(report.missing_count, missing, "{moved} frames late");
        assert_eq!(report.extra_count, missing, "{moved} frames late");
    }
}

#[test]
fn another_session_does_not_hold() {
    let job_one = job(SESSION);
    let other = job(&SESSION.replace("70 spm", "71 spm"));
    let report = check(&other, &samples(&job_one));
    assert!(report.missing_count > 20 && report.extra_count > 20);
}

#[test]
fn a_longer_and_a_shorter_track_do_not_hold() {
    let job = job(SESSION);
    let mut sound = samples(&job);
    let shorter = check(&job, &sound[..sound.len() - 2]);
    assert!(!shorter.holds() && shorter.missing_count == 0);
    sound.extend([0; 4]);
    assert!(!check(&job, &sound).holds());
}
