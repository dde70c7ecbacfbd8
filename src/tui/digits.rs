//! Digits that are read from two metres.

/// Rows of a large character.
pub const ROWS: usize = 7;

/// Columns of a character with the gap after it.
const WIDTH: usize = 8;

/// Seven rows of `text`, which has digits, a point and spaces; anything else is a space.
pub fn large(text: &str) -> [String; ROWS] {
    std::array::from_fn(|row| {
        let cells = text.chars().map(|c| cell(c, row));
        cells.collect::<String>().trim_end().to_string()
    })
}

/// Which of the seven strokes a digit has: top, upper left and right, middle, lower left and
/// right, bottom.
fn strokes(digit: char) -> Option<[bool; 7]> {
    let lit = match digit {
        '0' => "1110111",
        '1' => "0010010",
        '2' => "1011101",
        '3' => "1011011",
        '4' => "0111010",
        '5' => "1101011",
        '6' => "1101111",
        '7' => "1010010",
        '8' => "1111111",
        '9' => "1111011",
        '-' => "0001000",
        _ => return None,
    };
    let mut strokes = [false; 7];
    for (stroke, c) in strokes.iter_mut().zip(lit.chars()) {
        *stroke = c == '1';
    }
    Some(strokes)
}

fn cell(c: char, row: usize) -> String {
    let Some(
        [
            top,
            upper_left,
            upper_right,
            middle,
            lower_left,
            lower_right,
            bottom,
        ],
    ) = strokes(c)
    else {
        return match (c, row) {
            ('.', 6) => "██  ".into(),
            ('.', _) => "    ".into(),
            _ => " ".repeat(WIDTH),
        };
    };
    let (bar, left, right) = match row {
        0 => (top, top || upper_left, top || upper_right),
        1 | 2 => (false, upper_left, upper_right),
        3 => (
            middle,
            middle || upper_left || lower_left,
            middle || upper_right || lower_right,
        ),
        4 | 5 => (false, lower_left, lower_right),
        _ => (bottom, bottom || lower_left, bottom || lower_right),
    };
    let piece = |on: bool, wide: usize| {
        if on {
            "█".repeat(wide)
        } else {
            " ".repeat(wide)
        }
    };
    format!("{}{}{}  ", piece(left, 2), piece(bar, 2), piece(right, 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_digit_looks_like_no_other() {
        let all: Vec<[String; ROWS]> = "0123456789-"
            .chars()
            .map(|c| large(&c.to_string()))
            .collect();
        for (at, one) in all.iter().enumerate() {
            assert!(one.iter().any(|row| row.contains('█')));
            assert!(all[..at].iter().all(|other| other != one), "digit {at}");
        }
    }

    #[test]
    fn a_rate_takes_its_room() {
        let rows = large("54.5");
        assert_eq!(rows.iter().map(|row| row.chars().count()).max(), Some(26));
    }
}
