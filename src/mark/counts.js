// How the work goes: marks a minute, and how far marks lie from where they were foretold.

const LONGEST_PAUSE_MS = 60000;
const COUNTED = 30; // so many marks tell how fast it goes
// A mark is doubted that lies so many times farther off than is usual, and at least so far, s.
const TIMES_USUAL = 4;
const LEAST_DOUBT_S = 0.06;

class Pace {
  constructor() {
    this.moments = []; // when marks were set, ms
  }

  add(now) {
    const last = this.moments[this.moments.length - 1];
    if (now - last > LONGEST_PAUSE_MS) this.moments = [];
    this.moments.push(now);
    if (this.moments.length > COUNTED) this.moments.shift();
  }

  // Marks a minute; nothing before there are three.
  get perMinute() {
    const { moments } = this;
    if (moments.length < 3) return null;
    const minutes = (moments[moments.length - 1] - moments[0]) / 60000;
    return Math.round((moments.length - 1) / minutes);
  }
}

// How far a mark lies from where it was foretold, in seconds, later is positive; nothing where
// none was.
function offOf(mark) {
  return mark.foretold === undefined ? null : mark.time - mark.foretold;
}

// How far marks usually lie from where they were foretold, s; nothing before there are three.
function usualOff(list) {
  const offs = list.map(offOf).filter((off) => off !== null);
  return offs.length < 3 ? null : middle(offs.map(Math.abs));
}

// Does a mark lie so far from where it was foretold that one of the two may be wrong?
function isDoubted(mark, usual) {
  const off = offOf(mark);
  return off !== null && Math.abs(off) > Math.max(TIMES_USUAL * (usual ?? 0), LEAST_DOUBT_S);
}
