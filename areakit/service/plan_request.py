"""A plan, its spread and a deposit as asked for at the bench, each field once, as in ``measure_request``."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Literal

from areakit.service.asked import About, ByMetal, Text, Texts, Whole, asked_of

if TYPE_CHECKING:
    from areakit.flags import Flag
    from areakit.records.recorded_factor import RecordedFactor

USES = ("jewellery", "decorative", "technical")
MARKETS = ("eu", "us", "other")
CORNERS = ("round", "square")


# fmt: off
@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRequest:
    """What the bench says about the spread of the deposit, as text with units.

    ``footprint_size`` is a footprint typed as two lengths. ``pictures`` asks for a prediction even where nothing
    else needs one; it is then an error if there is none.
    """

    wagner: Annotated[Text, About(
        "Wagner number, how far the bath itself evens out the current, of a tank or of a sleeve of known thickness.",
        "0, the worst case", example="0.1 ± 0.05", shape="WA", kind="ratio",
    )] = None
    conductivity: Annotated[Text, About(
        "Tank: of the solution, for the Wagner number.", example="10 ± 2 S/m", shape="VALUE", kind="conductivity",
    )] = None
    tafel_slope: Annotated[Text, About(
        "Tank: of the cathode, for a decade of current.", example="60 ± 20 mV", shape="VOLTAGE", kind="voltage",
    )] = None
    footprint_size: Annotated[Text, About(
        "Brush footprint across and along the lanes, in place of its area.", example="20 x 15 mm",
        typed=False,
    )] = None
    footprint_corners: Annotated[Text, About(
        "Corners of the brush footprint.", "round, as of a soft sleeve", choices=CORNERS,
    )] = None
    overlap: Annotated[Text, About(
        "Brush: of neighbouring lanes.", "the evenest for the footprint", example="60%", shape="SHARE", kind="ratio",
    )] = None
    overrun: Annotated[Text, About(
        "Brush: way past the edge.", "half the footprint", example="8 mm", shape="LENGTH", kind="length",
    )] = None
    target_minimum: Annotated[Text, About(
        "Brush: find the overlap whose minimum dose is this share of the mean.", example="90%", shape="RATIO",
        kind="ratio",
    )] = None
    lane_scatter: Annotated[Text, About(
        "Brush: how far single lanes stray, a standard deviation; 0 repeats them exactly.",
        "a tenth of the footprint's width, 2 mm at most", example="2 mm", shape="LENGTH", kind="length",
    )] = None
    sleeve_thickness: Annotated[Text, About(
        "Brush: of the wet sleeve; adds the build-up along edges, softened by the Wagner number.", example="3 mm",
        shape="LENGTH", kind="length",
    )] = None
    pictures: Annotated[bool, About("Predict the spread even where nothing else needs it.", typed=False)] = False

    @property
    def asks(self) -> bool:
        """Whether anything was said that only a prediction over an outline can answer."""
        said = (getattr(self, name) for name in asked_of(SpreadRequest) if name not in ("footprint_size", "pictures"))
        return self.pictures or any(text is not None for text in said)


_AREA = About("Plated area of one piece.", example="12.5 cm2", shape="AREA", kind="area")
_AREA_UNCERTAINTY = About("Expanded uncertainty of a typed area: a share of it, or an area.", example="2%", shape="U")
_MEASURED = About(
    "What areakit measure or surface --json printed; - is stdin.", shape="FILE", one="from", document=True,
)
_SOLUTIONS = About("Solutions file; see areakit solution --help.", shape="FILE", file=True)
_FOOTPRINT = About(
    "Brush footprint: its area or its size across and along the lanes, as in 20 x 15 mm.", example="4 cm2",
    shape="AREA|W x L", kind="area",
)
_HAND_SPEED = About("Brush: speed of the tool.", example="12 m/min", shape="SPEED", kind="speed")
_SPREAD = About("What is said of the spread of the deposit.", typed=False)


def _by_metal(help: str, example: str, *, kind: str = "", shape: str = "VALUE", for_all: bool = False) -> About:
    shown = {"" if for_all else "gold": example}
    shape = f"[METAL=]{shape}" if for_all else f"METAL={shape}"
    return About(help, example=shown, kind=kind, shape=shape, for_all=for_all)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """A plan as asked for at the bench: text with units, by metal where a mapping is given.

    A mapping from an empty name holds for every metal. ``coupons`` holds for a metal what a weighed coupon was:
    ``volts``, ``passes``, ``area``, ``gain``, ``time`` and, where several were plated, ``repeat``. Where a bottle or a
    solution is named, the ``journal`` is asked for the shop's own factor; ``own`` holds what it said, ``brush_taken``
    which brush of the profile was taken.
    """

    area: Annotated[Text, _AREA] = None
    area_uncertainty: Annotated[Text, _AREA_UNCERTAINTY] = None
    measured: Annotated[Text, _MEASURED] = None
    part: Annotated[Whole, About("Part of the photo or file, from 1.", "all, equal ones as pieces", shape="N")] = None
    pieces: Annotated[Whole, About(
        "Number of equal pieces.", "as many as were measured, one of a typed area", shape="N",
    )] = None
    process: Annotated[str, About("Sequence of steps.", example="nickel-gold-brush", shape="NAME")] = ""
    processes: Annotated[Text, About(
        "TOML file with processes of your own.", shape="FILE", one="process_file", file=True,
    )] = None
    layers: Annotated[ByMetal, About(
        "Minimum thickness of a layer, or its mean.", example={"gold": "0.5 um", "nickel": "3 um mean"},
        shape="METAL=THICKNESS", kind="length", one="layer",
    )] = field(default_factory=dict)
    requirements: Annotated[Texts, About(
        "Class or term to meet; sets the thickness where no layer does.", example=("mil-dtl-45204-1",), shape="KEY",
        one="requirement",
    )] = ()
    efficiency: Annotated[ByMetal, _by_metal(
        "Cathode efficiency, or a table row by name, such as handbook.", "72% ± 6%", kind="ratio",
    )] = field(default_factory=dict)
    factor: Annotated[ByMetal, _by_metal("Plating factor of the label.", "60 A.h/in3", kind="plating factor")] = field(
        default_factory=dict)
    solution: Annotated[ByMetal, _by_metal("Solution from your solutions file.", "my-gold", shape="NAME")] = field(
        default_factory=dict)
    solutions: Annotated[Text, _SOLUTIONS] = None
    bath: Annotated[ByMetal, _by_metal(
        "Kind of bath: valence, density, cautions.", "gold-acid-hard", shape="BATH",
    )] = field(default_factory=dict)
    density: Annotated[ByMetal, _by_metal("Density of the deposit.", "17.3 ± 0.3 g/cm3", kind="density")] = field(
        default_factory=dict)
    allowance: Annotated[ByMetal, _by_metal(
        "Mean over minimum thickness.", "1.25 ± 0.1", kind="ratio", shape="K", for_all=True,
    )] = field(default_factory=dict)
    current_density: Annotated[ByMetal, _by_metal(
        "On the brush footprint, or on the part (tank).", "10 A/dm2", kind="current density",
    )] = field(default_factory=dict)
    footprint: Annotated[Text, _FOOTPRINT] = None
    contact_fraction: Annotated[Text, About(
        "Brush: metal under the brush averaged over the working time.", "from the lanes of an outline",
        example="60% ± 15%", shape="SHARE", kind="ratio",
    )] = None
    supply: Annotated[Text, About(
        "Largest current of the supply.", example="5 A", shape="CURRENT", kind="current",
    )] = None
    pieces_per_load: Annotated[Whole, About("Parts on one rack.", shape="N")] = None
    stroke: Annotated[Text, About("Length of one stroke.", example="60 mm", shape="LENGTH", kind="length")] = None
    hand_speed: Annotated[Text, _HAND_SPEED] = None
    metal_content: Annotated[ByMetal, _by_metal("Metal in solution.", "8.2 g/L", kind="concentration")] = field(
        default_factory=dict)
    sleeve: Annotated[Text, About(
        "Solution that the sleeve holds.", example="10 ± 3 mL", shape="VOLUME", kind="volume",
    )] = None
    drag_out: Annotated[Text, About(
        "Solution the part carries away.", example="80 mL/m2", shape="VALUE", kind="volume per area",
    )] = None
    recover: Annotated[ByMetal, About(
        "Share brought back from sleeve, drag-out or run-off.", example={"sleeve": "70%"}, shape="PLACE=SHARE",
        kind="ratio",
    )] = field(default_factory=dict)
    meter_uncertainty: Annotated[Text, About(
        "Expanded uncertainty of the ampere-minute meter.", example="1%", shape="U", kind="ratio",
    )] = None
    base: Annotated[Text, About("Base metal.", example="brass", shape="METAL")] = None
    market: Annotated[Text, About("Where it is sold: eu, us or other.", example="eu", shape="NAME")] = None
    use: Annotated[Text, About("What the part is for.", choices=USES)] = None
    even_chance: Annotated[bool, About(
        "Aim at the minimum itself: half of such jobs stay below. Else it is met with about 97 % confidence.",
    )] = False
    together: Annotated[bool, About("Tank: hang all kinds of parts in one load, with one current.")] = False
    coupons: Annotated[Mapping[str, ByMetal], About("What a weighed coupon of a metal was.", typed=False)] = field(
        default_factory=dict)
    spread: Annotated[SpreadRequest, _SPREAD] = field(default_factory=SpreadRequest)
    shop: Annotated[Text, About(
        "Shop profile that says what is not said here; none plans without.", "the one that holds", shape="NAME",
        env="AREAKIT_SHOP",
    )] = None
    brush: Annotated[Text, About("Brush of the shop profile, by its name.", shape="NAME")] = None
    bottle: Annotated[ByMetal, About(
        "Bottle to plate from: what its runs and coupons deposited counts, where it is more certain than label and "
        "tables.",
        example={"gold": "G7"}, shape="METAL=LABEL",
    )] = field(default_factory=dict)
    journal: Annotated[Text, About(
        "The journal that is asked for own factors; none asks none.", "the usual one", shape="PATH", local=True,
        env="AREAKIT_JOURNAL",
    )] = None
    own: "Mapping[str, RecordedFactor]" = field(default_factory=dict)
    brush_taken: str = ""
    record_flags: "tuple[Flag, ...]" = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DepositRequest:
    """What was run, as written at the bench."""

    metal: Annotated[str, About("Metal deposited.", example="gold", shape="METAL")]
    area: Annotated[Text, _AREA] = None
    area_uncertainty: Annotated[Text, _AREA_UNCERTAINTY] = None
    measured: Annotated[Text, _MEASURED] = None
    part: Annotated[Whole, About("Part of the photo or file, from 1.", "all, added up", shape="N")] = None
    charge: Annotated[Text, About(
        "Charge run.", example="3.2 ± 0.1 A.min", shape="CHARGE", kind="charge",
    )] = None
    current: Annotated[Text, About(
        "With the time, in place of the charge.", example="0.4 A", shape="CURRENT", kind="current",
    )] = None
    time: Annotated[Text, About("With the current.", example="8 min", shape="TIME", kind="time")] = None
    weighed: Annotated[Text, About(
        "Weight gain of the part or of a coupon. With the charge it gives the efficiency, with the area the mean.",
        example="38 ± 1 mg", shape="MASS", kind="mass",
    )] = None
    efficiency: Annotated[Text, About(
        "Cathode efficiency, or a table row by name, such as handbook.", example="72% ± 6%", shape="VALUE",
        kind="ratio",
    )] = None
    factor: Annotated[Text, About(
        "Plating factor of the label.", example="60 A.h/in3", shape="VALUE", kind="plating factor",
    )] = None
    bath: Annotated[Text, About("Kind of bath: valence and density.", example="gold-acid-hard", shape="BATH")] = None
    solution: Annotated[Text, About("Solution from your solutions file.", example="my-gold", shape="NAME")] = None
    solutions: Annotated[Text, _SOLUTIONS] = None
    density: Annotated[Text, About(
        "Density of the deposit.", example="17.3 g/cm3", shape="VALUE", kind="density",
    )] = None
    allowance: Annotated[Text, About(
        "Mean over minimum thickness.", example="1.2 ± 0.1", shape="K", kind="ratio",
    )] = None
    method: Annotated[Literal["brush", "tank"], About(
        "How it was plated; sets the usual allowance where none is given.", choices=("brush", "tank"),
    )] = "brush"
    footprint: Annotated[Text, _FOOTPRINT] = None
    hand_speed: Annotated[Text, _HAND_SPEED] = None
    passes: Annotated[Text, About("Brush: brush-overs of the whole part.", "by the time, else 30", shape="N")] = None
    spread: Annotated[SpreadRequest, _SPREAD] = field(default_factory=SpreadRequest)
