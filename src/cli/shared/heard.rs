//! Which cues of a session are heard in a film, and by what that is known: the film's own sound, an ear,
//! or marks that were saved by a page with the cues.

use super::film::PlacedFilm;
use super::fingerprint::Fingerprint;
use crate::error::{Error, Result};
use crate::model::cue::{CueKind, Side};
use crate::model::record::{FilmSync, Marks};
use crate::model::resolve::Resolved;
use crate::sync::SyncAnswer;
use crate::units::{Fix, Time};

/// The most that a cue heard by ear may lie before the first mark or after the last, s: two clocks run
/// apart by up to 100 millionths, which is 1 ms in that time.
const FARTHEST_S: f64 = 10.0;

/// What tells a film's place where its marks do not.
const ANEW: &str = "the film, in which the place is found anew (--film of timing; or mark again, and save \
                    from its page)";

/// The cues of a session, heard in the film.
pub struct HeardFilm {
    pub how: How,
    /// How much later than the camera the swimmer hears them, s.
    pub after_s: f64,
    /// What nobody can tell of them.
    pub note: Option<String>,
}

/// By what they are known.
pub enum How {
    /// One arm's cue at a time of the film, s, as the person heard it.
    OneCue {
        session: Box<Resolved>,
        sync_s: f64,
        /// Whose it was, where that is known.
        arm: Option<Side>,
    },
    /// All of them, found in its sound, now or before its marks were saved.
    Film(Box<PlacedFilm>),
}

impl HeardFilm {
    /// What a film's own sound says.
    pub fn by_sound(placed: PlacedFilm, after_s: f64) -> Self {
        Self {
            how: How::Film(Box::new(placed)),
            after_s,
            note: None,
        }
    }

    /// One arm's cue that a person heard in a film at a time, s, of an arm where that is known.
    ///
    /// # Errors
    /// When that is far from all marks.
    pub fn by_ear(
        session: Resolved,
        (sync_s, arm): (f64, Option<Side>),
        marks: &Marks,
        after_s: f64,
    ) -> Result<Self> {
        let (first_s, last_s) = marks.ends_s();
        if !(first_s - FARTHEST_S..=last_s + FARTHEST_S).contains(&sync_s) {
            return Err(Error::input(format!(
                "found {sync_s:.2} s, and the marks lie from {first_s:.2} s to {last_s:.2} s of the film"
            ))
            .accepted(format!(
                "when an arm cue is heard in the swim that is marked: {FARTHEST_S} s before the first mark to \
                 {FARTHEST_S} s after the last"
            ))
            .example(format!("{first_s:.2}")));
        }
        Ok(Self {
            how: How::OneCue {
                session: Box::new(session),
                sync_s,
                arm,
            },
            after_s,
            note: None,
        })
    }

    /// What marks that were saved by a page with the cues say of them; nothing where they say nothing.
    /// `anew` is the command with which a film's place is found anew.
    ///
    /// # Errors
    /// When they were saved among other cues than this session's, or name no place among these.
    pub fn in_marks(
        session: Resolved,
        marks: &Marks,
        after_s: f64,
        anew: &str,
    ) -> Result<Option<Self>> {
        let Some(sync) = &marks.film.sync else {
            return Ok(None);
        };
        let file = &marks.source;
        let placed = PlacedFilm::laid_out(session)?;
        let note = same_cues(&placed, marks).map_err(|error| error.example(anew))?;
        let heard = match sync {
            FilmSync::Heard { time_s, arm } => {
                Self::by_ear(placed.session, (*time_s, Some(*arm)), marks, after_s)
                    .map_err(|error| error.at(format!("{file}: {arm}_cue")))?
            }
            FilmSync::Found(found) => {
                let ends_s = marks.ends_s();
                let placed = placed.known(*found, ends_s);
                among_cues(&placed, ends_s, marks).map_err(|error| error.example(anew))?;
                Self::by_sound(placed, after_s)
            }
        };
        Ok(Some(Self { note, ..heard }))
    }

    /// The session whose cues they are.
    pub fn session(&self) -> &Resolved {
        match &self.how {
            How::OneCue { session, .. } => session,
            How::Film(placed) => &placed.session,
        }
    }

    /// Whether it is known which swim the film shows.
    pub fn is_locked(&self) -> bool {
        match &self.how {
            How::OneCue { .. } => false,
            How::Film(placed) => placed.sync.answer == SyncAnswer::Locked,
        }
    }

    /// The film that has a place in its track.
    pub fn film(self) -> Option<Box<PlacedFilm>> {
        match self.how {
            How::Film(placed) => Some(placed),
            How::OneCue { .. } => None,
        }
    }
}

/// Holds the cues that a place was saved among against those of a session; what is to be said where
/// the marks do not know them.
fn same_cues(placed: &PlacedFilm, marks: &Marks) -> Result<Option<String>> {
    let session = &placed.session.source;
    let Some(known) = &marks.film.sync_cues else {
        return Ok(Some(format!(
            "The marks do not say among which cues their place was found: whether these are those of \
             {session} as it stands now cannot be told."
        )));
    };
    let these = Fingerprint::of_cues(&placed.timeline).letters();
    if *known == these {
        return Ok(None);
    }
    Err(Error::input(format!(
        "found {known}: these are not the cues of {session} as it stands now ({these}). Its file or the \
         swimmer's was edited since, or another session sounded"
    ))
    .at(format!("{}: sync_cues", marks.source))
    .accepted(format!(
        "session and swimmer's file as they were when the page was made; or {ANEW}"
    )))
}

/// Refuses a place at which no arm cue lies between the first mark and the last, whose times are given, s.
fn among_cues(placed: &PlacedFilm, (first_s, last_s): (f64, f64), marks: &Marks) -> Result<()> {
    let is_among = placed
        .cues()
        .iter()
        .any(|cue| cue.event.kind == CueKind::Arm && (first_s..=last_s).contains(&cue.film_s));
    if is_among {
        return Ok(());
    }
    let start_s = placed.sync.track_s_at_film_0.unwrap_or_default();
    let told = |film_s: f64| Time::from_s(Fix::from_f64((start_s + film_s).max(0.0))).rounded();
    Err(Error::input(format!(
        "found {start_s}, and no arm cue of {} lies where the marks then are, from {} to {} of the \
         session",
        placed.session.source,
        told(first_s),
        told(last_s)
    ))
    .at(format!("{}: track_s_at_film_0", marks.source))
    .accepted(format!("the place as the page saved it; or {ANEW}")))
}
