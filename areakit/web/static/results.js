// Pieces of the page that show what the server answered.
import { h, s } from "./dom.js";
import { todo } from "./places.js";
import { capital, parts, text } from "./units.js";

export function figure(quantity, name = "figure") {
  const { value, spread, unit } = parts(quantity);
  return h("span", { class: name }, value, spread && h("span", { class: "pm" }, ` ±\u00a0${spread}`), h("span", { class: "unit" }, ` ${unit}`));
}

/** The words of a question about a place: what is asked, and its answers, each with what it is called. */
export function asked({ about, area_mm2, stop_off }) {
  if (about === "joint") return { text: "Does the line at this spot belong to one part, or do two parts meet there?", answers: { hole: "Two parts", metal: "One part" } };
  if (about === "stop_off") return { text: `Another colour or brightness on ${text({ value: Number(area_mm2.toPrecision(3)), unit: "mm2", expanded_uncertainty: 0 })} of this part: is it stopped off?`, answers: { stop_off: "Stopped off", metal: "Metal" } };
  return { text: "Is this spot a hole, or metal?", answers: { hole: "A hole", metal: "Metal", ...(stop_off && { stop_off: "Stopped off" }) } };
}
/** What stands behind every total of a photo: how many of its regions have no area. */
export const without = (result) => (result?.regions_left_out ? ` without ${result.regions_left_out} region${result.regions_left_out === 1 ? "" : "s"}` : "");

/** Cautions and findings as a list, each text once; `where` are the parts that one holds for. */
export function notes(list) {
  if (!list.length) return null;
  const each = new Map(list.map((one) => [`${one.where || ""} ${one.message}`, one]));
  return h("ul", { class: "notes" }, [...each.values()].map((one) => h("li", { class: one.severity || "" }, one.where && h("b", {}, `${capital(one.where)}: `), one.message, " ", h("span", { class: "do" }, todo(one)))));
}

export function said(error) {
  return h("div", { class: "said", role: "alert" }, h("b", {}, error.message), todo(error));
}

/** What makes the uncertainty, in percent of its variance. */
export function budget(quantity, most = 6) {
  const squares = Object.entries(quantity.budget).map(([name, share]) => [name, share * share]).sort((a, b) => b[1] - a[1]);
  const sum = squares.reduce((all, one) => all + one[1], 0);
  if (!sum) return null;
  const rows = squares.slice(0, most).filter((one) => one[1] / sum >= 0.005);
  return h("div", { class: "budget" }, rows.map(([name, square]) => {
    const share = square / sum;
    return h("div", {}, h("span", {}, name), s("svg", { viewBox: "0 0 100 12", preserveAspectRatio: "none", "aria-hidden": "true" },
      s("rect", { class: "full", width: 100, height: 12 }), s("rect", { class: "share", width: Math.max(1, 100 * share), height: 12 })), h("span", {}, `${Math.round(100 * share)} %`));
  }));
}

export const pairs = (rows) => h("dl", { class: "pairs" }, rows.filter((row) => row && row[1]).map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value))));

export function table(head, rows) {
  return h("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Table" }, h("table", {}, h("thead", {}, h("tr", {}, head.map((cell) => h("th", { scope: "col" }, cell)))), h("tbody", {}, rows)));
}

/** The hazards: named in view, each explained behind its fold. */
export function cautions(list, { title = "Before you start", keys = [] } = {}) {
  if (!list.length) return null;
  const all = h("ul", {}, list.map((one) => h("li", {}, one))), last = h("p", {}, "Follow the safety data sheets, local codes and licensed practice.");
  if (!keys.length) return h("div", { class: "danger" }, h("h3", {}, title), all, last);
  return h("div", { class: "danger" }, h("h3", {}, `Caution: ${keys.join(", ").replaceAll("-", " ")}`), last, h("details", {}, h("summary", {}, `${title}: ${list.length} cautions in full`), all));
}
export { text };
