"""Spanish."""

from __future__ import annotations

from typing import Final

from tirelife.sheet.language.fits_es import FIT_REASONS, HELD, TRUST
from tirelife.sheet.language.pieces import Pieces, fit_pieces, measured_pieces

__all__ = ["PIECES", "SENTENCES", "WORDS"]

WORDS: Final = {
    "LF": "delantera izquierda", "RF": "delantera derecha", "LR": "trasera izquierda", "RR": "trasera derecha",
    "SP": "de refacción",
    "outer": "exterior", "outer_mid": "medio exterior", "center": "central", "inner_mid": "medio interior",
    "inner": "interior",
}  # fmt: skip
"""Positions and grooves."""

SENTENCES: Final[dict[str, dict[str, str]]] = {
    "Verdict": {
        "at-or-under": "{tire}: {read}, en el límite de {limit} o por debajo. Haga que una persona calificada la revise antes "
        "de manejar lejos; manda la ley local.",
        "near": "{tire}: {read}, cerca del límite de {limit} (probabilidad, por el error del medidor, de que ya estuviera "
        "ahí al medirla: {chance_at_limit}). Prevea su cambio y no la rote.",
        "over": "{tire}: {read}, por encima del límite de {limit}.",
        "not-read": "{tire}: su profundidad nunca se midió.",
    },
    "WouldChange": {
        "read-over": "una lectura de más de {over} en la {position}",
        "found-sound": "una revisión que no encuentre nada malo",
        "holds-air": "menos de {below} perdidos al mes en la {position}",
        "reads-agree": "una segunda lectura de la {position} que concuerde con las anteriores",
        "goes-further": "una posibilidad de dos de que la {position} recorra más de {over} todavía (ahora {middle})",
        "surely-further": "9 posibilidades de 10 de que la {position} recorra más de {over} todavía (ahora {least})",
        "age-allowed": "una regla del fabricante que deje envejecer más la {position}",
        "apart-allowed": "una regla del fabricante que deje a una llanta nueva y la {position} diferir en {apart}",
        "drive-allowed": "una regla del fabricante que deje a las llantas de esta tracción total diferir en {apart}",
        "pressures-right": "presiones a menos de {within} de la placa",
        "leaving-longer": "que las llantas sin mover duren {share} más con una probabilidad de {chance} (ahora {chance_now})",
        "leaving-no-longer": "una probabilidad menor de {chance} de que dejarlas sea lo que más dura (ahora {chance_now})",
        "rotating-no-longer": "una probabilidad menor de {chance} de que rotar antes sea lo que más dura (ahora "
        "{chance_now})",
        "run-on": "{more} más en estas posiciones",
        "new-tires": "llantas nuevas en lugar de las que se vencen",
        "other-tires": "llantas cuyas medidas y sentido de giro permitan los movimientos usuales",
        "assumed-otherwise": "otra suposición sobre la rotación",
        "depths-read": "profundidades leídas en cada rueda",
        "service-set": "otro servicio usual que cada {service}, o {days} días",
    },
    "Refusal": {
        "temporary-spare": "una refacción temporal no entra en la rotación: solo una igual y de tamaño completo",
        "spare-size": "la refacción no es de la medida del juego ({sizes}) y no entra en la rotación",
        "directional": "las llantas direccionales deben quedar de su lado del vehículo",
        "sizes": "llantas de medidas distintas no pueden cambiar de lugar ({sizes})",
        "at-limit": "{position}: leída en su profundidad de retiro o por debajo, no se mueve",
        "near-limit": "{position}: leída cerca de su profundidad de retiro, no se mueve",
        "not-logged": "no hay llanta anotada en: {position}",
    },
    "Why": {
        "usual-stands": "El patrón usual se queda: el mejor de los otros órdenes rinde {share_better} más en promedio, con "
        "{chance} de probabilidad de ser el mejor.",
        "none-better": "El patrón usual se queda: ningún otro orden de movimientos rinde más.",
        "better": "Se aparta del patrón usual: rinde {share_better} más, con {chance} de probabilidad de ser el mejor.",
        "one-lags": "Se rezaga: {position}; es la primera en llegar al límite en {share} de lo que puede venir.",
        "deeper-pair-to-rear": "El primer movimiento pone atrás el par más profundo, por {apart}, donde más cuenta el "
        "agarre.",
        "shallower-pair-to-rear": "El primer movimiento pone atrás el par menos profundo, por {apart}: cuidado con el piso "
        "mojado.",
        "axle-apart": "Las llantas de un eje diferirían en {apart}; la menos profunda: {position}.",
        "drive-apart": "Todas las ruedas son motrices y las llantas difieren en {apart}: más de lo que se suele permitir. "
        "La rotación no lo cura; consulte el manual del vehículo.",
        "none-allowed": "Estas llantas no permiten ninguna rotación usual.",
    },
    "FitReason": FIT_REASONS,
    "Held": HELD,
    "Trust": TRUST,
    "NoteCode": {
        "read-at-limit": "leída en la profundidad de cambio o por debajo: no queda recorrido; haga que una persona calificada "
        "la revise ahora; manda la ley local",
        "estimated-at-limit": "según la estimación, en la profundidad de cambio: no queda recorrido; haga que una persona "
        "calificada la revise ahora; manda la ley local",
        "read-near-limit": "leída cerca de la profundidad de cambio: prevea su cambio y no la rote",
        "does-not-fit": "la última lectura no concuerda con las anteriores: mida otra vez; el rango abarca ambas",
        "age-first": "{years} años de edad el {by_date}, antes de que se acabe el dibujo: consejo por edad, primero la regla "
        "del fabricante",
        "spare-lies": "de refacción: no rueda donde está; la limita la edad",
        "wear-slows": "el desgaste se curva: va más lento con menos dibujo, así que una recta se queda corta; rango amplio",
        "wear-speeds-up": "el desgaste se curva: ahora va más rápido que antes; rango amplio; busque una causa",
        "never-read": "nunca medida: por su profundidad de nueva y el desgaste de la flota; rango amplio",
        "one-visit": "una sola visita: se apoya en su vehículo, su modelo y la flota; rango amplio",
        "not-read-lately": "sin medir por más de un año: la profundidad de hoy es una proyección; mídala",
        "date-too-far": "no se da una fecha a más de 60 años",
        "no-wear": "sin datos: sus lecturas casi no muestran desgaste; revise las profundidades y mida otra vez",
        "no-basis": "sin datos: no hay profundidad ni recorrido en que apoyarse",
        "no-odometer": "sin datos: no hay lectura del odómetro de este vehículo",
        "odometer-doubted": "el odómetro de su última lectura es dudoso: en su lugar cuenta la línea entre las "
        "otras lecturas del vehículo; corríjalo",
        "comes-off": "su juego se alterna: se quita por el otro hacia el {on_date}",
        "in-store": "guardada: su juego vuelve a montarse hacia el {on_date}",
        "fit-says": "{reason}",
    },
}  # fmt: skip
"""By enum and code."""

MEASURED: Final = {
    "read": "se leyó {read_raw}", "corrected": " ({read} sin el error del medidor)", "groove": " en el surco {groove}",
    "spot": ", punto {spot}", "moved": ", cuando estaba en la posición {read_at_position}", "date": ", el {read_date}",
}  # fmt: skip
"""What was read where: see :func:`measured_pieces`."""
PIECES: Final[dict[str, Pieces]] = {
    "Verdict": measured_pieces(MEASURED),
    "FitReason": fit_pieces,
}
"""Parts of sentences that depend on more than one argument, by enum."""
