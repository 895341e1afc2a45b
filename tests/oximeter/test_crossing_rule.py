"""The truth table of docs/crossing-rule.md, run as it stands there."""

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assistant.oximeter.crossing import Call, CallKind, Crossing, CrossingSettings
from assistant.oximeter.samples import JITTER_S, Sample

PAGE = Path(__file__).parents[2] / "docs" / "crossing-rule.md"
LOSSES = (CallKind.SIGNAL_LOST, CallKind.FEED_LOST)


def table() -> list[tuple[str, str, str]]:
    rows = re.findall(r"^\| ([^|]+?) \| `([^`]+)` \| ?([^|]*?) ?\|$", PAGE.read_text("utf-8"), re.M)
    assert len(rows) >= 30
    return rows


def sample(given: str, at_s: float) -> Sample:
    """One frame of the table's notation; the pulse rate varies unless the figures are frozen."""
    pulse = 72 if given.startswith("=") else 72 + round(at_s * 7) % 3
    if given == "off":
        return Sample(at_s, None, None, usable=False, why="no finger")
    if given.endswith("-nopulse"):
        return Sample(at_s, int(given.removesuffix("-nopulse")), None, usable=True)
    return Sample(at_s, int(given.removeprefix("=")), pulse, usable=True)


def run(
    script: str, rate_hz: int, crossing: Crossing, found_s: Callable[[float], float] = lambda s: s
) -> Iterator[Call]:
    """`found_s`: when a frame is found that was sent then."""
    number = 0
    for part in script.split():
        given, seconds = part.split("*")
        for _ in range(int(seconds) * rate_hz):
            at_s = found_s(number / rate_hz)
            number += 1
            if given != "none":
                call = crossing.take(sample(given, at_s))
                if call is not None:
                    yield call
            call = crossing.tick(at_s)
            if call is not None:
                yield call


@pytest.mark.parametrize("rate_hz", [1, 3, 60])
def test_calls_what_the_table_says(rate_hz: int) -> None:
    """Every line of the truth table holds at one, three and sixty frames a second."""
    wrong = []
    for name, script, called in table():
        calls = list(run(script, rate_hz, Crossing(CrossingSettings())))
        if not as_called(calls, called):
            wrong.append((name, called, calls))

    assert wrong == []


def polled(seed: int) -> Callable[[float], float]:
    """A device that begins at any moment, and looks at its port every 20 ms, now and then as late
    again."""
    chance = random.Random(seed)
    began_s = chance.random()

    def found_s(sent_s: float) -> float:
        at_s = began_s + sent_s
        look = int(at_s / 0.02) + 1 + (chance.random() < 0.1)
        return look * 0.02 - began_s

    return found_s


@pytest.mark.parametrize("rate_hz", [1, 3])
def test_calls_what_the_table_says_of_a_device_that_is_polled(rate_hz: int) -> None:
    """At the same second, wherever between two looks the frames come."""
    wrong = []
    for seed in range(8):
        for name, script, called in table():
            calls = list(run(script, rate_hz, Crossing(CrossingSettings()), polled(seed)))
            if not as_called(calls, called):
                wrong.append((name, seed, called, calls))

    assert wrong == []


@pytest.mark.parametrize("rate_hz", [1, 3, 60])
@pytest.mark.parametrize("earlier_s", [0.0, 0.049, 0.06, 0.2])
def test_never_called_sooner_than_what_polling_explains(rate_hz: int, earlier_s: float) -> None:
    """A level that was held for less than `held_s` by more than that is not called."""
    crossing = Crossing(CrossingSettings())
    calls = [*run("96*5 93*1", rate_hz, crossing)]
    rest = [sample("93", at_s) for at_s in (6.0, 6.5, 7.0 - earlier_s)]
    calls += [call for call in map(crossing.take, rest) if call is not None]

    assert len(calls) == (earlier_s < JITTER_S)


@pytest.mark.parametrize("second_s", [0.99, 0.999, 1.001, 1.01])
def test_a_device_whose_seconds_are_others_is_called_at_its_third_sample(second_s: float) -> None:
    """As one whose seconds are exact."""
    for seed in range(20):
        found_s, crossing = polled(seed), Crossing(CrossingSettings())
        frames = ("96" if number < 20 else "92" for number in range(30))
        calls = [
            crossing.take(sample(given, found_s(number * second_s)))
            for number, given in enumerate(frames)
        ]
        assert [number for number, call in enumerate(calls) if call is not None] == [22]


def as_called(calls: list[Call], called: str) -> bool:
    """Whether these are the calls of a line of the table, when it says."""
    wanted = [one.partition(" at ") for one in called.split(", ")] if called else []
    if len(calls) != len(wanted):
        return False
    for call, (what, _, at_s) in zip(calls, wanted, strict=True):
        level = "" if call.level_percent is None else f" {call.level_percent}"
        # A loss counts from the last good frame, which lies up to a second after its stretch began.
        late_s = (1.0 if call.kind in LOSSES else 0.0) + 0.05
        in_time = int(at_s) - JITTER_S - 0.001 <= call.at_s <= int(at_s) + late_s
        if f"{call.kind.value}{level}" != what or not in_time:
            return False
    return True


@pytest.mark.parametrize("every_s", [2.5, 4.0])
def test_a_slow_device_is_called_too(every_s: float) -> None:
    """A device that writes more seldom than a sample stands for is late, and never silent."""
    crossing = Crossing(CrossingSettings())
    calls = []
    for step in range(400):
        at_s = step / 10
        if at_s % every_s == 0:
            calls.append(crossing.take(sample("96" if at_s < 10 else "93", at_s)))
        calls.append(crossing.tick(at_s))

    (call,) = [call for call in calls if call is not None]

    assert (call.kind, call.level_percent) == (CallKind.FELL, 93)
    assert call.at_s <= 10 + 2 * every_s


@pytest.mark.parametrize("every_s", [5.2, 9.0])
def test_single_frames_with_losses_between_are_called_at_the_third(every_s: float) -> None:
    """One sample in such a time, at or below the level each time; one of them is none."""
    crossing = Crossing(CrossingSettings())
    calls: list[Call | None] = []
    for number in range(100):
        at_s = number / 5
        calls += [crossing.take(sample("97", at_s)), crossing.tick(at_s)]
    for number, shown in enumerate(("92", "97", "92", "91", "90")):
        at_s = 25.2 + number * every_s
        calls += [crossing.tick(at_s), crossing.take(sample(shown, at_s))]

    (fell,) = [one for one in calls if one is not None and one.kind is CallKind.FELL]
    assert (fell.level_percent, fell.spo2_percent) == (93, 90)


def test_a_bad_contact_that_falls_is_called_all_the_way_down() -> None:
    """A second and a half of frames, five and a half of none, while it falls from 97 to 60."""
    crossing = Crossing(CrossingSettings())
    levels, losses = [], 0
    for step in range(2000):
        at_s = step / 10
        calls = [crossing.tick(at_s)]
        if step % 5 == 0 and (at_s < 10 or (at_s - 10) % 7 < 2):
            shown = max(60, round(97 - max(0.0, at_s - 10) / 4))
            calls.append(crossing.take(sample(str(shown), at_s)))
        levels += [call.level_percent for call in calls if call and call.level_percent]
        losses += sum(call.kind is CallKind.FEED_LOST for call in calls if call)

    assert levels == [93, 85, 77, 69, 61]
    assert losses == 2


def test_a_slow_beat_of_artefacts_hides_nothing() -> None:
    """When every other frame is flagged the call comes after twice the time."""
    script = " ".join(["96*5", *["93*1 off*1"] * 4])

    assert [call.at_s for call in run(script, 1, Crossing(CrossingSettings()))] == [9.0]


def test_with_no_times_at_all_a_level_is_still_called_once() -> None:
    """A site that sets every time to 0 is called at once, and once for each fall."""
    settings = CrossingSettings(held_s=0.0, rearm_s=0.0, recovery_call=True)

    calls = list(run("96*5 93*20 95*5 93*5 96*5 92*5", 1, Crossing(settings)))

    assert [(call.kind.value, call.level_percent, call.at_s) for call in calls] == [
        ("fell", 93, 5.0),
        ("recovered", 93, 35.0),
        ("fell", 93, 40.0),
    ]


@pytest.mark.parametrize(
    ("script", "recovered_at_s"),
    [("96*5 93*4 96*12 97*9", [19.0]), ("96*5 93*4 96*9 93*5", []), ("96*5 93*4 95*30", [])],
)
def test_a_recovery_is_called_once_margin_and_time_are_reached(
    script: str, recovered_at_s: list[float]
) -> None:
    """Nobody is told "above ninety-three" after two good seconds, or within the margin."""
    crossing = Crossing(CrossingSettings(recovery_call=True))

    calls = [call for call in run(script, 1, crossing) if call.kind is CallKind.RECOVERED]

    assert [call.at_s for call in calls] == recovered_at_s


@pytest.mark.parametrize(
    ("settings", "levels"),
    [
        ({}, (93, 85, 77, 69, 61, 53)),
        ({"further_levels_percent": ()}, (93, 85, 77, 69, 61, 53)),
        ({"step_percent": 5}, (93, 88, 85, 80, 75, 70, 65, 60, 55, 50)),
        ({"threshold_percent": 94, "further_levels_percent": (90,)}, (94, 90, 82, 74, 66, 58, 50)),
        ({"further_levels_percent": (90, 88)}, (93, 90, 88, 80, 72, 64, 56)),
    ],
)
def test_the_levels_that_can_be_called(
    settings: dict[str, int | tuple[int, ...]], levels: tuple[int, ...]
) -> None:
    """The site's levels, and a step wherever these lie further apart."""
    assert CrossingSettings.model_validate(settings).levels_percent() == levels


@pytest.mark.parametrize(
    "settings",
    [
        {"further_levels_percent": (95,)},
        {"further_levels_percent": (85, 85)},
        {"further_levels_percent": (80, 85)},
        {"lowest_level_percent": 90},
        {"new_fall_percent": 2},
        {"rearm_margin_percent": 3},
    ],
)
def test_levels_that_make_no_sense_are_refused(settings: dict[str, int | tuple[int, ...]]) -> None:
    """Further levels descend, and a new fall is more than a sway within the margin."""
    with pytest.raises(ValidationError):
        CrossingSettings.model_validate(settings)


@pytest.mark.parametrize("lowest", [91, 92, 93])
def test_a_sway_about_the_threshold_is_called_once(lowest: int) -> None:
    """An hour within two points about the threshold, as fast and as slow as it likes: one call."""
    chance, crossing = random.Random(lowest), Crossing(CrossingSettings())
    made: list[Call] = []
    script = (
        f"{lowest + chance.randrange(3)}*{chance.choice([1, 2, 3, 9, 45])}" for _ in range(300)
    )

    made.extend(run(" ".join(script), 1, crossing))

    assert [call.level_percent for call in made] == [93]


@given(
    spo2=st.lists(st.integers(min_value=0, max_value=127), min_size=1, max_size=200),
    usable=st.lists(st.booleans(), min_size=1, max_size=200),
    every_s=st.sampled_from([0.016, 0.5, 1.0, 3.0]),
)
def test_no_two_calls_of_a_level_without_a_recovery(
    spo2: list[int], usable: list[bool], every_s: float
) -> None:
    """Whatever comes, a level is called again only after a valid sample above it and its margin."""
    crossing = Crossing(CrossingSettings())
    called: dict[int, bool] = {}
    for number, (percent, good) in enumerate(zip(spo2, usable, strict=False)):
        at_s = number * every_s
        one = Sample(at_s, percent, 70 + number % 5, usable=good)
        for call in (crossing.take(one), crossing.tick(at_s)):
            if call is not None and call.level_percent is not None:
                assert not called.get(call.level_percent)
                assert good
                assert percent <= call.level_percent
                called[call.level_percent] = True
        if good:
            called = {level: percent <= level + 2 and was for level, was in called.items()}


@given(
    stays=st.lists(
        st.tuples(st.integers(min_value=80, max_value=99), st.integers(min_value=1, max_value=50)),
        min_size=1,
        max_size=30,
    )
)
def test_new_falls_take_no_call_and_delay_none(stays: list[tuple[int, int]]) -> None:
    """Whatever comes, every other call is the one that is made where new falls are never called."""
    script = " ".join(f"{spo2}*{seconds}" for spo2, seconds in stays)
    without = list(run(script, 1, Crossing(CrossingSettings(new_fall_percent=50))))

    made = list(run(script, 1, Crossing(CrossingSettings())))

    assert [call for call in made if call.kind is not CallKind.FELL_AGAIN] == without
