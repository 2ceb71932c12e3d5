"""The decision on one vehicle: actions in order of urgency, each with its evidence; codes, no words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.rotation import Scope

__all__ = ["Action", "Decision", "Kind", "Reason", "Scope", "Soon", "WouldChange"]


class Kind(StrEnum):
    """What to do."""

    INSPECT = "inspect-now"
    """A qualified person looks at these tires before the vehicle is driven far."""
    LEAK = "check-for-leak"
    READ_AGAIN = "read-again"
    """The newest reading and what came before do not fit."""
    REPLACE = "replace"
    CORRECT = "correct-first"
    """A check or repair that comes before tires are moved or replaced."""
    PRESSURE = "set-pressure"
    ROTATE = "rotate"
    LEAVE = "leave-in-place"
    """No rotation now; the reason says why."""
    LOOK = "next-look"


class Soon(StrEnum):
    """By when."""

    NOW = "now"
    BEFORE_NEXT_LOOK = "before-next-look"
    PLAN = "plan"
    """Within the window that the action carries."""


class Reason(StrEnum):
    """Why, or what stands against it."""

    AT_LIMIT = "at-limit"
    MAY_BE_DOWN = "may-be-down"
    """Not read at its limit, but by the estimate it may have come there since."""
    NEAR_LIMIT = "near-limit"
    DOES_NOT_FIT = "does-not-fit"
    DUE = "due"
    """Tread that runs out before the next look at the usual service."""
    DUE_IN_WINDOW = "due-in-window"
    AGE = "age"
    """The usual age limit comes before the tread is down; advice, the maker's rule goes first."""
    MATCH_AXLE = "match-axle"
    """The other tire of the axle would differ too much from a new one."""
    MATCH_DRIVE = "match-drive"
    """All-wheel drive: what stays would differ too much from new tires."""
    ALL_DUE = "all-due"
    DEEPER_TO_REAR = "deeper-to-rear"
    LOSES_AIR = "loses-air"
    BELOW_PLACARD = "below-placard"
    PATTERN = "pattern"
    """The tread's pattern asks for it."""
    DRIVE_APART = "drive-apart"
    """step, apart_mm: all wheels are driven, and tires differ by more than the rule."""
    REPLACE_FIRST = "replace-first"
    CORRECT_FIRST = "correct-first"
    AS_USUAL = "as-usual"
    """The usual rotation: tires stay alike, and the set comes off together."""
    LENGTHENS = "lengthens"
    SHORTENS = "shortens"
    NOT_DUE = "not-due"
    AS_ASSUMED = "as-assumed"
    """A what-if takes it for granted."""
    SIZES_DIFFER = "sizes-differ"
    """Tires of different sizes stay on their axle, so no move changes axles."""
    SIZES_AND_DIRECTION = "sizes-and-direction"
    """They differ in size and turn one way: no tire has anywhere to go."""
    NOT_KNOWN = "not-known"
    SERVICE = "usual-service"
    BEFORE_LIMIT = "before-limit"
    """So that a tire is looked at before it may be down."""


class WouldChange(StrEnum):
    """At what an action would no longer stand as it does."""

    READ_OVER = "read-over"
    """position, over_mm: its least reading over this depth."""
    FOUND_SOUND = "found-sound"
    """A look that finds nothing wrong."""
    HOLDS_AIR = "holds-air"
    """position, below_kpa: less than this lost a month."""
    READS_AGREE = "reads-agree"
    """position: a second reading that fits what came before."""
    GOES_FURTHER = "goes-further"
    """position, over_km, middle_km, spread_km: its middle distance over this one; what it is now, and how
    wide its range is."""
    SURELY_FURTHER = "surely-further"
    """position, over_km, least_km, spread_km: the same of the distance that it passes 9 times in 10."""
    AGE_ALLOWED = "age-allowed"
    """position: its maker lets it grow older."""
    APART_ALLOWED = "apart-allowed"
    """position, apart_mm: so great a difference is allowed."""
    DRIVE_ALLOWED = "drive-allowed"
    """apart_mm: so great a difference between driven wheels is allowed."""
    PRESSURES_RIGHT = "pressures-right"
    """within_kpa: no further below the placard than this."""
    LEAVING_LONGER = "leaving-longer"
    """share, chance, chance_now: leaving the tires gives so much more, with that chance; what it is now."""
    LEAVING_NO_LONGER = "leaving-no-longer"
    """chance, chance_now: that leaving them is the longer way is less likely than this."""
    ROTATING_NO_LONGER = "rotating-no-longer"
    """chance, chance_now: that rotating before it is due is the longer way is less likely than this."""
    RUN_ON = "run-on"
    """more_km: from so many more on a rotation is due."""
    NEW_TIRES = "new-tires"
    """New ones in place of those that are due: then the set is judged anew."""
    OTHER_TIRES = "other-tires"
    """Tires whose sizes and direction allow it."""
    ASSUMED_OTHERWISE = "assumed-otherwise"
    DEPTHS_READ = "depths-read"
    SERVICE_SET = "service-set"
    """service_km, days: another usual service than this."""


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do.

    Attributes
    ----------
    kind : Kind
    severity : Severity
    positions : tuple of str
        Wheels it concerns, in the order LF, RF, LR, RR, SP; empty for the whole vehicle.
    soon : Soon
    reasons : tuple of Note
        Why, with the numbers it rests on; codes of :class:`Reason`.
    scope : Scope, optional
        Of a replacement.
    by : Timestamp, optional
        Latest day, where one can be told.
    window : tuple of Timestamp, optional
        Days by which a tire is down with 10 and 90 % (of the first of them).
    as_of : Timestamp, optional
        Today, where a window is told.
    change : tuple of Note
        What would change the advice, codes of :class:`WouldChange`: were all of it so, the action would not
        stand as it does.
    """

    kind: Kind
    severity: Severity
    positions: tuple[str, ...] = ()
    soon: Soon = Soon.PLAN
    reasons: tuple[Note, ...] = ()
    scope: Scope | None = None
    by: pd.Timestamp | None = None
    window: tuple[pd.Timestamp, pd.Timestamp] | None = None
    as_of: pd.Timestamp | None = None
    change: tuple[Note, ...] = ()

    def has(self, reason: Reason) -> bool:
        """Whether the action rests on a reason."""
        return any(note.code == reason for note in self.reasons)


@dataclass(frozen=True)
class Decision:
    """What to do with one vehicle's tires, most urgent first; every page and command reads it.

    Attributes
    ----------
    vehicle_id : str
    as_of : Timestamp
    actions : tuple of Action
        Ordered by severity, then as in :class:`Kind`. There is always a ROTATE or a LEAVE, and a LOOK.
    first : tuple of str
        Wheels due first: one, or several that differ by less than can be told.
    first_chance : float
        Chance that the one named is the first; NaN if several are named or none is known.
    """

    vehicle_id: str
    as_of: pd.Timestamp
    actions: tuple[Action, ...] = ()
    first: tuple[str, ...] = ()
    first_chance: float = field(default=float("nan"))

    @property
    def severity(self) -> Severity:
        """How urgent the most urgent action is."""
        return max((action.severity for action in self.actions), default=Severity.NOTE)

    @property
    def headline(self) -> Action:
        """Action that stands above all others."""
        return self.actions[0]

    @property
    def may_rotate(self) -> bool:
        """Whether nothing stands against rotating the set, now or when it is due."""
        return all(
            action.has(Reason.NOT_DUE) or action.has(Reason.AS_ASSUMED) for action in self.of(Kind.LEAVE)
        )

    def of(self, kind: Kind) -> tuple[Action, ...]:
        """Actions of one kind, in order."""
        return tuple(action for action in self.actions if action.kind == kind)

    def frame(self) -> pd.DataFrame:
        """One row an action, in order, with codes of why and of what would change it."""
        rows = [
            (
                self.vehicle_id, i + 1, a.kind.value, a.severity.name.lower(), " ".join(a.positions),
                a.soon.value, a.scope.value if a.scope else "", a.by if a.by is not None else pd.NaT,
                "; ".join(map(str, a.reasons)), "; ".join(map(str, a.change)),
            )
            for i, a in enumerate(self.actions)
        ]  # fmt: skip
        return pd.DataFrame(
            rows,
            columns=[
                "vehicle_id", "order", "action", "severity", "positions", "when", "scope", "by", "why",
                "would_change",
            ],
        )  # fmt: skip


def in_order(actions: Iterable[Action]) -> tuple[Action, ...]:
    """Most urgent first; equally urgent ones in the order of :class:`Kind`."""
    rank = {kind: i for i, kind in enumerate(Kind)}
    return tuple(sorted(actions, key=lambda a: (-a.severity, rank[a.kind])))
