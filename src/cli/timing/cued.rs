//! What `timing` is told of a cued swim: the session, and how the film tells when it sounded.

use std::path::PathBuf;

use clap::Args;

use crate::cli::shared::film::{PlacedFilm, WayArgs, WhereArgs};
use crate::cli::shared::heard::HeardFilm;
use crate::error::{Error, Result};
use crate::files::{load_session, read_film_time};
use crate::model::record::Marks;
use crate::model::resolve::resolve;
use crate::model::swimmer::Swimmer;
use crate::model::wishes::Wishes;

/// What sounded, and how the film tells when.
#[derive(Debug, Args)]
pub struct CuedArgs {
    /// The session that sounded: how far do hand and foot come behind the sound?
    #[arg(long, value_name = "FILE")]
    pub session: Option<String>,
    /// When one arm cue of that session is heard in the film
    #[arg(
        long,
        value_name = "TIME",
        requires = "session",
        conflicts_with = "film"
    )]
    pub sync: Option<String>,
    /// The film itself, or a WAV of its sound: the cues are found in it
    #[arg(long, value_name = "FILE", requires = "session")]
    pub film: Option<PathBuf>,
    #[command(flatten)]
    pub place: WhereArgs,
    #[command(flatten)]
    pub way: WayArgs,
}

/// The cues that the arguments speak of, or the marks, if they do.
///
/// # Errors
/// When session or film does not hold, the flags are no such quantities, or nothing says when a cue
/// of the session was heard.
pub fn heard(
    args: &CuedArgs,
    swimmer: Option<&Swimmer>,
    marks: &Marks,
) -> Result<Option<HeardFilm>> {
    let Some(session) = &args.session else {
        return Ok(None);
    };
    let session = resolve(&load_session(session)?, swimmer, &Wishes::default())?;
    let after_s = args.way.swimmer_after_camera_s()?;
    if let Some(file) = &args.film {
        let placed = PlacedFilm::find(file, session, &args.place)?;
        return Ok(Some(HeardFilm::by_sound(placed, after_s)));
    }
    if let Some(sync) = &args.sync {
        let heard = read_film_time(sync, marks.frame_rate_hz)
            .and_then(|sync_s| HeardFilm::by_ear(session, (sync_s, None), marks, after_s));
        return heard.map(Some).map_err(|error| error.at("--sync"));
    }
    let swimmer = swimmer.map(|swimmer| format!(" --swimmer {}", swimmer.source));
    let anew = format!(
        "cuelane timing {} --session {}{} --film {}",
        marks.source,
        session.source,
        swimmer.unwrap_or_default(),
        marks.film.name.as_deref().unwrap_or("clip.mp4")
    );
    let in_marks = HeardFilm::in_marks(session, marks, after_s, &anew)?;
    in_marks.map(Some).ok_or_else(|| {
        Error::input("nothing says when a cue of it is heard in the film")
            .at("--session")
            .accepted(
                "the film, the time of one arm cue, or marks that were saved by a page with the cues",
            )
            .example("--film clip.mp4, or --sync 4.20")
    })
}
