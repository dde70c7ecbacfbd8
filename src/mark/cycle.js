// The moments that a swimmer's rhythm foretells in one pass. Nothing here knows the page, and
// nothing here is ever saved.
//
// Of each kind of mark its usual phase comes again, a cycle on. Of a kind not yet marked in the pass
// the pass before tells the phase, or the other side, half a cycle on.

// Kicks of one foot nearer than this are the same kick of other cycles; six beats lie 1/3 apart.
const SAME_KICK = 0.15;
// A kind that was not seen so often in a row is no longer foretold.
const UNSEEN = 2;
// So far beyond the last moment of a hand that was dealt with, in cycles, moments are foretold; not
// beyond the last mark of one where so many after it were not seen.
const FAR = 1.05;
const GONE = 3;

const sideOf = (event) => event.split("_")[0];
const isBreath = (event) => event.endsWith("_breath");

class Cycle {
  // `marks` and `unseen` are those of one pass, by time: { time, event }. `before` is the cycle of
  // the last pass before that tells of one, or null.
  constructor(marks, unseen, before) {
    this.marks = marks;
    this.unseen = unseen;
    const known = before && {
      period: before.rhythm.period,
      phaseIn: (event) => before.phasesIn(event)[0],
    };
    this.rhythm = new Rhythm(marks.filter((mark) => isHand(mark.event)), known);
    this.sides = this.sidesSeen(before?.sides ?? []);
    // The phases of what comes once a cycle, by its name: one for each kick of a foot.
    this.usual = new Map(before?.usual ?? []);
    if (!this.rhythm.period) return;
    for (const event of EVENT_NAMES.filter((event) => !isBreath(event))) {
      const groups = this.groupsOf(event);
      if (groups.length) this.usual.set(event, groups.map(usualPhase));
    }
  }

  // The sides of which a hand was marked; where the pass before showed both, this one may as well.
  sidesSeen(before) {
    const here = SIDES.filter((side) => this.rhythm.hands.some((mark) => sideOf(mark.event) === side));
    return here.length && before.length === SIDES.length ? SIDES : here;
  }

  // The phases in a cycle of a kind of mark: its own, or half a cycle after the other side's.
  phasesIn(event) {
    const other = this.usual.get(otherSide(event)) ?? [];
    return this.usual.get(event) ?? other.map((phase) => phase + 0.5);
  }

  phasesMarked(event) {
    const times = this.marks.filter((mark) => mark.event === event).map((mark) => mark.time);
    return times.map((time) => this.rhythm.phaseOf(time));
  }

  // The same parted into what comes once a cycle.
  groupsOf(event) {
    const phases = this.phasesMarked(event);
    if (!phases.length) return [];
    const isRecent = (phase) => phase > phases[phases.length - 1] - REMEMBERED;
    return event.endsWith("_kick") ? kicksApart(phases.filter(isRecent)) : [phases];
  }

  // What comes once in so many cycles, always at one phase: { event, phase, every, last }, where
  // `last` is the phase of the last one seen or not seen.
  rounds() {
    const found = EVENT_NAMES.flatMap((event) => {
      const marked = this.phasesMarked(event);
      if (!marked.length) return this.roundsNotMarked(event);
      const every = isBreath(event) ? usualStep(marked) : 1;
      return this.groupsOf(event).map((group) =>
        this.round(event, { phase: usualPhase(group), every, last: group[group.length - 1] }),
      );
    });
    return found.filter(Boolean);
  }

  // Of a kind not yet marked in this pass, on a side that is seen: from the first mark of a hand on,
  // or from the other side's first on.
  roundsNotMarked(event) {
    if (!this.sides.includes(sideOf(event)) || isBreath(event)) return [];
    const other = this.phasesMarked(otherSide(event));
    const from = other.length ? other[0] : this.rhythm.knots[0].phase;
    return this.phasesIn(event).map((phase) => {
      const last = phase + Math.floor(from - phase);
      return this.round(event, { phase, every: 1, last });
    });
  }

  round(event, { phase, every, last }) {
    const isOwn = (other) => Math.abs(other - phase - Math.round(other - phase)) < SAME_KICK;
    const later = this.unseen
      .filter((moment) => moment.event === event)
      .map((moment) => this.rhythm.phaseOf(moment.time))
      .filter((other) => other > last + 0.5 && isOwn(other));
    if (later.length >= UNSEEN) return null;
    return { event, phase, every, last: Math.max(last, ...later) };
  }

  // The phase up to which moments are foretold.
  end() {
    const { hands } = this.rhythm;
    const last = hands[hands.length - 1].time;
    const later = this.unseen.filter(({ time, event }) => isHand(event) && time > last);
    if (later.length >= GONE) return this.rhythm.phaseOf(last);
    return Math.max(...[last, ...later.map(({ time }) => time)].map((time) => this.rhythm.phaseOf(time))) + FAR;
  }

  // The moments that come next: { time, event }, by time. Each kind goes on from its own last mark.
  foretold() {
    const { rhythm } = this;
    if (!rhythm.period) return [];
    const end = this.end();
    const found = [];
    for (const { event, phase, every, last } of this.rounds()) {
      const from = Math.round(last - phase) + phase + every;
      for (let next = from; next <= end; next += every) {
        found.push({ time: rhythm.timeOf(next), event });
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

// In how many cycles a breath comes again.
function usualStep(phases) {
  const steps = phases.slice(1).map((phase, at) => phase - phases[at]);
  return Math.max(1, Math.round(middle(steps.slice(-CYCLES)) || 1));
}
