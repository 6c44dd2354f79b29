// The player runs all sounds at once from one start, in step to the sample, and lets one be heard. Switching is a
// crossfade of a few milliseconds: no click, and the music goes on at the same sample.

const fade = 0.006; // seconds

export class Player {
  constructor(rate) {
    this.context = new AudioContext({sampleRate: rate, latencyHint: 'interactive'});
    this.buffers = new Map();
    this.voices = new Map();
    this.heard = null;
    this.loop = null; // [from, to] in seconds
  }

  async load(name, address) {
    const answer = await fetch(address, {cache: 'no-store'});
    if (!answer.ok) throw new Error(await answer.text());
    this.buffers.set(name, await this.context.decodeAudioData(await answer.arrayBuffer()));
  }

  forget(...names) {
    for (const n of names) this.buffers.delete(n);
  }

  get seconds() {
    const [first] = this.buffers.values();
    return first ? first.duration : 0;
  }

  get playing() { return this.voices.size > 0; }

  // place is where in the passage the sound is, in seconds.
  get place() {
    if (!this.playing) return this.rest ?? this.loop?.[0] ?? 0;
    const [from, to] = this.span();
    const at = this.offset + Math.max(0, this.context.currentTime - this.began);
    return at < to ? at : from + (at - from) % (to - from);
  }

  span() { return this.loop ?? [0, this.seconds]; }

  async play(at = this.span()[0]) {
    await this.context.resume();
    this.silence();
    const [from, to] = this.span();
    this.offset = Math.min(Math.max(at, from), to - 0.01);
    this.began = this.context.currentTime + 0.03;
    for (const [name, buffer] of this.buffers) {
      const source = new AudioBufferSourceNode(this.context, {buffer, loop: true, loopStart: from, loopEnd: to});
      const gain = new GainNode(this.context, {gain: name === this.heard ? 1 : 0});
      source.connect(gain).connect(this.context.destination);
      source.start(this.began, this.offset);
      this.voices.set(name, {source, gain});
    }
  }

  // silence lets the sound fade and stops it.
  silence() {
    this.rest = this.playing ? this.place : undefined;
    const now = this.context.currentTime;
    for (const {source, gain} of this.voices.values()) {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setValueAtTime(gain.gain.value, now);
      gain.gain.linearRampToValueAtTime(0, now + fade);
      source.stop(now + 2 * fade);
    }
    this.voices.clear();
  }

  hear(name) {
    this.heard = name;
    const now = this.context.currentTime;
    for (const [n, {gain}] of this.voices) {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setValueAtTime(gain.gain.value, now);
      gain.gain.linearRampToValueAtTime(n === name ? 1 : 0, now + fade);
    }
  }

  // setLoop changes the part that is repeated; null for all. The music goes on where it is if it can.
  async setLoop(loop) {
    const at = this.place;
    const was = this.playing;
    this.loop = loop;
    this.rest = undefined;
    if (was) await this.play(at);
  }
}
