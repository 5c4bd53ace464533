"""Coins as weights: everybody has some, and each is exactly as heavy as it says."""

from __future__ import annotations

from core.pleasant.options import OwnMass

#: Where mass, diameter and thickness are from, and how far they can be trusted.
SOURCE = "dimensions the mints publish; from memory"
#: Name -> mass g, diameter mm, thickness mm.
_COINS: dict[str, dict[str, tuple[float, float, float]]] = {
    "euro": {
        "1 cent": (2.30, 16.25, 1.67), "2 cent": (3.06, 18.75, 1.67),
        "5 cent": (3.92, 21.25, 1.67), "10 cent": (4.10, 19.75, 1.93),
        "20 cent": (5.74, 22.25, 2.14), "50 cent": (7.80, 24.25, 2.38),
        "1 euro": (7.50, 23.25, 2.33), "2 euro": (8.50, 25.75, 2.20),
    },
    "dollar": {
        "1 cent": (2.500, 19.05, 1.52), "5 cent": (5.000, 21.21, 1.95),
        "10 cent": (2.268, 17.91, 1.35), "25 cent": (5.670, 24.26, 1.75),
    },
}
#: The kinds of money there are.
MONEY = tuple(_COINS)
#: So many of one coin at most in a stack.
_STACK = 6


def coins(money: str) -> tuple[OwnMass, ...]:
    """One to six coins of every kind of a `money` (one of `MONEY`), let in whole: coins are
    not to be drilled, which is against the law in places.

    Raises KeyError for an unknown money.
    """
    return tuple(
        OwnMass(f"coin ({name})" if count == 1 else f"{count} coins ({name})",
                count * grams / 1000, diameter, count * thick)
        for name, (grams, diameter, thick) in _COINS[money].items()
        for count in range(1, _STACK + 1))
