"""The main job, once through: a whole case from sound to sound, and its record."""

import subprocess
import sys
import wave
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.brief.case import Case
from assistant.brief.phases import Phase
from assistant.journal.journal import read_case
from assistant.rehearsal.conductor import RECORDING_NAME
from assistant.rehearsal.scenario import Scenario
from assistant.site.site import Site
from tests.rehearsal.offline import guarded, without_interfaces

pytestmark = [pytest.mark.slow, pytest.mark.timeout(900)]

THRESHOLD_PERCENT = 93
LABEL_MG_PER_KG = 1.2
"""Rocuronium, rapid sequence: 0.6 to 1.2 mg/kg (US prescribing information, section 2)."""
LABEL_MG_PER_ML = 10
"""Rocuronium, vials of 10 mg/mL (US prescribing information, section 16)."""


def test_it_ends_as_expected(night_shift: Any) -> None:
    """The command ends with 0, complains of nothing and says where the record is."""
    assert (night_shift.code, night_shift.complaints) == (0, "")
    assert "Not as expected" not in night_shift.printed
    assert f"spoken-brief debrief {night_shift.folder}" in night_shift.printed


@pytest.mark.needs("util-linux")
def test_it_needs_no_network_and_asks_for_none(
    night_shift: Any, tmp_path: Path, plain_env: dict[str, str]
) -> None:
    """It was played where no socket of the internet can be made, and ended as it should."""
    connect = "import socket; socket.create_connection(('192.0.2.1', 80), timeout=1)"
    cannot = subprocess.run(  # TEST-NET-1 of RFC 5737
        without_interfaces([sys.executable, "-c", connect]),
        check=False,
        capture_output=True,
        text=True,
        env=guarded(plain_env, tmp_path),
    )
    assert "may not use the network" in cannot.stderr
    assert (night_shift.code, night_shift.complaints) == (0, "")


def test_every_scripted_reply_was_heard(night_shift: Any, night_shift_scenario: Scenario) -> None:
    """Each reply is on record as heard, with its own words, and about its own item."""
    heard = night_shift.entries("team", "heard")
    texts = Counter(one["text"] for one in heard)
    about = Counter((one["text"], one["item"]) for one in heard)
    scripted = night_shift_scenario.replies

    assert not Counter(reply.say for reply in scripted) - texts
    assert not Counter((reply.say, reply.item) for reply in scripted if reply.item) - about


def test_nothing_was_heard_that_nobody_said(
    night_shift: Any, night_shift_scenario: Scenario
) -> None:
    """Everything on record as heard is a reply, or somebody's answer to a read-back."""
    said = {reply.say for reply in night_shift_scenario.replies}
    for person in night_shift_scenario.people.values():
        said |= {person.agrees, person.disagrees}

    assert {one["text"] for one in night_shift.entries("team", "heard")} <= said


def test_room_talk_is_never_an_answer(night_shift: Any, night_shift_scenario: Scenario) -> None:
    """What is said in the room but not to the assistant is ignored, with a reason, if at all."""
    talk = {reply.say for reply in night_shift_scenario.room_talk}
    ignored = [one for one in night_shift.entries("team", "ignored") if one["text"] in talk]

    assert talk
    assert not talk & {one["text"] for one in night_shift.entries("team", "heard")}
    assert all(one["why"] for one in ignored)


def test_every_item_was_answered(night_shift: Any, site: Site) -> None:
    """Every item of the phases to which the case came, and that is asked of this patient in the
    usual brief, is done at the end, and no other.
    """
    answered = {
        one["item"] for one in night_shift.debrief["entries"] if one["meaning"] == "answered"
    }
    rebuilt = Case.rebuilt(site.brief, read_case(night_shift.folder)[1])

    came_to = (Phase.BEFORE, Phase.BETWEEN, Phase.AFTER)
    asked = {
        item.id for phase in came_to for item in site.brief.items_of(phase) if rebuilt.applies(item)
    }
    assert answered == asked
    assert {rebuilt.known.items[item].standing.value for item in asked} == {"done"}


def test_the_pressor_was_deferred_and_then_resolved(night_shift: Any) -> None:
    """ "Not yet" leaves the item open; it is asked again in its section and then confirmed."""
    pressor = [
        one["meaning"]
        for one in night_shift.debrief["entries"]
        if one["item"] == "pressor" and one["kind"] == "event" and one["meaning"] != "value-heard"
    ]

    assert pressor == ["asked", "deferred", "asked", "answered"]


def test_the_dose_is_the_labels_and_was_read_back_first(night_shift: Any) -> None:
    """1.2 mg/kg for 70 kg is 84 mg, 8.4 mL of 10 mg/mL, and only after drug and weight are right.

    Source: US prescribing information, rocuronium bromide injection, rapid sequence.
    """
    milligrams = LABEL_MG_PER_KG * 70
    entries = night_shift.debrief["entries"]
    (told,) = [one for one in entries if one["meaning"] == "dose-told"]
    (spoken,) = [one for one in entries if (one["kind"], one["meaning"]) == ("said", "dose")]
    (quote,) = [one for one in entries if (one["kind"], one["meaning"]) == ("said", "quote")]
    between = entries[entries.index(quote) : entries.index(told)]
    yes = ("confirm", "plain_yes")
    agreed = [one for one in between if one["kind"] == "heard" and one["meaning"] in yes]

    assert float(told["values"]["dose"]) == pytest.approx(milligrams)
    assert told["values"]["unit"] == "mg"
    assert float(told["values"]["volume_ml"]) == pytest.approx(milligrams / LABEL_MG_PER_ML)
    assert "eighty-four milligrams" in spoken["text"]
    assert "eight point four millilitres" in spoken["text"]
    assert "seventy" in quote["text"]
    assert "seven zero" in quote["text"]
    # One that was not surely heard counts for nothing, and is said again.
    (accepted,) = [one for one in agreed if one["verdict"] == "accept"]
    assert accepted is agreed[-1]
    assert entries.index(quote) < entries.index(told) < entries.index(spoken)


def test_one_call_for_one_crossing(night_shift: Any) -> None:
    """The saturation reaches 93 % once on its way down, and is called once."""
    trend = [sample["spo2_percent"] for sample in night_shift.debrief["saturation"]]
    crossings = [pair for pair in pairwise(trend) if pair[0] > THRESHOLD_PERCENT >= pair[1]]
    calls = [
        one
        for one in night_shift.entries("watcher", "said")
        if one["values"].get("level_percent") is not None
    ]

    assert min(trend) <= THRESHOLD_PERCENT < max(trend)
    assert len(crossings) == 1
    assert [(one["meaning"], one["values"]["level_percent"]) for one in calls] == [
        ("fell", THRESHOLD_PERCENT)
    ]
    assert "ninety-three" in calls[0]["text"]


def test_only_the_watcher_names_a_saturation(night_shift: Any, site: Site) -> None:
    """The conversation asks the brief's questions about it and reads answers to them back; it says
    what it is in the pause, where everything is summed up, and where it is seen to be back between
    attempts. What is left is listed by name.
    """
    questions = " ".join(f"{item.ask} {item.call}" for item in site.brief.items())
    about_it = [
        one["text"]
        for one in night_shift.entries("assistant", "said")
        if one["meaning"] not in ("pause", "yes", "left", "noted")
        and {"saturation", "percent"} & set(one["text"].lower().replace(",", " ").split())
    ]

    assert about_it
    for text in about_it:
        assert text.split(". ")[-1] in questions


def test_the_sound_of_the_room_lies_beside_the_record(night_shift: Any) -> None:
    """A WAV that can be read, with sound in it, as long as the case."""
    with wave.open(str(night_shift.folder / RECORDING_NAME)) as recording:
        lasts_s = recording.getnframes() / recording.getframerate()
        sound = np.frombuffer(recording.readframes(recording.getnframes()), dtype="<i2")
    last_s = max(one["at_s"] for one in night_shift.debrief["entries"])

    assert last_s < lasts_s < last_s + 10
    assert np.std(sound) > 100
