"""Colours and type: light paper or dark slate, findings in the Okabe–Ito palette."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette

FAMILY = "IBM Plex Sans"


@dataclass(frozen=True)
class Theme:
    """Every colour of the window as ``#rrggbb``; the properties give QColors.

    Text colours (`ink`, `faint`, `fault_text`, …) keep a contrast of at least 4.5:1
    on `paper` and `panel` (WCAG 2.2, success criterion 1.4.3), and so does `wish`; `fault`,
    `warning`, `good` and `accent` fill shapes and lines.
    """

    name: str
    dark: bool
    paper_hex: str
    panel_hex: str
    field_hex: str
    ink_hex: str
    faint_hex: str
    grid_hex: str
    rule_hex: str
    brass_hex: str
    accent_hex: str
    accent_text_hex: str
    fault_hex: str
    fault_text_hex: str
    warning_hex: str
    warning_text_hex: str
    note_hex: str
    good_hex: str
    path_hex: str
    wish_hex: str
    woods: tuple[str, ...]

    @property
    def paper(self) -> QColor:
        """Ground of the canvas."""
        return QColor(self.paper_hex)

    @property
    def panel(self) -> QColor:
        """Ground of bench, particulars and strip."""
        return QColor(self.panel_hex)

    @property
    def field(self) -> QColor:
        """Ground of boxes one types into."""
        return QColor(self.field_hex)

    @property
    def ink(self) -> QColor:
        """Text and outlines."""
        return QColor(self.ink_hex)

    @property
    def faint(self) -> QColor:
        """Secondary text and thin symbols."""
        return QColor(self.faint_hex)

    @property
    def grid(self) -> QColor:
        """Grid lines on the paper."""
        return QColor(self.grid_hex)

    @property
    def rule(self) -> QColor:
        """Edges between panels."""
        return QColor(self.rule_hex)

    @property
    def brass(self) -> QColor:
        """Pins and shafts."""
        return QColor(self.brass_hex)

    @property
    def accent(self) -> QColor:
        """Selection, focus, the crank."""
        return QColor(self.accent_hex)

    @property
    def fault(self) -> QColor:
        """Vermilion: what will not work."""
        return QColor(self.fault_hex)

    @property
    def fault_text(self) -> QColor:
        """Vermilion dark (or light) enough to read."""
        return QColor(self.fault_text_hex)

    @property
    def warning(self) -> QColor:
        """Orange: what works badly."""
        return QColor(self.warning_hex)

    @property
    def warning_text(self) -> QColor:
        """Orange dark (or light) enough to read."""
        return QColor(self.warning_text_hex)

    @property
    def note(self) -> QColor:
        """Sky blue: worth knowing."""
        return QColor(self.note_hex)

    @property
    def good(self) -> QColor:
        """Bluish green: in order."""
        return QColor(self.good_hex)

    @property
    def path(self) -> QColor:
        """Traced paths, in ink."""
        return QColor(self.path_hex)

    @property
    def wish(self) -> QColor:
        """Reddish purple, dark (or light) enough to read: what is wanted, always dashed."""
        return QColor(self.wish_hex)

    def wood(self, layer: int) -> QColor:
        """Fill of a part in that layer; neighbouring layers differ in tone."""
        return QColor(self.woods[layer % len(self.woods)])

    def grade(self, grade: str) -> QColor:
        """Mark colour of a finding: "fault", "warning" or "note"."""
        return {"fault": self.fault, "warning": self.warning}.get(grade, self.note)


LIGHT = Theme(
    name="light", dark=False,
    paper_hex="#f8f4ea", panel_hex="#efe9dc", field_hex="#fdfbf5", ink_hex="#2a2723",
    faint_hex="#655e53", grid_hex="#e6dfcf", rule_hex="#cfc6b3", brass_hex="#c39a3b",
    accent_hex="#0072b2", accent_text_hex="#ffffff",
    fault_hex="#d55e00", fault_text_hex="#a54400",
    warning_hex="#e69f00", warning_text_hex="#815600",
    note_hex="#56b4e9", good_hex="#009e73", path_hex="#1f4e79",
    wish_hex="#9d3f77",
    woods=("#e9d3a8", "#d9b884", "#f0e0c0", "#c99f70", "#e2c193", "#b98a60", "#dccaa0"),
)

DARK = Theme(
    name="dark", dark=True,
    paper_hex="#22282c", panel_hex="#2a3136", field_hex="#1c2124", ink_hex="#ece6d8",
    faint_hex="#a9adab", grid_hex="#2d3539", rule_hex="#414b51", brass_hex="#d8b45a",
    accent_hex="#56b4e9", accent_text_hex="#10181d",
    fault_hex="#d55e00", fault_text_hex="#ff9a57",
    warning_hex="#e69f00", warning_text_hex="#f0b840",
    note_hex="#56b4e9", good_hex="#2fbf94", path_hex="#9fd3f5",
    wish_hex="#e79fc9",
    woods=("#a48a60", "#8a6f4a", "#b39c74", "#775a3c", "#967a55", "#684c34", "#9c8a66"),
)

THEMES = {"light": LIGHT, "dark": DARK}


@cache
def load_font() -> str:
    """Load the bundled font once; its family name (needs a QGuiApplication)."""
    fonts = files("assets").joinpath("fonts")
    for name in ("IBMPlexSans-Regular.ttf", "IBMPlexSans-SemiBold.ttf"):
        QFontDatabase.addApplicationFontFromData(fonts.joinpath(name).read_bytes())
    return FAMILY


def font(size_pt: float = 10.0, bold: bool = False) -> QFont:
    """The bundled font at a size in points."""
    face = QFont(load_font())
    face.setPointSizeF(size_pt)
    face.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
    return face


def palette(theme: Theme) -> QPalette:
    """The Qt palette of a theme, so that every stock widget follows it."""
    role, colours = QPalette.ColorRole, QPalette()
    for where, colour in (
        (role.Window, theme.panel), (role.WindowText, theme.ink), (role.Base, theme.field),
        (role.AlternateBase, theme.paper), (role.Text, theme.ink), (role.Button, theme.panel),
        (role.ButtonText, theme.ink), (role.ToolTipBase, theme.field),
        (role.ToolTipText, theme.ink), (role.PlaceholderText, theme.faint),
        (role.Highlight, theme.accent), (role.HighlightedText, QColor(theme.accent_text_hex)),
        (role.Link, theme.accent), (role.Mid, theme.rule), (role.Dark, theme.rule),
        (role.Light, theme.field), (role.Midlight, theme.grid), (role.Shadow, theme.rule),
        (role.Accent, theme.accent), (role.BrightText, theme.fault),
    ):
        colours.setColor(where, colour)
    for where in (role.Text, role.WindowText, role.ButtonText):
        colours.setColor(QPalette.ColorGroup.Disabled, where, theme.rule.darker(125)
                         if not theme.dark else theme.rule.lighter(150))
    return colours


def _asset(name: str) -> str:
    return str(files("assets").joinpath(name)).replace("\\", "/")


def stylesheet(theme: Theme) -> str:
    """The few rules the palette cannot say."""
    return f"""
    QToolTip {{ color: {theme.ink_hex}; background: {theme.field_hex};
               border: 1px solid {theme.rule_hex}; padding: 4px; }}
    QMainWindow::separator {{ background: {theme.rule_hex}; width: 1px; height: 1px; }}
    QMenuBar {{ background: {theme.panel_hex}; border-bottom: 1px solid {theme.rule_hex}; }}
    QMenuBar::item {{ padding: 5px 10px; background: transparent; }}
    QMenuBar::item:selected {{ background: {theme.grid_hex}; }}
    QMenu {{ background: {theme.field_hex}; border: 1px solid {theme.rule_hex}; padding: 4px; }}
    QMenu::item {{ padding: 5px 28px 5px 22px; border-radius: 3px; }}
    QMenu::item:selected {{ background: {theme.accent_hex}; color: {theme.accent_text_hex}; }}
    QMenu::item:disabled {{ color: {theme.faint_hex}; }}
    QMenu::separator {{ height: 1px; background: {theme.rule_hex}; margin: 4px 8px; }}
    QStatusBar {{ border-top: 1px solid {theme.rule_hex}; }}
    QStatusBar::item {{ border: none; }}
    QLineEdit, QPlainTextEdit {{
        background: {theme.field_hex}; border: 1px solid {theme.rule_hex};
        border-radius: 3px; padding: 3px 6px; selection-background-color: {theme.accent_hex};
        selection-color: {theme.accent_text_hex}; }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 1px solid {theme.accent_hex}; }}
    QAbstractSpinBox QLineEdit, QComboBox QLineEdit {{ border: none; padding: 0; }}
    QLineEdit[wrong="true"] {{ border: 2px solid {theme.fault_hex}; }}
    QLabel[role="error"] {{ color: {theme.fault_text_hex}; }}
    QLabel[role="faint"] {{ color: {theme.faint_hex}; }}
    QLabel[role="heading"] {{ font-weight: 600; padding: 6px 0 0 0; qproperty-indent: 0; }}
    QLabel[role="name"] {{ font-weight: 600; qproperty-indent: 0; }}
    QPushButton, QToolButton {{
        border: 1px solid {theme.rule_hex}; border-radius: 4px; padding: 4px 9px;
        background: {theme.field_hex}; }}
    QPushButton:hover, QToolButton:hover {{ background: {theme.grid_hex}; }}
    QToolButton::menu-indicator {{ image: none; }}
    QCheckBox::indicator, QAbstractItemView::indicator {{
        width: 15px; height: 15px; border: 1px solid {theme.faint_hex};
        border-radius: 3px; background: {theme.field_hex}; }}
    QCheckBox::indicator:focus {{ border: 2px solid {theme.accent_hex}; }}
    QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{
        background: {theme.accent_hex}; border: 1px solid {theme.accent_hex};
        image: url("{_asset(f"tick-{theme.name}.svg")}"); }}
    QCheckBox::indicator:indeterminate {{ image: url("{_asset("some.svg")}"); }}
    QCheckBox:focus {{ color: {theme.accent_hex}; }}
    FindingCard {{ border: 1px solid transparent; border-radius: 4px; }}
    FindingCard:hover {{ background: {theme.grid_hex}; }}
    FindingCard:focus {{ border: 1px solid {theme.accent_hex}; }}
    QPushButton:focus, QToolButton:focus {{ border: 1px solid {theme.accent_hex}; }}
    QPushButton:checked, QToolButton:checked {{
        background: {theme.accent_hex}; color: {theme.accent_text_hex};
        border: 1px solid {theme.accent_hex}; }}
    QToolButton:checked:focus {{ border: 2px solid {theme.ink_hex}; }}
    QPushButton:disabled, QToolButton:disabled {{ color: {theme.faint_hex};
        background: transparent; }}
    QScrollArea {{ border: none; background: transparent; }}
    QScrollArea > QWidget > QWidget {{ background: {theme.panel_hex}; }}
    QAbstractItemView {{ border: 1px solid {theme.rule_hex}; border-radius: 3px;
        background: {theme.field_hex}; outline: none; }}
    QTreeView::item {{ padding: 3px 0; }}
    QHeaderView::section {{ background: {theme.panel_hex}; border: none;
        border-bottom: 1px solid {theme.rule_hex}; padding: 3px 5px;
        color: {theme.faint_hex}; }}
    """


def _channel(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def contrast(one: QColor, other: QColor) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, relative luminance)."""
    light = sorted(
        0.2126 * _channel(c.redF()) + 0.7152 * _channel(c.greenF())
        + 0.0722 * _channel(c.blueF())
        for c in (one, other)
    )
    return (light[1] + 0.05) / (light[0] + 0.05)
