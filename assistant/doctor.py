"""`pullcall doctor`: looks at everything a job stands on; for each, pass or the one thing to do."""

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from assistant.doctor_machine import machine_checks
from assistant.doctor_sound import sound_checks
from assistant.exits import Exit, Refusal
from assistant.finding import Check, Finding
from assistant.settings import Settings


def examine(checks: dict[str, Check]) -> list[Finding]:
    """Each check's finding; a Refusal is one, too: its cure stands in its line."""
    return [_examined(thing, check) for thing, check in checks.items()]


def _examined(thing: str, check: Check) -> Finding:
    try:
        return check()
    except Refusal as refusal:
        found, _, cure = refusal.line.partition("; ")
        return Finding(
            thing, False, found.removeprefix(f"{thing}: "), cure or "mend that and run 'pullcall doctor' again"
        )


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Print every finding; FINDINGS where something is to be fixed."""
    device = options.device or settings.device
    machine = machine_checks(Path.cwd(), options.model, settings.pedal, settings.second_ear)
    checks = {**sound_checks(device, settings.rate), **machine}
    findings = examine(checks)
    if options.json:
        print(json.dumps([asdict(each) for each in findings], ensure_ascii=False))
    else:
        print("\n".join(str(each) for each in findings))
    return Exit.DONE if all(each.passed for each in findings) else Exit.FINDINGS
