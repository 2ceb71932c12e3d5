"""What an answer from one visit rests on, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Assumed", "Basis", "Held"]


class Assumed(StrEnum):
    """What is told, or assumed."""

    NEW_DEPTH = "walkin-new-depth"
    DISTANCE = "walkin-distance"
    YEARLY = "walkin-yearly"
    DRIVE = "walkin-drive"
    DRIVING = "walkin-driving"
    ROTATION = "walkin-rotation"
    GRADE = "walkin-grade"
    PRIOR = "walkin-prior"
    WIDTH = "walkin-width"


class Held(StrEnum):
    """What it is taken to be."""

    USUAL_DEPTH = "walkin-is-usual-depth"
    DEPTH = "walkin-is-depth"
    UNKNOWN = "walkin-is-unknown"
    DISTANCE = "walkin-is-distance"
    USUAL_YEARLY = "walkin-is-usual-yearly"
    FRONT = "walkin-is-front"
    REAR = "walkin-is-rear"
    ALL = "walkin-is-all"
    USUAL_DRIVING = "walkin-is-usual-driving"
    ANSWERED = "walkin-is-answered"
    CHANCE_OF_TURNS = "walkin-is-chance-of-turns"
    TURNS = "walkin-is-turns"
    STAYS = "walkin-is-stays"
    GRADE = "walkin-is-grade"
    PUBLISHED = "walkin-is-published"
    SAVED = "walkin-is-saved"
    NARROWER = "walkin-is-narrower"
    WIDER = "walkin-is-wider"


class Basis(StrEnum):
    """Where that is from."""

    TOLD = "walkin-from-told"
    CARS = "walkin-from-cars"
    NONE = "walkin-from-none"
    AVERT = "walkin-from-avert"
    MOST = "walkin-from-most"
    HOUSEHOLD = "walkin-from-household"
    DEPTHS = "walkin-from-depths"
    UNKNOWN = "walkin-from-unknown"
    SIDEWALL = "walkin-from-sidewall"
    LIVES = "walkin-from-lives"
    """life: the source of the published life."""
    ALONE = "walkin-from-alone"
    NOWHERE = "walkin-from-nowhere"
