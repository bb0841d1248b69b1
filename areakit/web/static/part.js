// Step 2: the part, what of it is plated, and where its number comes from.
import { areasFold } from "./drawing.js";
import { h, put, s } from "./dom.js";
import * as results from "./results.js";
import { photo, state } from "./state.js";
import { bare, unitOf } from "./units.js";
import { unitField } from "./unitfield.js";

const SHAPES = {
  front: "8,11 33,3 52,10 27,18", wall: "8,12.5 27,19.5 52,11.5 52,18 27,26 8,19", back: "8,23 27,30 52,22 52,26 27,34 8,27",
};
const ON = { one: ["front"], both: ["front", "back"], all: ["front", "wall", "back"], walls: ["wall"], foil: ["front", "wall"], front: ["front"], back: ["back"] };
const NAMES = { one: "one face", both: "both faces", all: "all over", walls: "edges only", foil: "one face and edges" };

const icon = (key) => s("svg", { viewBox: "0 0 60 38", "aria-hidden": "true" }, Object.entries(SHAPES).map(([name, points]) => s("polygon", { points, class: ON[key].includes(name) ? "on" : "off" })));

const says = (word) => `It is ${word.charAt(0).toLowerCase()}${word.slice(1)}`;

/** Doubtful regions: a person can see what the photo leaves open. */
function questions(list, decide) {
  if (!list?.length) return null;
  return h("ul", { class: "notes" }, list.map((one, i) => h("li", {}, h("b", {}, `Question ${i + 1}, part ${one.part}: `), `${results.asked(one).text} (marked ? in the picture) `,
    h("span", { class: "answers" }, h("button", { type: "button", onclick: () => decide(one.at, "hole") }, says(results.asked(one).hole)), h("button", { type: "button", onclick: () => decide(one.at, "metal") }, says(results.asked(one).metal))))));
}

/** What was said by hand already, and can be taken back. */
function answered(answers, decide) {
  const said = [...answers.hole.map((at) => [at, "a hole"]), ...answers.metal.map((at) => [at, "metal"])];
  if (!said.length) return null;
  return h("ul", { class: "notes" }, said.map(([at, words]) => h("li", { class: "note" }, `You said: the spot at (${at.replace(",", ", ")}) mm is ${words}. `, h("button", { type: "button", class: "link", onclick: () => decide(at, null) }, "Take back"))));
}

export function makePartStep(step, remeasure, choose, decide) {
  let timer = 0, asked = false;
  const apply = () => {
    clearTimeout(timer);
    const { text } = thickness;
    if (text === state.settings.thickness) return;
    state.settings.thickness = text;
    sync(); remeasure();
  };
  const thickness = unitField("Thickness", "length", { examples: { mm: "1.2", in: "0.047" }, id: "thickness", onchange: apply, oninput: () => { clearTimeout(timer); timer = setTimeout(apply, 900); } }, "1.2 ± 0.05 if you know it that well; another unit may be typed");
  const radios = Object.keys(NAMES).map((key) => h("input", { type: "radio", name: "faces", value: key, checked: key === state.settings.faces, onchange: () => { asked = true; state.settings.faces = key; remeasure(); } }));
  const faces = h("fieldset", {}, h("legend", {}, "What is plated"), h("div", { class: "faces" }, radios.map((radio) => h("label", {}, radio, icon(radio.value), NAMES[radio.value]))), );
  const hint = h("p", { class: "small" });
  const list = h("div", {}), surfaces = areasFold();
  step.body.append(h("div", { class: "form" }, thickness.element), h("div", { class: "form" }, h("div", { class: "wide" }, faces, hint)), list, surfaces.box);

  function sync() {
    const known = Boolean(state.settings.thickness);
    for (const radio of radios) radio.disabled = !known && ["all", "walls", "foil"].includes(radio.value);
    const usual = state.shop.values?.usual?.faces;
    if (known && !asked && radios.some((radio) => radio.value === usual)) { asked = true; state.settings.faces = usual; for (const radio of radios) radio.checked = radio.value === usual; }
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
      h("td", {}, h("button", { type: "button", "aria-pressed": String(state.chosen === i), onclick: () => choose(state.chosen === i ? null : i) }, `Part ${part.id}`), (part.corrected || part.regions) && h("div", { class: "small" }, part.corrected ? "by hand" : "with drawn regions")),
      h("td", {}, bare(part.face_area)), h("td", {}, bare(part.sidewall_area)), h("td", {}, bare(part.plated_area))));
    const one = parts[state.chosen ?? 0], significant = parts.filter((part) => part.significant_area);
    const lines = one.surfaces.filter((line) => line.plated);
    const flags = [...now.result.flags.filter((flag) => !flag.part), ...parts.flatMap((part) => (part.flags || []).map((flag) => ({ ...flag, part: part.id })))];
    put(list, results.table([unitOf("mm2"), "one face", "edges", "plated"], rows),
      significant.length > 0 && results.pairs(significant.map((part) => [`significant surface${parts.length > 1 ? `, part ${part.id}` : ""}`, results.text(part.significant_area)])),
      questions(now.result.questions, decide), answered(now.answers, decide),
      results.notes(flags.filter((flag) => !results.NAMES_A_PLACE.has(flag.code) || !now.result.questions?.length)),
      h("details", {}, h("summary", {}, "Where the area and its ± come from"),
        parts.length > 1 && h("p", { class: "small" }, `Of part ${one.id}:`),
        results.table(["surface", "area"], lines.map((line) => h("tr", {}, h("td", {}, line.name), h("td", {}, results.text(line.area))))),
        h("p", { class: "small" }, "Share of each input in the ±:"), results.budget(one.plated_area),
        h("p", { class: "small" }, "± is the expanded uncertainty, coverage factor 2 (about 95 %).")));
  };
}
