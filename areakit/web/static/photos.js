// The photos: each is measured in turn, keeps its number, what is said of its parts, its answers and its corrections.
// A number once had stays in view until there is a new one, marked as what it is.
import * as api from "./api.js";
import * as draft from "./draft.js";
import { tell } from "./dom.js";
import * as picture from "./picture.js";
import { without } from "./results.js";
import * as said from "./said.js";
import { changed, chosenParts, photo, state } from "./state.js";
import { text, total } from "./units.js";

const BIG_BYTES = 14e6, BIG_PIXELS = 26e6, PREVIEW_PX = 3600;
/** Formats that many browsers do not show: their picture comes with the measurement, so that they are decoded once. */
const ODD = /\.(heic|heif|tiff?)$/i;
const NEEDS_TAPS = { code: "TAPS", message: "This photo has no tapped length yet.", remedy: "Type the length in step 1, then tap both of its ends on the photo." };
const NEEDS_COINS = { code: "COINS", message: "This photo has no two coins yet.", remedy: "Name each coin in step 1, and show where it lies on the photo." };
const NEEDS_DRAFT = { code: "DRAFT", message: "The second photo could not be kept beside this one.", remedy: "Choose it again; where this server keeps no records, type the rise." };
const tooLarge = (bytes) => ({ code: "TOO_LARGE", message: `The file has ${Math.round(bytes / 1e6)} MB; ${Math.round(state.limits.photo_bytes / 1e6)} MB are taken.`, remedy: "Take the photo as JPEG or HEIC, or make it smaller." });

/** The scale mark of one photo, as the server wants it named; null where points are still missing. */
export function markOf(one) {
  const { mark, length } = one.sheet, { taps, place, coins } = one.points;
  if (mark === "coins") return coins?.length > 1 ? coins.map(({ name, at }) => `coin:${name}@${at.join(",")}`).join("; ") : null;
  if (mark === "taps" || mark === "ruler") return taps && length ? `${mark}:${taps.flat().join(",")},${length}` : null;
  return place && /^(coin|card)/.test(mark) ? `${mark}@${place.join(",")}` : mark;
}
const onSheet = (one) => ({ check_lengths: one.sheet.check_lengths, sheet_copy: one.sheet.check_lengths ? "" : one.sheet.sheet_copy, mark: markOf(one), ...one.answers });
/** The second photo of a dome, where there is one. */
const sideOf = (one) => (/^domed\b/.test(one.said.all.form) ? one.side : null);
const asked = (one) => ({ ...said.saidOf(one), part: said.ownTexts(one), ...onSheet(one), side: sideOf(one)?.kept });
/** What needs the photo: all but the faces. */
const keyOf = (one) => JSON.stringify([onSheet(one), said.seenAs(one), sideOf(one) && [one.side.name, one.side.file?.size]]);
const facesOf = (one) => one.result.parts.map((_, i) => said.saidOf(one, i).faces);
const facesDiffer = (one) => facesOf(one).some((faces, i) => faces !== one.measured.parts[i].faces);
const isDue = (one) => one.key !== keyOf(one) || (one.result?.parts.length > 0 && one.measured && facesDiffer(one));
/** Whether the number in view is not (yet) that of what is typed now. */
export const isStale = (one) => Boolean(one?.result?.parts.length) && (one.status !== "measured" || isDue(one));

/** A photo of the page; `kept` is its digest in the draft, where the server has it already. */
export const made = (file, more = {}) => ({ id: crypto.getRandomValues(new Uint32Array(2)).join("-"), file, name: file.name || "photo", url: URL.createObjectURL(file), status: "waiting", measured: null, result: null, error: null, edits: {}, plans: {}, points: {}, said: said.fresh(), sheet: { ...state.sheet }, kept: null, ...more, answers: { hole: [], metal: [], stop_off: [], ...more.answers } });

export function addFiles(files) {
  const photos = [...files].filter((file) => file.size).map((file) => made(file));
  if (!photos.length) return;
  const first = state.photos.length;
  state.photos.push(...photos);
  open(first);
}
/** Take a photo again: the new one stands in the place of the refused one, with what was said of its parts. */
export function replace(index, file) {
  const { said: before, sheet } = state.photos[index];
  state.photos[index] = made(file, { said: { ...said.fresh(), all: before.all }, sheet });
  open(index);
}
export function open(index, chosen = null) {
  state.current = index; state.chosen = chosen;
  const now = photo();
  if (now && isDue(now) && now.status !== "measuring") now.status = "waiting";
  changed("photo"); changed("area"); pump();
}
let pumping = false;
async function pump() {
  if (pumping) return;
  pumping = true;
  for (;;) {
    const now = photo();
    const next = now && now.status === "waiting" ? now : state.photos.find((one) => one.status === "waiting");
    if (!next) break;
    await run(next);
  }
  pumping = false;
}
async function run(one) {
  const key = keyOf(one), before = one.result?.parts.length || 0;
  one.status = "measuring";
  changed("status");
  const done = one === photo() ? picture.busy("Measuring") : () => {};
  if (!one.asked) prepare(one);
  try {
    if (one.key === key && one.measured && facesDiffer(one)) await reface(one);
    else { one.measured = await measured(one); await laidOn(one); }
    if (before && one.result.parts.length !== before) { one.edits = {}; one.said.own = {}; one.plans = {}; }
    one.error = null; one.status = "measured";
  } catch (error) {
    one.error = error; one.status = error.isGone ? "gone" : "refused";
    if (!before) { one.measured = null; one.result = error.body && error.body.image ? { ...error.body, parts: [] } : null; }
  }
  one.key = key; done();
  if (one.status !== "gone" && (key !== keyOf(one) || (one.status === "measured" && isDue(one)))) one.status = "waiting";
  if (one === photo()) { changed("area"); tell(one.error ? `${one.error.message} ${one.error.remedy}` : `Measured: ${spoken()}`); } else changed("status");
}
/** Measure the photo that the draft keeps; where there is none, send it. */
async function measured(one) {
  if (!markOf(one)) throw Object.assign(new Error(), one.sheet.mark === "coins" ? NEEDS_COINS : NEEDS_TAPS);
  if (one.file.size > state.limits.photo_bytes) throw Object.assign(new Error(), tooLarge(one.file.size));
  await draft.keepPhoto(one);
  if (sideOf(one)) await draft.keepPhoto(one.side);
  if (sideOf(one) && !one.side.kept) throw Object.assign(new Error(), NEEDS_DRAFT);
  const settings = asked(one);
  if (!one.shown && ODD.test(one.name) && !(await isShown(one.url))) settings.preview_px = String(PREVIEW_PX);
  const take = (body) => { if (body?.preview && !one.shown) one.shown = URL.createObjectURL(new Blob([Uint8Array.from(atob(body.preview), (letter) => letter.charCodeAt(0))], { type: "image/jpeg" })); delete body?.preview; return body; };
  try { return take(await api.measure(one.file, settings, draft.placeOf(one))); } catch (error) {
    take(error.body);
    if (error.code !== "NO_DRAFT") throw error;
    one.kept = null;
    return take(await api.measure(one.file, settings));
  }
}
/** Other faces are arithmetic on what was measured. */
async function reface(one) {
  const { parts } = await api.post("/api/faces", { parts: one.measured.parts, faces: facesOf(one) });
  one.measured = { ...one.measured, parts };
  await laidOn(one);
}
/** The cautions of a photo and of its parts as they stand now. */
const flagsOf = ({ flags, parts }) => [...flags.filter((flag) => !flag.part), ...parts.flatMap((part) => part.flags.map((flag) => ({ ...flag, part: part.id })))];
const asksForm = ({ code }) => code === "LOOKS_LIKE_STOCK" || code === "FINISH_ASKED";
/** Those that a press answers stand apart; the others are told as the server draws them together. */
async function noted(one) {
  const { result } = one, isFlat = (id) => !said.isShaped(said.saidOf(one, result.parts.length > 1 ? result.parts.findIndex((part) => part.id === id) : null).form);
  const asks = (flag) => asksForm(flag) && !(flag.code === "FINISH_ASKED" && isFlat(flag.part)), all = flagsOf(result);
  const rest = all.filter((flag) => !asks(flag) && !(flag.place && result.questions?.length));
  result.notes = rest.length ? (await api.post("/api/notes", { flags: rest })).notes : [];
  result.asked = all.filter(asks);
}
/** What was drawn and corrected by hand, laid on the measured parts again. */
async function laidOn(one) {
  const { measured: found } = one;
  one.result = { ...found, parts: [...found.parts], rings_px: [...found.rings_px], regions_px: (found.regions_px || []).map((list) => [...list]) };
  one.dropped = [];
  for (const [index, edit] of Object.entries(one.edits)) {
    try { await anew(one, Number(index), withSaid(one, Number(index), edit)); } catch (error) {
      if (error.isGone) throw error;
      delete one.edits[index]; one.dropped.push({ code: "CORRECTION_DROPPED", severity: "stop", message: `The correction by hand of part ${Number(index) + 1} does not fit its outline any more and was taken off: ${error.message}`, remedy: "Correct it again." });
    }
  }
  await noted(one);
}
/** Stop-offs that were said since a correction join it, and those that were taken back leave it. */
function withSaid(one, index, { rings, regions, said: known = [] }) {
  const now = one.measured.regions_px?.[index] || [];
  return { rings, regions: [...regions.filter(({ at }) => !at || one.answers.stop_off.includes(at)), ...now.filter(({ at }) => !known.includes(at))] };
}
/** A photo that the browser cannot show, or that is very large, is shown by a smaller copy from the server. */
async function prepare(one) {
  if (one.file.size > state.limits.photo_bytes || (ODD.test(one.name) && markOf(one))) return;
  one.asked = true;
  if (one.file.size < BIG_BYTES && (await isShown(one.url))) one.shown = one.url;
  else try { one.shown = URL.createObjectURL(await api.preview(one.file, PREVIEW_PX)); } catch (error) { one.asked = !error.isGone; /* the measurement says why */ }
  if (one === photo()) changed("picture");
}
const isShown = (url) => new Promise((decided) => { const probe = new Image(); probe.onload = () => decided(probe.naturalWidth * probe.naturalHeight < BIG_PIXELS); probe.onerror = () => decided(false); probe.src = url; });
/** Compute again if what was asked has changed. What is under way is left to end; then what is set now is next. */
export function remeasure() {
  const now = photo();
  if (!now) { changed("status"); return; }
  if (!isDue(now) && now.status === "measured") { changed("area"); return; }
  if (now.status !== "measuring") now.status = "waiting";
  changed("status"); draft.save(); pump();
}
/** After the server was gone: whatever it did not answer is asked again. */
export function again() {
  for (const one of state.photos) if (one.status === "gone") one.status = "waiting";
  changed("status"); pump();
}
const spoken = () => { const parts = chosenParts(); return parts.length ? text(total(parts.map((part) => part.plated_area))) + (state.chosen === null ? without(photo()?.result) : "") : "no area"; };

/** Compute a part anew with a corrected outline and the regions drawn over it. */
export async function correct(one, index, edit) { await anew(one, index, edit); await noted(one); }
async function anew(one, index, { rings, regions }) {
  const { measured: found } = one;
  const drawn = regions.map(({ kind, sides, words, ring }) => ({ kind, sides, words, ring_px: ring }));
  const part = await api.post("/api/surface", { part: found.parts[index], before_px: found.rings_px[index], rings_px: rings, regions: drawn, camera: found.camera });
  if (one.measured !== found) return;
  const copy = (ring) => ring.map((point) => [...point]);
  one.result.parts[index] = part; one.result.rings_px[index] = rings.map(copy);
  one.result.regions_px[index] = regions.map((region) => ({ ...region, ring: copy(region.ring) }));
  one.edits[index] = { rings: one.result.rings_px[index], regions: one.result.regions_px[index], said: [...one.answers.stop_off] };
  draft.save();
}

/** One photo as the command line prints it, with corrected parts and their cautions, to be kept with a job. */
export function documentOf(one) {
  const { photo: name, status, scale, parts } = one.result;
  return { photo: name, status, flags: flagsOf(one.result), scale, parts };
}
