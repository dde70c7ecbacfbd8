//! The athlete's page: one HTML file with everything in it, to open or to print.

use super::{escaped, html};
use std::fmt::Write as _;

/// What the page says, in plain text; the picture is SVG.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AthletePage {
    /// Whose plan, from what to what.
    pub title: String,
    /// When, which days.
    pub when: String,
    /// Where the athlete stands.
    pub today: String,
    /// The last verdict, in a few words; empty before the first.
    pub verdict: String,
    /// What it rests on, sentence by sentence.
    pub reasons: Vec<String>,
    /// What is worth knowing about the files.
    pub notes: Vec<String>,
    /// The picture of the weeks; empty where there is none.
    pub chart: String,
    /// What the picture shows, for those who cannot see it.
    pub chart_in_words: String,
    /// Which week the days are of.
    pub week: String,
    /// The days to swim: a heading and the sets each.
    pub days: Vec<(String, Vec<String>)>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// The looks: black on white, in print too, nothing from elsewhere.
const STYLE: &str = "body{font:17px/1.45 sans-serif;color:#000;background:#fff;max-width:52rem;\
    margin:1.5rem auto;padding:0 1rem;overflow-wrap:anywhere}h1{font-size:1.6rem;margin:0}h2{font-size:1.2rem;\
    border-bottom:1px solid #000;margin-top:1.8rem}h3{font-size:1rem;margin:1rem 0 .2rem}\
    ul{margin:.2rem 0 .6rem;padding-left:1.3rem}.verdict{font-size:1.5rem;font-weight:bold;\
    border:3px solid #000;display:inline-block;padding:.2rem .8rem;margin:.4rem 0}\
    figure{margin:0}svg{width:100%;height:auto}\
    @media print{body{margin:0;max-width:none}h2,h3,figure{break-after:avoid}}";

/// The page.
pub fn page(report: &AthletePage) -> String {
    let list = |lines: &[String]| -> String {
        let items = lines
            .iter()
            .map(|line| format!("<li>{}</li>\n", escaped(line)));
        format!("<ul>\n{}</ul>\n", items.collect::<String>())
    };
    let mut body = format!(
        "<h1>{}</h1>\n<p>{}</p>\n<h2>Today</h2>\n",
        escaped(&report.title),
        escaped(&report.when)
    );
    if !report.verdict.is_empty() {
        let _ = writeln!(
            body,
            "<p class=\"verdict\">{}</p>",
            escaped(&report.verdict)
        );
    }
    let _ = writeln!(body, "<p>{}</p>", escaped(&report.today));
    if !report.reasons.is_empty() {
        body.push_str(&list(&report.reasons));
    }
    for note in &report.notes {
        let _ = writeln!(body, "<p>{}</p>", escaped(note));
    }
    if !report.days.is_empty() {
        let _ = writeln!(body, "<h2>{}</h2>", escaped(&report.week));
        for (day, sets) in &report.days {
            let _ = write!(body, "<h3>{}</h3>\n{}", escaped(day), list(sets));
        }
    }
    if !report.chart.is_empty() {
        let _ = writeln!(
            body,
            "<h2>All weeks</h2>\n<figure role=\"img\" aria-label=\"{0}\">\n{1}\n</figure>",
            escaped(&report.chart_in_words),
            report.chart,
        );
    }
    let _ = write!(body, "<h2>Cautions</h2>\n{}", list(&report.cautions));
    html(&report.title, STYLE, &body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_become_markup() {
        let report = AthletePage {
            title: "Plan of <script>alert(1)</script> & \"Sam\"".into(),
            days: vec![("Week <1>".into(), vec!["4 x <50 m>".into()])],
            chart: "<svg></svg>".into(),
            ..AthletePage::default()
        };
        let page = page(&report);
        assert!(!page.contains("<script>") && !page.contains("<50 m>") && !page.contains("<1>"));
        assert!(page.contains("&lt;script&gt;") && page.contains("<svg></svg>"));
    }
}
