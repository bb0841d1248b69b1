// Pictures that the server draws of a part and of a plan. They are asked for when somebody opens them.
import { picture, post } from "./api.js";
import { h, put } from "./dom.js";
import * as results from "./results.js";
import { chosenParts } from "./state.js";
import { player } from "./strokes.js";
import { text } from "./units.js";

/** A fold that shows what `make` gives, made when it is opened and whenever `draw` is called while it is open. */
function fold(title, name, make) {
  const out = h("div", { class: `drawn ${name}`, tabindex: "0", role: "group", "aria-label": title });
  let turn = 0, leave = () => {};
  async function draw() {
    const mine = ++turn;
    leave(); leave = () => {};
    if (!box.open) { put(out); return; }
    const slow = setTimeout(() => put(out, h("p", { class: "small", role: "status" }, "Drawing …")), 400);
    try {
      const made = await make();
      if (mine !== turn) return;
      if (made) { leave = made.leave || leave; put(out, made.element); } else put(out);
    } catch (error) { if (mine === turn) put(out, results.said(error)); } finally { clearTimeout(slow); }
  }
  const box = h("details", { ontoggle: draw }, h("summary", {}, title), out);
  return { box, draw };
}
async function drawn(path, fields, alt) {
  const url = URL.createObjectURL(await picture(path, fields));
  return { element: h("img", { src: url, alt }), leave: () => URL.revokeObjectURL(url) };
}

export const areasFold = () => fold("Picture of the surfaces", "areas", () => {
  const part = chosenParts()[0];
  return part && drawn("/api/drawing", { part }, `Surfaces with their areas, part ${part.id}`);
});
/** `request` gives the fields of the plan on the page. */
export const mapFold = (request) => fold("Thickness map", "map", () => drawn("/api/map", request(), "Predicted thickness over its mean, over the outline"));
export const lanesFold = (request) => fold("Lanes of the brush, at hand speed", "lanes", async () => {
  const strokes = await post("/api/strokes", request()), made = player(strokes);
  const exact = (value, unit) => text({ value, unit, expanded_uncertainty: 0 });
  const words = `${strokes.lanes} lanes, ${strokes.lifts} lifts, ${strokes.seconds_per_pass.toFixed(1)} s a pass at ${exact(0.06 * strokes.hand_speed_mm_s, "m/min")}; footprint ${exact(strokes.footprint_width_mm, "mm")} × ${exact(strokes.footprint_length_mm, "mm")}, overlap ${(100 * strokes.overlap).toFixed(0)} %.`;
  return { element: h("div", {}, made.element, h("p", { class: "small" }, words)), leave: made.pause };
});
