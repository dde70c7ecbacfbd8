//! Which film a file is, by its name.

use std::path::Path;

/// The name of a film; none where the file is its sound alone, whose name says nothing of it.
pub fn film_name(file: &Path) -> Option<&str> {
    let kind = file.extension()?.to_str()?.to_lowercase();
    let is_film = ["mp4", "m4v", "mov", "webm", "mkv"].contains(&kind.as_str());
    file.file_name()?.to_str().filter(|_| is_film)
}

/// What is to be said where marks that name their film are read with another one. A film that was saved
/// in another form is the same one.
pub fn other_film(marked: Option<&str>, file: &Path) -> Option<String> {
    let (marked, name) = (marked?, film_name(file)?);
    let stem = |name: &str| Path::new(name).file_stem().map(ToOwned::to_owned);
    (stem(marked) != stem(name)).then(|| {
        format!(
            "Warning: the marks are of {marked}, and --film is {name}. Where they are two films, all \
             that is said of cues is wrong."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_is_known_by_its_name_and_its_sound_alone_is_not() {
        let name = |file: &'static str| film_name(Path::new(file));
        assert_eq!(name("films/clip.MP4"), Some("clip.MP4"));
        assert_eq!(name("sound.wav"), None);
        assert_eq!(name("clip"), None);
    }

    #[test]
    fn another_film_than_the_one_marked_is_named() {
        let other = |marked, file: &str| other_film(marked, Path::new(file));
        let said = other(Some("a.mov"), "films/b.mp4").expect("two films");
        assert!(said.contains("of a.mov, and --film is b.mp4"), "{said}");
        // The same film in another form, its sound alone, marks that name none.
        assert_eq!(other(Some("a.mov"), "films/a.mp4"), None);
        assert_eq!(other(Some("a.mov"), "sound.wav"), None);
        assert_eq!(other(None, "b.mp4"), None);
    }
}
