"""The screen worked by keys, taps and pedal, without a terminal."""

from pathlib import Path

import pytest
from textual.widgets import Static

from assistant.practice.rehearsal import METRES
from assistant.screen.app import PullcallApp
from assistant.screen.choices import Choice
from assistant.screen.drawn import METER_CELLS, Big, RoomView, Strip, meter
from assistant.screen.entry import FRACTIONS
from assistant.screen.list_screen import ListScreen
from assistant.screen.news import Listening, Sign, Trouble
from assistant.screen.notes_screen import NotesScreen
from assistant.screen.pad_screen import PadScreen
from assistant.screen.palette import PALETTES
from assistant.screen.pedal import Learning, which
from assistant.screen.pedal_screen import PedalScreen
from assistant.screen.sight import CELL_PX, TARGET_PX
from assistant.screen.tapped import Key
from tests.conftest import SETUP
from tests.screen.conftest import Desk, run, screen

SIZES = [(80, 24), (100, 30), (120, 40)]
UPRIGHT = [(80, 48), (100, 80)]
"""Tablets held upright: the cells are twice as high as wide."""


def shown(app: PullcallApp) -> str:
    """The text parts of the screen."""
    parts = ("#header", "#facts", "#answers")
    return "\n".join(str(app.screen_stack[0].query_one(each, Static).render()) for each in parts)


def drawn(app: PullcallApp, part: str) -> str:
    return str(app.screen_stack[0].query_one(part).render()).strip()


def keys(app: PullcallApp) -> list[str]:
    return [each.label for each in app.screen_stack[0].query("#keys Key").results(Key) if each.visible]


async def type_keys(pilot, *presses: str) -> None:  # type: ignore[no-untyped-def]
    await pilot.press(*presses)
    await pilot.pause()
    await pilot.pause()


async def from_list(pilot, choice: str) -> None:  # type: ignore[no-untyped-def]
    """Open the list and walk to a choice with the three keys alone."""
    await type_keys(pilot, "3")
    listed = pilot.app.screen
    assert isinstance(listed, ListScreen)
    for _ in range(1 + [each.sentence for each in pilot.app.panel.listed].index(choice)):
        await type_keys(pilot, "1")
    await type_keys(pilot, "2")


def test_a_pad_takes_no_sign_that_is_no_digit(desk: Desk) -> None:
    """French keyboards have a key for a raised two."""

    async def work() -> None:
        async with screen(desk) as pilot:
            await type_keys(pilot, "1", "4", "²", "½", "2", "enter")

    run(work())
    assert [said for _, said in desk.tapped] == ["job four two"]


def test_a_whole_small_job_is_worked_by_keys_alone(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk) as pilot:
            app: PullcallApp = pilot.app
            await type_keys(pilot, "1", "4", "2", "7", "enter")
            await type_keys(pilot, "1")  # tufted
            await type_keys(pilot, "1")  # no figure
            await from_list(pilot, "the same")
            await from_list(pilot, "skip the rest")
            await type_keys(pilot, "1", "9", "f", "enter")
            await type_keys(pilot, "1")  # yes
            await type_keys(pilot, "1", "8", "f", "6", "i", "enter")
            await type_keys(pilot, "1")
            await type_keys(pilot, "1")  # it is square
            await from_list(pilot, "no openings")
            await type_keys(pilot, "1")  # door left
            await type_keys(pilot, "1")  # door to far
            for _ in range(200):
                if app.panel.ask in ("close", ""):
                    break
                await _one_pull(pilot)
            assert app.panel.ask == "close"
            await type_keys(pilot, "1")
            assert app.panel.ask == ""
            assert app.panel.code
            await type_keys(pilot, "1")
        assert app._exit, "a key leaves the closed job"

    run(work())
    state = desk.conversation.state
    assert state.finished
    assert state.records and all(each.hooked for each in state.records)
    assert [said for _, said in desk.tapped[:5]] == [
        "job four two seven",
        "tufted synthetic",
        "no figure",
        "the same",
        "skip the rest",
    ]


async def _one_pull(pilot) -> None:  # type: ignore[no-untyped-def]
    app: PullcallApp = pilot.app
    match app.panel.ask:
        case "ready":
            await type_keys(pilot, "1")
        case "confirm":
            await type_keys(pilot, "2")
        case "pull" if app.panel.content.instruction == "Hook it":
            await type_keys(pilot, "2")
        case "pull" | "hold":
            await type_keys(pilot, "1", "1", *((".", "backspace") if app.panel.ask == "hold" else ()))
            pad = app.screen
            assert isinstance(pad, PadScreen)
            for each in ("1/2", "in"):
                key = next(k for k in pad.query(Key).results(Key) if k.name == each)
                await pilot.click(key)
            await type_keys(pilot, "enter")


@pytest.mark.parametrize("size", [*SIZES, *UPRIGHT])
def test_everything_tapped_is_large_enough_for_a_glove(desk: Desk, size: tuple[int, int]) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, size) as pilot:
            app: PullcallApp = pilot.app
            big = list(app.screen.query("#keys Key").results(Key))
            assert len(big) == 3
            for each in big:
                assert each.outer_size.width >= size[0] // 3 - 1, "a third of the width"
            for opening in ("", "1", "3"):
                if opening:
                    await type_keys(pilot, opening)
                found = [each for each in app.screen.query(Key).results(Key) if each.label and each.visible]
                assert len(found) >= 3
                for each in found:
                    region = each.region
                    wide, high = region.width * CELL_PX[0], region.height * CELL_PX[1]
                    assert min(wide, high) >= TARGET_PX, f"{each.label}: {wide} x {high} px"
                    assert region.right <= size[0] and region.bottom <= size[1], f"{each.label} lies outside"
                if opening:
                    await type_keys(pilot, "escape")

    run(work())


@pytest.mark.parametrize("size", [*UPRIGHT, (60, 80)])
def test_on_a_panel_held_upright_the_keys_of_a_pad_are_a_fifth_wide(desk: Desk, size: tuple[int, int]) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, size) as pilot:
            await type_keys(pilot, "1")
            assert isinstance(pilot.app.screen, PadScreen)
            keys = [each for each in pilot.app.screen.query(Key).results(Key) if each.label]
            assert {*FRACTIONS, "in", "strong"} <= {each.label for each in keys}
            assert min(each.outer_size.width for each in keys) >= size[0] // 5
            assert max(each.region.bottom for each in keys) <= size[1]

    run(work())


def test_a_panel_that_is_turned_keeps_what_was_pressed(desk: Desk) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, (120, 40)) as pilot:
            await type_keys(pilot, "1", "1", "5")
            pad = pilot.app.screen
            assert len(pad.query(".row")) == 5
            for size, rows in (((80, 60), 8), ((120, 40), 5)):
                await pilot.resize_terminal(*size)
                await pilot.pause()
                assert len(pad.query(".row")) == rows
                assert pad.query_one("#entry", Big).text == "15"
                assert all(each.region.height >= 3 for each in pad.query(Key).results(Key))
            await pilot.click(next(each for each in pad.query(Key).results(Key) if each.name == "Clear"))
            assert pad.query_one("#entry", Big).text == "..."

    run(work())


@pytest.mark.parametrize("ask", ["openings", "wall", "size", "square"])
def test_the_fullest_pads_fit_the_smallest_terminal(desk: Desk, ask: str) -> None:
    desk.say(*SETUP[: {"openings": 16, "wall": 11, "size": 11, "square": 15}[ask]])
    if ask == "wall":
        desk.say("wall by wall")

    async def work() -> None:
        for choice in [each for each in desk.panel.listed if each.pad]:
            async with screen(desk) as pilot:
                pilot.app.choose(choice)
                await pilot.pause()
                for each in pilot.app.screen.query(Key).results(Key):
                    assert each.region.bottom <= 24 and each.region.height >= 3 and each.region.width >= 6, each.label

    run(work())


def test_a_pull_is_seen_as_figure_verdict_room_and_what_was_heard(desk: Desk) -> None:
    desk.say(*SETUP, "one inch")

    async def work() -> None:
        async with screen(desk) as pilot:
            app: PullcallApp = pilot.app
            text = shown(app)
            assert "Job 427   pass 1 of 3   pull 1 of 17   right wall" in text
            assert "least 1 1/2 in, most 2 1/8 in   read 1 in" in text
            assert "heard: one inch   1 in. Short 1/2 in." in text
            assert "no mic" in text
            assert app.query_one("#instruction", Big).text == "ANOTHER BITE"
            assert app.query_one("#value", Big).text == "1 in"
            assert drawn(app, "#strip")
            assert app.query_one("#room", RoomView).display
            assert keys(app) == ["Reading", "Hooked", "More"]

    run(work())


def test_the_verdict_is_drawn_with_its_shape_word_and_colour(desk: Desk) -> None:
    seen = {}

    async def work() -> None:
        async with screen(desk) as pilot:
            for text in ("one inch", "one and three quarters", "two and a half inches"):
                desk.tap(0, text)
                await pilot.pause()
                await pilot.pause()
                rendered = pilot.app.query_one("#strip", Strip).render()
                seen[text] = (str(rendered), {str(span.style) for span in rendered.spans})  # type: ignore[union-attr]

    desk.say(*SETUP)
    run(work())
    assert len({plain for plain, _ in seen.values()}) == 3, "they differ without any colour"
    palette = PALETTES["dark"]
    assert [styles for _, styles in seen.values()] == [{palette.short}, {palette.in_band}, {palette.over}]


def test_a_long_answer_is_seen_whole_and_the_value_stays_readable(desk: Desk) -> None:
    desk.say(*SETUP[:11])

    async def work() -> None:
        async with screen(desk) as pilot:
            desk.tap(0, "wall by wall")
            await pilot.pause()
            await pilot.pause()
            assert shown(pilot.app).split("\n")[-1].endswith("door wall.")
            value = pilot.app.query_one("#value", Big)
            assert value.region.height >= 3 and value.cells >= 3
            keys_at = [each.region for each in pilot.app.screen.query("#keys Key").results(Key)]
            assert all(each.bottom <= 24 and each.height >= 4 for each in keys_at)

    run(work())


def test_the_code_of_a_closed_job_is_seen_whole(desk: Desk) -> None:
    desk.say(*SETUP)
    while desk.panel.ask != "close":
        desk.say("ready" if desk.panel.ask == "ready" else "skip doorway")
    desk.say("finish job")

    async def work() -> None:
        async with screen(desk) as pilot:
            assert f"Job code: {desk.panel.code}\n" in shown(pilot.app)

    run(work())


def test_below_80_by_24_it_says_what_is_needed_and_comes_back(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk, (79, 24)) as pilot:
            assert not pilot.app.query_one("#whole").display
            assert "80 columns and 24 rows are needed" in str(pilot.app.query_one("#small", Static).render())
            await pilot.resize_terminal(80, 24)
            await pilot.pause()
            assert pilot.app.query_one("#whole").display
            assert not pilot.app.query_one("#small").display

    run(work())


def test_notes_are_to_be_read_and_any_key_closes_them(desk: Desk) -> None:
    desk.say(*SETUP[:16], "door wall doorway from three feet until five feet six", "yes", "that is all", "door left")

    async def work() -> None:
        async with screen(desk) as pilot:
            desk.tap(0, "door to far")
            await pilot.pause()
            await pilot.pause()
            assert isinstance(pilot.app.screen, NotesScreen)
            read = pilot.app.screen.query_one(Key)
            assert read.region.bottom <= 24, "the key to close them is seen"
            await type_keys(pilot, "f1")
            assert not isinstance(pilot.app.screen, NotesScreen)
            assert pilot.app.panel.ask == "ready"

    run(work())


def test_the_next_answer_closes_what_is_open_over_the_panel(desk: Desk) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk) as pilot:
            await type_keys(pilot, "1")
            assert isinstance(pilot.app.screen, PadScreen)
            desk.tap(0, "one inch")  # heard meanwhile
            await pilot.pause()
            await pilot.pause()
            assert len(pilot.app.screen_stack) == 1
            assert pilot.app.panel.content.value == "1 in"

    run(work())


def test_a_question_asked_again_in_silence_closes_no_pad_and_opens_no_list_over_it(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk) as pilot:
            app: PullcallApp = pilot.app
            for each in ("1", "4"):
                await type_keys(pilot, each)
            for _ in range(2):
                app.tell(desk.silence())
                await pilot.pause()
            pad = app.screen
            assert isinstance(pad, PadScreen)
            await type_keys(pilot, "2", "enter")
            assert desk.tapped == [(0, "job four two")]
            for _ in range(2):
                app.tell(desk.silence())
                await pilot.pause()
            assert isinstance(app.screen, ListScreen), "nothing else was open: all that can be said is shown"
            await type_keys(pilot, "3")
            app.tell(desk.silence())
            await pilot.pause()
            assert not isinstance(app.screen, ListScreen)
            assert drawn(app, "#instruction") or "ask no more" in shown(app)

    run(work())


def test_of_two_readings_that_sound_alike_one_is_chosen_by_key(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk, (120, 40)) as pilot:
            app: PullcallApp = pilot.app
            desk.say(*METRES)
            app.tell(desk.doubtful("fifteen millimetres", "fifty millimetres"))
            await pilot.pause()
            assert keys(app) == ["15 mm", "50 mm", "Neither"]
            assert app.panel.content.value == "15 mm / 50 mm"
            await type_keys(pilot, "2")
            assert desk.tapped[-1][1] == "the second"
            assert desk.panel.content.value == "50 mm"

    run(work())


@pytest.mark.parametrize(("said", "sign"), [("job one", "✓ heard: job one"), ("mumble", "? not understood: mumble")])
def test_the_sign_of_the_tone_is_seen(desk: Desk, said: str, sign: str) -> None:
    async def work() -> None:
        async with screen(desk) as pilot:
            desk.tap(0, said)
            await pilot.pause()
            assert sign in shown(pilot.app)

    run(work())


def test_two_misses_open_the_list_and_a_third_offers_the_keys(desk: Desk) -> None:
    desk.say(*SETUP, "mumble")

    async def work() -> None:
        async with screen(desk) as pilot:
            desk.tap(0, "mumble")
            await pilot.pause()
            await pilot.pause()
            assert isinstance(pilot.app.screen, ListScreen)
            desk.tap(0, "mumble")
            await pilot.pause()
            await pilot.pause()
            assert len(pilot.app.screen_stack) == 1
            assert pilot.app.query_one("#instruction", Big).text == "TAP A KEY"
            assert "not understood: mumble" in shown(pilot.app)

    run(work())


def test_a_pad_takes_no_sentence_that_would_not_be_heard(desk: Desk) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk) as pilot:
            await type_keys(pilot, "1", "9", "9", "9", "enter")
            pad = pilot.app.screen
            assert isinstance(pad, PadScreen), "not taken"
            ok = next(each for each in pad.query(Key).results(Key) if each.name == "OK")
            assert ok.has_class("-off")
            await type_keys(pilot, "delete", "1", "i")
            assert pad.entry.sentence == "one inch"
            assert not ok.has_class("-off")
            await pilot.click(ok)
            await pilot.pause()
            await pilot.pause()

    run(work())
    assert [said for _, said in desk.tapped] == ["one inch"]


def test_the_pedal_alone_reaches_every_key_of_a_pad(desk: Desk) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, pedal=("a", "b", "c")) as pilot:
            await type_keys(pilot, "a")
            pad = pilot.app.screen
            assert isinstance(pad, PadScreen)
            names = [each.name for each in pad.query(Key).results(Key) if each.label]
            at = -1
            for wanted in ("1", "in", "OK"):
                steps = (names.index(wanted) - at) % len(names)
                at = names.index(wanted)
                await type_keys(pilot, *["a"] * steps, "b")

    run(work())
    assert [said for _, said in desk.tapped] == ["one inch"]


def test_the_pedal_is_learnt_by_pressing_it(desk: Desk) -> None:
    kept: list[tuple[str, ...]] = []
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, learnt=kept.append) as pilot:
            await type_keys(pilot, "ctrl+l")
            assert isinstance(pilot.app.screen, PedalScreen)
            await type_keys(pilot, "a", "a", "enter", "b", "c")
            assert len(pilot.app.screen_stack) == 1
            await type_keys(pilot, "b")
            await type_keys(pilot, "ctrl+l", "escape")
            assert len(pilot.app.screen_stack) == 1

    run(work())
    assert kept == [("a", "b", "c")]
    assert [said for _, said in desk.tapped] == ["hooked"]


def test_where_one_talks_by_key_that_key_is_learnt_with_the_pedal(desk: Desk) -> None:
    kept: list[tuple[str, ...]] = []
    talked: list[str] = []
    desk.say(*SETUP)

    async def work() -> None:
        options = {"learnt": kept.append, "talk": lambda: talked.append("talk"), "learn_talk": True}
        async with screen(desk, **options) as pilot:
            await type_keys(pilot, "ctrl+l", "a", "b", "c")
            assert pilot.app.screen.query_one("#value", Big).text == "PRESS THE TALK KEY"
            await type_keys(pilot, "b", "t")
            assert len(pilot.app.screen_stack) == 1 and talked == []
            await type_keys(pilot, "t", "f4")
            assert talked == ["talk", "talk"]
            await type_keys(pilot, "ctrl+l", "x", "y", "z", "enter")
            assert len(pilot.app.screen_stack) == 1

    run(work())
    assert kept == [("a", "b", "c", "t"), ("x", "y", "z")]
    assert desk.tapped == []


def test_the_talk_key_talks_whatever_is_open(desk: Desk) -> None:
    """Two misses open the list by themselves: what is read in it must not have to be closed to be said."""
    talked: list[str] = []
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk, pedal=("a", "b", "c", "d"), talk=lambda: talked.append("talk")) as pilot:
            for opens, over in (("1", PadScreen), ("m", ListScreen)):
                await type_keys(pilot, opens)
                assert isinstance(pilot.app.screen, over)
                await type_keys(pilot, "t", "d", "f4")
                assert isinstance(pilot.app.screen, over)
                await type_keys(pilot, "escape")
            pilot.app.push_screen(NotesScreen(("Read this.",), pilot.app.pedal))
            await type_keys(pilot, "d")
            assert len(pilot.app.screen_stack) == 1

    run(work())
    assert len(talked) == 7
    assert desk.tapped == []


def test_a_pedal_has_three_keys_of_its_own() -> None:
    learning = Learning()
    assert learning.press("escape") == "'escape' has its own work; set the pedal to another key"
    assert (learning.press("a"), learning.press("a")) == ("", "'a' is pedal 1 already")
    assert not learning.done
    assert [which(each, ("a", "b", "c")) for each in ("a", "c", "f2", "x")] == [0, 2, 1, None]


def test_the_level_is_seen_and_so_is_that_nothing_is_heard(desk: Desk) -> None:
    assert meter(Listening(1.0, deaf=False)) == "█" * METER_CELLS
    assert meter(Listening(0.0, deaf=False)) == "░" * METER_CELLS
    assert meter(Listening(0.0316, deaf=False)).count("█") == METER_CELLS // 2
    assert meter(Listening(1.0, deaf=True)).strip() == "speaking"

    async def work() -> None:
        async with screen(desk) as pilot:
            pilot.app.tell(Listening(1.0, deaf=False))
            await pilot.pause()
            assert f"mic {'█' * METER_CELLS}" in shown(pilot.app)

    run(work())


def test_the_first_sign_and_a_trouble_are_seen(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk) as pilot:
            pilot.app.tell(Sign("job one"))
            await pilot.pause()
            assert "... job one" in shown(pilot.app)
            pilot.app.tell(Trouble("no ears: plug one in"))
            await pilot.pause()
            assert "no ears: plug one in" in shown(pilot.app)
            desk.tap(0, "job one")
            await pilot.pause()
            await pilot.pause()
            assert "no ears" not in shown(pilot.app)

    run(work())


def test_before_the_first_question_the_heading_says_nothing_of_job_and_microphone(desk: Desk) -> None:
    """It was 'New job' and 'no mic', whatever was resumed, until the ears were open."""

    async def work() -> None:
        app = PullcallApp(desk)
        async with app.run_test(size=(80, 24)) as pilot:
            app.tell(Listening(0.1, deaf=False))
            await pilot.pause()
            assert drawn(app, "#header") == ""
            app.tell(desk.panel)
            await pilot.pause()
            assert drawn(app, "#header").startswith("New job") and "mic" in drawn(app, "#header")

    run(work())


def test_what_is_missing_at_the_start_is_read_before_the_first_question(desk: Desk) -> None:
    async def work() -> None:
        app = PullcallApp(desk)
        async with app.run_test(size=(80, 24)) as pilot:
            app.tell(Trouble("no voice: plug one in"))
            app.tell(Trouble("no ears: name one"))
            app.tell(desk.panel)
            await pilot.pause()
            await pilot.pause()
            assert isinstance(app.screen, NotesScreen)
            text = str(app.screen.query_one(Static).render())
            assert "no voice: plug one in" in text and "no ears: name one" in text
            await type_keys(pilot, "1")
            app.tell(desk.say("job one"))
            await pilot.pause()
            await pilot.pause()
            assert len(app.screen_stack) == 1, "told once"

    run(work())


def test_the_theme_changes_at_once(desk: Desk) -> None:
    async def work() -> None:
        async with screen(desk) as pilot:
            assert pilot.app.screen.styles.background.hex == PALETTES["dark"].ground
            await type_keys(pilot, "ctrl+t")
            assert pilot.app.screen.styles.background.hex == PALETTES["light"].ground
        async with screen(desk, theme="light") as pilot:
            assert pilot.app.screen.styles.background.hex == PALETTES["light"].ground

    run(work())


def test_a_tap_names_the_turn_it_answers(desk: Desk) -> None:
    desk.say(*SETUP)

    async def work() -> None:
        async with screen(desk) as pilot:
            pilot.app.choose(Choice("Hooked", say="hooked"))
            pilot.app.choose(None)

    run(work())
    assert desk.tapped == [(len(SETUP), "hooked")]


def test_the_style_sheet_names_no_colour_itself() -> None:
    sheet = Path(__file__).parents[2] / "assistant" / "screen" / "app.tcss"
    assert "#" not in "".join(
        part.split(";")[0] for part in sheet.read_text(encoding="utf-8").split(":")[1:] if "{" not in part
    )


@pytest.mark.parametrize("key", ["t", "f4"])
def test_the_talk_key_talks(desk: Desk, key: str) -> None:
    pressed: list[str] = []

    async def walk() -> None:
        async with screen(desk, talk=lambda: pressed.append("talk")) as pilot:
            await pilot.press(key)
            await pilot.pause()

    run(walk())
    assert pressed == ["talk"]
    assert desk.tapped == []
