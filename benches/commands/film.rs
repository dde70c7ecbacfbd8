//! The sound of a film of a minute, found in the track of an hour, against ffmpeg decoding that film.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::machine;
use crate::run::{Spread, Taken, cuelane, mib, run};
use crate::shared::{hour, rising_hour};

const ROUNDS: usize = 5;
/// Where in the track the film is taken, s.
const FROM_S: u32 = 1800;

/// Looks for films in turn with ffmpeg decoding them, and prints what all that took.
pub fn table(folder: &Path) {
    if !machine::has("ffmpeg") {
        println!("A film in a track: not measured, ffmpeg is missing\n");
        return;
    }
    println!(
        "A film of 60 s (full HD, 60 frames/s, H.264, AAC) of an hour's track under noise: `cuelane mark` \
         looks for its sound; median of {ROUNDS} rounds, each command once a round; ratios to ffmpeg \
         decoding the same film, pair by pair, least and most in brackets; peak memory the largest.\n"
    );
    println!(
        "| film | time | times ffmpeg, picture and sound | times ffmpeg, sound alone | peak |"
    );
    println!("|---|---|---|---|---|");
    for (name, session, cues) in [
        ("steady rate, every cue", hour(), 1.0),
        ("rising rate, every cue", rising_hour(), 1.0),
        ("noise alone", hour(), 0.0),
    ] {
        let session_file = folder.join("film-hour.toml");
        fs::write(&session_file, session).expect("the target folder can be written");
        let film = film(folder, &session_file, cues);
        row(folder, name, &session_file, &film);
    }
    println!("\nWanted: 2 s and 200 MB. {}\n", machine::load());
}

/// A film of a minute of the session's track, its cues at a level.
fn film(folder: &Path, session: &Path, cues: f64) -> String {
    let tracks = folder.join("film-track");
    let words = [
        "--files",
        "one",
        "--format",
        "wav",
        "--speech",
        "off",
        "--no-loudness",
        "--force",
    ];
    let export = cuelane()
        .arg("export")
        .arg(session)
        .arg("--out")
        .arg(&tracks)
        .args(words)
        .status();
    assert!(export.expect("the program starts").success());
    let track = fs::read_dir(&tracks).expect("the folder was just written");
    let track = (track.filter_map(|entry| entry.ok()))
        .map(|entry| entry.path())
        .find(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .expect("one track");
    let film = folder.join("film.mp4").display().to_string();
    let sound = format!(
        "[0:a]pan=mono|c0=0.5*c0+0.5*c1,volume={cues}[cues];[1:a][cues]amix=inputs=2:normalize=0"
    );
    let made_up = |source| ["-f", "lavfi", "-t", "60", "-i", source];
    let made = Command::new("ffmpeg")
        .args([
            "-v",
            "error",
            "-y",
            "-ss",
            &FROM_S.to_string(),
            "-t",
            "60",
            "-i",
        ])
        .arg(&track)
        .args(made_up(
            "anoisesrc=color=pink:amplitude=0.02:seed=1:r=48000",
        ))
        .args(made_up("testsrc2=size=1920x1080:rate=60"))
        .args([
            "-filter_complex",
            &sound,
            "-map",
            "2:v",
            "-c:v",
            "libx264",
            "-preset",
            "ultrafast",
        ])
        .args(["-pix_fmt", "yuv420p", "-c:a", "aac", "-b:a", "96k", &film])
        .status();
    assert!(made.expect("ffmpeg starts").success());
    fs::remove_dir_all(&tracks).expect("the folder was just written");
    film
}

fn row(folder: &Path, name: &str, session: &Path, film: &str) {
    let page = folder.join("film.html");
    let (mut ours, mut whole, mut sound) = (Vec::new(), Vec::new(), Vec::new());
    for round in 0..=ROUNDS {
        let find = run(cuelane()
            .args(["mark", "--force", "--film", film, "--session"])
            .arg(session)
            .arg("--out")
            .arg(&page));
        let ffmpeg = |more: &[&str]| {
            let words = [&["-v", "error", "-i", film][..], more, &["-f", "null", "-"]].concat();
            run(Command::new("ffmpeg").args(words))
        };
        let (decode, hear) = (ffmpeg(&[]), ffmpeg(&["-vn"]));
        if round > 0 {
            ours.push(find);
            whole.push(decode);
            sound.push(hear);
        }
    }
    let time = Spread::of(ours.iter().map(|one| one.seconds)).median;
    let [whole, sound] = [whole, sound].map(|theirs| ratio(&ours, &theirs));
    println!(
        "| {name} | {time:.2} s | {whole} | {sound} | {} |",
        mib(&ours)
    );
}

fn ratio(ours: &[Taken], theirs: &[Taken]) -> String {
    let pairs = ours.iter().zip(theirs);
    let spread = Spread::of(pairs.map(|(one, other)| one.seconds / other.seconds));
    format!(
        "{:.2} ({:.2} to {:.2})",
        spread.median, spread.least, spread.most
    )
}
