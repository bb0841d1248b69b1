// The shop's rates as fields. They are kept in this browser while they are typed, and with the shop profile when told so.
import * as api from "./api.js";
import { field, h, markBlamed, put, tell } from "./dom.js";
import * as results from "./results.js";
import { changed, state } from "./state.js";
import { capital, isBare } from "./units.js";

const KEPT = "areakit.rate-values", BARE = { time: "min", share: "%" };
const named = (path) => capital(path.split(".").at(-1).replaceAll("_", " "));

/** The fold with the rates; `text()` gives the file of them, as a quote takes it. */
export function ratesFold() {
  let inputs = {}, values = {};
  try { values = JSON.parse(localStorage.getItem(KEPT)) || {}; } catch { values = {}; }
  const fields = h("div", {}), said = h("div", { role: "status" });
  const file = h("input", { type: "file", accept: ".toml,text/plain", onchange: async () => { if (file.files[0]) await doing(async () => take((await api.post("/api/rates", { text: await file.files[0].text() })).values)); } });
  const box = h("details", { id: "rates-fold", open: !Object.keys(values).length }, h("summary", {}, "Your rates"), h("div", { class: "actions" },
    h("button", { type: "button", onclick: () => doing(fill) }, "Invented, to try out"), h("button", { type: "button", id: "rates-keep", onclick: () => doing(keep) }, "Keep with the shop profile")),
  fields, h("div", { class: "form" }, field("Or open a rates file", file)), said);
  async function doing(action) { put(said); blame({}); try { await action(); } catch (error) { put(said, results.said(error)); blame(error); } }
  /** Mark the entries that a refusal is about, and no other. */
  function blame(error) { markBlamed(fields, "data-rate", error, "areakit rates"); if (fields.querySelector("[aria-invalid]")) box.open = true; }
  async function fill() { take((await api.post("/api/rates", { text: (await api.get("/api/rates?example=1")).rates })).values); }
  async function keep() {
    await api.put(`/api/shop/rates${state.shop.name && state.shop.name !== "example" ? `?profile=${encodeURIComponent(state.shop.name)}` : ""}`, { values: read() });
    put(said, h("p", { class: "small" }, "Kept with the shop profile.")); tell("The rates are kept with the shop profile.");
  }
  function read() {
    values = { ...values, ...Object.fromEntries(Object.entries(inputs).map(([path, input]) => [path, input.value.trim()])) };
    for (const [path, text] of Object.entries(values)) if (!text) delete values[path];
    localStorage.setItem(KEPT, JSON.stringify(values)); told();
    return values;
  }
  function take(fresh) {
    values = { ...fresh };
    localStorage.setItem(KEPT, JSON.stringify(values));
    for (const [path, input] of Object.entries(inputs)) input.value = values[path] || "";
    rest(); told();
  }
  /** The currency of the rates is that of every bare amount on the page. */
  function told() { if (state.currency !== (values.currency || "")) { state.currency = values.currency || ""; changed("rates"); } }
  const metals = h("div", { class: "form" });
  function one(path, kind, example, question) {
    const input = inputs[path] = h("input", { autocomplete: "off", placeholder: example, inputmode: kind === "code" ? "text" : "decimal", "data-rate": path, value: values[path] || "", onchange: () => { if (BARE[kind] && isBare(input.value)) input.value = `${input.value.trim()} ${BARE[kind]}`; read(); } });
    return field(named(path), input, question);
  }
  /** Solutions of the metals that are planned, and from how many pieces on the labour of each is less. */
  function rest() {
    const wanted = new Set([...(state.plan?.layers || []).map((layer) => `solutions.${layer.metal}`), ...Object.keys(values).filter((path) => /^(solutions|breaks)\./.test(path))]);
    for (const path of Object.keys(inputs)) if (/^(solutions|breaks)\./.test(path)) delete inputs[path];
    const pieces = h("input", { type: "number", min: "2", inputmode: "numeric", placeholder: "10" }), share = h("input", { inputmode: "decimal", placeholder: "90 %" });
    const add = h("button", { type: "button", onclick: () => { if (Number(pieces.value) > 1 && share.value.trim()) { values[`breaks.${Number(pieces.value)}`] = share.value.trim(); localStorage.setItem(KEPT, JSON.stringify(values)); rest(); } } }, "Add");
    put(metals, [...wanted].map((path) => {
      const [section, key] = path.split("."), label = one(path, section === "breaks" ? "share" : "money", section === "breaks" ? "90 %" : "60.00", section === "breaks" ? "share of the usual labour for each piece" : "a litre, without its precious metal");
      label.firstChild.textContent = section === "breaks" ? `From ${key} pieces on` : `Solution of ${key}`;
      return label;
    }), field("From this many pieces on", pieces), field("share of the labour", share), h("div", { class: "actions" }, add));
  }
  async function lay() {
    const { entries } = await api.get("/api/rates");
    inputs = {};
    const sections = [...new Set(entries.map((entry) => entry.path.split(".").slice(0, -1).join(".")))];
    if (!Object.keys(values).length) for (const entry of entries) if (entry.start) values[entry.path] = entry.start;
    put(fields, sections.map((section) => [section && h("h3", {}, capital(section)), h("div", { class: "form" }, entries.filter((entry) => entry.path.split(".").slice(0, -1).join(".") === section).map((entry) => one(entry.path, entry.kind, entry.example, entry.question)))]), h("h3", {}, "Solutions and numbers"), metals);
    rest();
  }
  return {
    box, rest, blame,
    /** Lay the fields out, with what this browser or the shop profile holds. */
    async begin() {
      await lay(); told();
      if (localStorage.getItem(KEPT)) return;
      const { values: ofShop } = await api.get("/api/shop/rates").catch(() => ({ values: null }));
      if (ofShop) { take(ofShop); box.open = false; }
    },
    text: async () => (await api.post("/api/rates", { values: read() })).rates,
  };
}
