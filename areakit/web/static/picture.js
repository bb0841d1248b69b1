// The photo under its overlay: pan, wheel, pinch, keys; parts to choose. Overlay coordinates are pixels of the photo.
import { byId, h, put, s } from "./dom.js";
import { asked } from "./results.js";
import { todo } from "./places.js";

const stage = byId("stage"), view = byId("view"), image = byId("photo"), over = byId("over");
let size = { width: 1, height: 1 }, zoom = 1, left = 0, top = 0, hooks = {};
const layer = s("g", {}), tags = s("g", {}), above = s("g", {});
over.append(layer, tags, above);

export const path = (ring) => `M${ring.map(([x, y]) => `${x + 0.5} ${y + 0.5}`).join("L")}Z`;
export const toPhoto = (event) => {
  const box = view.getBoundingClientRect();
  return [(event.clientX - box.left - left) / zoom - 0.5, (event.clientY - box.top - top) / zoom - 0.5];
};
export const scale = () => zoom;
export const extent = () => size;
export const setHooks = (given) => { hooks = { ...hooks, ...given }; };
export const group = layer, sketch = above;
/** The point of the photo in the middle of the stage, under the cross. */
export const middle = () => { const box = stage.getBoundingClientRect(); return [(box.width / 2 - left) / zoom - 0.5, (box.height / 2 - top) / zoom - 0.5]; };
export const inside = ([x, y]) => x >= -0.5 && y >= -0.5 && x <= size.width - 0.5 && y <= size.height - 0.5;

export function showPhoto(url, name, known) {
  byId("placeholder").hidden = true;
  view.hidden = false; byId("lens").hidden = false; byId("welcome").hidden = true; stage.classList.remove("empty");
  image.onload = () => {
    const width = known ? known.width_px : image.naturalWidth, height = known ? known.height_px : image.naturalHeight;
    setSize(width, height);
  };
  image.alt = `Photo ${name}`;
  if (image.getAttribute("src") !== url) image.src = url;
  else if (known) setSize(known.width_px, known.height_px);
}

export function setSize(width, height) {
  if (!width || !height) return;
  const fresh = size.width !== width || size.height !== height;
  size = { width, height };
  image.style.width = `${width}px`; image.style.height = `${height}px`;
  if (fresh) fit(spot); else place();
}

export function clear() {
  byId("placeholder").hidden = true;
  view.hidden = true; byId("lens").hidden = true; byId("welcome").hidden = false; stage.classList.add("empty");
  put(layer); put(tags); put(above);
}

/** Show a placeholder with words: a photo whose picture is still on its way, or that cannot be shown at all. */
export function blank(words) {
  byId("placeholder").hidden = false; byId("placeholder").textContent = words;
  view.hidden = false; byId("lens").hidden = false; byId("welcome").hidden = true; stage.classList.remove("empty");
  image.removeAttribute("src"); image.alt = "";
}

let wholeOf = null, free = false, homeOf = null, paper = null;
const ROOM = 0.18;
/** Where a fresh look begins: at the parts, with some room round them; null for the whole photo. */
export function home(rings) {
  const points = rings.flat(2), xs = points.map((point) => point[0]), ys = points.map((point) => point[1]);
  const fresh = points.length ? [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)] : null;
  if (String(fresh) === String(homeOf)) return;
  homeOf = fresh;
  if (fresh) { const [w, hgt] = [fresh[2] - fresh[0], fresh[3] - fresh[1]]; spot = [fresh[0] - ROOM * w, fresh[1] - ROOM * hgt, fresh[2] + ROOM * w, fresh[3] + ROOM * hgt]; } else spot = null;
  fit(spot);
}
let spot = null;
/** The parts; where they are in view already, the whole photo. */
const refit = () => fit(!free && wholeOf === spot ? null : spot);
/** Fit the photo, or a part of it, into the stage; it stays fitted until somebody moves it. */
export function fit(bounds) {
  wholeOf = bounds || null; free = false;
  const box = paper || stage.getBoundingClientRect();
  const [x0, y0, x1, y1] = bounds || [0, 0, size.width, size.height];
  zoom = Math.min(box.width / (x1 - x0), box.height / (y1 - y0)) * (bounds && bounds !== spot ? 0.8 : 1);
  left = box.width / 2 - zoom * (x0 + x1) / 2; top = box.height / 2 - zoom * (y0 + y1) / 2;
  place();
}

/** A part smaller than this on the screen is looked at from closer by. */
const LEAST_PX = 44;
/** Bring a part into view, where it is not, or is too small to be seen. */
export function reveal(ring) {
  const xs = ring.map((point) => point[0]), ys = ring.map((point) => point[1]), box = stage.getBoundingClientRect();
  const bounds = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)], [x0, y0, x1, y1] = bounds.map((value, i) => value * zoom + (i % 2 ? top : left));
  const room = Math.max(x1 - x0, y1 - y0) < LEAST_PX ? Math.max(bounds[2] - bounds[0], bounds[3] - bounds[1]) : 0;
  if (room || x0 < 0 || y0 < 0 || x1 > box.width || y1 > box.height) fit(bounds.map((value, i) => value + (i < 2 ? -room : room)));
}
const NEAR = 0.06;
/** Look at one spot from close by, and back at the parts. */
export const lookAt = ([x, y]) => { const reach = NEAR * Math.max(size.width, size.height); fit([x - reach, y - reach, x + reach, y + reach]); };
export const goHome = () => fit(spot);

function zoomAt(factor, x, y) {
  const box = stage.getBoundingClientRect();
  const least = Math.min(box.width / size.width, box.height / size.height) * 0.5;
  free = true;
  const next = Math.min(20, Math.max(least, zoom * factor));
  left = x - (x - left) * next / zoom; top = y - (y - top) * next / zoom; zoom = next;
  place();
}

function place() {
  image.style.transform = `translate(${left}px, ${top}px) scale(${zoom})`;
  for (const one of [layer, above]) one.setAttribute("transform", `translate(${left} ${top}) scale(${zoom})`);
  for (const tag of tags.children) {
    const [x, y] = [left + zoom * tag.dataset.x, top + zoom * tag.dataset.y];
    tag.setAttribute("transform", `translate(${x} ${y})`);
    if (tag.dataset.long) label(tag, tags.children.length > 1 ? zoom * tag.dataset.wide : Infinity);
  }
  stage.classList.toggle("fitted", !free);
  hooks.placed?.(zoom); hooks.redraw?.();
}

const letters = (text) => text.length * 8.4 + 18;
/** The whole label; only the number where labels would cover each other; none where they would cover the parts. */
function label(tag, room) {
  const number = tag.dataset.long.split(":")[0], text = room < letters(tag.dataset.long) * 0.9 ? number : tag.dataset.long, wide = letters(text);
  tag.classList.toggle("hidden-tag", room < letters(number) && !tag.dataset.chosen);
  tag.lastChild.textContent = text;
  tag.firstChild.setAttribute("x", -wide / 2); tag.firstChild.setAttribute("width", wide);
}

/** Draw what was found. `found` has mark_px, rings_px, seen; `labels` one text a part. */
export function draw(found, labels, chosen, onChoose) {
  const shapes = [], texts = [];
  for (const ring of found.mark_px || []) shapes.push(s("path", { d: path(ring), class: "mark" }));
  const seen = found.seen || {};
  for (const ring of seen.whole_px || []) shapes.push(s("path", { d: path(ring), class: "whole" }));
  for (const ring of seen.crossing_px || []) shapes.push(s("path", { d: path(ring), class: "crossing" }));
  (found.rings_px || []).forEach((rings, index) => {
    const whole = rings.map(path).join("");
    shapes.push(s("path", { d: whole, class: "casing" }));
    rings.forEach((ring, i) => shapes.push(s("path", { d: path(ring), class: i ? "inner" : "outer" })));
    for (const one of found.regions_px?.[index] || []) shapes.push(s("path", { d: path(one.ring), class: `region ${one.kind}` }));
    const choose = () => onChoose(index);
    shapes.push(s("path", {
      d: path(rings[0]), class: `part${chosen === index ? " chosen" : ""}`, tabindex: "0", role: "button", "aria-pressed": String(chosen === index),
      "aria-label": `Part ${labels[index]}`, onclick: () => { if (!moved) choose(); },
      onkeydown: (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); choose(); } },
    }));
    const xs = rings[0].map((p) => p[0]), ys = rings[0].map((p) => p[1]);
    const tag = s("g", { class: "tag" }, s("rect", { y: 8, height: 28, rx: 6 }), s("text", { y: 22 }));
    Object.assign(tag.dataset, { x: (Math.min(...xs) + Math.max(...xs)) / 2, y: Math.max(...ys), wide: Math.max(...xs) - Math.min(...xs), long: labels[index] });
    if (chosen === index) tag.dataset.chosen = "yes";
    texts.push(tag);
  });
  put(layer, shapes); put(tags, texts); place();
}

/** A question mark over a doubtful region, to be tapped or pressed. */
export function ask(one, onTap) {
  const { at_px: [x, y], part, ring } = one;
  if (ring) layer.append(s("path", { d: path(ring), class: "region offered" }));
  const tag = s("g", { class: "tag asks", tabindex: "0", role: "button", "aria-label": `Part ${part}: ${asked(one).text}`, onclick: (event) => { event.stopPropagation(); if (!moved) onTap(); }, onkeydown: (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); event.stopPropagation(); onTap(); } } }, s("circle", { r: 22, class: "reach" }), s("circle", { r: 5, class: "spot" }), s("path", { d: "M0 -5V-18", class: "spot" }), s("circle", { cy: -31, r: 13, class: "question" }), s("text", { y: -31 }, "?"));
  tag.dataset.x = x; tag.dataset.y = y;
  tags.append(tag); place();
}

export function showTags(on) { tags.setAttribute("visibility", on ? "visible" : "hidden"); }

// pointers: one moves the photo, two pinch it
const fingers = new Map();
let moved = false, pinch = 0;
stage.addEventListener("pointerdown", (event) => {
  if (view.hidden || event.target.closest(".lens, .busy, .prompt, .mend-bar")) return;
  fingers.set(event.pointerId, event); moved = false;
  if (fingers.size === 2) pinch = spread();
  if (hooks.down && fingers.size === 1 && hooks.down(event)) { fingers.delete(event.pointerId); return; }
});
stage.addEventListener("click", (event) => {
  if (view.hidden || moved || !hooks.tap || event.target.closest(".lens, .busy, .prompt, .mend-bar")) return;
  hooks.tap(toPhoto(event));
});
window.addEventListener("pointermove", (event) => {
  const before = fingers.get(event.pointerId);
  if (!before) return;
  const [dx, dy] = [event.clientX - before.clientX, event.clientY - before.clientY];
  if (!moved && Math.hypot(dx, dy) < 6 && fingers.size === 1) return;
  moved = true;
  fingers.set(event.pointerId, event);
  free = true;
  if (fingers.size === 1) { left += dx; top += dy; place(); return; }
  const now = spread(), box = stage.getBoundingClientRect(), [a, b] = [...fingers.values()];
  zoomAt(now / pinch, (a.clientX + b.clientX) / 2 - box.left, (a.clientY + b.clientY) / 2 - box.top);
  pinch = now;
});
for (const name of ["pointerup", "pointercancel"]) window.addEventListener(name, (event) => {
  fingers.delete(event.pointerId);
  setTimeout(() => { if (!fingers.size) moved = false; }, 0);
});
function spread() { const [a, b] = [...fingers.values()]; return Math.max(1, Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY)); }
stage.addEventListener("wheel", (event) => {
  if (view.hidden) return;
  event.preventDefault();
  const box = stage.getBoundingClientRect();
  zoomAt(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), event.clientX - box.left, event.clientY - box.top);
}, { passive: false });
stage.addEventListener("keydown", (event) => {
  if (view.hidden || event.target !== stage) return;
  if (hooks.key?.(event)) { event.preventDefault(); return; }
  const step = hooks.key?.fine ? (event.shiftKey ? 2 : 20) : 60, box = stage.getBoundingClientRect();
  const keys = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
  if (keys[event.key]) { free = true; left += keys[event.key][0]; top += keys[event.key][1]; place(); }
  else if (event.key === "+" || event.key === "=") zoomAt(1.3, box.width / 2, box.height / 2);
  else if (event.key === "-") zoomAt(1 / 1.3, box.width / 2, box.height / 2);
  else if (event.key === "0") refit();
  else return;
  event.preventDefault();
});
byId("lens").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const box = stage.getBoundingClientRect();
  if (button.dataset.zoom === "fit") refit();
  else zoomAt(button.dataset.zoom === "in" ? 1.4 : 1 / 1.4, box.width / 2, box.height / 2);
});
let was = null;
new ResizeObserver(() => {
  const { width, height } = stage.getBoundingClientRect();
  if (!view.hidden && !free) fit(wholeOf);
  else if (!view.hidden && was) { left += (width - was.width) / 2; top += (height - was.height) / 2; place(); }
  was = { width, height };
}).observe(stage);

/** On paper the stage has the size that the style sheet gives it there; what was looked at comes back after. */
const PAPER_MM = [170, 90], PX_PER_MM = 96 / 25.4;
let before = null;
addEventListener("beforeprint", () => { before = { zoom, left, top, free, wholeOf }; paper = { width: PAPER_MM[0] * PX_PER_MM, height: PAPER_MM[1] * PX_PER_MM }; fit(spot); });
addEventListener("afterprint", () => { paper = null; if (before) { ({ zoom, left, top, free, wholeOf } = before); before = null; place(); } });

/** A bar with words, shown only if the work takes more than half a second. */
export function busy(words) {
  const box = byId("busy"), started = performance.now();
  const show = () => { box.hidden = false; byId("busy-text").textContent = `${words} ${Math.round((performance.now() - started) / 1000)} s`; };
  let ticking = 0;
  const first = setTimeout(() => { show(); ticking = setInterval(show, 1000); }, 400);
  return () => { clearTimeout(first); clearInterval(ticking); box.hidden = true; };
}

/** A refusal stands under the picture, not over the place that it is about; `again` takes the photo anew, `aims` with the camera in the page too. */
export function refuse(error, again, aims) {
  const box = byId("refusal");
  box.hidden = !error;
  if (!error) return;
  put(box, h("span", { class: "what" }, error.message), h("span", { class: "todo" }, h("b", {}, "Do this: "), todo(error)),
    again && h("div", { class: "actions" }, h("button", { type: "button", class: "go", id: "take-again", onclick: () => again("camera") }, "Take it again"), aims && h("button", { type: "button", onclick: () => again("aim") }, "Aim in this page"), h("button", { type: "button", onclick: () => again("files") }, "Choose another photo")));
}
