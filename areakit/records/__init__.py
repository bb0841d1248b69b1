"""The record of a job, and the one place where types become JSON.

The record of jobs is a log of events (`records/event.py`, `journal.py`): every change is one more row, and a job, a
bottle or a sheet copy is folded from its rows when it is asked for. So nothing can be written over, corrections show,
and one table with one lock serves all. Each row carries the digest of its content and of the row before, which is how
damage shows and how rows saved from a damaged file are known to be whole. The newest entry that was seen stands
outside of the file too (`service/newest.py`, in the user's state folder): an older copy in its place is told, and
nothing is added to it until `areakit job check --as-it-is` accepts it. A clock that stands before the newest entry is
told as well.

What a bottle deposits per charge is folded the same way: `records/observations.py` makes one observation of each
weighing (`weight_gain.py` finds the runs between two), coupon and group of readings, `plating/own_factor.py` averages
runs, `recorded_factor.py` chooses whose count, and `service.plan_factors.with_own` hands them to a plan. Inputs that
all runs share (meter, gauge, density; see `COMMON`) keep their names and do not average out. Nothing of it is stored.

When a schema changes
---------------------
- Tables of the journal (`records/tables.py`): append a step to `MIGRATIONS`, never change one. The header holds the
  number of steps done. Opening to write copies the file beside itself (`NAME.version-N`) and does the missing steps,
  each in a transaction; opening to read refuses an older file, and everybody refuses a newer one. There is one step
  so far.
- Entries in it (`records/entries.py`): rows stay as they were written, triggers see to it. So a new field needs a
  default in its model and is read by `doc.get`: defaults are filled in when a row is written, not when it is read. A
  field never changes its meaning; that is a new field, or a new kind.
- JSON that is printed (`areakit.plan/1`, `areakit.quote/1`, ...): a new field keeps the number; a field that goes, or
  means something else, raises it. There are no upgrades: a reader takes its own number, says so in one sentence, and
  the user plans again. An export (`areakit.journal/1`) of another number is refused; a row of a batch of another
  number is measured again.
- What `measure` and `surface` print has no number. It is read field by field (`records/measured_parts.py`,
  `service/part_body.py`), and a missing field is named. So fields may be added there, never renamed.
- `records/schema.py` describes what `measure` and `plan` print as JSON Schema, and tests hold real output against it.
"""
