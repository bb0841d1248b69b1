// Step 2: the part, what of it is plated, and where its number comes from.
import { areasFold } from "./drawing.js";
import { choice, field, h, put, s } from "./dom.js";
import * as results from "./results.js";
import * as said from "./said.js";
import { sideField } from "./side.js";
import { photo, state } from "./state.js";
import { bare, isUs, unitOf } from "./units.js";
import { unitField } from "./unitfield.js";

const SHAPES = {
  front: "8,11 33,3 52,10 27,18", wall: "8,12.5 27,19.5 52,11.5 52,18 27,26 8,19", back: "8,23 27,30 52,22 52,26 27,34 8,27",
};
const ON = { one: ["front"], both: ["front", "back"], all: ["front", "wall", "back"], walls: ["wall"], "front-and-edges": ["front", "wall"], front: ["front"], back: ["back"] };

const icon = (key) => s("svg", { viewBox: "0 0 60 38", "aria-hidden": "true" }, Object.entries(SHAPES).map(([name, points]) => s("polygon", { points, class: ON[key].includes(name) ? "on" : "off" })));

const titleOf = (make) => state.words?.edge_makes.find((one) => one.key === make)?.title || make;

const says = (word) => `It is ${word.charAt(0).toLowerCase()}${word.slice(1)}`;

/** Doubtful regions: a person can see what the photo leaves open. */
function questions(list, decide) {
  if (!list?.length) return null;
  return h("ul", { class: "notes" }, list.map((one, i) => h("li", {}, h("b", {}, `Question ${i + 1}, part ${one.part}: `), `${results.asked(one).text} (marked ? in the picture) `,
    h("span", { class: "answers" }, Object.entries(results.asked(one).answers).map(([kind, words]) => h("button", { type: "button", onclick: () => decide(one.at, kind) }, says(words)))))));
}

/** What a form leaves open, and a person sees: wire or a flat strip, dull or polished. */
function formsAsked(flags, formOf, say) {
  if (!flags.length) return null;
  const answers = ({ code, part }) => (code === "FINISH_ASKED" ? [[`${formOf(part)}, dull`, "It is dull"], [`${formOf(part)}, polished`, "It is polished"]] : [["round", "It is wire or rod"], ["flat", "It is flat"]]);
  return h("ul", { class: "notes" }, flags.map((flag) => h("li", {}, h("b", {}, `Part ${flag.part}: `), flag.message, " ",
    h("span", { class: "answers" }, answers(flag).map(([form, words]) => h("button", { type: "button", onclick: () => say(flag.part, form) }, words))))));
}

/** What was said by hand already, and can be taken back. */
function answered(answers, decide) {
  const said = Object.entries({ hole: "a hole", metal: "metal", stop_off: "stopped off" }).flatMap(([kind, words]) => answers[kind].map((at) => [at, words]));
  if (!said.length) return null;
  return h("ul", { class: "notes" }, said.map(([at, words]) => h("li", { class: "note" }, `You said: the spot at (${at.replace(",", ", ")}) mm is ${words}. `, h("button", { type: "button", class: "link", onclick: () => decide(at, null) }, "Take back"))));
}

/** What the outline of a part was taken for, and its regions. */
const formOf = (part) => [part.form?.text || "flat", ...(part.form_regions || []).map(({ words }) => words)].join("; ");

const joined = (values, words = (value) => value) => values.map((value) => words(value) || "not said").join("; ");

export function makePartStep(step, remeasure, choose, decide) {
  let timer = 0, aimed = null, about = "", drawn = "", shownSlip = null;
  const all = () => { const now = photo(); return now || { said: pending, result: null }; };
  /** What is typed before there is a photo: the first photo takes it over. */
  const pending = said.fresh();
  const apply = () => {
    clearTimeout(timer);
    const { text } = thickness;
    if (text === said.saidOf(all(), aimed).thickness || (!text && thickness.input.placeholder.startsWith("differ"))) return;
    tell_("thickness", text);
  };
  function tell_(name, value) { said.say(all(), aimed, name, value); sync(); remeasure(); }
  const thickness = unitField("Thickness", "length", { examples: { mm: "1.2", in: "0.047" }, id: "thickness", sign: "±", onchange: apply, oninput: () => { clearTimeout(timer); timer = setTimeout(apply, 900); } }, "with ±, what it may be off, if you know");
  const stock = h("div", { class: "chips", role: "group", "aria-label": "Thickness by stock" });
  const form = choice([["", "flat"]], "", { id: "form", onchange: formed }), figures = h("input", { autocomplete: "off", id: "form-figures", onchange: formed }), figuresField = field("Its figures", figures, "what the form has beside its outline; write mm");
  const radios = Object.keys(ON).filter((key) => said.FACES[key]).map((key) => h("input", { type: "radio", name: "faces", value: key, onchange: () => tell_("faces", key) }));
  const faces = h("fieldset", {}, h("legend", {}, "What is plated"), h("div", { class: "faces" }, radios.map((radio) => h("label", {}, radio, icon(radio.value), said.FACES[radio.value]))));
  const make = choice([["unknown", "not said"]], "unknown", { id: "edge-make", onchange: () => tell_("edge_make", make.value) });
  const edge = choice([["sharp", "sharp"], ["rounded", "rounded"], ["unknown", "not known"]], "sharp", { id: "edge-form", onchange: rounded });
  const radius = unitField("Radius of the rounding", "length", { examples: { mm: "0.5", in: "0.02" }, id: "edge-radius", onchange: rounded }, "the same on both faces");
  const edges = h("details", { id: "edge-fold" }, h("summary", {}, "Its edge: how it was made, rounded or not"), h("div", { class: "form" }, field("How its edge was made", make, "burr and rounding, which no photo shows"), field("Form of its edge", edge, "rounded edges need the thickness"), radius.element));
  const side = sideField(remeasure);
  const hint = h("p", { class: "small" }), whose = h("p", { class: "whose", id: "whose" }), more = h("details", {}, h("summary", {}, "Not flat? Its form"), h("div", { class: "form" }, field("Form", form), figuresField, side.element));
  const list = h("div", {}), wrong = h("div", {}), surfaces = areasFold();
  step.body.append(whose, h("div", { class: "form" }, thickness.element, stock), wrong, h("div", { class: "form" }, h("div", { class: "wide" }, faces, hint)), more, edges, list, surfaces.box);

  function rounded() {
    radius.element.hidden = edge.value !== "rounded";
    if (edge.value !== "rounded" || radius.text) tell_("edge_form", edge.value === "rounded" ? `rounded ${radius.text}` : edge.value);
  }
  function formed() {
    const written = form.value ? [form.value, figures.value.trim()].filter(Boolean).join(", ") : "flat";
    figuresField.hidden = !form.value;
    if (written !== (said.saidOf(all(), aimed).form || "flat")) tell_("form", written);
  }
  /** Show what holds for the part that entries are about; entries of another part never stay in the fields. */
  function sync() {
    const one = all(), count = one.result?.parts.length || 0, fresh = said.aim(one), holds = said.saidOf(one, fresh), moved = about !== `${one.id} ${fresh}`;
    aimed = fresh; about = `${one.id} ${fresh}`;
    whose.hidden = count < 2;
    whose.textContent = fresh === null ? `Said here for all ${count} parts. Choose one in the picture to say it of that part alone.` : `Said here for part ${fresh + 1} alone.`;
    thickness.input.disabled = Boolean(said.formNamed(holds.form)?.at_axis);
    const several = fresh === null ? said.spreadOf(one, "thickness") : [holds.thickness], differ = several.length > 1;
    if (moved || document.activeElement !== thickness.input) {
      if (moved || (withUnitOf(thickness) !== holds.thickness && !differ)) thickness.input.value = differ ? "" : shownAs(holds.thickness);
      thickness.input.placeholder = differ ? `differ: ${joined(several)}` : thickness.input.disabled ? "by its form" : thickness.example();
    }
    side.show(holds.form);
    if (moved) { const [kind, ...rest] = said.isShaped(holds.form) ? holds.form.split(", ") : [""]; form.value = kind; figures.value = rest.join(", "); figuresField.hidden = !kind; if (kind) more.open = true; }
    make.value = holds.edge_make; edge.disabled = !holds.thickness || said.isShaped(holds.form);
    if (moved || edge.disabled) { const [kind, ...rest] = holds.edge_form.split(" "); edge.value = kind; radius.input.value = shownAs(rest.join(" ")); radius.element.hidden = kind !== "rounded"; }
    const known = Boolean(holds.thickness || said.isShaped(holds.form)) || differ, agreed = fresh === null ? said.spreadOf(one, "faces") : [holds.faces];
    for (const radio of radios) { radio.disabled = !known && said.WALLS.has(radio.value); radio.checked = agreed.length === 1 && agreed[0] === radio.value; }
    hint.textContent = agreed.length > 1 ? `The parts differ: ${joined(agreed, (key) => said.FACES[key] || key)}.` : known ? "" : "Edges need the thickness.";
    const example = form.value && state.words?.forms.find((one) => one.key === form.value)?.figures;
    figures.placeholder = example || "";
  }
  /** A bare number of millimetres is shown as it was typed. */
  const shownAs = (text) => (isUs() ? text : text.replace(/ mm$/, ""));
  const withUnitOf = (one) => one.text;
  function showStock() {
    const rows = Object.entries(state.shop.values?.stock || {});
    put(stock, rows.map(([name, value]) => h("button", { type: "button", class: "chip", "data-stock": name, onclick: () => { thickness.input.value = shownAs(value); apply(); } }, `${name}: ${value}`)));
    stock.hidden = !rows.length;
  }
  const line = (parts, one) => {
    const holds = said.saidOf(one, said.aim(one));
    return `${parts.length > 1 ? `${parts.length} parts, ` : ""}${joined(said.spreadOf(one, "thickness"), (text) => text && shownAs(text))}${!isUs() && holds.thickness ? " mm" : ""}, ${joined(said.spreadOf(one, "faces"), (key) => said.FACES[key] || key)}`;
  };

  sync();
  return (what) => {
    if (what === "choices") { put(form, h("option", { value: "" }, "flat"), state.words.forms.map((one) => h("option", { value: one.key }, one.key))); showStock(); }
    if (what === "choices") put(make, state.words.edge_makes.map((one) => h("option", { value: one.key }, one.title)));
    if (what === "shop") { showStock(); if (photo()) remeasure(); }
    if (what === "photo" && photo() && Object.values(pending.all).some(Boolean)) { Object.assign(photo().said.all, pending.all); Object.assign(pending.all, said.fresh().all); remeasure(); }
    if (what === "photo" && photo() && !Object.keys(photo().plans).length) step.suggest(true); // the job before folded it
    sync();
    const now = photo(), parts = now?.result?.parts || [], slip = now?.status === "refused" && parts.length > 0 ? now.error : null;
    /** What is typed here and gives no number is said where it was typed too, as long as it stands. */
    if (slip !== shownSlip) { shownSlip = slip; put(wrong, slip && results.said(slip)); }
    thickness.input.toggleAttribute("aria-invalid", false);
    if (slip && "thickness" in (slip.fields || {})) thickness.input.setAttribute("aria-invalid", "true");
    step.set(parts.length ? "done" : "live");
    step.line(parts.length ? line(parts, now) : "thickness, and what is plated");
    surfaces.box.hidden = !parts.length;
    if (!parts.length) { put(list); drawn = ""; return; }
    /** What did not change is left alone: a press that is under way would miss a button that was laid out anew. */
    const look = JSON.stringify([isUs(), state.chosen, now.answers, now.result.questions, now.dropped, now.result.notes, now.result.asked, parts.map((part) => [part.id, part.corrected, part.regions, part.form, part.form_regions, part.faces, part.plated_area, part.side_wall_area, part.surfaces])]);
    if (look === drawn) return;
    drawn = look;
    surfaces.draw();
    const rows = parts.map((part, i) => h("tr", { class: state.chosen === i ? "chosen" : "" },
      h("td", {}, h("button", { type: "button", "aria-pressed": String(state.chosen === i), onclick: () => choose(state.chosen === i ? null : i) }, `Part ${part.id}`), h("div", { class: "small" }, formOf(part)), (part.corrected || part.regions) && h("div", { class: "small" }, part.corrected ? "by hand" : "with drawn regions")),
      h("td", {}, bare(part.face_area)), h("td", {}, bare(part.side_wall_area)), h("td", {}, bare(part.plated_area))));
    const placeOf = (part) => (parts.length > 1 ? parts.findIndex(({ id }) => id === part) : null);
    const one = parts[state.chosen ?? 0], significant = parts.filter((part) => part.significant_area);
    const lines = one.surfaces.filter((line) => line.plated);
    put(list, h("div", { class: "parts" }, results.table([unitOf("mm2"), "one face", "edges", "plated"], rows)),
      significant.length > 0 && results.pairs(significant.map((part) => [`significant surface${parts.length > 1 ? `, part ${part.id}` : ""}`, results.text(part.significant_area)])),
      formsAsked(now.result.asked || [], (part) => said.saidOf(now, placeOf(part)).form, (part, written) => { said.say(now, placeOf(part), "form", written); about = ""; sync(); remeasure(); }),
      questions(now.result.questions, decide), answered(now.answers, decide),
      results.notes([...(now.dropped || []), ...(now.result.notes || [])]),
      h("details", {}, h("summary", {}, "Where the area and its ± come from"),
        parts.length > 1 && h("p", { class: "small" }, `Of part ${one.id}:`),
        results.table(["surface", "area"], lines.map((line) => h("tr", {}, h("td", {}, line.name), h("td", {}, results.text(line.area))))),
        one.edge_make && h("p", { class: "small" }, `Edge: ${titleOf(one.edge_make)}, ${one.edge_form === "unknown" ? "its form not known" : one.edge_form}.`),
        h("p", { class: "small" }, "Share of each input in the ±:"), results.budget(one.plated_area),
        h("p", { class: "small" }, "± is the expanded uncertainty, coverage factor 2 (about 95 %).")));
  };
}
