//! Hands and feet beside their cues, cycle by cycle.

use super::lines::{Mark, Panel, draw};
use super::tick;
use crate::analysis::came::{Beside, Came};
use crate::error::{Error, Result};
use crate::model::cue::Side;

/// How far hands and feet come behind their cues, over the film: the line is the cue.
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
    let panel = |y: &'static str, side: Side, came: &Came| {
        let own = came.each.iter().filter(|one| one.side == side);
        let points: Vec<(f64, f64, Mark)> = own
            .map(|one| (one.cue_s, one.lag_s * 1000.0, mark(one)))
            .collect();
        let on_the_cue = |one: Option<&Beside>| one.map(|one| (one.cue_s, 0.0));
        let curve = [on_the_cue(came.each.first()), on_the_cue(came.each.last())];
        Panel {
            x: "film, s",
            y,
            points,
            curve: curve.into_iter().flatten().collect(),
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
    draw(
        "Behind the cues (the line): disc with sound, ring in silence, cross not known",
        None,
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
}
