// Correcting the outline of one part. The dense outline stays; handles stand on a few of its points. A dragged handle
// takes the stretch to its neighbours along, so whatever lies beyond them is not touched.
import { byId, put, s } from "./dom.js";
import * as picture from "./picture.js";

/** On the screen, between two handles. */
const SPACING_PX = 44;
let rings = [], handles = [], past = [], future = [], chosen = null, onChange = () => {}, active = false, drag = null;
const copy = (list) => list.map((ring) => ring.map((point) => [...point]));
const snapshot = () => ({ rings: copy(rings), handles: handles.map((list) => [...list]) });

export const isActive = () => active;
export function start(before, changed) {
  rings = copy(before); past = []; future = []; chosen = null; onChange = changed; active = true;
  const xs = rings[0].map((point) => point[0]), ys = rings[0].map((point) => point[1]);
  picture.fit([Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]);
  handles = rings.map(spaced);
  picture.showTags(false); render();
}
export function stop() { active = false; drag = null; picture.showTags(true); }

/** Indices of the ring that carry a handle: corners first, then even distances. */
function spaced(ring) {
  const step = SPACING_PX / picture.scale(), chosenPoints = [0];
  let along = 0;
  for (let i = 1; i < ring.length; i += 1) {
    along += distance(ring[i], ring[i - 1]);
    if (along >= step || bend(ring, i) > 0.9) { if (i - chosenPoints.at(-1) > 2) { chosenPoints.push(i); along = 0; } }
  }
  return chosenPoints;
}
const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
function bend(ring, i) {
  const n = ring.length, k = 4, a = ring[(i - k + n) % n], b = ring[i], c = ring[(i + k) % n];
  const turn = Math.atan2(c[1] - b[1], c[0] - b[0]) - Math.atan2(b[1] - a[1], b[0] - a[0]);
  return Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn)));
}

function remember() { past.push(snapshot()); if (past.length > 60) past.shift(); future = []; }
function restore(from, to) {
  if (!from.length) return;
  to.push(snapshot());
  ({ rings, handles } = from.pop());
  chosen = null; render(); onChange(rings);
}
export const undo = () => restore(past, future);
export const redo = () => restore(future, past);

/** Move a handle; the stretch to the handles beside it follows, less and less. */
function shift(r, k, dx, dy, base) {
  const ring = rings[r], list = handles[r], n = ring.length, at = list[k];
  const before = list[(k - 1 + list.length) % list.length], after = list[(k + 1) % list.length];
  const back = list.length > 1 ? (at - before + n) % n || n : n, ahead = list.length > 1 ? (after - at + n) % n || n : n;
  for (let i = -back + 1; i < ahead; i += 1) {
    const weight = i < 0 ? 1 + i / back : 1 - i / ahead, j = (at + i + 2 * n) % n;
    ring[j] = [base[j][0] + dx * weight, base[j][1] + dy * weight];
  }
}

function removeHandle() {
  if (!chosen) return;
  const [r, k] = chosen, list = handles[r], ring = rings[r], n = ring.length;
  if (list.length < 4) return;
  remember();
  const before = list[(k - 1 + list.length) % list.length], after = list[(k + 1) % list.length];
  const count = (after - before + n) % n;
  for (let i = 1; i < count; i += 1) {
    const t = i / count, j = (before + i) % n;
    ring[j] = [ring[before][0] * (1 - t) + ring[after][0] * t, ring[before][1] * (1 - t) + ring[after][1] * t];
  }
  list.splice(k, 1); chosen = [r, Math.max(0, k - 1)];
  render(true); onChange(rings);
}
function addHandle() {
  const [r, k] = chosen || [0, 0], list = handles[r], n = rings[r].length;
  const at = list[k], after = list[(k + 1) % list.length], gap = (after - at + n) % n || n;
  if (gap < 2) return;
  remember();
  const fresh = (at + Math.floor(gap / 2)) % n;
  list.push(fresh); list.sort((a, b) => a - b);
  chosen = [r, list.indexOf(fresh)]; render(true);
}
function fillHole() {
  if (!chosen || chosen[0] === 0) return;
  remember(); rings.splice(chosen[0], 1); handles.splice(chosen[0], 1); chosen = null;
  render(); onChange(rings);
}

export function command(name) {
  ({ undo, redo, add: addHandle, remove: removeHandle, fill: fillHole })[name]?.();
}

function render(focus) {
  if (!active) return;
  const shapes = [s("path", { d: rings.map(picture.path).join(""), class: "casing" })];
  rings.forEach((ring, r) => shapes.push(s("path", { d: picture.path(ring), class: r ? "inner" : "outer" })));
  handles.forEach((list, r) => list.forEach((index, k) => {
    const [x, y] = rings[r][index], on = chosen && chosen[0] === r && chosen[1] === k;
    const dot = s("circle", { cx: x + 0.5, cy: y + 0.5, r: radius(), class: `handle${on ? " chosen" : ""}`, tabindex: "0", role: "button", "aria-label": `Point ${k + 1} of ${list.length}, ${r ? `hole ${r}` : "outer outline"}` });
    dot.dataset.r = r; dot.dataset.k = k;
    dot.addEventListener("keydown", (event) => onKey(event, r, k));
    dot.addEventListener("focus", () => { chosen = [r, k]; mark(); });
    shapes.push(dot);
  }));
  put(picture.group, shapes); mark();
  if (focus && chosen) picture.group.querySelector(`[data-r="${chosen[0]}"][data-k="${chosen[1]}"]`)?.focus();
}
function mark() {
  for (const dot of picture.group.querySelectorAll(".handle")) dot.classList.toggle("chosen", Boolean(chosen) && Number(dot.dataset.r) === chosen[0] && Number(dot.dataset.k) === chosen[1]);
  const tools = byId("mend-tools");
  tools.querySelector('[data-mend="undo"]').disabled = !past.length;
  tools.querySelector('[data-mend="redo"]').disabled = !future.length;
  tools.querySelector('[data-mend="remove"]').disabled = !chosen;
  tools.querySelector('[data-mend="add"]').disabled = !chosen;
  tools.querySelector('[data-mend="fill"]').disabled = !chosen || chosen[0] === 0;
}
const radius = () => 7 / picture.scale();

function onKey(event, r, k) {
  const step = event.shiftKey ? 10 : 1;
  const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
  if (by) { remember(); shift(r, k, by[0], by[1], rings[r].map((p) => [...p])); chosen = [r, k]; render(true); onChange(rings); }
  else if (event.key === "Delete" || event.key === "Backspace") { chosen = [r, k]; removeHandle(); }
  else if (event.key.toLowerCase() === "a" && !event.ctrlKey) { chosen = [r, k]; addHandle(); }
  else return;
  event.preventDefault(); event.stopPropagation();
}
window.addEventListener("keydown", (event) => {
  if (!active || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  event.preventDefault(); if (event.shiftKey) redo(); else undo();
});

/** Whether a pointer went down on a handle, near enough for a finger. */
export function down(event) {
  if (!active) return false;
  const point = picture.toPhoto(event), reach = 22 / picture.scale();
  let best = null, least = reach;
  handles.forEach((list, r) => list.forEach((index, k) => { const d = distance(rings[r][index], point); if (d < least) { least = d; best = [r, k]; } }));
  if (!best) return false;
  event.preventDefault();
  remember(); chosen = best;
  drag = { id: event.pointerId, from: point, base: rings[best[0]].map((p) => [...p]) };
  mark();
  return true;
}
window.addEventListener("pointermove", (event) => {
  if (!drag || event.pointerId !== drag.id) return;
  const [x, y] = picture.toPhoto(event);
  shift(chosen[0], chosen[1], x - drag.from[0], y - drag.from[1], drag.base);
  drag.moved = true; render();
});
for (const name of ["pointerup", "pointercancel"]) window.addEventListener(name, (event) => {
  if (!drag || event.pointerId !== drag.id) return;
  const { moved } = drag; drag = null;
  if (moved) onChange(rings); else past.pop();
  mark();
});
export function placed() { for (const dot of picture.group.querySelectorAll(".handle")) dot.setAttribute("r", radius()); }
