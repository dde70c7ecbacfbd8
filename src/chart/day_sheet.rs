//! A training day on one page, for print and pen: a row a swim, with boxes to fill in.

use super::{escaped, html};
use std::fmt::Write as _;

/// What the page says, in plain text.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DaySheet {
    /// The session.
    pub title: String,
    /// Who swims it.
    pub swimmer: String,
    /// What is to be written under "kick on the cue".
    pub how_kept: String,
    /// Every swim.
    pub swims: Vec<SheetSwim>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// A swim on the page.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SheetSwim {
    /// Its set.
    pub set: String,
    /// Which repeat of its set, from 1.
    pub repeat: u64,
    /// How far, or how long.
    pub swim: String,
    /// The rate that is cued.
    pub cued: String,
}

/// Black on white. Cells as high as a hand writes.
const STYLE: &str = "body{font:15px/1.3 sans-serif;color:#000;background:#fff;max-width:48rem;\
    margin:1rem auto;padding:0 1rem;overflow-wrap:anywhere}h1{font-size:1.3rem;margin:0}\
    p{margin:.3rem 0}table{border-collapse:collapse;width:100%;margin:.6rem 0}\
    th,td{border:1px solid #000;padding:0 .4rem;text-align:left}th{font-size:.85rem}\
    .fill{width:14%}ul{margin:.3rem 0;padding-left:1.2rem;font-size:.85rem}\
    @page{size:A4;margin:12mm}@media print{body{margin:0;padding:0;max-width:none}\
    thead{display:table-header-group}tr{break-inside:avoid}}";

/// What the rows may take of an A4 page, mm.
const ROWS_MM: f64 = 175.0;
/// The height of a row, mm: what a pen needs, and what looks well.
const ROW_MM: (f64, f64) = (6.0, 10.0);

/// The page. More than thirty swims go on to a second one.
pub fn day_sheet(sheet: &DaySheet) -> String {
    let row_mm = (ROWS_MM / sheet.swims.len().max(1) as f64).clamp(ROW_MM.0, ROW_MM.1);
    let mut body = format!(
        "<h1>{}</h1>\n<p>{}. Fill in by hand, or in log-to-fill.csv.</p>\n<p>{}</p>\n<table>\n<thead><tr>\
         <th>Set</th><th>No.</th><th>Swim</th><th>Cued</th><th class=\"fill\">Time</th>\
         <th class=\"fill\">Strokes, both arms</th><th class=\"fill\">Kick on the cue</th>\
         <th class=\"fill\">Effort, 0 to 10</th></tr></thead>\n<tbody>\n",
        escaped(&sheet.title),
        escaped(&sheet.swimmer),
        escaped(&sheet.how_kept)
    );
    for SheetSwim {
        set,
        repeat,
        swim,
        cued,
    } in &sheet.swims
    {
        let _ = writeln!(
            body,
            "<tr style=\"height:{row_mm:.1}mm\"><td>{}</td><td>{repeat}</td><td>{}</td><td>{}</td>\
             <td></td><td></td><td></td><td></td></tr>",
            escaped(set),
            escaped(swim),
            escaped(cued)
        );
    }
    body.push_str("</tbody>\n</table>\n<ul>\n");
    for caution in &sheet.cautions {
        let _ = writeln!(body, "<li>{}</li>", escaped(caution));
    }
    body.push_str("</ul>\n");
    html(&sheet.title, STYLE, &body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swim_has_a_box_for_each_thing_to_note_and_no_name_becomes_markup() {
        let swim = SheetSwim {
            set: "With <b>cues</b>".into(),
            repeat: 3,
            swim: "50 m".into(),
            cued: "54 spm".into(),
        };
        let page = day_sheet(&DaySheet {
            title: "Week 5".into(),
            swims: vec![swim; 8],
            ..DaySheet::default()
        });
        assert!(!page.contains("<b>"), "{page}");
        assert_eq!(page.matches("<td></td>").count(), 8 * 4);
        assert_eq!(page.matches("height:10.0mm").count(), 8);
    }
}
