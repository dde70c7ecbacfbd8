//! The marking page: one file for a browser, with everything in it.
//!
//! A coach opens it from disk, chooses a film, and saves the marks that `timing` reads. Its
//! policy for content allows no request at all, so the film cannot leave the machine.
//! The parts are kept apart for those who write them: `page.html` (what stands where), `page.css`
//! (how it looks); and each script its own idea, said on its first line.

const HTML: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");
/// In the order in which they use each other.
const SCRIPTS: [&str; 17] = [
    include_str!("film.js"),
    include_str!("loop.js"),
    include_str!("look.js"),
    include_str!("numbers.js"),
    include_str!("events.js"),
    include_str!("rhythm.js"),
    include_str!("cycle.js"),
    include_str!("marks.js"),
    include_str!("kept.js"),
    include_str!("counts.js"),
    include_str!("track.js"),
    include_str!("table.js"),
    include_str!("strip.js"),
    include_str!("lead.js"),
    include_str!("page.js"),
    include_str!("open.js"),
    include_str!("keys.js"),
];
/// Where `page.html` takes the style and the scripts in.
const STYLE_GOES_HERE: &str = "/* the style goes here */";
const SCRIPTS_GO_HERE: &str = "/* the scripts go here */";
/// Where it takes in the cues of a film: JSON, an empty object where there is none.
const CUES_GO_HERE: &str = "/* the cues go here */";

/// The page, whole: UTF-8, no address in it, nothing fetched. `cues` is JSON, `{}` for a page without
/// cues: `film`, the film's name where that is known, `timing_flags`, with which `timing` reads the
/// marks, `sync_cues`, the fingerprint of the cues, `sync` as `timing --json` has it, and `cues`, each
/// with `kind`, `side`, `film_s`, `sounds`.
pub fn page(cues: &str) -> String {
    let scripts = format!("\"use strict\";\n{}", SCRIPTS.join("\n"));
    HTML.replacen(STYLE_GOES_HERE, STYLE, 1)
        .replacen(SCRIPTS_GO_HERE, &scripts, 1)
        .replacen(CUES_GO_HERE, &cues.replace('<', "\\u003c"), 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_takes_in_its_style_and_every_script() {
        assert_eq!(HTML.matches(STYLE_GOES_HERE).count(), 1);
        assert_eq!(HTML.matches(SCRIPTS_GO_HERE).count(), 1);
        assert_eq!(HTML.matches(CUES_GO_HERE).count(), 1);
        let page = page("{}");
        for part in SCRIPTS.iter().chain([&STYLE]) {
            assert!(page.contains(part), "missing: {}", &part[..60]);
        }
    }

    #[test]
    fn no_part_can_end_the_element_that_holds_it() {
        for part in SCRIPTS.iter().chain([&STYLE]) {
            let lower = part.to_lowercase();
            assert!(!lower.contains("</script") && !lower.contains("</style"));
            assert!(!lower.contains("<!--"));
        }
    }

    #[test]
    fn the_page_takes_in_cues_that_cannot_end_their_element() {
        let page = page("{\"cues\": \"</script>\"}");
        let cues =
            r#"<script type="application/json" id="cues">{"cues": "\u003c/script>"}</script>"#;
        assert!(page.contains(cues));
    }

    #[test]
    fn the_page_names_no_address_and_allows_no_request() {
        let page = page("{}");
        // Not even a namespace is spelt out: whoever reads the page sees that it calls nobody.
        assert!(!page.contains("://") && !page.contains("url("));
        assert!(page.contains("default-src 'none'; media-src blob:;"));
        for asks in [
            "fetch(",
            "XMLHttpRequest",
            "WebSocket",
            "sendBeacon",
            "import(",
            "eval(",
        ] {
            assert!(!page.contains(asks), "{asks}");
        }
    }
}
