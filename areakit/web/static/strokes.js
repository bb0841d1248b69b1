// The lanes of one pass, played at the planned hand speed: where the brush goes, how fast, where it is lifted.
import { h, s } from "./dom.js";

const still = matchMedia("(prefers-reduced-motion: reduce)");

/** A player for the strokes that the server laid. `seek(seconds)` puts the brush where it is then in its pass. */
export function player(strokes, { controls = true } = {}) {
  const times = [0];
  for (const move of strokes.moves) times.push(times.at(-1) + move.seconds);
  const whole = times.at(-1), lanes = strokes.moves.filter((move) => move.kind === "lane").length;
  const half = Math.max(strokes.footprint_width_mm, strokes.footprint_length_mm) / 2;
  const ends = strokes.moves.flatMap((move) => [move.start_mm, move.end_mm]), corners = strokes.rings_mm[0];
  const xs = [...ends.map((p) => p[0] - half), ...ends.map((p) => p[0] + half), ...corners.map((p) => p[0])], ys = [...ends.map((p) => p[1] - half), ...ends.map((p) => p[1] + half), ...corners.map((p) => p[1])];
  const box = [Math.min(...xs), Math.min(...ys), Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
  const unit = Math.max(box[2], box[3]) / 100, outline = strokes.rings_mm.map((ring) => `M${ring.map((p) => p.join(" ")).join("L")}Z`).join("");
  const lines = strokes.moves.map((move) => s("path", { d: `M${move.start_mm.join(" ")}L${move.end_mm.join(" ")}`, class: `move ${move.kind}`, "stroke-width": (move.kind === "lane" ? 0.9 : 0.5) * unit, "stroke-dasharray": move.kind === "lift" ? `${1.4 * unit} ${unit}` : null }));
  const round = strokes.rounded ? Math.min(strokes.footprint_width_mm, strokes.footprint_length_mm) / 2 : 0;
  const brush = s("g", {}, s("rect", { class: "brush", x: -strokes.footprint_length_mm / 2, y: -strokes.footprint_width_mm / 2, width: strokes.footprint_length_mm, height: strokes.footprint_width_mm, rx: round, "stroke-width": 0.6 * unit }), s("circle", { r: 1.1 * unit, class: "tip" }));
  const picture = s("svg", { class: "strokes", viewBox: box.join(" "), role: "img", "aria-label": `${lanes} lanes, ${strokes.lifts} lifts, ${whole.toFixed(1)} seconds a pass at ${strokes.hand_speed_mm_s.toFixed(0)} mm/s` }, s("path", { d: outline, class: "metal", "stroke-width": 0.4 * unit }), lines, brush);
  const words = h("p", { class: "small where" });
  let at = 0, playing = false, last = 0, told = "";

  function seek(seconds) {
    at = ((seconds % whole) + whole) % whole;
    let i = times.findIndex((time) => time > at) - 1;
    if (i < 0) i = strokes.moves.length - 1;
    const move = strokes.moves[i], share = move.seconds ? (at - times[i]) / move.seconds : 0;
    const [x, y] = [0, 1].map((k) => move.start_mm[k] + (move.end_mm[k] - move.start_mm[k]) * share);
    brush.setAttribute("transform", `translate(${x} ${y}) rotate(${strokes.direction_deg})`);
    brush.setAttribute("class", move.kind === "lift" ? "lifted" : "down");
    lines.forEach((line, k) => line.classList.toggle("done", k < i));
    const lane = strokes.moves.slice(0, i + 1).filter((one) => one.kind === "lane").length;
    const said = `Lane ${Math.max(1, lane)} of ${lanes}${move.kind === "lift" ? ", lifted" : ""}`;
    if (said !== told) { told = said; words.textContent = said; }
  }
  let seen = true;
  function tick(now) {
    if (!playing || !seen) return;
    seek(at + Math.min(0.25, (now - last) / 1000)); last = now;
    requestAnimationFrame(tick);
  }
  /** Out of sight it stands still. */
  new IntersectionObserver(([one]) => { const was = seen; seen = one.isIntersecting; if (seen && !was && playing) { last = performance.now(); requestAnimationFrame(tick); } }).observe(picture);
  const button = h("button", { type: "button", onclick: () => (playing ? pause() : play()) }, "Play");
  function play() { playing = true; button.textContent = "Pause"; last = performance.now(); requestAnimationFrame(tick); }
  function pause() { playing = false; button.textContent = "Play"; }
  seek(0);
  if (controls && !still.matches) play();
  const element = h("div", { class: "player" }, picture, h("div", { class: "actions" }, controls && button, controls && h("button", { type: "button", onclick: () => { pause(); seek(0); } }, "From the start"), words));
  return { element, seek, pause, seconds: whole, lanes };
}
