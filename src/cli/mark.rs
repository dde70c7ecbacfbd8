//! `mark`: writes the page on which a coach marks a film.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::shared::args::{SessionArgs, SetFlags};
use crate::cli::shared::film::{PlacedFilm, WayArgs, WhereArgs};
use crate::cli::shared::film_name::film_name;
use crate::cli::shared::film_told::{SyncShown, placed_in_words};
use crate::cli::shared::fingerprint::Fingerprint;
use crate::cli::shared::load::load;
use crate::cli::shared::out;
use crate::cli::shared::report::Micro;
use crate::cli::shared::save::{may_write, save};
use crate::cli::shared::words::Page;
use crate::error::{Error, Result};
use crate::mark::page;
use crate::model::cue::CueKind;

/// Arguments of `mark`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  cuelane mark --out mark.html\n  \
                        cuelane mark --film clip.mp4 --session evening.toml --swimmer alex.toml --out mark.html\n  \
                        cuelane timing length-marks.csv")]
pub struct MarkArgs {
    /// The page to write; - is standard output
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Replace a file that is there
    #[arg(long)]
    pub force: bool,
    /// A film in which a session sounded, or a WAV of its sound: the page draws the cues
    #[arg(long, value_name = "FILE", requires = "session")]
    pub film: Option<PathBuf>,
    /// The session that sounded
    #[arg(long, value_name = "FILE", requires = "film")]
    pub session: Option<String>,
    /// The swimmer's file
    #[arg(long, value_name = "FILE", requires = "session")]
    pub swimmer: Option<String>,
    #[command(flatten)]
    pub place: WhereArgs,
    #[command(flatten)]
    pub way: WayArgs,
}

/// Runs `mark`.
///
/// # Errors
/// When the file is there already, or cannot be written.
pub fn run(args: &MarkArgs) -> Result<()> {
    let to_screen = args.out == Path::new("-");
    let file = args.out.display();
    if !to_screen {
        let name = args.out.file_name().and_then(|name| name.to_str());
        if name.is_none() || args.out.is_dir() {
            return Err(Error::input("this names no file")
                .at(file)
                .example("cuelane mark --out mark.html"));
        }
        may_write(&args.out, args.force)?;
    }
    let after_s = args.way.swimmer_after_camera_s()?;
    let placed = placed(args)?;
    let film = args.film.as_deref().and_then(film_name);
    let cues = (placed.as_ref()).map(|placed| cues(film, placed, after_s, timing_flags(args)));
    let page = page(cues.as_deref().unwrap_or("{}"));
    if to_screen {
        return out::result(&page);
    }
    save(&args.out, &page)?;
    let mut told = Page::default();
    if let Some(placed) = &placed {
        placed_in_words(placed, &mut told);
    }
    told.line(format_args!(
        "Wrote {file}.\nOpen it in a browser on laptop or tablet, choose the film of a\n\
         length, mark what you see, and press Save marks. The film stays on that machine.\n\
         Next: cuelane timing with the file of marks that the page saved"
    ));
    out::result(&told.text())
}

/// The film, looked for in its session.
fn placed(args: &MarkArgs) -> Result<Option<PlacedFilm>> {
    let (Some(film), Some(session)) = (&args.film, &args.session) else {
        return Ok(None);
    };
    let loaded = load(&SessionArgs {
        session: session.clone(),
        wishes: SetFlags {
            swimmer: args.swimmer.clone(),
            ..SetFlags::default()
        },
    })?;
    PlacedFilm::find(film, loaded.session, &args.place).map(Some)
}

/// What the page draws: where the film lies, and each cue when the swimmer hears it, on its clock.
#[derive(Serialize)]
struct Drawn<'a> {
    /// Another film that is opened in the page has no part in its cues.
    #[serde(skip_serializing_if = "Option::is_none")]
    film: Option<&'a str>,
    /// With what `timing` reads the marks: the place of the film alone says nothing of the ways that
    /// sound went.
    timing_flags: String,
    /// The fingerprint of the cues: marks that are saved with a place in the track say which track.
    sync_cues: String,
    sync: SyncShown,
    cues: Vec<DrawnCue>,
}

#[derive(Serialize)]
struct DrawnCue {
    kind: &'static str,
    side: &'static str,
    film_s: Micro,
    sounds: bool,
}

/// The flags of `timing` for marks of this page, as a shell takes them.
fn timing_flags(args: &MarkArgs) -> String {
    let WayArgs {
        distance,
        swimmer_distance,
    } = &args.way;
    let flags = [
        ("--session", &args.session),
        ("--swimmer", &args.swimmer),
        ("--distance", distance),
        ("--swimmer-distance", swimmer_distance),
    ];
    let is_plain = |c: char| c.is_alphanumeric() || "._-/\\:".contains(c);
    let told = flags.into_iter().filter_map(|(flag, value)| {
        let value = value.as_deref()?;
        let plain = value.chars().all(is_plain);
        Some(if plain {
            format!("{flag} {value}")
        } else {
            format!("{flag} \"{value}\"")
        })
    });
    told.collect::<Vec<_>>().join(" ")
}

fn cues(film: Option<&str>, placed: &PlacedFilm, after_s: f64, timing_flags: String) -> String {
    let drawn = Drawn {
        film,
        timing_flags,
        sync_cues: Fingerprint::of_cues(&placed.timeline).letters(),
        sync: SyncShown::new(placed),
        cues: (placed.cues().into_iter())
            .filter_map(|cue| {
                let kinds = [CueKind::Arm, CueKind::Kick, CueKind::Fill];
                Some(DrawnCue {
                    kind: Some(cue.event.kind)
                        .filter(|kind| kinds.contains(kind))?
                        .word(),
                    side: cue.event.side?.word(),
                    film_s: (cue.film_s + after_s).into(),
                    sounds: cue.sounds,
                })
            })
            .collect(),
    };
    serde_json::to_string(&drawn).expect("words and numbers")
}
