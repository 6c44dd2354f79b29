// The sound engine: several streams that the server sums are played in step, sample for sample, and faded against one
// another. A stream is fetched in ranges and laid end to end on the clock of the audio context, so there is no gap and no
// drift; a loop is only another order of the same ranges.

const lead = 0.06; // seconds between the first sound being ready and its start
const first = 0.3; // seconds of the first range, so that play starts soon
const later = 1.5; // seconds of the ranges after it; they grow to that step by step, since each has only what is laid out already as its time to come
const growth = 1.5;
const ahead = 5; // seconds that are fetched before they are due
const fade = 0.012; // time constant of fades between streams, seconds
const early = 0.8; // seconds of each stream that are fetched before anybody listens
const abreast = 3; // streams of which that is fetched at a time
const wakes = 4; // seconds in which a browser with an output for sound has begun to play

export class Engine {
  constructor() {
    this.rate = 48000;
    this.frames = 0;
    this.voices = new Map(); // stream id -> voice
    this.playing = false;
    this.at = 0; // frame at which play begins
    this.loop = null; // [from, to) in frames
    this.late = 0; // ranges that came after they were due
    this.kept = new Map(); // stream id -> its beginning at this place, fetched before anybody listens
    this.onstate = () => {};
    this.ontrouble = () => {};
  }

  // tune makes the audio context, in the rate of the session, so that nothing is resampled between ranges.
  tune(rate, frames) {
    this.frames = frames;
    if (this.context && this.rate === rate) return;
    this.rate = rate;
    this.context?.close();
    const c = (this.context = new AudioContext({ sampleRate: rate, latencyHint: "interactive" }));
    this.sum = c.createGain();
    this.dry = c.createGain();
    this.wet = c.createGain();
    this.wet.gain.value = 0;
    this.into = c.createGain();
    this.bend = c.createWaveShaper();
    this.outOf = c.createGain();
    this.less = c.createGain(); // the straight part, taken away where only what is added is to be heard
    this.less.gain.value = 0;
    this.match = c.createGain();
    this.mono = c.createGain();
    this.gate = c.createGain();
    this.sum.connect(this.dry).connect(this.match);
    this.sum.connect(this.into).connect(this.bend).connect(this.outOf).connect(this.wet).connect(this.match);
    this.sum.connect(this.less).connect(this.match);
    this.mono.channelCountMode = "explicit";
    this.mono.channelCount = 2;
    this.match.connect(this.mono).connect(this.gate).connect(c.destination);
    const split = c.createChannelSplitter(2);
    this.mono.connect(split);
    this.meters = [0, 1].map((side) => {
      const a = c.createAnalyser();
      a.fftSize = 4096;
      a.smoothingTimeConstant = 0.6;
      split.connect(a, side);
      return a;
    });
  }

  // position is the frame that is heard now.
  get position() {
    if (!this.playing || this.started === undefined) return this.at;
    return this.song(Math.max(0, Math.round((this.context.currentTime - this.started) * this.rate)));
  }

  // song turns frames since play began into a frame of the song.
  song(p) {
    const f = this.at + p;
    if (!this.loop || this.at >= this.loop[1] || f < this.loop[1]) return f;
    return this.loop[0] + ((f - this.loop[0]) % (this.loop[1] - this.loop[0]));
  }

  // setVoices says which streams sound, and how loud: a map from id to gain. Streams in keep are fetched along silently,
  // so that switching to them takes no time.
  setVoices(gains, keep = []) {
    this.want = new Map(gains);
    const wanted = new Set([...this.want.keys(), ...keep]);
    for (const id of wanted) if (!this.voices.has(id)) this.add(id);
    for (const v of this.voices.values()) {
      v.gain = this.want.get(v.id) || 0;
      v.drop = !wanted.has(v.id);
    }
    if (!this.playing) {
      for (const v of [...this.voices.values()]) if (v.drop) this.remove(v);
      for (const v of this.voices.values()) v.node.gain.value = v.gain;
      return;
    }
    this.turn();
    this.fetchAll();
  }

  // turn fades to what is wanted as soon as all of it can be heard.
  turn() {
    const now = this.context.currentTime;
    const ready = [...this.voices.values()].every((v) => !v.gain || v.until > now || v.done);
    if (!ready) {
      this.turning = true;
      return;
    }
    this.turning = false;
    for (const v of [...this.voices.values()]) {
      v.node.gain.cancelScheduledValues(now);
      v.node.gain.setTargetAtTime(v.gain, now, fade);
      if (v.drop) {
        v.leaving = true;
        setTimeout(() => v.drop && this.remove(v), 200);
      }
    }
  }

  // ready fetches the beginnings of streams, the first named first, so that play starts at once. Those of another place or another time
  // are forgotten. It breaks off where wait says so.
  async ready(ids, of, wait) {
    const at = this.at;
    if (this.readied !== of) this.kept.clear();
    this.readied = of;
    for (const [id, k] of this.kept) if (!ids.includes(id) || k.from !== at) this.kept.delete(id);
    const n = Math.min(Math.round(early * this.rate), this.frames - at);
    const missing = n > 0 ? ids.filter((id) => !this.kept.has(id)) : [];
    const stale = () => this.readied !== of || this.at !== at || this.playing;
    const fetchNext = async () => {
      while (missing.length && !wait() && !stale()) {
        const id = missing.shift(), data = this.bytes(id, at, n);
        const begun = { from: at, n, data };
        this.kept.set(id, begun);
        try {
          await data;
        } catch (err) {
          if (this.kept.get(id) === begun) this.kept.delete(id);
          throw err;
        }
      }
    };
    await Promise.all(Array.from({ length: abreast }, fetchNext));
  }

  // bytes fetches frames of a stream.
  async bytes(id, from, n, signal) {
    const res = await fetch("sound/" + id, { headers: { Range: `bytes=${from * 8}-${(from + n) * 8 - 1}` }, signal });
    if (res.status !== 206 && res.status !== 200) throw new Error((await res.json().catch(() => ({}))).error || "the sound cannot be read");
    return new Float32Array(await res.arrayBuffer());
  }

  // wake starts the clock of the audio. Without an output for sound a browser never does.
  async wake() {
    let waited;
    const silence = new Promise((_, fail) => (waited = setTimeout(() => fail(new Error("This browser gives no sound. Is an output connected and chosen, and may this page sound?")), 1000 * wakes)));
    try {
      await Promise.race([this.context.resume(), silence]);
    } finally {
      clearTimeout(waited);
    }
  }

  add(id) {
    const node = this.context.createGain();
    node.gain.value = 0;
    node.connect(this.sum);
    this.voices.set(id, { id, node, gain: 0, next: 0, until: 0, sources: new Set(), busy: null, done: false, fresh: true });
  }

  remove(v) {
    v.busy?.abort();
    for (const s of v.sources) s.stop();
    v.node.disconnect();
    if (this.voices.get(v.id) === v) this.voices.delete(v.id);
  }

  async play() {
    if (this.playing || !this.voices.size) return;
    await this.wake();
    if (this.playing) return; // pressed twice
    if (this.at >= this.frames) this.at = this.loop ? this.loop[0] : 0;
    this.playing = true;
    this.started = undefined;
    const run = (this.run = {});
    this.onstate();
    const v0 = [...this.voices.values()];
    for (const v of v0) Object.assign(v, { next: 0, until: 0, done: false, fresh: true });
    try {
      const sounding = v0.filter((v) => v.gain);
      const parts = await Promise.all(sounding.map((v) => this.load(v)));
      if (this.run !== run) return;
      this.started = this.context.currentTime + lead;
      this.gate.gain.cancelScheduledValues(0);
      this.gate.gain.setValueAtTime(1, this.context.currentTime);
      for (const v of sounding) v.node.gain.value = v.gain;
      parts.forEach((part, i) => part && this.schedule(sounding[i], part));
    } catch (err) {
      if (this.run === run) this.fail(err);
      return;
    }
    this.timer = setInterval(() => this.fetchAll(), 120);
    this.fetchAll();
  }

  // stop stops where it is.
  stop() {
    if (!this.playing) return;
    this.at = this.position;
    this.halt();
    this.onstate();
  }

  halt() {
    this.playing = false;
    this.run = null;
    clearInterval(this.timer);
    const now = this.context.currentTime;
    this.gate.gain.setTargetAtTime(0, now, 0.004);
    for (const v of [...this.voices.values()]) {
      v.busy?.abort();
      v.busy = null;
      for (const s of v.sources) s.stop(now + 0.03);
      v.sources.clear();
      if (v.drop) this.remove(v);
    }
  }

  fail(err) {
    if (err.name === "AbortError") return;
    this.stop();
    this.ontrouble(err);
  }

  async seek(frame) {
    const again = this.playing;
    if (again) this.halt();
    this.at = Math.max(0, Math.min(this.frames, Math.round(frame)));
    this.onstate();
    if (again) await this.play();
  }

  async setLoop(loop) {
    const again = this.playing, at = this.position;
    if (again) this.halt();
    this.loop = loop && loop[1] - loop[0] > 0.05 * this.rate ? loop.map(Math.round) : null;
    this.at = this.loop && (at < this.loop[0] || at >= this.loop[1]) ? this.loop[0] : at;
    this.onstate();
    if (again) await this.play();
  }

  // load fetches the next range of a stream.
  async load(v) {
    const from = this.song(v.next);
    if (from >= this.frames) {
      v.done = true;
      return null;
    }
    const kept = v.fresh && v.next === 0 && this.kept.get(v.id);
    v.reach = v.fresh ? first : Math.min(later, v.reach * growth);
    let n = Math.round(v.reach * this.rate);
    const end = this.loop && from < this.loop[1] && this.at < this.loop[1] ? this.loop[1] : this.frames;
    n = Math.min(n, end - from);
    const p = v.next;
    v.fresh = false;
    let data;
    if (kept && kept.from === from && kept.n <= end - from) {
      n = kept.n;
      data = await kept.data;
    } else {
      v.busy = new AbortController();
      data = await this.bytes(v.id, from, n, v.busy.signal);
      v.busy = null;
    }
    v.next = p + n;
    const buffer = this.context.createBuffer(2, n, this.rate);
    const left = buffer.getChannelData(0), right = buffer.getChannelData(1);
    for (let i = 0, k = 0; i < n; i++, k += 2) {
      left[i] = data[k];
      right[i] = data[k + 1];
    }
    return { buffer, p };
  }

  schedule(v, { buffer, p }) {
    const source = this.context.createBufferSource();
    source.buffer = buffer;
    source.connect(v.node);
    const when = this.started + p / this.rate, now = this.context.currentTime;
    if (when >= now) source.start(when);
    else {
      if (v.until && v.gain) this.late++; // it was sounding: a gap was heard
      if (when + buffer.duration <= now + 0.01) return;
      source.start(now + 0.01, now + 0.01 - when);
    }
    v.sources.add(source);
    source.onended = () => v.sources.delete(source);
    v.until = when + buffer.duration;
  }

  fetchAll() {
    if (!this.playing || this.started === undefined) return;
    const run = this.run;
    const now = Math.max(0, (this.context.currentTime - this.started) * this.rate);
    if (!this.loop && this.at + now >= this.frames) {
      this.at = this.frames;
      this.halt();
      this.at = 0;
      this.onstate();
      return;
    }
    for (const v of this.voices.values()) {
      if (v.busy || v.done || v.leaving) continue;
      if (v.next < now) v.next = Math.ceil(now + (v.fresh ? 0.05 * this.rate : 0)); // a stream that joins, or lags, goes on where the song is
      if (v.next - now > ahead * this.rate) continue;
      this.load(v).then((part) => {
        if (this.run !== run) return;
        if (part) this.schedule(v, part);
        if (this.turning) this.turn();
        this.fetchAll();
      }).catch((err) => this.run === run && this.fail(err));
    }
  }

  // setMono hears both sides as one: what is out of phase disappears.
  setMono(on) {
    this.mono.channelCount = on ? 1 : 2;
    this.mono.channelCountMode = "explicit";
    this.mono.channelInterpretation = "speakers";
  }

  // setThrough chooses what is heard of the soft channel: "clean", "through", or "added", what it adds alone.
  setThrough(mode, { drive = 1, a2 = 0, a3 = 0, m2 = 0, straight = 1, boost = 1 } = {}) {
    const now = this.context.currentTime;
    const to = (param, v) => param.setTargetAtTime(v, now, fade);
    if (mode === "clean") {
      to(this.dry.gain, 1);
      to(this.wet.gain, 0);
      to(this.less.gain, 0);
      return;
    }
    // x is 1 at the peak of a sine at the operating level; the curve is laid out over ±span.
    const span = 12, n = 16385, curve = new Float32Array(n);
    const top = a3 < 0 ? Math.min(span, Math.sqrt(1 / (-3 * a3)) * 0.95) : span; // beyond, the series turns back: held
    const y = (x) => x + a2 * x * x + a3 * x * x * x;
    for (let i = 0; i < n; i++) {
      const x = ((2 * i) / (n - 1) - 1) * span;
      curve[i] = y(Math.max(-top, Math.min(top, x))) - a2 * m2;
    }
    this.bend.curve = curve;
    this.into.gain.value = drive / span;
    this.outOf.gain.value = 1 / (drive * straight);
    to(this.dry.gain, 0);
    to(this.wet.gain, mode === "added" ? boost : 1);
    to(this.less.gain, mode === "added" ? -boost : 0);
  }
}
