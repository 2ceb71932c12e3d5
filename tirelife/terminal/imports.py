"""What ``tirelife import`` prints: what each column was taken for, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife.errors import FitError, InputError
from tirelife.language import code_words
from tirelife.logbook import read_logbook
from tirelife.outlook import worth_in_fleet
from tirelife.sheet.language import fact_words

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.codes import Note
    from tirelife.logbook.sheets import Imported

__all__ = [
    "columns_text",
    "counted",
    "import_answer",
    "import_texts",
    "on_the_way",
    "outcome_text",
    "rows_worded",
]


def import_texts(language: str) -> Mapping[str, str]:
    """Texts of an import in a language, by code."""
    found: Mapping[str, str] = import_module(f"tirelife.sheet.language.imports_{language}").TEXTS
    return found


def rows_worded(rows: pd.DataFrame, language: str) -> pd.DataFrame:
    """What became of every row, with the reasons said in place of their notes."""
    return rows.drop(columns="notes").assign(words=[_reason(notes, language) for notes in rows["notes"]])


def counted(rows: pd.DataFrame) -> dict[str, int]:
    """How many rows were used, doubted and left out."""
    counts = rows["status"].value_counts()
    return {name.replace(" ", "_"): int(counts.get(name, 0)) for name in ("used", "doubted", "left out")}


def on_the_way(done: Imported, name: str, language: str = "en") -> str:
    """What came of a sheet that was given in place of a logbook, in a line."""
    how, moves = done.plan.how, done.moves
    return import_texts(language)["on-the-way"].format(
        name=name, visits=done.visits, vehicles=done.vehicles, **counted(done.rows),
        depth=how.depth_unit or "mm", odometer=how.distance_unit or "km", moves=len(moves),
        inferred=int((moves["source"] == "inferred").sum()),
    )  # fmt: skip


def columns_text(plan: Any, language: str) -> str:
    """What each column of a sheet was taken for, and the conventions of it."""
    say, how = import_texts(language), plan.how
    lines = []
    for tab, part in plan.columns.groupby("tab", sort=False):
        lines.append(f"{tab}:")
        for _, column, header, holds, told, examples in part.itertuples(index=False):
            taken = say["not-used"] if holds in ("?", "ignored") else holds
            lines.append(
                f"  {column:3}{header[:28]:29}{taken:28}{examples[:40]}"
                + ("" if told == "column-name" else f"  ({code_words(told, language=language)})")
            )
    for name, value in (("depth", how.depth_unit), ("distance", how.distance_unit)):
        if value:
            head = say["depths-in" if name == "depth" else "odometers-in"].format(unit=value)
            lines.append(": ".join(filter(None, (head, _why(plan, f"{name}_unit", language)))))
    if how.day_first is not None:
        head = say["day-first" if how.day_first else "month-first"]
        lines.append(head.format(why=_why(plan, "day_first", language)))
    return "\n".join(lines)


def outcome_text(done: Imported, every: bool, language: str) -> str:
    """What came of an import: rows, moves, what changed and what is not known."""
    say = import_texts(language)
    lines = ["", say["counts"].format(vehicles=done.vehicles, visits=done.visits)]
    lines.append(say["rows"].format(**counted(done.rows)))
    rows = rows_worded(done.rows, language)
    other = rows[rows["status"] != "used"]
    if every:
        lines += [
            say["row"].format(tab=tab, row=row, status=say[status], reason=reason)
            for tab, row, status, _, reason in other.itertuples(index=False)
        ]
    else:
        for reason, part in other.groupby("words"):
            told = ", ".join(str(row) for row in part["row"].head(5)) + (" …" if len(part) > 5 else "")
            lines.append(
                say["rows-alike"].format(status=say[part["status"].iloc[0]], reason=reason, rows=told)
            )
    doubtful = done.moves[done.moves["probability"] < 0.9]
    inferred = done.moves[done.moves["source"] == "inferred"]
    lines.append(say["moves"].format(moves=len(done.moves), inferred=len(inferred)))
    lines += [_move(row, language) for row in doubtful.head(8).to_dict("records")]
    for row in done.changed.head(8).to_dict("records"):
        lines.append(
            say["changed"].format(
                vehicle=row["vehicle_id"], date=row["date"], before=row["before"],
                now=row["now"] or say["gone"],
            )
        )  # fmt: skip
    if done.unknown:
        facts = ", ".join(f"{say[f'fact-{what}']} ({n})" for what, n in done.unknown)
        lines.append(say["unknown"].format(facts=facts))
        lines += _worth(done, language)
    lines.append(
        say["written"].format(out=done.out, visits=done.new_visits) if done.out else say["not-written"]
    )
    return "\n".join(lines)


def _why(plan: Any, name: str, language: str) -> str:
    """Why a convention was settled so."""
    note = plan.how.why.get(name)
    return "" if note is None else code_words(note.code, dict(note.values), language)


def _reason(notes: Iterable[Note], language: str) -> str:
    """Why a row was doubted or left out; in a tab with a column a visit, at which column."""
    said = []
    for note in notes:
        values = dict(note.values)
        words = code_words(note.code, values, language)
        said.append(code_words("row-at", {**values, "said": words}, language) if "at" in values else words)
    return "; ".join(said)


def _move(row: dict[Any, Any], language: str) -> str:
    """A doubtful move, and what else it may have been."""
    say = import_texts(language)
    others = [(code, chance) for code, chance in row["others"]]
    return say["move"].format(
        vehicle=row["vehicle_id"], date=row["date"], chance=f"{row['probability']:.0%}",
        what=code_words(f"course-{row['what']}", language=language),
        others="; ".join(f"{code_words(f'course-{code}', language=language)} ({p:.0%})" for code, p in others)
        or say["otherwise"],
    )  # fmt: skip


def _worth(done: Imported, language: str) -> list[str]:
    """What is assumed for want of it, and by how much each fact would narrow the answers."""
    if done.out is None:
        return []
    try:
        book = read_logbook(done.out)
        unknown, vehicles = worth_in_fleet(book, 1, 6)
    except (InputError, FitError):
        return []  # what was written is told of by check and by the fit
    if unknown.empty:
        return []
    say = import_texts(language)
    said = [f"  {text}" for text in fact_words(unknown, book.units, language)]
    return [*said, say["measured-one" if vehicles == 1 else "measured-many"].format(n=vehicles)]


def import_answer(done: Imported, language: str) -> dict[str, Any]:
    """What came of an import, for a program."""
    moves = done.moves.to_dict("records")
    return {
        "vehicles": done.vehicles,
        "visits": done.visits,
        "new_visits": done.new_visits,
        "columns": done.plan.columns.to_dict("records"),
        "rows": rows_worded(done.rows, language).to_dict("records"),
        "moves": [{**row, "others": _others(row["others"])} for row in moves],
        "changed": done.changed.to_dict("records"),
        "unknown": dict(done.unknown),
        "out": str(Path(done.out)) if done.out else None,
    }


def _others(others: tuple[tuple[str, float], ...]) -> str:
    """Other courses by their codes, likeliest first."""
    return "; ".join(f"{code} ({chance:.0%})" for code, chance in others)
