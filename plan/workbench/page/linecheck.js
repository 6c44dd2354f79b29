// The line check: test tones out, the return recorded, and what every output does.
import { h, button, badge, placeStyles, plural } from "./dom.js";
import { session, lanes, post, say } from "./store.js";
import { chooseFile } from "./choose.js";
import { bar, busy } from "./jobs.js";

const form = { careful: false, level: -20, quick: true, set: "", baseline: "" };

export function drawLine(root) {
  const s = session(), v = s.line;
  const sign = JSON.stringify([s.rev, s.jobs, form]);
  if (root.sign === sign && root.firstChild) return;
  root.sign = sign;
  if (!v.sets.some((t) => t.name === form.set)) form.set = v.sets.at(-1)?.name || "";
  const again = (change) => (e) => {
    change(e);
    root.sign = "";
    drawLine(root);
  };
  const held = document.activeElement?.closest?.("#leaf") ? document.activeElement.id : "";
  const part = root.querySelector(".drawn");
  const set = v.sets.find((t) => t.name === form.set);
  root.replaceChildren(h("div.checkleaf", {}, v.shown ? result(v, s) : h("section", {}, h("h2", {}, "Line check"), h("p.hint", {}, "Is every output where the sheet says, on its side, in polarity and as loud as the others? Tones go out of every pair, the return is recorded, and the recording is read.")),
    h("section.paper", {}, h("h3", {}, "1. Before anything plays"), h("ul.small.cautions", {}, v.cautions.map((c) => h("li", {}, c))),
      h("label.tick", {}, h("input", { type: "checkbox", id: "careful", checked: form.careful, onchange: again((e) => (form.careful = e.target.checked)) }), h("b", {}, "The monitors are off and the headphones are out of the way."))),
    h("section.paper", {}, h("h3", {}, "2. The tones"), h("p", {}, `One file for each of the ${plural(lanes().length, "pair", "pairs")}${s.rig ? " on " + s.rig.name : ""}, in a new folder beside the session.`),
      h("div.row", {}, pick("Level", "level", [[-20, "first run: 20 dB down"], [0, "at operating level"]], again), pick("Length", "quick", [[true, "short"], [false, "long, for the last decimals"]], again),
        button("Make the tones", () => post("line/tones", { level_db: form.level, quick: form.quick, careful: form.careful }).catch((e) => say(e.message)), { class: "main", id: "make-tones", disabled: !form.careful || busy("tones") })),
      form.careful ? null : h("p.hint", {}, "Read the cautions above and tick the line below them first."),
      bar("tones", "Writing the tones"),
      set ? [h("p", { id: "tones-at" }, "Made: ", h("code", {}, set.dir), ` · ${plural(set.outputs, "output", "outputs")}, ${set.level_db} dB, ${Math.round(set.seconds)} s`),
        h("ol.small", {}, set.how_to.map((x) => h("li", {}, x))),
        h("table.levels", {}, h("thead", {}, h("tr", {}, ["What plays", "dBFS", "dBu", "peak dBFS"].map((x, i) => h(i ? "th.n" : "th", {}, x)))), h("tbody", {}, set.levels.map((l) => h("tr", {}, h("th", { scope: "row" }, l.what), [l.dbfs, l.dbu, l.peak_dbfs].map((x) => h("td.n", {}, x.toFixed(1).replace("-", "−")))))))] : null),
    set ? h("section.paper", {}, h("h3", {}, "3. The recorded return"),
      h("div.row", {}, v.sets.length > 1 ? pick("Tones that were played", "set", v.sets.map((t) => [t.name, t.name]), again) : null,
        pick("Compared with", "baseline", [["", "nothing"], ...v.sets.flatMap((t) => t.results.map((r) => [`${t.name}/${r}`, `${t.name}: ${r}`]))], again),
        button("Choose the recording", async () => {
          const path = await chooseFile("The recorded return");
          if (path) post("line/read", { set: form.set, path, baseline: form.baseline }).catch((e) => say(e.message));
        }, { class: "main", id: "read-return", disabled: busy("trace") })),
      bar("trace", "Reading the return")) : null,
    v.shown ? h("div.drawn") : null));
  if (held) document.getElementById(held)?.focus();
  figures(root, v, part);
}

function pick(label, key, options, again) {
  return h("label.field", {}, h("span", {}, label), h("select", { onchange: again((e) => (form[key] = options[e.target.selectedIndex][0])) }, options.map(([v, n]) => h("option", { selected: form[key] === v }, n))));
}

const words = { fault: "fault", warning: "look", note: "note", ok: "fine", "": "not heard" };

// result draws the outputs as they leave: a pair each, left and right, with the worst that was found.
function result(v, s) {
  const r = v.shown, pairs = [];
  for (let i = 0; i < r.outputs.length; i += 2) pairs.push(r.outputs.slice(i, i + 2));
  const all = v.sets.flatMap((t) => t.results.map((x) => [`${t.name}/${x}`, t.name, x]));
  return h("section", { id: "line-result" }, h("h2", {}, r.faults ? `${plural(r.faults, "fault", "faults")} in ${r.return}` : r.warnings ? `No fault, ${plural(r.warnings, "thing", "things")} to look at` : "Every output is where it belongs"),
    h("p.hint", {}, `${r.unit ? r.unit + ", " : ""}${r.return}, read with ${r.set}.`),
    all.length > 1 ? h("label.field.earlier", {}, h("span", {}, "Shown"), h("select", { onchange: (e) => post("line/show", { name: e.target.value }).catch((x) => say(x.message)) }, all.map(([name, set, x]) => h("option", { value: name, selected: set === r.set && x === r.name }, `${set}: ${x}`)))) : null,
    h("ol.outputs", {}, pairs.map((p, n) => {
      const lane = lanes()[n];
      return h("li", { class: lane ? `p${lane.hue}` : "" }, h("p.whichpair", {}, lane ? [badge(lane, true), " ", lane.name] : `Pair ${n + 1}`),
        p.map((o) => h("div.output", { class: o.severity || "unheard", "data-output": o.output }, h("b", {}, `${o.output} ${words[o.severity]}`), o.texts.filter((_, i) => o.severity !== "ok" || !i).map((t) => h("p", {}, t)))));
    })),
    r.loop.length ? h("ul.found", {}, r.loop.map((x) => h("li", { class: x.severity }, x.text))) : null,
    r.moved.length ? [h("h3", {}, "Since the earlier check"), h("ul.small", { id: "moved" }, r.moved.map((x) => h("li", {}, x)))] : null,
    s.unit ? h("p", { id: "unit-heard" }, s.unit.why ? `Its colour cannot be heard on the page: ${s.unit.why}.` : `Its colour can be heard: second harmonic ${s.unit.second_db.toFixed(0).replace("-", "−")} dB, third ${s.unit.third_db.toFixed(0).replace("-", "−")} dB at operating level. Choose "as measured" beside "Through the unit".`) : null);
}

let drawnFor = "";

async function figures(root, v, old) {
  if (!v.shown) return;
  const box = root.querySelector(".drawn");
  const key = v.shown.set + "/" + v.shown.name;
  if (old && drawnFor === key) return box.replaceWith(old);
  drawnFor = key;
  try {
    const { html } = await post("line/part");
    const doc = new DOMParser().parseFromString(html, "text/html");
    placeStyles(doc.body);
    root.querySelector(".drawn")?.replaceChildren(h("h2", {}, "Figures and curves"), ...doc.body.childNodes);
  } catch (err) {
    if (!err.gone) say(err.message);
  }
}
