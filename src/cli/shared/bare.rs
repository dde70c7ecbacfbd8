//! Answers to questions that say their unit.

use crate::units::is_bare;

/// A bare number with the unit that the question said; anything else as it is.
pub fn with_unit(answer: &str, unit: &str) -> String {
    let answer = answer.trim();
    if is_bare(answer) {
        format!("{answer} {unit}")
    } else {
        answer.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::with_unit;

    #[test]
    fn only_a_bare_number_takes_the_questions_unit() {
        assert_eq!(with_unit(" 58.5 ", "spm"), "58.5 spm");
        for answer in ["", "27 cpm", "1:55", "-", ".", "58,5"] {
            assert_eq!(with_unit(answer, "spm"), answer);
        }
    }
}
