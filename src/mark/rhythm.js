// The swimmer's rhythm in one pass: how long a cycle is, and where in it a moment lies.
// Nothing here knows the page.
//
// A hand enters, catches and leaves once a cycle. So marks of hands tell how long a cycle is, and
// where in it each of them lies: its phase, in cycles, counted on through the pass.

// The longest and the shortest cycle, in seconds: 10 to 160 strokes a minute.
const LONGEST_S = 12;
const SHORTEST_S = 0.75;
// So many of the nearest cycles tell the length of one.
const CYCLES = 5;
// So many of the last marks of a kind tell its usual phase.
const REMEMBERED = 10;
// So often the phases of all kinds are set against each other.
const SWEEPS = 2;
// So many marks around a moment are asked for its phase. One that lies farther than this, in
// cycles, from what most of them say is taken for a wrong one.
const ASKED = 7;
const WRONG = 0.12;
// How much a swim wanders off an even one in a cycle, beside the scatter of single marks; both as
// squares. Chosen by drawn swims, no source.
const WANDERS = 6;

const isHand = (event) => ["entry", "catch", "exit"].includes(event.split("_")[1]);
const HAND_NAMES = EVENT_NAMES.filter(isHand);

class Rhythm {
  // `hands` are the marks of hands, by time: { time, event }. `known` is what the pass before tells:
  // { period, phaseIn(event) }, or null. `period`, in seconds, is null where none is known.
  constructor(hands, known) {
    this.hands = hands;
    this.kinds = new Set(hands.map((mark) => mark.event)).size;
    this.gaps = this.cyclesSeen();
    this.period = null;
    // Each mark with its phase: { time, event, phase }, by time. Marks of a kind have one phase.
    this.knots = [];
    if (!hands.length) return;
    this.period = this.gaps.length ? this.periodAt(Infinity) : known?.period ?? null;
    if (this.period) this.findPhases(known);
  }

  timesOf(event) {
    return this.hands.filter((mark) => mark.event === event).map((mark) => mark.time);
  }

  // From one mark of a hand to the next of its kind: how long a cycle is, and when. Where a cycle
  // was left out, the gap is two of them.
  cyclesSeen() {
    const gaps = HAND_NAMES.flatMap((event) => gapsOf(this.timesOf(event)));
    if (!gaps.length) return this.halfCyclesSeen();
    const usual = middle(gaps.map((one) => one.gap));
    const fold = ({ time, gap }) => ({ time, gap: gap / Math.max(1, Math.round(gap / usual)) });
    return gaps.map(fold).sort((a, b) => a.time - b.time);
  }

  // The other hand does the same half a cycle later, about.
  halfCyclesSeen() {
    return HAND_NAMES.flatMap((event) => {
      const [[one], [other]] = [this.timesOf(event), this.timesOf(otherSide(event))];
      return one < other ? gapsOf([one, 2 * other - one]) : [];
    });
  }

  // How long a cycle is at a time; past the last mark, in the last cycles.
  periodAt(time) {
    if (!this.gaps.length) return this.period;
    return middle(around(this.gaps, time, CYCLES * this.kinds).map((one) => one.gap));
  }

  // The kind that was marked most often counts the cycles; the others are set against it, and then
  // against each other.
  findPhases(known) {
    const [main] = [...HAND_NAMES].sort((a, b) => this.timesOf(b).length - this.timesOf(a).length);
    let [phase, last] = [known?.phaseIn(main) ?? 0, null];
    for (const time of this.timesOf(main)) {
      if (last !== null) phase += Math.round((time - last) / this.periodAt(time));
      this.knots.push({ time, event: main, phase });
      last = time;
    }
    for (let sweep = 0; sweep < SWEEPS; sweep += 1) {
      for (const event of HAND_NAMES.filter((event) => event !== main)) this.findPhase(event);
    }
  }

  // Puts each mark of a kind on the usual phase of its kind, as the other kinds have it.
  findPhase(event) {
    const others = this.knots.filter((knot) => knot.event !== event);
    const times = this.timesOf(event);
    const phases = times.map((time) => this.phaseOf(time, others));
    const usual = usualPhase(phases);
    const own = times.map((time, at) => ({ time, event, phase: usual + Math.round(phases[at] - usual) }));
    this.knots = [...others, ...own].sort((a, b) => a.time - b.time);
  }

  // The phase of a time.
  phaseOf(time, knots = this.knots) {
    const period = this.periodAt(time);
    return time / period + this.leadAt(time, period, knots);
  }

  // When a phase comes.
  timeOf(phase) {
    const apart = (knot) => Math.abs(knot.phase - phase);
    const near = this.knots.reduce((a, b) => (apart(b) < apart(a) ? b : a));
    const about = near.time + (phase - near.phase) * this.period;
    const period = this.periodAt(about);
    return (phase - this.leadAt(about, period, this.knots)) * period;
  }

  // How far the swim leads an even one of this period at a time, in cycles. The marks around say
  // it, the nearer ones with more weight: so each new mark corrects all that comes after it.
  leadAt(time, period, knots) {
    const said = around(knots, time, ASKED).map((knot) => ({
      apart: (knot.time - time) / period,
      lead: knot.phase - knot.time / period,
    }));
    const leads = said.map((one) => one.lead).sort((a, b) => a - b);
    const most = leads[leads.length >> 1];
    const right = said.filter((one) => Math.abs(one.lead - most) <= WRONG);
    const sides = [right.filter((one) => one.apart <= 0), right.filter((one) => one.apart > 0)].map(followed);
    const weight = sides[0].weight + sides[1].weight;
    return (sides[0].lead * sides[0].weight + sides[1].lead * sides[1].weight) / weight;
  }
}

// What the marks on one side of a moment say of it, and what that weighs: a lead that wanders
// evenly is followed towards the moment (a Kalman filter of one level).
function followed(said) {
  const inward = said.map(({ apart, lead }) => ({ apart: Math.abs(apart), lead }));
  inward.sort((a, b) => b.apart - a.apart);
  let [lead, spread, at] = [0, Infinity, 0];
  for (const one of inward) {
    spread += WANDERS * (at - one.apart);
    const gain = 1 / (1 + 1 / spread);
    lead += gain * (one.lead - lead);
    [spread, at] = [gain, one.apart];
  }
  return { lead, weight: 1 / (spread + WANDERS * at) };
}

// How long it is from each time to the next, and when, where that may be cycles.
function gapsOf(times) {
  return times
    .slice(1)
    .map((time, at) => ({ time: (time + times[at]) / 2, gap: time - times[at] }))
    .filter(({ gap }) => gap >= SHORTEST_S && gap <= LONGEST_S);
}

// The usual phase in a cycle, near the last one.
function usualPhase(phases) {
  const recent = phases.slice(-REMEMBERED);
  const last = recent[recent.length - 1];
  return last + middle(recent.map((phase) => phase - last - Math.round(phase - last)));
}
