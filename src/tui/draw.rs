//! One frame on the terminal: from plain data to cells. No colour is needed to read it.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::text::Line;
use ratatui::widgets::{Paragraph, Wrap};

use super::digits::{ROWS, large};
use super::face::{Face, spm_in_words};
use super::help::HELP;
use super::wheel::lines;
use crate::model::visible::visible;

/// The smallest screen that shows everything.
const SMALLEST: (u16, u16) = (80, 24);
/// Wider than this, lines are no longer easy to follow.
const WIDEST: u16 = 110;

/// Draws one frame.
pub fn draw(frame: &mut Frame, face: &Face) {
    let area = frame.area();
    if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        return too_small(frame, area, face);
    }
    if face.help {
        return help(frame, area);
    }
    let mut page = Page {
        frame,
        left: 1,
        width: area.width.min(WIDEST) - 2,
        row: 0,
    };
    page.title(face);
    page.rate(face);
    page.row += 1;
    for line in lines(&face.wheel, face.point, usize::from(page.width)) {
        page.line(&line, Style::new());
    }
    page.row += 1;
    for line in face.results.as_ref().unwrap_or(&face.session) {
        page.line(line, Style::new().add_modifier(Modifier::BOLD));
    }
    // The last lines keep their places, whatever stands above.
    page.row = area.height - 5;
    page.line(&face.settings, Style::new());
    page.line(&face.aside, Style::new());
    let loud = Style::new().add_modifier(Modifier::BOLD | Modifier::REVERSED);
    page.line(&face.sound, if face.alarm { loud } else { Style::new() });
    let message = face.message.as_deref().unwrap_or_default();
    page.line(message, Style::new().add_modifier(Modifier::BOLD));
    page.line(&face.keys, Style::new().add_modifier(Modifier::REVERSED));
}

/// Lines from the top down.
struct Page<'f, 'b> {
    frame: &'f mut Frame<'b>,
    left: u16,
    width: u16,
    row: u16,
}

impl Page<'_, '_> {
    fn at(&mut self, left: u16, row: u16, text: &str, style: Style) {
        let width = (self.left + self.width).saturating_sub(left);
        self.within(left, row, width, text, style);
    }

    /// A text in so many columns.
    fn within(&mut self, left: u16, row: u16, width: u16, text: &str, style: Style) {
        let area = Rect::new(left, row, width, 1).intersection(self.frame.area());
        let text = visible(text);
        let line = Line::styled(&*text, style);
        // What does not fit says that there is more.
        let line = if line.width() > usize::from(width) {
            let mut cut = text.to_string();
            while Line::raw(cut.as_str()).width() >= usize::from(width) && cut.pop().is_some() {}
            Line::styled(format!("{}…", cut.trim_end()), style)
        } else {
            line
        };
        self.frame.render_widget(line, area);
    }

    fn line(&mut self, text: &str, style: Style) {
        self.at(self.left, self.row, text, style);
        self.row += 1;
    }

    fn title(&mut self, face: &Face) {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        let whose = face
            .swimmer
            .iter()
            .map(|name| format!("   {name}"))
            .collect::<String>();
        let doing = format!(" {} ", face.doing);
        let room = doing.chars().count() as u16;
        let title = format!("{}{whose}", face.title);
        self.within(self.left, 0, self.width - room - 1, &title, bold);
        let loud = Style::new().add_modifier(Modifier::BOLD | Modifier::REVERSED);
        self.at(self.left + self.width - room, 0, &doing, loud);
        self.row = 2;
    }

    /// Large digits on the left, what the feet do beside them.
    fn rate(&mut self, face: &Face) {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        let shown = face.typed.clone().unwrap_or_else(|| spm_in_words(face.spm));
        for (row, text) in large(&shown).iter().enumerate() {
            self.at(self.left, self.row + row as u16, text, Style::new());
        }
        let beside = self.left + 36;
        let unit = match (&face.typed, face.going_to_spm) {
            (Some(_), _) => "spm? Enter sets it, Esc does not".to_string(),
            (None, Some(goal)) => format!("spm, going to {}", spm_in_words(goal)),
            (None, None) => format!("spm, both arms ({:.1} cycles/min)", face.spm / 2.0),
        };
        self.at(beside, self.row, &unit, bold);
        for (at, foot) in face.feet.iter().enumerate() {
            self.at(beside, self.row + 2 + at as u16, foot, bold);
        }
        self.at(beside, self.row + 4, &face.kick, Style::new());
        let waiting = face.waiting.as_deref().unwrap_or_default();
        self.at(beside, self.row + 5, waiting, bold);
        self.row += ROWS as u16;
    }
}

fn too_small(frame: &mut Frame, area: Rect, face: &Face) {
    let text = format!(
        "{} spm  {}\nThis window is {} x {}; the screen needs 80 x 24. The sound goes on, and so do the keys.\n{}",
        spm_in_words(face.spm),
        face.doing,
        area.width,
        area.height,
        if face.alarm { &face.sound } else { "" },
    );
    frame.render_widget(
        Paragraph::new(visible(&text)).wrap(Wrap { trim: true }),
        area,
    );
}

fn help(frame: &mut Frame, area: Rect) {
    let area = Rect::new(1, 0, area.width.min(WIDEST) - 2, area.height);
    frame.render_widget(Paragraph::new(HELP).wrap(Wrap { trim: false }), area);
}

#[cfg(test)]
mod tests;
