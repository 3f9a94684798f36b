"""The inspection sheet: what an inspector asks for after a complaint, on one page. What nobody told stays visible."""

from typing import Any

from assistant.record.figures import words
from assistant.record.summary import JobSummary
from assistant.record.view import view

NOT_RECORDED = "not recorded"
BY_HAND = ("Site and room", "Carpet: maker, style, lot", "Helper", "Seams, if any")
"""What no session asks for: there is a line to write it on."""
_MOST_ROWS = 27
"""Pulls that fit below each other; more go side by side."""


def sheet(summary: JobSummary) -> dict[str, Any]:
    """Everything the sheet's template names."""
    seen = view(summary)
    pulls = seen["pulls"]
    half = len(pulls) if len(pulls) <= _MOST_ROWS else (len(pulls) + 1) // 2
    return {
        **{key: seen[key] for key in ("job", "title", "headline", "when", "room", "directions", "conditions", "jumps")},
        "facts": _facts(summary, seen),
        "by_hand": BY_HAND,
        "columns": [pulls[:half], pulls[half:]] if len(pulls) > half else [pulls],
        "noted": _noted(summary),
        "exceptions": seen["exceptions"],
        "not_recorded": NOT_RECORDED,
    }


def _facts(summary: JobSummary, seen: dict[str, Any]) -> list[tuple[str, str]]:
    lay, corner = summary.lay, summary.corner
    return [
        ("Date and time", seen["when"]),
        ("Crew", summary.crew or NOT_RECORDED),
        ("Installer", summary.person or NOT_RECORDED),
        ("Room", seen["room"]),
        ("Construction", words(summary.construction.value) if summary.construction is not None else NOT_RECORDED),
        ("Carpet's length runs", words(lay.value) if lay is not None else NOT_RECORDED),
        ("Sequence", words(summary.order) or NOT_RECORDED),
        ("Start corner", words(corner.value) if corner is not None else NOT_RECORDED),
        *((what.capitalize(), NOT_RECORDED if text == "not asked" else text) for what, text in summary.room_rows),
    ]


def _noted(summary: JobSummary) -> str:
    """Wrinkles, seams, loose places and damage, with their pulls."""
    told = [f"pull {each.pull.number}: {', '.join(map(words, each.record.notes))}" for each in summary.pulls]
    return "; ".join(each for each in told if not each.endswith(": ")) or "none noted"
