//! What was measured, put into a swimmer's own file: every other line stays as it is.

use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, Value, value};

use super::presets::preset_swimmer;
use super::read_text;
use super::swimmer::parse_swimmer;
use crate::error::{Error, Result};
use crate::model::cue::PerSide;
use crate::model::swimmer::Measured;
use crate::units::{Exact, Rate, to_f64};

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

/// The text of a swimmer's file with `[measured]` replaced, or added at its end. Comments, order
/// and all that is cued stay; `file` is the name for messages.
///
/// # Errors
/// When the text is no swimmer's file.
pub fn with_measured(file: &str, text: &str, measured: &Measured) -> Result<String> {
    parse_swimmer(file, text)?;
    let mut document: DocumentMut =
        (text.parse()).map_err(|error| Error::input(format!("not TOML: {error}")).at(file))?;
    let mut table = Table::new();
    let mut put = |key: &str, item: Option<Value>| {
        if let Some(item) = item {
            table.insert(key, value(item));
        }
    };
    put("date", measured.date.as_deref().map(Value::from));
    put("rate", measured.rate.as_ref().map(rate));
    put(
        "rate_interval",
        measured.rate_interval.as_ref().map(|ends| pair(rate, ends)),
    );
    put(
        "catch_after_entry",
        measured
            .catch_after_entry
            .as_ref()
            .map(|sides| each(share, sides)),
    );
    put(
        "catch_after_entry_interval",
        (measured.catch_after_entry_interval.as_ref())
            .map(|sides| each(|ends| pair(share, ends), sides)),
    );
    put("right_entry", measured.right_entry.as_ref().map(share));
    put(
        "right_entry_interval",
        measured
            .right_entry_interval
            .as_ref()
            .map(|ends| pair(share, ends)),
    );
    put("pairing", measured.pairing.as_deref().map(Value::from));
    put("kick", measured.kick.as_deref().map(Value::from));
    // A table that is there keeps its place and the comment above it.
    match document.get_mut("measured").and_then(Item::as_table_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            let position = old.position();
            *old = table;
            *old.decor_mut() = decor;
            old.set_position(position);
        }
        None => {
            table.decor_mut().set_prefix("\n");
            document.insert("measured", Item::Table(table));
        }
    }
    let text = document.to_string();
    parse_swimmer(file, &text)?;
    Ok(text)
}

/// Rates are written to a hundredth, as precise as any film.
fn rate(rate: &Rate) -> Value {
    Value::from(rate.short())
}

/// Shares of a cycle are written to a ten-thousandth: a fifth of a millisecond.
fn share(share: &Exact) -> Value {
    Value::from((to_f64(share) * 1e4).round() / 1e4)
}

fn pair<T>(write: impl Fn(&T) -> Value, ends: &(T, T)) -> Value {
    Value::Array(Array::from_iter([write(&ends.0), write(&ends.1)]))
}

fn each<T>(write: impl Fn(&T) -> Value, sides: &PerSide<T>) -> Value {
    Value::InlineTable(InlineTable::from_iter([
        ("left", write(&sides.left)),
        ("right", write(&sides.right)),
    ]))
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

    #[test]
    fn measured_values_are_replaced_where_they_stand() {
        let old = format!(
            "{FILE}\n# from the film\n[measured]\ndate = \"2020-01-01\"\nkick = \"pull\"\n\n\
             [player]  # small one\nbits = 16\n"
        );
        let text = with_measured("alex.toml", &old, &measured()).expect("a swimmer");
        assert!(text.starts_with(FILE), "{text}");
        assert!(
            text.contains("\n# from the film\n[measured]\ndate = \"2026-05-04\"\n"),
            "{text}"
        );
        assert!(
            text.ends_with("\n[player]  # small one\nbits = 16\n"),
            "{text}"
        );
        assert!(!text.contains("2020"), "{text}");
        let again = with_measured("alex.toml", &text, &measured()).expect("a swimmer");
        assert_eq!(again, text);
    }

    #[test]
    fn a_file_that_does_not_hold_is_not_written() {
        assert!(with_measured("alex.toml", "name = 3\n", &measured()).is_err());
    }
}
