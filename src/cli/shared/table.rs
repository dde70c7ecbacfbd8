//! Tables, a line at a time: a log of a million rows is printed as it is read, and a field that is
//! uncommonly wide pushes out its own line only. Table crates measure every row before the first
//! is printed, and widen the column.

use textwrap::core::display_width;

/// A column: how wide it is, and on which side its text stands.
#[derive(Clone, Copy, Debug)]
pub enum Column {
    /// Words.
    Left(usize),
    /// Numbers.
    Right(usize),
    /// Words that are cut where they do not fit.
    Cut(usize),
}

/// One line: its cells a blank apart, and no blanks behind the last.
pub fn line(cells: impl IntoIterator<Item = (Column, String)>) -> String {
    let cells: Vec<String> = cells.into_iter().map(cell).collect();
    let mut line = cells.join(" ");
    line.truncate(line.trim_end().len());
    line
}

fn cell((column, text): (Column, String)) -> String {
    let blanks = |columns: usize| {
        let width: usize = text.chars().map(width).sum();
        " ".repeat(columns.saturating_sub(width))
    };
    match column {
        Column::Left(columns) => format!("{text}{}", blanks(columns)),
        Column::Right(columns) => format!("{}{text}", blanks(columns)),
        Column::Cut(columns) => cell((Column::Left(columns), cut(&text, columns))),
    }
}

/// As much of a text as fits.
fn cut(text: &str, columns: usize) -> String {
    let mut left = columns;
    let fits = |c: &char| {
        let rest = left.checked_sub(width(*c));
        left = rest.unwrap_or(0);
        rest.is_some()
    };
    text.chars().take_while(fits).collect()
}

fn width(c: char) -> usize {
    display_width(c.encode_utf8(&mut [0; 4]))
}

#[cfg(test)]
mod tests {
    use super::{Column, line};

    #[test]
    fn a_wide_cell_pushes_out_its_own_line_and_a_cut_one_does_not() {
        let row = |texts: [&str; 4]| {
            let columns = [
                Column::Left(4),
                Column::Right(5),
                Column::Cut(3),
                Column::Left(2),
            ];
            line(columns.into_iter().zip(texts.map(String::from)))
        };
        assert_eq!(row(["a", "1.5", "abcde", ""]), "a      1.5 abc");
        assert_eq!(row(["abcdef", "1.5", "水水", "x"]), "abcdef   1.5 水  x");
    }
}
