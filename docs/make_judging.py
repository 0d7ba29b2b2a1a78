"""Draws the pictures of docs/judging.md: made plucks go through the real chain, and what counted is marked.

Run from the repository: `python docs/make_judging.py [FOLDER]`. The line is the pitch as it was heard.
A thick stretch between two stops is what counted; a dashed line is the target; the sentence is the pedal's own.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path

import numpy as np

from pedal.chain import Chain
from pedal.notes.event import End
from pedal.notes.note import Note
from pedal.pitch import Reading
from pedal.synth.score import PLAIN_GUITAR, Expected, Leg, Shake, Stroke, play
from pedal.theory.cents import hz_of
from pedal.theory.scale import parse_key
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Aim, Bands, JudgeAs, Target
from pedal.verdicts.verdict import Verdict

RATE, LEAD_S, TAIL_S = 48000, 0.25, 0.4
WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 470, 250, 52, 40, 66, 66
INK, SOFT, PAPER = "#16181d", "#8a919c", "#ffffff"
LETTERS_A_LINE = 58
GAP_S = 0.012
BLUE = (Bands().zone_low_cents, Bands().zone_high_cents)


Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Scene:
    """One panel: its title, a stroke, how it is judged. `damp_s`: a hand takes the string down so slowly."""

    title: str
    stroke: Stroke
    judge_as: JudgeAs = "watch"
    target: Target | None = None
    damp_s: float = 0.0


def pluck(*legs: Leg, fret: int = 5, midi: int = 60, **more: object) -> Stroke:
    """A stroke on the third string; C4 at the fifth fret unless said."""
    return replace(Stroke(LEAD_S, 3, fret, midi, legs, Expected("unclear")), **more)  # type: ignore[arg-type]


def b_flat(*legs: Leg) -> Stroke:
    """The minor third of G, at the third fret."""
    return pluck(*legs, fret=3, midi=58)


UP = Leg(0.2, 200)
BLIND = Target(60, 62)
PICTURES: dict[str, list[Scene]] = {
    "curl": [
        Scene("cut off sharp", b_flat(Leg(0.06, 0), Leg(0.09, 35), Leg(0.2, 35))),
        Scene("let go", b_flat(Leg(0.1, 0), Leg(0.12, 35), Leg(0.2, 35), Leg(0.1, 0), Leg(0.2, 0))),
    ],
    "bend": [
        Scene("held", pluck(Leg(0.15, 0), UP, Leg(0.5, 200))),
        Scene("stopped short", pluck(Leg(0.06, 0), Leg(0.15, 170), Leg(0.5, 170))),
    ],
    "prebend": [
        Scene("mended", pluck(Leg(0.45, 218), Leg(0.15, 200), Leg(0.45, 200), start_cents=218), "blind", BLIND),
        Scene("plucked first", pluck(Leg(0.1, 0), Leg(0.2, 200), Leg(0.5, 200)), "blind", BLIND),
    ],
    "vibrato": [
        Scene("both ways", pluck(Leg(0.1, 0), UP, Leg(1.2, 200), shake=Shake(0.32, 5.0, 25))),
        Scene("from the top", pluck(Leg(0.1, 0), UP, Leg(1.2, 200), shake=Shake(0.32, 5.0, -20, upward=True))),
    ],
    "legato": [
        Scene(
            "bend, release, pull off",
            pluck(Leg(0.12, 0), UP, Leg(0.3, 200), Leg(0.15, 0), Leg(0.2, 0), Leg(0.35, -200, "jump")),
        ),
        Scene("hammer on, then bend", pluck(Leg(0.25, -200), Leg(0.2, 0, "jump"), UP, Leg(0.4, 200), start_cents=-200)),
    ],
    "slide": [
        Scene("slide", pluck(Leg(0.3, 0), Leg(0.4, 300, "stairs"))),
        Scene(
            "trill",
            pluck(Leg(0.25, 0), *(Leg(0.25, c, "jump") for c in (200, 0, 200, 0))),
        ),
    ],
    "outside": [Scene("a half step to no note of the key", pluck(Leg(0.15, 0), Leg(0.15, 100), Leg(0.5, 100)))],
    "two-strings": [Scene("two strings", pluck(Leg(0.2, 0), UP, Leg(0.5, 200), second_midi=67))],
    "settling": [Scene("a hard pluck", pluck(Leg(1.0, 0), hard_cents=30.0))],
    "damped": [Scene("a hand damps the string", pluck(Leg(0.5, 0), Leg(0.12, 45)), damp_s=0.12)],
    "unheard": [Scene("bent as it is plucked", pluck(Leg(0.15, 200), Leg(0.5, 200), start_cents=30))],
}


def heard(scene: Scene) -> tuple[list[Reading], list[Note], list[Verdict]]:
    """What the chain heard of a scene, after three level notes that taught it the guitar."""
    aim = Aim(parse_key("G minor pentatonic"), judge_as=scene.judge_as, target=scene.target)
    chain = Chain(RATE, replace(aim, judge_as="watch", target=None))
    rng = np.random.default_rng(440)
    for _ in range(3):
        for block in play((pluck(Leg(0.6, 0)),), PLAIN_GUITAR, sample_rate=RATE, length_s=1.2, rng=rng):
            chain.push(block)
    chain.aim = aim
    samples = np.concatenate(
        list(play((scene.stroke,), PLAIN_GUITAR, sample_rate=RATE, length_s=scene.stroke.end_s + TAIL_S, rng=rng))
    )
    if scene.damp_s:
        end, n = round(scene.stroke.end_s * RATE), round(scene.damp_s * RATE)
        samples[end - n : end] *= np.geomspace(1.0, 0.003, n, dtype=np.float32)
    found = [*chain.push(samples.astype(np.float32)), *chain.finish()]
    return (
        [f for f in found if isinstance(f, Reading)],
        [f.note for f in found if isinstance(f, End)],
        [f for f in found if isinstance(f, Verdict)],
    )


def counted(note: Note, verdict: Verdict) -> tuple[float, float] | None:
    """The stretch that counted, seconds; None where nothing did."""
    if verdict.error_cents is None and verdict.kind != "curl":
        return None
    begin = note.onset_s
    if note.shape in ("rise", "rise_fall") and verdict.kind not in ("prebend", "prebend_release"):
        begin += (note.raised_s or 0.0) + note.rise_s
    elif note.shape in ("rise", "rise_fall"):
        return begin, begin + (note.raised_s or 0.0)
    return begin, min(begin + note.hold_s, note.end_s)


def wrapped(text: str) -> list[str]:
    """Lines of a sentence that fit a panel."""
    lines = [""]
    for word in text.split():
        if len(lines[-1]) + len(word) >= LETTERS_A_LINE:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def panel(scene: Scene, left: int) -> list[str]:
    """The marks of one panel whose left edge lies at `left`."""
    readings, notes, verdicts = heard(scene)
    base = hz_of(scene.stroke.midi, a4_hz=440.0)
    begin = notes[0].onset_s - 0.05
    end = max(n.end_s for n in notes) + 0.05
    line = [(r.time_s, 1200 * np.log2(r.hz / base)) for r in readings if r.hz > 0 and begin <= r.time_s <= end]
    heights = [c for _, c in line]
    targets = {
        round(100 * (midi - scene.stroke.midi))
        for midi in [*([scene.target.target_midi] if scene.target else []), *_targets(verdicts)]
    }
    curled = any(v.kind == "curl" for v in verdicts)
    low = min([*heights, 0.0])
    high = max([*heights, *targets, *(BLUE if curled else ()), 30.0])
    low, high = low - 0.06 * (high - low), high + 0.06 * (high - low)

    def x(seconds: float) -> float:
        return left + LEFT + (WIDTH - LEFT - RIGHT) * (seconds - begin) / (end - begin)

    def y(cents: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (high - cents) / (high - low)

    marks = [
        text(left + LEFT, 22, scene.title, 15, weight="bold"),
        *grid(left, y, low, high),
        text(left + WIDTH - RIGHT, HEIGHT - BOTTOM + 15, f"{end - begin - 0.1:.2f} s", 11, fill=SOFT, anchor="end"),
    ]
    for cents in sorted(targets):
        marks.append(stroke(left + LEFT, y(cents), left + WIDTH - RIGHT, y(cents), dash="7 4"))
        marks.append(text(left + WIDTH - RIGHT + 6, y(cents) + 4, "target", 11))
    if curled:
        marks += [stroke(left + LEFT, y(edge), left + WIDTH - RIGHT, y(edge), dash="2 3") for edge in BLUE]
        marks.append(text(left + WIDTH - RIGHT + 6, y(37) + 4, "blue zone", 11))
    marks += trace(line, x, y, 1.6)
    for note, verdict in zip(notes, verdicts, strict=True):
        marks.append(stroke(x(note.onset_s), TOP, x(note.onset_s), HEIGHT - BOTTOM, colour=SOFT, dash="1 3"))
        span = counted(note, verdict)
        if span is None:
            continue
        inside = [(t, c) for t, c in line if span[0] <= t <= span[1]]
        if not inside:
            continue
        marks += trace(inside, x, y, 5.0)
        for t, c in (inside[0], inside[-1]):
            marks.append(stroke(x(t), y(c) - 9, x(t), y(c) + 9, width=2.0))
    said = [
        row
        for v in verdicts
        for row in wrapped(v.reason if v.verdict == "unclear" else f"{v.verdict.upper()}: {v.reason}")
    ]
    marks += [text(left + LEFT, HEIGHT - BOTTOM + 30 + 15 * k, row, 12) for k, row in enumerate(said)]
    return marks


def _targets(verdicts: list[Verdict]) -> list[int]:
    return [parse_pitch(v.target_note) for v in verdicts if v.target_note]


def grid(left: int, y: Scale, low: float, high: float) -> list[str]:
    """Heights in cents at the left edge."""
    step = next(s for s in (20, 100, 200, 500, 1000) if (high - low) / s < 6)
    marks = []
    for cents in range(step * int(np.ceil(low / step)), int(high) + 1, step):
        at = y(cents)
        marks.append(stroke(left + LEFT, at, left + WIDTH - RIGHT, at, colour="#dfe2e7"))
        marks.append(text(left + LEFT - 6, at + 4, f"{cents:+d}" if cents else "fret", 11, fill=SOFT, anchor="end"))
    return marks


def trace(line: list[tuple[float, float]], x: Scale, y: Scale, width: float) -> list[str]:
    """The pitch as lines, broken where none was heard."""
    parts: list[list[tuple[float, float]]] = [[]]
    for seconds, cents in line:
        if parts[-1] and seconds - parts[-1][-1][0] > GAP_S:
            parts.append([])
        parts[-1].append((seconds, cents))
    style = f'fill="none" stroke="{INK}" stroke-width="{width}" stroke-linejoin="round"'
    return [f'<polyline points="{" ".join(f"{x(t):.1f},{y(c):.1f}" for t, c in part)}" {style}/>' for part in parts]


def stroke(x1: float, y1: float, x2: float, y2: float, *, colour: str = INK, width: float = 1.0, dash: str = "") -> str:
    """A straight line."""
    style = f' stroke-dasharray="{dash}"' if dash else ""
    ends = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
    return f'<line {ends} stroke="{colour}" stroke-width="{width}"{style}/>'


def text(x: float, y: float, words: str, size: int, *, fill: str = INK, anchor: str = "start", weight: str = "") -> str:
    """A line of text."""
    bold = f' font-weight="{weight}"' if weight else ""
    at = f'x="{x:.1f}" y="{y:.1f}" font-size="{size}"'
    return f'<text {at} text-anchor="{anchor}" fill="{fill}"{bold}>{escape(words)}</text>'


def picture(scenes: list[Scene]) -> str:
    """One SVG of panels side by side."""
    width = WIDTH * len(scenes)
    size = f'viewBox="0 0 {width} {HEIGHT}" width="{width}" height="{HEIGHT}"'
    marks = [mark for k, scene in enumerate(scenes) for mark in panel(scene, k * WIDTH)]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="Helvetica, Arial, sans-serif" role="img">'
    title = f"<title>{escape(' · '.join(scene.title for scene in scenes))}</title>"
    return "\n".join([head, title, f'<rect width="100%" height="100%" fill="{PAPER}"/>', *marks, "</svg>", ""])


def main() -> None:
    """Draw them all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parent / "judging")
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    for name, scenes in PICTURES.items():
        (folder / f"{name}.svg").write_text(picture(scenes), encoding="utf-8")


if __name__ == "__main__":
    main()
