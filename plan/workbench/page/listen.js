// The listening bar: what is heard, the waveform to go through it, and the meters.
import { h, button, badge, db, clock, plural, calm } from "./dom.js";
import { store, session, lanes, track, nameOf, slip, post, changed, say } from "./store.js";
import { Engine } from "./engine.js";

export const player = {
  engine: new Engine(),
  target: { kind: "mix" },
  ids: new Map(), // list of files -> stream id
  matched: true,
  isMono: false,
  through: "clean",
  drive: 0,
  measured: false, // the channel of the line check, instead of the invented one
  peaks: [-Infinity, -Infinity],
  hold: -Infinity,
  vu: [0, 0],
  zoom: null, // [from, to) in frames

  async toggle() {
    if (this.engine.playing) return this.engine.stop();
    if (session()?.mute) return say("Nothing can be heard: " + session().mute);
    rouse();
    await this.ready();
    await this.engine.play();
  },
  stop() {
    this.engine.stop();
  },
  async seek(seconds) {
    await this.ready();
    await this.engine.seek(seconds * this.engine.rate);
  },
  async ready() {
    const s = session();
    if (!s?.frames) return;
    this.engine.tune(s.rate_hz, s.frames);
    this.engine.setMono(this.isMono);
    await aim();
  },
};

const engine = player.engine;
engine.onstate = () => changed();
engine.ontrouble = (err) => say("The sound stopped: " + err.message);

// rouse lets the audio begin while the press that asked for it still counts as one: some browsers allow it then only.
function rouse() {
  const s = session();
  if (!s?.frames) return;
  engine.tune(s.rate_hz, s.frames);
  engine.context.resume().catch(() => {}); // play asks once more, and says what is wrong
}

export const hearing = () => player.target;

// hear changes what is heard, at the same instant of the song, and begins to play where nothing plays yet.
export async function hear(target) {
  if (session()?.mute) return say("Nothing can be heard: " + session().mute);
  player.target = target;
  wave.key = "";
  rouse();
  changed();
  await player.ready();
  if (!engine.playing) await engine.play();
}

// why lets a track and its company be heard through the soft channel.
export async function why(file) {
  const at = slip(file);
  player.target = at ? { kind: "pair", pair: at.lane.number } : { kind: "tracks", files: [file] };
  player.through = "through";
  player.unit = true;
  changed();
  await hear(player.target);
}

// share lets any tracks be heard through one soft channel together, as if they were on one pair.
export async function share(list) {
  player.target = { kind: "tracks", files: list };
  player.through = "through";
  player.unit = true;
  changed();
  await hear(player.target);
}

const files = {
  mix: () => lanes().flatMap((l) => l.tracks.map((t) => t.file)),
  pair: (t) => lanes()[t.pair - 1]?.tracks.map((x) => x.file) || [],
  tracks: (t) => t.files.filter((f) => track(f)),
  without: (t) => files.pair(t).filter((f) => !t.files.includes(f)),
  other: (t) => t.files.filter((f) => track(f)),
};

export const heard = () => files[player.target.kind](player.target);

const mostStreams = 9; // lanes that are streamed side by side; beyond, the server sums the mix

// aim sets the streams for what is to be heard: a lane each, so that lanes and mix can be switched in no time, and one more
// for anything else.
async function aim() {
  const s = session();
  const all = s.lanes.filter((l) => l.tracks.length).map((l) => files.pair({ pair: l.number }));
  const lists = all.length <= mostStreams ? all : [files.mix()];
  const t = player.target;
  let sounding;
  if (t.kind === "mix") sounding = lists;
  else sounding = [heard()].filter((f) => f.length);
  const ids = await streams([...lists, ...sounding]);
  const gain = player.matched ? matching() : 1;
  engine.setVoices(sounding.map((f) => [ids.get(f.join("\n")), gain]), lists.map((f) => ids.get(f.join("\n"))));
  await bend();
}

// prepare fetches how everything begins at this place, what is to be heard first, so that the first sound comes at once. It lets the
// page rest for a moment, unless a press has said that sound is wanted.
const moment = 100; // ms
let preparing = 0, prepared = "";
function prepare(pressed = false) {
  const s = session();
  if (engine.playing || !s?.frames || s.mute || document.hidden || store.dragging) return;
  const all = s.lanes.filter((l) => l.tracks.length).map((l) => files.pair({ pair: l.number }));
  const lists = [...(player.target.kind === "mix" ? [] : [heard()]), ...(all.length <= mostStreams ? all : [files.mix()])].filter((f) => f.length);
  const key = [s.made, engine.at, ...lists.map((f) => f.join("\n"))].join("|");
  const fetchNow = async () => {
    preparing = 0;
    try {
      const ids = await streams(lists);
      engine.frames = s.frames;
      if (!engine.context) engine.rate = s.rate_hz;
      await engine.ready([...new Set(lists.map((f) => ids.get(f.join("\n"))))], s.made, () => store.dragging);
      if (store.dragging) prepared = ""; // the rest comes when the slip lies down
    } catch {
      prepared = ""; // play will ask again, and say what is wrong
    }
  };
  if (key === prepared && !(pressed && preparing)) return;
  prepared = key;
  clearTimeout(preparing);
  if (pressed) fetchNow();
  else preparing = setTimeout(fetchNow, moment);
}

// streams asks for the ids of sums that have none yet.
async function streams(lists) {
  const s = session();
  if (player.of !== s.made) { // what was asked for before is not known any more, or sounds otherwise
    player.ids.clear();
    player.moments?.clear();
    player.of = s.made;
  }
  const missing = [...new Set(lists.map((f) => f.join("\n")))].filter((k) => k && !player.ids.has(k));
  if (missing.length) {
    const { ids } = await post("mix", { mixes: missing.map((k) => k.split("\n")) });
    missing.forEach((k, i) => player.ids.set(k, ids[i]));
  }
  return player.ids;
}

const matchedAt = -23; // LUFS to which everything is brought for comparing, after EBU R 128

// loudness is what a target has, measured where it was, else from the powers of its tracks.
function loudness() {
  const t = player.target;
  const lane = t.kind === "pair" ? lanes()[t.pair - 1] : null;
  if (lane?.load?.lufs != null) return lane.load.lufs;
  let sum = 0;
  if (t.kind === "mix") for (const l of lanes()) sum += 10 ** ((l.load?.lufs ?? l.lufs ?? -Infinity) / 10);
  else for (const f of heard()) sum += 10 ** ((track(f)?.measured.integrated_lufs ?? -Infinity) / 10);
  return 10 * Math.log10(sum);
}

function matching() {
  const l = loudness();
  if (!isFinite(l)) return 1;
  return 10 ** (Math.min(12, matchedAt - l) / 20);
}

// bend sets the soft channel. The pair is brought to the operating level before it, as its trim would.
async function bend() {
  if (player.through === "clean") return engine.setThrough("clean");
  const list = heard();
  if (!list.length) return;
  const ids = await streams([list]);
  const key = list.join("\n");
  player.moments ||= new Map();
  if (!player.moments.has(key)) {
    try {
      player.moments.set(key, await post("moments", { mix: ids.get(key) }));
    } catch (err) {
      say(err.message);
      player.through = "clean";
      return changed();
    }
  }
  const m = player.moments.get(key);
  if (!(m.m2 > 0)) return;
  const gain = player.matched ? matching() : 1;
  // the trimmed pair has the power of a sine at the operating level, 1/2 where x is 1 at its peak
  const k = Math.sqrt(0.5 / m.m2) * 10 ** (player.drive / 20);
  const unit = player.measured && session().unit && !session().unit.why ? session().unit : m;
  const m2 = m.m2 * k ** 2, m3 = m.m3 * k ** 3, m4 = m.m4 * k ** 4;
  const straight = 1 + (unit.a2 * m3 + unit.a3 * m4) / m2;
  engine.setThrough(player.through, { drive: k / gain, a2: unit.a2, a3: unit.a3, m2, straight, boost: 10 ** (boostDB / 20) });
}

export const boostDB = 24; // by which what is added is raised to be heard

let built = null;

export function drawListen(root, leaf) {
  const s = session();
  root.hidden = !s || leaf === "start";
  if (root.hidden) {
    if (!s && engine.playing) engine.stop();
    return;
  }
  if (!built) build(root);
  const b = built;
  b.play.textContent = engine.playing ? "Stop" : "Play";
  b.play.setAttribute("aria-pressed", String(engine.playing));
  b.play.disabled = !!s.mute;
  drawTargets(s);
  for (const [el, on] of [[b.loop, !!engine.loop], [b.match, player.matched], [b.mono, player.isMono]]) el.setAttribute("aria-pressed", String(on));
  for (const el of b.through.children) el.setAttribute("aria-pressed", String(el.dataset.mode === player.through));
  b.unit.setAttribute("aria-pressed", String(player.unit));
  b.whyRow.classList.toggle("on", player.unit || !!s.mute);
  b.drive.hidden = player.through === "clean";
  b.explain.hidden = player.through === "clean";
  const heardUnit = player.measured && s.unit && !s.unit.why ? s.unit : null;
  b.explain.textContent = player.through === "added" ? `Only what the channel adds to this, raised by ${boostDB} dB: overtones, and tones between the tracks that share it.` : `Through ${heardUnit ? heardUnit.from + " as measured" : "a soft channel, invented"}, as loud as clean: second harmonic ${Math.abs(heardUnit ? heardUnit.second_db : -50).toFixed(0)} dB down at operating level. Switch to and fro.`;
  b.channel.hidden = player.through === "clean" || !s.unit || !!s.unit.why;
  b.channel.querySelector("select").value = heardUnit ? "measured" : "invented";
  b.mute.textContent = s.mute ? "Nothing can be heard: " + s.mute : "";
  b.mute.hidden = !s.mute;
  b.through.hidden = b.unit.disabled = !!s.mute;
  if (engine.playing && player.rev !== s.rev) aim().catch(() => {});
  player.rev = s.rev;
  prepare();
  if (!b.running) {
    b.running = true;
    requestAnimationFrame(tick);
  }
  outline();
}

function drawTargets(s) {
  const t = player.target;
  const chosen = [...store.chosen];
  const sign = JSON.stringify([t, s.lanes.map((l) => [l.name, l.tracks.length, l.hue]), chosen]);
  if (built.sign === sign) return;
  built.sign = sign;
  built.targets.classList.toggle("many", s.lanes.length > 5);
  const held = built.targets.contains(document.activeElement) ? document.activeElement.dataset.to : null;
  const chip = (to, on, children, label, act) => h("button.chip", { type: "button", "data-to": to, "aria-pressed": String(on), "aria-label": label, title: label, onclick: act }, children);
  built.targets.replaceChildren(
    chip("mix", t.kind === "mix", "Mix", "Hear the mix", () => hear({ kind: "mix" })),
    ...s.lanes.filter((l) => l.tracks.length).map((l) => chip("p" + l.number, t.kind === "pair" && t.pair === l.number, [badge(l, true), h("span.chipname", {}, l.name)], `Hear pair ${l.number}, ${l.name}`, () => hear({ kind: "pair", pair: l.number }))),
    ...(chosen.length ? [chip("chosen", t.kind === "tracks", chosen.length === 1 ? nameOf(chosen[0]) : plural(chosen.length, "track", "tracks"), "Hear what is chosen", () => hear({ kind: "tracks", files: chosen }))] : t.kind === "tracks" ? [chip("chosen", true, t.files.length === 1 ? nameOf(t.files[0]) : plural(t.files.length, "track", "tracks"), "Hear these tracks", () => hear(t))] : []),
    ...(t.kind === "without" ? [chip("without", true, `${lanes()[t.pair - 1]?.name} without ${t.files.map(nameOf).join(", ")}`, "Hear the pair without it", () => hear(t))] : []),
    ...(t.kind === "other" ? [chip("other", true, t.name, "Hear the other version", () => hear(t))] : []));
  if (held) built.targets.querySelector(`[data-to="${held}"]`)?.focus();
}

function build(root) {
  const b = (built = {});
  b.play = button("Play", () => player.toggle().catch((e) => say(e.message)), { id: "play", class: "main" });
  b.play.addEventListener("pointerdown", () => {
    if (engine.playing || session()?.mute) return;
    rouse(); // the audio wakes, and what is to be heard is fetched, while the finger is down
    prepare(true);
  });
  b.time = h("output.time", { id: "time", "aria-label": "Position" }, "0:00.0");
  b.targets = h("div.targets", { role: "group", "aria-label": "What is heard" });
  b.wave = h("canvas.wave", { id: "wave", role: "slider", tabindex: "0", "aria-label": "Position in the song", "aria-valuemin": "0", "aria-valuenow": "0" });
  b.loop = button("Loop", () => toggleLoop(), { "aria-pressed": "false", title: "Draw over the waveform to choose what is repeated" });
  b.zoomIn = button("+", () => zoom(0.5), { "aria-label": "Zoom in", class: "round" });
  b.zoomOut = button("−", () => zoom(2), { "aria-label": "Zoom out", class: "round" });
  b.match = button("Equal loudness", () => set("matched"), { "aria-pressed": "true", title: `Everything is brought to ${matchedAt} LUFS, so that louder does not win` });
  b.mono = button("Mono", () => {
    player.isMono = !player.isMono;
    if (engine.context) engine.setMono(player.isMono);
    changed();
  }, { "aria-pressed": "false" });
  b.unit = button("Through the unit", () => {
    player.unit = !player.unit;
    player.through = player.unit ? "through" : "clean";
    changed();
    if (engine.context) bend().catch((e) => say(e.message));
  }, { "aria-pressed": "false", id: "unit", title: "What a soft summing channel does to what you hear" });
  b.through = h("div.through", { role: "group", "aria-label": "The soft channel" }, [["clean", "Clean"], ["through", "Through"], ["added", "What it adds"]].map(([mode, name]) => button(name, () => {
    player.through = mode;
    changed();
    if (engine.context) bend().catch((e) => say(e.message));
  }, { "data-mode": mode, "aria-pressed": "false" })));
  b.drive = h("label.drive", {}, "Drive ", h("select", { onchange: (e) => {
    player.drive = +e.target.value;
    changed();
    if (engine.context) bend().catch((err) => say(err.message));
  } }, [["0", "operating level"], ["6", "6 dB above"], ["12", "12 dB above"]].map(([v, n]) => h("option", { value: v }, n))));
  b.channel = h("label.drive", { id: "channel" }, "Channel ", h("select", { onchange: (e) => {
    player.measured = e.target.value === "measured";
    changed();
    if (engine.context) bend().catch((err) => say(err.message));
  } }, [["invented", "invented, soft"], ["measured", "as measured"]].map(([v, n]) => h("option", { value: v }, n))));
  b.explain = h("p.hint");
  b.mute = h("p.alarmed");
  b.scale = h("canvas.ruler", { id: "meter", role: "img", "aria-label": "Level" });
  b.reading = h("output.reading", { id: "reading", "aria-label": "Level in VU and dBFS" });
  root.replaceChildren(h("div.deck", {}, h("div.transport", {}, b.play, b.time), b.targets, h("div.row.switches", {}, b.loop, b.zoomIn, b.zoomOut, b.match, b.mono, b.unit)),
    h("div.strip", {}, b.wave, h("div.meterbox", {}, b.scale, b.reading)), (b.whyRow = h("div.row.why", {}, b.through, b.drive, b.channel, b.explain, b.mute)));
  waveKeys(b.wave);
  watch.observe(b.wave);
  watch.observe(b.scale);
}

function set(key) {
  player[key] = !player[key];
  changed();
  if (engine.context) aim().catch((e) => say(e.message));
}

// ---- waveform

const wave = { key: "", data: null };
const span = () => player.zoom || [0, session()?.frames || 1];

async function outline() {
  const s = session();
  if (!s?.frames || !built || store.dragging) return;
  const list = heard();
  const parts = Math.max(100, Math.min(2400, sizes.get(built.wave)?.[0] || 600));
  const [from, to] = span();
  const key = [s.made, list.join("\n"), from, to, parts].join("|");
  if (wave.key === key || !list.length) return;
  wave.key = key;
  try {
    const ids = await streams([list]);
    const res = await fetch(`overview/${ids.get(list.join("\n"))}?from=${from}&to=${to}&parts=${parts}`);
    if (!res.ok || wave.key !== key) return;
    wave.data = new Int8Array(await res.arrayBuffer());
    wave.span = [from, to];
    wave.drawn = null;
  } catch {
    if (wave.key === key) wave.key = "";
  }
}

function waveKeys(el) {
  let press = null;
  const frame = (x) => {
    const box = el.getBoundingClientRect(), [from, to] = span();
    return from + Math.max(0, Math.min(1, (x - box.left) / box.width)) * (to - from);
  };
  el.addEventListener("pointerdown", (e) => {
    press = { x: e.clientX, at: frame(e.clientX) };
    el.setPointerCapture(e.pointerId);
  });
  el.addEventListener("pointermove", (e) => {
    if (press && Math.abs(e.clientX - press.x) > 6) {
      press.drawn = true;
      wave.region = [press.at, frame(e.clientX)].sort((a, b) => a - b);
    }
  });
  el.addEventListener("pointerup", async (e) => {
    if (!press) return;
    const { drawn, at } = press;
    press = null;
    await player.ready();
    if (drawn) {
      const r = [at, frame(e.clientX)].sort((a, b) => a - b);
      wave.region = null;
      await engine.setLoop(r);
    } else await engine.seek(at);
    changed();
  });
  el.addEventListener("wheel", (e) => {
    if (!e.ctrlKey && !e.metaKey) return;
    e.preventDefault();
    zoom(e.deltaY < 0 ? 0.7 : 1.4, frame(e.clientX));
  }, { passive: false });
  el.addEventListener("keydown", (e) => {
    const by = { ArrowLeft: -1, ArrowRight: 1, PageDown: -10, PageUp: 10 }[e.key];
    if (by) {
      e.preventDefault();
      e.stopPropagation();
      player.seek(engine.position / engine.rate + by);
    } else if (e.key === "Home") {
      e.preventDefault();
      player.seek(0);
    }
  });
}

async function toggleLoop() {
  await player.ready();
  const [from, to] = span();
  await engine.setLoop(engine.loop ? null : player.zoom ? [from, to] : [Math.max(0, engine.position - 0), Math.min(engine.frames, engine.position + 8 * engine.rate)]);
  changed();
}

function zoom(by, around = engine.position) {
  const s = session();
  const [from, to] = span();
  const wide = Math.max(0.5 * s.rate_hz, (to - from) * by);
  if (wide >= s.frames) player.zoom = null;
  else {
    let a = around - wide * ((around - from) / (to - from) || 0.5);
    a = Math.max(0, Math.min(s.frames - wide, a));
    player.zoom = [Math.round(a), Math.round(a + wide)];
  }
  changed();
}

const css = (name, el = document.body) => getComputedStyle(el).getPropertyValue(name).trim();

// sizes of canvases in CSS pixels, told by the browser when they change: to ask in every frame would have the page laid out twice.
const sizes = new Map();
const watch = new ResizeObserver((entries) => {
  for (const { target, contentRect: box } of entries) sizes.set(target, [Math.round(box.width), Math.round(box.height)]);
  if (built) built.quiet = false;
  outline();
});

function fit(canvas) {
  const [wide, high] = sizes.get(canvas) || [0, 0];
  const r = devicePixelRatio || 1, w = Math.round(wide * r), hgt = Math.round(high * r);
  if (canvas.width !== w || canvas.height !== hgt) {
    canvas.width = w;
    canvas.height = hgt;
    return true;
  }
  return false;
}

let ink = null;
const theme = matchMedia("(prefers-color-scheme: dark)");
theme.addEventListener("change", () => {
  ink = null;
  wave.drawn = null;
  if (built) built.quiet = false; // so that a meter at rest is drawn anew
});
function colours() {
  ink ||= { ink: css("--ink"), soft: css("--soft"), line: css("--line"), slip: css("--slip"), alarm: css("--alarm"), link: css("--link"), p: Array.from({ length: 8 }, (_, i) => (i ? css("--p" + i) : "")) };
  return ink;
}

function drawWave() {
  const el = built.wave, resized = fit(el);
  const pos = Math.round(engine.position), [from, to] = span();
  const c = colours();
  const lane = player.target.kind === "pair" ? lanes()[player.target.pair - 1] : null;
  const colour = lane ? c.p[lane.hue] : c.soft;
  const sign = [wave.key, wave.data?.length, pos, from, to, engine.loop, wave.region, colour].join();
  if (!resized && wave.drawn === sign) return;
  wave.drawn = sign;
  const g = el.getContext("2d"), W = el.width, H = el.height;
  g.clearRect(0, 0, W, H);
  const x = (f) => ((f - from) / (to - from)) * W;
  const region = wave.region || engine.loop;
  if (region) {
    g.fillStyle = c.line;
    g.globalAlpha = 0.55;
    g.fillRect(x(region[0]), 0, x(region[1]) - x(region[0]), H);
    g.globalAlpha = 1;
  }
  g.fillStyle = c.line;
  g.fillRect(0, H / 2 - 0.5, W, 1);
  if (wave.data && wave.span[0] === from && wave.span[1] === to) {
    const n = wave.data.length / 2;
    let top = 1;
    for (const v of wave.data) top = Math.max(top, Math.abs(v));
    const k = (0.46 * H) / top;
    g.fillStyle = colour;
    for (let px = 0; px < W; px++) {
      const a = Math.floor((px / W) * n), b = Math.max(a + 1, Math.floor(((px + 1) / W) * n));
      let lo = 0, hi = 0;
      for (let i = a; i < b; i++) {
        lo = Math.min(lo, wave.data[2 * i]);
        hi = Math.max(hi, wave.data[2 * i + 1]);
      }
      g.fillRect(px, H / 2 - hi * k, 1, Math.max(1, (hi - lo) * k));
    }
  }
  if (player.zoom && engine.playing && (pos < from || pos > to)) zoom(1, pos);
  const r = devicePixelRatio || 1;
  g.fillStyle = c.ink;
  g.fillRect(x(pos) - r, 0, 2 * r, H);
  g.beginPath();
  g.moveTo(x(pos) - 5 * r, 0);
  g.lineTo(x(pos) + 5 * r, 0);
  g.lineTo(x(pos), 7 * r);
  g.fill();
}

// ---- meters

const room = [new Float32Array(4096), new Float32Array(4096)];
const vuRise = 0.065; // s; a first order that reads 99 % after 300 ms (IEC 60268-17)
const lowest = -48, highest = 6;

function measure(seconds) {
  if (!engine.meters) return;
  const n = Math.max(64, Math.min(4096, Math.round(seconds * engine.rate)));
  for (let side = 0; side < 2; side++) {
    engine.meters[side].getFloatTimeDomainData(room[side]);
    const x = room[side];
    let peak = 0, sum = 0;
    for (let i = 4096 - n; i < 4096; i++) {
      const v = Math.abs(x[i]);
      if (v > peak) peak = v;
      sum += v;
    }
    const now = 20 * Math.log10(peak || 1e-9);
    player.peaks[side] = Math.max(now, player.peaks[side] - 20 * seconds);
    // the mean of a rectified sine is 2/π of its peak
    player.vu[side] += (((sum / n) * Math.PI) / 2 - player.vu[side]) * (1 - Math.exp(-seconds / vuRise));
  }
  player.hold = Math.max(player.peaks[0], player.peaks[1], player.hold - 3 * seconds);
}

function drawMeter() {
  const el = built.scale;
  fit(el);
  const g = el.getContext("2d"), W = el.width, H = el.height, r = devicePixelRatio || 1, c = colours();
  const x = (v) => Math.max(0, Math.min(1, (v - lowest) / (highest - lowest))) * W;
  g.clearRect(0, 0, W, H);
  const op = session()?.operating_dbfs ?? -18;
  g.font = `${10 * r}px sans-serif`;
  g.textAlign = "center";
  for (let v = lowest; v <= highest; v += 6) {
    g.fillStyle = c.line;
    g.fillRect(x(v), 0, r, H - 13 * r);
    if (v % 12 === 0) {
      g.fillStyle = c.soft;
      g.fillText(v === 0 ? "0 dBFS" : String(v).replace("-", "−"), Math.max(14 * r, Math.min(W - 22 * r, x(v))), H - 2 * r);
    }
  }
  const high = (H - 16 * r) / 2;
  for (let side = 0; side < 2; side++) {
    const y = side * (high + 2 * r);
    g.fillStyle = c.soft;
    g.fillRect(0, y + high * 0.38, x(player.peaks[side]), high * 0.24);
    const vu = 20 * Math.log10(player.vu[side] || 1e-9);
    g.fillStyle = c.ink;
    g.fillRect(0, y + high * 0.18, x(vu), high * 0.64);
    if (player.peaks[side] > 0) {
      g.fillStyle = c.alarm;
      g.fillRect(x(0), y, W - x(0), high);
    }
  }
  g.fillStyle = c.link;
  g.fillRect(x(op) - r, 0, 2 * r, H - 13 * r);
  g.fillStyle = c.ink;
  g.fillRect(x(player.hold), 0, 2 * r, H - 13 * r);
}

let last = 0, told = 0;
function tick(now) {
  if (built && !document.getElementById("listen").hidden) {
    const seconds = Math.min(0.085, Math.max(0.001, (now - last) / 1000));
    last = now;
    const alive = engine.playing || player.hold > lowest;
    if (alive) measure(seconds);
    drawWave();
    if (alive || !built.quiet) drawMeter();
    built.quiet = !alive;
    if (now - told > (calm.matches ? 500 : 100)) {
      told = now;
      const at = engine.position / engine.rate;
      const text = clock(at);
      if (built.time.textContent !== text) built.time.textContent = text;
      const op = session()?.operating_dbfs ?? -18;
      const vu = 20 * Math.log10(Math.max(...player.vu) || 1e-9) - op;
      const reading = alive ? `${vu > -40 ? db(vu, true) : "–"} VU · ${db(player.hold > -90 ? player.hold : null)} dBFS` : "";
      if (built.reading.textContent !== reading) built.reading.textContent = reading;
      const place = [at.toFixed(1), (engine.frames / engine.rate).toFixed(1)].join();
      if (built.place !== place) {
        built.place = place;
        built.wave.setAttribute("aria-valuenow", at.toFixed(1));
        built.wave.setAttribute("aria-valuemax", (engine.frames / engine.rate).toFixed(1));
        built.wave.setAttribute("aria-valuetext", text);
      }
    }
  }
  requestAnimationFrame(tick);
}
