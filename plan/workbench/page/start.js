// The first page: choose a folder, go on with a recent session, or try the demo; and how far an opening has come.
import { h, button, ribbon, plural } from "./dom.js";
import { store, session, post, changed, say } from "./store.js";

let folder = null, listingFor = "", sign = "";

export function drawStart(root) {
  const o = store.state?.opening;
  if (!store.state) return;
  if (o) return drawOpening(root, o);
  const now = JSON.stringify([store.state.recent, store.state.trouble, folder, !!session()]);
  if (now === sign && root.firstChild) return;
  sign = now;
  if (!folder && listingFor !== "asked") {
    listingFor = "asked";
    look("");
  }
  // the upper part stays as it is while a folder is listed below it, so that a press on it is not lost
  const above = JSON.stringify([store.state.trouble, store.state.demo, session()?.title]);
  let start = root.querySelector(".start");
  if (start?.above !== above) {
    start = h("div.start", {}, h("div.hello", {}, h("p.mark.big", { "aria-hidden": "true" }, h("i"), h("i"), h("i")), h("h1", {}, "Which tracks are to be folded?"),
      h("p.question", {}, "A folder with one file per track, all exported from the same start. Nothing in it is changed."),
      store.state.trouble ? h("p.alarmed", { role: "alert" }, store.state.trouble) : null,
      h("div.row", {}, store.state.demo ? button("Try the demo", () => post("demo").catch((e) => say(e.message)), { class: "main", id: "demo" }) : null,
        session() ? button("Back to " + session().title, () => import("./main.js").then((m) => m.open("lanes"))) : null),
      store.state.demo ? h("p.hint", {}, "An invented song of 33 tracks, made on this computer in a few seconds.") : null));
    start.above = above;
    root.replaceChildren(start);
  }
  while (start.children.length > 1) start.lastChild.remove();
  start.append(...[
    store.state.recent.length ? h("section", {}, h("h2", {}, "Lately"), h("ul.recent", {}, store.state.recent.map((r) => h("li", {}, h("button.paper", { type: "button", onclick: () => openPath(r.folder) }, h("b", {}, r.title), h("span", {}, `${plural(r.tracks, "track", "tracks")} · ${r.folder}`)))))) : null,
    h("section", {}, h("h2", {}, "A folder"),
      h("form.path", { onsubmit: (e) => (e.preventDefault(), openPath(new FormData(e.target).get("path"))) }, h("label", {}, h("span.away", {}, "Path of a folder or a sheet"), h("input", { name: "path", type: "text", spellcheck: "false", autocomplete: "off", placeholder: "path of a folder, or of a sheet", value: folder?.path || "" })), h("button", { type: "submit" }, "Open")),
      folder ? folders() : null)].filter(Boolean));
}

function folders() {
  const f = folder;
  return h("div.folders.paper", {},
    h("div.row.here", {}, f.parent ? button("Up", () => look(f.parent)) : null, h("b", {}, h("bdi", {}, f.path)), f.tracks ? button(`Open these ${plural(f.tracks, "track", "tracks")}`, () => openPath(f.path), { class: "main" }) : null),
    h("ul", {}, f.folders.map((d) => h("li", {}, h("button.linkish", { type: "button", onclick: () => look(d.path) }, h("bdi", {}, d.name)), d.tracks ? button(`Open, ${plural(d.tracks, "track", "tracks")}`, () => openPath(d.path)) : null)),
      f.sheets.map((p) => h("li", {}, h("span", {}, p.split(/[\\/]/).pop()), button("Open the sheet", () => openPath(p))))));
}

async function look(at) {
  try {
    const res = await fetch("folders?at=" + encodeURIComponent(at));
    const out = await res.json();
    if (!res.ok) throw new Error(out.error);
    folder = out;
  } catch (err) {
    say(err.message);
  }
  changed();
}

async function openPath(path) {
  if (!path) return;
  try {
    await post("open", { path });
    store.leaf = "lanes";
  } catch (err) {
    say(err.message);
  }
}

const stages = { performing: "Performing the demo", measuring: "Measuring", relating: "Looking for copies, sides and returns", folding: "Folding" };

function drawOpening(root, o) {
  if (!root.querySelector(".opening")) {
    root.replaceChildren(h("div.opening", {}, h("h1"), h("p.question"), h("div.gauge", { role: "progressbar", "aria-valuemin": "0", "aria-valuemax": "100" }, h("i")), button("Cancel", () => post("cancel").catch((e) => say(e.message))), h("ul.arrivals")));
    root.arrived = 0;
    store.leaf = "lanes";
  }
  const [head, sub, gauge, , list] = root.firstChild.children;
  head.textContent = stages[o.stage] + " …";
  sub.textContent = o.tracks.length ? plural(o.tracks.length, "track", "tracks") + " so far" : o.target;
  const share = o.total ? Math.round((100 * o.done) / o.total) : 0;
  gauge.setAttribute("aria-valuenow", share);
  gauge.setAttribute("aria-label", stages[o.stage]);
  gauge.firstChild.style.width = share + "%";
  for (; root.arrived < o.tracks.length; root.arrived++) {
    const t = o.tracks[root.arrived];
    list.append(h("li", { class: t.fault ? "fault" : "" }, h("b", {}, t.name), t.fault ? h("span", {}, t.fault) : h("span.mini.p1", {}, ribbon(t.ridge))));
  }
  sign = "";
}
