// From the server's unit codes to what people read, in metric or US units. Rounding as the command line does it:
// two digits of the expanded uncertainty (JCGM 100, 7.2.6).
const TABLE = {
  metric: { mm2: ["cm²", 0.01], mm: ["mm", 1], um: ["µm", 1] },
  us: { mm2: ["in²", 1 / 645.16], mm: ["in", 1 / 25.4], um: ["µin", 1000 / 25.4], "A/dm2": ["A/ft²", 9.290304], "m/min": ["ft/min", 1 / 0.3048] },
};
const PRETTY = { "A.min": "A·min", "A/dm2": "A/dm²", "g/cm3": "g/cm³", "A.h/in3": "A·h/in³", "1": "", "1/min": "/min", mm2: "mm²" };
/** What a bare number in a field of each kind is taken for: code and how it is shown. */
const TYPED = {
  metric: { length: ["mm", "mm"], layer: ["um", "µm"], area: ["cm2", "cm²"], density: ["A/dm2", "A/dm²"], speed: ["m/min", "m/min"] },
  us: { length: ["in", "in"], layer: ["uin", "µin"], area: ["in2", "in²"], density: ["A/ft2", "A/ft²"], speed: ["ft/min", "ft/min"], temperature: ["°F", "°F"] },
  both: { number: ["", ""], time: ["min", "min"], factor: ["A.h/in3", "A·h/in³"], current: ["A", "A"], voltage: ["V", "V"], mass: ["g", "g"], deposit: ["mg", "mg"], charge: ["A.min", "A·min"], share: ["%", "%"], temperature: ["°C", "°C"], volume: ["mL", "mL"] },
};
let system = "metric";

export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
export const setSystem = (name) => { system = name; };
export const isUs = () => system === "us";
/** Code and sign of the unit that a bare number of this kind has now. */
export const typedUnit = (kind) => TYPED[system][kind] || TYPED.both[kind];
/** Whether a typed text names no unit; an x stands between two lengths. */
export const isBare = (text) => /\d/.test(text) && !/[a-wyzµ²"'°%]/i.test(text);
/** The text with its unit, so that it means the same to everybody. */
export const withUnit = (text, kind) => (isBare(text) ? `${text.trim()} ${typedUnit(kind)[0]}` : text).trim();

const NUMBER = /^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?)\s*(.*?)\s*$/s, TWO_WAYS = /^[+-]?[1-9]\d{0,2},\d{3}$/;
let spellings = {};
/** The server's table of spellings, kind by kind: what is typed means the same on both sides. */
export const setSpellings = (table) => { spellings = table; };
const folded = (unit) => unit.replace(/[µμ]/g, "u").replace(/²/g, "2").replace(/³/g, "3").replace(/\^|\*\*/g, "").replace(/[·⋅*]/g, ".").replace(/\s*([./-])\s*/g, "$1").replace(/\s+/g, " ");
/** The SI value of one number and one unit, read while the server may be away; NaN where the server would refuse it. */
export function number(text, kind) {
  const table = spellings[kind] || {}, factor = (unit) => table[folded(unit)] ?? table[folded(unit).toLowerCase()] ?? NaN;
  const pieces = text.split(/±|\+\/-|\+-/).map((piece) => NUMBER.exec(piece) || [null, "", ""]), [[, digits, unit], [, , last]] = [pieces[0], pieces.at(-1)];
  if (pieces.length > 2 || !digits || TWO_WAYS.test(digits) || Number.isNaN(factor(last))) return NaN;
  return Number(digits.replace(",", ".")) * factor(unit || last);
}

/** Value, spread and unit as text. */
export function parts(quantity) {
  const [unit, factor] = TABLE[system][quantity.unit] || [PRETTY[quantity.unit] ?? quantity.unit.replace(/\./g, "·"), 1];
  const value = quantity.value * factor;
  const spread = Math.abs(quantity.expanded_uncertainty * factor);
  if (!(spread > 0)) return { value: trimmed(value), spread: "", unit };
  const decimals = Math.min(9, 1 - Math.floor(Math.log10(spread)));
  if (decimals < 0) return { value: tens(value, -decimals), spread: tens(spread, -decimals), unit };
  return { value: value.toFixed(decimals), spread: spread.toFixed(decimals), unit };
}

const tens = (value, places) => String(Math.round(value / 10 ** places) * 10 ** places);
const trimmed = (value) => String(Number(value.toPrecision(6)));
export function text(quantity) {
  if (!quantity) return "–";
  const { value, spread, unit } = parts(quantity);
  return `${value}${spread && ` ±\u00a0${spread}`} ${unit}`.trim();
}

/** Value and spread without the unit, for a column whose head names it. */
export function bare(quantity) {
  if (!quantity) return "–";
  const { value, spread } = parts(quantity);
  return `${value}${spread && ` ±\u00a0${spread}`}`;
}
export const unitOf = (code) => parts({ value: 0, unit: code, expanded_uncertainty: 0 }).unit;

/** The sum of quantities, correlated through budget names they share, as the server adds areas. */
export function total(quantities) {
  const budget = {};
  for (const one of quantities) for (const [name, share] of Object.entries(one.budget)) budget[name] = (budget[name] || 0) + share;
  const standard = Math.hypot(...Object.values(budget), 0);
  const factor = quantities.length ? quantities[0].coverage_factor : 2;
  return {
    value: quantities.reduce((sum, one) => sum + one.value, 0), unit: quantities.length ? quantities[0].unit : "mm2", budget,
    standard_uncertainty: standard, expanded_uncertainty: factor * standard, coverage_factor: factor,
  };
}

// Settings for the bench, as the card has them: the unit that fits, and no digit that the ± wipes out.
const SECONDS = { s: 1, min: 60, h: 3600 };
function fitting({ value, unit }) {
  if (SECONDS[unit]) { const seconds = value * SECONDS[unit]; return seconds >= 10_800 ? "h" : seconds >= 60 ? "min" : "s"; }
  if (unit === "A" && Math.abs(value) < 0.1) return "mA";
  return unit;
}
/** The place of the last digit shown: the first of the ±; at least two digits stay, never more than four, three of an exact number. */
export function lastPlace(value, spread) {
  const size = Math.floor(Math.log10(Math.abs(value))), last = spread > 0 ? Math.floor(Math.log10(spread)) : size - 2;
  return Math.min(Math.max(last, size - 3), size - 1);
}
/** A number down to that place. */
export function rounded(value, spread) {
  if (!value) return "0";
  const decimals = -lastPlace(value, spread), shown = (Math.round(value * 10 ** decimals) / 10 ** decimals).toFixed(Math.max(decimals, 0));
  return spread > 0 || !shown.includes(".") ? shown : shown.replace(/\.?0+$/, "");
}
/** What to set or read, without its ±. */
export function setting(quantity) {
  const unit = fitting(quantity), factor = SECONDS[quantity.unit] ? SECONDS[quantity.unit] / SECONDS[unit] : unit === "mA" ? 1000 : 1;
  return `${rounded(quantity.value * factor, quantity.expanded_uncertainty * factor)} ${PRETTY[unit] ?? unit}`.trim();
}
