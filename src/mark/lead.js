// Being led from one foretold moment to the next.

// A moment foretold anew is the same one if it moved by less than this, s.
const SAME_MOMENT_S = 0.12;
// So far behind the picture a moment may lie and still be next: on the way to the last mark the
// picture may have passed it.
const PASSED_S = 0.3;
// Farther on, s, what is foretold is of another stretch of the film.
const AHEAD_S = 6;

let target = null; // the foretold moment last gone to

function foretold() {
  return marks.foretold(film.shown).filter((moment) => moment.time <= film.duration);
}

// The moment last gone to, if it is still to be marked and the picture still near it.
function openTarget(all) {
  if (!target || Math.abs(film.shown - target.time) > PASSED_S) return undefined;
  const apart = (moment) => Math.abs(moment.time - target.time);
  return all.find((moment) => moment.event === target.event && apart(moment) < SAME_MOMENT_S);
}

// What was foretold of this kind where a mark is set. A kick far from it is another kick.
function foretoldNear(time, event) {
  const reach = event.endsWith("_kick") ? PASSED_S / 2 : PASSED_S * 2;
  const apart = (moment) => Math.abs(moment.time - time);
  const near = foretold().filter((moment) => moment.event === event && apart(moment) < reach);
  return near.sort((a, b) => apart(a) - apart(b))[0];
}

// Shows the next moment foretold. `done` is what has just been said.
async function nextForetold(done = "") {
  const all = foretold();
  const open = openTarget(all);
  const from = open ? open.time : film.shown - PASSED_S;
  const next = all.find((moment) => moment.time > from && moment.time < film.shown + AHEAD_S);
  if (!next) {
    say(`${done} Nothing is foretold from here on: it takes one hand marked twice, a cycle apart.`);
    return;
  }
  target = next;
  await film.frameAt(next.time);
  const digit = (EVENT_NAMES.indexOf(next.event) + 1) % 10;
  say(`${done} Foretold here: ${inWords(next.event)}. On its frame press ${digit}, or X: not seen.`);
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
