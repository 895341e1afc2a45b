"""A random walk over the whole machine, in words: 100 cases of 120 utterances."""

from random import Random

from assistant.brief.case import Case
from assistant.brief.states import State
from assistant.journal.journal import read_case
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

CASES, UTTERANCES = 100, 120
RARE = ("end the case", "close the record")
"""Said in passing this would end nearly every case at once."""


def test_whatever_is_said_a_case_goes_on_and_comes_back_from_its_record() -> None:
    """Answers, questions, facts, doubts, calls and silence in any order.

    Nothing impossible is ever recorded, somebody is always listened for, and the record alone
    gives the same case again.
    """
    phrases = TypedPhrases(Phrasebook(SITE))
    ended = 0
    for seed in range(CASES):
        random = Random(seed)
        talk = TextCase(SITE, phrases=phrases, word_s=0.0)
        for number in range(UTTERANCES):
            if talk.case.state is State.ENDED:
                break
            words = talk.any_words(random)
            assert words, f"seed {seed}, {number}: nothing is listened for in {talk.case.state}"
            chance = random.random()
            if chance < 0.04:
                talk.waits(random.choice((*[8.0] * 14, 61.0, 190.0)))
            elif chance < 0.08:
                talk.called(random.randint(80, 93))
            elif chance < 0.09:
                talk.hears("end the case")
            elif words not in RARE:
                talk.hears(words, sure=chance < 0.85)
        ended += talk.case.state is State.ENDED
        _, rows = read_case(talk.folder)
        talk.close()
        again = Case.rebuilt(SITE.brief, rows)
        assert again.unread == []
        assert (again.state, again.known) == (talk.case.state, talk.case.known), f"seed {seed}"
    assert ended > CASES / 20
