// What a region of an outline has of its own: a form, a thickness. It goes with the line that is drawn round the region.
import { byId, choice, field, h, put } from "./dom.js";
import { formNamed } from "./said.js";
import { onChange, state } from "./state.js";
import { unitField } from "./unitfield.js";

const form = choice([["flat", "flat"]], "flat", { id: "region-form", onchange: show }), figures = h("input", { autocomplete: "off", id: "region-figures" }), figuresField = field("Its figures", figures);
figuresField.classList.add("figures-of-form");
const thickness = unitField("Own thickness", "length", { examples: { mm: "0.3", in: "0.012" }, id: "region-thickness" }, "where it is not that of the part");
byId("mend-form").append(h("div", { class: "form" }, field("Own form", form), figuresField, thickness.element), h("button", { type: "button", "data-mend": "form" }, "Draw it"));

function show() {
  const found = formNamed(form.value);
  figuresField.hidden = !found; thickness.element.hidden = Boolean(found?.at_axis);
  figures.placeholder = found?.figures || "";
}
onChange((what) => { if (what === "choices") { put(form, h("option", { value: "flat" }, "flat"), state.words.forms.map((one) => h("option", { value: one.key }, one.key))); show(); } });
show();

/** The words of the region, as the server reads them. */
export function words() {
  const own = [form.value, figuresField.hidden ? "" : figures.value.trim()].filter(Boolean).join(", ");
  return [`form ${own}`, !thickness.element.hidden && thickness.text && `thickness ${thickness.text}`].filter(Boolean).join("; ");
}
