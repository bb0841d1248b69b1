// What the page knows, and who wants to hear of a change.
const listeners = new Set();
export const state = {
  photos: [], current: -1, chosen: null, words: null, processes: [], requirements: [], copies: [], limits: { photo_bytes: Infinity },
  sheet: { mark: "auto", check_lengths: "", sheet_copy: "", length: "" }, shop: { name: null, names: [], values: {} }, currency: "", plan: null, planDue: false, planned: null, quote: null, job: null,
};
export const onChange = (listener) => listeners.add(listener);
export const changed = (what) => { for (const one of listeners) one(what); };
export const photo = () => state.photos[state.current] || null;
/** Where the scale of the current photo comes from; without a photo, what the next one begins with. */
export const sheet = () => photo()?.sheet || state.sheet;
/** Set it for the current photo and for those to come; photos that are there keep theirs. */
export function setSheet(entries) { Object.assign(state.sheet, entries); if (photo()) Object.assign(photo().sheet, entries); }
/** Once the plan that is being made is there, or was refused: nothing is kept without it. */
export async function planSettled() { while (state.planDue) await new Promise((done) => setTimeout(done, 50)); }
/** The parts that count now: the chosen one, or all. */
export function chosenParts() {
  const now = photo();
  if (!now || !now.result) return [];
  const all = now.result.parts;
  return state.chosen === null || !all[state.chosen] ? all : [all[state.chosen]];
}
