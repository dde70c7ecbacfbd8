//! Records written as CSV, and what a spreadsheet must not run on its way out and back.

use std::borrow::Cow;

/// How the fields of a file are parted, and its lines ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CsvForm {
    /// Comma, semicolon or tab.
    pub delimiter: u8,
    /// LF, CRLF or CR.
    pub line_end: &'static str,
}

/// Records as CSV. A field that a spreadsheet would run gets an apostrophe before it.
pub fn write(records: impl IntoIterator<Item = Vec<String>>, form: CsvForm) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .delimiter(form.delimiter)
        .terminator(match form.line_end.as_bytes() {
            [one] => csv::Terminator::Any(*one),
            _ => csv::Terminator::CRLF,
        })
        .from_writer(Vec::new());
    for record in records {
        let fields = record.iter().map(|field| guarded(field));
        let fields: Vec<Cow<str>> = fields.collect();
        let fields = fields.iter().map(|field| field.as_bytes());
        (writer.write_record(fields))
            .expect("memory takes every record, and all have the header's length");
    }
    writer.into_inner().expect("memory can be flushed")
}

/// Whether a spreadsheet would take a field for a formula, but for apostrophes before it.
fn is_formula(field: &str) -> bool {
    let bare = field.trim_start_matches('\'');
    bare.starts_with(['=', '+', '-', '@'])
}

/// A field as it is written: an apostrophe, one more than it has, makes text of a formula.
pub(super) fn guarded(field: &str) -> Cow<'_, str> {
    if is_formula(field) {
        format!("'{field}").into()
    } else {
        field.into()
    }
}

/// A field as it was before [`guarded`].
pub(super) fn unguarded(field: &str) -> &str {
    match field.strip_prefix('\'') {
        Some(bare) if is_formula(bare) => bare,
        _ => field,
    }
}
