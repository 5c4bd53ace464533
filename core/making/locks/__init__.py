"""How parts are held on their shafts: what each kind of hold bears, whether it slips, what
room it needs, and which one to choose."""

from core.making.locks.advise import Advice, Option, advise
from core.making.locks.capacity import Capacity, Member, Seat, capacity
from core.making.locks.check import IN_USE, LockCheck, Locks, Verdict, lock_checks, locks_of
from core.making.locks.drill import Access, access
from core.making.locks.holds import Hold, holds
from core.making.locks.room import Need, Room

__all__ = ["IN_USE", "Access", "Advice", "Capacity", "Hold", "LockCheck", "Locks", "Member",
           "Need", "Option", "Room", "Seat", "Verdict", "access", "advise", "capacity", "holds",
           "lock_checks", "locks_of"]
