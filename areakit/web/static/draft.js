// The draft: what this page holds before a job does, kept on the server, so that a reload, or a phone that slept, loses
// nothing. Each tab has a draft of its own; a new tab may go on with the last one.
import * as api from "./api.js";
import { changed, onChange, state } from "./state.js";

const NAME = "areakit.draft", LATER_MS = 400;
const fresh = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
let name = sessionStorage.getItem(NAME), timer = 0, holders = {}, off = false, kept = "";

/** Let a step keep entries of its own: `give()` returns them, `take(entries)` puts them back. */
export const hold = (key, give, take) => { holders[key] = { give, take }; };
/** Keep what is typed into a field with the draft, under a name of its own. */
export function field(key, input) {
  input.dataset.keep = key;
  if (typed[key] !== undefined) input.value = typed[key];
  return input;
}
let typed = {};
hold("fields", () => { for (const one of document.querySelectorAll("[data-keep]")) if (one.value || typed[one.dataset.keep]) typed[one.dataset.keep] = one.value; return typed; },
  (kept_) => { typed = kept_; for (const one of document.querySelectorAll("[data-keep]")) if (typed[one.dataset.keep] !== undefined) one.value = typed[one.dataset.keep]; });
/** Where the server has a photo already. */
export const placeOf = (one) => (one.kept ? { draft: name, kept: one.kept } : {});

/** Send a photo into the draft, once. Where no draft can be kept, it is measured from its bytes all the same. */
export async function keepPhoto(one) {
  if (one.kept || off) return;
  begin();
  try { one.kept = (await api.postFile(`/api/drafts/${name}/photos`, one.file)).photo; save(); } catch (error) {
    if (error.isGone) throw error;
    if (error.code === "NO_JOURNAL") off = true;
  }
}
function begin() { name ||= fresh(); sessionStorage.setItem(NAME, name); localStorage.setItem(NAME, name); }

function document_() {
  const plansOf = (plans) => Object.fromEntries(Object.entries(plans).map(([key, { entries, ran }]) => [key, { entries, ran }]));
  const photos = state.photos.filter((one) => one.kept).map(({ id, name: file, kept: digest, said, side, sheet, answers, points, edits, plans }) => ({ id, name: file, kept: digest, said, side: side && { name: side.name, kept: side.kept }, sheet, answers, points, edits, plans: plansOf(plans) }));
  return { photos, current: state.current, chosen: state.chosen, sheet: state.sheet, steps: Object.fromEntries(Object.entries(holders).map(([key, one]) => [key, one.give()])) };
}
/** Keep it a moment later; what did not change is not sent. */
export function save() {
  if (off) return;
  clearTimeout(timer); timer = setTimeout(send, LATER_MS);
}
async function send() {
  if (off || !state.photos.some((one) => one.kept)) return;
  const document = document_(), words = JSON.stringify(document);
  if (words === kept) return;
  begin();
  try { await api.put(`/api/drafts/${name}`, { document }); kept = words; } catch (error) { if (!error.isGone) off = error.code === "NO_JOURNAL"; }
}
api.onReach((back) => { if (back) save(); });
onChange((what) => { if (["area", "plan", "quote", "photo"].includes(what)) save(); });
document.addEventListener("change", (event) => { if (event.target.closest("#steps")) save(); });
document.addEventListener("visibilitychange", () => { if (document.hidden) { clearTimeout(timer); send(); } });

/** The draft that a reload should go on with, and whether it is this tab's own. */
export async function found() {
  const own = sessionStorage.getItem(NAME), last = own || localStorage.getItem(NAME);
  if (!last) return null;
  try {
    const { document } = await api.get(`/api/drafts/${last}`);
    return document.photos?.length ? { name: last, document, own: Boolean(own) } : null;
  } catch (error) { if (error.isGone) throw error; return null; }
}
/** Put a draft back: its photos, what was said of them, and the entries of each step. */
export async function restore({ name: which, document }, made) {
  name = which; begin();
  const photos = [];
  for (const one of document.photos) {
    try {
      const { blob } = await api.file(`/api/drafts/${which}/photos/${one.kept}`);
      photos.push(made(new File([blob], one.name), one));
    } catch (error) { if (error.isGone) throw error; /* one that is gone is left out */ }
  }
  state.photos = photos; Object.assign(state.sheet, document.sheet);
  for (const [key, one] of Object.entries(holders)) if (document.steps?.[key]) one.take(document.steps[key]);
  return photos.length ? Math.min(Math.max(0, document.current), photos.length - 1) : -1;
}
/** Begin with an empty page: the draft is thrown away. */
export async function forget() {
  const old = name;
  name = null; kept = ""; typed = {};
  for (const one of document.querySelectorAll("[data-keep]")) one.value = one.defaultValue; sessionStorage.removeItem(NAME); localStorage.removeItem(NAME); clearTimeout(timer);
  state.photos = []; state.current = -1; state.chosen = null;
  changed("photo"); changed("area");
  if (old) try { await fetch(`/api/drafts/${old}`, { method: "DELETE" }); } catch { /* it goes by itself after a week */ }
}
