// Readings on their way into the journal. Each carries the time at which it was read, waits here until the server has
// acknowledged it, and survives a reload: a server that is gone for a minute loses no reading and shifts none.
import * as api from "./api.js";
import * as job from "./job.js";
import { changed } from "./state.js";

const KEPT = "areakit.outbox";
/** Read anew for each use, since other tabs write to it too. */
function all() { try { return JSON.parse(localStorage.getItem(KEPT)) || []; } catch { return []; } }
function keep(list) { localStorage.setItem(KEPT, JSON.stringify(list)); changed("outbox"); }
addEventListener("storage", ({ key }) => { if (key === KEPT) changed("outbox"); });
/** Why those of a job have to wait, by its number; a reading that was refused itself has its reason with it. */
const held = new Map();
let sending = false, again = 0;

/** Local time with its offset, to the second, as the journal keeps it. */
function stamp(date) {
  const two = (value) => String(Math.abs(value)).padStart(2, "0"), offset = -date.getTimezoneOffset();
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  return `${day}T${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}${offset < 0 ? "-" : "+"}${two(Math.trunc(offset / 60))}:${two(offset % 60)}`;
}
/** Those that go by themselves: nothing but the server keeps them here. */
export const any = () => all().some((one) => !one.refused && !held.has(one.number));
const going = (number) => all().filter((one) => one.number === number && !one.refused);
/** How many readings of a job wait for longer than an answer takes. */
export const late = (number) => going(number).filter((one) => api.serverNow() - Date.parse(one.body.at) > 3000).length;
export const pending = (number, run) => going(number).filter((one) => one.body.run === run);
/** Readings that do not get in, each with the refusal. */
export const stuck = () => all().map((one) => ({ ...one, why: one.refused || held.get(one.number) })).filter(({ why }) => why);
/** Take readings out for good; nothing but a person does that. */
export function discard(keys) { keep(all().filter(({ key }) => !keys.has(key))); }

/** Put a reading in; returns once it is acknowledged, refused, or the server is found gone. What is refused at once was told at once. */
export async function put(number, body) {
  const key = api.newKey();
  keep([...all(), { number, key, body: { ...body, at: stamp(api.serverNow()) } }]);
  try { await pump(); } finally { if (all().some((one) => one.key === key && one.refused)) discard(new Set([key])); }
}
/** The server looked at the reading itself and said no; any other refusal (no pass, busy, disk full, a journal or a job that is not there) may end. */
const ELSEWHERE = new Set(["FILE_ERROR", "NO_JOB"]), isAboutContent = ({ status, code }) => (status === 400 || status === 422) && !ELSEWHERE.has(code);
const AGAIN_MS = 10000;
/** Send what waits, those of one job in order. What is refused stays here, where a person sees it; the first refusal is thrown. */
export async function pump() {
  if (sending) return;
  sending = true; clearTimeout(again);
  const tried = new Set(), refusals = [];
  try {
    for (;;) {
      const next = all().find((one) => !one.refused && !tried.has(one.number));
      if (!next) break;
      try { await job.add("reading", next.body, next.number, next.key); held.delete(next.number); discard(new Set([next.key])); } catch (error) {
        if (error.isGone) return;
        refusals.push(error);
        if (isAboutContent(error)) keep(all().map((one) => (one.key === next.key ? { ...one, refused: error.body } : one)));
        else { tried.add(next.number); held.set(next.number, error.body); }
      }
    }
    if (tried.size) again = setTimeout(() => pump().catch(() => {}), AGAIN_MS);
    if (refusals.length) throw refusals[0];
  } finally { sending = false; changed("outbox"); }
}
api.onReach((back) => { if (back) pump().catch(() => {}); });
if (all().length) setTimeout(() => pump().catch(() => {}), 0);
