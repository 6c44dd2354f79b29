// A dialog to choose a file of this computer, the newest first: audio, or sheets and tables. Only names are listed.
import { h, button } from "./dom.js";
import { say } from "./store.js";

const last = {}; // folder in which something was chosen, by kind
const nothing = { audio: "No audio files here.", sheets: "No sheets or tables here." };

// chooseFile asks for a file of a kind; null where the person leaves it.
export function chooseFile(title, kind = "audio") {
  return new Promise((done) => {
    let picked = null;
    const list = h("div.folders");
    const field = h("input", { type: "text", name: "path", spellcheck: "false", autocomplete: "off", "aria-label": "Path of the file" });
    const take = (path) => {
      picked = path;
      dialog.close();
    };
    const look = async (at) => {
      try {
        const res = await fetch(`folders?files=${kind}&at=` + encodeURIComponent(at));
        const l = await res.json();
        if (!res.ok) throw new Error(l.error);
        last[kind] = l.path;
        field.value = l.path;
        list.replaceChildren(
          h("div.row.here", {}, l.parent ? button("Up", () => look(l.parent)) : null, h("b", {}, h("bdi", {}, l.path))),
          h("ul", {},
            l.files.map((f) => h("li", {}, h("button.linkish.pick", { type: "button", onclick: () => take(f.path) }, h("bdi", {}, f.name)), h("small", {}, `${new Date(f.time).toLocaleString()} · ${f.bytes < 1e6 ? Math.ceil(f.bytes / 1e3) + " kB" : (f.bytes / 1e6).toFixed(1) + " MB"}`))),
            l.files.length ? null : h("li.hint", {}, nothing[kind]),
            l.folders.map((d) => h("li", {}, button(d.name + "/", () => look(d.path), { class: "linkish" }), d.tracks ? h("small", {}, d.tracks + " audio files") : null))));
      } catch (err) {
        say(err.message);
      }
    };
    const dialog = h("dialog.paper.choose", { "aria-label": title }, h("h2", {}, title), list,
      h("form", { method: "dialog", onsubmit: (e) => (e.preventDefault(), take(field.value)) }, field, h("div.row", {}, h("button.main", { type: "submit" }, "Take it"), button("Leave it", () => dialog.close()))));
    dialog.addEventListener("close", () => {
      dialog.remove();
      done(picked);
    });
    document.body.append(dialog);
    dialog.showModal();
    look(last[kind] || "");
  });
}
