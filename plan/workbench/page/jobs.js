// Work of the program that a person waits for: how far it is, a way to stop it, and what went wrong.
import { h, button } from "./dom.js";
import { session, post, say } from "./store.js";

export const job = (name) => session()?.jobs.find((j) => j.name === name) || null;
export const busy = (name) => !!job(name) && !job(name).over;

export function bar(name, what) {
  const j = job(name);
  if (!j) return null;
  if (j.over) return j.fault ? h("p.alarmed", { role: "alert" }, j.fault) : null;
  const share = j.total ? Math.min(100, Math.round((100 * j.done) / j.total)) : 0;
  const i = h("i");
  i.style.width = share + "%";
  return h("div.row.working", {}, h("span", {}, what), h("div.gauge", { role: "progressbar", "aria-label": what, "aria-valuemin": "0", "aria-valuemax": "100", "aria-valuenow": share }, i),
    button("Stop", () => post("halt", { name }).catch((e) => say(e.message))));
}
