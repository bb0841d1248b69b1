"""What each kind of entry in a job's record holds. Quantities are the JSON of :mod:`areakit.records.codec`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from areakit.errors import InputError
from areakit.records.codec import quantity_from_json
from areakit.records.event import canonical
from areakit.records.wrong_fields import MOST_TOLD, wrong_fields

Text = Annotated[str, Field(max_length=4000)]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Time = Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)$")]
Date = Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\d$")]
TEMPERATURES = -20, 150
"""Of a solution, in degrees Celsius."""
Temperature = Annotated[float, Field(ge=TEMPERATURES[0], le=TEMPERATURES[1])]
Document = dict[str, Any]


def _is_quantity(body: Document) -> Document:
    quantity_from_json(body)
    return body


Quantity = Annotated[Document, AfterValidator(_is_quantity)]


class _Entry(BaseModel):
    """Every field is checked, none is turned into another type unasked, and no unknown one is taken."""

    model_config = ConfigDict(extra="forbid", strict=True)
    remarks: Text = ""


class Opened(_Entry):
    """The order: what came in, from whom; ``like`` is the job that it repeats."""

    date: Date
    part: Name
    quantity: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    customer: Text = ""
    base: Text = ""
    condition: Text = ""
    like: Text = ""


class Photographed(_Entry):
    """A photo, kept in the journal by its hash."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    name: Name
    media: Name


class MeasuredLine(_Entry):
    """One line of ``areakit measure --json``, and which of its parts this job is about."""

    line: Document
    part: Annotated[int, Field(ge=1)] = 1


class Required(_Entry):
    """What the customer or the standard asks for; ``standard`` is its name with its edition."""

    text: Name
    metal: Text = ""
    minimum: Quantity | None = None
    standard: Text = ""


class Planned(_Entry):
    """What ``areakit plan --json`` printed."""

    plan: Document


class Quoted(_Entry):
    """What ``areakit quote --json`` printed."""

    quote: Document


class StepStarted(_Entry):
    """One step as it was done; ``step`` is its number in the plan, if it is from there."""

    title: Name
    step: int | None = None
    metal: Text = ""
    solution: Text = ""
    bottle: Text = ""
    brush: Text = ""
    voltage: Quantity | None = None
    temperature_c: Temperature | None = None
    pieces: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    target: Quantity | None = None
    meter_share: Annotated[float, Field(ge=0, le=0.5)] = 0.02
    meter_step: Annotated[float, Field(gt=0)] = 0.1
    clock_step: Annotated[float, Field(gt=0)] = 1.0
    pause_limit: Annotated[float, Field(gt=0)] | None = None
    charge: Quantity | None = None
    efficiency: Quantity | None = None
    at: Time


class Reading(_Entry):
    """The current [A] from ``at`` on; ``stop`` when it was cut at that moment, with 0 A where nothing was read then."""

    run: Annotated[int, Field(ge=1)]
    at: Time
    current: Annotated[float, Field(ge=0, le=10_000)]
    stop: bool = False
    clock_step: Annotated[float, Field(gt=0)] | None = None
    voltage: Quantity | None = None
    temperature_c: Temperature | None = None


class Weighed(_Entry):
    """Mass of the part, or of all pieces together, before or after."""

    when: Literal["before", "after"]
    mass: Quantity


class Tested(_Entry):
    """One test: method, where on the part, and what came out."""

    method: Name
    result: Literal["pass", "fail", "value"]
    place: Text = ""
    place_mm: tuple[float, float] | None = None
    value: Quantity | None = None
    metal: Text = ""


class DefectSeen(_Entry):
    """A defect, as a GeoJSON point or polygon in millimetres of the outline."""

    what: Name
    geometry: Document


class Reworked(_Entry):
    """What was done again, and because of which entry."""

    what: Name
    because: int | None = None


class Signed(_Entry):
    """Somebody answers for the record as it stood; a later change shows.

    ``open_points`` were open then, and ``despite`` says why the job was released all the same.
    """

    statement: Name
    role: Text = ""
    despite: Text = ""
    open_points: list[Text] = Field(default_factory=list)


class Certified(_Entry):
    """A certificate as it was written: what it states, and the bottles that it names as they stood.

    The digest of this entry, which rests on all before it, is in the certificate's code.
    """

    statement: Document
    bottles: list[Document] = Field(default_factory=list)
    version: Text = ""


class Remarked(_Entry):
    """Words that fit nowhere else."""

    text: Name


class Corrected(_Entry):
    """A later view of an earlier entry: new values for some fields, or its withdrawal. The old ones stay to be seen."""

    entry: Annotated[int, Field(ge=1)]
    fields: Document = Field(default_factory=dict)
    withdrawn: bool = False
    reason: Name


KINDS: Mapping[str, type[_Entry]] = {
    "opened": Opened,
    "photographed": Photographed,
    "measured": MeasuredLine,
    "required": Required,
    "planned": Planned,
    "quoted": Quoted,
    "step": StepStarted,
    "reading": Reading,
    "weighed": Weighed,
    "tested": Tested,
    "defect": DefectSeen,
    "reworked": Reworked,
    "signed": Signed,
    "certified": Certified,
    "remarked": Remarked,
    "corrected": Corrected,
}


def checked(kind: str, doc: Mapping[str, Any]) -> Document:
    """Return an entry with its defaults filled in; InputError with one sentence that names every wrong field."""
    if kind not in KINDS:
        raise InputError(f"There is no entry of kind {kind[:40]!r}.", remedy=f"Known kinds: {', '.join(KINDS)}.")
    return kept(KINDS[kind], doc, f"entry ({kind})")


def kept(model: type[BaseModel], doc: Mapping[str, Any], what: str) -> Document:
    """Return what is to be kept as its model has it, defaults filled in; InputError names every wrong field."""
    try:
        return model.model_validate_json(canonical(dict(doc))).model_dump(mode="json")
    except ValidationError as error:
        wrong = "; ".join(wrong_fields(error, whole=what)[:MOST_TOLD])
        raise InputError(f"This {what} cannot be kept: {wrong}.", remedy="Correct what is named.") from None
