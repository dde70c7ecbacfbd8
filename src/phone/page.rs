//! The page: one file for the phone's browser, with everything in it.
//!
//! `page.html` says what stands where, `page.css` how it looks; `link.js` is the socket, the clock
//! and what is kept until it was taken, `page.js` buttons and words. `awake.mp4` is two seconds of
//! black, played so that the screen stays on where the browser has no better way.

use data_encoding::BASE64;

const HTML: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");
const AWAKE: &[u8] = include_bytes!("awake.mp4");
/// In the order in which they use each other.
const SCRIPTS: [&str; 2] = [include_str!("link.js"), include_str!("page.js")];
const STYLE_GOES_HERE: &str = "/* the style goes here */";
const SCRIPTS_GO_HERE: &str = "/* the scripts go here */";
const FILM_GOES_HERE: &str = "the film goes here";

/// The page, whole: UTF-8, no address in it.
pub fn page() -> String {
    let scripts = format!("\"use strict\";\n{}", SCRIPTS.join("\n"));
    let film = format!("data:video/mp4;base64,{}", BASE64.encode(AWAKE));
    HTML.replacen(STYLE_GOES_HERE, STYLE, 1)
        .replacen(SCRIPTS_GO_HERE, &scripts, 1)
        .replacen(FILM_GOES_HERE, &film, 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_takes_in_all_its_parts_and_names_no_address() {
        for place in [STYLE_GOES_HERE, SCRIPTS_GO_HERE, FILM_GOES_HERE] {
            assert_eq!(HTML.matches(place).count(), 1, "{place}");
        }
        let page = page();
        for part in SCRIPTS.iter().chain([&STYLE]) {
            assert!(page.contains(part), "missing: {}", &part[..60]);
            let lower = part.to_lowercase();
            assert!(!lower.contains("</script") && !lower.contains("</style"));
            assert!(!lower.contains("<!--"));
        }
        // The socket's address is made from the page's own.
        assert!(!page.replace("\"ws://\"", "").contains("://") && !page.contains("url("));
        for asks in [
            "fetch(",
            "XMLHttpRequest",
            "sendBeacon",
            "import(",
            "eval(",
            "innerHTML",
        ] {
            assert!(!page.contains(asks), "{asks}");
        }
    }
}
