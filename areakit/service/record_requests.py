"""What the record can be told, each field once, as in ``measure_request``."""

from dataclasses import dataclass
from typing import Annotated

from areakit.service.asked import About, Text, Texts, Whole

# fmt: off
REMARKS = About("Anything else.")
_VOLTAGE = About("Voltage as read.", example="8 V", shape="VOLTAGE")
_TEMPERATURE = About("Temperature of the solution.", example="55 °C", shape="T")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewJob:
    """An order as it comes in; with ``like`` what is not said is as in the pattern."""

    part: Annotated[str, About("What the part is.", typed=False)] = ""
    quantity: Annotated[Whole, About(
        "Number of equal pieces.", "1, or as the pattern", shape="N", also="pieces",
    )] = None
    like: Annotated[str, About(
        "A job to repeat: its part, area, masks, plan, price and notes.", example="J12", shape="NUMBER",
    )] = ""
    customer: Annotated[str, About("The customer's reference.", example="order 77")] = ""
    base: Annotated[str, About("Base metal.", example="brass", shape="METAL")] = ""
    condition: Annotated[str, About("As it came in.", example="worn gold, solder at the pin")] = ""
    date: Annotated[Text, About("Of the order.", "today", example="2026-03-14", shape="DATE")] = None
    number: Annotated[Text, About("Job number.", "the next of the year")] = None
    remarks: Annotated[str, REMARKS] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRequest:
    """A step as it is begun: text with units. What the plan knows need not be typed."""

    step: Annotated[Whole, About("Number of the step in the job's plan.", shape="N")] = None
    title: Annotated[Text, About("Its name, where it is not in the plan.")] = None
    metal: Annotated[Text, About("What it plates.", "as planned", shape="METAL")] = None
    solution: Annotated[Text, About("Solution.", "as planned, or as the bottle says", shape="NAME")] = None
    bottle: Annotated[Text, About("Bottle; it is checked before the start.", shape="LABEL")] = None
    brush: Annotated[Text, About("Brush, by its name in the shop profile.", "as planned", shape="NAME")] = None
    voltage: Annotated[Text, _VOLTAGE] = None
    temperature: Annotated[Text, _TEMPERATURE] = None
    pieces: Annotated[Whole, About("Pieces in this run.", "all of the job", shape="N")] = None
    target: Annotated[Text, About(
        "Charge for the whole run.", "as planned", example="3.2 A.min", shape="CHARGE",
    )] = None
    charge: Annotated[Text, About(
        "By an ampere-minute meter, in place of readings.", example="3.2 ± 0.1 A.min", shape="CHARGE",
    )] = None
    efficiency: Annotated[Text, About(
        "Cathode efficiency.", "as planned", example="72 % ± 6 %", shape="VALUE",
    )] = None
    meter: Annotated[Text, About("Expanded uncertainty of the ammeter.", "4 %", example="2%", shape="U")] = None
    meter_step: Annotated[Text, About(
        "Last digit of the ammeter.", "0.1 A", example="0.01 A", shape="CURRENT",
    )] = None
    pause_limit: Annotated[Text, About(
        "Longest pause that needs no new activation.", "by the metal and step", example="90 s", shape="TIME",
    )] = None
    at: Annotated[Text, About("When it began.", "now", example="09:30", shape="TIME")] = None
    despite: Annotated[Text, About("Begin although a check says stop; the reason is kept.", shape="REASON")] = None
    remarks: Annotated[str, REMARKS] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRequest:
    """A current as it is read, or its end."""

    current: Annotated[Text, About("The current that flows from now on; 0 A ends it.", typed=False)] = None
    run: Annotated[Whole, About("Entry number of the step.", "the last one", shape="N")] = None
    stop: Annotated[bool, About("The current was cut at this moment; 0 A means the same.")] = False
    at: Annotated[Text, About("When it was read.", "now", example="09:30:15", shape="TIME")] = None
    voltage: Annotated[Text, _VOLTAGE] = None
    temperature: Annotated[Text, _TEMPERATURE] = None
    remarks: Annotated[str, REMARKS] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCoupon:
    """A coupon plated from a bottle outside a job, and weighed: text with units."""

    charge: Annotated[str, About("That was run.", example="3.2 ± 0.1 A.min", shape="CHARGE")]
    gain: Annotated[str, About("What the coupon gained.", example="4.1 ± 0.2 mg", shape="MASS")]
    brush: Annotated[str, About("Brush that led it, by its name in the shop profile.", shape="NAME")] = ""
    remarks: Annotated[str, REMARKS] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCopyCheck:
    """Both check lengths of a sheet copy, as they were read."""

    name: Annotated[str, About("What is written on the sheet copy.", typed=False)]
    sheet: Annotated[str, About("Printed on the sheet.", example="A5-r1", shape="CODE")]
    lengths: Annotated[str, About(
        "Both check lengths as read, along x and along y.", example="150.2 x 89.9 mm", shape="X x Y",
    )]
    uncertainty: Annotated[Text, About("Expanded, of one reading; default 0.2 mm.", example="0.1 mm", shape="U")] = None
    date: Annotated[Text, About("Day of the reading; default: today.", example="2026-03-14", shape="DATE")] = None
    with_what: Annotated[str, About("The ruler or calliper.", example="steel ruler", one="with")] = ""
    remarks: Annotated[str, REMARKS] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewBottle:
    """A bottle as it comes in: text with units. ``contains`` are keys of what else is in it, for its cautions."""

    label: Annotated[str, About("What stands on it.", typed=False)]
    solution: Annotated[str, About(
        "Name of the solution, as on its label; what a stored solution of this name says is taken.", shape="NAME",
    )]
    volume: Annotated[str, About("In the bottle.", example="500 ± 5 mL", shape="VOLUME")]
    metal: Annotated[str, About("What it deposits, unless stored.", example="gold", shape="METAL")] = ""
    bath: Annotated[str, About("Kind of bath.", example="gold-cyanide", shape="BATH")] = ""
    lot: Annotated[str, About("Lot or batch.", example="31")] = ""
    metal_content: Annotated[Text, About("Metal in the solution.", example="8.2 ± 0.2 g/L", shape="VALUE")] = None
    allowed_charge: Annotated[Text, About(
        "For the bottle, or for a litre.", example="5 A.h/L", shape="CHARGE",
    )] = None
    usable_fraction: Annotated[Text, About(
        "Of the metal, before the solution is spent.", "what is usual", example="30%", shape="SHARE",
    )] = None
    expiry: Annotated[Text, About("Last day of use.", example="2027-06-30", shape="DATE")] = None
    recovered: Annotated[bool, About("It holds run-off that was caught, not fresh solution.")] = False
    contains: Texts = ()
    remarks: Annotated[str, REMARKS] = ""
