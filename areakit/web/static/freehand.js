// A line drawn freehand along an edge goes to the edge: to where the picture changes most across the line, near it and
// without jumps, found for the whole line at once.
import { byId } from "./dom.js";
import * as picture from "./picture.js";

/** How far from the line the edge is looked for on the screen, points of a line at most, the cost of a jump by one pixel. */
const REACH_PX = 14, MOST = 700, STIFF = 6, BETWEEN = 1.5;
const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const lengthOf = (line) => line.slice(1).reduce((sum, point, i) => sum + distance(point, line[i]), 0);

/** Points at even distances along a line. */
function even(line, step) {
  const found = [line[0]];
  let over = 0;
  for (let i = 1; i < line.length; i += 1) {
    const [a, b] = [line[i - 1], line[i]], long = distance(a, b);
    for (over += long; over >= step; over -= step) { const t = 1 - (over - step) / long; found.push([a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]); }
  }
  return found;
}
const smooth = (values, wide) => values.map((_, i) => { const near = values.slice(Math.max(0, i - wide), i + wide + 1); return near.reduce((sum, one) => sum + one, 0) / near.length; });

/** The colours of the picture round some points, as a function of a place in its own pixels. */
function colours(points, margin) {
  const image = byId("photo"), [xs, ys] = [0, 1].map((axis) => points.map((point) => point[axis])), canvas = document.createElement("canvas");
  const left = Math.floor(Math.min(...xs) - margin), top = Math.floor(Math.min(...ys) - margin);
  const [width, height] = [Math.ceil(Math.max(...xs) + margin) - left, Math.ceil(Math.max(...ys) + margin) - top];
  canvas.width = width; canvas.height = height;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(image, -left, -top);
  const { data } = pen.getImageData(0, 0, width, height);
  return (x, y) => {
    const [px, py] = [Math.min(Math.max(x - left, 0), width - 1.001), Math.min(Math.max(y - top, 0), height - 1.001)], [i, j] = [Math.floor(px), Math.floor(py)], [u, v] = [px - i, py - j], at = 4 * (j * width + i), below = 4 * Math.min(width, width * (height - 1 - j));
    return [0, 1, 2].map((c) => (data[at + c] * (1 - u) + data[at + 4 + c] * u) * (1 - v) + (data[at + below + c] * (1 - u) + data[at + below + 4 + c] * u) * v);
  };
}

/** The edge along a line, both in pixels of the photo. */
export function toEdge(line) {
  const fine = byId("photo").naturalWidth / picture.extent().width, reach = Math.max(4, Math.round((REACH_PX / picture.scale()) * fine));
  const own = line.map((point) => point.map((value) => (value + 0.5) * fine - 0.5));
  const points = even(own, Math.max(1.5, lengthOf(own) / MOST)), span = 4;
  if (points.length < 3) return line;
  const normals = points.map((_, i) => { const [a, b] = [points[Math.max(0, i - span)], points[Math.min(points.length - 1, i + span)]], long = distance(a, b) || 1; return [-(b[1] - a[1]) / long, (b[0] - a[0]) / long]; });
  const colour = colours(points, reach + 4), wide = 2 * reach + 1;
  const change = points.map(([x, y], i) => Array.from({ length: wide }, (_, k) => {
    const [nx, ny] = normals[i], off = k - reach, [a, b] = [off - BETWEEN, off + BETWEEN].map((d) => colour(x + nx * d, y + ny * d));
    return (Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]) + Math.abs(a[2] - b[2])) * (1 - 0.5 * (off / reach) ** 2);
  }));
  let best = change[0];
  const came = change.slice(1).map((now) => {
    const from = now.map((_, k) => [-2, -1, 0, 1, 2].map((jump) => k + jump).filter((other) => other >= 0 && other < wide).reduce((one, other) => (best[other] - STIFF * (other - k) ** 2 > best[one] - STIFF * (one - k) ** 2 ? other : one), k));
    best = now.map((value, k) => value + best[from[k]] - STIFF * (from[k] - k) ** 2);
    return from;
  });
  const path = [best.indexOf(Math.max(...best))];
  for (const from of came.reverse()) path.unshift(from[path[0]]);
  const offsets = smooth(path.map((k, i) => { const [a, b, c] = [change[i][k - 1] ?? 0, change[i][k], change[i][k + 1] ?? 0], curve = a - 2 * b + c; return k - reach + (curve < 0 ? Math.max(-0.5, Math.min(0.5, (a - c) / (2 * curve))) : 0); }), 2);
  return points.map(([x, y], i) => [x + normals[i][0] * offsets[i], y + normals[i][1] * offsets[i]].map((value) => (value + 0.5) / fine - 0.5));
}

/** A ring with the stretch that lies beside a line put in its place; a line that comes back to its start is the whole ring. */
export function spliced(ring, line, { closed }) {
  if (closed) return line;
  const nearest = (point) => ring.reduce((one, other, i) => (distance(other, point) < distance(ring[one], point) ? i : one), 0);
  const arc = (from, to) => { const found = [ring[from]]; for (let i = from; i !== to;) { i = (i + 1) % ring.length; found.push(ring[i]); } return found; };
  const away = (points) => line.reduce((sum, point) => sum + Math.min(...points.map((other) => distance(other, point))), 0);
  const [i, j] = [nearest(line[0]), nearest(line.at(-1))], [ahead, back] = [arc(i, j), arc(j, i)];
  return away(ahead) < away(back) ? [...back, ...line.slice(1, -1)] : [...ahead, ...line.slice(1, -1).reverse()];
}
