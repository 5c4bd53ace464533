"""How checks are put in words and numbers."""

from __future__ import annotations

import math

from core.making.ranges import show_folds, show_load, show_range
from core.making.strength.check import Check, CheckKind, Strength, Verdict
from core.materials.names import TRUST_WORDS

#: Kind -> what it is called in a table.
NAMES: dict[CheckKind, str] = {
    "rod-torsion": "twisted", "rod-jam": "twisted in a jam", "rod-bending": "bent",
    "rod-shear": "sheared", "rod-twist": "winds up",
    "rod-slope": "bent askew", "bearing": "pressed by its rod",
    "tear-out": "torn out to the edge", "wag": "wags with its play",
    "link-stress": "pulled, pressed, bent", "link-buckling": "buckles",
    "neck": "broken at short grain", "tooth": "bent by the mesh",
    "hinge-screws": "pulled out"}
#: Verdict -> the word shown beside its sign.
WORDS: dict[Verdict, str] = {"breaks": "gives way", "doubtful": "may give way",
                             "near": "little in hand", "holds": "holds"}


def show_safety(check: Check) -> str:
    """The safety of a check, as :func:`core.making.ranges.show_folds`."""
    return show_folds(*check.safety)


def sentence(check: Check, units: str = "mm") -> str:
    """What a check says, in one sentence in the sketch's units."""
    told = (f"{check.thing}: {NAMES[check.kind]}, {show_load(check.value, check.unit, units)}"
            f" at {math.degrees(check.crank_rad):.0f}°")
    if check.kind == "wag":
        return f"{told[:told.rindex(' at ')]}; {_felt(check, units)}."
    if check.soft:
        return f"{told}; {_felt(check, units)}."
    return (f"{told}; it gives way at {show_range(*check.gives, check.unit, units)},"
            f" a safety of {show_safety(check)}.")


def _felt(check: Check, units: str) -> str:
    """What a stiffness or play is held against."""
    limit = show_range(*check.gives, check.unit, units)
    if check.kind == "wag":
        return f"the gap wanted is {limit}"
    return (f"the bore has play for {limit}" if check.kind == "rod-slope"
            else f"{limit} is felt")


def headline(strength: Strength) -> str:
    """How many checks there are and what they come to, a sentence or two."""
    if not strength.checks:
        return "Nothing was checked."
    counts = {word: sum(one.verdict == verdict and not one.soft for one in strength.checks)
              for verdict, word in WORDS.items()}
    felt = sum(one.verdict != "holds" and one.soft for one in strength.checks)
    told = [f"{counts[word]} {word if counts[word] == 1 else _MANY[word]}"
            for word in list(WORDS.values())[:-1] if counts[word]]
    if felt:
        told.append(f"{felt} may be felt")
    many = len(strength.checks)
    if many == 1 and not told:
        return "1 check: it holds."
    if len(told) and sum(counts[word] for word in list(WORDS.values())[:-1]) + felt < many:
        told.append("the rest hold")
    return f"{many} {'check' if many == 1 else 'checks'}: {', '.join(told) or 'all hold'}."


_MANY = {"gives way": "give way", "may give way": "may give way",
         "little in hand": "with little in hand"}


def details(check: Check, units: str = "mm") -> str:
    """All that is known of a check, several lines."""
    low, high = check.needed
    lines = [f"{check.thing}: {NAMES[check.kind]}",
             f"{'Up to' if check.soft else 'Load'} {show_load(check.value, check.unit, units)}"
             + (f" at {math.degrees(check.crank_rad):.1f}°." if check.kind != "wag" else ".")]
    if check.soft:
        lines[1] += f" {_felt(check, units).capitalize()}."
    else:
        gives = show_range(*check.gives, check.unit, units)
        lines[1] += f" Gives way at {gives}: a safety of {show_safety(check)}."
        asked = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        lines.append(f"A safety of {asked} is usual for this material:"
                     f" {show_load(check.allowed[0], check.unit, units)} may be built on;"
                     f" {100 * min(check.share, 99.99):.0f} % of that is used.")
    lines += [f"Reckoned as {check.formula}", f"From: {check.source}",
              f"Trust: {TRUST_WORDS[check.trust]}."]
    return "\n".join(line if line.endswith((".", "…")) or k == 0 else f"{line}."
                     for k, line in enumerate(lines))
