"""One note of the log, as far as progress is concerned: what was asked, what was judged, in which session."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from pedal.verdicts.verdict import Verdict

Skill = Literal["bend", "prebend", "curl"]
SKILL_OF_KIND: dict[str, Skill] = {
    "bend": "bend",
    "bend_release": "bend",
    "prebend": "prebend",
    "prebend_release": "prebend",
    "curl": "curl",
}
JUDGED = {"true", "near", "flat", "sharp", "released"}
"""Words of a verdict on a bend that could be judged."""


@dataclass(frozen=True)
class LoggedNote:
    """A judged note. `session` counts sessions in the order they were played; `position` and `string` where known.

    For the few that are looked at one by one; all of a log are `pedal.progress.tries.Tries`.
    """

    session: int
    mode: str
    key: str
    verdict: Verdict
    position: int | None
    string: int | None

    @cached_property
    def skill(self) -> Skill | None:
        """Which of the three bends it was; None for a level note, a slide, and whatever could not be judged."""
        return skill_of(self.verdict.kind, self.verdict.verdict)

    @cached_property
    def target(self) -> str:
        """What was aimed at, in degrees of the key: "b7→1", "b3 curl", "pre-bend to 1"; "" if it is no bend."""
        return target_name(self.skill, self.verdict.degree, self.verdict.target_degree)

    @cached_property
    def error_cents(self) -> float | None:
        """How far off it arrived; None for a curl, which has a zone and no target."""
        return None if self.skill in (None, "curl") else self.verdict.error_cents

    @property
    def hit(self) -> bool:
        """Whether it was called true."""
        return self.verdict.verdict == "true"

    @property
    def released(self) -> bool:
        """Whether a curl came down before it was cut off: the one miss that height cannot mend."""
        return self.verdict.verdict == "released"


def skill_of(kind: str, verdict: str) -> Skill | None:
    """Which of the three bends a kind is, if its verdict is one of a bend that could be judged."""
    return SKILL_OF_KIND.get(kind) if verdict in JUDGED else None


def target_name(skill: Skill | None, degree: str | None, target_degree: str | None) -> str:
    """The name of what was aimed at, in degrees of the key; "" for no skill."""
    rest, goal = degree or "", target_degree or ""
    match skill:
        case "curl":
            return f"{rest} curl"
        case "bend":
            return f"{rest}→{goal}"
        case "prebend":
            # Whether the fretted note was heard, after a release, does not make it another target.
            return f"pre-bend to {goal}"
        case None:
            return ""
