//! Hands and feet beside their cues, cycle by cycle.

use super::panels::{Mark, Panel, draw_alike, extent};
use super::tick;
use crate::analysis::came::{Beside, Came};
use crate::error::{Error, Result};
use crate::model::cue::Side;

/// How far hands and feet come behind their cues, over the film: the line is the cue. Every panel
/// has the same time and the same ms, so that sides can be compared.
///
/// # Errors
/// When neither is marked beside a cue.
pub fn came_chart(hands: Option<&Came>, feet: Option<&Came>) -> Result<String> {
    let x_label = |x: &f64| tick(*x, 60.0, 0);
    let mark = |one: &Beside| match one.sounds {
        Some(true) => Mark::Disc,
        Some(false) => Mark::Ring,
        None => Mark::Cross,
    };
    let all = [hands, feet].into_iter().flatten();
    let cues_s = all.flat_map(|came| &came.each).map(|one| one.cue_s);
    let (first_s, last_s) = extent(cues_s);
    let panel = |y: &'static str, side: Side, came: &Came| {
        let own = came.each.iter().filter(|one| one.side == side);
        let points: Vec<(f64, f64, Mark)> = own
            .map(|one| (one.cue_s, one.lag_s * 1000.0, mark(one)))
            .collect();
        Panel {
            x: "film, s",
            y,
            points,
            curve: vec![(first_s, 0.0), (last_s, 0.0)],
            upright: None,
            x_label: &x_label,
            decimals: 0,
        }
    };
    let limbs = [
        ("left hand behind its cue, ms", Side::Left, hands),
        ("right hand behind its cue, ms", Side::Right, hands),
        ("left foot behind its cue, ms", Side::Left, feet),
        ("right foot behind its cue, ms", Side::Right, feet),
    ];
    let panels: Vec<Panel> = (limbs.into_iter())
        .filter_map(|(y, side, came)| Some(panel(y, side, came?)))
        .filter(|panel| !panel.points.is_empty())
        .collect();
    if panels.is_empty() {
        return Err(Error::input("no hand and no foot is marked beside a cue")
            .accepted("marks of the swim to which the session sounded"));
    }
    draw_alike(
        "Behind the cues (the line): disc with sound, ring in silence, cross not known",
        &panels,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::came::HeardCue;

    #[test]
    fn every_cycle_is_a_mark_and_sound_and_silence_are_told_apart() {
        let cues: Vec<HeardCue> = (0..6)
            .map(|n| HeardCue {
                at_s: f64::from(n) * 2.0,
                side: Side::Left,
                sounds: Some(n < 4),
            })
            .collect();
        let kicks: Vec<(f64, Side)> = cues
            .iter()
            .map(|cue| (cue.at_s + 0.08, Side::Left))
            .collect();
        let feet = Came::of(&cues, &kicks, 2.0, 1.0);
        let svg = came_chart(None, feet.as_ref()).expect("a picture");
        let marks = |ring: bool| {
            let circles = svg.lines().filter(|line| line.contains("<circle"));
            circles
                .filter(|line| line.contains("fill=\"none\"") == ring)
                .count()
        };
        assert_eq!((marks(false), marks(true)), (4, 2), "{svg}");
        assert!(svg.contains("left foot behind its cue, ms"), "{svg}");
        assert!(
            !svg.contains("right foot") && !svg.contains("hand behind"),
            "{svg}"
        );
        assert!(came_chart(None, None).is_err());
    }

    /// The middles of the discs of a picture, px, in the order of the panels.
    fn discs(svg: &str) -> Vec<(f64, f64)> {
        let number = |line: &str, key: &str| -> f64 {
            let from = line.split(key).nth(1).expect("an attribute");
            let text = from.split('"').next().expect("a quote");
            text.parse().expect("a number")
        };
        let circles = svg.lines().filter(|line| line.contains("<circle"));
        let middles = circles.map(|line| (number(line, "cx=\""), number(line, "cy=\"")));
        middles.collect()
    }

    #[test]
    fn sides_hands_and_feet_share_their_time_and_their_ms() {
        // Left cues at 0, 2, 4 s, right ones a second later; the left hand comes 10 ms behind, the
        // right one 60 ms, the feet 110 ms.
        let cues: Vec<HeardCue> = (0..6)
            .map(|n| HeardCue {
                at_s: f64::from(n),
                side: [Side::Left, Side::Right][n as usize % 2],
                sounds: Some(true),
            })
            .collect();
        let came = |late_s: fn(Side) -> f64| {
            let marks: Vec<(f64, Side)> = (cues.iter())
                .map(|cue| (cue.at_s + late_s(cue.side), cue.side))
                .collect();
            Came::of(&cues, &marks, 2.0, 1.0).expect("marks beside cues")
        };
        let hands = came(|side| if side == Side::Left { 0.01 } else { 0.06 });
        let feet = came(|_| 0.11);
        let svg = came_chart(Some(&hands), Some(&feet)).expect("a picture");
        let discs = discs(&svg);
        assert_eq!(discs.len(), 12, "{svg}");
        let (left, right, feet) = (&discs[..3], &discs[3..6], &discs[6..9]);
        // Two seconds are as wide on every side, and a right cue lies in the middle of two left ones.
        let middle = 0.5 * (left[0].0 + left[1].0);
        assert!((right[0].0 - middle).abs() <= 1.0, "{discs:?}");
        assert_eq!(left[0].0, feet[0].0);
        // Down from panel to panel: 50 ms more take as much off that twice, and none more nothing.
        let heights = [0, 3, 6, 9].map(|first| discs[first].1);
        let down = [0, 1, 2].map(|panel| heights[panel + 1] - heights[panel]);
        assert!((down[0] - down[1]).abs() <= 2.0, "{heights:?}");
        assert!(down[2] - down[1] > 20.0, "{heights:?}");
    }
}
