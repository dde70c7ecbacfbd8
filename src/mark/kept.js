// What the browser keeps of the work on each film. A browser may forbid keeping anything, or be
// full: then `trouble` says so in words, and the page goes on without.

const KEPT_PREFIX = "cuelane-mark:";

// Under a film's name, size and length.
const kept = {
  trouble: null,

  key(file, duration) {
    return KEPT_PREFIX + JSON.stringify([file.name, file.size, duration.toFixed(3)]);
  },

  read(key) {
    return attempt(() => localStorage.getItem(key));
  },

  write(key, text) {
    const written = attempt(() => (localStorage.setItem(key, text), true));
    if (written) this.trouble = null;
  },

  forget(key) {
    attempt(() => localStorage.removeItem(key));
  },

  // Films with marks: their keys, names and numbers of marks.
  films() {
    const keys = attempt(() => Object.keys(localStorage)) ?? [];
    const about = (key) => {
      try {
        const [name] = JSON.parse(key.slice(KEPT_PREFIX.length));
        const count = JSON.parse(localStorage.getItem(key)).marks.length;
        return count > 0 ? { key, name, count } : null;
      } catch {
        return null; // not written by this page
      }
    };
    return keys.filter((key) => key.startsWith(KEPT_PREFIX)).map(about).filter(Boolean);
  },
};

function attempt(action) {
  try {
    return action();
  } catch (error) {
    const full = error.name === "QuotaExceededError";
    const why = full ? "has no room left to keep them" : "does not let this page keep anything";
    kept.trouble = `Your marks are not kept: this browser ${why}. Press Save marks before you close or reload the page.`;
    return null;
  }
}
