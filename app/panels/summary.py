"""One line about the whole mechanism, at the end of the status bar."""

from __future__ import annotations

import math

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QLabel, QWidget

from app.session import Session
from core import units


class Summary(QLabel):
    """Whether it goes round, peak torque, smallest gap, wishes met."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setProperty("role", "faint")
        self.setContentsMargins(8, 0, 10, 0)
        session.study_changed.connect(self.refresh)
        session.turn_changed.connect(self.refresh)

    @Slot()
    def refresh(self) -> None:
        """Write the line anew."""
        session, told = self._session, []
        sketch, turn, study = session.sketch, session.turn, session.study
        if sketch.drive is None:
            self.setText("no crank yet" if sketch.parts else "")
            return
        if session.trouble:
            self.setText("does not turn")
            return
        if turn.limits:
            told.append("locks")
        elif sketch.drive.kind == "rock":
            told.append("rocks freely")
        else:
            turns = turn.crank_turns
            told.append("goes all round" if turns == 1 else f"repeats after {turns} turns")
        if study is not None and study.effort is not None \
                and math.isfinite(study.effort.peak_nmm):
            told.append(f"peak {units.show_torque(study.effort.peak_nmm, sketch.units)}")
        if study is not None and study.gaps is not None and study.gaps.pairs:
            least = min(pair.smallest_mm for pair in study.gaps.pairs)
            told.append(f"gap {units.show_length(least, sketch.units)}")
        if study is not None and study.wanted:
            met = sum(one.met for one in study.wanted)
            told.append(f"{met} of {len(sketch.wanted)} wishes met")
        self.setText("   ·   ".join(told))
