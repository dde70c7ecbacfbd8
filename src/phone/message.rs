//! What a phone says, as JSON: one message, typed and bounded.

use serde::Deserialize;

/// The longest message, bytes.
pub const LONGEST_MESSAGE: usize = 4096;
/// The longest text inside one.
const LONGEST_TEXT: usize = 32;
/// Moments up to eleven days after the page was opened: beyond that a clock says nothing.
const LATEST_MS: f64 = 1e9;

/// A message of a phone's. Its own moments are ms on its own clock, which begins as its page is
/// opened; `load` tells one opening from another.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case", deny_unknown_fields)]
pub enum Message {
    /// The first one.
    Hello {
        /// Tells this phone from others, also after it has opened the page anew.
        phone: String,
        /// Which opening of the page it is.
        load: u32,
    },
    /// The answer to a question for the time.
    Clock {
        /// When it was asked, as the question had it.
        asked_ms: f64,
        /// When the phone got it.
        got_ms: f64,
        /// When the phone answered.
        answered_ms: f64,
    },
    /// A wish of the moment: one that comes late is not sent.
    Wish {
        /// What is wished for.
        wish: PhoneWish,
        /// When.
        at_ms: f64,
    },
    /// What a phone keeps until it was taken.
    Keep {
        /// Counts what that opening of the page has kept, from 1.
        number: u64,
        /// The opening of the page in which it was kept.
        load: u32,
        /// What it is.
        what: What,
    },
}

/// A change of the cues or of the set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PhoneWish {
    /// 1 spm more.
    Faster,
    /// 1 spm less.
    Slower,
    /// The rate of the taps.
    TakeRate,
    /// The other pairing.
    SameSide,
    /// The other pairing.
    OppositeSide,
    /// Hands are heard no more.
    HandsSilent,
    /// Hands are heard again.
    HandsHeard,
    /// Feet are heard no more.
    FeetSilent,
    /// Feet are heard again.
    FeetHeard,
    /// All is silent, and the clocks stand.
    Silence,
    /// It starts, or goes on.
    GoOn,
    /// On: out of a swim into its rest, out of a rest to the next start.
    Next,
    /// This repeat again.
    Again,
    /// What this phone did last is taken back.
    TakeBack,
}

/// What happened at a moment of the phone's, or what was entered.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case", deny_unknown_fields)]
pub enum What {
    /// A swimmer is in.
    In {
        /// When.
        at_ms: f64,
    },
    /// A split.
    Split {
        /// When.
        at_ms: f64,
    },
    /// A tap at an entry.
    Tap {
        /// When.
        at_ms: f64,
    },
    /// What was seen of a swimmer in a swim: at least one of the three, those that were changed on
    /// this phone. An empty text takes away what was entered.
    Result {
        /// The swim's id.
        swim: u32,
        /// The swimmer, by the order of leaving.
        swimmer: usize,
        /// Strokes, `44` or `22/length`.
        strokes: Option<String>,
        /// `yes`, `part` or `no`.
        kept: Option<String>,
        /// Effort, 0 to 10.
        effort: Option<String>,
    },
}

impl PhoneWish {
    /// What its button is called.
    pub fn called(self) -> &'static str {
        match self {
            Self::Faster => "faster",
            Self::Slower => "slower",
            Self::TakeRate => "set",
            Self::SameSide | Self::OppositeSide => "pairing",
            Self::HandsSilent | Self::HandsHeard => "hands",
            Self::FeetSilent | Self::FeetHeard => "feet",
            Self::Silence => "silence",
            Self::GoOn => "go on",
            Self::Next => "next",
            Self::Again => "again",
            Self::TakeBack => "take back",
        }
    }
}

impl What {
    /// Its moment on the phone's clock.
    pub fn at_ms(&self) -> Option<f64> {
        match self {
            Self::In { at_ms } | Self::Split { at_ms } | Self::Tap { at_ms } => Some(*at_ms),
            Self::Result { .. } => None,
        }
    }
}

impl Message {
    /// Reads a message.
    ///
    /// # Errors
    /// When it is none, or something in it is out of bounds. A page of this program sends none such.
    pub fn read(text: &str) -> Result<Self, String> {
        if text.len() > LONGEST_MESSAGE {
            return Err("it is too long".into());
        }
        let message: Self = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if message.is_within_bounds() {
            Ok(message)
        } else {
            Err("something in it is out of bounds".into())
        }
    }

    fn is_within_bounds(&self) -> bool {
        let is_moment = |at_ms: &f64| (0.0..=LATEST_MS).contains(at_ms);
        let is_short = |text: &String| text.len() <= LONGEST_TEXT;
        match self {
            Self::Hello { phone, .. } => {
                let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
                is_short(phone) && !phone.is_empty() && phone.chars().all(plain)
            }
            Self::Clock {
                asked_ms,
                got_ms,
                answered_ms,
            } => [asked_ms, got_ms, answered_ms].into_iter().all(is_moment),
            Self::Wish { at_ms, .. } => is_moment(at_ms),
            Self::Keep { number, what, .. } => {
                *number > 0
                    && match what {
                        What::Result {
                            strokes,
                            kept,
                            effort,
                            ..
                        } => {
                            let changed = || [strokes, kept, effort].into_iter().flatten();
                            changed().next().is_some() && changed().all(is_short)
                        }
                        moment => moment.at_ms().as_ref().is_none_or(is_moment),
                    }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_page_sends_is_read() {
        let texts = [
            r#"{"is":"hello","phone":"Ab_-9","load":7}"#,
            r#"{"is":"clock","asked_ms":1.5,"got_ms":20,"answered_ms":20.25}"#,
            r#"{"is":"wish","wish":"go_on","at_ms":3.5}"#,
            r#"{"is":"keep","number":1,"load":7,"what":{"is":"in","at_ms":12345.6}}"#,
            r#"{"is":"keep","number":2,"load":7,"what":{"is":"result","swim":0,"swimmer":1,"strokes":"22/length","kept":"yes","effort":""}}"#,
            r#"{"is":"keep","number":3,"load":7,"what":{"is":"result","swim":0,"swimmer":1,"effort":"7"}}"#,
        ];
        let read = texts.map(|text| Message::read(text).expect("the page's own message"));
        let (wish, at_ms) = (PhoneWish::GoOn, 3.5);
        assert_eq!(read[2], Message::Wish { wish, at_ms });
        let what = What::In { at_ms: 12_345.6 };
        assert_eq!(
            read[3],
            Message::Keep {
                number: 1,
                load: 7,
                what
            }
        );
        // What was not changed is not said.
        let Message::Keep { what, .. } = &read[5] else {
            panic!("{:?}", read[5]);
        };
        let (strokes, kept, effort) = (None, None, Some("7".to_string()));
        let (swim, swimmer) = (0, 1);
        let result = What::Result {
            swim,
            swimmer,
            strokes,
            kept,
            effort,
        };
        assert_eq!(*what, result);
    }

    #[test]
    fn what_is_no_message_or_out_of_bounds_is_refused() {
        let long = format!(r#"{{"is":"hello","phone":"{}","load":7}}"#, "a".repeat(33));
        let texts = [
            "",
            "null",
            "[]",
            "{}",
            r#"{"is":"quit"}"#,
            r#"{"is":"wish","wish":"quit","at_ms":1}"#,
            r#"{"is":"wish","wish":"next"}"#,
            r#"{"is":"wish","wish":"next","at_ms":1,"again":true}"#,
            r#"{"is":"hello","phone":"","load":7}"#,
            r#"{"is":"hello","phone":"a b","load":7}"#,
            r#"{"is":"hello","phone":"a","load":-1}"#,
            r#"{"is":"hello","phone":"a"}"#,
            r#"{"is":"clock","asked_ms":1,"got_ms":-20,"answered_ms":20}"#,
            r#"{"is":"keep","number":0,"load":7,"what":{"is":"tap","at_ms":1}}"#,
            r#"{"is":"keep","number":1,"load":7,"what":{"is":"tap","at_ms":1e308}}"#,
            r#"{"is":"keep","number":1,"load":7,"what":{"is":"tap","at_ms":1e999}}"#,
            r#"{"is":"keep","number":1,"load":7,"what":{"is":"tap","at_ms":"1"}}"#,
            r#"{"is":"keep","number":1,"load":7,"what":{"is":"result","swim":0,"swimmer":1}}"#,
            &long,
            &" ".repeat(5000),
            &"[".repeat(4000),
        ];
        for text in texts {
            assert!(Message::read(text).is_err(), "{text}");
        }
    }
}
