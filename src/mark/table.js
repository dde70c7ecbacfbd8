// The file that is saved: a line a mark by time. What is known of the film stands on every line,
// so that a spreadsheet may sort, delete and put together lines.

const COLUMNS = ["time", "event", "pass", "frame_s", "film", "mirrored"];
const SYNC_COLUMNS = ["sync", "track_s_at_film_0", "drift_ppm", "sync_low_ms", "sync_high_ms", "several_paths"];
const CUES_COLUMN = "sync_cues";

function csv(marks, film, track) {
  const isFound = track.isFound;
  // One place in the track is enough: what the program found goes before what was heard.
  const rows = marks.list.filter((mark) => !isFound || !isCue(mark));
  // A place in the track says nothing without the cues that it lies among.
  const knowsCues = track.syncCues !== null && (isFound || rows.some(isCue));
  const cues = knowsCues ? [track.syncCues] : [];
  const lines = rows.map((mark) => {
    const length = film.lengthOf(mark.time);
    const fields = [
      mark.time.toFixed(6),
      mark.event,
      marks.passOf(mark.time),
      length ? length.toFixed(6) : "",
      field(film.file.name),
      marks.mirrored ? "yes" : "no",
    ];
    return [...fields, ...(isFound ? syncFields(track.sync) : []), ...cues];
  });
  const header = [...COLUMNS, ...(isFound ? SYNC_COLUMNS : []), ...(knowsCues ? [CUES_COLUMN] : [])];
  return [header, ...lines].map((fields) => `${fields.join(",")}\n`).join("");
}

function syncFields(sync) {
  const [low, high] = sync.interval_ms ?? ["", ""];
  const paths = { true: "yes", false: "no" }[sync.several_paths] ?? "";
  return [sync.answer, sync.track_s_at_film_0, sync.drift_ppm ?? "", low, high, paths];
}

// Text as a field: in quotes where it must be, and never a formula to a spreadsheet.
function field(text) {
  const safe = /^'*[=+\-@]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

// `FILM-marks.csv`.
function csvName(film) {
  const stem = film.file.name.replace(/\.[^.]*$/, "").replace(/[^\p{L}\p{N}._-]+/gu, "-");
  return `${stem || "film"}-marks.csv`;
}
