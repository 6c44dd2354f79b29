// The one place for what the page knows: the server's state, and what this page has chosen. Views are drawn from it.

export const store = {
  state: null, // as the server sent it
  leaf: "lanes",
  chosen: new Set(), // files
  focus: "", // file that the keyboard is on
  argument: null, // for the chosen track
  offer: null, // a fold that is shown before it is taken
  busy: "",
  dragging: false, // a slip is in the air: what can wait, waits
  online: true,
};

const listeners = new Set();
let due = false;

// changed draws all views anew, once a frame.
export function changed() {
  if (due) return;
  due = true;
  queueMicrotask(() => {
    due = false;
    for (const f of listeners) f(store);
  });
}

export function onChange(f) {
  listeners.add(f);
}

export const session = () => store.state?.session || null;
export const lanes = () => session()?.lanes || [];

// track finds what does not depend on where a track is.
let index = null;
export function track(file) {
  if (!index || index.of !== session()) {
    index = { of: session(), map: new Map((session()?.tracks || []).map((t) => [t.file, t])) };
  }
  return index.map.get(file);
}

export const nameOf = (file) => track(file)?.name || file;

// named lists tracks; each name keeps its own direction of writing.
export const named = (files, draw = (f, name) => name) => files.map((f, i) => {
  const name = document.createElement("bdi");
  name.textContent = nameOf(f);
  return [i ? ", " : "", draw(f, name)];
});

// slip finds a track's place: its lane and what stands on it there.
export function slip(file) {
  for (const lane of lanes()) {
    const s = lane.tracks.find((t) => t.file === file);
    if (s) return { lane, slip: s };
  }
  return null;
}

// say tells what happened to eyes and to screen readers.
let hush;
export function say(text, lasting = false) {
  const el = document.getElementById("said");
  el.textContent = text;
  el.classList.toggle("shown", !!text);
  clearTimeout(hush);
  if (!lasting) hush = setTimeout(() => el.classList.remove("shown"), 5000);
}

// post sends a request. What cannot be done comes back as an Error with the reason; where the program cannot be reached,
// the error has gone = true.
export async function post(path, body = {}) {
  let res;
  try {
    res = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  } catch {
    offline();
    throw Object.assign(new Error("foldout cannot be reached"), { gone: true });
  }
  const out = await res.json().catch(() => ({}));
  if (!res.ok) throw new Error(out.error || res.statusText);
  return out;
}

const waiting = []; // acts that could not be sent

const underway = new Set(); // acts without an answer yet

// answered waits until every act has its answer.
export const answered = () => Promise.all(underway);

// act does something to the sheet and shows the new state. What cannot be sent waits until the program is back.
export function act(what, path = "act") {
  const done = tell(what, path).finally(() => underway.delete(done));
  underway.add(done);
  return done;
}

async function tell(what, path) {
  try {
    take(await post(path, what));
    return true;
  } catch (err) {
    if (err.gone) {
      waiting.push({ what, path, folder: session()?.folder });
      return false;
    }
    say(err.message);
    await refresh();
    return false;
  }
}

// catchUp does what could not be sent, as soon as its session is there.
let catching = false;
async function catchUp() {
  if (catching) return;
  catching = true;
  while (store.online && waiting.length && session()?.folder === waiting[0].folder) {
    const { what, path } = waiting.shift();
    await act(what, path);
  }
  catching = false;
}

// take shows a state that the server sent, unless a later one is shown already.
export function take(state) {
  if (!state) return;
  const now = session(), next = state.session;
  if (now && next && now.folder === next.folder && next.rev < now.rev) return;
  store.state = state;
  const there = new Set((next?.tracks || []).map((t) => t.file));
  for (const f of store.chosen) if (!there.has(f)) store.chosen.delete(f);
  if (!there.has(store.focus)) store.focus = "";
  changed();
  if (waiting.length) catchUp();
}

let asking = false, again = false;
export async function refresh() {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  try {
    const res = await fetch("state");
    if (res.ok) take(await res.json());
  } catch {
    offline();
  } finally {
    asking = false;
    if (again) {
      again = false;
      refresh();
    }
  }
}

function offline() {
  if (!store.online) return;
  store.online = false;
  changed();
}

// listen follows the server's events and comes back by itself.
export function listen(on) {
  const events = new EventSource("events");
  events.addEventListener("hello", async () => {
    const was = store.online, folder = session()?.folder;
    store.online = true;
    await refresh();
    changed();
    if (!was) say("foldout is back.");
    // a program that was started again without its session is given it
    if (!was && folder && store.state && !session() && !store.state.opening) post("open", { path: folder }).catch((err) => say(err.message));
  });
  events.addEventListener("error", () => {
    offline();
    if (events.readyState === EventSource.CLOSED) setTimeout(() => listen(on), 1000);
  });
  for (const name of ["opening", "opened", "changed"]) events.addEventListener(name, refresh);
  for (const [name, f] of Object.entries(on)) events.addEventListener(name, (e) => f(JSON.parse(e.data)));
}
