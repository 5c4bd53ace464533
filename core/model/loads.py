"""What drives and loads the mechanism."""

from __future__ import annotations

from typing import Literal

import msgspec


class _Named(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    id: str


class Drive(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True):
    """The crank: `part` turns about `pin`, whose other part is the frame.

    The crank angle grows counter-clockwise and is `drawn_deg` in the drawn pose.
    "turn": whole turns at `rpm` (negative: the hand turns clockwise). "rock": to and
    fro between `from_deg` and `to_deg`, |rpm| times a minute, as a harmonic swing.
    """

    pin: str
    part: str
    kind: Literal["turn", "rock"] = "turn"
    rpm: float = 20.0
    drawn_deg: float = 0.0
    from_deg: float = -30.0
    to_deg: float = 30.0


class Gravity(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
              forbid_unknown_fields=True):
    """Gravity in the sketch plane; magnitude 0 for a mechanism lying flat."""

    g_m_s2: float = 9.81
    direction_deg: float = -90.0


class Coil(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True):
    """How a spring is wound: wire diameter, mean diameter of the coils, mm, and active
    turns; `material` is the wire's."""

    wire_mm: float
    mean_mm: float
    turns: float
    material: str = "music-wire"


class Force(_Named, frozen=True):
    """A constant force on a point, N. With `turns_with_part` it keeps its direction
    to the part, else to the sketch frame."""

    at: str
    fx_n: float
    fy_n: float
    turns_with_part: bool = False


class Torque(_Named, frozen=True):
    """A constant torque on a part, N·mm, counter-clockwise positive. With `brakes` it is
    one of friction, such as a leather washer's: always against the turning of the part,
    whichever way that goes, and its sign says nothing."""

    part: str
    torque_nmm: float
    brakes: bool = False


class Spring(_Named, frozen=True):
    """A straight spring between two points of different parts.

    Pull = initial tension + rate × (length − free length). A spring that does not
    push (`pushes` False) is slack below its free length. `coil` says how it is wound, if
    that is known; the numbers above count.
    """

    a: str
    b: str
    rate_n_per_mm: float
    free_length_mm: float
    initial_tension_n: float = 0.0
    pushes: bool = False
    coil: Coil | None = None


class TorsionSpring(_Named, frozen=True):
    """A spring about a pin between two of its parts.

    Torque on `b` = −rate × (angle of b − angle of a − free_deg), angles being turns
    from the drawn pose, counter-clockwise; the opposite on `a`.
    """

    pin: str
    a: str
    b: str
    rate_nmm_per_deg: float
    free_deg: float = 0.0
    coil: Coil | None = None
