//! Screens of every size, whatever a face says.

use super::*;

/// Words of a few letters, as nothing else on the screen has them.
fn any_text(words: impl Into<proptest::collection::SizeRange>) -> impl Strategy<Value = String> {
    prop::collection::vec("[XYZ]{1,8}", words).prop_map(|words| words.join(" "))
}

fn any_texts() -> impl Strategy<Value = Vec<String>> {
    prop::collection::vec(any_text(1..14), 0..6)
}

/// A face in which every text is as long as it likes.
fn any_face() -> impl Strategy<Value = Face> {
    let texts = prop::collection::vec(any_text(0..12), 11);
    let lists = (any_texts(), any_texts(), any_texts());
    let says = (
        prop::option::of(any_text(1..60)),
        any::<(bool, bool, bool, bool, bool)>(),
    );
    (texts, lists, says, 10.0..160.0f64, 0.0..1.0f64).prop_map(
        |(texts, (ahead, last, results), (say, has), spm, part)| {
            let text = |at: usize| texts[at].clone();
            Face {
                title: text(0),
                swimmer: has.0.then(|| text(1)),
                doing: "no sound",
                rate: ShownRate::new(spm, has.2),
                going_to_spm: has.3.then_some(spm),
                typed: has.4.then(|| "12345".into()),
                feet: [text(2), text(3)],
                kick: text(4),
                waiting: has.3.then(|| text(5)),
                wheel: Wheel::default(),
                point: Some(part),
                clock: text(6),
                heading: text(7),
                say,
                ahead,
                last,
                results: (has.0 && has.1).then_some(results),
                settings: text(8),
                aside: text(9),
                sound: text(10),
                alarm: has.2,
                happened: has.4.then(|| (text(9), part)),
                asked: (has.0 && has.4).then_some("XX YY"),
                keys: text(1),
                turn: (part * 100.0) as usize,
                help: has.1 && has.3,
                way_in: None,
            }
        },
    )
}

fn drawn(face: &Face, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("memory");
    terminal.draw(|frame| draw(frame, face)).expect("memory");
    let cells = terminal.backend().to_string();
    let lines = cells.lines().map(|line| line.trim_matches('"').to_string());
    lines.collect::<Vec<_>>().join("\n")
}

/// Every word that a face can show.
fn words_of(face: &Face) -> BTreeSet<String> {
    let rate = &face.rate;
    let mut texts = vec![
        face.title.clone(),
        face.kick.clone(),
        face.clock.clone(),
        face.heading.clone(),
        face.settings.clone(),
        face.aside.clone(),
        face.sound.clone(),
        face.keys.clone(),
        crate::tui::draw::unit(face),
        format!("{} spm no sound Last results … XX YY 12345", rate.said),
        HELP.into(),
        "left right hand foot rests in front".into(),
    ];
    texts.extend(face.feet.clone());
    let optional = [&face.swimmer, &face.waiting, &face.say];
    texts.extend(optional.into_iter().flatten().cloned());
    for list in [
        &face.ahead,
        &face.last,
        face.results.as_ref().unwrap_or(&Vec::new()),
    ] {
        texts.extend(list.iter().cloned());
    }
    let words = texts.iter().flat_map(|text| text.split_whitespace());
    words.map(str::to_string).collect()
}

proptest! {
    #[test]
    fn nothing_overlaps_and_no_word_is_cut_at_any_size(
        face in any_face(), width in 12u16..170, height in 1u16..60,
    ) {
        let screen = drawn(&face, width, height);
        let known = words_of(&face);
        let is_drawing = |word: &str| word.chars().all(|c| "█─".contains(c));
        // The help alone has longer words, and is for larger screens.
        for word in screen.split_whitespace().filter(|word| !is_drawing(word)) {
            prop_assert!(known.contains(word), "{word} at {width} x {height}:\n{screen}");
        }
    }

    #[test]
    fn every_word_of_a_coach_is_shown_sooner_or_later(
        face in any_face(), width in 40u16..150, height in 12u16..50,
    ) {
        let mut face = Face { help: false, results: None, ..face };
        face.say = Some((0..50).map(|word| format!("w{word}")).collect::<Vec<_>>().join(" "));
        let shown = (0..40).map(|turn| {
            face.turn = turn;
            drawn(&face, width, height)
        });
        let shown = shown.collect::<Vec<_>>().join("\n");
        let shown: BTreeSet<&str> = shown.split_whitespace().collect();
        for word in 0..50 {
            prop_assert!(shown.contains(&*format!("w{word}")), "w{word} at {width} x {height}");
        }
    }

    #[test]
    fn no_screen_is_too_small_to_be_drawn(face in any_face(), width in 1u16..45, height in 1u16..16) {
        drawn(&face, width, height);
    }
}
