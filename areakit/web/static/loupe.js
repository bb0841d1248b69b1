// The loupe: what lies under the finger, larger and beside it, with the lines that are being moved.
import { byId } from "./dom.js";
import * as picture from "./picture.js";

const SIDE = 140, TIMES = 2.5, AWAY = 34;
const canvas = byId("loupe"), stage = byId("stage"), image = byId("photo");

/** Show it for a pointer; `point` is in pixels of the photo, `rings` are the lines to draw. */
export function show(event, point, rings) {
  const box = stage.getBoundingClientRect(), sharp = window.devicePixelRatio || 1, scale = picture.scale() * TIMES, pen = canvas.getContext("2d");
  canvas.hidden = false; canvas.width = canvas.height = SIDE * sharp;
  const [x, y] = [point[0] + 0.5, point[1] + 0.5], { width, height } = picture.extent();
  pen.setTransform(sharp * scale, 0, 0, sharp * scale, sharp * (SIDE / 2 - x * scale), sharp * (SIDE / 2 - y * scale));
  if (image.complete && image.naturalWidth) pen.drawImage(image, 0, 0, width, height);
  pen.lineWidth = 2 / scale; pen.strokeStyle = "#ff3d9a";
  for (const ring of rings) { pen.beginPath(); ring.forEach((p, i) => pen[i ? "lineTo" : "moveTo"](p[0] + 0.5, p[1] + 0.5)); pen.closePath(); pen.stroke(); }
  pen.setTransform(sharp, 0, 0, sharp, 0, 0); pen.strokeStyle = "#fff"; pen.lineWidth = 1;
  pen.beginPath(); pen.moveTo(SIDE / 2, 0); pen.lineTo(SIDE / 2, SIDE); pen.moveTo(0, SIDE / 2); pen.lineTo(SIDE, SIDE / 2); pen.stroke();
  const [left, top] = [event.clientX - box.left, event.clientY - box.top];
  canvas.style.left = `${Math.min(Math.max(4, left - SIDE / 2), box.width - SIDE - 4)}px`;
  canvas.style.top = `${top - SIDE - AWAY > 4 ? top - SIDE - AWAY : Math.min(top + AWAY, box.height - SIDE - 4)}px`;
}
export function hide() { canvas.hidden = true; }
