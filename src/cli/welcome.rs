//! What `cuelane` alone prints: what it is for, and a first command for each who uses it.

use crate::cli::shared::out;
use crate::error::Result;

const SCREEN: &str = "\
cuelane puts your kick on the right moment of your arm stroke, by ear: left ear
for the left side, right ear for the right. High ticks are hands, low knocks are
feet. Tracks for a waterproof player are exact to the sample.

You swim, and load tracks onto a player:
  cuelane export try-both-pairings --swimmer adult-learner --out tracks

You coach, and want to see what a session does before anyone swims it:
  cuelane show hold-the-rate --swimmer adult-learner

You raise your stroke rate over weeks, from a file of your own:
  cuelane swimmer new me.toml

More: cuelane list presets, cuelane help, cuelane help export
The pool's rules, lifeguards, your coach and your doctor come before any track.
";

/// Prints the screen.
pub fn run() -> Result<()> {
    out::result(SCREEN)
}
