//! The help on `?`: the keys, and what to take care of.

/// At most 24 lines of 78 columns.
pub const HELP: &str = "\
Space           start, pause, go on (at the first entry)
Up, Down        1 spm faster, slower       Right, Left   half a spm
digits, Enter   this rate in spm           u             take a change back
p  k            the other pairing; the next kick
h  f  i  b      hands, feet, kicks in between, breath: silent, or heard again
g               changes of rate: at once, or over four strokes
t, Page Down    tap each entry of the hand that starts; 4 taps give a rate:
                Enter takes it; l lets the cues follow the taps, or stops
n               next: the swim is over; in a rest, the next start in 8 s
a               this repeat again, or in a rest the one just swum
c               the swimmer is in: the time, on any screen; s a split
r               results of the last swim: strokes, kept, effort, a note
w  q  o         write the set as a session; quit; the phone's way in

E a hand enters, C it takes hold, K a kick, k a kick in between.

A time by hand is good to about 0.2 s. A deck speaker hardly reaches ears
under water. Never louder than whistles and announcements; on battery, no
mains lead near the pool. Sound takes 3 ms a metre in air. The pool's rules,
lifeguards, coaches and doctors come before any cue. A rate is a wish: pain
or a shorter stroke means back to the last rate held. Breathe whenever you
want: no cue is a reason to hold your breath.

Any key: back.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_help_fits_the_smallest_screen() {
        assert!(HELP.lines().count() <= 24, "{}", HELP.lines().count());
        for line in HELP.lines() {
            assert!(line.chars().count() <= 78, "{line}");
        }
    }
}
