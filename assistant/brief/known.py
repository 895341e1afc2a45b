"""What is known of a case besides its state; equal for equal records."""

from dataclasses import dataclass, field, replace

from assistant.brief.clocks import ARREST_CLOCK, DRUGS_CLOCK, Attempt, CaseClock, Given, Outcome
from assistant.brief.conditions import FIGURES, TOLD
from assistant.brief.item import Answer, Standing
from assistant.brief.phases import AIRWAY_IN, Phase
from assistant.brief.states import State
from assistant.brief.unsettled import (
    DOSE_AWAITED_S,
    DoseQuestion,
    Doubt,
    Fact,
    Figure,
    Mixing,
    Pending,
    Quote,
    ToldDose,
    Value,
)


@dataclass(frozen=True, slots=True)
class ItemState:
    """One item of the brief in this case."""

    standing: Standing = Standing.OPEN
    answer: str | None = None
    """As it is read back."""
    value: Answer | None = None
    """As it is on record: an option's or a role's id, a number, or what is special so far."""
    told: float | None = None
    """A number that was told and is not the wanted one, so that it is still open."""
    asked_times: int = 0
    """How often it came up; asking it again because nobody answered does not count."""
    deferred_times: int = 0
    """How often the answer was "not yet"."""
    put_off_s: float | None = None
    """When it was that last, on the case's clock."""


@dataclass(slots=True)
class Known:
    """All that is known of a case besides its state; only events change it."""

    items: dict[str, ItemState]
    phase: Phase = Phase.BEFORE
    phase_began_s: float = 0.0
    """When it was entered last, on the case's clock."""
    airway: Phase | None = None
    """What is in, by the phase that its going in began; also while the patient is woken up."""
    current: str | None = None
    """The item that is being asked."""
    asked_s: float | None = None
    """When it was asked first; None when the machine was started anew since."""
    answered_s: float | None = None
    """When an item was answered last."""
    undone: str | None = None
    """The item that somebody has said to be so no more, until it is so again."""
    pending: Pending | None = None
    quote: Quote | None = None
    fact: Fact | None = None
    interrupted: list[Fact] = field(default_factory=list)
    """Facts that something else came between, in the order in which they were told; each is read
    back again after that."""
    checked: tuple[str, Pending] | None = None
    """An item and its answer that was read back when the wave came between: it comes again."""
    mixing: Mixing | None = None
    aside_from: State = State.OPENED
    """Where the aside goes back to."""
    held_from: State = State.OPENED
    """The same of a hold, in which there may be asides."""
    held_quietly: bool = False
    """Whether somebody asked for silence, and is not told that the brief still waits."""
    closed_in_silence: bool = False
    """Whether nothing was to be said when somebody asked to end the case."""
    doubt: Doubt | None = None
    patient_in_doubt: bool = False
    """The case was cut short, and nobody has said yet that it is still of the same patient."""
    cut_short_in: State | None = None
    """Where it was when that was asked."""
    asked_back: str | None = None
    """The word that was asked back then."""
    another_patient: bool = False
    """It was ended because it is another one."""
    laid_aside: State | None = None
    """The aside that a vital word interrupted: it is taken up again."""
    times_called: dict[str, int] = field(default_factory=dict)
    """Of each clock's latest run, after how many seconds it was called last."""
    doses: dict[str, ToldDose] = field(default_factory=dict)
    """By drug, the dose that was told for this patient last and holds."""
    outdated: list[str] = field(default_factory=list)
    """Drugs whose dose was told, and is another one by what was told of the patient since."""
    answered: Quote | None = None
    """The dose question that was answered last."""
    doses_awaited: list[DoseQuestion] = field(default_factory=list)
    """Doses that were asked for and that something comes before, in the order in which they are
    told after it."""
    doses_awaited_s: float = 0.0
    """Since when somebody waits for them, on the case's clock."""
    given: list[Given] = field(default_factory=list)
    """The drugs that went in, in that order."""
    no_oxygen: bool = False
    """Somebody said that no oxygen gets in from above, and nothing but the neck has come since."""
    gaps_told: bool = False
    """Somebody was told what is open before the drugs or the attempt."""
    broken_off: bool = False
    """A vital word broke the brief before the attempt off; it is gone back to."""
    brief: str | None = None
    """Which of the site's briefs is asked; None where it has one only."""
    weight_kg: int | None = None
    weight_in_doubt: bool = False
    """Known from before a restart: it must be confirmed again before any dose."""
    height_cm: int | None = None
    age_years: int | None = None
    no_adult: bool = False
    """An age was told for which there are no doses here, and none that there are since."""
    sex: str | None = None
    pressure_mmhg: int | None = None
    """Systolic."""
    pressure_lost: bool = False
    """One was told, and is not so any more; nobody has told another since."""
    pulse_per_min: int | None = None
    features: list[str] = field(default_factory=list)
    """What this patient has, of the site's own features, in the order in which they were told."""
    low_pressure: bool | None = None
    acidosis: bool | None = None
    """Breathing hard against acid."""
    obstruction: bool | None = None
    """Air gets out slowly: asthma, chronic lung disease."""
    allergies: list[str] = field(default_factory=list)
    """Of the formulary's allergens, in the order in which they were told."""
    excluded: list[str] = field(default_factory=list)
    """What was asked before a dose and is excluded, as "drug:question"."""
    long_form: bool | None = None
    """Whether items are asked in full; None: as the site has it."""
    pacing: bool = False
    """Whether the bag is paced."""
    attempts: list[Attempt] = field(default_factory=list)
    clock_runs: list[CaseClock] = field(default_factory=list)
    """Every run of every clock, in the order in which they were started."""
    trail: list[str] = field(default_factory=list)
    """Items answered or deferred, in order: the way back."""

    @property
    def clocks(self) -> dict[str, CaseClock]:
        """The latest run of each clock, by its name."""
        return {run.name: run for run in self.clock_runs}

    def set_standing(
        self,
        item_id: str,
        standing: Standing,
        answer: str | None = None,
        *,
        value: Answer | None = None,
        put_off_s: float | None = None,
    ) -> None:
        """What has become of an item; how often it was asked and deferred is kept.

        `put_off_s`: when, where it was put off now.
        """
        before = self.items[item_id]
        changed = replace(before, standing=standing, answer=answer, value=value, told=None)
        if put_off_s is not None:
            times = before.deferred_times + 1
            changed = replace(changed, deferred_times=times, put_off_s=put_off_s)
        self.items[item_id] = changed

    def settle(
        self,
        item_id: str,
        standing: Standing,
        answer: str | None,
        *,
        value: Answer | None = None,
        put_off_s: float | None = None,
    ) -> None:
        """An item was answered or deferred: nothing is being asked, and there is a way back."""
        self.set_standing(item_id, standing, answer, value=value, put_off_s=put_off_s)
        self.ask_nothing()
        self.lead_back_to(item_id)

    def ask_nothing(self) -> None:
        """No item is asked any more, nor an answer to one awaited."""
        self.current = self.pending = self.asked_s = None

    def lead_back_to(self, item_id: str) -> None:
        """It is the last one that was settled: the way back begins with it."""
        if item_id in self.trail:
            self.trail.remove(item_id)
        self.trail.append(item_id)

    def open_again(self, item_id: str) -> None:
        """An item as if it had not been answered."""
        self.set_standing(item_id, Standing.OPEN)
        if item_id in self.trail:
            self.trail.remove(item_id)

    def set_figure(self, figure: Figure, value: Value | None) -> None:
        """A fact about the patient; None: not known any more. Allergies add up."""
        if figure == "allergies":
            if value is not None and value not in self.allergies:
                self.allergies.append(str(value))
            return
        if figure == "feature":
            self.tell_feature(str(value))
            return
        if figure == "feature_denied":
            self.deny_feature(str(value))
            return
        if figure == "allergy_denied":
            self.allergies = [one for one in self.allergies if one != value]
            return
        setattr(self, figure, value)
        if figure == "weight_kg":
            self.weight_in_doubt = False
        if figure == "age_years":
            self.no_adult = False
        if figure in ("pressure_mmhg", "low_pressure") and value is not None:
            self.pressure_lost = False

    def lose_pressure(self) -> None:
        """What was told of the pressure is not so any more; but a low one stays until another is
        told."""
        if not self.low_pressure:
            self.pressure_mmhg = self.low_pressure = None
            self.pressure_lost = True

    def tell_feature(self, feature: str) -> None:
        """The patient has it: one that the program knows itself, or one of the site's own."""
        if feature in TOLD:
            setattr(self, feature, True)
        elif feature not in self.features:
            self.features.append(feature)

    def deny_feature(self, feature: str) -> None:
        """The patient has it not after all."""
        if feature in TOLD:
            setattr(self, feature, None)
        self.features = [one for one in self.features if one != feature]

    def value_of(self, name: str) -> object:
        """What is known under a name that a condition may have; None for nothing."""
        if name == "shock_index":
            pulse, pressure = self.pulse_per_min, self.pressure_mmhg
            return pulse / pressure if pulse is not None and pressure else None
        if name in self.items:
            return self.items[name].value
        if name in (*FIGURES, *TOLD, "sex", "brief"):
            return getattr(self, name)
        return name in self.features or None

    def told_dose(self, drug: str) -> ToldDose | None:
        """The dose that was told last, if it holds: none by weight while no weight is confirmed,
        and none at all for an age that is no adult's."""
        told = None if self.no_adult else self.doses.get(drug)
        unweighed = self.weight_kg is None or self.weight_in_doubt
        by_weight = told is not None and told.asked.weight_kg is not None
        return None if by_weight and unweighed else told

    def still_awaited(self, now_s: float) -> list[DoseQuestion]:
        """The doses that somebody still waits for."""
        return self.doses_awaited if now_s - self.doses_awaited_s <= DOSE_AWAITED_S else []

    def await_dose(self, question: DoseQuestion, at_s: float, *, first: bool) -> None:
        """It is told later, and one of another drug that was asked for before stays before it;
        `first`: it was being answered."""
        self.keep_awaiting(at_s)
        drugs = [one.of_drug for one in self.doses_awaited]
        if question.of_drug in drugs:
            self.doses_awaited[drugs.index(question.of_drug)] = question
        else:
            self.doses_awaited.insert(0 if first else len(drugs), question)

    def keep_awaiting(self, at_s: float, *, but: str = "") -> None:
        """One was asked for or answered: nobody has given up on the others, `but` that drug's."""
        self.doses_awaited = [one for one in self.still_awaited(at_s) if one.of_drug != but]
        self.doses_awaited_s = at_s

    @property
    def facts_read_back(self) -> list[Fact]:
        """What was told and is neither taken nor refused, the one that is read back just now
        first."""
        return [*([] if self.fact is None else [self.fact]), *self.interrupted]

    def begin_aside(self) -> None:
        """Something else comes first: what was told and not settled is kept until after that, and
        a recipe is read on then."""
        if self.fact is not None:
            self.interrupted.append(self.fact)
        # What else that had open is dropped with it.
        self.laid_aside = None if self.checked is None else State.CHECKING
        self.quote = self.fact = None
        if self.mixing is not None:
            self.laid_aside = State.MIXING

    def keep_checked(self) -> None:
        """What is read back comes again after the wave."""
        if self.current is not None and self.pending is not None:
            self.checked = self.current, self.pending
            self.laid_aside = State.CHECKING

    def drop_checked(self) -> None:
        """What was read back does not come again: what comes now is about something else, and its
        item is asked anew."""
        self.checked = None
        if self.laid_aside is State.CHECKING:
            self.laid_aside = None

    def end_aside(self) -> None:
        """Nothing that the aside had open is awaited any more."""
        self.quote = self.fact = None
        if self.laid_aside is not State.MIXING:
            self.mixing = None

    def forget_question(self, drug: str) -> None:
        """Nobody waits for its dose any more: one that a hold had put off does not come back."""
        self.doses_awaited = [one for one in self.doses_awaited if one.of_drug != drug]
        put_off = self.laid_aside is State.QUOTING and self.quote is not None
        if put_off and self.quote is not None and self.quote.drug.partition("/")[0] == drug:
            self.quote = self.laid_aside = None

    @property
    def attempt(self) -> Attempt | None:
        """The attempt that runs."""
        runs = self.attempts and self.attempts[-1].outcome is None
        return self.attempts[-1] if runs else None

    @property
    def drugs_are_in(self) -> bool:
        """Whether somebody has said that they are."""
        return DRUGS_CLOCK in self.clocks

    @property
    def is_arrested(self) -> bool:
        """Whether an arrest is being timed, also where nobody knows since when."""
        arrest = self.clocks.get(ARREST_CLOCK)
        return arrest is not None and not arrest.ended

    @property
    def has_begun(self) -> bool:
        """Whether the drugs are in, or somebody has looked: nothing is prepared any more."""
        return self.drugs_are_in or bool(self.attempts)

    @property
    def airway_is_in(self) -> bool:
        """Whether a tube or a rescue airway is in, and nobody is looking again."""
        return self.phase in AIRWAY_IN and self.attempt is None

    def end_attempt(self, at_s: float, outcome: Outcome) -> None:
        """The attempt that runs is over; or one that nobody had said to begin."""
        if self.attempt is None:
            self.attempts.append(Attempt(at_s, unknown=True))
        self.attempts[-1] = replace(self.attempts[-1], ended_s=at_s, outcome=outcome)

    def tube_is_out(self) -> None:
        """The tube of the last attempt is out: it has failed, and a next one may begin."""
        if self.attempts:
            self.attempts[-1] = replace(self.attempts[-1], outcome="tube out")
        self.phase = Phase.BEFORE

    def enter(self, phase: Phase, at_s: float) -> None:
        """Another phase begins; what is in stays in while the patient wakes up."""
        self.phase, self.phase_began_s = phase, at_s
        self.no_oxygen = self.no_oxygen and phase is Phase.FRONT_OF_NECK
        if phase is not Phase.WAKE_UP:
            self.airway = phase if phase in AIRWAY_IN else None

    def change_clock(
        self, name: str, *, ended_s: float | None = None, unknown: bool = False
    ) -> None:
        """End the latest run of a clock, or say that nobody knows how long it has run.

        Raises KeyError when no clock of that name was started.
        """
        run = self.clocks[name]
        place = len(self.clock_runs) - 1 - self.clock_runs[::-1].index(run)
        self.clock_runs[place] = replace(run, ended_s=ended_s, unknown=unknown or run.unknown)
