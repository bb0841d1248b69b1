// How a plan is shown: charge to run, what it reaches, the spread, the steps, the cautions.
import { h } from "./dom.js";
import * as results from "./results.js";
import { layerLine } from "./strip.js";
import { capital, setting } from "./units.js";

/** Notes that stand in view, since they doubt what was typed, or say why amperes and minutes are missing or so open. */
const PLAIN = new Set(["LAYER_VERY_THICK", "CURRENT_NOT_PLANNED", "BRUSH_EFFICIENCY_SPAN"]);

/** What a caution is about; the general one, that data sheets and codes go first, is said in full beside them. */
const named = (cautions) => cautions.map((one) => one.key).filter((key) => key !== "general");

/** A plan; `notes` are its flags as they are told. */
export function shown(plan, notes) {
  const serious = plan.findings.map((one) => ({ ...one, message: one.message, remedy: `${one.why} ${one.remedy}` }));
  const order = { stop: 0, check: 1, note: 2 };
  serious.sort((a, b) => order[a.severity] - order[b.severity]);
  return [
    results.notes([...serious.filter((one) => one.severity !== "note"), ...notes.filter((one) => PLAIN.has(one.code))]),
    plan.pieces > 1 && h("p", {}, `${plan.pieces} pieces of ${results.text(plan.area.per_piece)}; ${plan.process.method === "brush" ? "charge, minutes and passes are those of each" : "the charge is that of each, current and minutes are those of a load"}.`),
    plan.layers.map((layer) => layerShown(layer)),
    spreadShown(plan.distribution),
    h("details", {}, h("summary", {}, `Steps at the bench (${plan.steps.length})`), h("ol", {}, plan.steps.map(stepShown))),
    h("details", {}, h("summary", {}, "Notes and working figures"), results.notes([...serious.filter((one) => one.severity === "note"), ...notes.filter((one) => !PLAIN.has(one.code))])),
    results.cautions(plan.cautions.map((one) => one.text), { keys: named(plan.cautions) }),
  ];
}

/** First what is set and how long it takes; then, folded, what it rests on and what it reaches. */
function layerShown(layer) {
  const run = layer.brush || layer.tank, used = layer.consumption, volts = layer.by_volts;
  const share = (quantity) => results.text({ ...quantity, unit: "%", value: 100 * quantity.value, expanded_uncertainty: 100 * quantity.expanded_uncertainty });
  return h("div", { class: "layer" }, h("h3", {}, capital(layer.metal)), h("p", { class: "big" }, layerLine(layer, "")),
    results.pairs([
      ["charge to run", results.text(layer.charge_set.value === layer.charge.value ? layer.charge : layer.charge_set)],
      volts && ["passes", String(volts.passes_set)], layer.brush?.peak_current && ["peak current", setting(layer.brush.peak_current)], layer.brush && !volts && ["passes", results.text(layer.brush.passes)],
      ...(layer.tank ? layer.tank.loads_alike.map((one) => [`current, ${one.pieces} on the rack`, results.text(one.current)]) : []), layer.tank && ["loads", String(layer.tank.loads)],
      ["minimum thickness", results.text(layer.minimum_reached)],
    ]),
    h("details", {}, h("summary", {}, `More on ${layer.metal}`), results.pairs([
      layer.brush && ["mean current", results.text(layer.brush.mean_current)], run && [layer.tank ? "time of a load" : "working time", results.text(run.time)],
      ["mean thickness", results.text(layer.mean_reached)], [`${layer.metal} on one piece`, results.text(layer.mass)],
      used.volume && ["solution used up", results.text(used.volume)], used.volume_ready && ["solution to have ready", results.text(used.volume_ready)], ["efficiency", `${share(layer.efficiency.quantity)} (${layer.efficiency.origin.kind})`],
    ])));
}

function stepShown(step) {
  const volts = step.voltage ? `, ${step.voltage.map((end) => end.quantity.value).join(" to ")} V` : "";
  return h("li", {}, h("b", {}, step.title), step.conditional && " (only if needed)", `. ${capital(step.polarity)}${volts}.`, step.charge_set && ` Run ${setting(step.charge_set)} a piece.`, ` See: ${step.look_for}. Next: ${step.next_within}.`,
    named(step.cautions).length > 0 && h("span", { class: "small" }, ` Caution: ${named(step.cautions).join(", ")}.`));
}

/** How evenly the deposit will lie, where it was predicted over the outline. */
function spreadShown(spread) {
  if (!spread) return null;
  const { brush } = spread;
  return h("div", { class: "layer" }, h("h3", {}, "How evenly"), results.pairs([
    ["minimum over mean", results.text(spread.minimum_over_mean)],
    brush && ["one pass over one face", `${brush.lanes} lanes, ${results.text(brush.time_per_pass)}`], brush?.target && ["overlap for the minimum wanted", brush.target.overlap === null ? brush.target.reason : `${Math.round(100 * brush.target.overlap)} %`],
  ]), h("p", { class: "small" }, `${capital(spread.origin.text)}.`));
}
