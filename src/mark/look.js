// How the picture is looked at: turned round left to right, brighter, harder, and through a
// magnifier. The film itself stays as it is.

const LENS_PX = 240;
const LENS_TIMES = 3;
const LENS_MODES = ["off", "follows", "stays"];

class Look {
  // `lens` is a canvas over the picture, which holds the video.
  constructor(picture, video, lens) {
    Object.assign(this, { picture, video, lens });
    this.mirrored = false;
    this.mode = LENS_MODES[0];
    this.at = { x: 0.5, y: 0.5 }; // the middle of what is magnified, as shares of the picture shown
    picture.addEventListener("pointermove", (event) => {
      if (this.mode === "follows") this.point(event);
    });
    picture.addEventListener("pointerdown", (event) => this.point(event));
    new ResizeObserver(() => this.draw()).observe(picture);
  }

  // Shows a film through a mirror the right way round.
  mirror(mirrored) {
    this.mirrored = mirrored;
    this.picture.classList.toggle("mirrored", mirrored);
    this.draw();
  }

  // Brightness and contrast in percent.
  light(brightness, contrast) {
    this.picture.style.setProperty("--light", `brightness(${brightness}%) contrast(${contrast}%)`);
  }

  nextMode() {
    this.mode = LENS_MODES[(LENS_MODES.indexOf(this.mode) + 1) % LENS_MODES.length];
    this.draw();
  }

  point(event) {
    if (this.mode === "off") return;
    const box = this.shownBox();
    const share = (value, from, size) => Math.min(Math.max(0, (value - from) / size), 1);
    const frame = this.picture.getBoundingClientRect();
    this.at = {
      x: share(event.clientX - frame.left, box.left, box.width),
      y: share(event.clientY - frame.top, box.top, box.height),
    };
    this.draw();
  }

  // Where in its frame the picture stands, in pixels: it keeps its shape.
  shownBox() {
    const { clientWidth, clientHeight } = this.picture;
    const { videoWidth, videoHeight } = this.video;
    const scale = Math.min(clientWidth / videoWidth, clientHeight / videoHeight);
    const [width, height] = [videoWidth * scale, videoHeight * scale];
    return {
      left: (clientWidth - width) / 2,
      top: (clientHeight - height) / 2,
      width,
      height,
      scale,
    };
  }

  // Draws the lens anew, from the film's own points.
  draw() {
    const { lens, video } = this;
    lens.hidden = this.mode === "off" || !video.videoWidth;
    if (lens.hidden) return;
    const box = this.shownBox();
    lens.style.left = `${box.left + this.at.x * box.width - LENS_PX / 2}px`;
    lens.style.top = `${box.top + this.at.y * box.height - LENS_PX / 2}px`;
    const points = Math.round(LENS_PX * devicePixelRatio);
    [lens.width, lens.height] = [points, points];
    const pen = lens.getContext("2d");
    const times = (points / LENS_PX) * box.scale * LENS_TIMES;
    const x = (this.mirrored ? 1 - this.at.x : this.at.x) * video.videoWidth;
    const y = this.at.y * video.videoHeight;
    pen.translate(points / 2, points / 2);
    pen.scale(this.mirrored ? -times : times, times);
    pen.drawImage(video, -x, -y);
  }
}
