"""A page for the bench and an HTTP API, served on this machine: JSON to request, service, result to JSON.

Who may reach what:

- By default only this machine: the server listens on 127.0.0.1, and answers only to its own names (Host) and to its
  own page or to programs without a page (Origin, Sec-Fetch-Site). So a web page elsewhere, or one that renames
  itself, gets nothing. Other users of this machine do reach it: they are trusted.
- With `--lan`, a device needs a pass, got once from a one-time link; their digests are kept for a day, 16 at most.
  The page is served over TLS with a certificate made at the first start (`web/certificate.py`); with `--plain` it can
  be read on the way.
- The server opens no file that a request names. It stores a photo where a record asks for it, and until then in the
  draft of the page (`service/draft.py`): 16 drafts of 24 photos at most, each thrown away after a week. It asks
  nothing of other hosts.
- Each request has bounds (bytes, pixels, seconds, minimum speed, time for its head), and so has what runs at once;
  beyond them the answer is 413, 408 or 503 with the time to come back. Memory is bounded by `Limits`.
- Not promised: that a device with a pass cannot keep the bench busy; that damage in a photo is always seen. JPEG
  carries no checksum, so a flipped bit can shift a part of a picture without any decoder noticing.

The parts:

`web/guard.py` checks Host, Origin and passes before any route; `web/work.py` bounds bytes, seconds and work at once
(a place is given back only when its thread ends). `web/bodies.py` makes the fields of the API from the service's
requests, so a new field of `PlanRequest` is in the API at once; `record_routes.py` adds jobs, entries and runs, each
acknowledged after the journal has it; `draft_routes.py` keeps what a page holds before a job does. In `static`:
`state.js` holds what the page knows, `said.js` what is said of each part, `steps.js` folds the steps, `strip.js`
draws what is always in sight, `draft.js` keeps and restores, one module a step draws it, `picture.js` is the photo
with its overlay, `pick.js` sets points on it (by tap, or by keys under a cross), `mend.js` corrects outlines and
regions, `freehand.js` moves a drawn line to the edge, `outbox.js` holds readings until they are acknowledged,
`shopform.js` and `rates.js` are the profile as forms, `live.js` shows the camera while somebody aims
(`imaging/aim.py` judges each frame). `web/alarm.py` rings on the computer that serves, `places.js` names the places
of the page that the fields of an error or a caution are about. No build step, no `innerHTML`, no inline style: the
Content-Security-Policy forbids them. `tests/web/test_browser_*.py` drive it in Chromium, axe-core included; `-m slow`
adds every hand at every size, and Firefox. `python -m calibration.studies.page_time` times it: 1.4 s from dropping a
12 megapixel photo to its number, where `areakit measure` takes 3.2 s (two cores); with `--aim`, a frame of the camera:
31 to 44 ms of processor time, 134 where it is blurred beyond reading; with `--live`, 7 frames a second through a
browser.
"""
