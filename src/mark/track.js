// Where the film lies in a track, as the program found it in the film's sound and wrote it into
// this page; and the cues of that track on the film's clock.

const ANSWERS = {
  locked: "The cues of the track are drawn where they most likely sounded.",
  cycles: "The cues of the track are drawn: their moment in the cycle is known, the cycle is not.",
  other: "The sound is that of the other pairing: no cues are drawn.",
  unsure: "Cues sound in the film, but not surely those of the track: set one by hand.",
  none: "No cues of the track were found in the film's sound.",
};

class Track {
  // `found` is { film, timing_flags, sync_cues, sync: { answer, track_s_at_film_0, drift_ppm, interval_ms,
  // several_paths }, cues: [{ kind, side, film_s, sounds }] }, or empty; or { other } where it is of
  // another film.
  constructor(found) {
    this.other = found.other ?? null;
    this.timingFlags = found.timing_flags ?? "--session SESSION.toml";
    this.syncCues = found.sync_cues ?? null; // by which the program knows them again
    this.sync = found.sync ?? null;
    this.cues = this.isFound ? found.cues ?? [] : [];
  }

  // Is the place known well enough to time kicks by it?
  get isFound() {
    return this.sync?.answer === "locked" || this.sync?.answer === "cycles";
  }

  get words() {
    if (this.other) return `The cues in this page are of ${this.other}: none are drawn.`;
    return ANSWERS[this.sync?.answer] ?? "";
  }
}
