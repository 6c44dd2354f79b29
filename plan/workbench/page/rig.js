// The rig as a form that says at once what contradicts.
import { h, put, button, plural, signs } from "./dom.js";
import { session, post, act, say } from "./store.js";

const connectors = [["dsub", "25-way D-type"], ["trs", "jack, balanced"], ["xlr", "XLR"]];
let draft = null, trial = null, timer = 0;

const plain = (pairs) => ({
  name: "My rig",
  interfaces: [{ name: "Interface", line_outputs: 2 * pairs + 2, monitor_pair: [1, 2], reserved_outputs: [], inputs: 8, connector: "dsub", input_connector: "dsub", full_scale_dbu: 22, first_summing_input: 0 }],
  summing: { name: "Summing unit", inputs: Math.max(8, 2 * pairs), connector: "dsub", output_connector: "xlr", max_input_dbu: 26, operating_dbu: 4, mono_switches: [] },
  alignment: { preset: "-18 dBFS = +4 dBu", dbfs: -18, dbu: 4, vu: 0 },
  return: { interface: "Interface", inputs: [1, 2], print_track: "Print" },
  pan: "-3 dB", cables: { looms: -1, leads: -1 }, assumed: [],
});

export function drawRig(root) {
  const s = session();
  if (root.querySelector(".rigform")) return;
  draft = s.rig ? structuredClone(s.rig) : plain(s.lanes.length);
  build(root);
}

function build(root) {
  const s = session();
  const field = (label, object, key, attributes = {}) => {
    const number = attributes.type === "number";
    return h("label.field", {}, h("span", {}, label), h("input", { type: "text", autocomplete: "off", ...attributes, value: object[key] ?? "", oninput: (e) => {
      const was = object[key];
      object[key] = number ? +e.target.value : e.target.value;
      if (key === "name" && draft.interfaces.includes(object)) renamed(root, was, object[key]);
      check(root);
    } }));
  };
  const pick = (label, object, key, list, then = () => {}) => h("label.field", {}, h("span", {}, label), h("select", { "data-key": key, onchange: (e) => ((object[key] = e.target.value), then(), check(root)) }, list.map(([v, n]) => h("option", { value: v, selected: object[key] === v }, n))));
  const two = (label, object, key) => h("label.field", {}, h("span", {}, label), h("input", { type: "text", placeholder: "1/2, or empty", value: object[key][0] ? object[key].join("/") : "", oninput: (e) => {
    const m = e.target.value.match(/^\s*(\d+)\s*\D+\s*(\d+)\s*$/);
    object[key] = m ? [+m[1], +m[2]] : [0, 0];
    check(root);
  } }));
  const boxes = draft.interfaces.map((i, n) => h("fieldset.paper", {}, h("legend", {}, "Interface " + (n + 1)),
    field("Name", i, "name"), field("Line outputs", i, "line_outputs", { type: "number", min: 0, max: 512 }), two("Outputs to the monitors", i, "monitor_pair"), field("Inputs", i, "inputs", { type: "number", min: 0, max: 512 }),
    pick("Connector of the outputs", i, "connector", connectors), pick("Connector of the inputs", i, "input_connector", connectors), field("Full scale, dBu", i, "full_scale_dbu", { type: "number", step: "0.5" }),
    draft.interfaces.length > 1 ? button("Remove", () => {
      draft.interfaces.splice(n, 1);
      build(root);
    }) : null));
  root.replaceChildren(h("section.rigform", {}, h("h2", {}, "Your rig"), h("p.hint", {}, "What the mix leaves by and comes back through. Levels, patch and outputs follow from it."),
    h("div.verdict-rig", { role: "status", id: "rig-verdict" }),
    h("div.fields", {},
      h("fieldset.paper", {}, h("legend", {}, "Rig"), field("Name", draft, "name"), pick("Pan law of mono tracks", draft, "pan", ["-3 dB", "-4.5 dB", "-6 dB", "0 dB"].map((p) => [p, signs(p)])),
        pick("Alignment", draft.alignment, "preset", [["-18 dBFS = +4 dBu", "−18 dBFS = +4 dBu"], ["EBU R 68", "EBU R 68: −18 dBFS = 0 dBu"], ["SMPTE RP 155", "SMPTE RP 155: −20 dBFS = +4 dBu"], ["", "my own"]], () => build(root)),
        draft.alignment.preset === "" ? [field("This level, dBFS", draft.alignment, "dbfs", { type: "number", step: "0.5" }), field("is on the line, dBu", draft.alignment, "dbu", { type: "number", step: "0.5" })] : null),
      boxes,
      h("fieldset.paper", {}, h("legend", {}, "Summing unit"), field("Name", draft.summing, "name"), field("Inputs", draft.summing, "inputs", { type: "number", min: 2, max: 512 }), pick("Connector of the inputs", draft.summing, "connector", connectors), pick("Connector of the output", draft.summing, "output_connector", connectors), field("Highest input, dBu", draft.summing, "max_input_dbu", { type: "number", step: "0.5" }), field("Operating level, dBu", draft.summing, "operating_dbu", { type: "number", step: "0.5" })),
      h("fieldset.paper", {}, h("legend", {}, "Return"), pick("Interface", draft.return, "interface", draft.interfaces.map((i) => [i.name, i.name])), two("Inputs", draft.return, "inputs"), field("Print track", draft.return, "print_track"))),
    h("div.row", {}, button("Another interface", () => {
      draft.interfaces.push({ ...plain(4).interfaces[0], name: "Interface " + (draft.interfaces.length + 1), monitor_pair: [0, 0] });
      build(root);
    }), button("Use this rig", async () => {
      await settle();
      if (trial?.faults.length) return say("The rig contradicts itself; see above.");
      if (await act({ do: "rig", rig: draft })) say("The rig is in use.");
    }, { class: "main", id: "use-rig" }), s.rig ? button("Work without a rig", async () => {
      if (await act({ do: "rig" })) {
        root.replaceChildren();
        drawRig(root);
      }
    }) : null)));
  settle().then(() => verdict(root));
}

// renamed lets the return follow an interface that gets another name.
function renamed(root, was, name) {
  for (const o of root.querySelectorAll('[data-key="interface"] option')) if (o.value === was) o.value = o.textContent = name;
  if (draft.return.interface === was) draft.return.interface = name;
}

function check(root) {
  clearTimeout(timer);
  timer = setTimeout(async () => {
    await settle();
    verdict(root);
  }, 120);
}

async function settle() {
  const own = { "-18 dBFS = +4 dBu": [-18, 4], "EBU R 68": [-18, 0], "SMPTE RP 155": [-20, 4] }[draft.alignment.preset];
  if (own) [draft.alignment.dbfs, draft.alignment.dbu] = own;
  try {
    trial = await post("rig", { rig: draft });
  } catch (err) {
    trial = { faults: [err.message], notes: [], pairs: [] };
  }
}

function verdict(root) {
  const el = root.querySelector("#rig-verdict");
  if (!el || !trial) return;
  const used = session().lanes.length;
  el.className = "verdict-rig paper" + (trial.faults.length ? " bad" : "");
  put(el, trial.faults.length ? h("ul.small", {}, trial.faults.map((f) => h("li", {}, signs(f)))) : h("p", {}, h("b", {}, `${plural(trial.pairs.length, "pair is", "pairs are")} free. `), trial.pairs.length < used ? `The sheet has ${used}; take fewer pairs, or free more.` : "", trial.pairs.slice(0, 16).map((p) => `${p.interface} ${p.outputs.join("/")}`).join(", ")),
    trial.notes.length ? h("ul.small", {}, trial.notes.map((n) => h("li", {}, signs(n)))) : null);
}
