// The note beside the lanes: why the chosen track is where it is, what the last step changed, what the program doubts,
// and the history.
import { h, put, button, ask, badge, db, hertz, percent, plural, signs } from "./dom.js";
import { store, session, lanes, track, nameOf, named, slip, act, changed, say } from "./store.js";
import { moveTo, chooseAll, choose } from "./lanes.js";
import { hear, why, share } from "./listen.js";

let drawn = "", front = "", before = {}; // what was done last, a step or a choice, stands first

export function drawNote(root, leaf) {
  const s = session();
  root.hidden = !s || leaf !== "lanes";
  if (root.hidden) {
    drawn = "";
    return;
  }
  if (store.argument && store.chosen.size === 1 && store.argument.rev !== s.rev && store.argument.asked !== s.rev) {
    store.argument.asked = s.rev;
    import("./lanes.js").then((m) => m.argue());
  }
  const sign = JSON.stringify([s.rev, [...store.chosen], store.argument, store.busy]);
  if (sign === drawn && root.firstChild) return;
  drawn = sign;
  const open = new Set([...root.querySelectorAll("details[open]")].map((d) => d.dataset.part));
  const first = !root.firstChild;
  if (!root.querySelector('[data-part="change"]')) open.add("change");
  const held = document.activeElement?.closest?.("#note") ? document.activeElement.dataset.do : "";
  const top = root.scrollTop;
  const choice = [...store.chosen].join("\n");
  if (before.at !== s.at || before.folder !== s.folder) front = "step";
  else if (before.choice !== choice) front = choice ? "choice" : "step";
  const turned = before.front !== front || before.choice !== choice;
  before = { at: s.at, folder: s.folder, choice, front };
  const about = [changeOf(s, open, first), store.chosen.size === 1 ? one(s, [...store.chosen][0]) : store.chosen.size ? several(s) : whole(s)];
  put(root, s.news ? newsOf(s.news) : null, front === "choice" ? about.reverse() : about, questions(s, open, first), history(s, open));
  root.scrollTop = turned ? 0 : top;
  if (held) root.querySelector(`[data-do="${CSS.escape(held)}"]`)?.focus();
}

function part(id, head, open, ...body) {
  return h("details.part", { "data-part": id, open }, h("summary", {}, head), ...body);
}

function whole(s) {
  const n = s.lanes.reduce((sum, l) => sum + l.tracks.length, 0);
  const clips = s.lanes.filter((l) => l.load?.overs).length;
  return h("section", {}, h("h2", {}, "The sheet"),
    h("p", {}, `${plural(n, "track", "tracks")} on ${plural(s.lanes.filter((l) => l.tracks.length).length, "pair", "pairs")}. `,
      s.misfits < 0 ? "Looking how firm every place is …" : s.misfits ? `${plural(s.misfits, "track does", "tracks do")} not fit where ${s.misfits === 1 ? "it is" : "they are"}.` : "Every track fits where it is.",
      clips ? ` ${plural(clips, "pair clips", "pairs clip")}.` : ""),
    s.misfits > 0 ? button("Choose them", () => chooseAll(lanes().flatMap((l) => l.tracks.filter((t) => t.misfit).map((t) => t.file)))) : null,
    h("dl.figs", {}, s.figures.map((f) => h("div", {}, h("dt", {}, signs(f.name)), h("dd", {}, signs(f.text))))),
    s.warnings.length ? h("ul.small", {}, s.warnings.map((w) => h("li", {}, w))) : null,
    s.tied.length + s.apart.length ? h("ul.small", {}, s.tied.map((t) => h("li", {}, "tied: ", named(t))), s.apart.map((t) => h("li", {}, "apart: ", named(t)))) : null,
    h("p.hint", {}, "Choose a slip to see why it is there. Drag it, or press a number, to move it."));
}

function one(s, file) {
  const t = track(file), at = slip(file), a = store.argument?.file === file ? store.argument : null;
  if (!t) return null;
  const m = t.measured;
  const facts = [["loudness", db(m.integrated_lufs) + " LUFS"], ["true peak", db(m.true_peak_dbtp, true) + " dBTP"], ["crest factor", db(m.crest_db) + " dB"], ["centroid", hertz(m.centroid_hz)], ["strong in", t.shape], ["sounds", percent(m.active_share) + " of the time"]];
  const lane = at?.lane, next = a?.next ? lanes()[a.next - 1] : null;
  return h("section.one", { class: lane ? `p${lane.hue}` : "" },
    h("h2", {}, h("button.lanename", { type: "button", "data-do": "name", title: "Give the track another name", onclick: () => nameTrack(t) }, h("bdi", {}, t.name))),
    lane ? h("p.where", {}, badge(lane, true), ` ${lane.name}, ${at.slip.role}, bus ${at.slip.bus}. `, at.slip.firm ? h("b", {}, `${at.slip.firm}, ${percent(at.slip.sure)}`) : "…") : h("p.where", {}, "Set aside."),
    h("div.row", {},
      button("Hear it", () => hear({ kind: "tracks", files: [file] }), { "data-do": "hear" }),
      lane ? button("Pair without it", () => hear({ kind: "without", pair: lane.number, files: [file] }), { "data-do": "without" }) : null,
      lane ? button(at.slip.locked ? "Unlock" : "Lock", () => act({ do: "lock", tracks: [file], on: !at.slip.locked }), { "data-do": "lock", "aria-pressed": String(at.slip.locked) }) : null,
      lane ? button("Set aside", () => act({ do: "aside", tracks: [file] }), { "data-do": "aside" }) : null),
    lane && a ? [
      h("h3", {}, "For this place"), list([...a.listed.filter((r) => !a.for.includes(r)), ...a.for]),
      next ? [h("h3", {}, "For ", badge(next, true), " ", next.name), a.against.length ? list(a.against) : h("p.hint", {}, "No measure speaks for it.")] : null,
      h("h3", {}, "How near it lies to each pair"),
      h("div.nearness", {}, a.places.map((p) => {
        const l = lanes()[p.pair - 1];
        const bar = h("i");
        bar.style.width = Math.max(3, 100 * p.near) + "%";
        return l && h("button.near", { type: "button", class: `p${l.hue}` + (p.pair === a.pair ? " here" : ""), "data-do": "to" + p.pair, disabled: p.pair === a.pair, "aria-label": p.pair === a.pair ? `It is on pair ${p.pair}` : `Move it to pair ${p.pair}, ${l.name}`, onclick: () => moveTo([file], p.pair) },
          badge(l, true), h("span.bar", {}, bar), h("span.to", {}, p.pair === a.pair ? "here" : "move"));
      })),
    ] : null,
    h("dl.figs", {}, facts.map(([k, v]) => h("div", {}, h("dt", {}, k), h("dd", {}, v)))),
    h("div.row", {}, button("Hear why", () => why(file), { "data-do": "why", title: "What a soft channel does to it and its company" })));
}

async function nameTrack(t) {
  const name = await ask("What is the track called?", t.name, "The file keeps its name.");
  if (name !== null && name !== t.name) act({ do: "name track", tracks: [t.file], text: name });
}

async function nameBus(bus) {
  const name = await ask("What is the bus called?", bus, "Empty: it gets its own name back.");
  if (name !== null && name !== bus) act({ do: "name bus", bus, text: name });
}

function several() {
  const files = [...store.chosen];
  const locked = files.every((f) => slip(f)?.slip.locked);
  const bus = slip(files[0])?.slip.bus;
  const whole = bus && files.every((f) => slip(f)?.slip.bus === bus);
  return h("section", {}, h("h2", {}, `${files.length} tracks chosen`),
    h("p", {}, named(files.slice(0, 8)), files.length > 8 ? " …" : ""),
    h("div.row", {}, button("Hear them", () => hear({ kind: "tracks", files })), button("Tie", () => act({ do: "tie", tracks: files }), { title: "A new fold keeps them on one pair" }),
      files.length === 2 ? button("Keep apart", () => act({ do: "apart", tracks: files }), { title: "A new fold keeps them on different pairs" }) : null,
      button("Hear what sharing does", () => share(files), { "data-do": "share", title: "Through one soft channel together, whatever pairs they are on" }),
      whole ? button("Name the bus", () => nameBus(bus), { "data-do": "bus" }) : null,
      button("Untie", () => act({ do: "free", tracks: files })),
      button(locked ? "Unlock" : "Lock", () => act({ do: "lock", tracks: files, on: !locked })), button("Set aside", () => act({ do: "aside", tracks: files }))),
    h("h3", {}, "Move to"), h("div.row", {}, lanes().map((l) => h("button", { type: "button", class: `to p${l.hue}`, onclick: () => moveTo(files, l.number) }, badge(l, true), " ", l.name))));
}

const list = (items) => h("ul.small", {}, items.map((r) => h("li", {}, r)));

function changeOf(s, open, first) {
  const c = s.change;
  if (!c || s.at === 0) return null;
  return part("change", "The last step: " + s.history[s.at].name, first || open.has("change"),
    c.misfits ? h("p", {}, `Misfits ${c.misfits[0]} → ${c.misfits[1]}.`) : null,
    c.moves.filter((m) => m.for.length + m.against.length).slice(0, 4).map((m) => h("div.move", {}, h("b", {}, nameOf(m.file)), ` ${m.from} → ${m.to}`,
      m.for.length ? h("p", {}, h("b", {}, "for: "), m.for.join("; ")) : null, m.against.length ? h("p", {}, h("b", {}, "against: "), m.against.join("; ")) : null,
      m.nearest ? h("p", {}, "next best: ", badge(lanes()[m.nearest - 1], true), " ", lanes()[m.nearest - 1].name) : null)),
    h("dl.figs", { id: "changed" }, c.pairs.map((p) => h("div", {}, h("dt", {}, badge(lanes()[p.number - 1], true), " ", p.name), h("dd", {}, [
        p.lufs_before === null || p.lufs === null ? "" : `${db(p.lufs_before)} → ${db(p.lufs)} LUFS`,
        `overlap ${percent(p.overlap_before)} → ${percent(p.overlap)}`,
        p.headroom_before_db === null || p.headroom_db === null ? "" : `headroom ${db(p.headroom_before_db)} → ${db(p.headroom_db)} dB`,
      ].filter(Boolean).map((text, i) => [i ? ", " : "", h("span", {}, text)])))),
      c.figures.map((f) => h("div", {}, h("dt", {}, signs(f.name)), h("dd", {}, signs(`${f.before} → ${f.after}`))))));
}

function questions(s, open, first) {
  const q = s.questions;
  if (!q.length) return null;
  return part("questions", plural(q.length, "question", "questions"), (first && q.length < 6) || open.has("questions"),
    h("p.hint", {}, "Keys for the first of them. Y: it stays, and is locked. N: it goes to the other pair, or is set aside."),
    h("ul.questions", {}, q.slice(0, 12).map((x) => {
      const here = lanes()[x.pair - 1], there = lanes()[x.next - 1];
      if (!there) return h("li", {}, h("p", {}, h("button.linkish", { type: "button", onclick: () => choose(x.file) }, nameOf(x.file)), ": ", x.why),
        h("div.row", {}, button("It is a track", () => answer(x, true), { "data-do": "stay " + x.file }), button("Set it aside", () => answer(x, false), { "data-do": "go " + x.file })));
      return h("li", {}, h("p", {}, h("button.linkish", { type: "button", onclick: () => choose(x.file) }, nameOf(x.file)), " on ", badge(here, true), " ", here.name, ", or on ", badge(there, true), " ", there.name, `? (${percent(x.sure)}; ${x.why})`),
        h("div.row", {}, button("Stay", () => answer(x, true), { "data-do": "stay " + x.file }), button("Move", () => answer(x, false), { "data-do": "go " + x.file })));
    })));
}

export async function answer(q, stay) {
  if (!q.next) await act({ do: stay ? "keep" : "aside", tracks: [q.file] });
  else if (stay) await act({ do: "lock", tracks: [q.file], on: true });
  else await moveTo([q.file], q.next);
}

function history(s, open) {
  return part("history", `History, ${plural(s.history.length, "step", "steps")}`, open.has("history"),
    h("ol.history", {}, s.history.map((e, i) => h("li", {}, h("button.linkish", { type: "button", "aria-current": i === s.at ? "step" : undefined, class: i > s.at ? "undone" : "", onclick: () => act({ to: i }, "travel") }, e.name))).reverse()));
}

function newsOf(n) {
  const line = (files, what) => files.length ? h("li", {}, h("b", {}, named(files)), " " + what) : null;
  return h("section.news", {}, h("h2", {}, "Tracks have changed"),
    h("ul.small", {}, line(n.came, n.came.length === 1 ? "is new; it joined its like" : "are new; they joined their like"), line(n.went, n.went.length === 1 ? "is gone" : "are gone"),
      n.changed.map((d) => h("li", {}, h("b", {}, nameOf(d.file)), ` ${db(d.lufs_before)} → ${db(d.lufs)} LUFS, peak ${db(d.true_peak_before_dbtp, true)} → ${db(d.true_peak_dbtp, true)} dBTP` + (d.role !== d.role_before ? `, heard as ${d.role} instead of ${d.role_before}` : "")))),
    button("Good", async () => {
      const { post } = await import("./store.js");
      await post("seen").catch((e) => say(e.message));
      changed();
    }));
}
