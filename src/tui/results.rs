//! The results of a swim, entered with digits, arrows and Enter: no terminal is known here.

use std::collections::BTreeMap;

use ratatui::crossterm::event::KeyCode;

use super::paged::tied;
use crate::live::Swim;
use crate::model::log::{Kept, Strokes};
use crate::units::{Fix, Quantity, Time, decimal, exact, to_f64};

/// What a coach has entered for a swimmer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Entered {
    /// The time, where it was corrected or nobody had taken one.
    pub time: Option<Time>,
    /// Strokes, both arms.
    pub strokes: Option<Strokes>,
    /// Whether the kick followed.
    pub kept: Option<Kept>,
    /// Effort, 0 to 10.
    pub effort: Option<Fix>,
    /// One of [`NOTES`].
    pub note: &'static str,
}

/// Notes that can be chosen: a wet finger types no words.
pub const NOTES: [&str; 6] = [
    "",
    "lost the kick",
    "kick came back late",
    "tired",
    "pain",
    "in another's wake",
];

/// What is entered for each swimmer, from left to right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Field {
    Name,
    Time,
    Strokes,
    Kept,
    Effort,
    Note,
}

const FIELDS: [Field; 6] = [
    Field::Name,
    Field::Time,
    Field::Strokes,
    Field::Kept,
    Field::Effort,
    Field::Note,
];

/// One arrival, as it stands on the screen.
#[derive(Debug, Clone, Default)]
struct Line {
    time: String,
    taken: String,
    strokes: String,
    per_length: bool,
    kept: Option<Kept>,
    effort: String,
    note: usize,
}

/// What a key has done.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// It stays open.
    Open,
    /// It was left; nothing is kept.
    Left,
    /// It is saved: who came in when, and what was entered for each swimmer in that order.
    Saved(Vec<usize>, Vec<Entered>),
    /// Something does not hold; it stays open.
    Refused(String),
}

/// The results of one swim, being entered.
#[derive(Debug, Clone)]
pub struct Results {
    /// The swim's id.
    pub swim: u32,
    order: Vec<usize>,
    lines: Vec<Line>,
    /// What was entered elsewhere for each swimmer, as far as it was taken up.
    entered: BTreeMap<usize, Entered>,
    at: (usize, usize),
    /// Whether the field has been typed into since it was come to.
    typed: bool,
}

impl Results {
    /// Of a swim, with what was entered before for a swimmer.
    pub fn new(swim: &Swim, entered: impl Fn(usize) -> Entered) -> Self {
        let line = |who: &usize| {
            let before = entered(*who);
            let taken = swim.time_s(*who).map(|time| format!("{time:.2}"));
            let taken = taken.unwrap_or_default();
            let mut line = Line::of(&before);
            if line.time.is_empty() {
                line.time.clone_from(&taken);
            }
            Line { taken, ..line }
        };
        Self {
            swim: swim.id,
            lines: swim.order.iter().map(line).collect(),
            order: swim.order.clone(),
            entered: swim.order.iter().map(|who| (*who, entered(*who))).collect(),
            // One swimmer's name is no question.
            at: (
                0,
                if swim.time_s(swim.order[0]).is_some() {
                    2
                } else {
                    1
                },
            ),
            typed: false,
        }
    }

    /// Takes up what was timed and entered meanwhile, where nobody has changed it here.
    pub fn refresh(&mut self, swim: &Swim, entered: impl Fn(usize) -> Entered) {
        // A time is of an arrival, whoever is said to have come then.
        for (line, who) in self.lines.iter_mut().zip(&swim.order) {
            let taken = swim.time_s(*who).map(|time| format!("{time:.2}"));
            let taken = taken.unwrap_or_default();
            if line.time == line.taken {
                line.time = taken.clone();
            }
            line.taken = taken;
        }
        for (line, who) in self.lines.iter_mut().zip(&self.order) {
            let new = entered(*who);
            let old = self.entered.insert(*who, new.clone()).unwrap_or_default();
            line.take_up(Line::of(&old), Line::of(&new));
        }
    }

    /// Takes one key.
    pub fn key(&mut self, code: KeyCode) -> Answer {
        match code {
            KeyCode::Esc => return Answer::Left,
            KeyCode::Enter => return self.save(),
            KeyCode::Down | KeyCode::Tab => self.go(1),
            KeyCode::Up | KeyCode::BackTab => self.go(-1),
            KeyCode::Left => self.choose(-1),
            KeyCode::Right => self.choose(1),
            KeyCode::Backspace => self.edit(|text| {
                text.pop();
            }),
            KeyCode::Char(c) if c.is_ascii_digit() || matches!(c, '.' | ':') => {
                let fresh = !self.typed;
                self.edit(|text| {
                    if fresh {
                        text.clear();
                    }
                    if text.len() < 8 {
                        text.push(c);
                    }
                });
            }
            _ => {}
        }
        Answer::Open
    }

    fn field(&self) -> Field {
        FIELDS[self.at.1]
    }

    /// To the next field or the one before, from line to line.
    fn go(&mut self, by: isize) {
        let first = usize::from(self.lines.len() == 1);
        let width = FIELDS.len() - first;
        let all = (width * self.lines.len()) as isize;
        let at = (self.at.0 * width + self.at.1 - first) as isize;
        let at = (at + by).rem_euclid(all) as usize;
        self.at = (at / width, at % width + first);
        self.typed = false;
    }

    fn edit(&mut self, change: impl FnOnce(&mut String)) {
        let field = self.field();
        let line = &mut self.lines[self.at.0];
        match field {
            Field::Time => change(&mut line.time),
            Field::Strokes => change(&mut line.strokes),
            Field::Effort => change(&mut line.effort),
            Field::Name | Field::Kept | Field::Note => return,
        }
        self.typed = true;
    }

    fn choose(&mut self, by: isize) {
        let field = self.field();
        let at = self.at.0;
        let turn = |from: usize, of: usize| (from as isize + by).rem_euclid(of as isize) as usize;
        if field == Field::Name {
            let other = turn(at, self.order.len());
            self.order.swap(at, other);
            return;
        }
        let line = &mut self.lines[at];
        match field {
            Field::Strokes => line.per_length = !line.per_length,
            Field::Kept => {
                let all = [None, Some(Kept::Yes), Some(Kept::Part), Some(Kept::No)];
                let now = all.iter().position(|kept| *kept == line.kept).unwrap_or(0);
                line.kept = all[turn(now, all.len())];
            }
            Field::Effort => {
                let now = line.effort.parse::<i64>().unwrap_or(5);
                line.effort = (now + by as i64).clamp(0, 10).to_string();
            }
            Field::Note => line.note = turn(line.note, NOTES.len()),
            Field::Name | Field::Time => {}
        }
    }

    fn save(&self) -> Answer {
        let entered = self
            .lines
            .iter()
            .map(Line::read)
            .collect::<Result<Vec<_>, _>>();
        match entered {
            Ok(entered) => Answer::Saved(self.order.clone(), entered),
            Err(why) => Answer::Refused(why),
        }
    }

    /// A line for each swimmer, the present field in brackets.
    pub fn lines(&self, name: impl Fn(usize) -> String) -> Vec<String> {
        let words = |(at, (line, who)): (usize, (&Line, &usize))| {
            let field = |field: Field, text: &str| {
                let text = if text.is_empty() { "-" } else { text };
                if (at, field) == (self.at.0, self.field()) {
                    format!("[{text}]")
                } else {
                    text.to_string()
                }
            };
            let kept = line.kept.map_or("", Kept::word);
            let fields = [
                field(Field::Name, &name(*who)),
                format!("time {}", field(Field::Time, &line.time)),
                format!("strokes {}", field(Field::Strokes, &line.counted())),
                format!("kept {}", field(Field::Kept, kept)),
                format!("effort {}", field(Field::Effort, &line.effort)),
                format!("note {}", field(Field::Note, NOTES[line.note])),
            ];
            fields.map(|field| tied(&field)).join("   ")
        };
        self.lines
            .iter()
            .zip(&self.order)
            .enumerate()
            .map(words)
            .collect()
    }
}

impl Line {
    /// What was entered, without the time that was taken.
    fn of(entered: &Entered) -> Self {
        let (strokes, per_length) = match &entered.strokes {
            Some(Strokes::PerLength(count)) => (Strokes::Whole(*count).to_string(), true),
            Some(whole) => (whole.to_string(), false),
            None => Default::default(),
        };
        let time = entered.time.as_ref();
        Self {
            time: time.map_or_else(String::new, |time| format!("{:.2}", to_f64(time.s()))),
            taken: String::new(),
            strokes,
            per_length,
            kept: entered.kept,
            effort: entered
                .effort
                .map_or_else(String::new, |effort| effort.to_string()),
            note: (NOTES.iter())
                .position(|note| *note == entered.note)
                .unwrap_or(0),
        }
    }

    /// Takes what has changed elsewhere from an old line to a new one; what differs from the old one
    /// already was changed here, and stays.
    fn take_up(&mut self, old: Self, new: Self) {
        if old.counted() != new.counted() && self.counted() == old.counted() {
            (self.strokes, self.per_length) = (new.strokes, new.per_length);
        }
        if self.kept == old.kept {
            self.kept = new.kept;
        }
        if self.effort == old.effort {
            self.effort = new.effort;
        }
    }

    /// The strokes as they are read.
    fn counted(&self) -> String {
        let per_length = self.per_length && !self.strokes.is_empty();
        let per = if per_length { "/length" } else { "" };
        format!("{}{per}", self.strokes)
    }

    fn read(&self) -> Result<Entered, String> {
        let given = |text: &str| (!text.is_empty()).then(|| text.to_string());
        let time = given(&self.time).filter(|time| *time != self.taken);
        let time = time.map(|text| {
            let text = if text.contains(':') {
                text
            } else {
                format!("{text} s")
            };
            Time::parse(&text)
                .ok()
                .filter(|time| *time.s() > exact(0))
                .ok_or(text)
        });
        Ok(Entered {
            time: (time.transpose()).map_err(|text| format!("{text} is no time such as 49.3"))?,
            strokes: read_strokes(&self.counted())?,
            kept: self.kept,
            effort: read_effort(&self.effort)?,
            note: NOTES[self.note],
        })
    }
}

/// Strokes as they are typed; nothing is none.
pub(super) fn read_strokes(text: &str) -> Result<Option<Strokes>, String> {
    let given = (!text.is_empty()).then_some(text);
    given.map(Strokes::parse).transpose()
}

/// Whether the kick followed, in its word; nothing is none.
pub(super) fn read_kept(text: &str) -> Result<Option<Kept>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let kept = Kept::SEEN.into_iter().find(|kept| kept.word() == text);
    let other = || format!("kept {text} is none of yes, part and no");
    kept.map(Some).ok_or_else(other)
}

/// Effort as it is typed; nothing is none.
pub(super) fn read_effort(text: &str) -> Result<Option<Fix>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let value = decimal(text)?;
    let holds = value >= exact(0) && value <= exact(10);
    let outside = || format!("effort {text} is outside 0 to 10");
    holds.then_some(Some(value)).ok_or_else(outside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::CuedLast;
    use crate::model::kick::{Kick, Pairing};

    fn swim(came: &[f64]) -> Swim {
        Swim {
            id: 3,
            repeat: 0,
            set: 0,
            number: 1,
            again: false,
            stopped_with: None,
            paused: false,
            cued: CuedLast {
                spm: 54.0,
                pairing: Pairing::SameSide,
                kick: Kick::TwoBeat,
            },
            went: vec![Some(10.0), Some(15.0)],
            came: came.to_vec(),
            order: vec![0, 1],
            splits: Vec::new(),
        }
    }

    fn press(results: &mut Results, keys: &str) -> Answer {
        let mut answer = Answer::Open;
        for key in keys.chars() {
            answer = results.key(match key {
                '^' => KeyCode::Up,
                'v' => KeyCode::Down,
                '<' => KeyCode::Left,
                '>' => KeyCode::Right,
                '!' => KeyCode::Enter,
                'e' => KeyCode::Esc,
                other => KeyCode::Char(other),
            });
        }
        answer
    }

    #[test]
    fn digits_arrows_and_enter_say_everything() {
        let mut results = Results::new(&swim(&[59.26, 66.0]), |_| Entered::default());
        // Strokes first, since the times are there: 44; kept: yes; effort 7; the first note.
        let answer = press(&mut results, "44v>v7v>!");
        let Answer::Saved(order, entered) = answer else {
            panic!("{answer:?}");
        };
        assert_eq!(order, [0, 1]);
        assert_eq!(entered[0].time, None, "the time that was taken stands");
        assert_eq!(
            entered[0].strokes.as_ref().map(Strokes::to_string),
            Some("44".into())
        );
        assert_eq!(
            (entered[0].kept, entered[0].effort),
            (Some(Kept::Yes), Some(exact(7)))
        );
        assert_eq!(entered[0].note, NOTES[1]);
        assert_eq!(entered[1], Entered::default());
    }

    #[test]
    fn a_time_is_corrected_a_count_is_of_each_length_and_names_change_places() {
        let mut results = Results::new(&swim(&[59.26, 66.0]), |_| Entered::default());
        let answer = press(&mut results, "22>^48.7^>!");
        let Answer::Saved(order, entered) = answer else {
            panic!("{answer:?}");
        };
        assert_eq!(order, [1, 0], "the second to leave came in first");
        assert_eq!(
            entered[0].strokes.as_ref().map(Strokes::to_string),
            Some("22/length".into())
        );
        assert_eq!(
            entered[0].time,
            Some(Time::parse("48.7 s").expect("a time"))
        );
    }

    #[test]
    fn what_does_not_hold_is_said_and_escape_leaves() {
        let mut results = Results::new(&swim(&[59.26]), |_| Entered::default());
        let answer = press(&mut results, "44vv12!");
        assert_eq!(
            answer,
            Answer::Refused("effort 12 is outside 0 to 10".into())
        );
        assert_eq!(press(&mut results, "e"), Answer::Left);
    }

    #[test]
    fn a_time_taken_meanwhile_stands_where_nobody_has_typed() {
        let mut results = Results::new(&swim(&[59.26]), |_| Entered::default());
        results.refresh(&swim(&[59.26, 70.0]), |_| Entered::default());
        let shown = results.lines(|who| format!("Swimmer {who}"));
        assert!(
            shown[1].contains(&[tied("Swimmer 1"), tied("time 55.00")].join("   ")),
            "{shown:?}"
        );
        assert!(shown[0].contains(&tied("strokes [-]")), "{shown:?}");
    }

    #[test]
    fn what_came_meanwhile_is_taken_up_where_nothing_was_changed() {
        let mut results = Results::new(&swim(&[59.26]), |_| Entered::default());
        // The second is named as the one who is in; of the first line the effort is changed.
        press(&mut results, "^^>vvvv7");
        let came = |who| Entered {
            strokes: Strokes::parse(if who == 1 { "44" } else { "22/length" }).ok(),
            effort: Some(exact(3)),
            ..Entered::default()
        };
        results.refresh(&swim(&[59.26, 66.0]), came);
        let lines = results.lines(|who| ["Alex", "Bo"][who].into());
        let times = ["time 49.26", "time 51.00"];
        let told = ["strokes 44", "strokes 22/length"];
        let efforts = ["effort [7]", "effort 3"];
        for (at, line) in lines.iter().enumerate() {
            let line = line.replace('\u{a0}', " ");
            for part in [times[at], told[at], efforts[at]] {
                assert!(line.contains(part), "{line}");
            }
        }
    }
}
