// Keys. Every one of them does what a button does too.
import { h, button } from "./dom.js";
import { store, session, lanes, slip, act, changed, say } from "./store.js";
import { focusSlip, moveTo, chosenOrFocused } from "./lanes.js";
import { player, hear } from "./listen.js";
import { answer } from "./note.js";

const list = [
  ["Space", "play, stop"],
  ["arrows", "go from slip to slip"],
  ["Enter", "choose a slip and see why it is there"],
  ["X", "choose several"],
  ["1 to 9", "what is chosen to that pair"],
  ["Alt and up, down", "to the pair above, below"],
  ["L", "lock, unlock"],
  ["T", "tie what is chosen"],
  ["A", "set aside"],
  ["H", "hear what is chosen"],
  ["M", "hear the mix"],
  ["Y, N", "answer the first question: it stays, it goes"],
  ["Ctrl Z, Ctrl Shift Z", "undo, redo"],
  ["Home, End", "to the start of the song, to the end of the loop"],
  ["Esc", "choose nothing"],
];

export function keyHelp() {
  const dialog = h("dialog.paper", { "aria-label": "Keys" }, h("h2", {}, "Keys"),
    h("dl.keys", {}, list.map(([k, what]) => [h("dt", {}, k), h("dd", {}, what)])),
    button("Close", () => dialog.close(), { class: "main" }));
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

export function keys({ travel }) {
  addEventListener("keydown", (e) => {
    if (!session() || e.defaultPrevented || document.querySelector("dialog[open]")) return;
    const field = e.target.closest("input, textarea, select, [contenteditable]");
    if (field) return;
    const mod = e.ctrlKey || e.metaKey;
    const key = e.key.toLowerCase();
    const done = () => e.preventDefault();
    if (mod && key === "z") return done(), travel(e.shiftKey ? 1 : -1);
    if (mod && key === "y") return done(), travel(1);
    if (mod) return;
    if (key === " " && !e.target.closest("button, a, summary")) return done(), player.toggle();
    if (key === "escape") return store.chosen.clear(), (store.argument = null), (store.offer = null), changed();
    if (key === "?") return done(), keyHelp();
    if (key === "m") return hear({ kind: "mix" });
    if (key === "home" && !e.target.closest(".slipcard")) return done(), player.seek(0);
    if (store.leaf !== "lanes" || e.target.closest("button:not(.slipcard)")) return;
    if ((key === "y" || key === "n") && session().questions.length) return done(), answer(session().questions[0], key === "y");
    const files = chosenOrFocused();
    if (e.altKey && (key === "arrowdown" || key === "arrowup")) {
      const at = slip(store.focus);
      if (!at) return;
      done();
      const to = at.lane.number + (key === "arrowdown" ? 1 : -1);
      if (to >= 1 && to <= lanes().length) moveTo(files, to);
      return;
    }
    if (key.startsWith("arrow")) return done(), focusSlip(key.slice(5));
    if (!files.length || e.altKey) return;
    if (/^[1-9]$/.test(key)) {
      if (+key > lanes().length) return say("There is no pair " + key + ".");
      return done(), moveTo(files, +key);
    }
    switch (key) {
      case "x": case "enter": break; // the slip's own
      case "l": {
        const on = !files.every((f) => slip(f)?.slip.locked);
        act({ do: "lock", tracks: files, on });
        break;
      }
      case "t": act({ do: "tie", tracks: files }); break;
      case "a": act({ do: "aside", tracks: files }); break;
      case "h": hear({ kind: "tracks", files }); break;
    }
  });
}
