"""How well a row of sounds fits what was heard: the best path through it, frame by frame.

Between two sounds, before the first and after the last there may be frames with none, as in
connectionist temporal classification, which the model was taught by; a long sound may be heard in
two pieces.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.engines.closed.sounds.alphabet import COUNT, Sounds
from assistant.hearing.engines.closed.sounds.model import Heard

Floats = npt.NDArray[np.float32]
Numbers = npt.NDArray[np.intp]

_NEVER = np.float32(-1e9)
_IN_PIECES_NATS = 1.0
"""What it costs that a sound is heard once more after a frame with none."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the sound a row of sounds stands, in frames."""

    first: int
    """Of its first sound."""
    last: int
    """Of its last one."""


def anything(heard: Heard) -> float:
    """The total of the likeliest sounds, whatever they are: nothing fits better."""
    return float(heard.max(axis=1).sum())


def best(heard: Heard, rows: Sequence[Sounds]) -> Floats:
    """The total log-likelihood of each row of sounds as all that was said, shape (rows,).

    A row must not be empty.
    """
    if not rows:
        return np.zeros(0, np.float32)
    labels, ends = _laid_out(rows)
    total = _walk(heard, labels)[-1]
    which = np.arange(len(rows))
    return np.asarray(np.maximum(total[which, ends], total[which, ends - 1]))


def gained_by_more(heard: Heard, row: Sounds) -> float:
    """How much better it fits if anything else was said before it or after it, in nats."""
    labels, ends = _laid_out([row])
    any_sound = heard.max(axis=1)
    so_far = np.cumsum(any_sound)
    alone = best(heard, [row])[0]
    after_more = _walk(heard, labels, enters=so_far)[-1][0]
    then_more = _walk(heard, labels)[:, 0]
    rest = so_far[-1] - so_far
    ended = np.maximum(then_more[:, ends[0]], then_more[:, ends[0] - 1])
    before = max(after_more[ends[0]], after_more[ends[0] - 1]) - alone
    return float(max(0.0, before) + max(0.0, (ended + rest).max() - alone))


def place(heard: Heard, row: Sounds) -> Place:
    """Where its sounds are heard on the best path."""
    labels, ends = _laid_out([row])
    totals = _walk(heard, labels)[:, 0]
    at = int(ends[0]) if totals[-1, ends[0]] > totals[-1, ends[0] - 1] else int(ends[0]) - 1
    path = [at]
    can_skip = _can_skip(labels)[0]
    for frame in range(len(heard) - 1, 0, -1):
        came = _from(totals[frame - 1][None], can_skip[None])[:, 0, at]
        at += (0, -1, -2, 1)[int(came.argmax())]
        path.append(at)
    sounding = np.flatnonzero(np.array(path[::-1]) % 2)
    return Place(int(sounding[0]), int(sounding[-1]))


def _laid_out(rows: Sequence[Sounds]) -> tuple[Numbers, Numbers]:
    """The states of each row, none and sound by turns, shape (rows, states); and its last state."""
    states = 2 * max(map(len, rows)) + 1
    labels = np.full((len(rows), states), COUNT, np.intp)
    for number, row in enumerate(rows):
        labels[number, 1 : 2 * len(row) : 2] = row
    return labels, np.array([2 * len(row) for row in rows])


def _can_skip(labels: Numbers) -> npt.NDArray[np.bool_]:
    """Whether a state may follow the one before the last: two unlike sounds without a pause."""
    skips = np.zeros(labels.shape, bool)
    skips[:, 3::2] = labels[:, 3::2] != labels[:, 1:-2:2]
    return skips


def _walk(heard: Heard, labels: Numbers, enters: Floats | None = None) -> Floats:
    """The best total up to each state in each frame, shape (frames, rows, states).

    `enters`: of anything up to each frame, after which the row may begin.
    """
    skips = _can_skip(labels)
    total = np.full(labels.shape, _NEVER)
    total[:, :2] = heard[0][labels[:, :2]]
    totals = [total]
    for frame in range(1, len(heard)):
        total = _from(total, skips).max(axis=0)
        if enters is not None:
            total[:, :2] = np.maximum(total[:, :2], enters[frame - 1])
        total = total + heard[frame][labels]
        totals.append(total)
    return np.stack(totals)


def _from(total: Floats, skips: npt.NDArray[np.bool_]) -> Floats:
    """What each state may come from: itself, the one before, the one before that, and a sound from
    the pause after it. Shape (4, rows, states)."""
    ways = np.full((4, *total.shape), _NEVER)
    ways[0] = total
    ways[1, :, 1:] = total[:, :-1]
    ways[2, :, 2:] = np.where(skips[:, 2:], total[:, :-2], _NEVER)
    ways[3, :, 1:-1:2] = total[:, 2::2] - _IN_PIECES_NATS
    return ways
