"""One note of the log, as far as progress is concerned: what was asked, what was judged, in which session."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from pedal.verdicts.verdict import Kind, Verdict

Skill = Literal["bend", "prebend", "curl"]
SKILL_OF_KIND: dict[Kind, Skill] = {
    "bend": "bend",
    "bend_release": "bend",
    "prebend": "prebend",
    "prebend_release": "prebend",
    "curl": "curl",
}
_HITS = {"true"}
_JUDGED = {"true", "near", "flat", "sharp", "released"}


@dataclass(frozen=True)
class LoggedNote:
    """A judged note. `session` counts sessions in the order they were played; `position` and `string` where known.

    Without slots, so that what is asked of every note a dozen times is found out once: a log holds 100,000 and more.
    """

    session: int
    mode: str
    key: str
    verdict: Verdict
    position: int | None = None
    string: int | None = None

    @cached_property
    def skill(self) -> Skill | None:
        """Which of the three bends it was; None for a level note, a slide, and whatever could not be judged."""
        return SKILL_OF_KIND.get(self.verdict.kind) if self.verdict.verdict in _JUDGED else None

    @cached_property
    def target(self) -> str:
        """What was aimed at, in degrees of the key: "b7→1", "b3 curl", "pre-bend b7→1"; "" if it is no bend."""
        rest, goal = self.verdict.degree or "", self.verdict.target_degree or ""
        match self.skill:
            case "curl":
                return f"{rest} curl"
            case "bend":
                return f"{rest}→{goal}"
            case "prebend":
                return f"pre-bend {rest}→{goal}"
            case None:
                return ""

    @cached_property
    def error_cents(self) -> float | None:
        """How far off it arrived; None for a curl, which has a zone and no target."""
        return None if self.skill in (None, "curl") else self.verdict.error_cents

    @property
    def hit(self) -> bool:
        """Whether it was called true."""
        return self.verdict.verdict in _HITS

    @property
    def released(self) -> bool:
        """Whether a curl came down before it was cut off: the one miss that height cannot mend."""
        return self.verdict.verdict == "released"
