// Setting points on the photo: by mouse or finger where one taps, by keys under the cross in the middle of the picture.
import { byId, h, put, s, tell } from "./dom.js";
import * as picture from "./picture.js";

const CLOSE_PX = 16;
let now = null;

export const isActive = () => Boolean(now);
/**
 * Ask for points. `words(count)` says what to tap next; `most` ends by itself; a `closed` line ends near its first
 * point. Calls back `done(points)` in pixels of the photo, or `left()` where somebody gives up.
 */
export function start({ words, least, most = Infinity, closed = false, done, left = () => {}, whole = false }) {
  stop();
  now = { words, least, most, closed, done, left, points: [] };
  byId("stage").classList.add("picking"); byId("cross").hidden = false; byId("prompt").hidden = false;
  if (whole) picture.fit();
  byId("stage").scrollIntoView({ block: "nearest" }); byId("stage").focus({ preventScroll: true });
  show();
}
export function stop() {
  if (!now) return;
  now = null;
  byId("stage").classList.remove("picking"); byId("cross").hidden = true; byId("prompt").hidden = true;
  put(picture.sketch);
}
function give(kind) {
  const { points, done, left } = now;
  stop();
  if (kind === "done") done(points); else left();
}

function add(point) {
  if (!now || !picture.inside(point)) return;
  const { points, closed, least, most } = now;
  if (closed && points.length >= least && near(point, points[0])) { give("done"); return; }
  points.push(point.map((value) => Math.round(value * 10) / 10));
  if (points.length >= most) { give("done"); return; }
  show();
}
const near = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]) * picture.scale() < CLOSE_PX;
function back() { if (now?.points.pop()) show(); }

function show() {
  const { points, words, least, most } = now, said = words(points.length);
  const open = most === Infinity;
  put(byId("prompt"), h("div", {}, h("p", {}, said),
    h("button", { type: "button", disabled: !points.length, onclick: back }, "Take back"),
    open && h("button", { type: "button", class: "go", disabled: points.length < least, onclick: () => give("done") }, "Close the line"),
    h("button", { type: "button", onclick: () => give("left") }, "Cancel")),
  h("p", { class: "small" }, "Keys: arrows move the picture under the cross (shift: finer), + and − zoom, Enter sets a point, Backspace takes it back, Escape cancels."));
  tell(said); draw();
}
function draw() {
  if (!now) return;
  const { points, closed } = now, radius = 7 / picture.scale();
  put(picture.sketch, points.length > 1 && s("path", { d: `${picture.path(points).slice(0, -1)}${closed && points.length > 2 ? "Z" : ""}`, class: "sketched" }),
    points.map(([x, y], i) => s("circle", { cx: x + 0.5, cy: y + 0.5, r: i ? radius : radius * 1.4, class: "set" })));
}

function onKey(event) {
  if (!now) return false;
  if (event.key === "Enter" || event.key === " ") add(picture.middle());
  else if (event.key === "Backspace") back();
  else if (event.key === "Escape") give("left");
  else return false;
  return true;
}
Object.defineProperty(onKey, "fine", { get: () => Boolean(now) });
picture.setHooks({ tap: add, key: onKey, redraw: draw });
byId("prompt").addEventListener("keydown", (event) => { if (event.key === "Escape") give("left"); });
