// The first two steps: the scale, and the part.
import { areasFold } from "./drawing.js";
import { bare, bareLength, unitOf } from "./units.js";
import { choice, field, h, put, s } from "./dom.js";
import * as results from "./results.js";
import { changed, photo, state } from "./state.js";

const SHAPES = {
  front: "8,11 33,3 52,10 27,18", wall: "8,12.5 27,19.5 52,11.5 52,18 27,26 8,19", back: "8,23 27,30 52,22 52,26 27,34 8,27",
};
const ON = { one: ["front"], both: ["front", "back"], all: ["front", "wall", "back"], walls: ["wall"], foil: ["front", "wall"], front: ["front"], back: ["back"] };
const MARKS = { ring: "scale sheet", paper: "paper", scan: "scan", card: "card", coin: "coin", taps: "tapped length", rule: "rule", chequer: "chequer", markers: "markers" };
const NAMES = { one: "one face", both: "both faces", all: "all over", walls: "edges only", foil: "one face and edges" };

const icon = (key) => s("svg", { viewBox: "0 0 60 38", "aria-hidden": "true" }, Object.entries(SHAPES).map(([name, points]) => s("polygon", { points, class: ON[key].includes(name) ? "on" : "off" })));

export function makeScaleStep(step, remeasure) {
  const lengths = h("input", { placeholder: "200.2 x 119.9 mm", autocomplete: "off", onchange: () => { state.settings.check_lengths = lengths.value.trim(); remeasure(); } });
  const typed = h("input", { placeholder: "coin:25.75 mm", autocomplete: "off", onchange: () => apply() });
  const other = field("Which one", typed, "as in coin:25.75 mm, chequer:9x7,30 mm or taps:x1,y1,x2,y2,100 mm");
  const mark = choice([["auto", "find it"], ["ring", "printed scale sheet"], ["A4", "plain A4 paper"], ["letter", "plain Letter paper"], ["A5", "plain A5 paper"], ["card", "bank card"], ["scan", "flatbed scan"], ["", "coin or another"]], "auto", { onchange: () => apply() });
  const apply = () => {
    other.hidden = mark.value !== "";
    const wanted = mark.value || typed.value.trim();
    if (wanted && wanted !== state.settings.mark) { state.settings.mark = wanted; remeasure(); }
  };
  other.hidden = true;
  const found = h("p", { class: "small" });
  step.body.append(found, h("div", { class: "form" }, field("Check lengths", lengths, "both lines of the sheet, read with a rule: along x, along y"), field("Scale mark", mark), other));
  return () => {
    const scale = photo()?.result?.scale;
    step.set(scale ? "done" : "live");
    found.textContent = scale
      ? `Found: ${MARKS[scale.mark] || scale.mark} ${scale.sheet}, ${(1 / scale.mm_per_px).toFixed(1)} px/mm, camera tilted ${scale.tilt_deg.toFixed(0)}°.`
      : "The scale comes from a printed scale sheet (areakit sheet), or a plain sheet of paper with all edges in view.";
  };
}

/** Doubtful regions: a person can see what the photo leaves open. */
function questions(list, decide) {
  if (!list?.length) return null;
  return h("ul", { class: "notes" }, list.map((one, i) => h("li", {}, h("b", {}, `Question ${i + 1}, part ${one.part}: `), "is the spot marked ? in the picture a hole, or metal? ",
    h("span", { class: "answers" }, h("button", { type: "button", onclick: () => decide(one.at, "hole") }, "It is a hole"), h("button", { type: "button", onclick: () => decide(one.at, "metal") }, "It is metal")))));
}

export function makePartStep(step, remeasure, choose, decide) {
  let timer = 0;
  const apply = () => {
    clearTimeout(timer);
    const text = bareLength(thickness.value.trim());
    if (text === state.settings.thickness) return;
    state.settings.thickness = text;
    sync(); remeasure();
  };
  const thickness = h("input", { placeholder: "1.2 mm", autocomplete: "off", id: "thickness", onchange: apply, oninput: () => { clearTimeout(timer); timer = setTimeout(apply, 900); } });
  const radios = Object.keys(NAMES).map((key) => h("input", { type: "radio", name: "faces", value: key, checked: key === state.settings.faces, onchange: () => { state.settings.faces = key; remeasure(); } }));
  const faces = h("fieldset", {}, h("legend", {}, "What is plated"), h("div", { class: "faces" }, radios.map((radio) => h("label", {}, radio, icon(radio.value), NAMES[radio.value]))), );
  const hint = h("p", { class: "small" });
  const list = h("div", {}), surfaces = areasFold();
  step.body.append(h("div", { class: "form" }, field("Thickness", thickness, "with its unit; 1.2 ± 0.05 mm if you know it that well")), h("div", { class: "form" }, h("div", { class: "wide" }, faces, hint)), list, surfaces.box);

  function sync() {
    const known = Boolean(state.settings.thickness);
    for (const radio of radios) radio.disabled = !known && ["all", "walls", "foil"].includes(radio.value);
    hint.textContent = known ? "" : "Edges need the thickness.";
    if (!known && ["all", "walls", "foil"].includes(state.settings.faces)) {
      state.settings.faces = "one"; radios[0].checked = true;
    }
  }

  sync();
  return () => {
    sync();
    const now = photo(), parts = now?.result?.parts || [];
    step.set(parts.length ? "done" : "live");
    surfaces.box.hidden = !parts.length;
    if (!parts.length) { put(list); return; }
    surfaces.draw();
    const rows = parts.map((part, i) => h("tr", { class: state.chosen === i ? "chosen" : "" },
      h("td", {}, h("button", { type: "button", "aria-pressed": String(state.chosen === i), onclick: () => choose(state.chosen === i ? null : i) }, `Part ${part.id}`), part.corrected && h("div", { class: "small" }, "by hand")),
      h("td", {}, bare(part.face_area)), h("td", {}, bare(part.sidewall_area)), h("td", {}, bare(part.plated_area))));
    const one = parts[state.chosen ?? 0];
    const lines = one.surfaces.filter((line) => line.plated);
    const flags = [...now.result.flags.filter((flag) => !flag.part), ...parts.flatMap((part) => (part.flags || []).map((flag) => ({ ...flag, part: part.id })))];
    put(list, results.table([unitOf("mm2"), "one face", "edges", "plated"], rows),
      questions(now.result.questions, decide),
      results.notes(flags.filter((flag) => flag.code !== "LOOKS_UNDECIDED" || !now.result.questions?.length)),
      h("details", {}, h("summary", {}, "Where the area and its ± come from"),
        parts.length > 1 && h("p", { class: "small" }, `Of part ${one.id}:`),
        results.table(["surface", "area"], lines.map((line) => h("tr", {}, h("td", {}, line.name), h("td", {}, results.text(line.area))))),
        h("p", { class: "small" }, "Share of each input in the ±:"), results.budget(one.plated_area),
        h("p", { class: "small" }, "± is the expanded uncertainty, coverage factor 2 (about 95 %).")));
  };
}
