// Further leaves: parts of the report page that the server draws, versions, and what can be taken away.
import { h, button, badge, placeStyles, plural, signs } from "./dom.js";
import { session, lanes, nameOf, named, post, act, changed, say } from "./store.js";
import { hear } from "./listen.js";
import { chooseFile } from "./choose.js";

const shown = {};

// drawPart shows a part of the report for the present sheet.
export function drawPart(root, name) {
  const s = session();
  const key = name + s.rev;
  if (shown.key === key && root.firstChild) return;
  shown.key = key;
  let box = root.querySelector(".drawn");
  if (!box || root.dataset.part !== name) {
    box = h("div.drawn");
    root.replaceChildren(h("p.hint", {}, name === "sweep" ? "Folding onto every number of pairs …" : "One moment …"), box);
  }
  root.dataset.part = name;
  const gone = () => shown.key !== key || !box.isConnected; // another leaf is open meanwhile
  post("part", { name }).then(({ html }) => {
    if (gone()) return;
    root.querySelector(".hint")?.remove();
    const doc = new DOMParser().parseFromString(html, "text/html");
    placeStyles(doc.body);
    box.replaceChildren(...doc.body.childNodes);
    placeStyles(box);
    if (name === "patch") followTracks(root, box, s);
    if (name === "patch" || name === "levels") box.prepend(h("div.row.ontop", {}, h("a.button", { href: "take/report.html?show=1", target: "_blank", rel: "noopener" }, "Open to print")));
  }).catch((err) => {
    if (gone() || err.gone) return;
    root.querySelector(".hint")?.remove();
    box.replaceChildren(h("p.alarmed", {}, err.message));
  });
}

// followTracks lets the patch drawing follow a track that is pointed at, from file to plug to return.
function followTracks(root, box, s) {
  const groups = [...box.querySelectorAll("svg > g")].filter((g) => g.querySelector("rect"));
  const way = h("ol.way", { "aria-live": "polite" });
  const follow = async (lane, file) => {
    groups.forEach((g, i) => i < s.lanes.length && g.classList.toggle("dim", i !== lane.number - 1));
    try {
      const { steps } = await post("follow", { file });
      way.replaceChildren(...steps.map((x) => h("li", {}, x)));
    } catch (err) {
      if (!err.gone) say(err.message);
    }
  };
  const leave = () => groups.forEach((g) => g.classList.remove("dim"));
  box.prepend(h("section.follow", {}, h("h2", {}, "Follow a track"), h("div.names", {}, s.lanes.map((l) => l.tracks.map((t) => {
    const b = h("button", { type: "button", class: `to p${l.hue}`, "data-file": t.file }, badge(l, true), " ", h("bdi", {}, nameOf(t.file)));
    for (const e of ["pointerenter", "focus"]) b.addEventListener(e, () => follow(l, t.file));
    b.addEventListener("pointerleave", leave);
    b.addEventListener("blur", leave);
    return b;
  }))), way));
}

let compared = null;

export function drawVersions(root) {
  const s = session();
  const sign = JSON.stringify([s.rev, s.versions, compared]);
  if (root.sign === sign && root.firstChild) return;
  root.sign = sign;
  root.replaceChildren(h("section", {}, h("h2", {}, "Versions"), h("p.hint", {}, "Keep what is, under a name, to come back to it or to compare: what moved, why, and how it sounds."),
    h("form.path", { onsubmit: async (e) => {
      e.preventDefault();
      const name = new FormData(e.target).get("name");
      if (await act({ name }, "version")) say("Kept.");
    } }, h("label", {}, h("span.away", {}, "Name of the version"), h("input", { name: "name", type: "text", autocomplete: "off", placeholder: "name, for example: bass with the drums" })), h("button.main", { type: "submit" }, "Keep this version")),
    h("ul.versions", {}, s.versions.map((v, i) => h("li.paper", {}, h("b", {}, v.name), h("span", {}, new Date(v.time * 1000).toLocaleString()),
      button("Compare", () => compare({ version: i })), button("Go back to it", () => act({ version: i }, "return"))))),
    h("h3", {}, "Another sheet"), h("p.hint", {}, "A sheet saved before, or a table of your own with the columns track and pair, beside what is now."),
    h("div.row", {}, button("Compare with a sheet", async () => {
      const path = await chooseFile("A sheet to compare with", "sheets");
      if (path) compare({ path });
    }, { id: "compare-sheet" })),
    compared ? comparison(s, compared) : null));
  if (compared && !compared.seen) {
    compared.seen = true;
    root.querySelector(".compared").scrollIntoView({ block: "start" });
  }
}

async function compare(what) {
  try {
    compared = await post("compare", what);
    compared.what = what;
  } catch (err) {
    say(err.message, true);
  }
  changed();
}

function comparison(s, c) {
  const moves = c.change?.moves || [];
  const there = (n) => c.pairs.find((p) => p.number === n)?.name || (n ? "a pair of its own" : "aside");
  const here = (n) => (n ? lanes()[n - 1]?.name : "aside");
  const side = (title, pairs, act) => h("div", {}, h("h3", {}, title), pairs.map((p) => h("div.side", { class: `p${lanes()[p.number - 1]?.hue || ((p.number - 1) % 7) + 1}` },
    h("div.row", {}, badge(lanes()[p.number - 1] || { number: p.number, hue: ((p.number - 1) % 7) + 1 }, true), h("b", {}, p.name), p.was && p.was !== p.number ? h("small", {}, `pair ${p.was} there`) : null, p.tracks.length ? button("Hear", () => act(p), { "aria-label": `Hear ${p.name}, ${title}` }) : null),
    h("p", {}, named(p.tracks, (f, name) => (moves.some((m) => m.file === f) ? h("mark", {}, name) : name))))));
  return h("section.compared", { id: "compared" }, h("h2", {}, `${c.name} and now`),
    h("p", {}, moves.length ? `${plural(moves.length, "track stands", "tracks stand")} elsewhere.` : "Every track has the same company."),
    c.lost.length ? h("p.alarmed", {}, `Not in this session: ${c.lost.join(", ")}.`) : null,
    c.notes.length ? h("ul.small", {}, c.notes.map((n) => h("li", {}, n))) : null,
    moves.length ? h("ul.small.why", {}, moves.map((m) => h("li", {}, h("b", {}, nameOf(m.file)), ` ${there(m.from)} → ${here(m.to)}.`, m.for.length ? ` For it: ${m.for.join("; ")}.` : "", m.against.length ? ` Against it: ${m.against.join("; ")}.` : ""))) : null,
    c.change?.figures.length ? h("dl.figs", {}, c.change.figures.map((f) => h("div", {}, h("dt", {}, signs(f.name)), h("dd", {}, signs(`${f.before} → ${f.after}`))))) : null,
    c.path && moves.length ? h("div.row", {}, button("Take its grouping", () => act(c.what, "return"), { title: "One step of the history; it can be undone" })) : null,
    h("div.sides", {}, side(c.name, c.pairs, (p) => hear({ kind: "other", files: p.tracks, name: `${c.name}: ${p.name}` })),
      side("Now", s.lanes.map((l) => ({ number: l.number, name: l.name, tracks: l.tracks.map((t) => t.file) })), (p) => hear({ kind: "pair", pair: p.number }))));
}

const documents = [
  ["report.html", "The page", "The whole argument on one page, as a file."],
  ["sheet.csv", "Table", "Track, pair, bus: for a spreadsheet."],
  ["patch.svg", "Patch drawing", "For the wall."],
  ["labels.csv", "Cable labels", "A row for every cable."],
  ["sheet.json", "Sheet", "For foldout levels, patch, stems and report."],
  ["rig.toml", "Rig", "For foldout, with --rig."],
];

export function drawKeep(root) {
  const s = session();
  const sign = JSON.stringify([s.rev, s.stems, s.kept]);
  if (root.sign === sign && root.firstChild) return;
  root.sign = sign;
  const job = s.stems;
  const running = job && !job.over;
  root.replaceChildren(h("section", {}, h("h2", {}, "Take away"),
    h("p.hint", {}, "Every step is kept in ", h("code", {}, s.kept), s.kept_apart ? ` (not beside the folder: ${s.kept_apart})` : "", ". The tracks are never touched."),
    h("div.takes", {},
      h("article.paper", {}, h("h3", {}, "Stems"), h("p", {}, "One stereo file per pair, 32-bit float, in a new folder beside the session."),
        job ? h("p", { role: "status", id: "stems-state" }, running ? `Writing to ${job.dir}` : job.fault ? job.fault : `${plural(job.files, "file", "files")} in ${job.dir}`) : null,
        running ? gauge(job) : null,
        running ? button("Stop", () => post("stems/cancel").catch((e) => say(e.message))) : button("Write stems", () => post("stems").catch((e) => say(e.message)), { class: "main", id: "write-stems", disabled: !!s.mute })),
      h("article.paper", {}, h("h3", {}, "Print"), h("p", {}, "Lanes, levels and patch on paper. The page opens in a new tab; print it there, Ctrl P or ⌘ P."), h("a.button.main", { href: "take/report.html?show=1", target: "_blank", rel: "noopener", id: "print" }, "Open to print")),
      h("article.paper", {}, h("h3", {}, "Save the sheet"), h("p", {}, "Beside the session, under a name that is free."), button("Save", async () => {
        try {
          say("Saved as " + (await post("save")).path, true);
        } catch (err) {
          say(err.message);
        }
      }, { class: "main", id: "save" })),
      documents.map(([name, title, what]) => h("article.paper", {}, h("h3", {}, title), h("p", {}, what), h("a.button", { href: "take/" + name, download: "" }, "Download"))))));
}

function gauge(job) {
  const i = h("i");
  const share = job.total ? (100 * job.done) / job.total : 0;
  i.style.width = share + "%";
  return h("div.gauge", { role: "progressbar", "aria-label": "Writing stems", "aria-valuemin": "0", "aria-valuemax": "100", "aria-valuenow": Math.round(share) }, i);
}

