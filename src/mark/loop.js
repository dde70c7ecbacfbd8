// The frames around a moment again and again, slowly.

const AROUND_S = 0.2; // before and after
const LOOP_SPEED = 0.25; // at most

class Loop {
  constructor(film) {
    this.film = film;
    this.around = null; // the moment, or null where nothing is played again
    film.video.addEventListener("ended", () => this.again());
  }

  get on() {
    return this.around !== null;
  }

  get from() {
    return Math.max(0, this.around - AROUND_S);
  }

  async start(moment) {
    const { video } = this.film;
    this.around = moment;
    video.playbackRate = Math.min(video.playbackRate, LOOP_SPEED);
    await this.film.frameAt(this.from);
    await video.play();
  }

  // Hears of every frame.
  see(time) {
    if (this.on && time >= this.around + AROUND_S) this.again();
  }

  again() {
    if (!this.on) return;
    this.film.video.currentTime = this.from;
    this.film.video.play().catch(() => {}); // stopped meanwhile
  }

  // Ends, with the moment in the picture.
  async stop() {
    const { video } = this.film;
    const moment = this.around;
    this.around = null;
    video.pause();
    video.playbackRate = video.defaultPlaybackRate;
    await this.film.goTo(moment);
  }
}
