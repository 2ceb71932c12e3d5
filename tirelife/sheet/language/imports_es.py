"""Spanish: what came of an import, line by line."""

from __future__ import annotations

from typing import Final

__all__ = ["TEXTS"]

TEXTS: Final[dict[str, str]] = {
    "not-used": "sin usar",
    "depths-in": "profundidades en {unit}",
    "odometers-in": "odómetros en {unit}",
    "day-first": "el día primero: {why}",
    "month-first": "el mes primero: {why}",
    "counts": "{vehicles} vehículos, {visits} visitas.",
    "rows": "Filas: {used} usadas, {doubted} dudosas, {left_out} fuera.",
    "row": "  {tab}, fila {row}: {status}: {reason}",
    "rows-alike": "  {status}, {reason}: fila {rows}",
    "used": "usada",
    "doubted": "dudosa",
    "left out": "fuera",
    "moves": "Movimientos y renovaciones: {moves}, de ellos {inferred} deducidos de las profundidades.",
    "move": '  {vehicle} {date}: {what} ({chance}); o {others}. Dígalo con --work "{vehicle} {date}=…"',
    "otherwise": "otra cosa",
    "changed": "  cambió: {vehicle} {date}: {before} -> {now}",
    "gone": "ya no está en la hoja; se conserva",
    "unknown": "No está en la hoja, y se estima hasta que usted lo llene: {facts}.",
    "fact-new depth": "profundidad de nueva",
    "fact-drive": "tracción",
    "fact-placard pressures": "presiones de la placa",
    "fact-tire line": "modelo de la llanta",
    "measured-one": "  Medido al rehacer la respuesta con el dato conocido, en el vehículo que más veces se leyó.",
    "measured-many": "  Medido al rehacer la respuesta con el dato conocido, en los {n} vehículos que más veces se leyeron.",
    "written": "Escrito en {out}: {visits} visitas nuevas.",
    "not-written": "No se escribió nada; dé --out BITÁCORA.",
    "on-the-way": "{name}: {visits} visitas de {vehicles} vehículos; filas: {used} usadas, {doubted} dudosas, {left_out} "
    "fuera; profundidades en {depth}, odómetros en {odometer}; {moves} movimientos y renovaciones, {inferred} deducidos. "
    "Véalo todo con: tirelife import.",
    "which": "¿Cuál? ",
}
