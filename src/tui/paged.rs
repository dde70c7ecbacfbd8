//! Text that may be longer than its room: whole words, a page at a time.

use textwrap::{Options, WordSplitter, wrap};

use crate::model::visible::visible;

/// How long a page stands, s.
pub const PAGE_S: f64 = 5.0;

/// Narrower rooms have no columns left for the mark of what goes on.
const NARROW: usize = 14;

/// What keeps two words on one line.
const TIE: &str = "\u{a0}";

/// A text that stays on one line where it can.
pub fn tied(text: &str) -> String {
    text.replace(' ', TIE)
}

/// The lines of a text in so many columns, at least one. Only a word that is wider than the room
/// goes on in the next line.
pub fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let text = visible(text).replace('\t', " ");
    let options = Options::new(columns).word_splitter(WordSplitter::NoHyphenation);
    let lines = wrap(&text, options).into_iter();
    lines
        .map(|line| line.trim_end().replace(TIE, " "))
        .collect()
}

/// The pages of paragraphs in a room of so many columns and rows, none where there is no room or no
/// text. A paragraph stays on one page where it can; where it goes on, its page ends in `…`.
pub fn pages(paragraphs: &[&str], columns: usize, rows: usize) -> Vec<Vec<String>> {
    let mut pages: Vec<Vec<String>> = Vec::new();
    if columns == 0 || rows == 0 {
        return pages;
    }
    for paragraph in paragraphs.iter().filter(|text| !text.is_empty()) {
        let lines = wrapped(paragraph, columns);
        if lines.len() > rows {
            pages.extend(in_parts(paragraph, columns, rows));
            continue;
        }
        match pages.last_mut() {
            Some(page) if page.len() + lines.len() <= rows => page.extend(lines),
            _ => pages.push(lines),
        }
    }
    pages
}

/// A paragraph that is longer than a page.
fn in_parts(paragraph: &str, columns: usize, rows: usize) -> Vec<Vec<String>> {
    let mark = if columns < NARROW { "" } else { " …" };
    let lines = wrapped(paragraph, columns - mark.chars().count());
    let mut parts: Vec<Vec<String>> = lines.chunks(rows).map(<[String]>::to_vec).collect();
    let going_on = parts.len() - 1;
    for line in parts[..going_on]
        .iter_mut()
        .filter_map(|part| part.last_mut())
    {
        line.push_str(mark);
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn words(pages: &[Vec<String>]) -> Vec<&str> {
        let lines = pages.iter().flatten();
        let words = lines.flat_map(|line| line.split_whitespace());
        words.filter(|word| *word != "…").collect()
    }

    #[test]
    fn a_long_text_goes_on_over_the_page() {
        let text = "Easy. Finish the kick as the hand takes hold.";
        let due = [
            vec!["Easy. Finish the", "kick as the hand …"],
            vec!["takes hold."],
        ];
        assert_eq!(pages(&[text], 18, 2), due);
    }

    #[test]
    fn a_paragraph_that_fits_a_page_stays_whole() {
        let due = [
            vec!["left foot with", "left catch"],
            vec!["right foot with", "right catch"],
        ];
        let feet = ["left foot with left catch", "right foot with right catch"];
        assert_eq!(pages(&feet, 16, 3), due);
        assert!(pages(&feet, 0, 3).is_empty() && pages(&feet, 3, 0).is_empty());
    }

    #[test]
    fn what_is_tied_stays_on_one_line() {
        let text = format!("{}  {}", tied("p pairing"), tied("k kick"));
        assert_eq!(pages(&[&text], 11, 2), [["p pairing", "k kick"]]);
    }

    proptest! {
        #[test]
        fn every_word_is_on_some_page_and_no_page_is_larger_than_its_room(
            paragraphs in prop::collection::vec("([a-zé日.]{1,12} ?){0,20}", 0..5),
            columns in 1usize..60,
            rows in 1usize..8,
        ) {
            let paragraphs: Vec<&str> = paragraphs.iter().map(String::as_str).collect();
            let pages = pages(&paragraphs, columns, rows);
            for page in &pages {
                prop_assert!((1..=rows).contains(&page.len()));
                for line in page {
                    let width = textwrap::core::display_width(line);
                    // One letter may be two columns wide.
                    prop_assert!(width <= columns.max(2), "{} in {}: {:?}", width, columns, line);
                }
            }
            let told: Vec<&str> = paragraphs.iter().flat_map(|text| text.split_whitespace()).collect();
            let widest = told.iter().map(|word| textwrap::core::display_width(word)).max();
            if widest.unwrap_or(0) + 2 <= columns {
                prop_assert_eq!(words(&pages), told);
            } else {
                prop_assert_eq!(words(&pages).concat(), told.concat());
            }
        }
    }
}
