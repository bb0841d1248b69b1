// The steps of the page: a step that is finished, or not wanted yet, is one line; a press on its head opens it.
import { byId, h, put } from "./dom.js";

const all = [];
/**
 * Add a step. `quiet` keeps it folded until somebody opens it. Its result has `body`; `set(name)` as live, done or
 * asleep; `enable(on)`; `line(words)`, what it says while folded; `unfold(on)`.
 */
export function makeStep(title, { quiet = false } = {}) {
  const number = all.length + 1, body = h("div", { class: "body", id: `step-body-${number}` }), line = h("p", { class: "line" });
  const head = h("button", { type: "button", class: "head", "aria-expanded": "true", "aria-controls": body.id, onclick: () => { byHand = true; unfold(body.hidden); } }, title);
  const section = h("section", { class: "step live", "aria-labelledby": `step-${number}`, "data-step": title }, h("span", { class: "no", "aria-hidden": "true" }, number), h("h2", { id: `step-${number}` }, head), line, body);
  byId("steps").append(section);
  let byHand = false, folded = quiet;
  function unfold(on) { folded = !on; show(); }
  function show() {
    const open = !folded && !section.classList.contains("asleep");
    body.hidden = !open; line.hidden = open; head.setAttribute("aria-expanded", String(open));
  }
  const set = (name) => { section.classList.remove("live", "done", "asleep"); section.classList.add(name); show(); };
  body.addEventListener("keydown", onEnter);
  const step = {
    body, set, unfold, section,
    line: (...words) => put(line, ...words),
    /** Whether it is open now. */
    get open() { return !body.hidden; },
    /** Fold or unfold it, unless somebody did so by hand. */
    suggest(on) { if (!byHand && folded === on) unfold(on); },
    enable(on) { if (!on) set("asleep"); else if (section.classList.contains("asleep")) set("live"); },
  };
  set("live");
  all.push(step);
  return step;
}

/** Fold the steps before one; what somebody looks at stays where it is on the screen. */
export function foldBefore(step) {
  const before = step.section.getBoundingClientRect().top;
  for (const one of all) {
    if (one === step) break;
    one.unfold(false);
  }
  window.scrollBy(0, step.section.getBoundingClientRect().top - before);
}

/** Enter in a field presses the button that the field is for; in a list or a check box it does what it always does. */
function onEnter(event) {
  const { target } = event;
  if (event.key !== "Enter" || event.defaultPrevented || !target.matches("input:not([type=checkbox], [type=radio], [type=file])")) return;
  event.preventDefault();
  target.blur(); // what was typed counts now, and once
  if (matchMedia("(pointer: fine)").matches) target.focus();
  for (let scope = target.parentElement; scope && scope !== event.currentTarget.parentElement; scope = scope.parentElement) {
    const go = [...scope.querySelectorAll("button.go")].find((one) => one.offsetParent && !one.disabled);
    if (go) { go.click(); return; }
  }
}
