// The marks of one film: what is marked, where the passes begin, undo, and what is kept.
// Nothing here knows the page.

const MOST_UNDO = 500;

class Marks {
  constructor() {
    this.clear();
  }

  clear() {
    // { time, event, foretold }, by time. `foretold` is when it was, where it was; never kept.
    this.list = [];
    this.splits = []; // media times at which a new pass begins, rising
    this.unseen = []; // { time, event } that were foretold and not seen; never saved
    this.mirrored = false; // does the film show left as right?
    this.past = [];
    this.selected = null;
    this.told = null; // what is foretold by these marks, once it was asked for
  }

  // Remembers how things stand, so that it can be undone.
  remember() {
    this.told = null;
    this.past.push(this.snapshot());
    if (this.past.length > MOST_UNDO) this.past.shift();
  }

  snapshot() {
    const list = this.list.map((mark) => ({ ...mark }));
    const { mirrored, unseen, splits } = this;
    const selected = this.list.indexOf(this.selected);
    return { list, splits: [...splits], unseen: [...unseen], mirrored, selected };
  }

  undo() {
    const past = this.past.pop();
    if (!past) return false;
    Object.assign(this, past, { told: null });
    this.selected = past.list[past.selected] ?? null;
    return true;
  }

  sort() {
    const place = (mark) => ALL_NAMES.indexOf(mark.event);
    this.list.sort((a, b) => a.time - b.time || place(a) - place(b));
  }

  at(time, event) {
    return this.list.find((mark) => mark.event === event && same(mark.time, time));
  }

  // Adds and selects a mark; gives false, and selects the old one, where it is there already. Of
  // cues there is one: a second takes its place.
  add(time, event, foretold) {
    const there = this.at(time, event);
    if (!there) this.remember();
    const mark = there ?? { time, event, foretold };
    if (CUE_NAMES.includes(event)) this.list = this.list.filter((other) => !isCue(other));
    if (!this.list.includes(mark)) this.list.push(mark);
    this.sort();
    this.selected = mark;
    return !there;
  }

  // Moves the selected mark; gives false where its like stands there already.
  move(time) {
    const mark = this.selected;
    if (this.at(time, mark.event)) return false;
    this.remember();
    mark.time = time;
    this.sort();
    return true;
  }

  // Deletes the selected mark and gives it.
  remove() {
    const mark = this.selected;
    this.remember();
    this.list.splice(this.list.indexOf(mark), 1);
    this.selected = null;
    return mark;
  }

  // The pass to which a time belongs, from 1.
  passOf(time) {
    return 1 + this.splits.filter((split) => split <= time + HAIR / 2).length;
  }

  // Begins a new pass at `time`; gives false where one begins there.
  split(time) {
    if (time <= HAIR || this.splits.some((split) => same(split, time))) return false;
    this.remember();
    this.splits.push(time);
    this.splits.sort((a, b) => a - b);
    return true;
  }

  // Joins the pass of `time` with the one before; gives false for the first pass.
  join(time) {
    const pass = this.passOf(time);
    if (pass === 1) return false;
    this.remember();
    this.splits.splice(pass - 2, 1);
    return true;
  }

  // The nearest mark after (1) or before (-1) the selected one, or else `time`.
  neighbour(direction, time) {
    const at = this.list.indexOf(this.selected);
    if (at >= 0) return this.list[at + direction];
    const onward = (mark) => direction * (mark.time - time) > HAIR / 2;
    return direction > 0 ? this.list.find(onward) : this.list.findLast(onward);
  }

  // Says that a foretold moment is not to be seen.
  miss(moment) {
    this.remember();
    this.unseen.push(moment);
    this.unseen.sort((a, b) => a.time - b.time);
  }

  // Turns the film round left to right. With `exchange` marks set so far change sides with it, as
  // they were set by the wrong picture; a cue was heard, and keeps its side.
  mirror(exchange) {
    this.remember();
    this.mirrored = !this.mirrored;
    if (!exchange) return;
    for (const mark of this.list.filter((mark) => !isCue(mark))) mark.event = otherSide(mark.event);
    this.unseen = this.unseen.map(({ time, event }) => ({ time, event: otherSide(event) }));
    this.sort();
  }

  // The swimmer's cycle in each pass, which begins as the passes before have taught it.
  cycles() {
    let before = null;
    return [0, ...this.splits].map((_, index) => {
      const isHere = (one) => this.passOf(one.time) === index + 1 && !isCue(one);
      const cycle = new Cycle(this.list.filter(isHere), this.unseen.filter(isHere), before);
      if (cycle.rhythm.period) before = cycle;
      return cycle;
    });
  }

  // The moments foretold, each in its own pass: { time, event }, by time.
  foretold() {
    this.told ??= this.cycles().flatMap((cycle, index) => {
      const moments = cycle.foretold();
      return moments.filter((moment) => this.passOf(moment.time) === index + 1);
    });
    return this.told;
  }

  // As text to be kept. `at` is the time last shown, `neighbours` what is known of the frames.
  toText(at, neighbours) {
    const { splits, unseen, mirrored } = this;
    const marks = this.list.map(({ time, event }) => ({ time, event }));
    return JSON.stringify({ format: 1, at, marks, splits, unseen, mirrored, neighbours });
  }

  // Reads what toText wrote; what does not hold is left out. Gives { at, neighbours }.
  fromText(text) {
    this.clear();
    const kept = JSON.parse(text);
    const isTime = (time) => Number.isFinite(time) && time >= 0;
    const holds = (mark) => isTime(mark?.time) && ALL_NAMES.includes(mark.event);
    const held = (list) => (list ?? []).filter(holds).map(({ time, event }) => ({ time, event }));
    this.list = held(kept.marks);
    this.unseen = held(kept.unseen);
    this.mirrored = kept.mirrored === true;
    this.splits = (kept.splits ?? []).filter(isTime).sort((a, b) => a - b);
    this.sort();
    const isPair = (pair) => isTime(pair?.[0]) && isTime(pair[1]) && pair[0] < pair[1];
    const neighbours = (kept.neighbours ?? []).filter(isPair);
    return { at: isTime(kept.at) ? kept.at : 0, neighbours };
  }
}
