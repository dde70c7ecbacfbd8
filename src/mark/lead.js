// Being led from one foretold moment to the next.

// A moment foretold anew is the same one if it moved by less than this, s.
const SAME_MOMENT_S = 0.12;
// So far behind the picture a moment may lie and still be next: on the way to the last mark the
// picture may have passed it.
const PASSED_S = 0.3;
// Farther on, s, what is foretold is of another stretch of the film.
const AHEAD_S = 6;

let target = null; // the foretold moment last gone to
let passed = []; // those that Enter left behind near the picture: it goes on, not back to them

function foretold() {
  return marks.foretold().filter((moment) => moment.time <= film.duration);
}

// The moment last gone to, if it is still to be marked and the picture still near it.
function openTarget(all) {
  if (!target || Math.abs(film.shown - target.time) > PASSED_S) return undefined;
  return all.find((moment) => isSameMoment(moment, target));
}

function isSameMoment(one, other) {
  return one.event === other.event && Math.abs(one.time - other.time) < SAME_MOMENT_S;
}

// What was foretold of this kind where a mark is set. A kick far from it is another kick.
function foretoldNear(time, event) {
  const reach = event.endsWith("_kick") ? PASSED_S / 2 : PASSED_S * 2;
  const apart = (moment) => Math.abs(moment.time - time);
  const near = foretold().filter((moment) => moment.event === event && apart(moment) < reach);
  return near.sort((a, b) => apart(a) - apart(b))[0];
}

// Shows the frame before the next moment foretold: there it is mostly still to come, and one step on
// it has. `done` is what has just been said.
async function nextForetold(done = "") {
  const all = foretold();
  const open = openTarget(all);
  if (open) passed.push(open);
  passed = passed.filter((moment) => Math.abs(moment.time - film.shown) < 2 * PASSED_S);
  const isNext = ({ time }) => time > film.shown - PASSED_S && time < film.shown + AHEAD_S;
  const isPassed = (moment) => passed.some((other) => isSameMoment(moment, other));
  const next = all.find((moment) => isNext(moment) && !isPassed(moment));
  if (!next) {
    say(`${done} ${whyNothing()}`);
    return;
  }
  target = next;
  await film.frameAt(next.time - film.gap / 2);
  const digit = (EVENT_NAMES.indexOf(next.event) + 1) % 10;
  say(`${done} Next: ${inWords(next.event)}, key ${digit}.`);
}

function whyNothing() {
  const isKnown = marks.cycles()[marks.passOf(film.shown) - 1].rhythm.period !== null;
  return isKnown
    ? "Nothing is foretold from here on: mark the next moment of a hand yourself."
    : "Nothing is foretold yet: it takes one hand marked twice, a cycle apart.";
}

async function miss() {
  const all = foretold();
  const near = (moment) => Math.abs(moment.time - film.shown) < SAME_MOMENT_S;
  const gone = openTarget(all) ?? all.find(near);
  if (!gone) {
    say("No moment is foretold here. Next foretold (Enter) goes to one.");
    return;
  }
  marks.miss(gone);
  changed(true, "");
  await nextForetold(`Not seen: ${inWords(gone.event)}.`);
}
