// Pictures that the server draws of a part: its areas, and brush lanes. They are asked for when somebody opens them.
import { drawing } from "./api.js";
import { field, h, put } from "./dom.js";
import * as results from "./results.js";
import { chosenParts } from "./state.js";

/** A fold that asks for its picture when opened; `extra` gives further fields. */
function fold(title, kind, words, controls, extra) {
  const out = h("div", { class: `drawn ${kind}`, tabindex: "0", role: "group", "aria-label": title });
  let url = null;
  async function draw() {
    const part = chosenParts()[0];
    if (!box.open || !part) return;
    const fields = extra();
    if (!fields) { put(out); return; }
    try {
      const blob = await drawing({ part, kind, ...fields });
      if (url) URL.revokeObjectURL(url);
      url = URL.createObjectURL(blob);
      put(out, h("img", { src: url, alt: `${words} part ${part.id}` }));
    } catch (error) { put(out, results.said(error)); }
  }
  const box = h("details", { ontoggle: draw }, h("summary", {}, title), controls, out);
  return { box, draw };
}

export const areasFold = () => fold("Picture of the surfaces", "areas", "Surfaces with their areas,", null, () => ({}));

export function lanesFold() {
  const contact = h("input", { placeholder: "20 x 10 mm", onchange: () => one.draw() }), overlap = h("input", { placeholder: "30 %", onchange: () => one.draw() });
  const controls = h("div", { class: "form" }, field("Contact of the brush", contact, "across x along the lane"), field("Overlap of lanes", overlap));
  const one = fold("Lanes of the brush", "lanes", "Brush lanes over", controls, () => contact.value.trim() && { contact: contact.value.trim(), ...(overlap.value.trim() && { overlap: overlap.value.trim() }) });
  return one;
}
