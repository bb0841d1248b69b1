// Fields for a number and for money. A number: a bare number has the unit shown beside the name. When the units are switched, what was typed
// bare keeps the unit it was typed in, so that no number changes its meaning.
import { field, h } from "./dom.js";
import { onChange, state } from "./state.js";
import { isBare, isUs, typedUnit, withUnit } from "./units.js";

/** A field with a key for ±, which a keypad has not. */
export const withSpread = (label, input) => h("div", { class: "with-spread" }, label, h("button", { type: "button", class: "spread-key", "aria-label": "Add ±, what it may be off", onclick: () => { input.value = `${input.value.trim()} ± `; input.focus(); } }, "±"));

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
  const element = attributes?.spread ? withSpread(label_, input) : label_;
  return { element, input, example: () => examples[code] || attributes?.placeholder || "", get text() { return input.value.trim() && withUnit(input.value, kind); } };
}

/** A field for an amount, or with `per` for the price of a mass: a bare one is in the currency of the rates. */
export function moneyField(title, { per = false, ...attributes }, hint) {
  const input = h("input", { autocomplete: "off", ...attributes }), sign = h("span", { class: "unit" });
  let unit = "";
  /** What was typed keeps the currency and the mass that it was typed in; a spread in % stands behind both. */
  const priced = () => { const [amount, ...spread] = input.value.trim().split("±"); return unit && isBare(amount) ? [`${amount.trim()} ${unit}`, ...spread].join(" ±") : input.value.trim(); };
  function show() {
    const fresh = state.currency && `${state.currency}${per ? `/${isUs() ? "ozt" : "g"}` : ""}`;
    if (fresh !== unit) input.value = priced();
    unit = fresh; sign.textContent = unit && ` ${unit}`; input.inputMode = unit ? "decimal" : "text";
  }
  show();
  onChange((what) => { if (what === "units" || what === "rates") show(); });
  return { element: field(h("span", {}, title, sign), input, hint), input, get text() { return priced(); } };
}
