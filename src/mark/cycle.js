// The swimmer's own cycle, from the marks of one pass, and the moments that it foretells.
// Nothing here knows the page, and nothing here is ever saved.
//
// A hand enters, catches and leaves once a cycle, so marks of hands tell how long a cycle is and
// where in it each other mark lies (its phase). What comes next is that phase, a cycle on.

// So many of the nearest cycles tell the length of one and the phase of a mark.
const CYCLES = 5;
// The longest and the shortest cycle, in seconds: 10 to 160 strokes a minute.
const LONGEST_S = 12;
const SHORTEST_S = 0.75;
// So many marks nearby are asked when a moment comes; one wrong mark among three is outvoted.
const ASKED = 3;
// So many when phases are found at first, where every kind may have its own fault.
const VOTES = 5;
// Kicks of one foot nearer than this are the same kick of other cycles; six beats lie 1/3 apart.
const SAME_KICK = 0.15;
// A kind that was not seen so often in a row is no longer foretold.
const UNSEEN = 2;
// So far beyond the last mark of a hand, in cycles, moments are foretold.
const FAR = 1.05;

const isHand = (event) => ["entry", "catch", "exit"].includes(event.split("_")[1]);

class Cycle {
  // `marks` and `unseen` are those of one pass, by time: { time, event }. `period` is null before
  // a hand was marked twice.
  constructor(marks, unseen) {
    this.marks = marks;
    this.unseen = unseen;
    this.gaps = this.foldedGaps();
    this.period = this.gaps.length ? this.periodAt(Infinity) : null;
    this.knots = this.period ? this.handKnots() : [];
  }

  // From one mark of a hand to the next of its kind: how long a cycle is, and when.
  // Where a cycle was left out, the gap is two of them.
  foldedGaps() {
    const gaps = [];
    for (const event of EVENT_NAMES.filter(isHand)) {
      const times = this.marks.filter((mark) => mark.event === event).map((mark) => mark.time);
      for (let at = 1; at < times.length; at += 1) {
        const gap = times[at] - times[at - 1];
        if (gap < SHORTEST_S || gap > LONGEST_S) continue;
        gaps.push({ middle: (times[at] + times[at - 1]) / 2, gap });
      }
    }
    const usual = median(gaps.map((one) => one.gap));
    const fold = ({ middle, gap }) => ({ middle, gap: gap / Math.max(1, Math.round(gap / usual)) });
    return gaps.map(fold).sort((a, b) => a.middle - b.middle);
  }

  // How long a cycle is at a time; past the last mark, in the last cycles.
  periodAt(time) {
    const latest = this.gaps[this.gaps.length - 1].middle;
    const at = Math.min(time, latest);
    const near = nearest(this.gaps, CYCLES, (one) => Math.abs(one.middle - at));
    return median(near.map((one) => one.gap));
  }

  // Each mark of a hand with its phase, counted on through the pass: { time, phase }.
  handKnots() {
    const hands = this.marks.filter((mark) => isHand(mark.event));
    const number = (event) => hands.filter((mark) => mark.event === event).length;
    const [main] = EVENT_NAMES.filter(isHand).sort((a, b) => number(b) - number(a));
    const knots = [];
    for (const { time } of hands.filter((mark) => mark.event === main)) {
      const before = knots[knots.length - 1];
      const cycles = before ? Math.round((time - before.time) / this.periodAt(time)) : 0;
      knots.push({ time, phase: before ? before.phase + cycles : 0 });
    }
    // By the main kind alone first; then by all, so that one wrong mark is outvoted.
    return this.knotsBy(this.knotsBy(knots, ASKED), VOTES);
  }

  // Each mark of a hand on the usual phase of its kind, by so many of the nearest knots known.
  knotsBy(known, votes) {
    const found = [];
    for (const event of EVENT_NAMES.filter(isHand)) {
      const times = this.marks.filter((mark) => mark.event === event).map((mark) => mark.time);
      if (!times.length) continue;
      const phases = times.map((time) => this.phaseOf(time, known, votes));
      const usual = usualPhase(phases.slice(-CYCLES));
      times.forEach((time, at) => {
        found.push({ time, phase: Math.round(phases[at] - usual) + usual });
      });
    }
    return found;
  }

  // The phase of a time, as the knots nearby have it.
  phaseOf(time, knots = this.knots, asked = ASKED) {
    const period = this.periodAt(time);
    const near = nearest(knots, asked, (knot) => Math.abs(knot.time - time));
    return median(near.map((knot) => knot.phase + (time - knot.time) / period));
  }

  // When a phase comes, as the knots nearby have it. Of old knots none is asked beside a fresh
  // one: strokes wander.
  timeOf(phase) {
    const apart = (knot) => Math.abs(knot.phase - phase);
    const near = nearest(this.knots, ASKED, apart);
    const fresh = near.filter((knot) => apart(knot) <= apart(near[0]) + 0.5);
    const period = this.periodAt(fresh[0].time + (phase - fresh[0].phase) * this.period);
    return median(fresh.map((knot) => knot.time + (phase - knot.phase) * period));
  }

  // What comes once in so many cycles, always at one phase: { event, phase, every, last }, where
  // `last` is the phase of the last one seen or not seen.
  rounds() {
    return EVENT_NAMES.flatMap((event) => {
      const phases = this.marks
        .filter((mark) => mark.event === event)
        .map((mark) => this.phaseOf(mark.time));
      if (!phases.length) return [];
      const recent = phases.filter((phase) => phase > phases[phases.length - 1] - CYCLES);
      const groups = event.endsWith("_kick") ? kicksApart(recent) : [recent];
      const every = event.endsWith("_breath") ? usualStep(phases) : 1;
      return groups.map((group) => this.round(event, group, every)).filter(Boolean);
    });
  }

  round(event, phases, every) {
    const phase = usualPhase(phases);
    const last = phases[phases.length - 1];
    const isOwn = (other) => Math.abs(other - phase - Math.round(other - phase)) < SAME_KICK;
    const later = this.unseen
      .filter((moment) => moment.event === event)
      .map((moment) => this.phaseOf(moment.time))
      .filter((other) => other > last + 0.5 && isOwn(other));
    if (later.length >= UNSEEN) return null;
    return { event, phase, every, last: Math.max(last, ...later) };
  }

  // The moments that come next: { time, event }, by time. Each kind goes on from its own last
  // mark to a little beyond the last mark of a hand.
  foretold() {
    if (!this.period) return [];
    const end = Math.max(...this.knots.map((knot) => knot.phase)) + FAR;
    const found = [];
    for (const { event, phase, every, last } of this.rounds()) {
      const from = Math.round(last - phase) + phase + every;
      for (let next = from; next <= end; next += every) {
        found.push({ time: this.timeOf(next), event });
      }
    }
    return found.sort((a, b) => a.time - b.time);
  }
}

// Kicks of one foot, as phases, parted into those that come again in each cycle. One that came
// once in several cycles is left out.
function kicksApart(phases) {
  const inCycle = (phase) => phase - Math.floor(phase);
  const sorted = [...phases].sort((a, b) => inCycle(a) - inCycle(b));
  const groups = [];
  sorted.forEach((phase, at) => {
    const apart = at ? inCycle(phase) - inCycle(sorted[at - 1]) : Infinity;
    if (apart > SAME_KICK) groups.push([]);
    groups[groups.length - 1].push(phase);
  });
  // The end of a cycle is the beginning of the next.
  const [first, last] = [groups[0], groups[groups.length - 1]];
  if (groups.length > 1 && inCycle(first[0]) + 1 - inCycle(last[last.length - 1]) <= SAME_KICK) {
    first.push(...groups.pop());
  }
  const cycles = Math.max(...phases) - Math.min(...phases) + 1;
  for (const group of groups) group.sort((a, b) => a - b);
  return groups.filter((group) => group.length >= 0.4 * Math.floor(cycles));
}

// The usual phase in a cycle, near the last one.
function usualPhase(phases) {
  const last = phases[phases.length - 1];
  return last + median(phases.map((phase) => phase - last - Math.round(phase - last)));
}

// In how many cycles a breath comes again.
function usualStep(phases) {
  const steps = phases.slice(1).map((phase, at) => phase - phases[at]);
  return Math.max(1, Math.round(median(steps.slice(-CYCLES)) || 1));
}

function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

// The `count` least of `values` by `apart`, the least first.
function nearest(values, count, apart) {
  return [...values].sort((a, b) => apart(a) - apart(b)).slice(0, count);
}
