// Opening a film, with the marks that this browser keeps for it.

byId("choose").addEventListener("change", (event) => {
  const [file] = event.target.files;
  event.target.value = ""; // so that the same file can be chosen again
  event.target.blur(); // Enter and Space belong to the film now
  if (file) doing = doing.then(() => open(file));
});

async function open(file) {
  document.body.dataset.film = "opening";
  await unlooped();
  marks.clear();
  [target, passed] = [null, []];
  key = null;
  saved = true;
  say(`Opening ${file.name}.`);
  try {
    await film.open(file);
    key = kept.key(file, film.duration);
    const text = kept.read(key);
    const { at, neighbours } = text ? marks.fromText(text) : { at: 0, neighbours: [] };
    for (const [earlier, later] of neighbours) film.link(earlier / 1e6, later / 1e6);
    track = trackOf(file);
    if (at > 0) await film.goTo(at);
    document.body.dataset.film = "open";
    const there = marks.list.length ? `${count(marks.list.length, "mark")} from before are here. ` : "";
    const next = track.words || "Step to the frame you want, then press what you see.";
    say(`${file.name}: ${there}${next}`);
  } catch (error) {
    film.close();
    document.body.dataset.film = "none";
    say(error.message);
  }
  show();
  listKept();
}

// The program may have written into the page where a film lies in a track; another film has no
// part in it. A film that was saved in another form is the same one.
function trackOf(file) {
  const found = JSON.parse(byId("cues").textContent);
  const stem = (name) => name.replace(/\.[^.]*$/, "");
  const isOther = found.film !== undefined && stem(found.film) !== stem(file.name);
  return new Track(isOther ? { other: found.film } : found);
}

// Films whose marks this browser keeps, to be chosen again.
function listKept() {
  const films = kept.films();
  byId("kept").hidden = films.length === 0;
  const rows = films.map((kept_film) => {
    const row = document.createElement("li");
    const name = document.createElement("span");
    name.textContent = `${kept_film.name}, ${count(kept_film.count, "mark")}`;
    const forget = document.createElement("button");
    forget.textContent = "Forget";
    forget.setAttribute("aria-label", `Forget the marks of ${kept_film.name}`);
    forget.addEventListener("click", () => {
      if (!confirm(`Forget the ${count(kept_film.count, "mark")} of ${kept_film.name}?`)) return;
      kept.forget(kept_film.key);
      listKept();
    });
    row.append(name, forget);
    return row;
  });
  byId("kept-films").replaceChildren(...rows);
}
