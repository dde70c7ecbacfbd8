//! One frame on the terminal: from plain data to cells. No colour is needed to read it.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier, Style};
use ratatui::text::Line;

use super::away::WayIn;
use super::digits::large;
use super::face::{Face, spm_in_words};
use super::help::HELP;
use super::paged::{pages, wrapped};
use super::places::{Places, share};
use super::wheel::lines;

const PLAIN: Style = Style::new();
const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);
const REVERSED: Style = Style::new().add_modifier(Modifier::REVERSED);
const WHITE: Style = Style::new().fg(Color::White).bg(Color::Black);
const LOUD: Style = REVERSED.add_modifier(Modifier::BOLD);

/// Draws one frame.
pub fn draw(frame: &mut Frame, face: &Face) {
    let area = frame.area();
    let mut page = Page {
        frame,
        turn: face.turn,
    };
    if let Some(way_in) = &face.way_in {
        return page.way_in(area, way_in);
    }
    match Places::of(area) {
        None => page.one_text(area, face),
        Some(places) if face.help => page.help(&places, area, face),
        Some(places) => {
            page.what_sounds(&places, face);
            page.what_the_set_is(&places, face);
            page.what_happened(places.happened, face);
            match face.asked {
                Some(asked) => page.text(places.keys, &[asked], LOUD),
                None => page.text(places.keys, &[&face.keys], REVERSED),
            }
        }
    }
}

/// Texts in their places: each is wrapped, and turned where it is longer than its place.
struct Page<'f, 'b> {
    frame: &'f mut Frame<'b>,
    turn: usize,
}

impl Page<'_, '_> {
    fn text(&mut self, place: Rect, paragraphs: &[&str], style: Style) {
        let pages = pages(paragraphs, place.width.into(), place.height.into());
        if let Some(count) = std::num::NonZeroUsize::new(pages.len()) {
            self.rows(place, &pages[self.turn % count], style);
        }
    }

    fn rows<S: AsRef<str>>(&mut self, place: Rect, rows: &[S], style: Style) {
        for (row, text) in place.rows().zip(rows) {
            self.frame
                .render_widget(Line::styled(text.as_ref(), style), row);
        }
    }

    fn what_sounds(&mut self, places: &Places, face: &Face) {
        let swimmer = face.swimmer.as_deref().unwrap_or_default();
        let title = format!("{}   {swimmer}", face.title);
        self.text(places.title, &[&title], BOLD);
        self.text(places.doing, &[&format!(" {} ", face.doing)], LOUD);
        self.rate(places, face);
        self.text(places.clock, &[&face.clock], BOLD);
        if !places.wheel.is_empty() {
            let wheel = lines(&face.wheel, face.point, places.wheel.width.into());
            self.rows(places.wheel, &wheel, PLAIN);
        }
        let settings = [&*face.settings, &*face.aside];
        let sound = if face.alarm { LOUD } else { PLAIN };
        self.text(places.settings, &settings, PLAIN);
        self.text(places.sound, &[&face.sound], sound);
        let waiting = face.waiting.as_deref().unwrap_or_default();
        let mut feet = vec![&*face.feet[0], &*face.feet[1], &*face.kick, waiting];
        if places.sound.is_empty() {
            feet.extend(settings);
            feet.extend(face.alarm.then_some(&*face.sound));
        }
        self.text(places.feet, &feet, BOLD);
    }

    /// Large digits, where they have room, and the unit beside them.
    fn rate(&mut self, places: &Places, face: &Face) {
        let shown = face.typed.as_ref().unwrap_or(&face.rate.said);
        let digits = large(shown);
        let fits = |row: &String| row.chars().count() <= places.rate.width.into();
        if digits.iter().all(fits) {
            self.rows(places.rate, &digits, PLAIN);
        } else {
            self.text(places.rate, &[shown], BOLD);
        }
        self.text(places.unit, &[&unit(face)], BOLD);
    }

    fn what_the_set_is(&mut self, places: &Places, face: &Face) {
        if let Some(results) = &face.results {
            return self.page_of_field(places.set_and_results(), results);
        }
        let mut last: Vec<&str> = face.last.iter().map(String::as_str).collect();
        if !places.results.is_empty() {
            if !last.is_empty() {
                last.insert(0, "Last results");
            }
            self.text(places.results, &last, PLAIN);
            last.clear();
        }
        let heading = [&*face.heading];
        let say: Vec<&str> = face.say.iter().map(String::as_str).collect();
        let ahead: Vec<&str> = face.ahead.iter().map(String::as_str).collect();
        let texts = [
            (&heading[..], BOLD),
            (&say, BOLD),
            (&ahead, PLAIN),
            (&last, PLAIN),
        ];
        self.under_one_another(places.set, &texts);
    }

    /// Texts under one another, as far as there is room, with room between them where it is left;
    /// in too little room one after another.
    fn under_one_another(&mut self, place: Rect, texts: &[(&[&str], Style)]) {
        let texts: Vec<_> = texts.iter().filter(|(text, _)| !text.is_empty()).collect();
        let most = |text: &[&str]| {
            let rows = text
                .iter()
                .map(|one| wrapped(one, place.width.into()).len());
            rows.sum::<usize>() as u16
        };
        if usize::from(place.height) < texts.len() {
            let all: Vec<&str> = texts.iter().map(|(text, _)| text[0]).collect();
            return self.text(place, &all, BOLD);
        }
        let wants: Vec<(u16, u16)> = texts.iter().map(|(text, _)| (1, most(text))).collect();
        let rows = share(place.height, &wants);
        let gaps = place.height - rows.iter().sum::<u16>();
        let gap = u16::from(usize::from(gaps) + 1 >= texts.len());
        let mut row = place.y;
        for ((text, style), rows) in texts.into_iter().zip(rows) {
            // The nearest and the newest come first: what has no row of its own is left out.
            let shown = &text[..text.len().min(rows.into())];
            let own = Rect::new(place.x, row, place.width, rows);
            self.text(own, shown, *style);
            row += rows + gap;
        }
    }

    /// The page on which the field stands that keys go to.
    fn page_of_field(&mut self, place: Rect, results: &[String]) {
        let results: Vec<&str> = results.iter().map(String::as_str).collect();
        let pages = pages(&results, place.width.into(), place.height.into());
        let has_field = |page: &&Vec<String>| page.iter().any(|line| line.contains('['));
        if let Some(page) = pages.iter().find(has_field).or(pages.first()) {
            self.rows(place, page, BOLD);
        }
    }

    /// A text that is gone soon: its pages share its time.
    fn what_happened(&mut self, place: Rect, face: &Face) {
        let Some((text, passed)) = &face.happened else {
            return;
        };
        let pages = pages(&[text], place.width.into(), place.height.into());
        let at = (passed * pages.len() as f64) as usize;
        if let Some(page) = pages.get(at) {
            self.rows(place, page, BOLD);
        }
    }

    fn help(&mut self, places: &Places, area: Rect, face: &Face) {
        let mut place = places.keys.union(places.title);
        place.height = area.height;
        if face.happened.is_some() {
            place.height -= 2;
            self.what_happened(places.happened, face);
        }
        let help: Vec<&str> = HELP
            .lines()
            .map(|line| if line.is_empty() { " " } else { line })
            .collect();
        self.text(place, &help, PLAIN);
    }

    /// The address on one line, and under it the code, dark on light whatever the terminal's own
    /// colours are; where it has no room, that is said in its place.
    fn way_in(&mut self, area: Rect, way_in: &WayIn) {
        let (width, height) = (
            way_in.code.len() as u16,
            way_in.code.len().div_ceil(2) as u16,
        );
        if area.width < width || area.height <= height {
            let larger = format!("A window of {} x {} shows the code.", width, height + 1);
            return self.text(area, &[&way_in.address, &larger, "Any key: back."], BOLD);
        }
        let line = |row, height| Rect {
            y: area.y + row,
            height,
            ..area
        };
        self.text(line(0, 1), &[&way_in.address], BOLD);
        for (row, pair) in way_in.code.chunks(2).enumerate() {
            let lower = |at: usize| pair.get(1).is_some_and(|lower| lower[at]);
            let modules = pair[0].iter().enumerate();
            let modules: String = modules
                .map(|(at, upper)| light(*upper, lower(at)))
                .collect();
            let row = line(1 + row as u16, 1);
            self.frame.render_widget(Line::styled(modules, WHITE), row);
        }
        let left = area.height - height - 1;
        if left > 0 {
            let words = "On the phone: the camera, this code. Whoever has it can change the sound. \
                         Any key: back.";
            self.text(line(height + 1, left), &[words], PLAIN);
        }
    }

    /// All that a small screen has room for: what just happened at its foot, and the rate, the time
    /// to the next start or end, and the state, one page after another where it is very small.
    fn one_text(&mut self, area: Rect, face: &Face) {
        let mut place = area;
        if let Some((text, _)) = &face.happened {
            let rows = wrapped(text, area.width.into()).len() as u16;
            let foot = Rect {
                height: rows.min((area.height / 2).max(1)),
                ..area
            };
            place.height -= foot.height;
            let foot = Rect {
                y: area.y + place.height,
                ..foot
            };
            self.what_happened(foot, face);
        }
        if let Some(asked) = face.asked {
            return self.text(place, &[asked], BOLD);
        }
        if let Some(results) = &face.results {
            return self.page_of_field(place, results);
        }
        let shown = face.typed.as_ref().unwrap_or(&face.rate.said);
        let state = format!("{shown} spm   {}   {}", face.clock, face.doing);
        self.text(place, &[&state], BOLD);
    }
}

/// The light ones of two modules under one another: ink in white on black, so that without colours
/// too a code is one, on a dark screen at least.
fn light(upper_is_dark: bool, lower_is_dark: bool) -> char {
    match (upper_is_dark, lower_is_dark) {
        (false, false) => '█',
        (false, true) => '▀',
        (true, false) => '▄',
        (true, true) => ' ',
    }
}

/// What the large digits are, and what else is to be known of the rate.
fn unit(face: &Face) -> String {
    if face.typed.is_some() {
        return "spm? Enter sets it, Esc does not".into();
    }
    match face.going_to_spm {
        Some(goal) => format!("spm, going to {}", spm_in_words(goal)),
        None => format!("spm, {} cycles/min", face.rate.cycles),
    }
}

#[cfg(test)]
pub(super) mod tests;
