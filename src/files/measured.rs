//! What was measured, put into a swimmer's own file: every other line stays as it is.

use toml_edit::{Array, Decor, DocumentMut, InlineTable, Item, RawString, Table, Value, value};

use super::presets::preset_swimmer;
use super::read_text;
use super::swimmer::parse_swimmer;
use crate::error::{Error, Result};
use crate::model::cue::PerSide;
use crate::model::keys::measured_keys;
use crate::model::swimmer::Measured;
use crate::units::{Fix, Rate, to_f64};

/// The text of a swimmer's own file, to be written again.
///
/// # Errors
/// When it cannot be read, or is no file of the person's.
pub fn read_swimmer_text(file: &str) -> Result<String> {
    if file == "-" || (preset_swimmer(file).is_some() && !file.contains(['/', '\\'])) {
        return Err(Error::input("this is no file of yours to write into")
            .at(file)
            .accepted("the path of a swimmer's file")
            .example("cuelane swimmer new alex.toml"));
    }
    read_text(file)
}

/// The text of a swimmer's file with `[measured]` at its end, in place of the one that it had.
/// Comments, order and all that is cued stay: what stands in a comment can still be uncommented,
/// which above a table is a key of the file, and below it a key of the table. `file` is the name
/// for messages.
///
/// # Errors
/// When the text is no swimmer's file.
pub fn with_measured(file: &str, text: &str, measured: &Measured) -> Result<String> {
    parse_swimmer(file, text)?;
    let mut document: DocumentMut =
        (text.parse()).map_err(|error| Error::input(format!("not TOML: {error}")).at(file))?;
    let mut table = table_of(measured);
    let (mut headers, mut gaps) = layout(&document);
    let mut above = String::new();
    match headers.iter().position(|header| header == KEY) {
        Some(at) => {
            headers.remove(at);
            above = taken_out(&mut gaps, at);
        }
        // A table without a header is a value like others.
        None => {
            let key = document.key(KEY).map(|key| key.leaf_decor().clone());
            above.extend(comments(key.as_ref().and_then(Decor::prefix)));
        }
    }
    if let Some(Ok(old)) = document.remove(KEY).map(Item::into_table) {
        above.push_str(&keep_comments(old, &mut table));
    }
    for (header, gap) in headers.iter().zip(&gaps) {
        if let Some(other) = document.get_mut(header).and_then(Item::as_table_mut) {
            other.decor_mut().set_prefix(gap);
        }
    }
    let mut before = gaps.pop().unwrap_or_default().trim_end().to_string();
    if !before.is_empty() {
        before.push('\n');
    }
    if !(before.is_empty() && document.is_empty()) {
        before.push('\n');
    }
    table.decor_mut().set_prefix(before + &above);
    table.set_position(Some(isize::MAX));
    document.set_trailing("");
    document.insert(KEY, Item::Table(table));
    let text = document.to_string();
    parse_swimmer(file, &text)?;
    Ok(text)
}

const KEY: &str = "measured";

/// What was measured, as a table.
fn table_of(measured: &Measured) -> Table {
    let mut table = Table::new();
    for (key, film) in written(measured) {
        table.insert(key, value(film));
    }
    table
}

/// The headers of a document's tables in the order of its lines, and the lines between them that
/// are no values: those before each header, then those at the end.
fn layout(document: &DocumentMut) -> (Vec<String>, Vec<String>) {
    let with_header = |(key, item): (&str, &Item)| {
        let table = item.as_table().filter(|table| !table.is_dotted())?;
        let before = table.decor().prefix().and_then(RawString::as_str);
        Some((
            table.position()?,
            key.to_string(),
            before.unwrap_or_default().to_string(),
        ))
    };
    let mut tables: Vec<_> = document.iter().filter_map(with_header).collect();
    tables.sort();
    let (headers, mut gaps): (Vec<String>, Vec<String>) =
        (tables.into_iter().map(|(_, key, gap)| (key, gap))).unzip();
    gaps.push(document.trailing().as_str().unwrap_or_default().to_string());
    (headers, gaps)
}

/// Takes a table out from between two gaps, which become one. Gives the comment right above its
/// header. Open lines below it that could only be uncommented above every table go there.
fn taken_out(gaps: &mut Vec<String>, at: usize) -> String {
    let above = headline(&mut gaps[at]);
    let mut below = gaps.remove(at + 1);
    if at > 0 {
        let (open, others): (Vec<&str>, Vec<&str>) =
            below.split_inclusive('\n').partition(|line| is_open(line));
        let (open, others) = (open.concat(), others.concat());
        let first = headline(&mut gaps[0]);
        gaps[0].push_str(&open);
        if !open.is_empty() && !first.is_empty() {
            gaps[0].push('\n');
        }
        gaps[0].push_str(&first);
        below = others;
    }
    gaps[at].push_str(&below);
    above
}

/// Takes the comment right above a header off the lines before it.
fn headline(gap: &mut String) -> String {
    let own = |line: &&str| line.trim_start().starts_with('#') && !is_open(line);
    let lines = gap.split_inclusive('\n').rev().take_while(own);
    let length: usize = lines.map(str::len).sum();
    gap.split_off(gap.len() - length)
}

/// Whether a line is a value in a comment, such as `# pairing = "same-side"`.
fn is_open(line: &str) -> bool {
    let is_key = |key: &str| {
        let bare = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        !key.is_empty() && key.chars().all(bare)
    };
    let said = line.trim_start().strip_prefix('#');
    said.and_then(|said| said.split_once('='))
        .is_some_and(|(key, _)| is_key(key.trim()))
}

/// The comments in the lines before a key, or after a value.
fn comments(lines: Option<&RawString>) -> impl Iterator<Item = String> {
    let lines = lines.and_then(RawString::as_str).unwrap_or_default();
    (lines.lines().map(str::trim))
        .filter(|line| line.starts_with('#'))
        .map(|line| format!("{line}\n"))
}

/// Gives a table and its values the comments and the spacing that they had in an old one; the
/// comments of values that are no longer there are given back.
fn keep_comments(old: Table, new: &mut Table) -> String {
    if let Some(suffix) = old.decor().suffix() {
        new.decor_mut().set_suffix(suffix.clone());
    }
    let mut left = String::new();
    for (name, item) in &old {
        let key = old.key(name).map(|key| key.leaf_decor().clone());
        let key = key.unwrap_or_default();
        match (new.get_key_value_mut(name), item.as_value()) {
            (Some((mut new_key, Item::Value(new))), Some(old)) => {
                *new_key.leaf_decor_mut() = key;
                *new.decor_mut() = old.decor().clone();
            }
            _ => {
                left.extend(comments(key.prefix()));
                let table = item.as_table().map(Table::decor);
                left.extend(comments(table.and_then(Decor::prefix)));
                let value = item.as_value().map(Value::decor);
                left.extend(comments(value.and_then(Decor::suffix)));
            }
        }
    }
    left
}

macro_rules! written {
    ($($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        /// What was measured, key by key.
        fn written(measured: &Measured) -> impl Iterator<Item = (&'static str, Value)> {
            let values = [$((stringify!($key), measured.$key.as_ref().map(FromFilm::write))),*];
            values.into_iter().filter_map(|(key, value)| Some((key, value?)))
        }
    };
}
measured_keys!(written);

/// A value as precise as any film.
trait FromFilm {
    fn write(&self) -> Value;
}

impl FromFilm for String {
    fn write(&self) -> Value {
        Value::from(self)
    }
}

/// Rates are written to a hundredth.
impl FromFilm for Rate {
    fn write(&self) -> Value {
        Value::from(self.short())
    }
}

/// Shares of a cycle are written to a ten-thousandth: a fifth of a millisecond.
impl FromFilm for Fix {
    fn write(&self) -> Value {
        Value::from((to_f64(self) * 1e4).round() / 1e4)
    }
}

impl<T: FromFilm> FromFilm for (T, T) {
    fn write(&self) -> Value {
        Value::Array(Array::from_iter([self.0.write(), self.1.write()]))
    }
}

impl<T: FromFilm> FromFilm for PerSide<T> {
    fn write(&self) -> Value {
        Value::InlineTable(InlineTable::from_iter([
            ("left", self.left.write()),
            ("right", self.right.write()),
        ]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Quantity, fraction};

    fn measured() -> Measured {
        let rate = |text| Rate::parse(text).expect(text);
        Measured {
            date: Some("2026-05-04".into()),
            rate: Some(rate("52.3 spm")),
            rate_interval: Some((rate("51.6 spm"), rate("53.1 spm"))),
            catch_after_entry: Some(PerSide {
                left: fraction(31, 100),
                right: fraction(28, 100),
            }),
            catch_after_entry_interval: Some(PerSide {
                left: (fraction(30, 100), fraction(32, 100)),
                right: (fraction(27, 100), fraction(29, 100)),
            }),
            right_entry: Some(fraction(49, 100)),
            right_entry_interval: Some((fraction(48, 100), fraction(1, 2))),
            pairing: Some("undecided".into()),
            kick: Some("two-beat".into()),
        }
    }

    const FILE: &str = "# Alex, club lane 3\nname = \"Alex\"   # coach's note\nrate = \"54 spm\"\n\n\
        catch_after_entry = 0.33\n";

    #[test]
    fn measured_values_are_added_and_all_else_stays() {
        let text = with_measured("alex.toml", FILE, &measured()).expect("a swimmer");
        assert!(text.starts_with(FILE), "{text}");
        let read = parse_swimmer("alex.toml", &text).expect("a swimmer");
        assert_eq!(read.measured, Some(measured()));
        assert_eq!(
            read.rate.map(|rate| rate.to_string()),
            Some("54 spm".into())
        );
    }

    /// The same saved again is the same.
    fn saved(text: &str) -> String {
        let once = with_measured("alex.toml", text, &measured()).expect(text);
        let again = with_measured("alex.toml", &once, &measured()).expect(text);
        assert_eq!(again, once, "saved once, then again");
        let read = parse_swimmer("alex.toml", &once).expect(text);
        assert_eq!(read.measured, Some(measured()));
        once
    }

    #[test]
    fn measured_values_are_replaced_and_stand_at_the_end() {
        let old = format!(
            "{FILE}\n# from the film\n[measured]\ndate = \"2020-01-01\"\nkick = \"pull\"\n\n\
             # not the big one\n[player]  # small one\nbits = 16\n"
        );
        let text = saved(&old);
        assert!(text.starts_with(FILE), "{text}");
        assert!(
            text.contains(
                "\n# not the big one\n[player]  # small one\nbits = 16\n\n\
                 # from the film\n[measured]\ndate = \"2026-05-04\"\n"
            ),
            "{text}"
        );
        assert!(!text.contains("2020"), "{text}");
    }

    #[test]
    fn what_stands_in_a_comment_can_be_uncommented_after_saving() {
        let open = "# pairing = \"same-side\"\n# stroke_length = \"0.95 m/stroke\"  # or pace\n";
        let old = "[measured]\ndate = \"2020-01-01\"\npairing = \"undecided\"\n";
        let player = "[player]\nbits = 16\n";
        for before in [
            format!("{FILE}{open}"),
            // As it was once written.
            format!("{FILE}\n{old}{open}"),
            format!("{FILE}\n{old}{open}\n# mine\n{player}"),
            format!("{FILE}\n# mine\n{player}\n{old}{open}"),
            format!("{FILE}\n{player}\n{old}# mine\n{open}\n[lead]\narm = \"40 ms\"\n"),
            format!("{FILE}{open}{old}{player}"),
        ] {
            let text = saved(&before);
            let said = text.replace("# pairing", "pairing");
            let said = said.replace("# stroke", "stroke");
            let read = parse_swimmer("alex.toml", &said)
                .unwrap_or_else(|error| panic!("{before}\nbecame\n{text}\n{error}"));
            assert!(read.wishes.pairing.is_some() && read.wishes.stroke_length.is_some());
            assert_eq!(text.contains("# mine"), before.contains("# mine"), "{text}");
            assert!(text.ends_with("kick = \"two-beat\"\n"), "{text}");
        }
    }

    #[test]
    fn comments_by_hand_are_kept() {
        let text = saved(
            "# a\nname = \"Alex\"\n# b\n\n# c\n[measured]  # d\n# e\nrate   = \"50 spm\" # f\n# g\n\
             date = \"2020-01-01\"\n# h\n",
        );
        let mut measured = measured();
        measured.rate = None;
        let text = with_measured("alex.toml", &text, &measured).expect("a swimmer");
        for comment in ["a", "b", "c", "d", "e", "f", "g", "h"] {
            assert!(
                text.contains(&format!("# {comment}\n")),
                "{comment}:\n{text}"
            );
        }
        for without_header in [
            "# a\nmeasured.kick = \"pull\" # b\nname = \"Alex\"\n",
            "name = \"Alex\"\n# a\nmeasured = { kick = \"pull\" }\n# b\n[player]\nbits = 16\n",
            "[measured]\n# a\n[measured.catch_after_entry]\nleft = 0.3\nright = 0.3\n# b\n",
        ] {
            let text = saved(without_header);
            assert!(text.contains("# a\n") && text.contains("# b\n"), "{text}");
        }
    }

    #[test]
    fn a_file_that_does_not_hold_is_not_written() {
        assert!(with_measured("alex.toml", "name = 3\n", &measured()).is_err());
    }
}
