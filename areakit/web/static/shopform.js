// The questions of the shop profile as a form: the same entries, in the same order, as the file and the terminal have.
import { choice, field, h, markBlamed, put } from "./dom.js";
import { called, FACES } from "./said.js";
import { state } from "./state.js";
import { withSign } from "./unitfield.js";
import { isBare } from "./units.js";

const TITLES = {
  usual: "What you do most", stock: "Thickness by stock", layers: "Minimum thickness", current_density: "Current density, by brush", efficiency: "Efficiency, by brush", tank_current_density: "Current density, in a tank", tank_efficiency: "Efficiency, in a tank",
  sheet: "Your sheet copy", supply: "Supply", brushes: "Brushes", hand: "Your hand", tank: "Tank", coupons: "Coupons plated by volts and watch", rates: "Rates", prices: "Metal prices",
};
/** Answered elsewhere: the rates by their own form, solutions in the file. */
const ELSEWHERE = new Set(["rates.file", "solutions"]);
const METHODS = { current_density: "brush", efficiency: "brush", brushes: "brush", hand: "brush", coupons: "brush", tank_current_density: "tank", tank_efficiency: "tank", tank: "tank" };
const NUMBERS = /^(quantity:|thickness$|layer$|count$)/;

function options(kind) {
  const lists = { base: () => called(state.words.bases), market: () => called(state.words.markets), use: () => called(state.words.uses), faces: () => Object.entries(FACES), "edge make": () => state.words.edge_makes.map((one) => [one.key, one.title]), by: () => called(["amperes", "volts"]), corners: () => called(["round", "square"]) };
  return lists[kind]?.();
}

/** `read()` gives the values of a profile; `show(values)` lays the form out for them. */
export function shopForm() {
  const element = h("div", { class: "shop-form" });
  let values = {}, names = {};
  const at = (path) => path.split(".").reduce((row, key) => row?.[key], values);
  function set(path, text) {
    const keys = path.split("."), last = keys.pop();
    let row = values;
    for (const key of keys) row = row[key] ||= {};
    if (text) row[last] = text; else delete row[last];
  }
  function control(entry, path) {
    const list = options(entry.kind), holds = at(path) || "";
    if (list) return choice([["", "not said"], ...list], holds, { "data-path": path, onchange: (event) => set(path, event.target.value) });
    /** A keypad has no letters: a bare number gets the unit of the example, in sight. */
    const unit = /quantity|thickness|layer/.test(entry.kind) ? entry.example.split(" ").at(-1) : "", give = ({ target }) => set(path, target.value.trim());
    return h("input", { value: holds, placeholder: entry.example, autocomplete: "off", "data-path": path, type: entry.kind === "date" ? "date" : "text", inputmode: NUMBERS.test(entry.kind) ? "decimal" : "text", oninput: give, onchange: (event) => { if (unit && isBare(event.target.value)) event.target.value = `${event.target.value.trim()} ${unit}`; give(event); } });
  }
  function asked(entry, path, title = entry.question) {
    const input = control(entry, path), label = field(title, input);
    return entry.example.includes("±") && input.inputMode === "decimal" ? withSign(label, input) : label;
  }
  const processes = () => (at("usual.process") || "").split(/[,\s]+/).filter(Boolean);
  const known = () => state.processes.filter((one) => processes().includes(one.key));

  /** Up to three processes, the usual one first; the metals of them are asked about below. */
  function processFields() {
    const chosen = processes(), pick = [0, 1, 2].map((place) => choice([["", place ? "none" : "not said"], ...state.processes.map((one) => [one.key, one.title])], chosen[place] || "", { "data-path": place ? null : "usual.process", onchange: () => { set("usual.process", [...new Set(pick.map((one) => one.value).filter(Boolean))].join(", ")); lay(); } }));
    return pick.map((one, place) => field(["Your usual process", "Another process", "A third process"][place], one));
  }
  /** Rows with a name of their own, as brushes and stock have. */
  function rows(section, entries) {
    const held = [...new Set([...Object.keys(values[section] || {}), ...(names[section] || [])])], fresh = h("input", { autocomplete: "off", placeholder: section === "brushes" ? "small" : section === "stock" ? "tag-brass" : "gold-8v" });
    const add = () => { const name = fresh.value.trim().toLowerCase().replace(/[^a-z0-9-]+/g, "-"); if (name) { (names[section] ||= []).push(name); lay(); element.querySelector(`[data-path^="${section}.${name}"]`)?.focus(); } };
    fresh.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); add(); } });
    const drop = (name) => { delete values[section]?.[name]; names[section] = (names[section] || []).filter((one) => one !== name); lay(); };
    return [held.map((name) => h("fieldset", { class: "layer-form" }, h("legend", {}, name), entries.map((entry) => asked(entry, entry.key ? `${section}.${name}.${entry.key}` : `${section}.${name}`)), h("div", { class: "actions" }, h("button", { type: "button", onclick: () => drop(name) }, `Take ${name} out`)))),
      field(section === "brushes" ? "Name of another brush" : "Another name", fresh), h("div", { class: "actions" }, h("button", { type: "button", "data-add": section, onclick: add }, "Add"))];
  }
  function sectionFields(section, entries) {
    const [first] = entries;
    if (!first) return [];
    if (first.form === "metal") return [...new Set(known().filter((one) => !METHODS[section] || one.method === METHODS[section]).flatMap((one) => one.metals))].map((metal) => asked(first, `${section}.${metal}`, `${first.question} ${metal}`));
    if (first.form === "name" || first.form === "table") return rows(section, entries);
    return entries.map((entry) => (entry.kind === "processes" ? processFields() : asked(entry, entry.path)));
  }
  function lay() {
    const where = document.activeElement?.dataset?.path, entries = state.shop.entries.filter((one) => !ELSEWHERE.has(one.path) && !ELSEWHERE.has(one.section));
    const methods = new Set(known().map((one) => one.method)), sections = [...new Set(entries.map((one) => one.section))].filter((one) => !METHODS[one] || methods.has(METHODS[one]));
    put(element, sections.map((section) => {
      const own = entries.filter((one) => one.section === section), first = own.filter((one) => one.ask), rest = own.filter((one) => !one.ask), whole = ["name", "table", "metal"].includes(own[0].form);
      const inside = h("div", { class: "form" }, sectionFields(section, whole ? own : first));
      if (!inside.childElementCount && !rest.length) return null;
      const wanted = whole ? own.some((one) => one.ask) : first.length > 0;
      const more = !whole && rest.length > 0 && h("div", { class: "form" }, sectionFields(section, rest));
      if (!wanted) return h("details", {}, h("summary", {}, TITLES[section]), inside.childElementCount ? inside : null, more);
      return h("section", {}, h("h3", {}, TITLES[section]), inside, more && h("details", {}, h("summary", {}, `More on: ${TITLES[section].toLowerCase()}`), more));
    }));
    if (where) element.querySelector(`[data-path="${CSS.escape(where)}"]`)?.focus();
  }
  return {
    element,
    show(found) { values = structuredClone(found || {}); names = {}; lay(); },
    read() {
      for (const [section, row] of Object.entries(values)) {
        for (const [name, inner] of Object.entries(row)) if (inner && typeof inner === "object" && !Array.isArray(inner) && !Object.keys(inner).length) delete row[name];
        if (!Object.keys(row).length) delete values[section];
      }
      return values;
    },
    /** Mark the fields that a refusal is about. */
    blame: (error) => markBlamed(element, "data-path", error, "areakit shop"),
  };
}
