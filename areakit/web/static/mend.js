// Correcting one part: its outline, and the regions drawn over it. The dense outline stays; handles stand on a few of
// its points. A dragged handle takes the stretch to its neighbours along, so whatever lies beyond is not touched.
// A region has a handle on each of its points. A line drawn freehand goes to the edge and takes the place of a stretch.
import { byId, put, s, tell } from "./dom.js";
import { lengthOf, spliced, toEdge } from "./freehand.js";
import * as loupe from "./loupe.js";
import * as pick from "./pick.js";
import * as picture from "./picture.js";
import * as regionform from "./regionform.js";

/** On the screen, between two handles. */
const SPACING_PX = 44;
/** On the screen: a freehand line this short is a slip; its ends lie this near the outline, or each other to close it. */
const SHORT_PX = 24, JOINS_PX = 40;
const NAMES = { outer: "outer outline", hole: "hole", stop_off: "stop-off", keep: "region to plate", significant: "significant surface", form: "region of another form" };
/** rings[i] is a line; roles[i] says what it is and, of a region, on which faces. */
let rings = [], roles = [], handles = [], past = [], future = [], chosen = null, onChange = () => {}, active = false, drag = null, free = false, stroke = null;
const copy = (list) => list.map((ring) => ring.map((point) => [...point]));
const snapshot = () => ({ rings: copy(rings), roles: [...roles], handles: handles.map((list) => [...list]) });
const isRegion = (r) => Boolean(roles[r].sides);

export const isActive = () => active;
/** Begin with an outline and its regions ({kind, sides, ring}); `changed` gets both after every change. */
export function start(before, regions, changed) {
  rings = [...copy(before), ...copy(regions.map((one) => one.ring))];
  roles = [...before.map((_, i) => ({ kind: i ? "hole" : "outer" })), ...regions.map(({ kind, sides, at, words }) => ({ kind, sides, at, words }))];
  past = []; future = []; chosen = null; onChange = changed; active = true;
  byId("stage").scrollIntoView({ block: "nearest" });
  const xs = rings[0].map((point) => point[0]), ys = rings[0].map((point) => point[1]);
  picture.fit([Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]);
  handles = rings.map((ring, r) => (isRegion(r) ? ring.map((_, i) => i) : spaced(ring)));
  picture.showTags(false); setFree(false); render();
}
export function stop() { active = false; drag = null; setFree(false); loupe.hide(); pick.stop(); picture.showTags(true); }
function report() {
  const outline = rings.filter((_, r) => !isRegion(r));
  const regions = rings.map((ring, r) => ({ ...roles[r], ring })).filter((one) => one.sides);
  onChange(outline, regions);
}

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
  ({ rings, roles, handles } = from.pop());
  chosen = null; render(); report();
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
  if (isRegion(r)) { ring.splice(k, 1); handles[r] = ring.map((_, i) => i); } else {
    const before = list[(k - 1 + list.length) % list.length], after = list[(k + 1) % list.length];
    const count = (after - before + n) % n;
    for (let i = 1; i < count; i += 1) {
      const t = i / count, j = (before + i) % n;
      ring[j] = [ring[before][0] * (1 - t) + ring[after][0] * t, ring[before][1] * (1 - t) + ring[after][1] * t];
    }
    list.splice(k, 1);
  }
  chosen = [r, Math.max(0, k - 1)];
  render(true); report();
}
function addHandle() {
  const [r, k] = chosen || [0, 0], list = handles[r], ring = rings[r], n = ring.length;
  const at = list[k], after = list[(k + 1) % list.length], gap = (after - at + n) % n || n;
  if (isRegion(r)) {
    remember();
    ring.splice(k + 1, 0, [(ring[at][0] + ring[after][0]) / 2, (ring[at][1] + ring[after][1]) / 2]);
    handles[r] = ring.map((_, i) => i); chosen = [r, k + 1]; render(true);
    return;
  }
  if (gap < 2) return;
  remember();
  const fresh = (at + Math.floor(gap / 2)) % n;
  list.push(fresh); list.sort((a, b) => a - b);
  chosen = [r, list.indexOf(fresh)]; render(true);
}
function takeAway() {
  if (!chosen || chosen[0] === 0) return;
  remember();
  for (const list of [rings, roles, handles]) list.splice(chosen[0], 1);
  chosen = null; render(); report();
}
/** Draw a new region; its faces are those chosen beside the buttons. */
function drawRegion(kind) {
  const sides = kind === "form" ? "both" : byId("mend-sides").value, words = kind === "form" ? regionform.words() : undefined;
  pick.start({
    words: (count) => (count < 3 ? `Tap round the ${NAMES[kind]}: point ${count + 1}.` : `Point ${count + 1}, or close the line at its first point.`),
    least: 3, closed: true,
    done: (ring) => { remember(); rings.push(ring); roles.push({ kind, sides, words }); handles.push(ring.map((_, i) => i)); chosen = null; render(); report(); tell(`Drawn: ${NAMES[kind]}.`); },
  });
}

/** Draw freehand, or drag points again. */
function setFree(on) {
  free = on; stroke = null; put(picture.sketch);
  document.querySelector('[data-mend="free"]').setAttribute("aria-pressed", String(on)); byId("stage").classList.toggle("freehand", on);
  if (on) tell(FREE);
}
const FREE = "Draw along the edge of the metal; the line goes to the edge.";
/** Put a line, moved to the edge, in place of the stretch of the outline that it runs along. */
function redraw(line) {
  const scale = picture.scale();
  if (lengthOf(line) * scale < SHORT_PX) return;
  const fresh = toEdge(line), ends = [fresh[0], fresh.at(-1)], closed = distance(...ends) * scale < JOINS_PX && lengthOf(fresh) * scale > 4 * JOINS_PX;
  const off = (ring) => Math.max(...ends.map((end) => Math.min(...ring.map((point) => distance(point, end)))));
  const r = rings.reduce((one, ring, i) => (!isRegion(i) && off(ring) < off(rings[one]) ? i : one), 0);
  if (!closed && off(rings[r]) * scale > JOINS_PX) { tell("Begin and end the line on the outline."); byId("mend-help").textContent = "Nothing changed: begin and end the line on the outline."; return; }
  remember();
  rings[r] = spliced(rings[r], fresh, { closed }); handles[r] = spaced(rings[r]); chosen = null;
  render(); report(); tell("The outline follows the edge along your line.");
}

export function command(name) {
  if (name === "free") { setFree(!free); return; }
  if (["stop_off", "keep", "significant", "form"].includes(name)) drawRegion(name);
  else ({ undo, redo, add: addHandle, remove: removeHandle, fill: takeAway })[name]?.();
}

function render(focus) {
  if (!active) return;
  const outline = rings.filter((_, r) => !isRegion(r));
  const shapes = [s("path", { d: outline.map(picture.path).join(""), class: "casing" })];
  rings.forEach((ring, r) => shapes.push(s("path", { d: picture.path(ring), class: isRegion(r) ? `region ${roles[r].kind}` : r ? "inner" : "outer" })));
  handles.forEach((list, r) => list.forEach((index, k) => {
    const [x, y] = rings[r][index], on = chosen && chosen[0] === r && chosen[1] === k;
    const dot = s("circle", { cx: x + 0.5, cy: y + 0.5, r: radius(), class: `handle${on ? " chosen" : ""}`, tabindex: "0", role: "button", "aria-label": `Point ${k + 1} of ${list.length}, ${NAMES[roles[r].kind]}${r ? ` ${r}` : ""}` });
    dot.dataset.r = r; dot.dataset.k = k;
    dot.addEventListener("keydown", (event) => onKey(event, r, k));
    dot.addEventListener("focus", () => { chosen = [r, k]; mark(); });
    shapes.push(s("circle", { cx: x + 0.5, cy: y + 0.5, r: reach(), class: "handle-reach" }), dot);
  }));
  put(picture.group, shapes); mark();
  if (focus && chosen) picture.group.querySelector(`[data-r="${chosen[0]}"][data-k="${chosen[1]}"]`)?.focus();
}
function mark() {
  for (const dot of picture.group.querySelectorAll(".handle")) dot.classList.toggle("chosen", Boolean(chosen) && Number(dot.dataset.r) === chosen[0] && Number(dot.dataset.k) === chosen[1]);
  const able = { undo: past.length, redo: future.length, remove: chosen, add: chosen, fill: chosen && chosen[0] > 0 };
  for (const [name, on] of Object.entries(able)) document.querySelector(`[data-mend="${name}"]`).disabled = !on;
  document.querySelector('[data-mend="fill"]').textContent = chosen && chosen[0] > 0 && isRegion(chosen[0]) ? `Remove this ${NAMES[roles[chosen[0]].kind]}` : "Fill this hole";
}
const radius = () => 7 / picture.scale(), reach = () => 22 / picture.scale();

function onKey(event, r, k) {
  const step = event.shiftKey ? 10 : 1;
  const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
  if (by) { remember(); shift(r, k, by[0], by[1], rings[r].map((p) => [...p])); chosen = [r, k]; render(true); report(); }
  else if (event.key === "Delete" || event.key === "Backspace") { chosen = [r, k]; removeHandle(); }
  else if (event.key.toLowerCase() === "a" && !event.ctrlKey) { chosen = [r, k]; addHandle(); }
  else return;
  event.preventDefault(); event.stopPropagation();
}
window.addEventListener("keydown", (event) => {
  if (!active || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.closest("input, textarea")) return;
  event.preventDefault(); if (event.shiftKey) redo(); else undo();
});

/** Whether a pointer went down on a handle, near enough for a finger. */
export function down(event) {
  if (!active || pick.isActive()) return false;
  const point = picture.toPhoto(event);
  if (free) { event.preventDefault(); stroke = { id: event.pointerId, line: [point] }; return true; }
  let best = null, least = reach();
  handles.forEach((list, r) => list.forEach((index, k) => { const d = distance(rings[r][index], point); if (d < least) { least = d; best = [r, k]; } }));
  if (!best) return false;
  event.preventDefault();
  remember(); chosen = best;
  drag = { id: event.pointerId, from: point, base: rings[best[0]].map((p) => [...p]) };
  mark();
  return true;
}
window.addEventListener("pointermove", (event) => {
  if (stroke && event.pointerId === stroke.id) {
    for (const one of event.getCoalescedEvents?.().length ? event.getCoalescedEvents() : [event]) stroke.line.push(picture.toPhoto(one));
    put(picture.sketch, s("path", { d: picture.path(stroke.line).slice(0, -1), class: "sketched" })); loupe.show(event, stroke.line.at(-1), rings);
  }
  if (!drag || event.pointerId !== drag.id) return;
  const [x, y] = picture.toPhoto(event);
  shift(chosen[0], chosen[1], x - drag.from[0], y - drag.from[1], drag.base);
  drag.moved = true; render(); loupe.show(event, rings[chosen[0]][handles[chosen[0]][chosen[1]]], rings);
});
for (const name of ["pointerup", "pointercancel"]) window.addEventListener(name, (event) => {
  if (stroke && event.pointerId === stroke.id) { const { line } = stroke; stroke = null; loupe.hide(); put(picture.sketch); if (name === "pointerup") redraw(line); }
  if (!drag || event.pointerId !== drag.id) return;
  const { moved } = drag; drag = null; loupe.hide();
  if (moved) report(); else past.pop();
  mark();
});
picture.setHooks({ down, placed: () => { for (const dot of picture.group.querySelectorAll(".handle")) dot.setAttribute("r", radius()); for (const one of picture.group.querySelectorAll(".handle-reach")) one.setAttribute("r", reach()); } });
