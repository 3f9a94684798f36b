"""Does the advice bring simulated rooms into their bands? With the estimate, and, for comparison, without it.

The full 1,000 rooms take minutes: `--nightly`, or `python -m assistant.practice.trial --rooms 1000`; figures in
docs/measured.md. Otherwise the first 200 of them run, under the limits of the full run. Seeds 0 to
139, on which the advice was made, are not among them, nor those from 1000 on, which were looked at in between.
"""

import pytest

from assistant.core.advice import FallBack
from assistant.core.length import ZERO
from assistant.practice import trial
from assistant.practice.carpet import draw_carpet
from assistant.practice.installer import Installer, begun, eased, hook_now
from assistant.practice.sheet import Sheet
from assistant.practice.trial import FIRST, Tally, believing_nothing_is_lost, one_room, setting_up


def test_the_advice_lands_the_pulls_and_the_estimate_is_why(nightly: bool, capsys: pytest.CaptureFixture[str]) -> None:
    rooms = 1000 if nightly else 200
    with_it = trial.trial(rooms)
    without = trial.trial(rooms // 4, ablated=True)
    with capsys.disabled():
        print(f"\nwith the estimate:    {with_it}\nwithout the estimate: {without}")
    assert with_it.rooms == rooms and with_it.pulls > 15 * rooms
    assert with_it.share >= 0.99
    assert with_it.ratio <= 1.3
    assert without.share < 0.8
    assert with_it.unreachable <= with_it.pulls / 500


def test_the_same_seed_gives_the_same_room() -> None:
    assert one_room(FIRST) == one_room(FIRST)


def test_the_installer_knows_only_what_the_tape_shows() -> None:
    """Every reading in the log lies on a mark of the tape; every pull is made once begun."""
    job = begun(setting_up(FIRST))
    plan = job.state.plan
    assert plan is not None
    sheet = Sheet(draw_carpet(FIRST), plan)
    state = Installer(job, sheet).work()
    step = state.tape.graduation
    readings = [each.moved for record in state.records for each in record.readings]
    assert readings and all(each.per(step).denominator == 1 for each in readings)
    assert all(record.hooked for record in state.records)
    both = zip(sheet.strips.values(), state.records, strict=True)
    assert all(strip.bites >= len(record.readings) for strip, record in both)


def test_the_ablation_ends_with_its_block() -> None:
    state = begun(setting_up(FIRST)).state
    with believing_nothing_is_lost():
        assert state.own_loss == FallBack(ZERO, ZERO)
    assert begun(setting_up(FIRST)).state.own_loss is None


@pytest.mark.parametrize(
    ("answer", "hook", "ease"),
    [
        (("read_back", "in_band"), True, False),
        (("read_back", "over_holds"), True, False),
        (("read_back", "over"), False, True),
        (("read_back", "in_band_thin"), False, False),
        (("read_back", "short_bites"), False, False),
    ],
)
def test_the_installer_does_as_told(answer: tuple[str, ...], hook: bool, ease: bool) -> None:
    assert (hook_now(answer), eased(answer)) == (hook, ease)


def test_a_tally_adds_up_and_tells() -> None:
    one = Tally(rooms=1, pulls=4, landed=3, short=1, bites=12, oracle=10, holds=2, again=1)
    both = one + one
    assert (both.pulls, both.share, both.ratio) == (8, 0.75, 1.2)
    assert str(both) == (
        "2 rooms, 8 pulls: 75.00 % in band (2 short, 0 over, 0 out of any reach); 3.00 strokes a pull, "
        "1.200 times the oracle's; 0.50 hold readings and 0.250 repeats a pull"
    )


def test_the_command_shows_both_figures(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.argv", ["trial", "--rooms", "1"])
    assert trial.main() == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[0] for line in lines] == ["with the estimate", "without the estimate"]


@pytest.mark.parametrize("rooms", ["0", "-3", "many"])
def test_a_count_that_is_none_is_refused(
    rooms: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.argv", ["trial", f"--rooms={rooms}"])
    with pytest.raises(SystemExit) as end:
        trial.main()
    assert end.value.code == 2
    assert "whole number from 1" in capsys.readouterr().err
