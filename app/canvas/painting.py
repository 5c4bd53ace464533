"""The whole picture, painter by painter, from the paper up."""

from __future__ import annotations

from PySide6.QtGui import QPainter, QPixmap

from app.canvas.frame import Frame
from app.canvas.paint_drives import paint_belt, paint_crank, paint_mesh, reserve_knob
from app.canvas.paint_grain import paint_grain_dial
from app.canvas.paint_joints import (
    paint_grounds,
    paint_lock,
    paint_pin,
    paint_slide,
    paint_slot,
    paint_slot_pin,
)
from app.canvas.paint_loads import (
    paint_force,
    paint_spring,
    paint_torque,
    paint_torsion_spring,
)
from app.canvas.paint_marks import (
    paint_findings,
    paint_locked,
    paint_tight_gaps,
    paint_twins,
)
from app.canvas.paint_paper import Pictures, paint_invitation, paint_paper
from app.canvas.paint_parts import (
    is_bright,
    paint_bright,
    paint_name,
    paint_part,
    paint_points,
    paint_ties,
)
from app.canvas.paint_paths import paint_paths
from app.canvas.paint_pinches import paint_pinches
from app.canvas.paint_weights import paint_weights
from app.canvas.paint_wishes import paint_wish_ground, paint_wishes
from core.model import Part, PinInSlot, part_of


class Ground:
    """Paper, picture, grid, and what is wanted as far as it lies under the parts, painted
    anew only when the view or they change."""

    def __init__(self) -> None:
        self.pictures = Pictures()
        self._key: tuple[object, ...] = ()
        self._held = QPixmap()

    def paint(self, painter: QPainter, frame: Frame) -> None:
        """Paint the ground."""
        ratio, wishes = frame.ratio, frame.look.shows("wishes")
        key = (frame.camera, frame.theme.name, frame.look.shows("grid"), frame.sketch.grid_mm,
               frame.sketch.underlay, self.pictures.folder, ratio,
               wishes and (frame.sketch.wanted, frame.sketch.zones))
        if key != self._key:
            size = (round(frame.camera.width * ratio), round(frame.camera.height * ratio))
            held = QPixmap(*size)
            held.setDevicePixelRatio(ratio)
            inner = QPainter(held)
            paint_paper(inner, frame, self.pictures)
            if wishes:
                paint_wish_ground(inner, frame)
            inner.end()
            self._held, self._key = held, key
        painter.drawPixmap(0, 0, self._held)


def paint_picture(painter: QPainter, frame: Frame) -> None:
    """Everything above the paper."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    sketch, hidden = frame.sketch, frame.look.hidden
    empty = not sketch.parts and sketch.underlay is None and not sketch.wanted
    if empty and not frame.busy:
        paint_invitation(painter, frame)
    paint_twins(painter, frame)
    _paint_stack(painter, frame)
    bright = [part for part in frame.stacked() if is_bright(frame, part)]
    for part in bright:
        paint_bright(painter, frame, part)
        paint_weights(painter, frame, part, bright=True)
    for belt in sketch.belts:
        paint_belt(painter, frame, belt)
    for mesh in sketch.meshes:
        paint_mesh(painter, frame, mesh)
    if frame.look.shows("paths"):
        paint_paths(painter, frame)
    if frame.look.shows("wishes"):
        paint_wishes(painter, frame)
    paint_grounds(painter, frame)
    reserve_knob(frame)
    for part in frame.stacked():
        paint_ties(painter, frame, part)
    _paint_joints(painter, frame)
    pinned = {ref for pin in sketch.pins for ref in pin.at}
    for part in sketch.parts:
        if part.id not in hidden:
            paint_points(painter, frame, part, pinned)
    paint_findings(painter, frame)
    paint_crank(painter, frame)
    for part in bright:
        paint_name(painter, frame, part)
    paint_locked(painter, frame)
    if not frame.busy:
        paint_grain_dial(painter, frame)
    paint_tight_gaps(painter, frame)
    paint_pinches(painter, frame)


def _paint_stack(painter: QPainter, frame: Frame) -> None:
    """Parts from the lowest layer up, each with the slots that are cut in it."""
    slots: dict[str, list[PinInSlot]] = {}
    for slot in frame.sketch.slots:
        slots.setdefault(part_of(slot.slot[0]), []).append(slot)
    for slide in frame.sketch.slides:
        if part_of(slide.along[0]) in frame.fixed:
            paint_slide(painter, frame, slide)
    named = frame.look.shows("labels")
    for part in sorted(frame.stacked(), key=_frame_first):
        paint_part(painter, frame, part)
        if part.weights:
            paint_weights(painter, frame, part)
        if named:
            paint_name(painter, frame, part)
        for slot in slots.get(part.id, ()):
            paint_slot(painter, frame, slot)
    for slide in frame.sketch.slides:
        if part_of(slide.along[0]) not in frame.fixed:
            paint_slide(painter, frame, slide)


def _frame_first(part: Part) -> bool:
    return not part.fixed


def _paint_joints(painter: QPainter, frame: Frame) -> None:
    sketch = frame.sketch
    for lock in sketch.locks:
        paint_lock(painter, frame, lock)
    for torsion in sketch.torsion_springs:
        paint_torsion_spring(painter, frame, torsion)
    for slot in sketch.slots:
        paint_slot_pin(painter, frame, slot)
    for pin in sketch.pins:
        if not all(part_of(ref) in frame.look.hidden for ref in pin.at):
            paint_pin(painter, frame, pin)
    for spring in sketch.springs:
        paint_spring(painter, frame, spring)
    for force in sketch.forces:
        paint_force(painter, frame, force)
    for torque in sketch.torques:
        paint_torque(painter, frame, torque)
