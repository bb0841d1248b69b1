// Readings on their way into the journal. Each carries the time at which it was read, waits here until the server has
// acknowledged it, and survives a reload: a server that is gone for a minute loses no reading and shifts none.
import * as api from "./api.js";
import * as job from "./job.js";
import { changed } from "./state.js";

const KEPT = "areakit.outbox";
let waiting = [], sending = false;
try { waiting = JSON.parse(localStorage.getItem(KEPT)) || []; } catch { waiting = []; }
const save = () => localStorage.setItem(KEPT, JSON.stringify(waiting));

/** Local time with its offset, to the second, as the journal keeps it. */
function stamp(date) {
  const two = (value) => String(Math.abs(value)).padStart(2, "0"), offset = -date.getTimezoneOffset();
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  return `${day}T${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}${offset < 0 ? "-" : "+"}${two(Math.trunc(offset / 60))}:${two(offset % 60)}`;
}
export const any = () => waiting.length > 0;
/** How many readings of a job wait for longer than an answer takes. */
export const late = (number) => waiting.filter((one) => one.number === number && api.serverNow() - Date.parse(one.body.at) > 3000).length;
export const pending = (number, run) => waiting.filter((one) => one.number === number && one.body.run === run);

/** Put a reading in; returns once it is acknowledged, refused, or the server is found gone. */
export async function put(number, body) {
  waiting.push({ number, key: api.newKey(), body: { ...body, at: stamp(api.serverNow()) } });
  save(); changed("outbox");
  return pump();
}
/** The server looked at the reading itself and said no; any other refusal (no pass, busy, disk full, a journal or a job that is not there) may end. */
const ELSEWHERE = new Set(["FILE_ERROR", "NO_JOB"]), isAboutContent = ({ status, code }) => (status === 400 || status === 422) && !ELSEWHERE.has(code);
const AGAIN_MS = 10000;
let again = 0;
/** Send what waits, those of one job in order. Only a refusal of the reading itself takes it out; the first refusal is thrown. */
export async function pump() {
  if (sending) return;
  sending = true; clearTimeout(again);
  const held = new Set(), refusals = [], takeOut = (one) => { waiting.splice(waiting.indexOf(one), 1); save(); changed("outbox"); };
  try {
    for (;;) {
      const next = waiting.find(({ number }) => !held.has(number));
      if (!next) break;
      try { await job.add("reading", next.body, next.number, next.key); takeOut(next); } catch (error) {
        if (error.isGone) return;
        refusals.push(error);
        if (isAboutContent(error)) takeOut(next); else held.add(next.number);
      }
    }
    if (held.size) again = setTimeout(() => pump().catch(() => {}), AGAIN_MS);
    if (refusals.length) throw refusals[0];
  } finally { sending = false; changed("outbox"); }
}
api.onReach((back) => { if (back) pump().catch(() => {}); });
if (waiting.length) setTimeout(() => pump().catch(() => {}), 0);
