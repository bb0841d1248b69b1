// A field for a number: a bare number has the unit shown beside the name. When the units are switched, what was typed
// bare keeps the unit it was typed in, so that no number changes its meaning.
import { field, h } from "./dom.js";
import { onChange } from "./state.js";
import { isBare, typedUnit, withUnit } from "./units.js";

export function unitField(title, kind, attributes, hint) {
  const examples = attributes?.examples || {};
  const input = h("input", { autocomplete: "off", inputmode: Object.values(examples).some((one) => / x /.test(one)) ? "text" : "decimal", ...attributes, examples: null, spread: null });
  const sign = h("span", { class: "unit" });
  let [code, shown] = typedUnit(kind);
  const label = () => {
    const fresh = typedUnit(kind);
    if (fresh[0] !== code && isBare(input.value)) input.value = `${input.value.trim()} ${shown}`;
    [code, shown] = fresh;
    sign.textContent = ` ${shown}`;
    if (examples[code]) input.placeholder = examples[code];
  };
  label();
  onChange((what) => { if (what === "units") label(); });
  const label_ = field(h("span", {}, title, sign), input, hint);
  /** A keypad has no ±. */
  const add = h("button", { type: "button", class: "spread-key", "aria-label": "Add ±, what it may be off", onclick: () => { input.value = `${input.value.trim()} ± `; input.focus(); } }, "±");
  const element = attributes?.spread ? h("div", { class: "with-spread" }, label_, add) : label_;
  return { element, input, example: () => examples[code] || attributes?.placeholder || "", get text() { return input.value.trim() && withUnit(input.value, kind); } };
}
