//! Text of a person's, made safe to show: a name must not be able to turn or hide what stands
//! around it. What is shown goes through here on its way out; what is kept stays as it was written.

use std::borrow::Cow;

/// Whether a terminal or a page would obey a character rather than show it: control characters
/// but line end and tab, and those of Unicode's property `Bidi_Control` (UAX #9, PropList.txt),
/// which turn the order of what follows. So are the two that no XML may hold.
pub fn is_obeyed(c: char) -> bool {
    match c {
        '\n' | '\t' => false,
        '\u{fffe}' | '\u{ffff}' => true,
        '\u{61c}' | '\u{200e}' | '\u{200f}' => true,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        c => c.is_control(),
    }
}

/// Whether a text holds such characters.
pub fn holds_obeyed(text: &str) -> bool {
    // Told of plain ASCII at once, many bytes at a time: results of hundreds of MB go through here.
    let plain = |byte: u8| matches!(byte, b' '..=b'~' | b'\n' | b'\t');
    let all_plain = (text.bytes()).fold(true, |all, byte| all & plain(byte));
    !all_plain && text.contains(is_obeyed)
}

/// The text with such characters written out: `\u{202e}`.
pub fn visible(text: &str) -> Cow<'_, str> {
    if !holds_obeyed(text) {
        return text.into();
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if is_obeyed(c) {
            shown.extend(c.escape_unicode())
        } else {
            shown.push(c)
        }
    }
    shown.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_turns_or_moves_is_written_out_and_the_rest_stays() {
        assert_eq!(visible("Zoë: 4 x 50 m\n\tא"), "Zoë: 4 x 50 m\n\tא");
        assert_eq!(visible("a\u{202e}b\u{2069}"), "a\\u{202e}b\\u{2069}");
        assert_eq!(visible("\u{1b}[2J\r\u{85}"), "\\u{1b}[2J\\u{d}\\u{85}");
    }
}
