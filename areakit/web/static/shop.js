// The shop profile: which one holds, what it says, and its file to edit. What a form leaves empty comes from it.
import { get, put as keep } from "./api.js";
import { choice, field, h, put, tell } from "./dom.js";
import * as results from "./results.js";
import { changed, state } from "./state.js";

const NONE = "none";
/** One value of the profile that holds; empty where it is silent. */
export const fromShop = (section, key) => state.shop.values?.[section]?.[key] || "";
/** Its usual processes, the default first. */
export const shopProcesses = () => fromShop("usual", "process").split(/[,\s]+/).filter(Boolean);

export function shopFold() {
  const names = choice([], "", { id: "shop", onchange: () => load(names.value) });
  const text = h("textarea", { id: "shop-text", rows: "16", spellcheck: "false", class: "wide" }), said = h("div", { role: "status" });
  const fresh = h("input", { id: "shop-name", autocomplete: "off", placeholder: "default" });
  const words = h("p", { class: "small" });
  const file = h("div", {}), box = h("details", { class: "wide", id: "shop-fold", ontoggle: open }, h("summary", {}, "Shop profile: its file, to read and edit"), file);

  /** The file is long, and most people never open it: it is laid out on the first look. */
  function open() {
    if (file.childElementCount) return;
    file.append(h("div", { class: "form" }, h("div", { class: "wide" }, field("The file; each entry says what it is, a # in front leaves it out", text)), field("Keep it under the name", fresh)),
      h("div", { class: "actions" }, h("button", { type: "button", id: "shop-keep", onclick: save }, "Keep the profile")), said);
  }

  function shown(found) {
    state.shop = found;
    const all = [...new Set([...(found.names || []), NONE])];
    put(names, all.map((one) => h("option", { value: one, selected: one === (found.name || NONE) }, one)));
    text.value = found.text || found.form; fresh.value = found.name && found.name !== "example" ? found.name : "default";
    const invented = found.invented ? " Its figures are invented." : "";
    words.textContent = found.name ? `What you leave empty comes from the shop profile ${found.name}.${invented}` : "No shop profile: open it below, once, and what stays the same is filled in from then on.";
    changed("shop");
  }
  async function load(name) { try { shown(await get(`/api/shop${name === undefined ? "" : `?profile=${encodeURIComponent(name)}`}`)); } catch (error) { put(said, results.said(error)); } }
  async function save() {
    try {
      shown(await keep(`/api/shop?profile=${encodeURIComponent(fresh.value.trim() || "default")}`, { text: text.value }));
      put(said, h("p", { class: "small" }, `Kept: ${state.shop.name}.`)); tell("The shop profile is kept.");
    } catch (error) { put(said, results.said(error)); }
  }
  return { box, words, chosen: field("Shop profile", names), load };
}
