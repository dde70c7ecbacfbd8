//! The rules of a plan's path and verdict, each with its unit.

use crate::error::{Error, Result};
use crate::files::document::Section;
use crate::files::key_value::{KeyValue, quoted};
use crate::model::plan::Rules;
use crate::units::{Fix, decimal, exact, fraction};

/// A rule of the earlier verdict. By it a file of that time is known.
pub const EARLIER_RULE: &str = "effort_weeks";
const RULE_KEYS: [&str; 13] = [
    "step_least",
    "step_share",
    "hold_every",
    "cued_first",
    "cued_last",
    "uncued_after_days",
    "rate_within",
    "speed_loss",
    "length_loss",
    EARLIER_RULE,
    "away_weeks",
    "fewest_swims",
    "fewest_days",
];

/// Reads the rules; a rule that is not there is the usual one.
///
/// # Errors
/// When a key is none of a plan's rules, or does not hold.
pub fn rules(section: &Section) -> Result<Rules> {
    section.only(&RULE_KEYS)?;
    let usual = Rules::default();
    let spm = |key: &str, usual: Fix, example: &str| {
        let said = section.read(key, |entry| one_unit(entry, "spm", (0, 10), example))?;
        Ok::<_, Error>(said.map_or(usual, |said| said.value))
    };
    let percent = |key: &str, usual: Fix, most: i64, example: &str| {
        let said = section.read(key, |entry| one_unit(entry, "%", (0, most), example))?;
        Ok::<_, Error>(said.map_or(usual, |percent| percent.value / exact(100)))
    };
    let count = |key: &str, least: u64, most: u64, usual: u64| {
        let said = section.count(key, least, most)?;
        Ok::<_, Error>(said.map_or(usual, |said| said.value))
    };
    count(EARLIER_RULE, 1, 12, 1)?;
    let rules = Rules {
        step_least: spm("step_least", usual.step_least, "1 spm")?,
        step_share: percent("step_share", usual.step_share, 5, "2 %")?,
        hold_every: count("hold_every", 2, 52, usual.hold_every)?,
        cued_first: percent("cued_first", usual.cued_first, 100, "100 %")?,
        cued_last: percent("cued_last", usual.cued_last, 100, "25 %")?,
        uncued_after_days: section
            .read("uncued_after_days", |entry| days_after(section, entry))?
            .map_or(usual.uncued_after_days, |days| days.value),
        rate_within: spm("rate_within", usual.rate_within, "1 spm")?,
        speed_loss: match percent("speed_loss", usual.speed_loss, 10, "0.7 %")? {
            // What was built in then, written down by the program.
            loss if section.entry(EARLIER_RULE).is_some() && loss == fraction(1, 100) => {
                usual.speed_loss
            }
            loss => loss,
        },
        length_loss: percent("length_loss", usual.length_loss, 10, "2 %")?,
        away_weeks: count("away_weeks", 1, 12, usual.away_weeks)?,
        fewest_swims: count("fewest_swims", 3, 1000, usual.fewest_swims)?,
        fewest_days: count("fewest_days", 1, 7, usual.fewest_days)?,
    };
    if rules.cued_last > rules.cued_first {
        let entry = section.entry("cued_last").or(section.entry("cued_first"));
        let error = Error::input("rules: cued_last is more than cued_first; cues are thinned out");
        return Err(entry
            .map_or(error.clone(), |entry| error.at(&entry.place))
            .accepted("cued_last no more than cued_first")
            .example("cued_last = \"25 %\""));
    }
    Ok(rules)
}

fn days_after<'a>(section: &Section<'a>, entry: &KeyValue<'a>) -> Result<Vec<u64>> {
    const ACCEPTED: &str =
        "a list of whole numbers of days, 1 to 60, each later than the one before";
    const EXAMPLE: &str = "uncued_after_days = [1, 3, 10]";
    let items = section.items_of(entry, ACCEPTED, EXAMPLE)?;
    let refused = |error: Error| error.accepted(ACCEPTED).example(EXAMPLE);
    let days = (items.iter())
        .map(|item| item.count(1, 60).map_err(refused))
        .collect::<Result<Vec<_>>>()?;
    if days.windows(2).all(|pair| pair[0] < pair[1]) {
        Ok(days)
    } else {
        Err(refused(entry.refuse("found days out of order")))
    }
}

/// A number with one unit: `1 spm`, `2 %`.
fn one_unit(entry: &KeyValue, unit: &str, (low, high): (i64, i64), example: &str) -> Result<Fix> {
    let accepted = format!("{low} to {high} {unit}");
    let example = entry.example(&quoted(example));
    let text = match entry.value {
        toml::de::DeValue::Integer(_) | toml::de::DeValue::Float(_) => {
            return Err(entry
                .refuse(format!("found a bare number; it could have meant {unit}"))
                .accepted(accepted)
                .example(example));
        }
        _ => entry.string(&accepted, &example)?,
    };
    let number = text.trim().strip_suffix(unit).map(str::trim);
    let number = number.and_then(|number| decimal(number).ok());
    match number.filter(|number| *number >= exact(low) && *number <= exact(high)) {
        Some(number) => Ok(number),
        None => Err(entry
            .refuse(format!("found {}", quoted(text)))
            .accepted(accepted)
            .example(example)),
    }
}
