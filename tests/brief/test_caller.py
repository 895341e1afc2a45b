"""What the caller decides: the safety rules first, then the run of a brief."""

import pytest

from assistant.brief.case import Case, Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.grammar.readings import Reading, Verdict
from assistant.phrasebook.sense import makes_sense


def tags(lines):
    return [line.tag for line in lines]


def test_a_new_case_knows_nothing(table):
    """A new case starts with no weight and no answers, and asks nothing by itself."""
    assert table.case.known.weight_kg is None
    assert {state.standing for state in table.case.known.items.values()} == {Standing.OPEN}
    assert tags(table.lines) == ["opened"]


def test_a_confirmation_counts_only_while_an_item_is_asked(table):
    """Before the first question there is nothing to confirm."""
    assert not makes_sense(table.case, "confirm")

    table.hear("start")

    assert makes_sense(table.case, "confirm")


def test_a_bare_yes_does_not_answer_who_or_which(table):
    """A name, a choice and a number need a telling answer."""
    table.hear("start")
    for item_id in ("weight", "first-attempt", "first-laryngoscope"):
        table.answer_until(item_id)
        assert not makes_sense(table.case, "confirm")


def test_a_doubtful_yes_is_read_back_and_settles_nothing(table):
    """What was probably a confirmation counts only after a second one that is sure."""
    table.hear("start")
    doubtful = Reading("yes confirmed", "confirm", {}, 0.5, Verdict.ASK)

    said = table.run(table.caller.unsure(doubtful))

    assert [(line.tag, line.text) for line in said] == [("yes", "Oxygen on, yes?")]
    assert table.case.known.items["oxygen-on"].standing is Standing.OPEN
    assert tags(table.run(table.caller.unsure(doubtful))) == ["again"]
    assert table.case.known.items["oxygen-on"].standing is Standing.OPEN
    table.hear("confirm")
    assert table.case.known.items["oxygen-on"].standing is Standing.RUNNING


@pytest.mark.parametrize("verdict", [Verdict.ACCEPT, Verdict.ASK])
def test_a_bare_yes_confirms_nothing_and_is_told_what_would(table, verdict: Verdict):
    """However surely "yes" is heard, the item stays open; the line names a yes and a no."""
    table.hear("start")
    said = table.site.wording.may_be_said
    reading = Reading("yes", "bare_yes", {}, 0.99, verdict)
    tell = table.caller.heard if verdict is Verdict.ACCEPT else table.caller.unsure

    (line,) = table.run(tell(reading))

    assert said.confirm[0] in line.text
    assert said.decline[0] in line.text
    assert table.case.known.items["oxygen-on"].standing is Standing.OPEN
    assert table.case.known.current == "oxygen-on"


def test_a_bare_yes_confirms_no_read_back(table):
    """A weight that was read back waits for a whole yes."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("number", number=70.0)

    (line,) = table.hear("bare_yes", "yes")

    assert table.case.state is State.CHECKING
    assert table.case.known.weight_kg is None
    assert table.site.wording.may_be_said.confirm[0] in line.text


def test_an_item_may_take_only_a_telling_answer(table):
    """The site's own yes is then a bare one, and what is told is the telling answer."""
    table.hear("start")
    item = table.case.item("sustained-carbon-dioxide")
    table.case.known.current = item.id

    (line,) = table.hear("bare_yes", "yes confirmed")

    assert item.only_telling
    assert item.plain_answers[0] in line.text
    assert table.case.known.items[item.id].standing is Standing.OPEN


def test_a_doubtful_no_is_asked_again_and_never_counts_as_a_yes(table):
    """A decline that is not sure changes nothing either."""
    table.hear("start")
    doubtful = Reading("not yet", "decline", {}, 0.5, Verdict.ASK)

    assert tags(table.run(table.caller.unsure(doubtful))) == ["again"]
    assert table.case.state is State.ASKING
    assert table.case.known.current == "oxygen-on"


def test_a_weight_counts_only_once_its_read_back_is_confirmed(table):
    """The number is said in words and digit by digit; until the yes there is no weight."""
    table.hear("start")
    table.answer_until("weight")

    said = table.hear("number", number=110.0)

    assert "one hundred and ten: one one zero, kilograms" in said[-1].text
    assert table.case.known.weight_kg is None
    table.hear("confirm")
    assert table.case.known.weight_kg == 110


def test_a_refused_read_back_leaves_no_weight(table):
    """A weight that was heard wrong is forgotten and asked again."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("number", number=17.0 + 20)

    said = table.hear("decline")

    assert table.case.known.weight_kg is None
    assert table.case.state is State.ASKING
    assert tags(said) == ["refused", "ask"]


def test_another_number_replaces_the_one_being_read_back(table):
    """Saying the right number is the natural correction; it is read back in turn."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("number", number=50.0)

    said = table.hear("number", "one five zero kilos", number=150.0)

    assert "one five zero" in said[-1].text
    assert table.case.state is State.CHECKING


def test_no_dose_without_a_weight(table):
    """A dose question in a case without weight, naming none, is refused."""
    said = table.hear("dose", drug="rocuronium")

    assert tags(said) == ["no-weight"]
    assert table.case.state is State.OPENED


def test_a_dose_is_spoken_only_after_its_read_back(table):
    """Drug and weight are read back, confirmed, and then the dose is said."""
    table.hear("start")
    table.answer_until("induction-drugs")

    asked = table.hear("dose", drug="rocuronium", weight_kg=70.0)
    assert tags(asked) == ["quote"]
    assert "seven zero" in asked[0].text

    told = table.hear("confirm")
    # Rocuronium label, 0.6-1.2 mg/kg for rapid sequence: 70 kg x 1.2 mg/kg = 84 mg, at 10 mg/mL.
    assert "eighty-four milligrams" in told[0].text
    assert "eight point four millilitres" in told[0].text
    assert tags(told) == ["dose", "ask"]
    assert told[1].item == "induction-drugs"


def test_a_refused_dose_question_is_dropped(table):
    """The wrong drug heard is never answered."""
    table.hear("start")
    table.hear("dose", drug="ketamine", weight_kg=70.0)

    said = table.hear("decline")

    assert tags(said) == ["dose-dropped", "ask"]
    assert not any(row.data["event"] == "dose-told" for row in table.rows)


def test_a_what_if_weight_is_said_to_be_one_and_changes_nothing(table):
    """A dose for another weight than the patient's says so; the patient keeps the own weight."""
    table.hear("start")
    table.answer_until("induction-drugs")
    weight_kg = table.case.known.weight_kg
    table.hear("dose", drug="rocuronium", weight_kg=100.0)

    said = table.hear("confirm")

    assert said[0].text.startswith("For that weight only")
    assert table.case.known.weight_kg == weight_kg


def test_going_back_to_the_weight_takes_it_away(table):
    """A weight in doubt serves for no dose until it is confirmed anew."""
    table.hear("start")
    table.answer_until("special")

    table.hear("back")

    assert table.case.known.current == "weight"
    assert table.case.known.weight_kg is None


def test_not_yet_is_asked_again_at_the_end_of_the_section(table):
    """A deferred item comes back before the next person is addressed."""
    table.hear("start")
    table.answer_until("pressor")
    table.hear("decline")
    assert table.case.known.current == "induction-drugs"

    table.answer()
    table.answer()

    assert table.case.known.current == "pressor"


def test_who_puts_off_the_last_of_a_section_is_not_asked_for_it_at_once(table):
    """A colleague goes on, and comes back to it before the person after the next is addressed."""
    table.hear("start")
    sections = [one for one in table.case.brief.sections if one.phase is Phase.BEFORE]
    last = sections[0].items[-1].id
    table.answer_until(last)

    said = table.hear("decline")

    assert tags(said) == ["deferred", "ask"]
    assert table.case.section_of(table.case.known.current).id == sections[1].id
    while table.case.known.current != last:
        assert table.case.section_of(table.case.known.current).id == sections[1].id
        table.answer()
    assert table.lines[-1].text.endswith(table.case.item(last).call)


def test_what_is_put_off_last_of_all_is_named_and_not_asked_again(table):
    """With nothing else to ask, a "not yet" is believed: the summing-up names what is open."""
    table.hear("start")
    table.pass_time(1)
    last = [one for one in table.case.brief.items_of(Phase.BEFORE) if table.case.applies(one)][-1]
    table.answer_until(last.id)

    said = table.hear("decline")

    assert tags(said)[0] == "outstanding"
    assert table.case.known.items[last.id].standing is Standing.OUTSTANDING
    assert "ask" not in tags(said)


def test_not_yet_twice_stays_open_and_is_named(table):
    """An item that is still not done is left open, and named when the brief ends."""
    table.hear("start")
    table.answer_until("pressor")
    table.hear("decline")
    table.answer()
    table.answer()
    table.hear("decline")
    assert table.case.known.items["pressor"].standing is Standing.OUTSTANDING

    table.pass_time(200)
    while table.case.state is State.ASKING:
        table.answer()

    assert "pressor" in table.lines[-1].text
    assert table.case.state is State.PAUSING


def test_a_timed_item_is_asked_again_when_its_clock_ends(table):
    """Three minutes of oxygen: the clock starts with the yes, and the result is asked for."""
    table.hear("start")
    said = table.hear("confirm")
    assert said[0].tag == "clock"
    assert table.case.known.clocks["oxygen on"].lasts_s == 180
    assert table.case.known.items["oxygen-on"].standing is Standing.RUNNING

    table.pass_time(179)
    assert not table.case.known.clocks["oxygen on"].ended
    table.pass_time(1)
    assert table.case.known.clocks["oxygen on"].ended

    table.answer()
    assert table.case.known.current == "oxygen-on"
    table.hear("confirm")
    assert table.case.known.items["oxygen-on"].standing is Standing.DONE


def test_the_brief_waits_for_a_clock_that_still_runs(table):
    """With all else answered it says that it waits, and asks as soon as the clock ends."""
    table.hear("start")
    while table.case.known.current is not None:
        table.answer()
    assert table.lines[-1].tag == "clock-left"

    said = table.pass_time(180)

    assert said[-1].item == "oxygen-on"


def test_oxygen_not_yet_good_runs_the_clock_once_more(table):
    """A no to the result of the oxygen is asked again after another while."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(180)
    table.answer()
    table.hear("decline")
    assert table.case.known.items["oxygen-on"].standing is Standing.RUNNING

    table.pass_time(60)

    assert table.case.known.items["oxygen-on"].standing is Standing.DUE


def test_go_now_says_what_is_open_in_one_breath(table):
    """The patient cannot wait: vital ones are named, all are recorded, and the brief ends."""
    table.hear("start")
    table.answer_until("monitors")

    said = table.hear("go_now")

    assert table.case.state is State.READY
    assert len(said) == 1
    assert "oxygen on" in said[0].text
    recorded = next(row for row in table.rows if row.data["event"] == "went-now")
    assert "suction" in recorded.data["open_items"]
    assert "weight" not in recorded.data["open_items"]


@pytest.mark.parametrize("aside", ["hold", "stop"])
def test_held_means_deaf_to_answers_until_resumed(table, aside):
    """While held nothing is confirmed; resumed, the open item is asked again."""
    table.hear("start")
    table.hear(aside)
    assert not makes_sense(table.case, "confirm")

    said = table.hear("resume")

    assert tags(said) == ["resumed", "ask"]
    assert said[1].item == "oxygen-on"


def test_ending_a_case_is_asked_back(table):
    """One utterance never ends a case."""
    table.hear("start")
    said = table.hear("end_case")
    assert tags(said) == ["closing"]

    table.hear("decline")
    assert table.case.state is State.ASKING

    table.hear("end_case")
    table.hear("confirm")
    assert table.case.state is State.ENDED


def test_a_doubtful_wish_to_end_is_asked_back_like_a_sure_one(table):
    """Ending is asked back anyway, so a doubtful hearing needs no second one before that."""
    table.hear("start")
    doubtful = Reading("end the case", "end_case", {}, 0.5, Verdict.ASK)

    assert tags(table.run(table.caller.unsure(doubtful))) == ["closing"]
    assert table.case.state is State.CLOSING


def test_each_failed_attempt_has_its_own_line_and_the_third_is_the_last(table):
    """Up to three attempts, then a supraglottic airway, then the front of the neck."""
    table.hear("go_now")
    plans = []
    for _ in range(4):
        table.hear("attempt_start")
        plans.append(table.hear("attempt_failed")[0].text)

    assert "First attempt" in plans[0]
    assert "Second attempt" in plans[1]
    assert "Supraglottic airway" in plans[2]
    assert "front of the neck" in plans[2]
    assert plans[3] == plans[2]


def test_the_tube_starts_the_brief_after_it(table):
    """Once the tube is in, the attempt's clock stops and the after-tube items are asked."""
    table.hear("go_now")
    table.hear("attempt_start")

    said = table.hear("tube_in")

    assert table.case.known.phase is Phase.AFTER
    assert table.case.known.clocks["attempt"].ended
    assert said[-1].item == "sustained-carbon-dioxide"


def test_nobody_answering_is_asked_again_and_then_waited_for(table):
    """It asks up to the site's number of times, then goes quiet."""
    table.hear("start")
    most = table.site.wording.timing.ask_at_most

    again = [tags(table.run(table.caller.nobody_answered(times))) for times in range(1, most + 2)]

    assert again == [["ask"]] * (most - 1) + [["waiting"], []]


def test_a_case_is_rebuilt_from_its_rows_at_every_row(table):
    """The state is a fold over the record: any prefix of it gives the state of that moment."""
    table.hear("start")
    table.hear("confirm")
    table.answer_until("weight")
    table.hear("number", number=82.0)
    table.hear("dose", drug="ketamine", weight_kg=82.0)
    table.hear("confirm")
    table.hear("hold")
    table.hear("resume")
    table.answer()
    table.hear("back")
    table.answer()
    table.hear("go_now")
    table.hear("attempt_start")
    table.hear("tube_in")

    live = Case(table.site.brief)
    for count, row in enumerate(table.rows, start=1):
        live.apply(row)
        rebuilt = Case.rebuilt(table.site.brief, table.rows[:count])
        assert (rebuilt.state, rebuilt.known) == (live.state, live.known)
    assert (live.state, live.known) == (table.case.state, table.case.known)


def test_a_clock_that_ran_while_the_machine_was_off_never_ends_by_itself(table):
    """Nobody knows how long it has run, so nobody says that it is over."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(60)
    said = table.run(table.caller.restarted(rebooted=True))
    assert "Oxygen on: unknown since the restart." in [line.text for line in said]

    assert table.pass_time(3600) == []

    clock = table.case.known.clocks["oxygen on"]
    assert (clock.unknown, clock.ended) == (True, False)


def test_a_timed_item_is_asked_from_its_beginning_after_a_reboot(table):
    """Its first question, which claims no time; the yes starts a clock that is known again."""
    table.hear("start")
    call = table.case.current.call
    table.hear("confirm")
    table.answer()
    table.run(table.caller.restarted(rebooted=True))

    said = table.hear("confirm")

    assert said[-1].item == "oxygen-on"
    assert said[-1].text.endswith(call)
    said = table.hear("confirm")
    assert said[0].tag == "clock"
    assert table.case.known.clocks["oxygen on"].running
    table.pass_time(180)
    assert table.case.known.clocks["oxygen on"].ended


def test_a_clock_that_had_ended_before_a_reboot_stays_ended(table):
    """What was known is known."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(180)

    said = table.run(table.caller.restarted(rebooted=True))

    assert "unknown" not in " ".join(line.text for line in said)
    assert table.case.known.items["oxygen-on"].standing is Standing.DUE


def test_clocks_run_on_when_only_the_program_was_restarted(table):
    """The machine's own clock has gone on meanwhile, so the end of a clock is known."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(60)
    said = table.run(table.caller.restarted(rebooted=False))
    assert "unknown" not in " ".join(line.text for line in said)

    table.pass_time(120)

    assert table.case.known.clocks["oxygen on"].ended
    assert table.case.known.items["oxygen-on"].standing is Standing.DUE


def test_an_attempt_that_ran_across_a_reboot_can_still_be_ended(table):
    """Its clock is unknown, and the next attempt has a known one."""
    table.hear("go_now")
    table.hear("attempt_start")
    table.run(table.caller.restarted(rebooted=True))

    table.hear("attempt_failed")

    assert table.case.known.clocks["attempt"].unknown
    table.hear("attempt_start")
    assert table.case.known.clocks["attempt"].running


def test_a_case_across_a_reboot_is_rebuilt_from_its_rows(table):
    """What is unknown folds like everything else."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(10)
    table.run(table.caller.restarted(rebooted=True))
    table.hear("confirm")

    rebuilt = Case.rebuilt(table.site.brief, table.rows)

    assert (rebuilt.state, rebuilt.known) == (table.case.state, table.case.known)


def test_a_second_tube_is_asked_after_as_the_first_was(table) -> None:
    """Carbon dioxide is not taken for granted because another tube had it."""
    table.hear("go_now")
    for _ in range(2):
        table.hear("attempt_start")
        if table.case.state is State.DOUBTING:  # the first one is in
            table.hear("confirm")
        asked = table.hear("tube_in")
        assert asked[-1].item == "sustained-carbon-dioxide"
        while table.case.state is State.ASKING:
            if table.case.current is None:
                table.pass_time(36)  # seven breaths
            table.answer()
