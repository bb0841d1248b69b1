// Fields for a number and for money. A number: a bare number has the unit shown beside the name. When the units are switched, what was typed
// bare keeps the unit it was typed in, so that no number changes its meaning.
import { field, h } from "./dom.js";
import { onChange, state } from "./state.js";
import { isBare, isUs, typedUnit, withUnit } from "./units.js";

const KEYS = { "±": "Add ±, what it may be off", "×": "Add ×, by the other length" };
/** A field with a key for a sign that a keypad has not. */
export const withSign = (label, input, sign = "±") => h("div", { class: "with-sign" }, label, h("button", { type: "button", class: "sign-key", "aria-label": KEYS[sign], onclick: () => { input.value = `${input.value.trim()} ${sign} `; input.focus(); } }, sign));

export function unitField(title, kind, attributes, hint) {
  const examples = attributes?.examples || {};
  const input = h("input", { autocomplete: "off", inputmode: "decimal", ...attributes, examples: null, sign: null });
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
  const element = attributes?.sign ? withSign(label_, input, attributes.sign) : label_;
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
  return { element: withSign(field(h("span", {}, title, sign), input, hint), input), input, get text() { return priced(); } };
}
