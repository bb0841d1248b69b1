// The shop profile: which one holds, its questions as a form, and its file. What a form leaves empty comes from it.
import { get, put as keep } from "./api.js";
import { choice, field, h, put, tell } from "./dom.js";
import * as results from "./results.js";
import { shopForm } from "./shopform.js";
import { changed, state } from "./state.js";

const NONE = "none", EXAMPLE = "example";
/** One value of the profile that holds; empty where it is silent. */
export const fromShop = (section, key) => state.shop.values?.[section]?.[key] || "";
/** Its usual processes, the default first. */
export const shopProcesses = () => fromShop("usual", "process").split(/[,\s]+/).filter(Boolean);

export function shopFold() {
  const names = choice([], "", { id: "shop", onchange: () => load(names.value) });
  const form = shopForm(), said = h("div", { role: "status" }), words = h("p", { class: "small" });
  const text = h("textarea", { id: "shop-text", rows: "16", spellcheck: "false", class: "wide" }), fresh = h("input", { id: "shop-name", autocomplete: "off", placeholder: "default" });
  const file = h("div", {}), inside = h("div", {}), fileFold = h("details", { id: "shop-file", ontoggle: openFile }, h("summary", {}, "Its file, to read and edit"), file);
  const box = h("details", { class: "wide", id: "shop-fold", ontoggle: open }, h("summary", {}, "Shop profile: what stays the same from job to job"), inside);
  const ask = h("button", { type: "button", id: "shop-ask", onclick: () => { box.open = true; box.scrollIntoView({ block: "start" }); } }, "Answer its questions");
  const note = h("div", { class: "actions" }, words, ask);

  /** The questions are many, and most days nobody looks at them: they are laid out when they are opened. */
  function open() {
    if (!box.open || inside.childElementCount) return;
    form.show(state.shop.values);
    inside.append(h("p", { class: "small" }, "Leave empty what you do not know: it is asked for with each plan, or taken from the tables and said so."), form.element,
      h("div", { class: "form" }, field("Keep it under the name", fresh)), h("div", { class: "actions" }, h("button", { type: "button", class: "go", id: "shop-answers", onclick: () => save({ title: state.shop.title || naming(), invented: Boolean(state.shop.invented), values: form.read() }) }, "Keep the shop profile")), said, fileFold);
  }
  function openFile() {
    if (file.childElementCount) return;
    file.append(h("div", { class: "form" }, h("div", { class: "wide" }, field("Each entry says what it is; a # in front leaves it out", text))), h("div", { class: "actions" }, h("button", { type: "button", id: "shop-keep", onclick: () => save({ text: text.value }) }, "Keep this file")));
  }
  const naming = () => fresh.value.trim() || "default";

  function shown(found) {
    state.shop = found;
    const all = [...new Set([...(found.names || []), NONE])];
    put(names, all.map((one) => h("option", { value: one, selected: one === (found.name || NONE) }, one)));
    text.value = found.text || found.form; fresh.value = found.name && found.name !== EXAMPLE ? found.name : "default";
    const invented = found.invented ? " Its figures are invented." : "";
    words.textContent = found.name ? `What you leave empty comes from the shop profile ${found.name}.${invented}` : "No shop profile yet. With one, a plan needs the thickness only.";
    ask.hidden = Boolean(found.name);
    if (inside.childElementCount) form.show(found.values);
    changed("shop");
  }
  async function load(name) { try { shown(await get(`/api/shop${name === undefined ? "" : `?profile=${encodeURIComponent(name)}`}`)); } catch (error) { put(said, results.said(error)); } }
  async function save(body) {
    try {
      shown(await keep(`/api/shop?profile=${encodeURIComponent(naming())}`, body));
      put(said, h("p", { class: "small" }, `Kept: ${state.shop.name}.`)); tell("The shop profile is kept.");
    } catch (error) { put(said, results.said(error)); form.blame(error); }
  }
  return { box, words: note, chosen: field("Shop profile", names), load };
}
