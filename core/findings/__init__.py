"""What the maker should know before cutting wood, each with its crank angle and mend."""

from core.findings.crank import goes_round
from core.findings.finding import Finding, Grade, Mend
from core.findings.gather import findings

__all__ = ["Finding", "Grade", "Mend", "findings", "goes_round"]
