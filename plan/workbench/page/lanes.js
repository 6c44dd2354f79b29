// The lanes: one per pair, tracks as paper slips that can be moved by mouse, finger and keys.
import { h, put, button, ask, ribbon, grid, badge, db, percent, plural, signs } from "./dom.js";
import { store, session, lanes, track, nameOf, slip, act, post, changed, say } from "./store.js";
import { hear, hearing } from "./listen.js";
import { drag } from "./drag.js";

const cards = new Map(); // file -> element, kept so that focus and a finger stay where they are
let built = null;

export function drawLanes(root) {
  const s = session();
  if (!built || built.root !== root || !root.contains(built.head)) {
    cards.clear();
    built = { root, head: h("div.tools"), offer: h("div"), list: h("div.pairs", { id: "pairs" }), aside: h("section.asides", { "aria-label": "Set aside" }) };
    root.replaceChildren(built.head, built.offer, built.list, built.aside);
    if (!root.dragged) drag(root, { move: moveTo, aside: (files) => act({ do: "aside", tracks: files }), choose });
    root.dragged = true; // the listeners stay with the leaf, whatever it shows
  }
  drawTools(s);
  drawOffer(s);
  const rows = lanes().map((lane) => drawLane(s, lane));
  settle(built.list, rows);
  drawAside(s);
}

// settle puts children in order without touching those that stand right already.
function settle(parent, children) {
  children.forEach((c, i) => {
    if (parent.children[i] !== c) parent.insertBefore(c, parent.children[i] || null);
  });
  while (parent.children.length > children.length) parent.lastChild.remove();
}

function drawTools(s) {
  const n = s.lanes.length;
  const text = `${plural(s.lanes.reduce((sum, l) => sum + l.tracks.length, 0), "track", "tracks")} on ${plural(n, "pair", "pairs")}`;
  if (!built.tools) built.tools = {};
  const t = built.tools;
  if (!built.head.firstChild) {
    t.text = h("p.sum");
    t.fewer = button("Fewer pairs", () => propose("pairs", lanes().length - 1));
    t.more = button("More pairs", () => propose("pairs", lanes().length + 1));
    t.fold = button("Fold anew", () => propose("refold"), { title: "A new fold around everything that is locked" });
    built.head.append(t.text, h("div.row", {}, t.fewer, t.more, t.fold));
  }
  t.text.textContent = text;
  t.fewer.disabled = n < 2;
}

// propose asks for a fold and shows it before anything changes.
export async function propose(kind, pairs = 0) {
  store.busy = "folding";
  changed();
  try {
    store.offer = await post("offer", { kind, pairs });
    if (!store.offer.change) {
      say(kind === "refold" ? "A new fold gives what is there already." : "Nothing would move.");
      if (kind === "refold") store.offer = null;
    }
  } catch (err) {
    say(err.message);
  }
  store.busy = "";
  changed();
}

function drawOffer() {
  const o = store.offer;
  if (!o) {
    built.offer.replaceChildren();
    return;
  }
  if (built.shown === o && built.offer.firstChild) return;
  built.shown = o;
  const c = o.change;
  const moves = c?.moves || [];
  const take = button("Take it", async () => {
    if (await act({ do: "offer", offer: o.id })) store.offer = null;
    changed();
  }, { class: "main", id: "take-offer" });
  built.offer.replaceChildren(h("section.offer.paper", { "aria-label": "A fold that is offered" },
    h("div", {}, h("h2", {}, o.name.replace(/^./, (x) => x.toUpperCase())),
      h("p", {}, moves.length ? `${plural(moves.length, "track moves", "tracks move")}. Nothing has changed yet.` : "No track moves. Nothing has changed yet."),
      moves.length ? h("ul.moves", {}, moves.slice(0, 24).map((m) => h("li", {}, h("b", {}, nameOf(m.file)), ` ${m.from || "aside"} → ${m.to || "aside"}`)), moves.length > 24 ? h("li", {}, `and ${moves.length - 24} more`) : null) : null,
      c?.figures.length ? h("dl.figs", {}, c.figures.map((f) => h("div", {}, h("dt", {}, signs(f.name)), h("dd", {}, signs(`${f.before} → ${f.after}`))))) : null),
    h("div.row", {}, take, button("Leave it", () => ((store.offer = null), changed())))));
  take.focus();
}

const rowsOf = new WeakMap();
const laneRows = new Map();

function drawLane(s, lane) {
  let el = laneRows.get(lane.number);
  let parts = el && rowsOf.get(el);
  if (!parts || parts.root !== built.list) {
    parts = { root: built.list, head: h("div.lanehead"), ribbon: h("div.ridge"), slips: h("div.slipgroups", { role: "listbox", "aria-multiselectable": "true" }) };
    el = h("section.pair", {}, parts.head, h("div.lanebody", {}, parts.ribbon, parts.slips));
    laneRows.set(lane.number, el);
    rowsOf.set(el, parts);
  }
  el.className = `pair p${lane.hue}` + (lane.locked ? " locked" : "") + (lane.tracks.length ? "" : " free") + (el.classList.contains("under") ? " under" : "");
  el.dataset.pair = lane.number;
  el.setAttribute("aria-label", `Pair ${lane.number}, ${lane.name}, ${plural(lane.tracks.length, "track", "tracks")}`);
  parts.slips.setAttribute("aria-label", `Tracks of pair ${lane.number}, ${lane.name}`);
  drawLaneHead(parts, lane, s);
  const sign = lane.ridge + lane.lines.length;
  if (parts.sign !== sign) {
    parts.sign = sign;
    parts.ribbon.replaceChildren(grid(s.registers), ribbon(lane.ridge, { lines: lane.lines, edge: true, hatch: lane.hatch, label: lane.ridge ? `Spectrum of pair ${lane.number}: strong from ${lane.where}` : "" }));
  }
  drawSlips(parts, lane);
  return el;
}

function drawLaneHead(parts, lane, s) {
  const on = hearing().kind === "pair" && hearing().pair === lane.number;
  const sign = JSON.stringify([lane.name, lane.locked, lane.outputs, lane.device, lane.tracks.length, lane.load, lane.lufs, s.loads, lane.misfits, on, lane.hue]);
  if (parts.headSign === sign) return;
  parts.headSign = sign;
  const held = document.activeElement?.closest?.(".lanehead") === parts.head ? document.activeElement.dataset.do : "";
  const load = lane.load;
  parts.head.replaceChildren(
    h("div.who", {}, h("span.badge", { class: `p${lane.hue}` }, String(lane.number)),
      h("button.lanename", { type: "button", "data-do": "name", title: "Give the pair another name", onclick: () => namePair(lane) }, h("bdi", {}, lane.name))),
    h("p.out", {}, `${lane.device ? lane.device + " " : ""}outputs ${lane.outputs[0]}/${lane.outputs[1]} · ${plural(lane.tracks.length, "track", "tracks")}`),
    h("p.load", {}, !lane.tracks.length ? "free" : load ? [h("span", {}, `loud ${db(load.loud_vu, true)} VU`), " ", h("span", {}, `peak ${db(load.true_peak_dbtp, true)} dBTP`), load.overs ? h("span.alarmed", {}, `clips ${load.overs === 1 ? "once" : load.overs.toLocaleString("en") + " times"}`) : null] : s.loads === "measuring" ? "measuring …" : lane.lufs === null ? "" : `${db(lane.lufs)} LUFS`),
    h("div.row", {},
      button(on ? "Heard" : "Hear", () => hear({ kind: "pair", pair: lane.number }), { "aria-pressed": String(on), "data-do": "hear", disabled: !lane.tracks.length, "aria-label": `Hear pair ${lane.number}, ${lane.name}` }),
      button(lane.locked ? "Locked" : "Lock", () => act({ do: "lock pair", pair: lane.number, on: !lane.locked }), { "aria-pressed": String(lane.locked), "data-do": "lock", "aria-label": `Lock pair ${lane.number}`, title: "A new fold leaves a locked pair as it is" }),
      lane.number > 1 ? button("↑", () => act({ do: "swap", pair: lane.number }), { class: "round", "data-do": "up", "aria-label": `Pair ${lane.number} changes places with the pair above`, title: "Change places, and outputs, with the pair above" }) : null));
  if (held) parts.head.querySelector(`[data-do="${held}"]`)?.focus();
}

async function namePair(lane) {
  const name = await ask(`What is pair ${lane.number} called?`, lane.name, "Empty: it is named by what it holds.");
  if (name !== null && name !== lane.name) act({ do: "name pair", pair: lane.number, text: name });
}

function drawSlips(parts, lane) {
  const groups = [];
  for (const t of lane.tracks) {
    const last = groups[groups.length - 1];
    if (last && last.bus === t.bus) last.tracks.push(t);
    else groups.push({ bus: t.bus, tracks: [t] });
  }
  parts.groups ||= [];
  const els = groups.map((g, i) => {
    let el = parts.groups[i];
    if (!el) {
      el = h("div.busgroup", { role: "group" }, h("button.bus", { type: "button" }), h("div.slipcards", { role: "presentation" }));
      parts.groups[i] = el;
      el.firstChild.addEventListener("click", (e) => chooseAll(el.files, e.shiftKey || e.ctrlKey || e.metaKey));
    }
    el.files = g.tracks.map((t) => t.file);
    el.setAttribute("aria-label", g.bus);
    el.firstChild.textContent = g.bus;
    el.firstChild.title = `Choose all of ${g.bus}; drag to move them together`;
    settle(el.lastChild, g.tracks.map((t) => drawSlip(lane, t)));
    return el;
  });
  settle(parts.slips, els);
}

function drawSlip(lane, t) {
  const info = track(t.file);
  let el = cards.get(t.file);
  if (!el) {
    el = h("div.slipcard", { role: "option", tabindex: "-1", "data-file": t.file },
      h("span.lbl", {}, h("bdi")), h("span.mini", { "aria-hidden": "true" }), h("span.corner", { "aria-hidden": "true" }));
    el.addEventListener("click", (e) => choose(t.file, e.shiftKey || e.ctrlKey || e.metaKey));
    el.addEventListener("keydown", (e) => {
      if (e.key === "Enter" || e.key.toLowerCase() === "x") {
        e.preventDefault();
        choose(t.file, e.key !== "Enter");
      }
    });
    el.addEventListener("focus", () => {
      store.focus = t.file;
      rove();
    });
    cards.set(t.file, el);
  }
  const next = t.next ? lanes()[t.next - 1] : null;
  const chosen = store.chosen.has(t.file);
  const sign = [lane.hue, chosen, t.locked, t.loose, t.misfit, next?.hue, next?.number, info?.name, t.sure, t.firm, lane.number, lane.name, t.role].join("|");
  if (el.sign !== sign) {
    el.sign = sign;
    el.className = `slipcard p${lane.hue}` + (chosen ? " chosen" : "") + (t.locked ? " held" : "") + (t.loose ? " loose" : "") + (t.misfit ? " misfit" : "") + (el.classList.contains("lifted") ? " lifted" : "");
    el.setAttribute("aria-selected", String(chosen));
    el.setAttribute("aria-label", `${info?.name}, ${t.role}, pair ${lane.number} ${lane.name}` + (t.firm ? `, ${t.firm}` : "") + (t.loose && next ? `, or pair ${next.number} ${next.name}` : "") + (t.locked ? ", locked" : ""));
    el.firstChild.firstChild.textContent = info?.name;
    el.title = `${info?.name}: ${t.reasons[0] || ""}`;
    const corner = el.lastChild;
    corner.className = "corner" + (t.loose && next ? ` p${next.hue}` : "");
    corner.textContent = t.loose && next ? next.number : "";
  }
  if (el.ridge !== info?.ridge) {
    el.ridge = info?.ridge;
    el.children[1].replaceChildren(ribbon(info?.ridge));
  }
  return el;
}

// rove keeps one slip in the order of tabs: the one that the keyboard is on.
function rove() {
  const all = [...document.querySelectorAll(".slipcard")];
  const on = all.find((el) => el.dataset.file === store.focus) || all[0];
  for (const el of all) el.tabIndex = el === on ? 0 : -1;
}

function drawAside(s) {
  const sign = JSON.stringify([s.aside, s.faults, [...store.chosen]]);
  if (built.asideSign === sign && built.aside.firstChild) return rove();
  built.asideSign = sign;
  built.aside.hidden = false;
  put(built.aside,
    h("h2", {}, "Set aside"),
    s.aside.length ? h("ul", {}, s.aside.map((a) => h("li", { class: a.yours ? "yours" : "", "data-file": a.file },
      h("b", {}, h("bdi", {}, a.name)), h("span", {}, a.reason),
      a.yours ? button("Back", () => bringBack(a.file), { "aria-label": `Bring ${a.name} back` }) : null))) : h("p.hint", {}, "Drag a slip here to keep a track off every pair."),
    s.faults.length ? h("ul.faults", {}, s.faults.map((f) => h("li", {}, f))) : null);
  rove();
}

// bringBack puts a track where its like is.
const bringBack = (file) => act({ do: "back", tracks: [file] });

// choose takes a slip in hand; with more, besides those that are already.
export function choose(file, more = false) {
  if (more) {
    if (store.chosen.has(file)) store.chosen.delete(file);
    else store.chosen.add(file);
  } else {
    const only = store.chosen.size === 1 && store.chosen.has(file);
    store.chosen.clear();
    if (!only) store.chosen.add(file);
  }
  store.focus = file;
  argue();
  changed();
}

export function chooseAll(files, more = false) {
  if (!more) store.chosen.clear();
  for (const f of files) store.chosen.add(f);
  argue();
  changed();
}

// argue fetches what speaks for and against the one track that is chosen.
export async function argue() {
  if (store.chosen.size !== 1) {
    store.argument = null;
    return;
  }
  const [file] = store.chosen;
  try {
    const a = await post("argue", { file });
    if (store.chosen.size === 1 && store.chosen.has(file)) {
      a.rev = session()?.rev;
      store.argument = a;
      changed();
    }
  } catch (err) {
    if (!err.gone) say(err.message);
  }
}

export function chosenOrFocused() {
  if (store.chosen.size) return [...store.chosen];
  const on = document.activeElement?.closest?.(".slipcard");
  return on ? [on.dataset.file] : [];
}

// moveTo moves tracks at once on this page, then tells the server, whose answer stands.
export async function moveTo(files, number) {
  const moving = files.filter((f) => slip(f)?.lane.number !== number);
  if (!moving.length) return;
  const to = lanes()[number - 1];
  for (const f of moving) {
    const at = slip(f);
    if (!at) continue;
    at.lane.tracks.splice(at.lane.tracks.indexOf(at.slip), 1);
    to.tracks.push({ ...at.slip, sure: null, firm: "", loose: false, misfit: false });
  }
  const focused = document.activeElement?.closest?.(".slipcard")?.dataset.file;
  changed();
  say(`${moving.length === 1 ? nameOf(moving[0]) : plural(moving.length, "track", "tracks")} to ${to.name}.`);
  await act({ do: "move", tracks: moving, pair: number });
  if (focused) queueMicrotask(() => cards.get(focused)?.focus());
  argue();
}

// focusSlip goes to the next slip in a direction, by where they are on the screen.
export function focusSlip(direction) {
  const all = [...document.querySelectorAll(".slipcard")];
  const at = all.find((el) => el.dataset.file === store.focus) || all[0];
  if (!at) return;
  if (document.activeElement !== at && !document.activeElement?.closest?.(".slipcard")) return at.focus();
  const i = all.indexOf(at);
  let next = null;
  if (direction === "left") next = all[i - 1];
  else if (direction === "right") next = all[i + 1];
  else {
    const a = at.getBoundingClientRect();
    let best = Infinity;
    for (const el of all) {
      const b = el.getBoundingClientRect();
      const dy = direction === "down" ? b.top - a.top : a.top - b.top;
      if (dy < 8) continue;
      const score = dy * 4 + Math.abs(b.left - a.left);
      if (score < best) [best, next] = [score, el];
    }
  }
  next?.focus();
  next?.scrollIntoView({ block: "nearest" });
}
export { percent, badge };
