//! What the screen says, as lines for whoever reads none.

use super::App;
use crate::tui::help::HELP;

/// What keys change: what it is, and how it is.
type ReadOut = [(&'static str, String); 5];

impl App {
    /// What happened since the last call, a line for each.
    pub fn take_lines(&mut self) -> Vec<String> {
        std::mem::take(&mut self.lines)
    }

    /// A line for whoever reads no screen.
    pub(super) fn tell(&mut self, kind: &str, what: &str) {
        let s = self.state.position / u64::from(self.rate_hz);
        let what: Vec<&str> = what.split_whitespace().collect();
        let what = what.join(" ");
        self.lines
            .push(format!("{}:{:02} {kind}: {what}", s / 60, s % 60));
    }

    /// A line for what comes next, and one for the coach's words where the set is another.
    pub(super) fn tell_next(&mut self, is_other_set: bool) {
        let (heading, clock) = (self.programme.heading(&self.state), self.clock_in_words());
        self.tell("next", &format!("{heading}   {clock}"));
        if let Some(say) = self.programme.say(&self.state).filter(|_| is_other_set) {
            self.tell("words", &say);
        }
    }

    /// What keys change, as lines tell it: what it is, and how it is now.
    pub(super) fn read_out(&self) -> ReadOut {
        let rate = self.rate_in_words(self.spm(), false);
        let [left, right] = self.feet_in_words();
        let kick = self.state.view.wish.kick.in_words();
        let settings = match self.settings_in_words() {
            usual if usual.is_empty() => "as usual".into(),
            settings => settings,
        };
        let entered = self.results_in_words().unwrap_or_default().into_iter();
        [
            ("clock", self.doing().into()),
            (
                "rate",
                format!("{} spm, {} cycles/min", rate.said, rate.cycles),
            ),
            ("cues", format!("{left}, {right}; {kick}")),
            ("settings", settings),
            (
                "results",
                entered.filter(|line| line.contains('[')).collect(),
            ),
        ]
    }

    /// A line for each thing that a key has changed.
    pub(super) fn tell_changes(&mut self, before: ReadOut) {
        for ((kind, before), (_, now)) in before.into_iter().zip(self.read_out()) {
            if now != before && !now.is_empty() {
                self.tell(kind, &now);
            }
        }
    }

    /// The help, a line for each of its lines.
    pub(super) fn tell_help(&mut self) {
        for line in HELP.lines().filter(|line| !line.is_empty()) {
            self.tell("help", line);
        }
    }
}
