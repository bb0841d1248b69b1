// The strip that is always in sight: the plated area, and what the plan makes of it, amperes and minutes of each metal.
import { byId, h, put } from "./dom.js";
import * as photos from "./photos.js";
import * as results from "./results.js";
import { FACES } from "./said.js";
import { chosenParts, photo, state } from "./state.js";
import { setting, text, total } from "./units.js";

/** What one layer asks of the supply: `nickel 0.49 A, 34 min`; the charge where the plan knows no current. Below its own head the metal is not named again. */
export function layerLine(layer, name = `${layer.metal} `) {
  const run = layer.brush || layer.tank, current = layer.brush?.mean_current || layer.tank?.loads_alike[0]?.current, set = (quantity) => h("b", {}, setting(quantity));
  if (layer.by_volts) return h("span", { class: "layer-line" }, name, set(layer.by_volts.volts), ", ", set(layer.by_volts.time));
  if (!run || !current) return h("span", { class: "layer-line" }, name, set(layer.charge_set));
  return h("span", { class: "layer-line" }, name, set(current), ", ", set(run.time), layer.tank?.loads > 1 && ` × ${layer.tank.loads} loads`);
}

function facts(parts, now) {
  const sum = (name) => total(parts.map((part) => part[name])), whole = now.result.parts.length;
  const significant = parts.filter((part) => part.significant_area), faces = [...new Set(parts.map((part) => part.faces))];
  return h("span", { class: "sub" },
    h("span", {}, h("b", {}, faces.map((one) => FACES[one] || one).join(", "))), whole > 1 && h("span", {}, h("b", {}, state.chosen === null ? `${whole} parts` : `part ${parts[0].id}`)),
    state.chosen === null && now.result.regions_left_out > 0 && h("b", {}, results.without(now.result).trim()),
    faces.join() !== "one" && h("span", { class: "more" }, "one face ", h("b", {}, text(sum("face_area")))), parts.every((part) => part.side_wall_area) && h("span", { class: "more" }, "edges ", h("b", {}, text(sum("side_wall_area")))),
    significant.length > 0 && h("span", {}, "significant ", h("b", {}, text(total(significant.map((part) => part.significant_area))))),
    parts.some((part) => part.corrected) && h("b", {}, "corrected by hand"), parts.some((part) => part.regions) && h("b", {}, "regions drawn by hand"));
}
/** Why the number in view is not that of what is typed now; empty while it is merely being worked out. */
function doubt(now) {
  if (now.status === "gone") return "last good number: the server does not answer";
  return now.status === "refused" ? "last good number: what is typed now gives none" : "";
}

export function showStrip() {
  const parts = chosenParts(), now = photo(), box = byId("area");
  if (!parts.length) {
    const words = !now ? "no area yet" : now.status === "gone" ? "waiting for the server" : now.error ? "no number: see the picture" : "measuring …";
    put(box, h("span", { class: "figure quiet" }, words)); put(byId("settings")); return;
  }
  const stale = photos.isStale(now), why = stale && doubt(now);
  put(box, results.figure(total(parts.map((part) => part.plated_area)), `figure${stale ? " stale" : ""}`), why && h("span", { class: "last-good" }, why), facts(parts, now));
  put(byId("settings"), state.plan && h("span", { class: stale || state.planStale ? "stale" : "" }, state.plan.pieces > 1 && h("span", { class: "layer-line" }, h("b", {}, `${state.plan.pieces} pieces`), state.plan.process.method === "brush" ? ", each:" : ":"), state.plan.layers.map((one) => layerLine(one))));
}
