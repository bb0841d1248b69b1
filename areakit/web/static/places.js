// Where this page asks for what an error or a note is about: the key of a field to the name that it has here.
import { h } from "./dom.js";

const STEP = { scale: "step 1", part: "step 2", plan: "step 3" };
const TYPED = {
  thickness: `“Thickness” in ${STEP.part}`, form: `“Form” in ${STEP.part}`, check_lengths: `“Check lengths” in ${STEP.scale}`,
  layer: `“Thickness” in ${STEP.plan}`, efficiency: `“Efficiency from” in ${STEP.plan}`, footprint: `“Brush footprint” in ${STEP.plan}`, current_density: `“Current density” in ${STEP.plan}`,
  hand_speed: "“Hand speed” under “Path of the brush”", wagner: `“Wagner number” in ${STEP.plan}`, metal_price: "“Price of the metal”", price_date: "“Day of the prices”", value: "“Thickness found”", current: "“Current now”",
};
const PRESSED = {
  faces: `“What is plated” in ${STEP.part}`, edge_form: `“Form of its edge” in ${STEP.part}`, mark: `“Scale mark” in ${STEP.scale}`, mark_at: `“Show where it lies” in ${STEP.scale}`,
  hole: "the question beside the picture", metal: "the question beside the picture", part: `the table in ${STEP.part}`, part_number: `the table in ${STEP.part}`, process: `“Process” in ${STEP.plan}`, factor: `“Efficiency from” in ${STEP.plan}`,
  pieces: `“Pieces” in ${STEP.plan}`, pieces_per_load: `“Parts on a rack” in ${STEP.plan}`, overlap: "“Path of the brush”", overrun: "“Path of the brush”", even_chance: "“Even chance”", base: `“Base metal” in ${STEP.plan}`,
  despite: "“Why go on all the same”", role: "“Role”", who: "“Your name”", stop: "“Record: switched off”", step: "“Step of the plan”",
  "areakit sheet": "“No sheet yet? Print one”", "areakit sheet-check": `“Check lengths” in ${STEP.scale}`, "areakit rates": "“Invented, to try out”", "areakit shop": `“Shop profile” in ${STEP.plan}`,
};

/** What to do next, and where on this page; what is done elsewhere has no place here, and paper has none of it. */
export function todo({ remedy, fields = {} }) {
  const named = Object.entries(fields).map(([key, example]) => {
    const [name, of] = key.startsWith("areakit ") ? [key] : key.split(".");
    return PRESSED[name] || (TYPED[name] && `${TYPED[name]}${of ? ` for ${of}` : ""}${example ? `, such as ${example}` : ""}`);
  });
  const places = [...new Set(named.filter(Boolean))];
  return [remedy, places.length > 0 && h("span", { class: "where" }, ` See ${places.join("; ")}.`)];
}
