// The print check: what the trip through the analogue chain did, in figures and curves, and then blind, by ear.
import { h, button, db, hertz } from "./dom.js";
import { session, post, say } from "./store.js";
import { chooseFile } from "./choose.js";
import { bar, busy } from "./jobs.js";

const form = { mix: "", print: "" };
const verdicts = { yes: "true here", no: "not here", unknown: "cannot be told" };
const name = (path) => path.split(/[\\/]/).pop();

export function drawPrint(root) {
  const s = session(), v = s.print, r = v.result;
  const sign = JSON.stringify([s.rev, s.jobs, form]);
  if (root.sign === sign && root.firstChild) return;
  root.sign = sign;
  const again = () => {
    root.sign = "";
    drawPrint(root);
  };
  const take = async (key, title) => {
    const path = await chooseFile(title);
    if (path) form[key] = path;
    again();
  };
  root.replaceChildren(h("div.checkleaf", {}, h("section", {}, h("h2", {}, "Print check"), h("p.hint", {}, "Mix against print: where the print lies, how loud it is, what the chain did to tone, level and width. Then listen without knowing which is which.")),
    h("section.paper", {},
      h("dl.pair2", {}, h("dt", {}, "Mix"), h("dd", {}, form.mix ? h("code", {}, name(form.mix)) : "the sum of the tracks on the pairs", " ", button("Choose a file", () => take("mix", "The mix"), { "aria-label": "Choose another file for the mix" }), form.mix ? button("The sum", () => ((form.mix = ""), again())) : null),
        h("dt", {}, "Print"), h("dd", {}, form.print ? h("code", {}, name(form.print)) : "none chosen", " ", button("Choose the print", () => take("print", "The print"), { class: form.print ? "" : "main", id: "choose-print" }))),
      h("div.row", {}, button("Compare", () => post("print/compare", form).catch((e) => say(e.message)), { class: "main", id: "compare", disabled: !form.print || busy("compare") })),
      bar("compare", "Comparing")),
    r ? result(v, r) : null,
    r || v.excerpts.length ? blind(v) : null));
}

function blind(v) {
  return h("section.paper", { id: "blind" }, h("h3", {}, "Can you hear it?"), h("p", {}, "A passage of both, aligned and equally loud, without names. Figures do not say what can be heard; this does."),
    h("div.row", {}, button("Write the loudest passage", () => post("print/excerpt", { from_s: -1 }).catch((e) => say(e.message)), { class: v.excerpts.length ? "" : "main", id: "excerpt", disabled: !v.fresh || busy("excerpt") })),
    v.result && !v.fresh ? h("p.hint", {}, "Compare again to write another passage.") : null,
    bar("excerpt", "Writing the passage"),
    h("ul.versions", {}, v.excerpts.map((x) => h("li", {}, h("b", {}, x.name), h("span", {}, `${x.mix} and ${x.print}, ${x.length_s.toFixed(0)} s from ${x.from_s.toFixed(1)} s, ${Math.abs(x.match_lu).toFixed(2)} LU apart`),
      v.blind === x.name ? h("a.button.main", { href: "blind/", target: "_blank", rel: "noopener", id: "listen-blind" }, "Open the blind test") : button("Ready it for listening", () => post("print/listen", { name: x.name }).catch((e) => say(e.message)))))));
}

function result(v, r) {
  const rows = (list) => h("table.levels", {}, h("tbody", {}, list.map(([k, ...x]) => h("tr", {}, h("th", { scope: "row" }, k), x.map((y) => h("td.n", {}, y))))));
  const m = r.levels.mix, p = r.levels.print;
  const level = (k, unit, key) => [k, `${db(m[key])} ${unit}`, `${db(p[key])} ${unit}`, m[key] === null || p[key] === null ? "–" : db(p[key] - m[key], true)];
  return h("section", { id: "print-result" }, h("h2", {}, `${r.print.name} against ${r.mix.name}`), h("p", {}, "Tone: " + v.words + "."),
    r.notes.length ? h("ul.found", {}, r.notes.map((n) => h("li.note", {}, n))) : null,
    h("div.twin", {},
      h("figure.chart", {}, bands(r.bands), h("figcaption", {}, "Third octaves in Hz, print less mix in dB, the common gain taken off. The bars are 95 % intervals.")),
      r.level_curve?.length > 1 ? h("figure.chart", {}, curve(r.level_curve), h("figcaption", {}, "Gain in dB by level in dBFS: a chain that only filters gives a flat line, one that compresses falls to the right.")) : null),
    h("div.twin", {},
      h("div.paper", {}, h("h3", {}, "The path"), rows([["delay", `${r.delay_samples.toFixed(2)} samples, ${r.delay_ms.toFixed(3)} ms`], ["gain", `${db(r.gain_db, true)} dB (left ${db(r.sides[0].gain_db, true)}, right ${db(r.sides[1].gain_db, true)})`], ["polarity", r.polarity], ["drift", r.drift_ppm ? r.drift_ppm.toFixed(2) + " ppm" : "none"], ["sides swapped", r.swapped ? "yes" : "no"], ["left by the best linear fit", `${db(r.linear_residual_db)} dB of the print`],
        r.noise ? ["noise added, at most", `${db(r.noise.dbfs)} dBFS`] : null, r.hum ? ["hum", `${r.hum.hz.toFixed(0)} Hz`] : null, r.harmonics ? ["harmonics", `second ${r.harmonics.second_percent.toFixed(3)} %, third ${r.harmonics.third_percent.toFixed(3)} %`] : null, ["clicks and dropouts", String(r.events.length)]].filter(Boolean))),
      h("div.paper", {}, h("h3", {}, "Level: mix, print, change"), rows([level("loudness", "LUFS", "integrated_lufs"), level("loudness range", "LU", "loudness_range_lu"), level("true peak", "dBTP", "true_peak_dbtp"), level("crest factor", "dB", "crest_db")]))),
    h("h3", {}, "What the trade says, tested on this print"),
    h("dl.claims", {}, r.claims.map((c) => h("div", { class: c.verdict }, h("dt", {}, c.claim, " ", h("b", {}, verdicts[c.verdict])), h("dd", {}, c.text)))));
}

const W = 640, H = 240, left = 44, right = 628, top = 12, base = 204;

// frame draws axes; x and y give places in it.
function frame(label, ticksX, x, limitLow, limitHigh, step) {
  const y = (v) => base - ((Math.min(limitHigh, Math.max(limitLow, v)) - limitLow) / (limitHigh - limitLow)) * (base - top);
  const svg = h("svg", { viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": label });
  const text = (at, words, more) => {
    const el = document.createElementNS("http://www.w3.org/2000/svg", "text");
    for (const [k, v] of Object.entries({ ...at, ...more })) el.setAttribute(k, v);
    el.textContent = words;
    svg.append(el);
  };
  for (let v = limitLow; v <= limitHigh + 1e-9; v += step) {
    svg.append(h("line.grid", { x1: left, x2: right, y1: y(v), y2: y(v) }));
    text({ x: left - 6, y: y(v) + 4 }, (v > 0 ? "+" : "") + String(+v.toFixed(2)).replace("-", "−"), { "text-anchor": "end" });
  }
  for (const [v, words] of ticksX) {
    svg.append(h("line.grid", { x1: x(v), x2: x(v), y1: top, y2: base }));
    text({ x: x(v), y: base + 17 }, words, { "text-anchor": "middle" });
  }
  return { svg, y };
}

const limits = (most) => [1, 2, 3, 6, 12, 24].find((l) => l >= most) || 48;

function bands(list) {
  const x = (hz) => left + ((right - left) * Math.log(hz / 20)) / Math.log(1000);
  const l = limits(Math.max(...list.filter((b) => b.ci_db < 6).map((b) => Math.abs(b.db) + b.ci_db)));
  const { svg, y } = frame("Third octaves, print less mix, in dB", [[20, "20"], [50, "50"], [100, "100"], [200, "200"], [500, "500"], [1000, "1k"], [2000, "2k"], [5000, "5k"], [10000, "10k"], [20000, "20k"]], x, -l, l, l / 2);
  const g = h("g.p5");
  const seen = list.filter((b) => b.hz >= 20 && b.hz <= 20000);
  for (const b of seen) g.append(h("line.whisker", { x1: x(b.hz), x2: x(b.hz), y1: y(b.db - b.ci_db), y2: y(b.db + b.ci_db) }));
  g.append(polyline(seen.map((b) => [x(b.hz), y(b.db)])));
  for (const b of seen) {
    const dot = h("circle", { cx: x(b.hz), cy: y(b.db), r: 3 });
    const title = document.createElementNS("http://www.w3.org/2000/svg", "title");
    title.textContent = `${hertz(b.hz)}: ${db(b.db, true)} ± ${b.ci_db.toFixed(2)} dB`;
    dot.append(title);
    g.append(dot);
  }
  svg.append(g);
  return svg;
}

function curve(list) {
  const lo = Math.floor(list[0].level_dbfs / 10) * 10, hi = Math.max(lo + 10, Math.ceil(list.at(-1).level_dbfs / 10) * 10);
  const x = (v) => left + ((v - lo) / (hi - lo)) * (right - left);
  const l = limits(Math.max(...list.map((p) => Math.abs(p.gain_db))));
  const ticks = [];
  for (let v = lo; v <= hi; v += 10) ticks.push([v, String(v).replace("-", "−")]);
  const { svg, y } = frame("Gain by level, in dB", ticks, x, -l, l, l / 2);
  const g = h("g.p6");
  for (const p of list) g.append(h("line.whisker", { x1: x(p.level_dbfs), x2: x(p.level_dbfs), y1: y(p.gain_db - p.ci_db), y2: y(p.gain_db + p.ci_db) }));
  g.append(polyline(list.map((p) => [x(p.level_dbfs), y(p.gain_db)])));
  svg.append(g);
  return svg;
}

function polyline(points) {
  const el = document.createElementNS("http://www.w3.org/2000/svg", "polyline");
  el.setAttribute("points", points.map(([a, b]) => `${a.toFixed(1)},${b.toFixed(1)}`).join(" "));
  return el;
}
