"""How the Vosk engine does with the Korean site and the Korean model: right answers and dangers.

    python -m tests.bench.korean --models DIR   (DIR/vosk is the model's folder)

espeak-ng's Korean voice at several rates and pitches, clean and in pink noise, through the
end-pointer, against what may be said while the item `suction` is open. Prints tables;
docs/hearing-trials.md has what they came to. The voice is robotic, and the sentences were written
by hand.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.brief.states import STATES, State
from assistant.grammar.grammar import Danger, Grammar, Pattern
from assistant.grammar.readings import Reading, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines.vosk.engine import TELLING_WORDS, VoskEngine
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice

SITE = Path(__file__).parents[2] / "configs" / "angae-gogae"
NOISE_DB: tuple[float | None, ...] = (None, 20.0, 10.0)
VOICES = ((120, 35), (140, 55), (160, 45))

COMMANDS = ("다시 말해 주세요", "잠깐 기다려", "조용히 정지", "환자 사례 종료", "지금 바로 진행")
NUMBERS = ("오십 오", "사십 삼", "팔십", "칠십 이", "백 십", "환자 체중 육십")
# Denials that the site does not list, as somebody may say them all the same.
DENIALS = """
아직 안 됐어요|아니 이상 있어요|네 아직 안 돼요|모니터 모두 안 보여요|흡인기 모두 고장
흡인기가 안 돼요|흡인기 하나는 안 됩니다|정상 아닙니다|모두 정상은 아닙니다
네 그런데 아직 아닙니다|이상 없음 아직 아닙니다|아니 전부 정상 아니에요|모니터 정상 아님
확인 못 했어요|전부 확인 안 했어요
"""
TALK = """
저기 가위 좀 주세요|오늘 날씨가 좋네요|보호자는 어디 있어요|확인했어요|혈압이 떨어지고 있어요
누가 전화 받아요|괜찮아요|잠시만요|네 알겠습니다|확인해 주세요|그건 아니고|저는 몰라요
이쪽으로 옮겨 주세요|하나 둘 셋 들어요|네 선생님|네 그래요|산소 올려 주세요|수액 더 주세요
이상하네요|이상 없나요|모두 준비됐나요|정상이에요|전부 다 가져와요|모니터 좀 돌려 주세요
모두 조용히 해 주세요|흡인기 어디 있어요|흡인기 좀 주세요|네 바로 할게요|지금 뭐라고 했어요
혈당은 백이십이에요|환자 이름이 뭐예요|나이가 어떻게 되세요|엑스레이 찍었어요|피검사 나왔어요
보호자 불러 주세요|문 좀 닫아 주세요|장갑 주세요|여기 잡아 주세요|조금만 더 올려요|이제 됐어요
거의 다 됐어요|내가 할게요|다음은 누구예요|커피 마실래요|점심 먹었어요|내일 근무예요|네 네 네
응 그래|음 글쎄요|아마 그럴 거예요|맞는 것 같아요|확실해요|정말 이상 없어요|네 모두 모여 주세요
없음|전부|정상|모두|이상
"""
SHORT = ("네", "맞다", "네 확인", "모두 확인", "이상 없음", "확인 완료")
"""Confirmations that the site has not: what shorter ones would have done."""

Render = Callable[[str], Samples]


def sentences(text: str) -> tuple[str, ...]:
    """One sentence between two bars or line ends."""
    return tuple(one.strip() for line in text.strip().splitlines() for one in line.split("|"))


@dataclass(frozen=True)
class Trial:
    """One rendering and what was made of it."""

    said: str
    noise_db: float | None
    readings: tuple[Reading, ...]

    def outcome(self, right: str) -> str:
        """Of something that is in the grammar; `right` is its meaning."""
        taken = [one for one in self.readings if one.verdict is not Verdict.IGNORE]
        if any(one.text != self.said and one.verdict is Verdict.ACCEPT for one in taken):
            wrong = next(one for one in taken if one.text != self.said)
            return "wrong" if wrong.meaning != right else "accepted"
        if any(one.verdict is Verdict.ACCEPT for one in taken):
            return "accepted"
        return "asked back" if taken else "ignored"


def noisy(sound: Samples, noise_db: float | None, seed: int) -> Samples:
    """Half a second around it, and pink noise so far below the speech."""
    speech = np.pad(sound.astype(np.float64), RATE_HZ // 2)
    if noise_db is None:
        return speech.astype(np.int16)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(len(speech)))
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1)), len(speech))
    level = np.sqrt(np.mean(sound.astype(np.float64) ** 2)) * 10 ** (-noise_db / 20) / noise.std()
    return np.clip(speech + level * noise, -32768, 32767).astype(np.int16)


def grammars() -> tuple[Grammar, Grammar, tuple[str, ...], tuple[str, ...]]:
    """As the site has it; with short confirmations too; its confirmations; its declines."""
    site = load_site(SITE)
    book = Phrasebook(site)
    item = next(one for one in site.brief.items() if one.id == "suction")
    weight = next(one for one in site.brief.items() if one.id == "weight")
    patterns = book._patterns(STATES[State.ASKING].hears, item)
    patterns += book._patterns(("number",), weight)
    own = book._grammar(patterns)
    short = [Pattern(words, "confirm", danger=Danger.HIGH) for words in SHORT]
    confirmations = (*site.wording.may_be_said.confirm, *item.telling_answers)
    declines = site.wording.may_be_said.decline
    return own, book._grammar([*patterns, *short]), confirmations, declines


def trials(
    engine: VoskEngine,
    grammar: Grammar,
    said: Sequence[str],
    voices: Sequence[Render],
    noises_db: Sequence[float | None] = NOISE_DB,
) -> Iterator[Trial]:
    """Each sentence in each voice and noise, through the end-pointer."""
    for seed, text in enumerate(said):
        for number, render in enumerate(voices):
            sound = render(text)
            for noise_db in noises_db:
                ear = Ear(engine)
                ear.expect(grammar)
                heard = hear_file(ear, noisy(sound, noise_db, 1000 * seed + number))
                yield Trial(text, noise_db, tuple(one.reading for one in heard))


def confirmed(trial: Trial, verdict: Verdict, words: int = 0) -> bool:
    """Whether it was taken for a confirmation of so many words (0: of any)."""
    return any(
        one.meaning == "confirm"
        and one.verdict is verdict
        and (not words or len(one.text.split()) == words)
        for one in trial.readings
    )


def measure(engine: VoskEngine, voices: Sequence[Render]) -> None:
    """Run all and print."""
    own, with_short, confirmations, declines = grammars()
    print("| said | noise | accepted | asked back | ignored | taken for another |")
    print("|---|---|---|---|---|---|")
    right = {
        "confirmations": (confirmations, "confirm"),
        "declines": (declines, "decline"),
        "commands": (COMMANDS, ""),
        "numbers": (NUMBERS, "number"),
    }
    sure: list[tuple[bool, float]] = []
    for kind, (said, meaning) in right.items():
        ran = list(trials(engine, own, said, voices))
        for noise_db in NOISE_DB:
            of = [one for one in ran if one.noise_db == noise_db]
            came = Counter(one.outcome(meaning) for one in of)
            shares = (f"{came[name]}" for name in ("accepted", "asked back", "ignored", "wrong"))
            print(f"| {kind} ({len(of)}) | {noise_db} | {' | '.join(shares)} |", flush=True)
        sure += [(r.text == t.said, r.confidence) for t in ran for r in t.readings if r.meaning]
        bad = Counter(
            (t.said, r.text)
            for t in ran
            for r in t.readings
            if r.verdict is Verdict.ACCEPT and r.text != t.said
        )
        print("  as another:", dict(bad), file=sys.stderr)
    print("\n| danger | trials | accepted as a confirmation | asked back as one | other command |")
    print("|---|---|---|---|---|")
    for kind, said in (
        ("declines of the site", declines),
        ("other denials", sentences(DENIALS)),
        ("room talk", sentences(TALK)),
    ):
        ran = list(trials(engine, own, said, voices))
        accepted = sum(confirmed(one, Verdict.ACCEPT) for one in ran)
        asked = sum(confirmed(one, Verdict.ASK) for one in ran)
        other = sum(
            any(
                r.verdict is Verdict.ACCEPT and r.meaning not in ("confirm", "decline")
                for r in one.readings
            )
            for one in ran
        )
        print(f"| {kind} | {len(ran)} | {accepted} | {asked} | {other} |", flush=True)
        sure += [(False, r.confidence) for t in ran for r in t.readings if r.meaning == "confirm"]
        for one in ran:
            if confirmed(one, Verdict.ACCEPT) or confirmed(one, Verdict.ASK):
                print(
                    "  ",
                    one.said,
                    one.noise_db,
                    [(r.text, r.confidence) for r in one.readings],
                    file=sys.stderr,
                )
    print(
        "\nWith short confirmations too, at 20 dB: taken for one of so many words, 0.9 and above:"
    )
    for kind, said in (("denials", (*declines, *sentences(DENIALS))), ("talk", sentences(TALK))):
        ran = list(trials(engine, with_short, said, voices, (20.0,)))
        counts = {
            words: sum(
                any(
                    r.meaning == "confirm" and r.confidence >= 0.9 and len(r.text.split()) == words
                    for r in one.readings
                )
                for one in ran
            )
            for words in (1, 2, TELLING_WORDS)
        }
        print(f"{kind}: {len(ran)} trials, {counts}", flush=True)
    for at in (0.5, 0.75, 0.9, 0.99):
        rights = [conf for ok, conf in sure if ok]
        wrongs = [conf for ok, conf in sure if not ok]
        print(
            f"confidence {at} and above: {sum(c >= at for c in rights)} of {len(rights)} right "
            f"phrases, {sum(c >= at for c in wrongs)} of {len(wrongs)} wrong ones"
        )


def main() -> None:
    """Measure with espeak-ng's voice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--models", type=Path, required=True)
    engine = VoskEngine(parser.parse_args().models / "vosk")
    voices = [
        open_voice(VoiceSettings(name="ko", words_per_minute=rate, pitch=pitch)).render
        for rate, pitch in VOICES
    ]
    measure(engine, voices)


if __name__ == "__main__":
    main()
