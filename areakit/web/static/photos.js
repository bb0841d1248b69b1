// The photos: each is measured in turn, keeps its number, its answers, its points and its corrections.
import * as api from "./api.js";
import { tell } from "./dom.js";
import * as picture from "./picture.js";
import { changed, chosenParts, photo, state } from "./state.js";
import { text, total } from "./units.js";

const BIG_BYTES = 14e6, BIG_PIXELS = 26e6, PREVIEW_PX = 3600;
const NEEDS_TAPS = { code: "TAPS", message: "This photo has no tapped length yet.", remedy: "Type the length in step 1, then tap both of its ends on the photo." };
const tooLarge = (bytes) => ({ code: "TOO_LARGE", message: `The file has ${Math.round(bytes / 1e6)} MB; ${Math.round(state.limits.photo_bytes / 1e6)} MB are taken.`, remedy: "Take the photo as JPEG or HEIC, or make it smaller." });

/** The scale mark of one photo, as the server wants it named; null where points are still missing. */
export function markOf(one) {
  const { mark } = state.settings, { taps, place } = one.points;
  if (mark === "taps" || mark === "rule") return taps && state.length ? `${mark}:${taps.flat().join(",")},${state.length}` : null;
  return place && /^(coin|card)/.test(mark) ? `${mark}@${place.join(",")}` : mark;
}
const asked = (one) => {
  const { thickness, faces, check_lengths, print } = state.settings;
  return { thickness, faces, check_lengths, print: check_lengths ? "" : print, mark: markOf(one), ...one.answers };
};
export const keyOf = (one = photo()) => one && JSON.stringify(asked(one));

export function addFiles(files) {
  const photos = [...files].filter((file) => file.size);
  if (!photos.length) return;
  const first = state.photos.length;
  for (const file of photos) state.photos.push({ file, name: file.name || "photo", url: URL.createObjectURL(file), status: "waiting", measured: null, result: null, error: null, edits: {}, answers: { hole: [], metal: [] }, points: {} });
  open(first);
}
export function open(index) {
  state.current = index; state.chosen = null;
  const now = photo();
  if (now && now.key !== keyOf(now) && now.status !== "measuring") now.status = "waiting";
  changed("area"); pump();
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
  const key = keyOf(one), settings = asked(one);
  one.status = "measuring";
  changed("status");
  const done = one === photo() ? picture.busy("Measuring") : () => {};
  if (!one.asked) prepare(one);
  try {
    if (!settings.mark) throw Object.assign(new Error(), NEEDS_TAPS);
    if (one.file.size > state.limits.photo_bytes) throw Object.assign(new Error(), tooLarge(one.file.size));
    one.measured = await api.measure(one.file, settings);
    one.error = null; one.status = "measured";
    one.result = { ...one.measured, parts: [...one.measured.parts], rings_px: [...one.measured.rings_px], regions_px: [] };
    for (const [index, edit] of Object.entries(one.edits)) await correct(one, Number(index), edit).catch(() => { delete one.edits[index]; });
  } catch (error) {
    one.error = error; one.status = error.isGone ? "gone" : "refused"; one.measured = null;
    one.result = error.body && error.body.image ? { ...error.body, parts: [] } : null;
  }
  one.key = key; done();
  if (one === photo() && one.key !== keyOf(one)) one.status = "waiting";
  if (one === photo()) { changed("area"); tell(one.error ? `${one.error.message} ${one.error.remedy}` : `Measured: ${spoken()}`); } else changed("status");
}
/** A photo that the browser cannot show, or that is very large, is shown by a smaller copy from the server. */
async function prepare(one) {
  one.asked = true;
  if (one.file.size > state.limits.photo_bytes) return;
  if (one.file.size < BIG_BYTES && (await isShown(one.url))) one.shown = one.url;
  else try { one.shown = URL.createObjectURL(await api.preview(one.file, PREVIEW_PX)); } catch (error) { one.asked = !error.isGone; /* the measurement says why */ }
  if (one === photo()) changed("picture");
}
const isShown = (url) => new Promise((decided) => { const probe = new Image(); probe.onload = () => decided(probe.naturalWidth * probe.naturalHeight < BIG_PIXELS); probe.onerror = () => decided(false); probe.src = url; });
/** Measure again if what was asked has changed. A measurement under way is left to end; then what is set now is next. */
export function remeasure() {
  const now = photo();
  if (!now) { changed("status"); return; }
  if (now.key === keyOf(now)) { changed("area"); return; }
  if (now.status !== "measuring") now.status = "waiting";
  changed("status"); pump();
}
/** After the server was gone: whatever it did not answer is asked again. */
export function again() {
  for (const one of state.photos) if (one.status === "gone") one.status = "waiting";
  changed("status"); pump();
}
const spoken = () => { const parts = chosenParts(); return parts.length ? text(total(parts.map((part) => part.plated_area))) : "no area"; };

/** Compute a part anew with a corrected outline and the regions drawn over it. */
export async function correct(one, index, { rings, regions }) {
  const { measured } = one;
  const drawn = regions.map(({ kind, sides, ring }) => ({ kind, sides, ring_px: ring }));
  const part = await api.post("/api/surface", { part: measured.parts[index], before_px: measured.rings_px[index], rings_px: rings, regions: drawn, camera: measured.camera });
  if (one.measured !== measured) return;
  const copy = (ring) => ring.map((point) => [...point]);
  one.result.parts[index] = part; one.result.rings_px[index] = rings.map(copy);
  one.result.regions_px[index] = regions.map((region) => ({ ...region, ring: copy(region.ring) }));
  one.edits[index] = { rings: one.result.rings_px[index], regions: one.result.regions_px[index] };
}

/** One photo as the command line prints it, with corrected parts and their cautions, to be kept with a job. */
export function documentOf(one) {
  const { photo: name, status, scale, parts, flags } = one.result;
  const ofParts = parts.flatMap((part) => part.flags.map((flag) => ({ ...flag, part: part.id })));
  return { photo: name, status, flags: [...flags.filter((flag) => !flag.part), ...ofParts], scale, parts };
}
