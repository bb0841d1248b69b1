"""Every note and question that a result can carry: code, plain words, what to do.

A flag goes with a number that still stands. Where no number can stand, an error from :mod:`areakit.errors` is raised.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from numbers import Integral, Real
from typing import Any

from areakit.errors import Fields

Figures = Mapping[str, float | str]
"""Name of a figure of a caution to its value: a number, or words that stand in its place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One note: a stable ``code``, the ``message`` with its number, the ``remedy`` and the fields it is about.

    ``figures`` are what was filled into the words of the catalogue, so that cautions of several parts can be told as
    one. ``place`` is the number on the picture of the place that it asks about.
    """

    code: str
    message: str
    remedy: str
    part: int | None = None
    place: int | None = None
    fields: Fields = field(default_factory=dict, hash=False)
    figures: Figures = field(default_factory=dict, compare=False)


ASKS_A_PLACE = frozenset({"LOOKS_UNDECIDED", "BESIDE_UNDECIDED", "JOINT_UNDECIDED"})
"""Codes that ask what lies at one place; the fields hole or metal, with that place, answer them."""
STANDS_ALONE = ASKS_A_PLACE | {"STOP_OFF_SEEN"}
"""Codes that speak of one place each, and are never told together."""

DARK_CARD = (
    "hold a black card with a hole for the lens before the camera, straight above and twice as wide as the part, so "
    "that it mirrors black"
)
"""How shiny metal is told from white paper: by its light."""

# code: (message, remedy); figures are filled in by name.
_CATALOGUE: dict[str, tuple[str, str]] = {
    # scale
    "SHEET_UNVERIFIED": (
        "The printed size of this sheet was not verified, so the scale carries {percent:.1f} % of area.",
        "Keep all four edges of the paper in view, or lay a card of 85.60 x 53.98 mm or a coin in the field and give "
        "card, or coin:eur-1, as the check lengths; or measure both check lengths with a ruler and give them.",
    ),
    "PRINT_CONFIRMED": (
        "Nobody measured this sheet copy; its size is told by the {by}, which leaves {percent:.1f} % of area open.",
        "For less, measure the two check lengths with a ruler and give them.",
    ),
    "SHEET_CHECK_OLD": (
        "The sheet copy {name} was checked {days} days ago; paper moves with the weather (limit {limit} days).",
        "Measure its two check lengths again and keep them.",
    ),
    "FEW_MARKS": (
        "Only {found} of {total} marks of the sheet were found.",
        "Keep the whole marker frame in view and evenly lit.",
    ),
    "SCALE_RESIDUALS_HIGH": (
        "The corners of the sheet miss a flat sheet by {rms_px:.2f} px rms (usual: below {limit_px:.2f} px).",
        "Lay the sheet on a flat board, or print it again if it is creased.",
    ),
    "TILT_HIGH": (
        "The camera was tilted by {tilt_deg:.0f}° from straight above.",
        "Hold the camera more nearly straight above the part; below 12° is best.",
    ),
    "LENS_NOT_USED": (
        "The stored lens of this camera (checked {date}) does not fit this photo: its corners miss by {rms_px:.2f} px, "
        "and by {free_px:.2f} px without it. It was not used.",
        "If the camera zoomed or another of its lenses took the photo, take it again; else have the lens checked "
        "again.",
    ),
    "FOCAL_LENGTH_UNKNOWN": (
        "The photo does not say its focal length, so the camera's height is known to {percent:.0f} % only.",
        "Use the original photo file, not a copy from a messenger or an editor.",
    ),
    "FOCAL_LENGTH_DOUBTED": (
        "The marker frame contradicts the focal length that the file states: it reads one {percent:.0f} % {way}. That "
        "was used, as far as the frame tells it. A sheet that is folded or not flat can look so too.",
        "Use the original photo, not cropped or edited, taken without digital zoom, of a sheet that lies flat.",
    ),
    "FOCAL_LENGTH_UNCHECKED": (
        "The camera stood so level that the marker frame cannot check the focal length that the file states. If the "
        "photo was cropped or zoomed, the area of this part may be off by {percent:.1f} %.",
        "If it was, use the original photo without digital zoom; from 10° of tilt on, the frame checks it.",
    ),
    "PICTURE_CUT": (
        "The sides of the picture are as {ratio:.2f} to 1, which is no camera's: it was cropped, and the focal length "
        "that the file states was not used.",
        "Use the original photo, not cropped or edited.",
    ),
    "MOTION_BLUR": (
        "The photo was shaken: it is smeared by {length_px:.0f} px at {direction_deg:.0f}° to the horizontal.",
        "Rest the camera on something or use its self-timer, in more light, and take the photo again.",
    ),
    "COMPRESSED": (
        "The picture is compressed so much that its brightness comes in steps of {step:.1f} of 256. The uncertainty "
        "was widened for it.",
        "Use the original file from the camera, or send it as a file instead of a picture.",
    ),
    "PRINT_STRETCHED": (
        "The sheet copy is {percent:.1f} % longer along one axis than along the other, and nobody measured its check "
        "lengths. The uncertainty was widened for it.",
        "Print the sheet again at actual size, or measure both check lengths and give them.",
    ),
    "PAPER_EDGES_ONLY": (
        "The scale is based on the cut edges of the paper, which are true to about {percent:.1f} % of area.",
        "Use a printed scale sheet for a smaller uncertainty.",
    ),
    "PAPER_SIZE_CHOSEN": (
        "The paper in the photo has sides in the ratio {ratio:.3f}, and was taken as {name}.",
        "If it is another size, name it.",
    ),
    "SCALES_DISAGREE": (
        "Two readings of the scale disagree: {first}, {second}.",
        "{advice}",
    ),
    "PRINTED_AT_OTHER_SIZE": (
        "The sheet was probably printed at {percent:.0f} %: its marker frame reads the paper {width_mm:.0f} x "
        "{height_mm:.0f} "
        "mm where {name} has {true_width_mm:.0f} x {true_height_mm:.0f} mm. The uncertainty was widened for it.",
        "Print it at actual size (no fit to page), or measure both check lengths and give them.",
    ),
    "SCAN_RESOLUTION": (
        "The scale is based on the {dpi:.0f} dpi that the file states.",
        "Make sure that it is a flat-bed scan, neither cropped in another program nor resized.",
    ),
    "TWO_TAPS_ONLY": (
        "The scale is based on two tapped points and a level camera: it leaves at least {percent:.0f} % of area open.",
        "Use a printed scale sheet for a smaller uncertainty.",
    ),
    "LEVEL_CAMERA_ASSUMED": (
        "A coin tells little about a tilt of the camera: it leaves at least {percent:.0f} % of area open.",
        "Hold the camera level, keep the part beside the coin, or use a printed scale sheet.",
    ),
    "COINS_BESIDE_PART": (
        "The scale is based on coins that lie beside the part: rims and wear leave {percent:.1f} % of area open.",
        "Lay the part between the coins, or use a printed scale sheet for a smaller uncertainty.",
    ),
    "COIN_TAKEN": (
        "The round thing at ({x_px:.0f}, {y_px:.0f}) px, {width_px:.0f} px wide, was taken for the coin {name}.",
        "If that is not the coin, show where the middle of the coin lies.",
    ),
    "CARD_BESIDE_PART": (
        "The scale is based on a card that lies beside the part, and leaves {percent:.0f} % of area open.",
        "Use a printed scale sheet, which goes round the part, for a smaller uncertainty.",
    ),
    "GRID_BESIDE_PART": (
        "The scale is based on a printed pattern beside the part: its printing and its distance leave {percent:.1f} % "
        "of area "
        "open.",
        "Check the pattern's size with a ruler, and lay the part close to it, in the same plane.",
    ),
    "SHEET_NOT_TURNED": (
        "The sheet is turned by {turned_deg:.0f}° between the two photos: what camera and light do along one side is "
        "alike in both, and does not show.",
        "Turn the sheet by a quarter between the photos.",
    ),
    "PHOTOS_DIFFER": (
        "The two photos of this part are {percent:.2g} % apart, and {allowed:.2g} % is expected; the uncertainty was "
        "widened by half of it.",
        "Look at both overlays for an edge, hole or shadow that was read differently; take a third photo.",
    ),
    # photo
    "SLIGHT_BLUR": (
        "The edges are blurred over {sigma_px:.1f} px.",
        "Hold the camera still, tap the part to focus, and take the photo again.",
    ),
    "OVER_EXPOSED_PART": (
        "{percent:.0f} % of the edge of this part runs through over-exposed pixels.",
        "Turn the lamp away or lower the exposure, and take the photo again.",
    ),
    "OVER_EXPOSED_SHEET": (
        "{percent:.0f} % of the bare sheet is close to burnt out, and its light spreads over edges.",
        "Lower the exposure (tap a bright spot of the sheet), and take the photo again.",
    ),
    "UNEVEN_LIGHT": (
        "The light on the sheet changes by {percent:.0f} % from place to place.",
        "Use light from two sides or from a house window, without direct sun.",
    ),
    # outline
    "THICKNESS_NOT_GIVEN": (
        "No thickness was given: the face is taken at the level of the sheet, and each millimetre of height "
        "would lower its area by {percent_per_mm:.2f} %. The uncertainty covers parts up to {covered_mm:g} mm.",
        "Give the thickness.",
    ),
    "WEAK_EDGE": (
        "{percent:.0f} % of this outline is unclear: bridged, or much less sharp than the rest.",
        "Look at the overlay; use a field of another colour, or softer light.",
    ),
    "GREY_ON_PALE": (
        "This part is about as grey as its sheet, so colour cannot tell metal from shadow and reflection.",
        f"Look at the overlay; use a sheet with the blue field for shiny metal, or {DARK_CARD}.",
    ),
    "OUTLINES_DIFFER": (
        "Two ways of telling this part from the sheet differ by {percent:.1f} % of its area; the uncertainty covers "
        "both.",
        "Look at the overlay; use a field of another colour, or softer light.",
    ),
    "LOOKS_UNDECIDED": (
        "A region of {area_mm2:.1f} mm2 at ({x_mm:.1f}, {y_mm:.1f}) mm may be metal or not; "
        "it would move the area by {percent:.1f} %.",
        "Half of it was taken off, and the uncertainty covers both. Say whether it is a hole or metal.",
    ),
    "BESIDE_UNDECIDED": (
        "Ground of {area_mm2:.1f} mm2 at ({x_mm:.1f}, {y_mm:.1f}) mm, beside this part, is not bare sheet: paint, tape "
        "or metal that mirrors the sheet, or else a reflection or shadow on it; it would move the area by "
        "{percent:.1f} %.",
        "Half of it was added, and the uncertainty covers both. Say whether it is metal or a hole.",
    ),
    "JOINT_UNDECIDED": (
        "A thin straight line crosses this part from edge to edge at ({x_mm:.1f}, {y_mm:.1f}) mm: it is one part with "
        "a seam or groove, or they are two that lie flush.",
        "If they are two, move them at least 3 mm apart and take the photo again; if it is one part, say that it "
        "is metal.",
    ),
    "STOP_OFF_SEEN": (
        "A region of another colour or brightness, {area_mm2:.1f} mm2 or {percent:.1f} % of one face, lies at "
        "({x_mm:.1f}, {y_mm:.1f}) mm: a stop-off, tape, enamel, or another metal. It is counted as plated.",
        "Say whether it is stopped off, or metal that is plated too.",
    ),
    "LOOKS_LIKE_STOCK": (
        "Nobody said the form of this part, and it was taken as flat. Its outline is {times:.0f} times as long as "
        "wide, and even in width: that of wire or rod too, whose surface is 1.57 times both faces.",
        "Say round for wire or rod, or flat for a flat strip.",
    ),
    "NARROW_SLITS": (
        "Slits or gaps too narrow to be followed, such as at ({x_mm:.1f}, {y_mm:.1f}) mm, were taken off by their "
        "light, about {area_mm2:.1f} mm2; the uncertainty covers the rest. Their walls are not in the area.",
        "Come closer, or use a smaller sheet; else draw them in by hand.",
    ),
    "SMALL_HOLES": (
        "Holes narrower than {limit_mm:.1f} mm cannot be measured in this photo; it shows {count}.",
        "Check the number of holes, and use a smaller sheet from closer by.",
    ),
    "HOLES_HIDDEN": (
        "A hole narrower than {width_mm:.1f} mm shows no sheet from where the camera stood, and counts as metal.",
        "Hold the camera straight above the part, and check the number of holes in the overlay.",
    ),
    "PART_LEFT_OUT": (
        "Parts that cross the edge of the field, the marker frame or a mark were left out: {count}.",
        "Move every part fully inside the field.",
    ),
    "PART_NOT_MEASURED": (
        "One part was left out: {reason}",
        "Look at the overlay, correct what it says, and take the photo again.",
    ),
    "PARTS_TOUCH": (
        "This outline looks like {count} parts that touch.",
        "Move the parts at least 3 mm apart.",
    ),
    "LOW_RESOLUTION": (
        "This part is only {width_px:.0f} px wide, so its edge weighs {percent:.1f} % of its area.",
        "Move closer, or use a smaller sheet.",
    ),
    "SHADOW_AT_EDGE": (
        "A shadow lies against {percent:.0f} % of this outline; the uncertainty was widened for it.",
        "Use softer light from two sides.",
    ),
    "CORRECTED_BY_HAND": (
        "This outline was corrected by hand over {length_mm:.1f} mm, {percent:.0f} % of its length; the uncertainty "
        "takes the hand to be within {edit_mm:.2f} mm.",
        "Measure again with softer light or a field of another colour if the correction weighs too much.",
    ),
    "REGIONS_DRAWN": (
        "Regions drawn by hand over the photo: {count}; the uncertainty takes the hand to be within {edit_mm:.2f} mm.",
        "Come closer and draw again if their share of the uncertainty weighs too much.",
    ),
    # drawing, shapes, surfaces
    "PIXEL_UNITS": (
        "The drawing does not say its physical size, so 96 px were taken as one inch.",
        "Save the drawing with a width in mm, or state the size of one of its units.",
    ),
    "UNIT_OF_THE_FILE": (
        "The drawing states its own size in {unit}, so the unit {stated} was not used.",
        "Leave the unit out, or correct the drawing.",
    ),
    "SIZE_BEYOND_BENCH": (
        "The part is {size}: no usual part of a bench has this size.",
        "Check the unit.",
    ),
    "IGNORED_IN_DRAWING": (
        "Left out of the drawing: {listed}.",
        "Check that none of it belongs to the outline; close open paths in the drawing program.",
    ),
    "FILLED_IN_DRAWING": (
        "The drawing fills {count} inner outlines (nonzero rule), but inner outlines are taken as holes.",
        "Delete them in the drawing program if they are no holes.",
    ),
    "NO_TOLERANCE": (
        "No tolerance was given for {dimension}, so it was taken as exact.",
        "Write it as 30 mm ± 0.1 mm.",
    ),
    "HOLE_ADDS_AREA": (
        "Through holes with walls larger than the faces that they take away: {count}; they add {gained_mm2:.2g} mm2.",
        "Make sure that the solution and the current reach into the holes.",
    ),
    "CUT_EDGE": (
        "The cut edge is {percent:.2g} % of the plated area, which is {verdict}.",
        "Give the thickness of the metal alone, without what it lies on.",
    ),
    "RELIEF_FROM_PRACTICE": (
        "The relief factor {low:g} to {high:g} for {kind} is {basis}.",
        "Plate a coupon with the same relief and enter its own factor.",
    ),
    "DOME_SHAPE_ASSUMED": (
        "The dome is not round; its area was taken from an elliptic dome of the same length, width and rise.",
        "For a better figure, wrap it in paper, cut the paper to the edge, and measure the paper flat.",
    ),
    # forms
    "CROSSINGS_ASKED": (
        "Places where the stock crosses or meets itself: {count}; they hide up to {area_mm2:.3g} mm2. Half of it was "
        "added, and the uncertainty covers both.",
        "Count the places where it lies over itself, and say it with the form, as in: round, crossings 1.",
    ),
    "ENDS_ASKED": (
        "Nobody said what the ends are like; flat and round ends differ by {percent:.1f} % of the outside, and the "
        "uncertainty covers both.",
        "Say it with the form: round, ends flat (or round, or none).",
    ),
    "FINISH_ASKED": (
        "Nobody said whether this {form} part is dull or polished. A polished flank mirrors the sheet, and the outline "
        "then lies up to 15 % of the width inside on either side; half of that was added, and the uncertainty covers "
        "both.",
        "Say it with the form, as in {form}, dull. A polished part is dulled with chalk or matting spray, to be "
        "cleaned off before plating, or its diameter is typed.",
    ),
    "AXIS_ASKED": (
        "The outline has {count} axes of symmetry, and was taken as turned about the longest.",
        "If it was turned about another, say so with the form: turned, axis short.",
    ),
    "SEEN_ASLANT": (
        "The camera looked {degrees:.0f}° along the axis of this part, so its ends show; they leave {percent:.1f} % of "
        "its area open.",
        "Lay the part straight below the camera, or across the line from there.",
    ),
    "AXIS_NOT_LEVEL": (
        "Lying freely, this part leans by {degrees:.0f}°; whether it was propped level leaves {percent:.1f} % of its "
        "area open.",
        "Prop its thin end until the axis is level, take the photo, and say so with the form: turned, level.",
    ),
    "INSIDE_REACH": (
        "All of the inside is counted, up to {depth_mm:.3g} mm from an open end, {bores:.1f} times the bore; plating "
        "hardly reaches that deep without an anode inside.",
        "Say how deep plating reaches from each open end, as in: tube, bore 6 mm, reach 6 mm.",
    ),
    "TURNS_TOUCH": (
        "The turns of this coil touch each other, and what lies between them is counted.",
        "Pull the coil apart for plating, or plan it as a tube.",
    ),
    "LAID_FLAT": (
        "The outside of part {listed} was laid flat for this, its girth across: the long edges of the picture meet "
        "on the part.",
        "Go round the part in lanes, and overlap where the first lane began.",
    ),
    "MASK_MISSES": (
        "{mask} does not touch the {side} face.",
        "Give masks in the coordinates of the drawing, in the same unit.",
    ),
    # plating
    "ABOVE_SOURCE_RANGE": (
        "{figure} lies outside the range {low} to {high} of its source.",
        "Check the figure on the solution's label.",
    ),
    "AREA_WITHOUT_UNCERTAINTY": (
        "The area was given without an uncertainty, so the results do not carry its share.",
        "Measure the part, or give the uncertainty of its area.",
    ),
    "AREAS_ADDED": (
        "The areas of {count} parts were added up and are planned as one job.",
        "Choose one part and its number of pieces.",
    ),
    "PHOTO_LEFT_OUT": (
        "The photo {photo} was refused, so its parts are not in the area: {reason}",
        "Take it again, measure it, and plan once more.",
    ),
    "WORST_PART": (
        "The distribution allowance is that of part {number}, the worst of {count} parts.",
        "Plan the parts one by one for an allowance of their own.",
    ),
    "DISTRIBUTION_NOT_PREDICTED": (
        "The distribution was not predicted from the outline, so the usual allowance stands: {reason}",
        "Measure mean and minimum thickness on a trial part, and give the allowance.",
    ),
    "PASSES_ASSUMED": (
        "Nobody said how many passes were made, so the minimum is that after {passes:.0f}: fewer lie less evenly.",
        "Give the passes, or current and time instead of the charge.",
    ),
    "WAGNER_NOT_SAID": (
        "Nobody said the conductivity of the solution and its Tafel slope, so its spread is that of Wagner number 0, "
        "the worst case: a real bath evens the current out more.",
        "Give conductivity and Tafel slope of the solution, or its Wagner number.",
    ),
    "EFFICIENCY_WITHOUT_UNCERTAINTY": (
        "The efficiency of {metal} was given without an uncertainty, so the results do not carry its share.",
        "Write it as 72% ± 6%, or measure it on a weighed coupon.",
    ),
    "STATED_DEFAULT": (
        "{figure} was not given; the published default {value} was used.",
        "Give the value from the solution's label, or measure it on a weighed coupon.",
    ),
    "OWN_FACTOR": (
        "{metal} is planned with {value} efficiency, the {words}{other}.",
        "Look at its runs; a typed efficiency or factor goes before it.",
    ),
    "OWN_FACTOR_WIDER": (
        "{runs} give an own efficiency of {value} for {metal}; what else is known is more certain and agrees, so it "
        "was used.",
        "Weigh, or measure, more runs: from then on it counts by itself.",
    ),
    "OWN_FACTOR_OUTLIERS": (
        "The own factor of {metal} holds a run that the others do not bear out: {runs}.",
        "Look at its runs; correct or withdraw the entry if it was a slip, else leave it in.",
    ),
    "RECORD_NOT_ASKED": (
        "The journal could not be asked for own factors: {reason}",
        "Have the journal checked; until then the label or the tables hold.",
    ),
    "BRUSH_EFFICIENCY_SPAN": (
        "Nobody said which brush {metal} it is: published factors imply efficiencies from {low} to {high}, and the ± "
        "spans them all.",
        "Give factor or efficiency of the label, or name the solution: the layer is then known far better.",
    ),
    "CURRENT_NOT_PLANNED": (
        "No current or time is planned for {metal}, because {missing} is not known.",
        "Give {missing}.",
    ),
    "SUPPLY_LIMIT": (
        "{metal} would take {wanted:.3g} A, but the supply gives {supply:.3g} A.",
        "{advice}",
    ),
    "LOAD_SHARED": (
        "The current of the load is taken to divide by area; parts at the rim of the rack get more (common practice).",
        "Hang large and small ones mixed, and measure the thickness on one of each kind.",
    ),
    "CURRENT_DENSITY_OUTSIDE": (
        "The current density of {value:.3g} A/dm² for {metal} lies outside {low:.3g} to {high:.3g} A/dm² ({origin}).",
        "Change the current, the footprint or the number of parts, or check the label.",
    ),
    "EDGES_LEFT_OUT": (
        "Edge build-up is not included: through a wet sleeve current reaches the edges from beside the part, an excess "
        "like a strip 0.44 times the sleeve's thickness wide.",
        "Give the sleeve's thickness with an outline; to settle it, weigh a plated foil that is cut into a grid.",
    ),
    "VOLTS_NOT_RAISED": (
        "Volts raised until the mean current for {metal} reads {peak:.3g} A would put {density:.3g} A/dm² under the "
        "brush, above {high:.3g} A/dm² ({origin}).",
        "Set the volts with the whole footprint on metal, and let the ammeter dip where the brush runs off.",
    ),
    "FOOTPRINT_TOO_LARGE": (
        "The brush footprint of {footprint_cm2:.3g} cm² is larger than the plated area of {area_cm2:.3g} cm².",
        "Use a smaller tool; the plan was made with contact all over the area.",
    ),
    "HAND_SPEED": (
        "{strokes:.0f} strokes a minute of {stroke_mm:.0f} mm move the tool at {speed:.1f} m/min, outside the usual "
        "{low:g} to {high:g} m/min.",
        "Change the pace or the stroke length.",
    ),
    "SLEEVE_HOLDS_MORE": (
        "The sleeve holds {held_mg:.3g} mg of {metal}, {times:.1f} times what the parts get ({deposit_mg:.3g} mg).",
        "Squeeze it out, rinse it into the saved drag-out bottle, and keep worn sleeves apart for their disposal.",
    ),
    "MINIMUM_NOT_ASSURED": (
        "At the planned charge the minimum of {metal} is {minimum}: about half of such jobs stay below {needed}.",
        "{advice}",
    ),
    "LAYER_VERY_THICK": (
        "The {metal} layer of {thickness} is far thicker than plated layers usually are, up to {usual} (common "
        "practice, no source).",
        "Check its unit: um is a thousandth of mm.",
    ),
    "UNVERIFIED_FIGURE": (
        "{figure} is no published figure: {note}.",
        "Enter the value from the solution's label, or measure it on a weighed coupon.",
    ),
    # costing
    "FACES_NOT_STATED": (
        "The quote does not say which faces its area stands for.",
        "Give the measured part, or say whether one, both or all faces are plated.",
    ),
    "METAL_NOT_PRICED": (
        "The price of {metal} was not given, so its metal is not on a line of its own.",
        "Give its price, or take it as part of the solution.",
    ),
    "SOLUTION_NOT_PRICED": (
        "The {metal} solution has no price, so it is not charged.",
        "Give the price of the {metal} solution in the rates.",
    ),
    "PRICE_STALE": (
        "The {metal} price of {dated} is more than {days} days old.",
        "Give the price of today, and its day.",
    ),
    "PRICE_IN_FUTURE": (
        "The {metal} price is dated {dated}, after the day of the quote.",
        "Check the day of the price.",
    ),
    "NO_CHARGE_TIME": (
        "The plan holds no time for {metal}, so its labour is handling only.",
        "Give the plan the brush footprint and the current density.",
    ),
    "PLAN_OTHER_AREA": (
        "The plan is for {planned_cm2:.4g} cm² a piece, the measured part has {measured_cm2:.4g} cm² to plate.",
        "Plan again from the same measurement, or leave the part out.",
    ),
}

# code: the fields that its remedy is about, each with an example; figures are filled in by name.
_FIELDS: dict[str, Fields] = {
    "SHEET_UNVERIFIED": {"check_lengths": "150 x 90 mm"},
    "PRINT_CONFIRMED": {"check_lengths": "150 x 90 mm"},
    "SHEET_CHECK_OLD": {"areakit sheet-check": ""},
    "LENS_NOT_USED": {"areakit lens-check": ""},
    "PRINT_STRETCHED": {"check_lengths": "150 x 90 mm"},
    "PAPER_EDGES_ONLY": {"areakit sheet": ""},
    "PAPER_SIZE_CHOSEN": {"mark": ""},
    "PRINTED_AT_OTHER_SIZE": {"check_lengths": "150 x 90 mm"},
    "TWO_TAPS_ONLY": {"areakit sheet": ""},
    "LEVEL_CAMERA_ASSUMED": {"areakit sheet": ""},
    "COINS_BESIDE_PART": {"areakit sheet": ""},
    "COIN_TAKEN": {"mark_at": "x,y"},
    "CARD_BESIDE_PART": {"areakit sheet": ""},
    "THICKNESS_NOT_GIVEN": {"thickness": "1.2 mm"},
    "LOOKS_UNDECIDED": {"hole": "{x_mm:.1f},{y_mm:.1f}", "metal": "{x_mm:.1f},{y_mm:.1f}"},
    "BESIDE_UNDECIDED": {"metal": "{x_mm:.1f},{y_mm:.1f}", "hole": "{x_mm:.1f},{y_mm:.1f}"},
    "JOINT_UNDECIDED": {"metal": "{x_mm:.1f},{y_mm:.1f}"},
    "STOP_OFF_SEEN": {"stop_off": "{x_mm:.1f},{y_mm:.1f}", "metal": "{x_mm:.1f},{y_mm:.1f}"},
    "LOOKS_LIKE_STOCK": {"form": "round"},
    "PIXEL_UNITS": {"unit": "mm"},
    "UNIT_OF_THE_FILE": {"unit": ""},
    "RELIEF_FROM_PRACTICE": {"relief": "1.05 ± 0.02"},
    "AREA_WITHOUT_UNCERTAINTY": {"area_uncertainty": "2 %"},
    "AREAS_ADDED": {"part": "1", "pieces": ""},
    "WORST_PART": {"part": "1"},
    "DISTRIBUTION_NOT_PREDICTED": {"allowance": "1.2"},
    "PASSES_ASSUMED": {"passes": "", "current": "", "time": ""},
    "WAGNER_NOT_SAID": {"conductivity": "10 S/m", "tafel_slope": "60 mV", "wagner": ""},
    "OWN_FACTOR": {"areakit bottle factor": "", "efficiency": "", "factor": ""},
    "OWN_FACTOR_WIDER": {"areakit bottle factor": ""},
    "OWN_FACTOR_OUTLIERS": {"areakit bottle factor": ""},
    "RECORD_NOT_ASKED": {"areakit job check": ""},
    "BRUSH_EFFICIENCY_SPAN": {"factor": "", "efficiency": "", "solution": ""},
    "EDGES_LEFT_OUT": {"sleeve_thickness": "3 mm"},
    "FACES_NOT_STATED": {"part": "", "faces": "all"},
    "METAL_NOT_PRICED": {"metal_price.{metal}": "75.30 EUR/g"},
    "PRICE_STALE": {"metal_price.{metal}": "", "price_date": "2026-01-31"},
    "PRICE_IN_FUTURE": {"price_date": "2026-01-31"},
    "NO_CHARGE_TIME": {"footprint": "4 cm2", "current_density.{metal}": "10 A/dm2"},
}


def flag(code: str, *, part: int | None = None, fields: Fields | None = None, **figures: object) -> Flag:
    """Return the flag ``code`` with its figures filled in; ``fields`` are those that differ from case to case.

    Raises KeyError if ``code`` or one of its figures is unknown: a defect, not a user's mistake.
    """
    message, remedy = _words(code, figures)
    return Flag(
        code=code,
        message=message,
        remedy=remedy,
        part=part,
        fields=fields or {key.format(**figures): text.format(**figures) for key, text in _FIELDS.get(code, {}).items()},
        figures={name: _plain(value) for name, value in figures.items()},
    )


def _words(code: str, figures: Mapping[str, object]) -> tuple[str, str]:
    message, remedy = _CATALOGUE[code]
    return message.format(**figures), remedy.format(**figures)


def _plain(value: object) -> float | str:
    if isinstance(value, Integral):
        return int(value)
    return float(value) if isinstance(value, Real) else str(value)


class _Span(tuple[Any, ...]):
    """Numbers that stand in the place of one: their smallest to their largest."""

    def __format__(self, how: str) -> str:
        return " to ".join(dict.fromkeys(format(one, how) for one in (min(self), max(self))))


def spanned(told: Sequence[Flag]) -> tuple[str, str]:
    """Return message and remedy of flags that have code and words alike, each number the span of theirs."""
    first = told[0]
    if not first.figures:
        return first.message, first.remedy
    figures = {
        name: value if isinstance(value, str) else _Span(one.figures[name] for one in told)
        for name, value in first.figures.items()
    }
    return _words(first.code, figures)


def with_figures(told: Flag, figures: Any) -> Flag:
    """Return a flag that was read back with its figures; without them where they do not give its words."""
    try:
        sound = all(isinstance(value, float | int | str) for value in figures.values())
        known = sound and _words(told.code, figures) == (told.message, told.remedy)
    except (AttributeError, KeyError, OverflowError, TypeError, ValueError):
        known = False
    return replace(told, figures=dict(figures)) if known else told


def place_asked(told: Flag) -> str | None:
    """Return the point ``x,y`` that a flag asks about, as an answer names it, in mm of the sheet; None for others."""
    return told.fields.get("metal") if told.code in ASKS_A_PLACE else None


def known_codes() -> tuple[str, ...]:
    """Return every code, in the order of the catalogue."""
    return tuple(_CATALOGUE)
