//! How wide a text is, so that it can be broken or cut before it meets another or leaves the page.
//!
//! A picture cannot ask the fonts of the machine that will show it. Widths here are those of DejaVu
//! Sans, which is among the widest that stand for `sans-serif`: elsewhere a text is no wider.

/// Advance widths from space to tilde, thousandths of the size: DejaVu Sans 2.37, measured by a browser.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];
/// The same of DejaVu Sans Bold.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683,
    683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771,
    724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665,
    343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];
/// Any other character that takes room: as wide as the widest usual ones.
const OTHERS: u16 = 1100;

/// Plain or bold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    Plain,
    Bold,
}

/// The width of a text at most, in sizes of its font.
pub fn width(text: &str, weight: Weight) -> f64 {
    let table = match weight {
        Weight::Plain => &REGULAR,
        Weight::Bold => &BOLD,
    };
    let mut buffer = [0; 4];
    let of = |c: char| match table.get((c as usize).wrapping_sub(' ' as usize)) {
        Some(width) => usize::from(*width),
        None => {
            usize::from(OTHERS) * textwrap::core::display_width(c.encode_utf8(&mut buffer)).min(1)
        }
    };
    text.chars().map(of).sum::<usize>() as f64 / 1000.0
}

/// A text in at most `most` lines of `room` sizes each, broken between words, or inside one that
/// fills a line; what does not fit ends in an ellipsis.
pub fn lines(text: &str, weight: Weight, room: f64, most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("never empty");
        let longer = if line.is_empty() {
            word.to_string()
        } else {
            format!("{line} {word}")
        };
        if width(&longer, weight) <= room {
            *line = longer;
            continue;
        }
        // A word that no line holds begins where it stands.
        match width(word, weight) <= room {
            true => lines.push(String::new()),
            false if line.is_empty() => {}
            false => line.push(' '),
        }
        for c in word.chars() {
            let line = lines.last_mut().expect("never empty");
            line.push(c);
            if width(line, weight) > room && line.chars().count() > 1 {
                line.pop();
                line.truncate(line.trim_end().len());
                lines.push(c.to_string());
            }
        }
        if lines.len() > most {
            break;
        }
    }
    if lines.len() > most {
        lines.truncate(most);
        let last = lines.last_mut().expect("at least one line");
        while width(last, weight) + width("…", weight) > room && last.pop().is_some() {}
        last.truncate(last.trim_end().len());
        last.push('…');
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_its_room_and_nothing_is_lost_without_a_sign() {
        let texts = [
            "left foot with left catch, right foot with right catch",
            "Wolfeschlegelsteinhausenbergerdorff",
            "WWWW iiii Щука 長い名前 é",
            "",
        ];
        for text in texts {
            for room in [3.0, 7.5, 20.0] {
                for most in 1..=4 {
                    let lines = lines(text, Weight::Bold, room, most);
                    assert!(lines.len() <= most, "{lines:?}");
                    let widest = lines.iter().map(|line| width(line, Weight::Bold));
                    assert!(widest.fold(0.0, f64::max) <= room, "{lines:?}");
                    let letters = |text: &str| text.replace(char::is_whitespace, "");
                    let whole = letters(&lines.concat()) == letters(text);
                    let said = lines.last().is_some_and(|line| line.ends_with('…'));
                    assert!(whole != said, "{lines:?}");
                }
            }
        }
    }
}
