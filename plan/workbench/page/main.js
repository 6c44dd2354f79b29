// The page: a head with the leaves, the leaf that is open, a note about what is chosen, and the listening bar.
import { h, button, ask, calm, plural } from "./dom.js";
import { store, session, changed, onChange, act, answered, take, refresh, listen, say, lanes } from "./store.js";
import { drawStart } from "./start.js";
import { drawLanes } from "./lanes.js";
import { drawNote } from "./note.js";
import { drawPart, drawVersions, drawKeep } from "./leaves.js";
import { drawRig } from "./rig.js";
import { drawLine } from "./linecheck.js";
import { drawPrint } from "./printcheck.js";
import { drawListen, player } from "./listen.js";
import { keys, keyHelp } from "./keys.js";

const leaves = [
  ["lanes", "Lanes", "the pairs and the tracks on them"],
  ["field", "Map", "every track by register and crest factor"],
  ["levels", "Levels", "what every pair sends"],
  ["patch", "Patch", "every plug from track to return"],
  ["sweep", "More pairs", "what each further pair would buy"],
  ["line", "Line check", "is every output where the sheet says"],
  ["print", "Print check", "mix against print, in figures and blind"],
  ["rig", "Rig", "your interfaces and your summing unit"],
  ["versions", "Versions", "what was kept, beside what is"],
  ["keep", "Take away", "sheet, page, labels, stems, print"],
];

const parts = { top: null, title: null };

function drawTop() {
  const top = document.getElementById("top");
  const s = session();
  if (!s) {
    top.replaceChildren();
    parts.top = null;
    return;
  }
  if (!parts.top) {
    const title = h("button.title", { type: "button", title: "Give the song another name", onclick: rename });
    const nav = h("nav", { "aria-label": "Leaves" }, leaves.map(([id, name, what]) => button(name, () => open(id), { class: "leaf", "data-leaf": id, title: what })));
    const undo = button("Undo", () => travel(-1), { id: "undo" });
    const redo = button("Redo", () => travel(1), { id: "redo" });
    parts.top = { title, nav, undo, redo };
    top.replaceChildren(h("header.bar", {},
      h("button.mark", { type: "button", "aria-label": "Open another session", title: "Open another session", onclick: () => open(store.leaf === "start" ? "lanes" : "start") }, h("i"), h("i"), h("i")),
      h("h1", {}, title), nav,
      h("div.steps", {}, undo, redo, button("?", keyHelp, { "aria-label": "Keys", class: "round" }))));
  }
  const { title, nav, undo, redo } = parts.top;
  title.textContent = s.title;
  document.title = s.title + " · foldout";
  for (const b of nav.children) {
    const on = b.dataset.leaf === store.leaf;
    b.classList.toggle("on", on);
    if (on) b.setAttribute("aria-current", "page");
    else b.removeAttribute("aria-current");
  }
  undo.disabled = s.at === 0;
  redo.disabled = s.at === s.history.length - 1;
  undo.title = s.at > 0 ? "Undo: " + s.history[s.at].name : "Nothing to undo";
  redo.title = s.at < s.history.length - 1 ? "Redo: " + s.history[s.at + 1].name : "Nothing to redo";
}

// travel goes back and forth in the history. Presses that come faster than answers are added up, and count from where the acts
// before them have led.
let steps = 0, travelling = false;
export async function travel(by) {
  steps += by;
  if (travelling) return;
  travelling = true;
  try {
    for (;;) {
      await answered();
      const s = session();
      if (!s || !steps) break;
      const to = Math.max(0, Math.min(s.history.length - 1, s.at + steps)), n = Math.abs(to - s.at);
      steps = 0;
      if (!n) break;
      const last = s.history[to < s.at ? to + 1 : to].name;
      say((to < s.at ? "Undone: " : "Done again: ") + last + (n > 1 ? ` and ${plural(n - 1, "step", "steps")} ${to < s.at ? "after" : "before"} it` : ""));
      if (!(await act({ to }, "travel"))) break;
    }
  } finally {
    travelling = false;
    steps = 0;
  }
}

async function rename() {
  const s = session();
  const name = await ask("What is the song called?", s.title);
  if (name !== null && name !== s.title) act({ do: "title", text: name });
}

export function open(leaf) {
  store.leaf = leaf;
  store.offer = null;
  if (leaf !== "start") location.hash = leaf;
  changed();
}

const drawers = {
  start: drawStart, lanes: drawLanes, rig: drawRig, versions: drawVersions, keep: drawKeep, line: drawLine, print: drawPrint,
  field: (el) => drawPart(el, "field"), levels: (el) => drawPart(el, "levels"), patch: (el) => drawPart(el, "patch"), sweep: (el) => drawPart(el, "sweep"),
};

function draw() {
  const el = document.getElementById("leaf");
  const leaf = !session() || store.state.opening ? "start" : store.leaf;
  document.body.dataset.leaf = leaf;
  if (el.dataset.leaf !== leaf) {
    el.replaceChildren();
    el.dataset.leaf = leaf;
  }
  drawTop();
  drawers[leaf](el);
  drawNote(document.getElementById("note"), leaf);
  drawListen(document.getElementById("listen"), leaf);
  const gone = document.getElementById("gone");
  gone.hidden = store.online;
  if (!store.online) {
    gone.textContent = "foldout has stopped or is busy. Nothing is lost: everything you did is kept beside the session. This page goes on by itself when it answers again; if it was closed, start it again the same way" + (store.state?.again ? ": " + store.state.again : ".");
  }
}

addEventListener("hashchange", () => {
  const leaf = location.hash.slice(1);
  if (leaf !== store.leaf && drawers[leaf]) open(leaf);
});
const first = location.hash.slice(1);
if (drawers[first] && first !== "start") store.leaf = first;

onChange(draw);
keys({ travel, open });
listen({
  progress(p) {
    if (store.state?.opening) {
      Object.assign(store.state.opening, p);
      changed();
    }
  },
  track(t) {
    if (store.state?.opening) {
      store.state.opening.tracks.push(t);
      changed();
    }
  },
  stems(v) {
    if (session()) {
      session().stems = v;
      changed();
    }
  },
  job(v) {
    const at = session()?.jobs.findIndex((j) => j.name === v.name);
    if (at >= 0 && !session().jobs[at].over) {
      session().jobs[at] = v;
      changed();
    }
  },
  note: (n) => say(n.text),
});
fetch("hatches.svg").then((r) => r.text()).then((svg) => {
  const doc = new DOMParser().parseFromString(svg, "text/html");
  document.getElementById("hatches").append(...doc.body.childNodes);
});
calm.addEventListener("change", changed);
addEventListener("beforeunload", () => player.stop());
// for tests in a browser, and for the curious
window.foldout = { store, player, act, take, refresh, lanes };
