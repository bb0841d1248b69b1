// Elements without markup text: what comes from a file name or a server never becomes HTML.
const SVG = "http://www.w3.org/2000/svg";

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "disabled" || name === "selected") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat(Infinity)) {
    if (child === undefined || child === null || child === false) continue;
    element.append(child instanceof Node ? child : String(child));
  }
  return element;
}

export const h = (tag, attributes, ...children) => fill(document.createElement(tag), attributes, children);
export const s = (tag, attributes, ...children) => fill(document.createElementNS(SVG, tag), attributes, children);
export const byId = (id) => document.getElementById(id);
export const put = (element, ...children) => element.replaceChildren(...children.flat(Infinity).filter((one) => one || one === 0));

let order = 0;
/** A labelled field; the hint belongs to its description. */
export function field(title, control, hint) {
  control.id = control.id || `field-${++order}`;
  return h("label", { for: control.id }, title, control, hint && h("span", { class: "hint" }, hint));
}

export function choice(options, chosen, attributes) {
  return h("select", attributes, options.map(([value, text]) => h("option", { value, selected: value === chosen }, text)));
}

/** Mark the entries that an error is about, one a line in its field `key`; the first one has the focus. */
export function markBlamed(element, name, { fields = {} }, key) {
  const wrong = new Set((fields[key] || "").split("\n")), all = [...element.querySelectorAll(`[${name}]`)];
  for (const one of all) if (wrong.has(one.getAttribute(name))) one.setAttribute("aria-invalid", "true"); else one.removeAttribute("aria-invalid");
  all.find((one) => one.hasAttribute("aria-invalid"))?.focus();
}

/** Say something to a screen reader. */
export function tell(text) { byId("told").textContent = text; }
