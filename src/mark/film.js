// The film: which frame is shown, at which media time, and how to get to another one.
//
// All times are media times in seconds, as the file itself gives them. A phone's frames are
// not evenly spaced, so nothing here counts frames by a rate where the browser can tell the
// time of the frame that it shows (requestVideoFrameCallback). Where it cannot, an asked
// frame rate stands in.

// Shorter than any gap between two frames (2000 frames a second), longer than any rounding.
const HAIR = 0.0005;
// Two places this near, each showing another frame, have none between: the border is there.
const NARROW = 2.1 * HAIR;
// A guess for the first step into a film; every later one is learnt.
const FIRST_GAP = 1 / 30;
// So many gaps must be known before one of about the shortest length is taken unchecked.
const ENOUGH_GAPS = 12;
// How long a browser may take to tell of a frame after it says that it has sought, in ms, and
// how often it is asked again where it must still tell of one.
const PATIENCE_MS = 500;
const ASKED_AGAIN = 8;

class Film {
  // `video` is the element; `onFrame` hears of every frame shown.
  constructor(video, onFrame) {
    this.video = video;
    this.onFrame = onFrame;
    this.tellsFrames = typeof video.requestVideoFrameCallback === "function";
    this.askedRate = 30;
    this.file = null;
    this.url = null;
    this.forget();
    if (this.tellsFrames) {
      this.listen();
    } else {
      video.addEventListener("timeupdate", () => this.see(this.byRate(video.currentTime)));
    }
  }

  // Forgets what was learnt of the last film.
  forget() {
    this.shown = 0;
    this.after = new Map(); // media time of a frame -> that of the next, in microseconds
    this.before = new Map(); // the same backwards
    this.gaps = []; // known gaps, rising, in seconds
    this.places = new Map(); // media time of a frame -> the earliest place known to show it
    this.last = null;
    this.waiting = null;
  }

  // Opens a file; resolves once its first frame is shown, rejects with words for a person.
  open(file) {
    this.close();
    this.file = file;
    this.url = URL.createObjectURL(file);
    return new Promise((resolve, reject) => {
      const video = this.video;
      video.onerror = () => reject(new Error(refusal(file, video.error)));
      video.onloadeddata = async () => {
        if (!video.videoWidth) {
          reject(new Error(`${file.name} holds no picture. Choose a film.`));
          return;
        }
        await this.findDuration();
        await this.learnTheStart();
        resolve();
      };
      video.src = this.url;
    });
  }

  close() {
    if (this.url) {
      this.video.onerror = null;
      this.video.onloadeddata = null;
      this.video.removeAttribute("src");
      this.video.load();
      URL.revokeObjectURL(this.url);
    }
    this.url = null;
    this.file = null;
    this.forget();
  }

  get duration() {
    return Number.isFinite(this.video.duration) ? this.video.duration : 0;
  }

  get playing() {
    return !this.video.paused && !this.video.ended;
  }

  // Films recorded in a browser do not say how long they are until their end was sought.
  async findDuration() {
    if (Number.isFinite(this.video.duration)) return;
    const known = new Promise((resolve) => {
      this.video.addEventListener("durationchange", resolve, { once: true });
      setTimeout(resolve, 5000);
    });
    this.video.currentTime = 1e7;
    await known;
  }

  // A few steps tell how far apart frames usually are; then shows the first.
  async learnTheStart() {
    await this.frameAt(0);
    for (let step = 0; step < 3 && this.tellsFrames; step += 1) await this.next();
    await this.frameAt(0);
  }

  // Hears of every frame, for ever.
  listen() {
    const heard = (_, about) => {
      this.video.requestVideoFrameCallback(heard);
      this.learnFromPlaying(about);
      this.see(about.mediaTime);
      const seeking = this.waiting;
      // A frame handed over before the search began is a late report of an older one: it is what
      // was shown until now, and not what is sought.
      if (seeking && about.presentationTime >= seeking.since) seeking.frame(about.mediaTime);
    };
    this.video.requestVideoFrameCallback(heard);
  }

  see(time) {
    this.shown = time;
    this.onFrame(time);
  }

  // Two frames shown one after the other in slow play are neighbours, if none was dropped: a busy
  // browser does not always say that one was, but then they lie farther apart than frames do.
  learnFromPlaying(about) {
    const quality = this.video.getVideoPlaybackQuality?.();
    const now = {
      time: about.mediaTime,
      count: about.presentedFrames,
      dropped: quality?.droppedVideoFrames,
    };
    const last = this.last;
    this.last = this.playing && quality && this.video.playbackRate <= 0.5 ? now : null;
    if (!last || !this.last) return;
    const isNext = now.count === last.count + 1 && now.dropped === last.dropped;
    if (isNext && now.time > last.time && this.isShortest(now.time - last.time)) {
      this.link(last.time, now.time);
    }
  }

  // Remembers that `later` is the frame after `earlier`.
  link(earlier, later) {
    const [a, b] = [micro(earlier), micro(later)];
    if (this.after.get(a) === b) return;
    this.after.set(a, b);
    this.before.set(b, a);
    const gap = later - earlier;
    const at = this.gaps.findIndex((known) => known >= gap);
    this.gaps.splice(at < 0 ? this.gaps.length : at, 0, gap);
  }

  // The usual time from one frame to the next, in seconds.
  get gap() {
    if (!this.tellsFrames) return 1 / this.askedRate;
    return this.gaps.length ? this.gaps[this.gaps.length >> 1] : FIRST_GAP;
  }

  // How long the frame at a time lasts, or the one before it, in seconds; null where neither has
  // a neighbour that was seen.
  lengthOf(time) {
    if (!this.tellsFrames) return 1 / this.askedRate;
    const at = micro(time);
    const [before, after] = [this.before.get(at), this.after.get(at)];
    if (before !== undefined) return (at - before) / 1e6;
    return after === undefined ? null : (after - at) / 1e6;
  }

  // What is known of the frames beside these times: pairs of neighbours, in microseconds.
  neighboursOf(times) {
    const pairs = times.map(micro).flatMap((at) => [
      [this.before.get(at), at],
      [at, this.after.get(at)],
    ]);
    return pairs.filter((pair) => !pair.includes(undefined));
  }

  // Is the frame rate known from the film itself?
  get learnt() {
    return this.gaps.length >= ENOUGH_GAPS;
  }

  byRate(time) {
    return Math.floor(time * this.askedRate + 0.01) / this.askedRate;
  }

  // Shows what stands at `time`; gives the media time of that frame.
  frameAt(time) {
    const video = this.video;
    const end = Math.max(0, this.duration - HAIR / 2);
    const target = Math.min(Math.max(0, time), end);
    return new Promise((resolve) => {
      let sought = false;
      let frame = null;
      let again = 0;
      const settle = (found) => {
        if (this.waiting !== search) return;
        const place = this.places.get(micro(found)) ?? Infinity;
        this.places.set(micro(found), Math.min(place, target));
        this.waiting = null;
        video.removeEventListener("seeked", onSought);
        if (frame === null) this.see(found);
        resolve(found);
      };
      const search = {
        since: performance.now(),
        frame: (seen) => {
          frame = seen;
          if (sought) settle(seen);
        },
      };
      const onSought = () => {
        sought = true;
        if (!this.tellsFrames) settle(this.byRate(target));
        else if (frame !== null) settle(frame);
        else setTimeout(unreported, PATIENCE_MS);
      };
      // No report means that the picture did not change; but a frame that begins later than
      // what was asked for cannot stay, and a busy machine tells late.
      const unreported = () => {
        if (this.waiting !== search) return;
        const stays = this.shown <= target + HAIR || again === ASKED_AGAIN;
        again += 1;
        if (stays) settle(this.shown);
        else video.currentTime = target;
      };
      this.waiting = search;
      video.addEventListener("seeked", onSought);
      video.currentTime = target;
    });
  }

  // The earliest place known to show the frame of `time`; in most films its own beginning.
  placeOf(time) {
    return this.places.get(micro(time)) ?? time + HAIR;
  }

  // Shows the frame whose time is `time`.
  async goTo(time) {
    if (!this.tellsFrames) return this.frameAt(time + 0.5 / this.askedRate);
    let [low, high] = [0, this.placeOf(time)];
    let found = await this.frameAt(high);
    // Some films (WebM keeps no lengths of frames) show a frame later than it begins.
    for (; found < time - HAIR / 2 && high < this.duration; found = await this.frameAt(high)) {
      [low, high] = [high, high + this.gap];
    }
    while (!same(found, time) && high - low > HAIR) {
      const middle = (low + high) / 2;
      found = await this.frameAt(middle);
      if (found < time) low = middle;
      else high = middle;
    }
    return found;
  }

  // Two frames about the shortest gap apart have no room for a third between them.
  areNeighbours(earlier, later) {
    return this.learnt && this.isShortest(later - earlier);
  }

  // Is a gap about the shortest one known?
  isShortest(gap) {
    return gap <= 1.4 * this.gaps[0];
  }

  // One frame on. Gives false at the last one.
  //
  // Finds places that show this frame (low) and a later one (high), and narrows them until no
  // frame fits between. Where a frame is shown from its beginning on, as in nearly every film,
  // the two places a hair before and after that beginning settle it.
  async next() {
    if (!this.tellsFrames) return this.stepByRate(1);
    const from = this.shown;
    const known = this.after.get(micro(from));
    if (known !== undefined) {
      await this.goTo(known / 1e6);
      return true;
    }
    let low = this.placeOf(from);
    let high = low;
    let found = from;
    for (let reach = 1.3 * this.gap; found <= from; reach *= 2) {
      if (high >= this.duration) return false;
      [low, high] = [high, from + reach];
      found = await this.frameAt(high);
    }
    if (this.areNeighbours(from, found)) {
      this.link(from, found);
      return true;
    }
    let halve = false;
    while (high - low > NARROW) {
      const edges = halve ? [] : [found - HAIR, found + HAIR];
      const place = edges.find((edge) => edge > low && edge < high) ?? (low + high) / 2;
      const seen = await this.frameAt(place);
      halve = seen > from && seen < found; // a film of many frames a second: go faster
      if (seen <= from) low = place;
      else [high, found] = [place, seen];
    }
    this.link(from, found);
    if (!same(this.shown, found)) await this.goTo(found);
    return true;
  }

  // One frame back: what stands a hair before this one, if no frame fits between. Gives false
  // at the first.
  async previous() {
    if (!this.tellsFrames) return this.stepByRate(-1);
    const from = this.shown;
    const known = this.before.get(micro(from));
    if (known !== undefined) {
      await this.goTo(known / 1e6);
      return true;
    }
    let low = from - HAIR;
    let high = this.placeOf(from);
    let found = await this.frameAt(low);
    if (found >= from) return false;
    if (this.areNeighbours(found, from)) {
      this.link(found, from);
      return true;
    }
    while (high - low > NARROW) {
      const edge = from + HAIR;
      const place = edge > low && edge < high ? edge : (low + high) / 2;
      const seen = await this.frameAt(place);
      if (seen >= from) high = place;
      else [low, found] = [place, seen];
    }
    this.link(found, from);
    if (!same(this.shown, found)) await this.goTo(found);
    return true;
  }

  // Ten frames on or back: along known frames first, then as far as ten usual gaps reach.
  async leap(direction) {
    if (!this.tellsFrames) return this.stepByRate(10 * direction);
    const from = this.shown;
    const neighbours = direction > 0 ? this.after : this.before;
    let at = micro(from);
    let left = 10;
    for (; left > 0 && neighbours.has(at); left -= 1) at = neighbours.get(at);
    const middle = left > 0 ? this.gap / 2 : HAIR;
    const found = await this.frameAt(at / 1e6 + direction * left * this.gap + middle);
    return found !== from;
  }

  async stepByRate(frames) {
    const from = this.shown;
    await this.goTo(Math.max(0, from + frames / this.askedRate));
    return Math.abs(this.shown - from) > HAIR;
  }

  // Plays or stops. Resolves once it does, so that what follows finds the frame that stays.
  async toggle() {
    if (this.playing) {
      this.video.pause();
      // The last report may still be on its way; asking for this very moment settles it.
      await this.frameAt(this.video.currentTime);
    } else {
      await this.video.play();
    }
  }
}

// Times as keys: whole microseconds, the resolution at which browsers report them.
function micro(time) {
  return Math.round(time * 1e6);
}

function same(a, b) {
  return Math.abs(a - b) < HAIR / 2;
}

// Why a file cannot be marked.
function refusal(file, error) {
  if (!file.size) return `${file.name} is empty. Choose a film.`;
  if (error && error.code === MediaError.MEDIA_ERR_DECODE) {
    return `${file.name} is damaged: this browser could not read on. Copy it again from the camera.`;
  }
  return (
    `${file.name} cannot be shown: it is no film, or of a kind that this browser does not play. ` +
    "Try another browser, or save the film as MP4 (H.264) on the phone."
  );
}
