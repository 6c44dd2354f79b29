// Small helpers for the views: elements, SVG, numbers as people read them.

const svgNames = new Set(["svg", "path", "rect", "g", "circle", "use", "line"]);

// h makes an element: attributes, then children. "on..." attributes are listeners, undefined and false ones are left out.
export function h(name, attributes = {}, ...children) {
  const [tag, ...classes] = name.split(".");
  const el = svgNames.has(tag) ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  if (classes.length) el.setAttribute("class", classes.join(" "));
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) el.addEventListener(key.slice(2), value);
    else if (key === "class") el.setAttribute("class", [el.getAttribute("class"), value].filter(Boolean).join(" "));
    else if (key === "value") el.value = value;
    else el.setAttribute(key, value === true ? "" : value);
  }
  el.append(...children.flat(3).filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
  return el;
}

// button makes a button with a visible word.
export function button(text, act, attributes = {}) {
  return h("button", { type: "button", onclick: act, ...attributes }, text);
}

export const minus = "\u2212";

// put makes these the children of an element, without those that are absent.
export function put(el, ...children) {
  el.replaceChildren(...children.flat(3).filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
}

// signs writes the minus of figures as a minus.
export const signs = (text) => text.replace(/(^|[\s(])-(?=\d)/g, "$1" + minus);

// db writes a level with one decimal; null is silence or unknown.
export function db(v, signed = false) {
  if (v === null || v === undefined || !isFinite(v)) return "–";
  const s = Math.abs(v).toFixed(1);
  if (s === "0.0") return s;
  return (v < 0 ? minus : signed ? "+" : "") + s;
}

export function hertz(v) {
  if (!v) return "–";
  return v >= 1000 ? (v / 1000).toPrecision(3) + " kHz" : v.toPrecision(v < 100 ? 2 : 3) + " Hz";
}

export function percent(v) {
  return v === null || v === undefined ? "…" : Math.round(100 * v) + "\u202f%";
}

export function clock(seconds) {
  const s = Math.max(0, seconds);
  return Math.floor(s / 60) + ":" + String(Math.floor(s % 60)).padStart(2, "0") + "." + Math.floor((s * 10) % 10);
}

export function plural(n, one, many) {
  return n + " " + (n === 1 ? one : many);
}

// ribbon draws a spectrum; hatch doubles its colour by a pattern.
export function ribbon(path, { lines = [], hatch = 0, edge = false, label = "" } = {}) {
  const svg = h("svg", { viewBox: "0 0 1000 100", preserveAspectRatio: "none", ...(label ? { role: "img", "aria-label": label } : { "aria-hidden": "true" }) });
  if (path) {
    svg.append(h("path.fill", { d: path }));
    if (hatch) svg.append(h("path.hatch", { d: path, fill: `url(#h${hatch})` }));
    for (const d of lines) svg.append(h("path.thread", { d }));
    if (edge) svg.append(h("path.edge", { d: path }));
  }
  return svg;
}

// grid draws the registers behind ribbons.
export function grid(registers) {
  return h("svg.grid", { viewBox: "0 0 1000 100", preserveAspectRatio: "none", "aria-hidden": "true" },
    registers.map((r, i) => h("rect", { class: "reg" + (i % 2 ? " alt" : ""), x: r.x, y: 0, width: r.wide, height: 100 })));
}

// badge stands for a pair wherever one is named.
export function badge(lane, small = false) {
  return h("span.badge", { class: `p${lane.hue}` + (small ? " small" : "") }, h("span.away", {}, "pair "), String(lane.number));
}

// place puts inline styles of drawings that come from the server where a strict page can have them.
export function placeStyles(root) {
  for (const el of root.querySelectorAll("[data-style]")) {
    el.style.cssText = el.getAttribute("data-style");
    el.removeAttribute("data-style");
  }
}

// ask asks for one line of text; null where the person leaves it.
export function ask(question, value, hint = "") {
  return new Promise((done) => {
    const input = h("input", { type: "text", value, autocomplete: "off", spellcheck: "false", maxlength: "120" });
    const dialog = h("dialog.paper", { "aria-label": question }, h("form", { method: "dialog", onsubmit: (e) => {
      e.preventDefault();
      dialog.close("yes");
    } }, h("label", {}, h("b", {}, question), hint ? " " + hint : null, input), h("div.row", {}, h("button.main", { type: "submit" }, "Good"), button("Leave it", () => dialog.close("")))));
    dialog.addEventListener("close", () => {
      dialog.remove();
      done(dialog.returnValue === "yes" ? input.value : null);
    });
    document.body.append(dialog);
    dialog.showModal();
    input.select();
  });
}

export const calm = matchMedia("(prefers-reduced-motion: reduce)");
