import {Player} from './player.js';
import {Wave} from './wave.js';

const $ = id => document.getElementById(id);
let state, player, wave, chosen = null, asked = 0, busy = false;
const heard = new Set();

async function ask(path, body) {
  const answer = await fetch(path, body === undefined ? {} : {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body)});
  const said = await answer.json();
  if (!answer.ok) throw new Error(said.error);
  return said;
}

const say = text => { $('message').textContent = text; };

// act does one thing at a time and tells what went wrong.
async function act(what) {
  if (busy) return;
  busy = true;
  say('');
  try { await what(); } catch (e) { say(e.message); } finally { busy = false; }
}

function show(s) {
  state = s;
  for (const id of ['idle', 'running', 'ended']) $(id).hidden = id !== s.phase;
  if (s.phase === 'idle') idle();
  if (s.phase === 'ended') ended();
}

function idle() {
  $('pair').textContent = `A is ${state.a}, B is ${state.b}: ${state.seconds.toFixed(1)} s, ${Math.abs(state.apart_lu).toFixed(2)} LU apart after matching.`;
  $('notes').replaceChildren(...state.notes.map(n => { const li = document.createElement('li'); li.textContent = n; return li; }));
  $('offers').replaceChildren(...state.offer.map((o, i) => {
    const label = document.createElement('label');
    const input = document.createElement('input');
    Object.assign(input, {type: 'radio', name: 'trials', value: o.trials, checked: i === 0});
    const bold = document.createElement('b');
    bold.textContent = ` ${o.trials} trials`;
    const small = document.createElement('small');
    small.textContent = `${o.needed} right answers are needed. Who is right ${o.often} passes four tests of five.`;
    label.append(input, bold, small);
    return label;
  }));
}

const sounds = () => state.mode === 'abx' ? [['a', 'A', 'a'], ['x', 'X', 'x'], ['b', 'B', 'b']] : [['first', '1', 'x'], ['second', '2', 'x']];
const answers = () => state.mode === 'abx' ? ['X is A', 'X is B'] : ['I like 1 better', 'I like 2 better'];

async function trial() {
  show(state);
  if (state.phase !== 'running') return;
  player ??= new Player(state.rate_hz);
  player.silence();
  player.heard = null;
  player.forget('x', 'first', 'second');
  const loads = state.mode === 'abx' ? ['x'] : ['first', 'second'];
  if (state.mode === 'abx') for (const n of ['a', 'b']) if (!player.buffers.has(n)) await player.load(n, `audio/${n}.wav`);
  if (state.mode !== 'abx') player.forget('a', 'b');
  for (const n of loads) await player.load(n, `audio/${n}.wav?trial=${state.trial}`);
  asked = state.trial;
  chosen = null;
  heard.clear();
  $('count').textContent = `Trial ${state.trial} of ${state.trials}.`;
  $('hint').textContent = state.mode === 'abx' ? 'Is X the same as A, or the same as B?' : 'Which do you like better?';
  $('live').textContent = $('count').textContent;
  $('sounds').replaceChildren(...sounds().map(([name, text, kind]) => button(text, kind, () => hear(name), name)));
  $('answers').replaceChildren(...answers().map((text, i) => button(text, 'answer', () => choose(i), 'answer' + i)));
  $('keys').textContent = state.mode === 'abx'
    ? 'Keys: A, X, B to hear; left and right arrow to answer; enter to confirm; space to play and stop; [ and ] to set the loop where the music is; L for all.'
    : 'Keys: 1, 2 to hear; left and right arrow to choose; enter to confirm; space to play and stop; [ and ] to set the loop where the music is; L for all.';
  if (!wave) {
    wave = new Wave($('wave'), await ask('api/outline'), loop => player.setLoop(loop).then(region));
    requestAnimationFrame(tick);
  }
  wave.seconds = player.seconds;
  wave.show(player.loop);
  region();
  marks();
}

function button(text, kind, act, name) {
  const b = document.createElement('button');
  b.textContent = text;
  b.className = kind;
  b.dataset.name = name;
  b.setAttribute('aria-pressed', 'false');
  b.addEventListener('click', act);
  return b;
}

function marks() {
  for (const b of $('sounds').children) b.setAttribute('aria-pressed', String(b.dataset.name === player.heard && player.playing));
  for (const b of $('answers').children) b.setAttribute('aria-pressed', String(b.dataset.name === 'answer' + chosen));
  const must = state.mode === 'abx' ? ['x'] : ['first', 'second'];
  $('confirm').disabled = chosen === null || !must.every(n => heard.has(n));
  $('play').firstChild.textContent = player.playing ? 'Stop ' : 'Play ';
}

async function hear(name) {
  if (!player.buffers.has(name)) return;
  player.hear(name);
  heard.add(name);
  if (!player.playing) await player.play(player.rest ?? player.span()[0]);
  marks();
}

async function toggle() {
  if (player.playing) player.silence();
  else await hear(player.heard ?? sounds()[0][0]);
  marks();
}

function choose(i) { chosen = i; marks(); }

function confirm() {
  if ($('confirm').disabled) return;
  act(async () => {
    state = await ask('api/answer', {trial: asked, answer: chosen});
    player.silence();
    await trial();
  });
}

function region() {
  const [from, to] = player.span();
  $('region').textContent = player.loop ? `Loop from ${from.toFixed(2)} s to ${to.toFixed(2)} s.` : `The whole passage is looped (${to.toFixed(1)} s). Drag over the drawing to loop a part.`;
  wave?.show(player.loop);
  marks();
}

// edge sets one end of the loop to where the music is.
function edge(which) {
  const [from, to] = player.span();
  const at = player.place;
  const loop = which === 0 ? [at, to] : [from, at];
  if (loop[1] - loop[0] >= 0.3) player.setLoop(loop).then(region);
}

function tick() {
  if (state.phase === 'running') wave.head(player.place);
  requestAnimationFrame(tick);
}

function ended() {
  player?.silence();
  const r = state.result;
  $('verdict').textContent = r.text;
  $('saved').textContent = state.save_failed ? `The result could not be saved: ${state.save_failed}` : state.saved ? `Saved as ${state.saved}.` : '';
  const rows = (r.log ?? []).map((t, i) => r.mode === 'abx' ? [i + 1, t.x, t.answer, t.x === t.answer ? 'right' : 'wrong', t.seconds.toFixed(0)] : [i + 1, t.x, t.answer, '', t.seconds.toFixed(0)]);
  if (rows.length) rows.unshift(r.mode === 'abx' ? ['trial', 'X was', 'you said', '', 'seconds'] : ['trial', '1 was', 'you chose', '', 'seconds']);
  $('log').replaceChildren(...rows.map((cells, i) => {
    const tr = document.createElement('tr');
    tr.append(...cells.map(c => { const td = document.createElement(i ? 'td' : 'th'); td.textContent = c; return td; }));
    return tr;
  }));
}

$('start').addEventListener('click', () => act(async () => {
  const pick = name => document.querySelector(`input[name=${name}]:checked`).value;
  player ??= new Player(state.rate_hz); // inside the click: browsers let sound begin only so
  await player.context.resume();
  state = await ask('api/start', {mode: pick('mode'), trials: Number(pick('trials'))});
  await trial();
}));
$('play').addEventListener('click', toggle);
$('whole').addEventListener('click', () => player.setLoop(null).then(region));
$('confirm').addEventListener('click', confirm);
$('stop').addEventListener('click', () => act(async () => {
  if (!window.confirm('Stop the test? It is not evaluated then.')) return;
  show(await ask('api/stop', {}));
}));
$('again').addEventListener('click', () => { show({...state, phase: 'idle'}); });

addEventListener('keydown', e => {
  if (state?.phase !== 'running' || e.ctrlKey || e.metaKey || e.altKey || e.repeat) return;
  const key = e.key.toLowerCase();
  const names = state.mode === 'abx' ? {a: 'a', x: 'x', b: 'b'} : {1: 'first', 2: 'second'};
  const does = {' ': toggle, arrowleft: () => choose(0), arrowright: () => choose(1), enter: confirm, l: () => player.setLoop(null).then(region), '[': () => edge(0), ']': () => edge(1)}[key]
    ?? (names[key] && (() => hear(names[key])));
  if (!does) return;
  if ((key === 'enter' || key === ' ') && e.target.id === 'stop') return;
  e.preventDefault();
  does();
});

// For tests of the page: what it knows, which holds nothing of the order.
window.page = {get state() { return state; }, get player() { return player; }, get chosen() { return chosen; }, get ready() { return !busy && asked === state?.trial; }};

act(async () => {
  state = await ask('api/state');
  if (state.phase === 'running') await trial(); else show(state);
});
