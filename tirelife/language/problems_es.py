"""Spanish words of what a logbook finds wrong or doubtful in itself; names of tables and columns stay as they are."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from tirelife.language import imports_es as _imports
from tirelife.language import problems_refused_es as _refused

__all__ = ["ADVICE", "ANY", "TEXT", "WHAT", "pieces"]

_SAVE: Final = "En la hoja de cálculo elija Guardar como, CSV UTF-8 (delimitado por comas)."
_RESTORE: Final = "Recupérela de un respaldo, o salve lo que se pueda: tirelife convert FILE FOLDER."
_SO: Final = "Se lee como {meant}; escríbalo así."
_ADD_TO: Final = "Corríjalo, o agréguelo a {table}."
_SLIP: Final = (
    "Si es un error, corríjalo, o la fecha; mientras tanto cuenta la línea entre las lecturas vecinas."
)
_UNITS: Final = {
    "mi": "millas", "kpa": "kPa", "c": "°C", "f": "°F", "mps": "m/s", "kmh": "km/h", "mps2": "m/s²",
    "per_100km": "por cada 100 km", "per_100mi": "por cada 100 millas", "m2": "m²", "ft2": "ft²", "deg": "°",
    "32nds": "32avos",
}  # fmt: skip
"""Units that are not written as their code is."""
_SWAPS: Final = {
    "sides": "izquierda y derecha",
    "axles": "delante y atrás",
    "both": "cada rueda y la de enfrente en diagonal",
    "front": "LF y RF",
    "rear": "LR y RR",
    "left": "LF y LR",
    "right": "RF y RR",
    "diagonal": "LF y RR",
    "other diagonal": "RF y LR",
}
_MARKS: Final = {";": "punto y coma", "\t": "tabuladores"}
_DEEDS: Final = {
    "insert": "fue escrito",
    "change": "fue cambiado",
    "supersede": "fue reemplazado",
    "withdraw": "fue retirado",
}
_NO_NAME: Final = "una columna sin nombre"
_TIMES: Final = {"before": "antes", "after": "después"}
ANY: Final = {
    "byte": "un byte", "choices": "las opciones", "column_unit": "esta", "day": "un día",
    "deed": "fue cambiado", "first": "un nombre", "header_row": "una fila posterior", "high": "el más alto",
    "low": "el más bajo", "mark": "otros signos", "names": "algunas", "second": "otro",
    "table": "su tabla", "unit": "otra unidad",
    "usual": "otra", "why": "no se dice",
}  # fmt: skip
"""What stands for an argument that is not at hand."""

WHAT: Final = {
    "file-unreadable": "no se puede leer: {why}",
    "file-empty": "está vacío",
    "file-utf16": "está en UTF-16, no en UTF-8",
    "file-not-csv": "no es un archivo CSV, diga lo que diga su nombre",
    "file-zero-byte": "contiene un byte cero",
    "file-not-utf8": "no es UTF-8: byte {byte}",
    "file-missing": "falta",
    "file-twice": "está dos veces, como {first} y {second}",
    "file-beside": "está junto a un {second}: ¿cuál de los dos es la bitácora?",
    "file-damaged": "está dañado",
    "file-cut": "no es un archivo Parquet completo",
    "file-earlier-version": "es de una versión anterior, sin sumas de control: un daño no se puede ver",
    "needs-pyarrow": "necesita pyarrow para leerse",
    "delimiter": "tiene {mark} entre sus celdas; se lee así",
    "decimal-commas": "tiene comas decimales; se lee así",
    "header-unreadable": "tiene un encabezado que no se puede leer",
    "header-below": "tiene su encabezado en la fila {header_row}",
    "no-records": "tiene encabezado pero ningún registro",
    "unclosed": "no se puede separar en celdas",
    "ragged": "tiene más celdas que nombres el encabezado",
    "column-twice": "aparece dos veces en el encabezado",
    "column-missing": "falta",
    "column-unknown": "tiene columnas desconocidas: {names}",
    "two-units": "lleva una cantidad en dos unidades, {first} y {second}",
    "units-differ": "lleva una cantidad en dos unidades, {first} y {second}",
    "unit-wrong": "tiene una unidad que no puede tener",
    "unit-missing": "no tiene unidad",
    "unit-not-of-kind": "no es una unidad de esta clase",
    "blank": "está en blanco",
    "key-twice": "está dos veces",
    "shares": "las partes de las millas no suman 1",
    "ends-before": "termina antes de empezar",
    "not-a-number": "no es un número",
    "not-finite": "no es un número finito",
    "may-be-thousands": "puede tener un separador de miles",
    "thousands": "tiene un separador de miles",
    "decimal-comma": "tiene una coma decimal",
    "not-a-date": "no es una fecha como AAAA-MM-DD",
    "no-such-day": "no es un día del calendario",
    "too-long-ago": "es demasiado antiguo",
    "no-clock": "tiene una hora que ningún reloj marca",
    "future": "está en el futuro",
    "other-case": "está con otras mayúsculas o minúsculas",
    "not-a-choice": "no es ninguno de {choices}",
    "out-of-range": "está fuera de {low} a {high}",
    "not-whole": "no es un número entero",
    "unusually-low": "es inusualmente bajo",
    "unusually-high": "es inusualmente alto",
    "not-known": "no se conoce",
    "unknown-id": "no está en {table}",
    "week-odd": "no es una semana y un año",
    "week-late": "es posterior al montaje de la llanta",
    "distance-units": "tiene {unit} donde otras tablas tienen {usual}",
    "repeated": "aparece dos veces",
    "taken": "va donde hay otra llanta",
    "mounted-twice": "está anotado dos veces",
    "two-places": "está en dos posiciones",
    "off-where-not": "se quita (OFF) de donde no estaba",
    "place-held": "va donde hay otra llanta",
    "no-tire": "no hay ninguna llanta montada ahí",
    "odometer-back": "el odómetro retrocede",
    "odometer-ahead": "el odómetro se adelanta",
    "over-new": "es más que cuando la llanta era nueva",
    "depth-grows": "la profundidad crece",
    "depth-unfit": "la profundidad no concuerda con las lecturas vecinas",
    "depth-unit": "puede estar en {unit}, no en {column_unit}",
    "falls-fast": "bajó más rápido de lo que se gastan las llantas",
    "digest": "no coincide con su suma de control: está dañado, o se cambió por otros medios",
    "history-seals": "tiene una historia que no coincide con sus sellos: está dañada, o se cambió por otros medios",
    "history-rules": "tiene encabezados o reglas que no coinciden con su suma de control",
    "history-visits": "tiene visitas que no coinciden con su historia",
    "history-records": "tiene registros que su historia no conoce, o le faltan algunos",
    "history-use": "está en uso, o fuera de uso, y su historia dice lo contrario",
    "odometers-differ": "el odómetro se leyó dos veces ese día y difiere; se usa la lectura mayor",
    "no-tire-known": "no se conoce ninguna llanta en esta posición ese día",
    "readings-doubtful": "algunas de sus lecturas son dudosas",
    "other-program": "{deed} por otro programa el {day}",
    "slip-other-unit": "la visita puede estar en {unit}",
    "slip-tenfold": "la visita puede tener el punto decimal fuera de lugar",
    "slip-all-zero": "la visita es toda de ceros",
    "slip-all-alike": "la visita tiene una sola profundidad en todas partes, y no concuerda con las lecturas de antes y de después",
    "slip-swapped": "la visita puede tener posiciones cambiadas",
    "slip-new-tires": "la visita se lee como de llantas nuevas",
    "slip-unfit": "la visita no concuerda con lo que las llantas leían antes y después",
    "slip-car-unit": "el vehículo puede estar medido en {unit}",
    "slip-car-tenfold": "el vehículo puede estar medido con el punto decimal fuera de lugar",
    "slip-car-zero": "todas las profundidades del vehículo son cero",
    "slip-pressure-unit": "puede estar en {unit}",
    "slip-odometer-unit": "el odómetro puede estar en {unit}",
    "slip-odometer-digit": "el odómetro puede tener un dígito equivocado",
    "slip-car-distance": "todos los odómetros del vehículo pueden estar en {unit}",
    "slip-table-distance": "todos los odómetros de la tabla pueden estar en {unit}",
    "slip-temperature-unit": "la temperatura puede estar en {unit}",
    "slip-digit": "puede tener un dígito equivocado",
    "slip-grows": "la llanta crece de visita en visita",
    "slip-cars-swapped": "la visita puede ser la de otro vehículo",
    "slip-absolute": "puede ser presión absoluta",
    **_refused.WHAT,
    **_imports.WHAT,
}
ADVICE: Final = {
    "file-unreadable": "Revise que el archivo exista y que usted pueda leerlo.",
    "file-empty": "Póngale una fila de encabezado y los registros, o borre el archivo.",
    "file-utf16": _SAVE,
    "file-not-csv": _SAVE,
    "file-zero-byte": "El archivo puede estar dañado: expórtelo otra vez como CSV UTF-8.",
    "file-not-utf8": _SAVE,
    "file-missing": "Una bitácora necesita {names}.",
    "rename-file": "Cambie el nombre de {near} a {first}.",
    "file-twice": "Conserve uno de los dos archivos.",
    "file-beside": "Tenga las tablas y el archivo en carpetas distintas.",
    "file-damaged": _RESTORE,
    "file-cut": "Puede estar dañado o cortado: expórtelo otra vez.",
    "file-earlier-version": "Haga uno nuevo: tirelife convert OLD NEW.",
    "needs-pyarrow": "Instálelo con: pip install 'tirelife[parquet]', o guarde la tabla como CSV.",
    "delimiter": "Guárdelo con comas entre las celdas.",
    "decimal-commas": "Guárdelo con puntos para los decimales.",
    "header-unreadable": _SAVE,
    "header-below": "Borre {rows_above} encima del encabezado, y separe las celdas combinadas.",
    "no-records": "Agregue una fila por cada uno.",
    "unclosed": "Puede haber unas comillas abiertas y nunca cerradas: mire esta fila y las anteriores.",
    "ragged": "Dé nombre a la columna, o ponga entre comillas la celda que contiene una coma.",
    "column-twice": "Cambie el nombre de una de las dos columnas o bórrela.",
    "column-missing": "Agregue una columna {either}.",
    "rename-column": "Cambie el nombre de la columna {near!r} a {either}.",
    "column-unknown": "Se conservan y no se usan.",
    "two-units": "Conserve una de las dos columnas.",
    "units-differ": "Escriba las dos columnas en {unit_code} o las dos en {other_code}.",
    "unit-wrong": "Use una de: {names}.",
    "unit-not-of-kind": "Use una de: {names}.",
    "unit-missing": "Llame a la columna {either}.",
    "name-column": "Llame a la columna {either}.",
    "blank": "Llénelo.",
    "key-twice": "Ya está en la fila {row}; cada uno puede estar una vez.",
    "shares": "Corrija las partes de esta fila.",
    "ends-before": "Corrija una de las fechas.",
    "not-a-number": "Escriba dígitos, con punto para los decimales, como 7.5.",
    "unit-in-name": "Escriba solo {meant}; la unidad está en el nombre de la columna.",
    "not-finite": "Escriba un número, o deje la celda en blanco si puede estarlo.",
    "may-be-thousands": "Escriba {meant}, o {other} si eso es lo que se quiere decir.",
    "thousands": _SO,
    "decimal-comma": _SO,
    "not-a-date": "Escríbala como 2026-03-14.",
    "write-it": "Escriba {meant}.",
    "day-or-month": "Escriba {first} si el día va primero, o {second} si va el mes.",
    "day-number": "Parece el número de día de una hoja de cálculo, para {meant}: dé a la columna el formato AAAA-MM-DD.",
    "no-such-day": "Corrija la fecha.",
    "too-long-ago": "Corrija el año.",
    "no-clock": "Se lee como {meant}; corrija el día o la hora.",
    "future": "Corrija la fecha; lo fechado después de hoy no se usa, salvo que pida un día posterior.",
    "all-future": "Así están todas las fechas de esta bitácora; se usan como están. ¿Está bien el reloj de esta computadora?",
    "future-visit": "Corrija la fecha.",
    "other-case": _SO,
    "not-a-choice": "Escriba uno de {choices}.",
    "out-of-range": "Corrija el valor.",
    "not-whole": "Corrija el valor.",
    "unusually-low": "Revíselo; se conserva como está.",
    "unusually-high": "Revíselo; se conserva como está.",
    "percent": "Las partes son fracciones de 1: escriba {meant} en vez de {typed} %.",
    "typed-unit": "¿Se escribió en {unit}? {typed} {unit} son {meant} {column_unit}.",
    "not-known": "Llénelo: front, rear o all. Mientras tanto se supone {meant}.",
    "placard": "Léala en el marco de la puerta. Mientras tanto se supone la presión usual de este vehículo, o {meant} kPa.",
    "unknown-id": _ADD_TO,
    "near-id": "¿Quiso decir {near!r}? " + _ADD_TO,
    "week-odd": "Escriba semana y año, cuatro dígitos, como 0726.",
    "lost-zero": "Puede faltar un cero al principio: 712 puede ser 0712. Escriba semana y año, cuatro dígitos.",
    "week-late": "Revise el código del costado, y la fecha del montaje.",
    "distance-units": "Revise la unidad en el nombre de la columna.",
    "repeated": "La fila {row} dice lo mismo; cuenta una vez.",
    "taken": "{place} de {vehicle_id} tenía {tire_id} desde {day}: {tire_id} cuenta como quitada ese día. Si fue a otra parte, "
    "anote adónde.",
    "mounted-twice": "Cuenta una vez.",
    "two-places": "Todavía está en {place} de {vehicle_id}: agregue una fila que la quite (OFF) de ahí.",
    "at-once": "Está en {first} y en {second} a la vez: corrija una de las filas.",
    "off-where-not": "Agregue la fila que la montó, o corrija el vehículo.",
    "place-held": "{place} de {vehicle_id} tiene {tire_id} desde {day}: anote adónde fue {tire_id}, o que está OFF.",
    "no-tire": "Agregue el montaje a mounts, o corrija la posición o la fecha; la lectura se conserva, no se usa.",
    "odometer-back": "Lee {around}. " + _SLIP,
    "odometer-ahead": "Lee {around}. " + _SLIP,
    "odometer-replaced": "Lee {around}. Si se cambió el instrumento, sume la última lectura del viejo a cada una del nuevo. "
    + _SLIP,
    "odometer-typed-unit": "Lee {around}. ¿Se escribió en {unit}? Entonces escriba {meant}.",
    "over-new": "De nueva tenía {depth}.",
    "depth-grows": "Se leyó {around}. Revise la posición y la lectura; se conserva marcada.",
    "depth-unfit": "Se leyó {around}. Revise la posición y la lectura; se conserva marcada.",
    "places-swapped": "Se leyó {around}. ¿Se cambiaron {first} y {second}?",
    "depth-typed-unit": "Se leyó {around}. ¿Se escribió en {unit}? {typed} {unit} son {meant} {column_unit}.",
    "depth-unit": "Las llantas recién montadas leen {ratio} de su profundidad de nuevas: ¿llamar a la columna "
    "depth_{unit_code}?",
    "depth-unit-or-new": "Las llantas recién montadas leen {ratio} de su profundidad de nuevas: ¿llamar a la columna "
    "depth_{unit_code}? ¿O es su profundidad de nuevas la que está en otra unidad?",
    "falls-fast": "Se leyó {depth} el {day}. Mida otra vez.",
    "digest": _RESTORE,
    "history-seals": "Los registros coinciden con sus propias sumas y se usan; si falta alguno no se puede saber.",
    "history-rules": _RESTORE,
    "history-visits": _RESTORE,
    "history-records": _RESTORE,
    "history-use": _RESTORE,
    "other-program": "Se usa como está; tirelife audit muestra qué era.",
    "slip-other-unit": "Tomada como {unit} concuerda con el desgaste de las llantas. ¿Se escribió en {unit}?",
    "slip-tenfold": "Multiplicada por {factor} concuerda con el desgaste de las llantas. Corríjala, o mida otra vez.",
    "slip-all-alike": "¿Se puso un solo valor en todo? Mida de nuevo, cada surco por separado.",
    "slip-all-zero": "¿No se midieron las profundidades? Entonces bórrelas; si hay llantas lisas, mírelas ahora.",
    "slip-swapped": "Concuerda con {swap} cambiadas. ¿Se escribió en el orden de la hoja?",
    "slip-new-tires": "¿Se montaron llantas nuevas en {places}? Entonces agréguelas a mounts.",
    "slip-unfit": "Mida otra vez, o revise el vehículo, la fecha y el odómetro.",
    "slip-car-unit": "Así sus llantas empezarían en su profundidad de nuevas. ¿Se escribió siempre en {unit}?",
    "slip-car-tenfold": "Por {factor} sus llantas empezarían en su profundidad de nuevas. ¿Se escribió siempre así?",
    "slip-car-zero": "¿Nunca se midieron? Entonces bórrelas; si hay llantas lisas, mírelas ahora.",
    "slip-pressure-unit": "Como {unit} serían {meant} {column_unit}. ¿Se escribió en {unit}?",
    "slip-odometer-unit": "Como {unit} serían {meant} {column_unit}, que concuerda. ¿Se escribió en {unit}?",
    "slip-odometer-digit": "{meant} {unit} concordaría con las lecturas vecinas. " + _SLIP,
    "slip-car-distance": "Tomados como {unit} rueda y se gasta como los demás. ¿Se escribieron en {unit}?",
    "slip-table-distance": "Tomados como {unit} concuerdan con las otras tablas. ¿Llamar a la columna odometer en {unit}?",
    "slip-temperature-unit": "Como {unit} concuerda con la temporada. ¿Se escribió en {unit}?",
    "slip-digit": "{meant} {unit} concordaría con los surcos vecinos. Corríjala, o mida otra vez.",
    "slip-grows": "Ningún dibujo crece: revise las fechas, la rueda y los montajes de sus lecturas.",
    "slip-cars-swapped": "Concuerda con {vehicle_id}, y la visita de aquel ese día concuerda con este. Intercambie las dos.",
    "slip-absolute": "Como presión manométrica serían {meant} {column_unit}. Las bitácoras llevan presión manométrica.",
    **_refused.ADVICE,
    **_imports.ADVICE,
}

TEXT: Final = {
    "row": ", fila {row}",
    "column": ", columna {column}",
    "found": " (se encontró {value!r})",
    "errors": "Errores",
    "doubts": "Dudas",
    "more": "… y {n} más como esta, hasta la fila {row}",
    "error-one": "{n} error",
    "error-many": "{n} errores",
    "doubt-one": "{n} duda",
    "doubt-many": "{n} dudas",
    "correct": "Corrija los errores; mientras tanto la bitácora no se usa.",
    "kept": "Los registros dudosos se conservan marcados.",
    "now": "MIRE ESTO AHORA",
    "near": "Cerca del límite",
}
"""Where a problem is, and how a list of problems is headed and summed up."""


def _all(notes: Iterable[tuple[str, tuple[tuple[str, object], ...]]]) -> str:
    return "; ".join(_imports.NOTES[code].format_map(dict(values)) for code, values in notes)


def pieces(values: dict[str, Any]) -> dict[str, Any]:
    """Arguments as they stand in the sentences: units and lists in words, numbers as they are written."""
    told: dict[str, Any] = {
        name: f"{value:g}" if isinstance(value, float) else value for name, value in values.items()
    }
    for name in ("unit", "column_unit", "usual"):
        if name in told:
            told[f"{name}_code"] = told[name]
            told[name] = _UNITS.get(told[name], told[name])
    if "before" in told:
        told["around"] = " y ".join(f"{told[when]} {said}" for when, said in _TIMES.items() if told[when])
    if "names" in told:
        names = [name or _NO_NAME for name in told["names"]]
        told["names"], told["either"] = ", ".join(names), " o ".join(names)
    for name, words in (("swap", _SWAPS), ("mark", _MARKS), ("deed", _DEEDS)):
        if name in told:
            told[name] = words[told[name]]
    if "choices" in told:
        told["choices"] = ", ".join(told["choices"])
    if "below" in told:
        many = told["below"] > 1
        told["rows_above"] = f"las {told['below']} filas" if many else "la fila"
        told["header_row"] = told["below"] + 1
    if "options" in told:
        told["which"] = f"Diga cuál con {' o '.join(told['options'])}. No se escribió nada."
    if "held" in told:
        told["held"] = " y en ".join(told["held"])
    if "hidden" in told:
        tabs = [
            (f"fila {', '.join(map(str, rows))} de {tab!r}" if rows else f"pestaña {tab!r}")
            for tab, rows in told["hidden"]
        ]
        told["hidden"] = ", ".join(tabs)
    if "left_out" in told:
        told["left_out"] = "; ".join(
            f"{n} fila{'s' * (n > 1)}: {_all(notes)}" for n, notes in told["left_out"]
        )
    if "high" in told and told.get("column_unit"):
        told["high"] = f"{told['high']} {told['column_unit']}"
    return told
