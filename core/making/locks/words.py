"""What one buys and does for each kind of hold, in a maker's words."""

from __future__ import annotations

from core.making.locks import stock
from core.making.locks.capacity import BOSS_TIMES, COLLARED
from core.making.locks.check import LockCheck
from core.making.locks.holds import seat
from core.model import Sketch
from core.units import show_length

#: Kind -> how it is called.
NAMES = {
    "glued": "glue in a smooth bore", "pinned": "cross pin", "spring-pinned": "spring pin",
    "screwed": "set screw on a flat", "flat": "D-shaped bore", "keyed": "key",
    "square": "square end", "hex": "hexagonal end", "clamped": "clamp collar",
    "cottered": "splitting cotter", "faces": "glue between the faces"}


def named(kind: str, size_mm: float, units: str) -> str:
    """A hold with its size: "2 mm cross pin"."""
    name = NAMES.get(kind, kind)
    if kind == "pinned":
        return f"{show_length(size_mm, units)} {name}"
    if kind == "spring-pinned":
        return f"{size_mm:g} mm {name}"  # they are sold so
    if kind == "screwed":
        return f"M{size_mm:g} {name}"
    if kind in ("square", "hex"):
        return f"{name} of {show_length(size_mm, units)}"
    return name


def to_do(sketch: Sketch, check: LockCheck, length_mm: float | None,
          parts: tuple[str, ...] = ()) -> str:
    """What to buy and what to do for a part, or for several held alike, in two or three
    sentences."""
    units, hold = sketch.units, check.hold
    d, size, kind = hold.rod.diameter_mm, check.bears.size_mm, check.bears.kind
    part = " and ".join(parts) or hold.name
    if kind == "faces":
        return (f"Glue {part} to each other face to face with wood glue, on the shaft so that"
                " the bores agree, and clamp them. The shaft itself carries no torque.")

    def show(mm: float) -> str:
        return show_length(mm, units)

    sits = seat(sketch, hold, length_mm)
    one = f"each of {part}" if len(parts) > 1 else part
    boss = (f" First glue a boss of the same wood on {one}, {show(sits.boss_mm)} thick and"
            f" {show(BOSS_TIMES * d)} across." if sits.boss_mm else "")
    if kind in ("pinned", "spring-pinned"):
        long = d + 2.0 * min(sits.wall_mm, d)
        buy = (f"Steel pin or nail, {show(size)} by {show(long)}" if kind == "pinned" else
               f"Slotted spring pin ISO 8752, {size:g} mm by {long:.0f} mm")
        fast = "press it in with a drop of glue" if kind == "pinned" else "tap it in"
        through = "the boss" if sits.boss_mm else f"the edge of {part}"
        hole = show(size) if kind == "pinned" else f"{size:g} mm"
        return (f"{buy}.{boss} Fit {part} on the shaft, drill {hole} through {through}"
                f" and the shaft in one go, and {fast}.")
    if kind in COLLARED and not sits.metal_hub:
        ring = stock.collar(d)
        if kind == "screwed":
            what, fast = f"an M{size:g} set screw", (
                "File a flat on the shaft for the screw, or it works loose.")
        else:
            what = "a clamping slot and screw"
            fast = "Draw the screw up hard; no flat needed."
        high = show(ring.width_mm + stock.FLANGE_MM)
        return (f"Flanged collar for {show(d)}, {show(ring.outer_mm)} across and {high} high,"
                f" with {what}. Screw its flange to {one} with"
                f" {stock.FLANGE_SCREWS} screws of {show(stock.FLANGE_SCREW_MM)}. {fast}")
    if kind == "screwed":
        return (f"Tap {part} M{size:g}, file a flat on the shaft, and set the screw with thread"
                " lock.")
    if kind == "clamped":
        return f"Slit {part} to the bore and draw it together with an M{size:g} screw."
    if kind == "glued":
        return (f"{boss} Roughen the shaft and the bore, leave 0.05 to 0.15 mm for the glue,"
                " degrease, and use epoxy.").strip()
    if kind == "flat":
        return (f"{boss} File a flat {show(0.1 * d)} deep on the shaft and cut the bore to"
                " match.").strip()
    if kind == "keyed":
        w, h = stock.key_mm(d)
        return (f"Key steel {show(w)} by {show(h)}.{boss} Cut a keyway in the shaft and the"
                " bore.")
    if kind in ("square", "hex"):
        sides = "four" if kind == "square" else "six"
        across = "square" if kind == "square" else "across flats"
        return (f"{boss} File {sides} flats on the shaft's end, {show(size)} {across}, and cut"
                f" the bore to match; a ring or a washer keeps {part} on.").strip()
    return (f"{boss} Saw a slot across the shaft's end, as deep as the bore is long, and drive"
            f" a wedge {show(2 * size)} thick with glue into it once {part} is on.").strip()
