// What is said of the parts of one photo: thickness, form and faces, of all of them and of single ones. It belongs to its
// photo and its part, so that nothing said of one changes the area of another.
import { state } from "./state.js";

/** Choices of what is plated, and what they are called. */
export const FACES = { one: "one face", both: "both faces", all: "all over", "front-and-edges": "one face and edges", walls: "edges only" };
/** What keys of the short lists are called here; another key is a word by itself. */
const CALLED = {
  "nickel-silver": "nickel silver", clad: "copper-clad laminate", stainless: "stainless steel", "nickel-phosphorus": "nickel phosphorus", sterling: "sterling silver", gold: "gold alloy", "tin-lead": "tin-lead alloy",
  eu: "European Union", us: "United States", other: "elsewhere", amperes: "amperes, with an ampere-minute meter", volts: "volts and a watch, from a coupon",
};
/** Keys as options of a list. */
export const called = (keys) => keys.map((key) => [key, CALLED[key] || key]);
export const WALLS = new Set(["all", "walls", "front-and-edges"]);
const NAMES = ["thickness", "form", "faces", "edge_make", "edge_form"];

export const fresh = () => ({ all: { thickness: "", form: "", faces: "", edge_make: "", edge_form: "" }, own: {} });
/** The part that entries are about: null for all parts of the photo. */
export const aim = (one) => (one?.result?.parts.length > 1 ? state.chosen : null);
/** A form of the list by the name that a text begins with; null for a flat part. */
export const formNamed = (text) => state.words?.forms.find(({ key }) => key === text.split(",")[0].trim()) || null;
/** Flat is what nobody said, and what somebody may say. */
export const isShaped = (form) => Boolean(form) && form !== "flat";
const raw = (one, index) => ({ ...one.said.all, ...(index === null ? {} : one.said.own[index]) });
/** What holds for a part, or for all: faces with edges need the thickness, or a form of their own; a wire has none. */
export function saidOf(one, index = null) {
  const { form, faces, edge_make, edge_form, ...more } = raw(one, index);
  const thickness = formNamed(form)?.at_axis ? "" : more.thickness, shaped = isShaped(form), known = Boolean(thickness || shaped);
  const usual = known ? state.shop.values?.usual?.faces || "" : "";
  const wanted = faces || usual || (shaped ? "all" : "one");
  const edge = { edge_make: edge_make || state.shop.values?.usual?.edge_make || "unknown", edge_form: (thickness && !shaped && edge_form) || "sharp" };
  return { thickness, form, ...edge, faces: WALLS.has(wanted) && !known ? "one" : wanted };
}
/** Say something of one part, or of all: then no part keeps another word of its own. */
export function say(one, index, name, value) {
  if (index === null) {
    one.said.all[name] = value;
    for (const own of Object.values(one.said.own)) delete own[name];
  } else (one.said.own[index] ||= {})[name] = value;
}
/** The values that the parts have, each once; one where they agree. */
export const spreadOf = (one, name) => [...new Set((one.result?.parts.length ? one.result.parts : [0]).map((_, i) => saidOf(one, i)[name]))];

/** What the server is told of single parts: `2: thickness 0.3 mm; faces all`. */
export function ownTexts(one) {
  const all = saidOf(one), told = [];
  for (const index of Object.keys(one.said.own).map(Number).sort((a, b) => a - b)) {
    const own = saidOf(one, index);
    if (NAMES.every((name) => own[name] === all[name])) continue;
    told.push(`${index + 1}: ${NAMES.filter((name) => own[name]).map((name) => `${name.replace("_", "-")} ${own[name]}`).join("; ")}`);
  }
  return told;
}
/** The same without the faces, which are arithmetic and need no photo. */
export const seenAs = (one) => JSON.stringify([one.said.all.thickness, one.said.all.form, saidOf(one).edge_make, saidOf(one).edge_form, Object.entries(one.said.own).map(([index, own]) => [index, own.thickness ?? null, own.form ?? null, own.edge_make ?? null, own.edge_form ?? null]).filter(([, ...own]) => own.some((value) => value !== null))]);
